//! What is doubtful or missing in the records, each with its record and its remedy.

use crate::date::InWords as _;
use crate::id::{AnyId, Id, RecordKind};
use crate::permission;
use crate::project::Project;
use crate::words::{sentence, with_article};
use crate::{BreedingUse, Genotype, Origin, Pollen};
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};

mod crosses;
mod photos;
mod plants;
mod seed;
mod tests_of_seed;

pub use crate::finding::{Finding, Weight};
pub use photos::{PhotoFiles, of_photos};

/// Every finding on a day, the weightiest first.
pub fn findings(project: &Project, today: NaiveDate) -> Vec<Finding> {
    let mut found = Found {
        project,
        today,
        findings: Vec::new(),
    };
    found.faults();
    found.crosses();
    found.plants();
    found.lots();
    found.boxes();
    found.tests_of_seed();
    found.future_dates();
    found
        .findings
        .sort_by_key(|finding| (finding.weight, finding.about));
    found.findings
}

/// So many references to records that aren't there are told one by one.
const MOST_DANGLING: usize = 20;

struct Found<'a> {
    project: &'a Project,
    today: NaiveDate,
    findings: Vec<Finding>,
}

impl Found<'_> {
    fn add(&mut self, weight: Weight, about: impl Into<AnyId>, what: String, remedy: &str) {
        self.findings.push(Finding {
            weight,
            about: Some(about.into()),
            what,
            remedy: remedy.into(),
        });
    }

    /// One finding for one cause: records that are gone leave as many references behind as they had.
    fn many_dangling(&mut self, dangling: &[(AnyId, AnyId)]) {
        let mut counts: BTreeMap<RecordKind, BTreeSet<AnyId>> = BTreeMap::new();
        for (_, to) in dangling {
            counts.entry(to.kind).or_default().insert(*to);
        }
        let kinds = counts.iter().map(|(kind, gone)| kind.counted(gone.len()));
        let gone = kinds.collect::<Vec<_>>().join(", ");
        let first = dangling.first().map_or_else(String::new, |(from, _)| {
            format!(" The first is {}.", self.project.describe(*from))
        });
        self.findings.push(Finding {
            weight: Weight::Fault,
            about: None,
            what: format!(
                "{} references lead to records that aren't there: {gone}.{first}",
                dangling.len()
            ),
            remedy: "Bring them back from a backup, or correct the records.".into(),
        });
    }

    /// What no edit could have brought about, but a file from elsewhere can.
    fn faults(&mut self) {
        let project = self.project;
        let mut dangling = project.dangling_references();
        if dangling.len() > MOST_DANGLING {
            self.many_dangling(&dangling);
            dangling.clear();
        }
        for (from, to) in dangling {
            let what = format!(
                "{} refers to {} that isn't there.",
                sentence(&project.describe(from)),
                with_article(to.kind.noun())
            );
            self.add(
                Weight::Fault,
                from,
                what,
                "Restore it from a backup, or correct the record.",
            );
        }
        for refusal in project.broken_rules() {
            self.findings.push(Finding {
                weight: Weight::Fault,
                about: refusal.about,
                what: refusal.what,
                remedy: refusal.remedy,
            });
        }
        let codes: Vec<_> = project.codes().collect();
        let twice: BTreeSet<_> = codes
            .windows(2)
            .filter(|pair| pair[0].0 == pair[1].0)
            .map(|pair| pair[1].1)
            .collect();
        for id in twice {
            let what = format!(
                "{} is the code of more than one record.",
                project.code_of(id)
            );
            self.add(
                Weight::Fault,
                id,
                what,
                "Give one of them another code, on its label too.",
            );
        }
    }

    fn future_dates(&mut self) {
        let (project, today) = (self.project, self.today);
        let events = project
            .cross_events()
            .iter()
            .map(|each| (AnyId::from(each.id), each.date));
        let checks = project
            .checks()
            .iter()
            .map(|each| (each.id.into(), each.date));
        let moves = project
            .germinations()
            .iter()
            .map(|each| (each.id.into(), each.moved));
        let movements = project
            .movements()
            .iter()
            .map(|each| (each.id.into(), each.date));
        let counts = project
            .counts()
            .iter()
            .map(|each| (each.id.into(), each.date));
        let weighings = project
            .seed_weighings()
            .iter()
            .map(|each| (each.id.into(), each.date));
        let tests = project
            .germination_tests()
            .iter()
            .map(|each| (each.id.into(), each.date));
        let scores = project
            .observations()
            .iter()
            .map(|each| (each.id.into(), each.date));
        let notes = project
            .notes()
            .iter()
            .map(|each| (each.id.into(), each.date));
        for (id, date) in events
            .chain(checks)
            .chain(moves)
            .chain(movements)
            .chain(counts)
            .chain(weighings)
            .chain(tests)
            .chain(scores)
            .chain(notes)
            .filter(|(_, date)| *date > today)
        {
            let what = format!(
                "{} is dated {}, which is still to come.",
                sentence(&project.describe(id)),
                date.in_words()
            );
            self.add(
                Weight::Doubt,
                id,
                what,
                "Correct the date, or this computer's clock.",
            );
        }
    }
}

/// What should give pause before a cross between these two is planned, as sentences.
pub fn cautions_for_parents(
    project: &Project,
    female: Id<Genotype>,
    pollen: &Pollen,
    today: NaiveDate,
) -> Vec<String> {
    let mut words = Vec::new();
    for parent in std::iter::once(female).chain(pollen.males()) {
        let Some(plant) = project.genotypes().get(parent) else {
            continue;
        };
        if plant.sex.is_none() {
            words.push(format!("The sex of {} isn't recorded.", plant.code));
        }
        if let Some(end) = &plant.end {
            words.push(format!(
                "{} {} on {}; only stored pollen could be used.",
                plant.code,
                end.kind.word(),
                end.date.in_words()
            ));
        }
        let limits = permission::limits(project, plant, today);
        let is_open = limits.is_empty() && plant.permission.breeding == BreedingUse::NotKnown;
        words.extend(
            limits
                .iter()
                .map(|limit| limit.sentence(project, &plant.code)),
        );
        if is_open
            && let Origin::Founder {
                protected: true,
                permission: note,
                ..
            } = &plant.origin
        {
            words.push(format!("{} is protected. {note}", plant.code));
        }
        if plant.ploidy.0 % 2 == 1 {
            words.push(format!(
                "{} is {}: nearly sterile, its gametes are uneven.",
                plant.code, plant.ploidy
            ));
        }
    }
    words
}
