//! Which of two strategies is the better one, as they were played out.

use super::Grounds;
use crate::planning::{LookAhead, Played};

/// How far beyond its standard error a difference must lie to be told from luck: nineteen times in twenty.
const TOLD: f64 = 1.96;

impl LookAhead {
    /// The grounds on which one of two strategies is the better one in the last generation; `None` unless two were played.
    pub fn grounds(&self, played: &Played) -> Option<Grounds> {
        let [first, second] = &played.outcomes[..] else {
            return None;
        };
        let difference = played.differences.last()?;
        let [one, other] = [first, second].map(|outcome| outcome.seasons.last());
        let (one, other) = (one?, other?);
        let generations = played.differences.len();
        let error = difference.chosen.error;
        let replicates = first.replicates;
        let gain = difference.chosen.mean;
        let why = format!(
            "After {generations} generations ({} seasons) the plants kept by the first lie {:.2} above today's parents, by the second {:.2}; they are inbred by F {:.3} and {:.3}.",
            self.season_of(generations),
            one.chosen.mean - self.today,
            other.chosen.mean - self.today,
            one.inbreeding.mean,
            other.inbreeding.mean
        );
        let told = if gain.abs() > TOLD * error {
            let better = if gain > 0.0 { "first" } else { "second" };
            format!("the {better} gains more, beyond the luck of the draw")
        } else {
            "which gains more can't be told from luck".to_owned()
        };
        let how_sure = format!(
            "Over {replicates} repeats with the same luck they differ by {gain:.2} ± {error:.2} (SE): {told}. That is the luck of the draw alone: the heritability ({:.2}) and today's values are taken as they are thought to be.",
            self.heritability
        );
        let would_change = format!(
            "Another heritability or spread of the traits, and how many plants can truly be raised and looked at. {} Nothing lost or bought in between is played.",
            self.interval_words()
        );
        Some(Grounds {
            why,
            how_sure,
            would_change,
        })
    }
}
