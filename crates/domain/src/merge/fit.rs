//! Whether what comes in keeps the rules together with what is there, and what stands in its way.

use super::{Clash, Conflict, by_record, records, told};
use crate::compare::{Comparison, Verb, removal};
use crate::edit::Edit;
use crate::id::{AnyId, Id, RecordKind};
use crate::project::Project;
use crate::record::chill::{ChillBatchField, ChillBoxField};
use crate::record::cross::CrossField;
use crate::record::genotype::GenotypeField;
use crate::record::seed_lot::SeedLotField;
use crate::refusal::Refusal;
use crate::words::with_article;
use crate::{ChillBatch, ChillBox, Cross, Genotype, SeedLot};
use std::collections::{BTreeMap, BTreeSet};

/// How many changes of this copy are tried as what stands in the way of one of the other.
const MOST_TRIED: usize = 60;
/// How many of them are told.
const MOST_TOLD: usize = 12;

/// The changes of one record that were refused, and why.
pub(super) struct Refused {
    edits: Vec<Edit>,
    why: Refusal,
}

/// Whether a project accepts these edits, as one.
fn accepts(project: &Project, edits: &[Edit]) -> Result<(), Refusal> {
    project
        .clone()
        .apply(Edit::all("", edits.to_vec()))
        .map(|_| ())
}

/// The edits that a project accepts, all in one, and those it refuses.
pub(super) fn fit(project: &Project, edits: Vec<Edit>) -> (Vec<Edit>, Vec<Refused>) {
    let mut after = project.clone();
    let mut accepted = Vec::new();
    let mut waiting = by_record(edits);
    // What was refused may be accepted once others are in.
    loop {
        let before = waiting.len();
        let mut refused = Vec::new();
        try_groups(&mut after, waiting, &mut accepted, &mut refused);
        if refused.is_empty() || refused.len() == before {
            return (accepted, refused);
        }
        waiting = refused.into_iter().map(|each| each.edits).collect();
    }
}

/// All together if they are accepted, else each half by itself.
fn try_groups(
    project: &mut Project,
    mut groups: Vec<Vec<Edit>>,
    accepted: &mut Vec<Edit>,
    refused: &mut Vec<Refused>,
) {
    if groups.is_empty() {
        return;
    }
    let edits = groups.concat();
    match project.apply(Edit::all("", edits.clone())) {
        Ok(_) => accepted.extend(edits),
        Err(why) if groups.len() == 1 => refused.push(Refused { edits, why }),
        Err(_) => {
            let rest = groups.split_off(groups.len() / 2);
            try_groups(project, groups, accepted, refused);
            try_groups(project, rest, accepted, refused);
        }
    }
}

/// Refused changes by what they hang on, that first.
pub(super) fn clusters(theirs: &Project, refused: Vec<Refused>) -> Vec<Vec<Refused>> {
    let about: Vec<Option<AnyId>> = refused
        .iter()
        .map(|each| each.edits.first().and_then(Edit::about))
        .collect();
    let places: BTreeMap<AnyId, usize> = about
        .iter()
        .enumerate()
        .filter_map(|(place, id)| Some(((*id)?, place)))
        .collect();
    // Only what is new can be missed by others.
    let is_new = |place: usize| {
        refused[place]
            .edits
            .iter()
            .any(|edit| edit.verb() == Verb::Add)
    };
    let mut root: Vec<usize> = (0..refused.len()).collect();
    for (place, id) in about.iter().enumerate() {
        let needed = id.map(|id| theirs.references(id)).unwrap_or_default();
        for needed in needed.iter().filter_map(|id| places.get(id)) {
            if *needed != place && is_new(*needed) {
                let (one, other) = (find(&root, place), find(&root, *needed));
                root[one] = other;
            }
        }
    }
    let mut clusters: BTreeMap<usize, Vec<Refused>> = BTreeMap::new();
    for (place, each) in refused.into_iter().enumerate() {
        let of = find(&root, place);
        let cluster = clusters.entry(of).or_default();
        if of == place {
            cluster.insert(0, each);
        } else {
            cluster.push(each);
        }
    }
    clusters.into_values().collect()
}

fn find(root: &[usize], mut place: usize) -> usize {
    while root[place] != place {
        place = root[place];
    }
    place
}

/// The records that these edits need and a project lacks, taken from another.
fn with_references(here: &Project, theirs: &Project, edits: Vec<Edit>) -> Vec<Edit> {
    let mut known = records(&edits);
    let mut all = edits;
    let mut waiting: Vec<AnyId> = known.iter().copied().collect();
    while let Some(id) = waiting.pop() {
        for needed in theirs.references(id) {
            if !here.contains(needed)
                && known.insert(needed)
                && let Some(record) = theirs.record(needed)
            {
                all.insert(0, record);
                waiting.push(needed);
            }
        }
    }
    all
}

/// The edits, and the taking away of all that refers to what they take away.
fn with_referrers(here: &Project, edits: Vec<Edit>) -> Vec<Edit> {
    let mut known = records(&edits);
    let mut all = edits;
    let mut waiting: Vec<AnyId> = known.iter().copied().collect();
    while let Some(id) = waiting.pop() {
        for referrer in here.referrers(id) {
            if known.insert(referrer) {
                all.insert(0, removal(referrer));
                waiting.push(referrer);
            }
        }
    }
    all
}

/// Asks the rules about what comes in, with what came in by itself in place.
pub(super) struct Asking<'a> {
    base: Option<&'a Project>,
    mine: &'a Project,
    /// This copy with what comes in by itself.
    here: Project,
    theirs: &'a Project,
    /// Codes given to records of the other copy.
    given: BTreeSet<String>,
}

impl<'a> Asking<'a> {
    pub(super) fn new(
        base: Option<&'a Project>,
        mine: &'a Project,
        theirs: &'a Project,
        clean: &[Edit],
    ) -> Self {
        let mut here = mine.clone();
        // What was accepted once is accepted again.
        let _inverse = here.apply(Edit::all("", clean.to_vec()));
        Self {
            base,
            mine,
            here,
            theirs,
            given: BTreeSet::new(),
        }
    }

    /// Sees to it that what stands there can be taken: a record brought back brings what it refers to, one taken away
    /// takes along what refers to it here, a value takes back what was done here against it.
    pub(super) fn mend(&self, conflict: &mut Conflict) {
        let Some(take) = conflict.take.take() else {
            return;
        };
        let mended = match conflict.clash {
            Clash::GoneHere => with_references(&self.here, self.theirs, take),
            Clash::GoneThere => with_referrers(&self.here, take),
            Clash::Field | Clash::Code(_) | Clash::Rule(_) => take,
        };
        if accepts(&self.here, &mended).is_ok() {
            conflict.take = Some(mended);
        } else {
            self.against(conflict, &mended);
        }
    }

    /// What was refused, as one conflict.
    pub(super) fn conflict(&mut self, cluster: Vec<Refused>) -> Conflict {
        let why = cluster.first().map(|each| each.why.clone());
        let about = cluster
            .first()
            .and_then(|each| each.edits.first())
            .and_then(Edit::about);
        let there: Vec<Edit> = cluster.into_iter().flat_map(|each| each.edits).collect();
        let mut conflict = Conflict {
            about,
            clash: Clash::Rule(why.map(|why| why.what).unwrap_or_default()),
            title: about.map_or_else(
                || "a setting".into(),
                |id| {
                    let home = if self.theirs.contains(id) {
                        self.theirs
                    } else {
                        &self.here
                    };
                    home.describe(id)
                },
            ),
            mine: Vec::new(),
            theirs: listed(&there, self.theirs, &self.here),
            here: Vec::new(),
            there: there.clone(),
            take: None,
        };
        if there.iter().all(|edit| edit.verb() == Verb::Remove) {
            self.still_needed(&mut conflict, there);
        } else if !self.same_code(&mut conflict, &there) && !self.gone(&mut conflict, &there) {
            self.against(&mut conflict, &there);
        }
        conflict
    }

    /// Taken away there, and something new here needs it.
    fn still_needed(&self, conflict: &mut Conflict, there: Vec<Edit>) {
        let all = with_referrers(&self.here, there);
        let needing: Vec<AnyId> = records(&all)
            .into_iter()
            .filter(|id| self.theirs.contains(*id) || !self.was_there(*id))
            .collect();
        conflict.clash = Clash::GoneThere;
        conflict.theirs = vec!["removed".into()];
        conflict.mine = needing
            .iter()
            .take(MOST_TOLD)
            .map(|id| format!("needed by {}", self.here.describe(*id)))
            .collect();
        conflict.here = needing
            .iter()
            .filter_map(|id| self.here.record(*id))
            .collect();
        conflict.take = accepts(&self.here, &all).is_ok().then_some(all);
    }

    fn was_there(&self, id: AnyId) -> bool {
        self.base.is_some_and(|base| base.contains(id))
    }

    /// Records of the other copy whose codes are taken here get other codes.
    fn same_code(&mut self, conflict: &mut Conflict, there: &[Edit]) -> bool {
        let mut take = there.to_vec();
        let mut first = None;
        for id in records(there) {
            let Some(code) = self.theirs.code(id) else {
                continue;
            };
            let Some(holder) = self.here.find_code(code).find(|other| *other != id) else {
                continue;
            };
            let Some(free) = self.free_code(code) else {
                continue;
            };
            take.extend(recoded(id, free.clone()));
            conflict.mine.push(format!(
                "{code} is the code of {}",
                article(&self.here, holder)
            ));
            conflict.here.extend(self.here.record(holder));
            first.get_or_insert(free);
        }
        let Some(code) = first else { return false };
        if accepts(&self.here, &take).is_err() {
            conflict.mine.clear();
            conflict.here.clear();
            return false;
        }
        conflict.clash = Clash::Code(code);
        conflict.take = Some(take);
        true
    }

    /// The first code of the form 'C-12-2' that neither copy uses.
    fn free_code(&mut self, code: &str) -> Option<String> {
        let free = (2..1000).map(|nth| format!("{code}-{nth}")).find(|free| {
            self.here.find_code(free).next().is_none()
                && self.theirs.find_code(free).next().is_none()
                && !self.given.contains(free)
        })?;
        self.given.insert(free.clone());
        Some(free)
    }

    /// Something there needs what was taken away here.
    fn gone(&self, conflict: &mut Conflict, there: &[Edit]) -> bool {
        let take = with_references(&self.here, self.theirs, there.to_vec());
        if take.len() == there.len() || accepts(&self.here, &take).is_err() {
            return false;
        }
        let known = records(there);
        let back: Vec<AnyId> = records(&take).difference(&known).copied().collect();
        conflict.clash = Clash::GoneHere;
        conflict.mine = back
            .iter()
            .take(MOST_TOLD)
            .map(|id| format!("{} was removed", self.theirs.describe(*id)))
            .collect();
        conflict.here = back.into_iter().map(removal).collect();
        conflict.take = Some(take);
        true
    }

    /// A rule that both keep by themselves: what was done here is looked through for what stands in the way.
    fn against(&self, conflict: &mut Conflict, there: &[Edit]) {
        let touched = records(there);
        let mut near: BTreeSet<AnyId> = touched.clone();
        near.extend(touched.iter().flat_map(|id| self.theirs.references(*id)));
        let mut undone: Vec<Vec<Edit>> = Vec::new();
        let mut ways = self.own_changes(&near);
        ways.reverse();
        ways.truncate(MOST_TRIED);
        let take = |undone: &[Vec<Edit>]| [undone.concat(), there.to_vec()].concat();
        let mut found = false;
        for way in ways {
            undone.push(way);
            if accepts(&self.here, &take(&undone)).is_ok() {
                found = true;
                break;
            }
        }
        if !found {
            return;
        }
        // What needn't be given up isn't.
        let mut at = 0;
        while at < undone.len() {
            let mut fewer = undone.clone();
            fewer.remove(at);
            if accepts(&self.here, &take(&fewer)).is_ok() {
                undone = fewer;
            } else {
                at += 1;
            }
        }
        let undone_here: Vec<Edit> = undone
            .iter()
            .flatten()
            .filter_map(|edit| match edit.verb() {
                Verb::Add => edit.about().map(removal),
                _ => edit.as_in(self.mine),
            })
            .collect();
        conflict
            .mine
            .extend(listed(&undone_here, self.mine, self.theirs));
        conflict.here.extend(undone_here);
        conflict.take = Some(take(&undone));
    }

    /// What would take back the changes made here to these records and to those that refer to them, by record.
    fn own_changes(&self, near: &BTreeSet<AnyId>) -> Vec<Vec<Edit>> {
        let before = self.base.unwrap_or(self.theirs);
        let mut all: BTreeSet<AnyId> = near.clone();
        for id in near {
            all.extend(self.mine.referrers(*id).take(10_000));
            all.extend(before.referrers(*id).take(10_000));
        }
        let back = |id: AnyId| -> Vec<Edit> {
            match (self.mine.record(id), before.record(id)) {
                (Some(_), None) => vec![removal(id)],
                (None, Some(record)) => vec![record],
                (Some(now), Some(then)) if self.base.is_some() => now.changed_fields(&then),
                _ => Vec::new(),
            }
        };
        all.into_iter()
            .map(back)
            .filter(|edits| !edits.is_empty())
            .collect()
    }
}

/// Edits in words, the first of many.
fn listed(edits: &[Edit], project: &Project, other: &Project) -> Vec<String> {
    let home = |edit: &Edit| match edit.about() {
        Some(id) if !project.contains(id) => other,
        _ => project,
    };
    let mut lines: Vec<String> = edits
        .iter()
        .take(MOST_TOLD)
        .map(|edit| told(edit, home(edit)))
        .collect();
    if edits.len() > MOST_TOLD {
        let rest = Comparison {
            edits: edits[MOST_TOLD..].to_vec(),
        };
        lines.extend(rest.words().map(|words| format!("and {words}")));
    }
    lines
}

fn article(project: &Project, id: AnyId) -> String {
    format!("{}: {}", with_article(id.kind.noun()), project.describe(id))
}

/// The edit that gives a record another code; nothing for the kinds that carry none.
fn recoded(id: AnyId, code: String) -> Option<Edit> {
    Some(match id.kind {
        RecordKind::Genotype => Edit::set(
            Id::<Genotype>::from_uuid(id.uuid),
            GenotypeField::Code(code),
        ),
        RecordKind::Cross => Edit::set(Id::<Cross>::from_uuid(id.uuid), CrossField::Code(code)),
        RecordKind::SeedLot => {
            Edit::set(Id::<SeedLot>::from_uuid(id.uuid), SeedLotField::Code(code))
        }
        RecordKind::ChillBatch => Edit::set(
            Id::<ChillBatch>::from_uuid(id.uuid),
            ChillBatchField::Code(code),
        ),
        RecordKind::ChillBox => Edit::set(
            Id::<ChillBox>::from_uuid(id.uuid),
            ChillBoxField::Code(code),
        ),
        _ => return None,
    })
}
