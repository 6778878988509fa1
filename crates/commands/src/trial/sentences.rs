//! What is said of a trial on standard error.

use super::terms::lies_within;
use super::{Analysed, SpaceChoice, Taken, Wanted};
use crate::terminal::tell;
use crate::voice::Voice;
use exchange::plots::Plots;
use quant::evaluation::{EvaluationError, Finding, ShapeKind};
use quant::trial::{Analysis, Entries, Heritability, Space};

/// The most notes of a kind.
pub(super) const MOST_NOTES: usize = 10;

/// How many notes were left out.
pub(super) fn tell_rest(notes: usize, what: &str, err: &mut Voice<'_>) {
    if notes > MOST_NOTES {
        tell(err, &format!("In all, {notes} {what}."));
    }
}

/// A number to four digits.
pub(super) fn short(number: f64) -> String {
    if number == 0.0 || !number.is_finite() {
        return number.to_string();
    }
    let size = number.abs().log10().floor();
    if (-5.0..9.0).contains(&size) {
        format!("{number:.*}", (3.0 - size).max(0.0) as usize)
    } else {
        format!("{number:.3e}")
    }
}

/// The same with a capital letter at its start and a full stop.
fn sentence(text: &str) -> String {
    let mut signs = text.chars();
    let first = signs.next().map(|sign| sign.to_uppercase().to_string());
    format!("{}{}.", first.unwrap_or_default(), signs.as_str())
}

impl Wanted {
    /// The name of a random effect of the model.
    fn effect_name(&self, effect: usize, entries_random: bool) -> String {
        let first = usize::from(entries_random);
        if effect < first {
            return "entry".into();
        }
        let space = match self.space {
            SpaceChoice::Spline => "surface",
            _ => "the correlated part of the plots",
        };
        self.random
            .get(effect - first)
            .map_or_else(|| space.into(), Clone::clone)
    }

    /// Why the fixed terms leave nothing to a random effect.
    fn determined(&self, effect: usize, entries_random: bool, plots: &Plots) -> String {
        let name = self.effect_name(effect, entries_random);
        let first = usize::from(entries_random);
        let fixed = &plots.terms[1..=self.fixed.len()];
        let own = match effect.checked_sub(first) {
            None => Some(&plots.terms[0]),
            Some(nth) if nth < self.random.len() => plots.terms.get(1 + self.fixed.len() + nth),
            Some(_) => None,
        };
        let Some(own) = own else {
            return format!(
                "The fixed terms leave nothing of {name}: leave out terms, or the space."
            );
        };
        if own.levels.len() < 2 {
            return format!("{name} has a single level: leave it out.");
        }
        let entries = (!entries_random).then_some((&self.entry, &plots.terms[0]));
        let within = entries
            .into_iter()
            .chain(self.fixed.iter().zip(fixed))
            .find(|(_, term)| lies_within(term, own));
        match within {
            Some((term, _)) => format!(
                "{name} and {term} can't be told apart: no level of {term} holds two of {name}. Leave one of them out."
            ),
            None => format!(
                "The fixed terms together determine {name} completely: leave it out of the random or of the fixed terms."
            ),
        }
    }

    /// Why a model can't be fitted, in the words of the table.
    pub(super) fn told(
        &self,
        error: &EvaluationError,
        entries_random: bool,
        plots: &Plots,
    ) -> String {
        let name = |effect: usize| self.effect_name(effect, entries_random);
        match error {
            EvaluationError::NotSeparable { effects, residual } => {
                let mut names: Vec<String> = effects.iter().map(|&(_, k)| name(k)).collect();
                let last = names.last().cloned().unwrap_or_default();
                if *residual {
                    names.push("residual".into());
                }
                match names.as_slice() {
                    [_] if effects.is_empty() && self.residual_by.is_none() => {
                        "The correlations of neighbours can't be told from the variance of the plots here: check --row \
                        and --column, or leave --space out."
                            .into()
                    }
                    [_] if effects.is_empty() => {
                        "A level of --residual-by has no more records than the fixed terms take: join it with another, \
                        or leave its records out."
                            .into()
                    }
                    [_] => self.determined(effects[0].1, entries_random, plots),
                    _ => format!(
                        "{} are the same here: leave out {last}.",
                        names.join(" and ")
                    ),
                }
            }
            EvaluationError::NotReplicated { effect, .. } => {
                let name = name(*effect);
                format!(
                    "{name} and residual are the same here, because no {name} has two records: leave out {name}."
                )
            }
            EvaluationError::TooFewRecords { records, fixed, .. } => format!(
                "{} has {}, of which the {} take {fixed}: too few are left to tell the error by. \
                Record replicates, or use fewer terms.",
                self.of_trait,
                match records {
                    1 => "1 record".to_owned(),
                    records => format!("{records} records"),
                },
                if entries_random {
                    "fixed terms"
                } else {
                    "entries and fixed terms"
                }
            ),
            EvaluationError::TooManyFixed { columns, most } => format!(
                "The fixed terms have {columns} levels, and at most {most} are fitted: make the term with the most \
                levels random."
            ),
            EvaluationError::NotConverged { iterations } => {
                let first = match (self.random.last(), self.space) {
                    (Some(term), SpaceChoice::None) => format!("leave {term} out"),
                    (Some(term), _) => format!("leave out {term}, or --space"),
                    (None, SpaceChoice::None) => "check the values for slips".to_owned(),
                    (None, _) => "leave --space out".to_owned(),
                };
                format!("The variances did not settle in {iterations} iterations: {first}.")
            }
            _ => {
                let told = sentence(&error.to_string());
                // The name is a column's, and keeps its letters.
                told.replace("rait 0", &format!("rait {}", self.of_trait))
            }
        }
    }

    /// All that is to be known of the fit besides its figures.
    pub(super) fn tell_findings(&self, analysed: &Analysed<'_>, err: &mut Voice<'_>) {
        let main = &analysed.main;
        self.tell_fit(analysed, err);
        self.tell_space(analysed, err);
        self.tell_heritability(analysed, err);
        if main.entries == Entries::Random && main.entries_are_alike() {
            let ranked = analysed
                .taken(Entries::Fixed)
                .is_some_and(|fixed| fixed.estimable.contains(&true));
            let how = if ranked {
                "They are ranked by their adjusted means."
            } else {
                "They can't be ranked."
            };
            let told = "The variance of the entries is 0: nothing can be predicted of them.";
            tell(err, &format!("{told} {how}"));
        }
        let ranking = analysed.ranking();
        let is_plain = ranking.small_sample().is_none() && ranking.errors_are_known();
        if is_plain && ranking.entries == Entries::Fixed && analysed.names().len() > 1 {
            tell(
                err,
                "The errors of comparisons are those of the variances as they are estimated: that they are estimates counts in the degrees of freedom alone.",
            );
        }
        if let (Entries::Fixed, Some(found)) = (ranking.entries, ranking.least_difference(0.05)) {
            let range = if found.highest > found.lowest * 1.001 {
                format!(
                    ", from {} to {} between pairs",
                    short(found.lowest),
                    short(found.highest)
                )
            } else {
                String::new()
            };
            let told = format!(
                "Least significant difference at 5 %: {}{range} (t with {:.1} degrees of freedom after {}).",
                short(found.mean),
                found.degrees_of_freedom,
                if ranking.small_sample().is_some() {
                    "Kenward and Roger"
                } else {
                    "Satterthwaite"
                }
            );
            tell(err, &told);
            if let Some(honest) = found.honest.filter(|_| analysed.names().len() > 2) {
                let told = format!(
                    "Honestly significant difference at 5 % over all pairs (Tukey): {}.",
                    short(honest)
                );
                tell(err, &told);
            }
        }
        for &check in analysed
            .checks
            .iter()
            .filter(|_| ranking.errors_are_known())
        {
            tell_against(analysed.names(), check, ranking, err);
        }
    }

    fn tell_fit(&self, analysed: &Analysed<'_>, err: &mut Voice<'_>) {
        let main = &analysed.main;
        let random = main.entries == Entries::Random;
        let mut other = Vec::new();
        if main.nugget_at_zero {
            other.push("The variance of the nugget is 0: fitted without it.".to_owned());
        }
        for finding in main.fit.findings() {
            other.push(match finding {
                Finding::VarianceAtZero { effect, .. } => {
                    format!(
                        "The variance of {} is 0: the model without it fits as well.",
                        self.effect_name(*effect, random)
                    )
                }
                Finding::ResidualAtZero { part } => match analysed.residual_level(self, *part) {
                    Some(level) => format!(
                        "The residual variance of {level} is 0: its records are taken as exact, and the others adjusted to \
                        them, so that no errors can be given, no least differences, comparisons with checks or \
                        heritabilities. Look at its records, or leave out --residual-by."
                    ),
                    None if main.nugget_at_zero => continue,
                    None => "The residual variance is 0: the surface goes through every record.".into(),
                },
                Finding::PoorlyKnown { effect, .. } => format!(
                    "The variance of {} is smaller than its standard error: more records are needed to rely on it.",
                    self.effect_name(*effect, random)
                ),
                Finding::HardlySeparable { effects, .. } => format!(
                    "{} and {} can hardly be separated here.",
                    self.effect_name(effects[0], random),
                    self.effect_name(effects[1], random)
                ),
                Finding::ShapeAtBound {
                    kind: ShapeKind::Balance,
                    bound,
                    ..
                } => {
                    let (bends, straight) = if *bound < 0.0 {
                        ("row to row", "column to column")
                    } else {
                        ("column to column", "row to row")
                    };
                    format!("The surface bends from {bends} only: from {straight} it is straight.")
                }
                other => sentence(&other.to_string()),
            });
        }
        for told in other {
            tell(err, &told);
        }
        self.tell_few(analysed, err);
        self.tell_covariates(analysed, err);
        if let Some(group) = analysed.groups() {
            tell(err, &groups(analysed.names(), group));
        } else {
            self.tell_loose(analysed.plots, err);
        }
        let untold: Vec<String> = analysed
            .names()
            .iter()
            .zip(&main.estimable)
            .filter(|(_, known)| !**known)
            .map(|(name, _)| name.clone())
            .collect();
        if !untold.is_empty() {
            let told = format!(
                "Beside the fixed terms the records can't give the adjusted {} of {}: left empty.",
                if untold.len() == 1 { "mean" } else { "means" },
                some_of(&untold)
            );
            tell(err, &told);
        }
    }

    /// Names random terms whose levels share no entries, so that nothing but their being random compares entries of one
    /// level with those of another.
    fn tell_loose(&self, plots: &Plots, err: &mut Voice<'_>) {
        let entry = &plots.terms[0];
        let random = self.random.iter().zip(&plots.terms[1 + self.fixed.len()..]);
        for (name, term) in random {
            let parts = joined(
                &entry.level,
                &term.level,
                [entry, term].map(|t| t.levels.len()),
            );
            if parts > 1 && !lies_within(term, entry) {
                let told = format!(
                    "By {name} the entries stand in {parts} groups that share no {name}: between groups they are compared \
                    by {name} being random alone, which is far less sure than within."
                );
                tell(err, &told);
            }
        }
    }

    /// Names levels of --residual-by whose variance rests on hardly any records.
    fn tell_few(&self, analysed: &Analysed<'_>, err: &mut Voice<'_>) {
        let fit = &analysed.main.fit;
        let first = fit.components().effects.len();
        let parts = fit.components().residuals.len();
        for part in (0..parts).filter(|_| parts > 1) {
            let variance = fit.components().get(first + part).get(0, 0);
            let Some(error) = fit.standard_error(first + part, 0, 0) else {
                continue;
            };
            let degrees = 2.0 * (variance / error).powi(2);
            if degrees < FEW
                && let Some(level) = analysed.residual_level(self, part)
            {
                let told = format!(
                    "The residual variance of {level} rests on {degrees:.1} degrees of freedom, which is next to nothing: \
                    join it with another level, or leave out --residual-by."
                );
                tell(err, &told);
            }
        }
    }

    /// Names covariates whose part in the values can't be told.
    fn tell_covariates(&self, analysed: &Analysed<'_>, err: &mut Voice<'_>) {
        let following = self.following_entries(analysed.plots);
        for (nth, name) in self.covariate.iter().enumerate() {
            let numbers = &analysed.plots.numbers[nth];
            if super::terms::is_constant(numbers) {
                // Told already.
                continue;
            }
            if following.contains(&nth) {
                let told = format!(
                    "{name} is the same in all records of each {}: random entries are predicted as departures from it, and \
                    with entries fixed the two can't be told apart.",
                    self.entry
                );
                tell(err, &told);
            } else if !analysed.main.tells_covariate(nth) {
                let terms = self.fixed.iter().zip(&analysed.plots.terms[1..]);
                let told = match terms
                    .into_iter()
                    .find(|(_, term)| follows(numbers, &term.level))
                {
                    Some((term, _)) => format!(
                        "{name} is the same in all records of each {term}, a fixed term: it makes no difference here."
                    ),
                    None => format!(
                        "What {name} does can't be told from the entries, fixed terms and other covariates together: the \
                        comparisons are those without it."
                    ),
                };
                tell(err, &told);
            }
        }
    }

    /// Covariates that are the same in all records of each entry, of several.
    pub(super) fn following_entries(&self, plots: &Plots) -> Vec<usize> {
        let entry = &plots.terms[0];
        let follows = |&nth: &usize| {
            let numbers = &plots.numbers[nth];
            !super::terms::is_constant(numbers) && follows(numbers, &entry.level)
        };
        (0..self.covariate.len()).filter(follows).collect()
    }

    /// What the space adds, and how bent a surface is.
    fn tell_space(&self, analysed: &Analysed<'_>, err: &mut Voice<'_>) {
        let main = &analysed.main;
        if self.space == SpaceChoice::None {
            return;
        }
        if let Space::Neighbours { size, .. } = analysed.trial.space {
            for (length, line) in size.iter().zip(["row", "column"]) {
                if *length < 2 {
                    let told =
                        format!("The plots stand in one {line}: there is no {line} correlation.");
                    tell(err, &told);
                }
            }
        }
        match analysed.trial.test_space(main) {
            Ok(found) => {
                let verdict = if found.significance > 0.05 {
                    ": the model without space fits about as well"
                } else {
                    ""
                };
                let told = format!(
                    "Against the same model without space, -2 log-likelihood falls by {}, p = {}{verdict}.",
                    short(found.gain),
                    short(found.significance)
                );
                tell(err, &told);
            }
            Err(error) => {
                let why = self.told(&error, main.entries == Entries::Random, analysed.plots);
                tell(err, &format!("Without space, to compare: {why}"));
            }
        }
        if let (SpaceChoice::Spline, Some(effect)) = (self.space, main.space)
            && let Ok(dimension) = main
                .model
                .effective_dimension(main.fit.components(), effect)
        {
            let straight = match &analysed.trial.space {
                Space::Surface { .. } => "beside its straight part",
                _ => "in all",
            };
            let told = format!("The surface takes {dimension:.1} effective dimensions {straight}.");
            tell(err, &told);
        }
    }

    /// Why a heritability is left empty.
    fn tell_heritability(&self, analysed: &Analysed<'_>, err: &mut Voice<'_>) {
        let Heritability {
            cullis,
            piepho_mohring,
        } = analysed.heritability();
        let which = match (cullis, piepho_mohring) {
            (Some(_), Some(_)) => return,
            (None, None) => "The heritabilities are",
            (None, Some(_)) => "The heritability after Cullis is",
            (Some(_), None) => "The heritability after Piepho and Möhring is",
        };
        if analysed.names().len() < 2 {
            // Told already.
            return;
        }
        let [random, fixed] = [Entries::Random, Entries::Fixed].map(|taken| analysed.taken(taken));
        let why = match (random, fixed) {
            (None, _) => "the model with random entries can't be fitted",
            (Some(random), _) if random.entries_are_alike() => {
                "the variance of the entries is estimated as 0"
            }
            (Some(one), _) | (_, Some(one)) if !one.errors_are_known() => {
                "a residual variance is estimated as 0"
            }
            (_, None) => "the model with fixed entries can't be fitted",
            (_, Some(_)) if analysed.is_followed => {
                "a covariate is the same in all records of each entry"
            }
            (_, Some(fixed)) if !fixed.all_comparable() => {
                "the records can't compare all entries with each other"
            }
            _ => "the entries can't be told apart",
        };
        tell(err, &format!("{which} left empty: {why}."));
        if self.entries == Taken::Random && piepho_mohring.is_none() && cullis.is_some() {
            tell(
                err,
                "The one after Cullis stands on the model with random entries alone.",
            );
        }
    }
}

/// The most names listed of a group.
const LISTED: usize = 8;
/// Fewer degrees of freedom than this say next to nothing of a variance.
const FEW: f64 = 1.5;

/// In how many parts entries and levels fall that no record joins.
fn joined(entry: &[usize], level: &[usize], [entries, levels]: [usize; 2]) -> usize {
    let mut part: Vec<usize> = (0..entries + levels).collect();
    let mut parts = part.len();
    let root = |part: &mut Vec<usize>, mut place: usize| {
        while part[place] != place {
            part[place] = part[part[place]];
            place = part[place];
        }
        place
    };
    for (&entry, &level) in entry.iter().zip(level) {
        let one = root(&mut part, entry);
        let other = root(&mut part, entries + level);
        if one != other {
            part[one] = other;
            parts -= 1;
        }
    }
    parts
}

/// Whether numbers are the same in all records of each level.
fn follows(numbers: &[f64], level: &[usize]) -> bool {
    let mut of_level = std::collections::HashMap::new();
    numbers.iter().zip(level).all(|(number, level)| {
        *of_level.entry(level).or_insert(number.to_bits()) == number.to_bits()
    })
}

/// Names, and how many more there are.
pub(super) fn some_of(names: &[String]) -> String {
    let listed = names[..names.len().min(LISTED)].join(", ");
    match names.len().saturating_sub(LISTED) {
        0 => listed,
        more => format!("{listed} and {more} more"),
    }
}

/// The most groups listed.
const GROUPS: usize = 5;

/// Entries that can only be compared in groups.
fn groups(names: &[String], group: &[usize]) -> String {
    let count = group.iter().max().map_or(0, |&last| last + 1);
    let list = |wanted: usize| {
        let mut of_group: Vec<&str> = names
            .iter()
            .zip(group)
            .filter(|(_, group)| **group == wanted)
            .map(|(name, _)| name.as_str())
            .collect();
        let more = of_group.len() > LISTED;
        of_group.truncate(LISTED);
        format!("{}{}", of_group.join(", "), if more { ", …" } else { "" })
    };
    let lists: Vec<String> = (0..count.min(GROUPS)).map(list).collect();
    let more = if count > GROUPS { "; …" } else { "" };
    format!(
        "The entries stand in {count} groups that the records don't connect: {}{more}. They are compared and ranked within \
        each alone. Leave out the fixed terms that part them, or plant some of each group together.",
        lists.join("; ")
    )
}

/// Tells which entries differ from a check.
fn tell_against(names: &[String], check: usize, analysis: &Analysis, err: &mut Voice<'_>) {
    let Some(comparison) = analysis.against(check, 0.05) else {
        tell(
            err,
            &format!("{} can't be compared with the other entries.", names[check]),
        );
        return;
    };
    let list = |entries: &[usize]| match entries {
        [] => "none".to_owned(),
        entries => entries
            .iter()
            .map(|&entry| names[entry].as_str())
            .collect::<Vec<_>>()
            .join(", "),
    };
    tell(
        err,
        &format!(
            "Against {} at 5 % over all comparisons with this check (Dunnett, {:.3} standard errors, {:.1} degrees of freedom): above it {}; below it {}.",
            names[check],
            comparison.critical,
            comparison.degrees_of_freedom,
            list(&comparison.above),
            list(&comparison.below)
        ),
    );
}
