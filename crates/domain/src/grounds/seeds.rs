//! Why so many seeds of a pair are to be sown.

use super::Grounds;
use crate::Project;
use crate::planning::{Funnel, FunnelStage, FunnelStageKind, MOST_SEEDS};
use quant::chance::{Rate, StageSurvival};

impl Funnel {
    /// The grounds of the number of seeds for so many good females with this chance.
    pub fn grounds(
        &self,
        project: &Project,
        seeds: Option<u64>,
        wanted: u32,
        sure: f64,
    ) -> Grounds {
        let hundred = 100.0 * self.mean();
        let why = match seeds {
            Some(seeds) => format!(
                "Of a hundred seeds {hundred:.1} are expected to become good females; {seeds} are the fewest that bring {wanted} with {:.0} %.",
                100.0 * sure
            ),
            None => format!(
                "Of a hundred seeds {hundred:.2} are expected to become good females: no number of seeds worth sowing brings {wanted} with {:.0} %.",
                100.0 * sure
            ),
        };
        let by_average = f64::from(wanted) / self.mean();
        let how_sure = format!(
            "As sure as wished if what is known of each stage holds; what isn't known of them is why it takes more than the {by_average:.0} seeds that the averages alone would ask for."
        );
        Grounds {
            why,
            how_sure,
            would_change: self.least_known(project, wanted, sure),
        }
    }

    /// The stage of which least is known, and the seeds it would take at either end of what it may well be.
    fn least_known(&self, project: &Project, wanted: u32, sure: f64) -> String {
        // What varies most about its mean leaves the product least sure.
        let variation = |stage: &FunnelStage| {
            let mean = stage.rate.mean();
            (1.0 - mean) / (mean * (stage.rate.trials() + 1.0))
        };
        let stages = self.stages.iter().enumerate();
        let least = stages.max_by(|one, other| variation(one.1).total_cmp(&variation(other.1)));
        let Some((place, stage)) = least else {
            return String::new();
        };
        let ends = stage.rate.interval(0.8);
        let seeds = ends.map(|end| {
            let mut rates: Vec<Rate> = self.stages.iter().map(|each| each.rate).collect();
            rates[place] = Rate::of_mean(end.clamp(1e-6, 1.0 - 1e-6), 1e6);
            let survival = StageSurvival::through(&rates);
            survival
                .fewest(wanted.into(), sure, MOST_SEEDS)
                .map_or_else(
                    || "more than a million".to_owned(),
                    |seeds| seeds.to_string(),
                )
        });
        let remedy = match stage.kind {
            FunnelStageKind::Survival(_) => "Counts of this family would tell",
            FunnelStageKind::Threshold(_) | FunnelStageKind::Look(_) => {
                "Records of the two parents would tell"
            }
        };
        format!(
            "Least is known of '{}': {:.0} to {:.0} %, eight times in ten. {remedy}: at the one end it would take {} seeds, at the other {}.",
            stage.kind.words(project),
            100.0 * ends[0],
            100.0 * ends[1],
            seeds[0],
            seeds[1]
        )
    }
}
