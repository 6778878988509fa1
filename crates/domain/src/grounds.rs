//! What every recommendation carries: why it is given, how sure it is, and what would change it.

mod ahead;
mod cold;
mod dates;
mod pair;
mod plan;
mod seeds;
mod waiting;

pub use cold::of_cold;

/// The grounds of a recommendation, a sentence or two each.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Grounds {
    /// Why this is recommended and nothing else.
    pub why: String,
    /// How sure it is.
    pub how_sure: String,
    /// What would change it: what isn't known, what it would take to know it, or what there is too little of.
    pub would_change: String,
}

impl Grounds {
    /// What each line is called, with its sentence.
    pub fn lines(&self) -> [(&'static str, &str); 3] {
        [
            ("Why", &self.why),
            ("How sure", &self.how_sure),
            ("What would change it", &self.would_change),
        ]
    }
}
