//! What no edit could have brought about, but a file from elsewhere can.

use super::{Finding, Found, Weight, sentence};
use std::collections::BTreeSet;

pub(super) fn find(found: &mut Found<'_>) {
    let project = found.project;
    for (from, to) in project.dangling_references() {
        let what = format!(
            "{} refers to a {} that isn't there.",
            sentence(&project.describe(from)),
            to.kind.noun()
        );
        found.fault(
            from,
            what,
            "Restore it from a backup, or correct the record.",
        );
    }
    found
        .findings
        .extend(project.broken_rules().into_iter().map(|refusal| Finding {
            weight: Weight::Fault,
            about: refusal.about,
            what: refusal.what,
            remedy: refusal.remedy,
        }));
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
        found.fault(id, what, "Give one of them another code, on its label too.");
    }
}
