//! Why a pair stands where it does in the list.

use super::Grounds;
use crate::Project;
use crate::planning::{BestOf, Candidate, Candidates};

impl Candidates {
    /// The grounds on which a pair is recommended for the best of so many seedlings.
    pub fn grounds(&self, project: &Project, pair: &Candidate, of: BestOf) -> Grounds {
        let index = pair.index;
        let why = format!(
            "Its seedlings are expected at an index of {:.2} and differ by {:.2} (SD). What is seen of them tells the better ones with an accuracy of {:.2}, so that the best of {} comes to {:.2}. Its seedlings are inbred by F {:.3}.",
            index.mean,
            index.spread,
            pair.accuracy,
            of.count(),
            pair.best(of),
            pair.relatedness.inbreeding
        );
        let known = [pair.female, pair.pollen.male].map(|plant| (self.accuracy(plant), plant));
        let how_sure = format!(
            "The mean of the family may be off by {:.2} (SE). {} is known with an accuracy of {:.2}, {} with {:.2}; 1 is all there is to know.",
            index.standard_error,
            project.code_of(known[0].1),
            known[0].0,
            project.code_of(known[1].1),
            known[1].0
        );
        let [hers, his] = known;
        let records = if (hers.0 - his.0).abs() < 0.05 {
            format!(
                "Records of {}, {} and their progeny.",
                project.code_of(hers.1),
                project.code_of(his.1)
            )
        } else {
            let least = if hers.0 < his.0 { hers.1 } else { his.1 };
            format!(
                "Records of {} and its progeny most of all, as less is known of it.",
                project.code_of(least)
            )
        };
        // Pairs stand best first, so that the nearest in promise is a neighbour.
        let place = self
            .pairs
            .iter()
            .position(|other| (other.female, other.pollen.male) == (pair.female, pair.pollen.male));
        let neighbours = place.into_iter().flat_map(|place| {
            let before = place.checked_sub(1).and_then(|place| self.pairs.get(place));
            before.into_iter().chain(self.pairs.get(place + 1))
        });
        let next = neighbours
            .filter(|other| other.is_offered())
            .map(|other| (other, (other.best(of) - pair.best(of)).abs()))
            .min_by(|one, other| one.1.total_cmp(&other.1));
        let beside = next.map_or_else(String::new, |(other, away)| {
            let within = if away <= index.standard_error {
                "well within what isn't known of them"
            } else {
                "more than the family may well be off by"
            };
            format!(
                " The nearest other pair, {}, is {away:.2} away: {within}.",
                self.title(project, other)
            )
        });
        Grounds {
            why,
            how_sure,
            would_change: records + &beside,
        }
    }
}
