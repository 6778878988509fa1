//! Why a plan of the season is the one to take.

use super::Grounds;
use crate::planning::{Binding, Planner, SeasonPlan, size_words};
use crate::{Genotype, Id, Project};
use std::collections::BTreeMap;

impl Planner {
    /// The grounds of a plan, one of `plans`; `binds` is what holds it back, once that is known.
    pub fn grounds(
        &self,
        project: &Project,
        plan: &SeasonPlan,
        plans: &[SeasonPlan],
        binds: Option<&[Binding]>,
    ) -> Grounds {
        let among = plans.len() as u32;
        let taken = plans.get(self.accepted(plans)) == Some(plan);
        let by = match (taken, self.accepted_rate) {
            _ if among == 1 => "So far it is the only one worked out".to_owned(),
            (false, _) => "You chose it".to_owned(),
            (true, Some(rate)) if plan.rate <= rate + 1e-9 => {
                "It gains most of those that keep the rate of coancestry of the goals".to_owned()
            }
            (true, _) => {
                "It is the most diverse that gives up no more than a tenth of the gain".to_owned()
            }
        };
        let sure = if plan.chance >= self.sure - 1e-3 {
            ", and reaches the goal as surely as wished"
        } else {
            ""
        };
        let range = if among > 1 {
            format!(" of {among} plans, from the most diverse to the most gain")
        } else {
            String::new()
        };
        Grounds {
            why: format!(
                "{by}{range}{sure}: gain {:.2}, {}.",
                plan.gain,
                size_words(plan.rate)
            ),
            how_sure: format!(
                "The goal is reached with {:.0} %: what isn't known of the parents and of the rates of seed is in it. {}",
                100.0 * plan.chance,
                plan.distance_words()
            ),
            would_change: self.would_change(project, plan, binds),
        }
    }

    fn would_change(
        &self,
        project: &Project,
        plan: &SeasonPlan,
        binds: Option<&[Binding]>,
    ) -> String {
        let limit = match binds {
            None => String::new(),
            Some([]) => "More of any limit would bring next to nothing. ".to_owned(),
            Some([first, ..]) => format!("{} ", first.words(plan)),
        };
        // The parent of most seeds among those of which less than half is known.
        let mut seeds: BTreeMap<Id<Genotype>, u32> = BTreeMap::new();
        for cross in plan.crosses.iter().filter(|cross| cross.accuracy < 0.7) {
            let least = if self.accuracy(cross.female) <= self.accuracy(cross.male) {
                cross.female
            } else {
                cross.male
            };
            let sum = seeds.entry(least).or_default();
            *sum = sum.saturating_add(cross.seeds);
        }
        let most = seeds.into_iter().max_by_key(|each| each.1);
        let records = most.map_or_else(
            || "Its parents are known well: more records would change little.".to_owned(),
            |(plant, seeds)| {
                format!(
                    "Records of {}, a parent of {seeds} of its {} seeds and known with an accuracy of {:.2}, may move seed to other crosses.",
                    project.code_of(plant),
                    plan.seeds(),
                    self.accuracy(plant)
                )
            },
        );
        limit + &records
    }
}
