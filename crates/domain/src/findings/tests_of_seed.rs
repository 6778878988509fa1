//! What the numbers of seed and seedlings make doubtful: replicates too far apart, sexes far from one to one.

use super::{Found, Weight};
use crate::date::InWords as _;
use crate::germination::{Agreement, RunCounts, p_words, percent, percents};
use crate::segregation::{Family, Sexes, sexes};
use crate::stock::ByWeight;
use crate::{ChillBatch, Id, SeedLot};
use quant::contingency::holm;
use std::collections::BTreeMap;

/// The female shares that hop families are known to have lie about here: from one half to three quarters.
const USUAL_FEMALES: (f64, f64) = (0.5, 0.75);

impl Found<'_> {
    pub(super) fn tests_of_seed(&mut self) {
        self.replicates_of_tests();
        self.boxes_of_one_lot();
        self.weighings();
        self.sexes_of_families();
    }

    fn replicates_of_tests(&mut self) {
        let project = self.project;
        for test in project.germination_tests().iter() {
            let each = test.seeds / (test.replicates.len().max(1) as u32);
            let boxes: Vec<_> = test.replicates.iter().map(|up| (*up, each)).collect();
            let found = Agreement::of(&boxes);
            if found.is_doubtful() {
                let code = project.code_of(test.lot);
                self.add(
                    Weight::Doubt,
                    test.id,
                    format!(
                        "The replicates of the test of {code} on {} differ too much: {}.",
                        test.date.in_words(),
                        apart(&found)
                    ),
                    "Test again before you trust the percentage.",
                );
            }
        }
    }

    /// Boxes of one lot that went through the cold together and are done with.
    fn boxes_of_one_lot(&mut self) {
        let project = self.project;
        type Together = (Id<SeedLot>, Id<ChillBatch>);
        let mut together: BTreeMap<Together, Vec<(u32, u32)>> = BTreeMap::new();
        for run in project
            .germinations()
            .iter()
            .filter(|run| run.end.is_some())
        {
            if let Some(chill_box) = project.chill_boxes().get(run.chill_box)
                && let Some(course) = RunCounts::of(project, run)
            {
                together
                    .entry((chill_box.lot, chill_box.batch))
                    .or_default()
                    .push((course.germinated, course.sown));
            }
        }
        for ((lot, batch), boxes) in together {
            let found = Agreement::of(&boxes);
            if found.is_doubtful() {
                self.add(
                    Weight::Doubt,
                    lot,
                    format!(
                        "The {} boxes of lot {} in batch {} differ too much in germination: {}.",
                        boxes.len(),
                        project.code_of(lot),
                        project.code_of(batch),
                        apart(&found)
                    ),
                    "Check the counts, the mould and the moisture of the odd box, and whether all seed in it is of this lot.",
                );
            }
        }
    }

    fn weighings(&mut self) {
        let project = self.project;
        for lot in project.seed_lots().iter() {
            let Some(found) = ByWeight::of(project, lot).filter(ByWeight::varies) else {
                continue;
            };
            self.add(
                Weight::Gap,
                lot.id,
                format!(
                    "The {} replicates weighed of {} differ by {:.1} % (coefficient of variation); up to 4 % is usual.",
                    found.weight.replicates, lot.code, found.weight.variation
                ),
                "Weigh the same number again, or clean the lot once more.",
            );
        }
    }

    fn sexes_of_families(&mut self) {
        let all: Vec<_> = sexes(self.project)
            .into_iter()
            .filter(|sexes| sexes.family != Family::All && sexes.known() > 0)
            .collect();
        let raised = holm(&all.iter().filter_map(Sexes::p).collect::<Vec<_>>());
        for (each, p) in all.iter().zip(raised) {
            let (_, exact) = each.intervals();
            let outside = exact.high < USUAL_FEMALES.0 || exact.low > USUAL_FEMALES.1;
            if p >= 0.01 || !outside {
                continue;
            }
            let about = match each.family {
                Family::Cross(cross) => cross.into(),
                Family::Open(female) => crate::AnyId::from(female),
                Family::All => continue,
            };
            self.add(
                Weight::Doubt,
                about,
                format!(
                    "{} of {} seedlings of {} are female, {} % ({}; p {}): far from what hop families show.",
                    each.females,
                    each.known(),
                    each.title,
                    percent(each.share().unwrap_or(0.0)),
                    percents(exact),
                    p_words(p)
                ),
                "Check whether one sex was culled or died before it was recorded, whether the sexes rest on a marker test, and whether the seed is of this cross.",
            );
        }
    }
}

fn apart(found: &Agreement) -> String {
    match found {
        Agreement::NotKnown => String::new(),
        Agreement::Table(tolerance) => format!(
            "{} % where {} % is allowed at a mean of {} %",
            tolerance.range, tolerance.most, tolerance.mean
        ),
        Agreement::Chance { from, to, test } => format!(
            "{} to {} %, which chance explains with p {}",
            percent(*from),
            percent(*to),
            p_words(test.p)
        ),
    }
}
