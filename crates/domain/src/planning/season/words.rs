//! What is said of a plan: how sure the goal is, what the limit on coancestry costs, how far the search came.

use super::{Planner, SeasonPlan};
use crate::Project;
use crate::explanation::{Explanation, number};
use crate::planning::diversity::size_words;

impl Planner {
    /// What stands in the way of the rate of coancestry that the goals accept: the least possible and what that costs,
    /// where no plan keeps it.
    pub fn rate_words(&self, plans: &[SeasonPlan]) -> Option<String> {
        let accepted = self.accepted_rate?;
        let least = plans
            .iter()
            .min_by(|one, other| one.rate.total_cmp(&other.rate))?;
        if least.rate <= accepted + 1e-9 {
            return None;
        }
        let taken = &plans[self.accepted(plans)];
        Some(format!(
            "The goals accept a rate of coancestry of {:.1} % a generation, and no plan keeps it: the least found is {:.1} % ({}), which gives up {:.2} of gain against the plan shown, and reaches the goal with {:.0} %. The plan shown keeps nine tenths of the gain.",
            100.0 * accepted,
            100.0 * least.rate,
            size_words(least.rate),
            (taken.gain - least.gain).max(0.0),
            100.0 * least.chance
        ))
    }

    /// How sure the goal is with a plan, in words.
    pub fn chance_words(&self, plan: &SeasonPlan, plans: &[SeasonPlan]) -> String {
        let goal = format!(
            "{} good {}",
            self.wanted,
            crate::words::plural(self.wanted, "female", "females")
        );
        let (chance, sure) = (100.0 * plan.chance, 100.0 * self.sure);
        if plan.chance >= self.sure - 1e-3 {
            return format!(
                "Chance of {goal}: {chance:.0} %, at least as sure as you want ({sure:.0} %)."
            );
        }
        let surest = plans
            .iter()
            .map(|each| each.chance)
            .fold(plan.chance, f64::max);
        let other = if surest >= self.sure - 1e-3 {
            format!(
                "A plan with less diversity or gain reaches {:.0} %.",
                100.0 * surest
            )
        } else {
            format!(
                "No plan found within the limits reaches it: the surest comes to {:.0} %.",
                100.0 * surest
            )
        };
        format!("Chance of {goal}: {chance:.0} %, less than you want ({sure:.0} %). {other}")
    }
}

impl Planner {
    /// What selection in stages costs the goal: what seedlings are taken to be kept for, and the chance if all were kept.
    /// `None` where all traits are seen in one year.
    pub fn stages_words(&self, project: &Project, plan: &SeasonPlan) -> Option<String> {
        let all = plan.chance_keeping_all?;
        let looks: Vec<String> = self
            .good
            .looks
            .iter()
            .map(|each| each.words(project))
            .collect();
        Some(format!(
            "That counts good females that are found: a seedling is taken to be kept until the last trait is seen only if its first record shows {}. Were all kept, the chance would be {:.0} %.",
            looks.join(" and "),
            100.0 * all
        ))
    }
}

impl SeasonPlan {
    /// How much better a plan could at most be, as a share of the bound.
    pub fn distance(&self) -> f64 {
        if self.bound > 0.0 {
            ((self.bound - self.gain) / self.bound).max(0.0)
        } else {
            0.0
        }
    }

    /// How far the plan is from the best there can be, in plain words.
    pub fn distance_words(&self) -> String {
        let share = 100.0 * self.distance();
        if share < 0.05 {
            "No plan within these limits is better.".into()
        } else if share < 5.0 {
            format!("No plan within these limits is better by more than {share:.1} %.")
        } else {
            format!(
                "The gain is not shown to be the best: a plan within these limits could still gain up to {share:.0} % more."
            )
        }
    }

    /// How the chance comes about.
    pub fn explain_chance(&self, planner: &Planner) -> Explanation {
        Explanation::new(
            format!("Chance of {} good females: {:.0} %", planner.wanted, 100.0 * self.chance),
            "P(at least so many good females from all crosses). Given the parents' errors and the rates of seed, good plants of a family are binomial; both are drawn at 512 stratified points, the error of a parent once for all its crosses, the rates once a family. Seed of each cross is taken to be at hand.",
            "McKay, Beckman & Conover (1979), Technometrics 21:239-245, for the points; Genz (1992), J. Comput. Graph. Stat. 1:141-149, for several thresholds",
        )
        .with("as sure as wished", format!("{:.0} %", 100.0 * planner.sure))
        .with(
            "good females expected",
            number(self.crosses.iter().map(|cross| cross.females).sum()),
        )
        .with("crosses", self.crosses.len().to_string())
    }

    /// How the figures of the plan come about.
    pub fn explain(&self, planner: &Planner) -> Explanation {
        Explanation::new(
            format!("Gain {}", number(self.gain)),
            "Expected index of the best plants of all crosses together, as many as good females are hoped for, less the index of an average seedling of all pairs. A plant counts if it comes up, is female and reaches the thresholds; a place that none fills counts nothing. Index and thresholds are taken as independent within a family.",
            "Concave bound by second-order cone programming; contributions after Meuwissen (1997), J. Anim. Sci. 75:934-940",
        )
        .with("best plants", planner.wanted.min(50).to_string())
        .with("index of an average seedling", number(planner.level))
        .with("no plan gains more than", number(self.bound))
        .with("seeds to a portion", planner.portion.to_string())
    }
}
