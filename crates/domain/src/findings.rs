//! What is doubtful or missing in the records, each with its record and its remedy.

use crate::id::{AnyId, Id};
use crate::project::Project;
use crate::{Genotype, Origin, Pollen};
use chrono::NaiveDate;

mod boxes;
mod crosses;
mod dates;
mod faults;
mod plants;
mod seed;

/// Something doubtful or missing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// How much it matters.
    pub weight: Weight,
    /// The record.
    pub about: Option<AnyId>,
    /// What was found, as a sentence.
    pub what: String,
    /// What to do, as a sentence.
    pub remedy: String,
}

/// How much a finding matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// The records contradict each other.
    Fault,
    /// Something is likely wrong or at risk.
    Doubt,
    /// Something is missing that will be wanted one day.
    Gap,
}

impl Weight {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Fault => "fault",
            Self::Doubt => "doubt",
            Self::Gap => "gap",
        }
    }
}

/// Every finding on a day, the weightiest first.
pub fn findings(project: &Project, today: NaiveDate) -> Vec<Finding> {
    let mut found = Found {
        project,
        today,
        findings: Vec::new(),
    };
    faults::find(&mut found);
    crosses::find(&mut found);
    plants::find(&mut found);
    seed::find(&mut found);
    boxes::find(&mut found);
    dates::find(&mut found);
    found
        .findings
        .sort_by_key(|finding| (finding.weight, finding.about));
    found.findings
}

/// What was found so far, and in what.
struct Found<'a> {
    project: &'a Project,
    today: NaiveDate,
    findings: Vec<Finding>,
}

impl Found<'_> {
    fn fault(&mut self, about: impl Into<AnyId>, what: String, remedy: &str) {
        self.add(Weight::Fault, about.into(), what, remedy);
    }

    fn doubt(&mut self, about: impl Into<AnyId>, what: String, remedy: &str) {
        self.add(Weight::Doubt, about.into(), what, remedy);
    }

    fn gap(&mut self, about: impl Into<AnyId>, what: String, remedy: &str) {
        self.add(Weight::Gap, about.into(), what, remedy);
    }

    fn add(&mut self, weight: Weight, about: AnyId, what: String, remedy: &str) {
        self.findings.push(Finding {
            weight,
            about: Some(about),
            what,
            remedy: remedy.into(),
        });
    }
}

/// What should give pause before a cross between these two is planned, as sentences.
pub fn cautions_for_parents(
    project: &Project,
    female: Id<Genotype>,
    pollen: &Pollen,
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
                end.date
            ));
        }
        if let Origin::Founder {
            protected: true,
            permission,
            ..
        } = &plant.origin
        {
            let note = if permission.is_empty() {
                "No permission is on record."
            } else {
                permission
            };
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

/// The words with a capital at the front.
fn sentence(words: &str) -> String {
    let mut signs = words.chars();
    signs.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(signs).collect()
    })
}
