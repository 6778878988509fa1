//! What a trial tells of an entry, by years, sites and replicates.

/// Variances of entries and of all that hides them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EntryVariances {
    /// Of entries over all years and sites.
    pub entry: f64,
    /// Of entries by years.
    pub by_year: f64,
    /// Of entries by sites.
    pub by_site: f64,
    /// Of entries by years and sites.
    pub by_year_and_site: f64,
    /// Of plots.
    pub error: f64,
}

impl EntryVariances {
    /// The variance of an entry's mean over so many years, sites in each and replicates in each, about its value.
    pub fn noise(&self, years: f64, sites: f64, replicates: f64) -> f64 {
        self.by_year / years
            + self.by_site / sites
            + self.by_year_and_site / (years * sites)
            + self.error / (years * sites * replicates)
    }

    /// The share of the variance of such means that is that of entries.
    pub fn heritability(&self, years: f64, sites: f64, replicates: f64) -> f64 {
        self.entry / (self.entry + self.noise(years, sites, replicates))
    }
}
