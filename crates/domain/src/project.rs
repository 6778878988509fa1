//! The project: every record of a breeding program, changed through one door.

mod door;

use crate::ancestry;
use crate::id::{AnyId, Id, RecordKind};
use crate::macros::with_kinds;
use crate::record::Record;
use crate::record::settings::Settings;
use crate::refusal::Refusal;
use crate::sorted::Sorted;
use crate::table::Table;
use crate::words::with_article;
use crate::{
    Check, ChillBatch, ChillBox, Count, Cross, CrossEvent, CrossEventKind, DiseaseTest, Genotype,
    Germination, GerminationTest, Movement, Note, Observation, Origin, Photo, Pollen, Protocol,
    Sample, ScoringSheet, SeedLot, SeedWeighing, Stage, Task, TemperatureLog, Trait,
};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

macro_rules! define_project {
    ($($Kind:ident $table:ident $noun:literal,)*) => {
        /// Every record of a breeding program.
        ///
        /// Reading is open; changing goes through [`Project::apply`]. A clone shares its structure with the
        /// original and costs next to nothing: it is a snapshot for a worker.
        #[derive(Debug, Clone, Default)]
        pub struct Project {
            settings: Settings,
            $($table: Table<$Kind>,)*
            /// Who refers to whom: (the record referred to, the record that refers).
            links: Links,
            /// Every code in use, folded, with its record.
            codes: Codes,
            revision: u64,
        }

        /// The records of a project as plain lists, as they stand in a file.
        #[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
        #[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
        #[serde(default)]
        pub struct ProjectParts {
            /// What holds for the whole project.
            pub settings: Settings,
            $(#[doc = concat!("Every ", $noun, ".")] pub $table: Vec<$Kind>,)*
        }

        impl ProjectParts {
            /// The number of records of all kinds, those with one identity counted singly.
            pub fn record_count(&self) -> usize {
                0 $(+ self.$table.len())*
            }
        }

        impl Project {
            $(#[doc = concat!("Every ", $noun, ".")] pub const fn $table(&self) -> &Table<$Kind> { &self.$table })*

            /// A project of these records, without asking the rules: what a file holds must open, and its
            /// faults are told by [`crate::findings`]. Of two records with one identity the later stays.
            pub fn from_parts(parts: ProjectParts) -> Self {
                let count = parts.record_count();
                let mut found = Found::default();
                $(for record in &parts.$table { found.in_record(record); })*
                let (mut project, found) = beside(count, move || found.sorted(), || Self {
                    settings: parts.settings,
                    $($table: parts.$table.into_iter().collect(),)*
                    ..Self::default()
                });
                // Of two records with one identity, the references of both were found.
                let (links, codes) = found.filter(|_| project.record_count() == count).unwrap_or_else(|| {
                    let mut found = Found::default();
                    $(for record in project.$table.iter() { found.in_record(record); })*
                    found.sorted()
                });
                project.links = links;
                project.codes = codes;
                project
            }

            /// Whether a record exists.
            pub fn contains(&self, id: AnyId) -> bool {
                match id.kind { $(RecordKind::$Kind => self.$table.contains(Id::<$Kind>::from_uuid(id.uuid)),)* }
            }

            /// The code of a record of any kind, if it carries one and exists.
            pub fn code(&self, id: AnyId) -> Option<&str> {
                match id.kind { $(RecordKind::$Kind => self.$table.get(Id::<$Kind>::from_uuid(id.uuid))?.code(),)* }
            }

            /// What a record without a code is called, if it has a name and exists.
            fn name(&self, id: AnyId) -> Option<String> {
                match id.kind { $(RecordKind::$Kind => self.$table.get(Id::<$Kind>::from_uuid(id.uuid))?.name(self),)* }
            }

            /// The record that this one belongs to, such as the run of a count; nothing for one that stands by itself.
            pub fn owner(&self, id: AnyId) -> Option<AnyId> {
                match id.kind { $(RecordKind::$Kind => self.$table.get(Id::<$Kind>::from_uuid(id.uuid))?.owner(),)* }
            }

            /// The number of records of all kinds.
            pub fn record_count(&self) -> usize {
                0 $(+ self.$table.len())*
            }

            /// The number of records of one kind.
            pub fn count(&self, kind: RecordKind) -> usize {
                match kind { $(RecordKind::$Kind => self.$table.len(),)* }
            }

            /// Every reference to a record that isn't there: (the record that refers, the missing one).
            pub fn dangling_references(&self) -> Vec<(AnyId, AnyId)> {
                let mut dangling = Vec::new();
                // Links stand in the order of the records referred to: each of these is looked for once.
                let mut last = None;
                for (to, from) in self.links.iter() {
                    let missing = match last {
                        Some((seen, missing)) if seen == *to => missing,
                        _ => !self.contains(*to),
                    };
                    if missing { dangling.push((*from, *to)); }
                    last = Some((*to, missing));
                }
                dangling
            }

            /// Asks every record whether it keeps the rules. An edited project always does; a file from elsewhere may not.
            /// It stops at two hundred that don't: a file made of nothing else must not take for ever.
            pub fn broken_rules(&self) -> Vec<Refusal> {
                let mut broken = Vec::from_iter(self.check_settings().err());
                $(
                    let breaks = self.$table.iter().filter_map(|record| record.check(self).err());
                    broken.extend(breaks.take(MOST_BROKEN.saturating_sub(broken.len())));
                )*
                let room = MOST_BROKEN.saturating_sub(broken.len());
                broken.extend(ancestry::in_circles(self).take(room));
                broken
            }
        }

        impl PartialEq for Project {
            fn eq(&self, other: &Self) -> bool {
                self.settings == other.settings $(&& self.$table == other.$table)*
            }
        }

        impl Serialize for Project {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                use serde::ser::SerializeStruct as _;
                let mut parts = serializer.serialize_struct("Project", 1 + RecordKind::ALL.len())?;
                parts.serialize_field("settings", &self.settings)?;
                $(parts.serialize_field(stringify!($table), &self.$table)?;)*
                parts.end()
            }
        }
    };
}
with_kinds!(define_project);

type Links = Sorted<(AnyId, AnyId)>;
type Codes = Sorted<(String, AnyId)>;

/// What records say of others, and what they are called.
#[derive(Default)]
struct Found {
    links: Vec<(AnyId, AnyId)>,
    codes: Vec<(String, AnyId)>,
}

impl Found {
    fn in_record<R: Record>(&mut self, record: &R) {
        let id = AnyId::from(record.id());
        record.each_reference(&mut |to| self.links.push((to, id)));
        let code = record.code().map(|code| (fold(code), id));
        self.codes.extend(code);
    }

    fn sorted(self) -> (Links, Codes) {
        (Sorted::of(self.links), Sorted::of(self.codes))
    }
}

/// Does two things at once where `count` records make it worth a thread. Nothing of the second if there is no thread to be had.
fn beside<A, B: Send>(
    count: usize,
    second: impl FnOnce() -> B + Send,
    first: impl FnOnce() -> A,
) -> (A, Option<B>) {
    if count < WORTH_A_THREAD {
        return (first(), Some(second()));
    }
    std::thread::scope(|scope| {
        let second = std::thread::Builder::new().spawn_scoped(scope, second);
        let first = first();
        let second = second.ok().and_then(|thread| thread.join().ok());
        (first, second)
    })
}

/// From so many records on a second thread saves more than it costs.
const WORTH_A_THREAD: usize = 10_000;

/// Codes are compared without regard to letter size: a hurried pen makes no difference between b and B.
fn fold(code: &str) -> String {
    code.trim().to_lowercase()
}

/// So many broken rules are told at a time.
const MOST_BROKEN: usize = 200;

/// The longest code that fits a label.
pub const CODE_LIMIT: usize = 40;

impl Project {
    /// What holds for the whole project.
    pub const fn settings(&self) -> &Settings {
        &self.settings
    }

    /// How many edits this project took since it was made or opened: what is derived from one revision holds
    /// for that revision.
    pub const fn revision(&self) -> u64 {
        self.revision
    }

    /// The records that carry this code, letters large or small: one, unless a file brought duplicates.
    pub fn find_code(&self, code: &str) -> impl Iterator<Item = AnyId> + '_ {
        let code = fold(code);
        let first = (
            code.clone(),
            AnyId {
                kind: RecordKind::ALL[0],
                uuid: Uuid::nil(),
            },
        );
        self.codes
            .from(&first)
            .take_while(move |(other, _)| *other == code)
            .map(|(_, id)| *id)
    }

    /// Every code in use with its record, in the order of the codes, letters folded to small.
    pub fn codes(&self) -> impl Iterator<Item = (&str, AnyId)> {
        self.codes.iter().map(|(code, id)| (code.as_str(), *id))
    }

    /// Every code in use that begins with `prefix`, letters folded to small.
    pub fn codes_beginning(&self, prefix: &str) -> impl Iterator<Item = &str> {
        let prefix = prefix.to_lowercase();
        let first = (
            prefix.clone(),
            AnyId {
                kind: RecordKind::ALL[0],
                uuid: Uuid::nil(),
            },
        );
        self.codes
            .from(&first)
            .map(|(code, _)| code.as_str())
            .take_while(move |code| code.starts_with(&prefix))
    }

    /// The code of a record, or a word for one that is missing or carries none.
    pub fn code_of(&self, id: impl Into<AnyId>) -> &str {
        let id = id.into();
        self.code(id).unwrap_or(id.kind.noun())
    }

    /// A record in a few words, such as 'box C-12' or 'a check of box C-12'.
    pub fn describe(&self, id: AnyId) -> String {
        let noun = id.kind.noun();
        if let Some(code) = self.code(id) {
            return format!("{noun} {code}");
        }
        match (self.name(id), self.owner(id)) {
            (Some(name), _) => format!("{noun} {name}"),
            // Notes and photos may hang on each other, even in a ring: told no further than one.
            (None, Some(of)) if !matches!(of.kind, RecordKind::Note | RecordKind::Photo) => {
                format!("{} of {}", with_article(noun), self.describe(of))
            }
            _ => with_article(noun),
        }
    }

    /// The record whose page shows this one: itself, or its owner. A germination run has a page of its own, apart from
    /// that of its box.
    pub fn shown_with(&self, id: AnyId) -> AnyId {
        match id.kind {
            RecordKind::Germination => id,
            _ => self.owner(id).unwrap_or(id),
        }
    }

    /// Every record that refers to this one.
    pub fn referrers(&self, to: AnyId) -> impl Iterator<Item = AnyId> + '_ {
        let first = (
            to,
            AnyId {
                kind: RecordKind::ALL[0],
                uuid: Uuid::nil(),
            },
        );
        self.links
            .from(&first)
            .take_while(move |(target, _)| *target == to)
            .map(|(_, from)| *from)
    }

    /// The records of kind `R` that refer to this one, in the order of their making.
    pub fn referring<'a, R: Record + 'a>(
        &'a self,
        to: impl Into<AnyId>,
    ) -> impl Iterator<Item = &'a R> {
        let to = to.into();
        let first = (
            to,
            AnyId {
                kind: R::KIND,
                uuid: Uuid::nil(),
            },
        );
        self.links
            .from(&first)
            .take_while(move |(target, from)| *target == to && from.kind == R::KIND)
            .filter_map(|(_, from)| R::table(self).get(Id::from_uuid(from.uuid)))
    }

    /// The crosses in which this plant is the seed parent.
    pub fn crosses_with_female(&self, plant: Id<Genotype>) -> impl Iterator<Item = &Cross> {
        self.referring::<Cross>(plant)
            .filter(move |cross| cross.female == plant)
    }

    /// The crosses to which this plant gave pollen, alone or in a mix.
    pub fn crosses_with_pollen(&self, plant: Id<Genotype>) -> impl Iterator<Item = &Cross> {
        self.referring::<Cross>(plant)
            .filter(move |cross| cross.pollen.males().any(|male| male == plant))
    }

    /// The plants that came from a cross.
    pub fn progeny_of(&self, cross: Id<Cross>) -> impl Iterator<Item = &Genotype> {
        self.referring::<Genotype>(cross)
    }

    /// The events of a cross, by date, those of one day in the order of recording.
    pub fn events_of(&self, cross: Id<Cross>) -> impl Iterator<Item = &CrossEvent> {
        by_date(self.referring::<CrossEvent>(cross), |event| event.date)
    }

    /// The day pollen was last given.
    pub fn last_pollination(&self, cross: Id<Cross>) -> Option<NaiveDate> {
        self.events_of(cross)
            .filter(|event| event.what == CrossEventKind::Pollinated)
            .map(|event| event.date)
            .max()
    }

    /// The seed lots of a cross.
    pub fn lots_of(&self, cross: Id<Cross>) -> impl Iterator<Item = &SeedLot> {
        self.referring::<SeedLot>(cross)
    }

    /// The boxes of a batch.
    pub fn boxes_of(&self, batch: Id<ChillBatch>) -> impl Iterator<Item = &ChillBox> {
        self.referring::<ChillBox>(batch)
    }

    /// The boxes filled from a lot.
    pub fn boxes_from(&self, lot: Id<SeedLot>) -> impl Iterator<Item = &ChillBox> {
        self.referring::<ChillBox>(lot)
    }

    /// The looks into a box, by date.
    pub fn checks_of(&self, chill_box: Id<ChillBox>) -> impl Iterator<Item = &Check> {
        by_date(self.referring::<Check>(chill_box), |check| check.date)
    }

    /// The germination runs of a box: one, unless a file brought more.
    pub fn runs_of(&self, chill_box: Id<ChillBox>) -> impl Iterator<Item = &Germination> {
        self.referring::<Germination>(chill_box)
    }

    /// The germination run of a box, if it went to warmth.
    pub fn run_of(&self, chill_box: Id<ChillBox>) -> Option<&Germination> {
        self.runs_of(chill_box).next()
    }

    /// The counts of a run, by date.
    pub fn counts_of(&self, run: Id<Germination>) -> impl Iterator<Item = &Count> {
        by_date(self.referring::<Count>(run), |count| count.date)
    }

    /// The plants potted from a run.
    pub fn potted_from(&self, run: Id<Germination>) -> impl Iterator<Item = &Genotype> {
        self.referring::<Genotype>(run)
    }

    /// The plants potted out of a box: those that sprouted in its cold, and those of its run.
    pub fn potted_out_of(&self, chill_box: Id<ChillBox>) -> impl Iterator<Item = &Genotype> {
        let in_warmth = self.runs_of(chill_box).flat_map(|run| {
            // A file may name both: then it is counted where it sprouted.
            self.potted_from(run.id)
                .filter(|plant| plant.sprouted_in.is_none())
        });
        self.referring::<Genotype>(chill_box).chain(in_warmth)
    }

    /// The box a plant was potted out of, if it was.
    pub fn box_of(&self, plant: &Genotype) -> Option<Id<ChillBox>> {
        let run = || self.germinations().get(plant.potted_from?);
        plant.sprouted_in.or_else(|| Some(run()?.chill_box))
    }

    /// What was seen in a plant, by date.
    pub fn observations_of(&self, plant: Id<Genotype>) -> impl Iterator<Item = &Observation> {
        by_date(self.referring::<Observation>(plant), |observation| {
            observation.date
        })
    }

    /// Every observation of a trait.
    pub fn observations_of_trait(&self, of_trait: Id<Trait>) -> impl Iterator<Item = &Observation> {
        self.referring::<Observation>(of_trait)
    }

    /// What was last seen of a trait in a plant.
    pub fn latest_observation(
        &self,
        plant: Id<Genotype>,
        of_trait: Id<Trait>,
    ) -> Option<&Observation> {
        self.referring::<Observation>(plant)
            .filter(|each| each.of_trait == of_trait)
            .max_by_key(|each| each.date)
    }

    /// The notes on a record, by date.
    pub fn notes_on(&self, about: impl Into<AnyId>) -> impl Iterator<Item = &Note> {
        by_date(self.referring::<Note>(about), |note| note.date)
    }

    /// The photos of a record.
    pub fn photos_of(&self, about: impl Into<AnyId>) -> impl Iterator<Item = &Photo> {
        self.referring::<Photo>(about)
    }

    /// The stages of selection, lowest first.
    pub fn stages_in_order(&self) -> Vec<&Stage> {
        let mut stages: Vec<_> = self.stages.iter().collect();
        stages.sort_by_key(|stage| (stage.rank, stage.id));
        stages
    }

    /// The known seed and pollen parents of a plant: from its cross, or its open-pollinated mother.
    pub fn parents_of(&self, plant: &Genotype) -> (Option<Id<Genotype>>, Option<&Pollen>) {
        match plant.origin {
            Origin::Cross { cross } => match self.crosses.get(cross) {
                Some(cross) => (Some(cross.female), Some(&cross.pollen)),
                None => (None, None),
            },
            Origin::OpenPollinated { female } => (Some(female), Some(&Pollen::Open)),
            Origin::Doubled { .. }
            | Origin::Variant { .. }
            | Origin::Founder { .. }
            | Origin::Unknown => (None, None),
        }
    }
}

fn by_date<'a, R: 'a>(
    records: impl Iterator<Item = &'a R>,
    date: impl Fn(&R) -> NaiveDate,
) -> impl Iterator<Item = &'a R> {
    let mut records: Vec<_> = records.collect();
    records.sort_by_key(|record| date(record));
    records.into_iter()
}
