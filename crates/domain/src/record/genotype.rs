//! A genotype: one plant as an heirloom of genes, from the day it is potted to the day it is named or dies.

use crate::ancestry;
use crate::date::InWords as _;
use crate::date::{PartialDate, is_plausible};
use crate::id::{AnyId, Id};
use crate::macros::record;
use crate::project::Project;
use crate::record::Record;
use crate::record::chill::ChillBox;
use crate::record::cross::Cross;
use crate::record::germination::Germination;
use crate::record::observation::Stage;
use crate::record::permission::Permission;
use crate::record::seed_lot::SeedLot;
use crate::refusal::Refusal;
use serde::{Deserialize, Serialize};
use std::fmt;

record! {
    /// One genotype. Every seed is a new one; cuttings are ramets of the same one. A seedling is a genotype
    /// from the day it is potted.
    Genotype, GenotypeField {
        required {
            /// The code on its label, unique in the project.
            Code code: String,
            /// Where its genes come from.
            Origin origin: Origin,
        }
        optional {
            /// Its name, once it has one.
            Name name: Option<String>,
            /// Other names and numbers it is known by.
            Aliases aliases: Vec<String>,
            /// Its sex, once known, and how that is known.
            Sex sex: Option<SexRecord>,
            /// Sets of chromosomes; diploid unless said.
            Ploidy ploidy: Ploidy,
            /// What its owner allows to be bred from it.
            Permission permission "permission to breed": Permission,
            /// How far it has come in selection.
            Stage stage: Option<Id<Stage>>,
            /// When and why it was selected, if it was.
            Selected selected "selection": Option<Selection>,
            /// Where it stands: shelf, row and hill, pot.
            Location location "place": String,
            /// When it was potted or came in.
            Born born "date of origin": Option<PartialDate>,
            /// The germination run it was potted from.
            PottedFrom potted_from "germination run": Option<Id<Germination>>,
            /// The box it was potted from, where it sprouted in the cold.
            SproutedIn sprouted_in "box it sprouted in": Option<Id<ChillBox>>,
            /// When and why it was lost, if it was.
            End end: Option<End>,
        }
    }
}

/// Sex of flowers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Sex {
    /// Bears cones.
    Female,
    /// Bears pollen.
    Male,
    /// Bears both.
    Monoecious,
}

impl Sex {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Female => "female",
            Self::Male => "male",
            Self::Monoecious => "monoecious",
        }
    }
}

/// A sex with when and how it became known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SexRecord {
    /// The sex.
    pub sex: Sex,
    /// How it is known.
    pub basis: SexBasis,
    /// When it was seen, tested or stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub date: Option<PartialDate>,
}

/// How a sex is known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum SexBasis {
    /// Flowers were seen.
    FlowersSeen,
    /// A marker test said so; it can be wrong.
    MarkerTest {
        /// Which test, by whom.
        test: String,
    },
    /// The source of the plant says so.
    Stated,
}

impl SexBasis {
    /// The basis in words.
    pub fn words(&self) -> String {
        match self {
            Self::FlowersSeen => "flowers seen".into(),
            Self::MarkerTest { test } if test.is_empty() => "marker test".into(),
            Self::MarkerTest { test } => format!("marker test, {test}"),
            Self::Stated => "stated by source".into(),
        }
    }
}

/// The number of chromosome sets: 2, 3, 4 or a greater even number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(transparent)]
pub struct Ploidy(pub u8);

impl Ploidy {
    /// Two sets, 2n = 2x = 20 in hop.
    pub const DIPLOID: Self = Self(2);
    /// Three sets: nearly seedless females.
    pub const TRIPLOID: Self = Self(3);
    /// Four sets.
    pub const TETRAPLOID: Self = Self(4);

    /// Whether such a plant is known to the trade.
    pub const fn is_valid(self) -> bool {
        self.0 == 3 || (self.0 >= 2 && self.0.is_multiple_of(2) && self.0 <= 12)
    }
}

impl Default for Ploidy {
    fn default() -> Self {
        Self::DIPLOID
    }
}

impl fmt::Display for Ploidy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}x", self.0)
    }
}

/// Where the genes of a plant come from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Origin {
    /// Came from outside the program.
    Founder {
        /// From whom or where.
        source: String,
        /// What was noted of what the source allows. What is chosen of it stands in [`Genotype::permission`].
        #[serde(default, skip_serializing_if = "String::is_empty")]
        permission: String,
        /// A protected or patented cultivar.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        protected: bool,
        /// Brought in from another country.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        imported: bool,
    },
    /// A seed of a cross.
    Cross {
        /// The cross.
        cross: Id<Cross>,
    },
    /// A seed of a female left open to any pollen.
    OpenPollinated {
        /// The mother.
        female: Id<Genotype>,
    },
    /// The same plant with its chromosomes doubled.
    Doubled {
        /// The plant it was.
        from: Id<Genotype>,
    },
    /// A sport or line of the same clone.
    Variant {
        /// The clone it differs from.
        of: Id<Genotype>,
    },
    /// Not known.
    Unknown,
}

/// That a plant was selected.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Selection {
    /// When.
    pub date: PartialDate,
    /// Why.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
}

/// The end of a plant.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct End {
    /// When, as well as is known.
    pub date: PartialDate,
    /// How.
    pub kind: EndKind,
    /// Why.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub cause: String,
}

/// How a plant ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum EndKind {
    /// It died.
    Died,
    /// It was thrown out on purpose.
    Culled,
    /// It can't be found, or its label was lost.
    Lost,
}

impl EndKind {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Died => "died",
            Self::Culled => "culled",
            Self::Lost => "lost",
        }
    }
}

impl Genotype {
    /// A plant of this code and origin, nothing else known.
    pub fn new(id: Id<Self>, code: impl Into<String>, origin: Origin) -> Self {
        Self {
            id,
            code: code.into(),
            origin,
            name: None,
            aliases: Vec::new(),
            sex: None,
            ploidy: Ploidy::DIPLOID,
            permission: Permission::default(),
            stage: None,
            selected: None,
            location: String::new(),
            born: None,
            potted_from: None,
            sprouted_in: None,
            end: None,
        }
    }

    /// Whether it is neither dead, culled nor lost.
    pub const fn is_alive(&self) -> bool {
        self.end.is_none()
    }

    /// Its sex, if known.
    pub fn known_sex(&self) -> Option<Sex> {
        self.sex.as_ref().map(|record| record.sex)
    }

    /// Whether it could be a seed parent: every plant but a known male.
    pub fn may_bear_seed(&self) -> bool {
        self.known_sex() != Some(Sex::Male)
    }

    /// Whether it could give pollen: every plant but a known female.
    pub fn may_give_pollen(&self) -> bool {
        self.known_sex() != Some(Sex::Female)
    }

    /// Whether it could give pollen to this plant: to itself only if it bears both kinds of flowers.
    pub fn may_pollinate(&self, female: Id<Self>) -> bool {
        self.may_give_pollen() && (self.id != female || self.known_sex() == Some(Sex::Monoecious))
    }

    /// How it stands: selected or alive, or how it ended.
    pub fn state_word(&self) -> &'static str {
        match (&self.end, &self.selected) {
            (Some(end), _) => end.kind.word(),
            (None, Some(_)) => "selected",
            (None, None) => "alive",
        }
    }

    /// Its name if it has one, else its code.
    pub fn title(&self) -> &str {
        self.name.as_deref().unwrap_or(&self.code)
    }
}

impl Genotype {
    /// The refusal of a plant that descends from itself.
    pub(crate) fn own_ancestor(&self) -> Refusal {
        Refusal::about(
            self.id,
            format!("{} would be its own ancestor.", self.code),
            "Correct its origin, or the parents of the cross it comes from.",
        )
    }
}

impl Record for Genotype {
    fn code(&self) -> Option<&str> {
        Some(&self.code)
    }

    fn each_reference(&self, visit: &mut dyn FnMut(AnyId)) {
        match self.origin {
            Origin::Cross { cross } => visit(cross.into()),
            Origin::OpenPollinated { female: parent }
            | Origin::Doubled { from: parent }
            | Origin::Variant { of: parent } => {
                visit(parent.into());
            }
            Origin::Founder { .. } | Origin::Unknown => {}
        }
        self.stage.iter().for_each(|stage| visit((*stage).into()));
        self.potted_from.iter().for_each(|run| visit((*run).into()));
        self.sprouted_in
            .iter()
            .for_each(|from| visit((*from).into()));
    }

    fn check(&self, project: &Project) -> Result<(), Refusal> {
        if !self.ploidy.is_valid() {
            return Err(Refusal::about(
                self.id,
                format!(
                    "{} can't have {} sets of chromosomes.",
                    self.code, self.ploidy.0
                ),
                "Give 2, 3, 4 or a greater even number up to 12.",
            ));
        }
        self.check_parental_roles(project)?;
        self.check_dates(project)
    }

    fn check_descent(&self, project: &Project) -> Result<(), Refusal> {
        if ancestry::is_own_ancestor(project, self.id) {
            Err(self.own_ancestor())
        } else {
            Ok(())
        }
    }

    fn check_dependents(&self, project: &Project) -> Result<(), Refusal> {
        if self.end.is_some() {
            for observation in project.observations_of(self.id) {
                observation.check(project)?;
            }
            for cross in project.crosses_with_female(self.id) {
                for event in project.events_of(cross.id) {
                    event.check(project)?;
                }
            }
        }
        Ok(())
    }
}

impl Genotype {
    fn check_parental_roles(&self, project: &Project) -> Result<(), Refusal> {
        match self.known_sex() {
            Some(Sex::Male) => {
                if let Some(cross) = project.crosses_with_female(self.id).next() {
                    return Err(Refusal::about(
                        self.id,
                        format!(
                            "{} is the female parent of cross {}; a male bears no cones.",
                            self.code, cross.code
                        ),
                        "Correct the cross first, or leave the sex as it was.",
                    ));
                }
                if let Some(seed) = self.open_seed(project) {
                    return Err(Refusal::about(
                        self.id,
                        format!(
                            "{} is the open-pollinated mother of {}; a male bears no cones.",
                            self.code,
                            project.describe(seed)
                        ),
                        "Correct where that seed came from first, or leave the sex as it was.",
                    ));
                }
            }
            Some(Sex::Female) => {
                if let Some(cross) = project.crosses_with_pollen(self.id).next() {
                    return Err(Refusal::about(
                        self.id,
                        format!(
                            "{} gave pollen to cross {}; a female has none.",
                            self.code, cross.code
                        ),
                        "Correct the cross first, or leave the sex as it was.",
                    ));
                }
            }
            Some(Sex::Monoecious) | None => {}
        }
        if self.known_sex() != Some(Sex::Monoecious)
            && let Some(cross) = project
                .crosses_with_female(self.id)
                .find(|cross| cross.pollen.males().any(|male| male == self.id))
        {
            return Err(Refusal::about(
                self.id,
                format!(
                    "{} is both parents of cross {}, as only a monoecious plant can be.",
                    self.code, cross.code
                ),
                "Correct the cross first, or leave the sex as it was.",
            ));
        }
        if let Origin::OpenPollinated { female } = self.origin
            && project.genotypes().get(female).and_then(Self::known_sex) == Some(Sex::Male)
        {
            return Err(Refusal::about(
                self.id,
                format!("{} can't come from an open-pollinated male.", self.code),
                "Give the plant whose cones the seed came from.",
            ));
        }
        Ok(())
    }

    /// Seed or a seedling picked from this plant left open, if there is any.
    fn open_seed(&self, project: &Project) -> Option<AnyId> {
        let lot = project
            .referring::<SeedLot>(self.id)
            .next()
            .map(|lot| lot.id.into());
        lot.or_else(|| {
            project
                .referring::<Self>(self.id)
                .find(|child| child.origin == Origin::OpenPollinated { female: self.id })
                .map(|child| child.id.into())
        })
    }

    fn check_dates(&self, project: &Project) -> Result<(), Refusal> {
        let dates = [
            self.born,
            self.end.as_ref().map(|end| end.date),
            self.selected.as_ref().map(|selection| selection.date),
            self.sex.as_ref().and_then(|sex| sex.date),
        ];
        if let Some(wrong) = dates
            .into_iter()
            .flatten()
            .find(|date| !is_plausible(date.earliest()))
        {
            return Err(Refusal::about(
                self.id,
                format!("{} can't be a date of {}.", wrong.in_words(), self.code),
                "Correct the year.",
            ));
        }
        if let Some(until) = self.permission.until.filter(|day| !is_plausible(*day)) {
            return Err(Refusal::about(
                self.id,
                format!("A permission for {} can't end on {until}.", self.code),
                "Correct the year.",
            ));
        }
        let Some(born) = self.born else { return Ok(()) };
        if let Some(run) = self
            .potted_from
            .and_then(|run| project.germinations().get(run))
            && born.latest() < run.moved
        {
            return Err(Refusal::about(
                self.id,
                format!(
                    "{} can't be potted on {born}: its box came to warmth on {}.",
                    self.code,
                    run.moved.in_words()
                ),
                "Correct one of the two dates.",
            ));
        }
        if let Some(chill_box) = self
            .sprouted_in
            .and_then(|from| project.chill_boxes().get(from))
            && let Some(batch) = project.chill_batches().get(chill_box.batch)
            && born.latest() < batch.start
        {
            return Err(Refusal::about(
                self.id,
                format!(
                    "{} can't be potted on {born}: box Started chilling {} on {}.",
                    self.code,
                    chill_box.code,
                    batch.start.in_words()
                ),
                "Correct one of the two dates.",
            ));
        }
        if let Some(end) = &self.end
            && end.date.latest() < born.earliest()
        {
            return Err(Refusal::about(
                self.id,
                format!(
                    "{} can't have {} on {}, before it was potted or came in on {born}.",
                    self.code,
                    end.kind.word(),
                    end.date.in_words()
                ),
                "Correct one of the two dates.",
            ));
        }
        Ok(())
    }
}
