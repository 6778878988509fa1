//! The tables of a trial: variances and figures, and the entries.

use super::sentences::short;
use super::{Analysed, SpaceChoice, Wanted};
use crate::tables::{CommandResult, Sheet};
use crate::terminal::tell;
use crate::voice::Voice;
use quant::evaluation::{Coordinate, NoEnd, Parameter};
use quant::trial::{Analysis, Entries, Space};
use std::collections::HashSet;

/// The level of the intervals.
const LEVEL: f64 = 0.95;

/// A line of the first table.
struct Line {
    name: String,
    value: Option<f64>,
    error: Option<f64>,
    /// What an interval is to be found of.
    coordinate: Option<Coordinate>,
}

impl Line {
    fn figure(name: &str, value: Option<f64>) -> Self {
        Self {
            name: name.into(),
            value,
            error: None,
            coordinate: None,
        }
    }
}

fn variance(analysis: &Analysis, component: usize, name: impl Into<String>) -> Line {
    let components = analysis.fit.components();
    let part = component.checked_sub(components.effects.len());
    let is_zero = part.is_some_and(|part| analysis.fit.residual_is_zero(part));
    let value = components.get(component).get(0, 0);
    Line {
        name: name.into(),
        value: Some(if is_zero { 0.0 } else { value }),
        error: analysis.fit.standard_error(component, 0, 0),
        coordinate: Some(Coordinate::Entry(Parameter {
            component,
            a: 0,
            b: 0,
        })),
    }
}

impl Analysed<'_> {
    /// The level of --residual-by that a part of the residual is of.
    pub(super) fn residual_level(&self, wanted: &Wanted, part: usize) -> Option<&str> {
        let by = self.plots.terms.last()?;
        let level = wanted.residual_by.as_ref().and(by.levels.get(part))?;
        Some(level)
    }

    /// Both correlations of neighbours; the one that a field of a single row or column doesn't have is left empty.
    fn correlations(&self, component: usize) -> [Line; 2] {
        let Analysed { main, trial, .. } = self;
        let size = match trial.space {
            Space::Neighbours { size, .. } => size,
            _ => [1, 1],
        };
        let known = main.fit.components().get(component).get(0, 0) > 0.0;
        let mut index = 0;
        [
            ("row correlation", size[0]),
            ("column correlation", size[1]),
        ]
        .map(|(name, side)| {
            if side < 2 {
                return Line::figure(name, None);
            }
            let nth = index;
            index += 1;
            Line {
                name: name.into(),
                value: known.then(|| main.fit.components().shapes[component][nth]),
                error: main.fit.shape_standard_error(component, nth),
                coordinate: known.then_some(Coordinate::Shape {
                    component,
                    index: nth,
                }),
            }
        })
    }
}

impl Wanted {
    /// The variances and correlations.
    fn components(&self, analysed: &Analysed<'_>) -> Vec<Line> {
        let main = &analysed.main;
        let mut lines: Vec<Line> = (main.first_term..)
            .zip(&self.random)
            .map(|(k, term)| variance(main, k, term))
            .collect();
        if main.entries == Entries::Random {
            lines.push(variance(main, 0, "entry"));
        }
        let error = main.fit.components().effects.len();
        if self.space == SpaceChoice::Ar1 {
            // With a nugget the residual is what neighbours share.
            let shared = main.space.unwrap_or(error);
            lines.push(variance(main, shared, "residual"));
            lines.extend(analysed.correlations(shared));
            match main.space {
                Some(_) => lines.push(variance(main, error, "nugget")),
                None if self.nugget => lines.push(Line::figure("nugget", Some(0.0))),
                None => {}
            }
            return lines;
        }
        if self.residual_by.is_some() {
            for part in 0..main.fit.components().residuals.len() {
                let level = analysed.residual_level(self, part).unwrap_or_default();
                lines.push(variance(main, error + part, format!("residual {level}")));
            }
        } else {
            lines.push(variance(main, error, "residual"));
        }
        if let Some(k) = main.space {
            lines.push(variance(main, k, "surface"));
        }
        lines
    }

    /// The first table.
    pub(super) fn report(
        &self,
        analysed: &Analysed<'_>,
        err: &mut Voice<'_>,
    ) -> CommandResult<Sheet> {
        let main = &analysed.main;
        let heritability = analysed.heritability();
        let mut lines = self.components(analysed);
        let all_known = main.all_comparable()
            && main.errors_are_known()
            && main.estimable.iter().all(|&known| known);
        let mean = main.combined.mean_variance_of_difference();
        for (name, value) in [
            (
                "minus_2_reml_log_likelihood",
                Some(main.fit.minus_two_log_likelihood()),
            ),
            ("mean_variance_of_difference", mean.filter(|_| all_known)),
            ("heritability_cullis", heritability.cullis),
            ("heritability_piepho_mohring", heritability.piepho_mohring),
        ] {
            lines.push(Line::figure(name, value));
        }
        let mut header = vec!["component", "variance", "standard_error"];
        if self.intervals {
            header.extend(["low", "high"]);
        }
        let mut sheet = Sheet::new(&header)?;
        for line in lines {
            sheet.text(&line.name)?;
            let mut numbers = vec![line.value, line.error];
            if self.intervals {
                numbers.extend(self.interval(analysed, &line, err));
            }
            for number in numbers {
                match number {
                    Some(number) => sheet.number(number)?,
                    None => sheet.text("")?,
                }
            }
            sheet.end_row()?;
        }
        Ok(sheet)
    }

    /// The table of the entries.
    pub(super) fn entry_sheet(&self, analysed: &Analysed<'_>) -> CommandResult<Sheet> {
        let (main, names) = (&analysed.main, analysed.names());
        let ranking = analysed.ranking();
        let mut header: Vec<String> = ["entry", "estimate", "standard_error", "rank"]
            .map(str::to_owned)
            .to_vec();
        let mut chances = Vec::new();
        if let Some(amount) = self.exceed {
            for &check in &analysed.checks {
                header.push(format!("exceeds {}", names[check]));
                chances.push(ranking.probabilities_of_beating(check, amount));
            }
        }
        let groups = analysed.groups();
        header.extend(groups.map(|_| "group".to_owned()));
        let header: Vec<&str> = header.iter().map(String::as_str).collect();
        let mut sheet = Sheet::new(&header)?;
        let among: HashSet<&str> = names.iter().map(String::as_str).collect();
        for ((entry, name), rank) in names.iter().enumerate().zip(ranks(ranking, groups)) {
            sheet.name(name, &among)?;
            let estimate = main.combined.estimate(entry);
            let is_known = main.estimable[entry];
            for number in [
                Some(estimate.value).filter(|_| is_known),
                Some(estimate.standard_error).filter(|_| is_known && main.errors_are_known()),
            ] {
                match number {
                    Some(number) => sheet.number(number)?,
                    None => sheet.text("")?,
                }
            }
            sheet.text(&rank.map(|rank| rank.to_string()).unwrap_or_default())?;
            for of_check in &chances {
                match of_check[entry] {
                    Some(chance) => sheet.number(chance)?,
                    None => sheet.text("")?,
                }
            }
            if let Some(groups) = groups {
                sheet.text(&(groups[entry] + 1).to_string())?;
            }
            sheet.end_row()?;
        }
        Ok(sheet)
    }
}

impl Wanted {
    /// The ends of the interval of a variance or correlation; why one isn't there is told.
    fn interval(
        &self,
        analysed: &Analysed<'_>,
        line: &Line,
        err: &mut Voice<'_>,
    ) -> [Option<f64>; 2] {
        let Some(coordinate) = line.coordinate else {
            return [None; 2];
        };
        let main = &analysed.main;
        let found = main.model.profile_interval(&main.fit, coordinate, LEVEL);
        [("lower", found.low), ("upper", found.high)].map(|(which, end)| {
            let told = match end {
                Ok(end) => return Some(end),
                Err(NoEnd::Unbounded(reached)) => format!(
                    "The interval of {} has no {which} end: even {} is not ruled out.",
                    line.name,
                    short(reached)
                ),
                Err(NoEnd::Unfit { value, why }) => format!(
                    "The {which} end of the interval of {} can't be found: with {} for it the rest can't be fitted. {}",
                    line.name,
                    short(value),
                    self.told(&why, main.entries == Entries::Random, analysed.plots)
                ),
            };
            tell(err, &told);
            None
        })
    }
}

/// The place of each entry in its group: all are one if there are no groups.
fn ranks(analysis: &Analysis, groups: Option<&[usize]>) -> Vec<Option<usize>> {
    let count = analysis.combined.len();
    let Some(groups) = groups else {
        return ranks_of((0..count).collect(), analysis);
    };
    let mut ranks = vec![None; count];
    for group in 0..=groups.iter().max().copied().unwrap_or(0) {
        let members: Vec<usize> = (0..count).filter(|&entry| groups[entry] == group).collect();
        let of_group = ranks_of(members.clone(), analysis);
        for entry in members {
            ranks[entry] = of_group[entry];
        }
    }
    ranks
}

/// The place of each entry from the highest value down; equal values share the first place. Values that differ by
/// rounding alone are equal.
fn ranks_of(mut order: Vec<usize>, analysis: &Analysis) -> Vec<Option<usize>> {
    let count = analysis.combined.len();
    order.retain(|&entry| analysis.estimable[entry]);
    let value = |entry: usize| analysis.combined.estimate(entry).value;
    order.sort_by(|&one, &other| value(other).total_cmp(&value(one)));
    let largest = order
        .iter()
        .map(|&entry| value(entry).abs())
        .fold(0.0, f64::max);
    let spread = match (order.first(), order.last()) {
        (Some(&first), Some(&last)) => value(first) - value(last),
        _ => 0.0,
    };
    // What the equations leave of digits, and what the numbers themselves do.
    let rounding = (1e-9 * spread).max(64.0 * f64::EPSILON * largest);
    let mut ranks = vec![None; count];
    let (mut rank, mut above) = (1, f64::INFINITY);
    for (place, &entry) in (1..).zip(&order) {
        if above - value(entry) > rounding {
            rank = place;
        }
        above = value(entry);
        ranks[entry] = Some(rank);
    }
    ranks
}
