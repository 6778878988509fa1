//! What the columns of a table mean.

use super::Source;
use super::names::folded;
use crate::record::scale::Scale;
use crate::{Id, Project, Trait};
use serde::{Deserialize, Serialize};

/// What a table holds, a row each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TableKind {
    /// Plants with their parents.
    Plants,
    /// Crosses.
    Crosses,
    /// Seed lots.
    SeedLots,
    /// Counts of germination runs.
    Counts,
    /// Samples taken from plants.
    Samples,
    /// What was seen or measured: of plants, or by the code of a sample, as laboratories answer. A column for each trait,
    /// or a row for each value.
    Observations,
}

impl TableKind {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::Plants,
        Self::Crosses,
        Self::SeedLots,
        Self::Counts,
        Self::Samples,
        Self::Observations,
    ];

    /// The words for it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Plants => "plants",
            Self::Crosses => "crosses",
            Self::SeedLots => "seed lots",
            Self::Counts => "counts",
            Self::Samples => "samples",
            Self::Observations => "observations",
        }
    }

    /// What its columns can mean.
    pub fn meanings(self, project: &Project) -> Vec<Meaning> {
        use Meaning as M;
        let mut all = vec![M::Ignored];
        all.extend(match self {
            Self::Plants => vec![
                M::Code,
                M::Name,
                M::Aliases,
                M::Female,
                M::Male,
                M::Cross,
                M::Pedigree,
                M::Ploidy,
                M::Sex,
                M::Born,
                M::Place,
                M::From,
                M::MayBeCrossed,
                M::Owner,
                M::Document,
                M::Conditions,
                M::HoldsUntil,
            ],
            Self::Crosses => vec![
                M::Code,
                M::Female,
                M::Male,
                M::Season,
                M::Date,
                M::SeedsWanted,
                M::Purpose,
            ],
            Self::SeedLots => vec![
                M::Code,
                M::Cross,
                M::Female,
                M::From,
                M::Seeds,
                M::Weight,
                M::ThousandSeedWeight,
                M::Harvested,
                M::Cleaned,
                M::Place,
            ],
            Self::Counts => vec![
                M::Box,
                M::Date,
                M::Germinated,
                M::Abnormal,
                M::Dead,
                M::Lost,
                M::By,
                M::Remark,
            ],
            Self::Samples => vec![
                M::Code,
                M::Plant,
                M::Part,
                M::Date,
                M::Site,
                M::Replicate,
                M::By,
                M::Laboratory,
                M::Sent,
                M::Remark,
            ],
            Self::Observations => {
                let mut all = vec![
                    M::Plant,
                    M::Sample,
                    M::Date,
                    M::TraitName,
                    M::Value,
                    M::Unit,
                    M::Site,
                    M::By,
                    M::Isolate,
                    M::Method,
                    M::Basis,
                    M::Replicate,
                    M::Test,
                    M::Remark,
                ];
                let recorded = project.traits().iter();
                let recorded = recorded.filter(|each| !matches!(each.scale, Scale::Derived { .. }));
                all.extend(recorded.map(|each| M::Trait(each.id)));
                all
            }
        });
        all
    }
}

/// What a column means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[expect(missing_docs, reason = "each is the field of that name")]
pub enum Meaning {
    /// Nothing here.
    Ignored,
    Code,
    Name,
    Aliases,
    Female,
    Male,
    /// In one line, as `A / B // C`.
    Pedigree,
    Ploidy,
    Sex,
    Born,
    Place,
    /// Whom it came from.
    From,
    /// What its owner allows to be bred from it.
    MayBeCrossed,
    Owner,
    Document,
    Conditions,
    HoldsUntil,
    Season,
    SeedsWanted,
    Purpose,
    Cross,
    Seeds,
    Weight,
    ThousandSeedWeight,
    Harvested,
    Cleaned,
    Box,
    Germinated,
    Abnormal,
    Dead,
    Lost,
    Plant,
    Sample,
    Part,
    Laboratory,
    Sent,
    Date,
    /// The name of a trait, where each row is one value.
    TraitName,
    Value,
    Unit,
    Site,
    By,
    Isolate,
    Method,
    Basis,
    Replicate,
    /// A disease test.
    Test,
    Remark,
    /// The values of this trait.
    Trait(Id<Trait>),
}

impl Meaning {
    /// The words for it.
    pub fn words(&self, project: &Project) -> String {
        let words = match self {
            Self::Ignored => "not used",
            Self::Code => "code",
            Self::Name => "name",
            Self::Aliases => "other names",
            Self::Female => "female parent",
            Self::Male => "male parent",
            Self::Pedigree => "pedigree (A / B // C)",
            Self::Ploidy => "ploidy",
            Self::Sex => "sex",
            Self::Born => "date of origin",
            Self::Place => "place",
            Self::From => "from whom",
            Self::MayBeCrossed => "may be crossed",
            Self::Owner => "owner",
            Self::Document => "document of the permission",
            Self::Conditions => "conditions of the permission",
            Self::HoldsUntil => "permission holds until",
            Self::Season => "season",
            Self::SeedsWanted => "seeds wanted",
            Self::Purpose => "purpose",
            Self::Cross => "cross",
            Self::Seeds => "number of seeds",
            Self::Weight => "weight in g",
            Self::ThousandSeedWeight => "weight of a thousand seeds in g",
            Self::Harvested => "day of harvest",
            Self::Cleaned => "day of cleaning",
            Self::Box => "box",
            Self::Germinated => "number germinated",
            Self::Abnormal => "number abnormal",
            Self::Dead => "number dead",
            Self::Lost => "number lost",
            Self::Plant => "plant",
            Self::Sample => "sample",
            Self::Part => "part of the plant",
            Self::Laboratory => "laboratory",
            Self::Sent => "day it was sent",
            Self::Date => "date",
            Self::TraitName => "name of the trait",
            Self::Value => "value",
            Self::Unit => "unit",
            Self::Site => "site",
            Self::By => "name of the person",
            Self::Isolate => "isolate",
            Self::Method => "method",
            Self::Basis => "basis",
            Self::Replicate => "replicate",
            Self::Test => "disease test",
            Self::Remark => "remark",
            Self::Trait(id) => {
                return match project.traits().get(*id) {
                    Some(of_trait) => format!("values of {}", of_trait.name),
                    None => "values of a trait that is gone".into(),
                };
            }
        };
        words.into()
    }

    /// Words that columns of this meaning are headed by, in small letters and without spaces.
    #[expect(clippy::too_many_lines, reason = "one list of words")]
    const fn headings(self) -> &'static [&'static str] {
        match self {
            Self::Code => &[
                "code",
                "id",
                "label",
                "no",
                "no.",
                "nr",
                "number",
                "accession",
                "crossno",
                "lotno",
                "sampleid",
                "samplecode",
            ],
            Self::Name => &[
                "name",
                "plantname",
                "variety",
                "cultivar",
                "sorte",
                "clone",
                "clonename",
            ],
            Self::Aliases => &["aliases", "alias", "othernames", "synonyms", "synonym"],
            Self::Female => &[
                "female",
                "femaleparent",
                "mother",
                "seedparent",
                "dam",
                "♀",
                "mutter",
                "parent1",
                "motherplant",
            ],
            Self::Male => &[
                "male",
                "maleparent",
                "father",
                "pollenparent",
                "pollen",
                "sire",
                "♂",
                "vater",
                "parent2",
            ],
            Self::Pedigree => &["pedigree", "parentage", "descent", "abstammung"],
            Self::Ploidy => &["ploidy", "2n", "chromosomes", "ploidie"],
            Self::Sex => &["sex", "gender", "geschlecht"],
            Self::Born => &[
                "born",
                "dateoforigin",
                "origindate",
                "potted",
                "year",
                "yearofcross",
                "yearraised",
            ],
            Self::Place => &[
                "place",
                "location",
                "position",
                "row",
                "standort",
                "store",
                "box/shelf",
            ],
            Self::From => &[
                "from", "fromwhom", "source", "origin", "supplier", "breeder", "donor",
            ],
            Self::MayBeCrossed => &[
                "maybecrossed",
                "permission",
                "breedinguse",
                "breedingallowed",
                "forbreeding",
            ],
            Self::Owner => &["owner", "rightsholder", "holder"],
            Self::Document => &[
                "documentofthepermission",
                "document",
                "licence",
                "license",
                "agreement",
            ],
            Self::Conditions => &["conditionsofthepermission", "conditions", "terms"],
            Self::HoldsUntil => &[
                "permissionholdsuntil",
                "holdsuntil",
                "permissionuntil",
                "validuntil",
                "until",
            ],
            Self::Season => &["season", "year", "jahr", "crossyear"],
            Self::SeedsWanted => &["seedswanted", "target", "targetseeds"],
            Self::Purpose => &["purpose", "aim", "goal", "reason"],
            Self::Cross => &["cross", "crosscode", "family"],
            Self::Seeds => &["seeds", "numberofseeds", "seedcount", "noofseeds", "n"],
            Self::Weight => &["weight", "seedweight", "grams"],
            Self::ThousandSeedWeight => &[
                "thousandseedweight",
                "weightofathousandseeds",
                "tsw",
                "tkw",
                "tgw",
                "tkg",
            ],
            Self::Harvested => &[
                "harvested",
                "harvest",
                "dayofharvest",
                "harvestdate",
                "picked",
            ],
            Self::Cleaned => &["cleaned", "dayofcleaning", "cleaningdate"],
            Self::Box => &["box", "boxcode", "tray", "germinationrun"],
            Self::Germinated => &[
                "germinated",
                "new",
                "sprouts",
                "sprouted",
                "emerged",
                "up",
                "numbergerminated",
                "count",
            ],
            Self::Abnormal => &["abnormal", "numberabnormal"],
            Self::Dead => &["dead", "died", "numberdead", "mouldy"],
            Self::Lost => &["lost", "thinned", "numberlost"],
            Self::Plant => &[
                "plant",
                "plantcode",
                "entry",
                "genotype",
                "code",
                "id",
                "clone",
                "variety",
                "cultivar",
                "sorte",
                "name",
                "accession",
                "plantname",
            ],
            Self::Sample => &[
                "sample",
                "samplecode",
                "sampleid",
                "sampleno",
                "sampleno.",
                "samplenumber",
                "yoursample",
                "customersample",
                "probe",
                "probennummer",
                "labcode",
            ],
            Self::Part => &["part", "partoftheplant", "organ", "material", "tissue"],
            Self::Laboratory => &["laboratory", "lab", "sentto"],
            Self::Sent => &["sent", "dayitwassent", "datesent", "shipped"],
            Self::Date => &[
                "date",
                "day",
                "datum",
                "observed",
                "dateofobservation",
                "scored",
                "taken",
                "dayitwastaken",
                "sampled",
                "analysed",
                "analyzed",
                "analysisdate",
                "dateofanalysis",
                "pollination",
                "dayofpollination",
                "planneddayofpollination",
            ],
            Self::TraitName => &[
                "trait",
                "traitname",
                "nameofthetrait",
                "character",
                "characteristic",
                "variable",
                "parameter",
                "analyte",
                "test",
                "merkmal",
            ],
            Self::Value => &[
                "value",
                "result",
                "score",
                "reading",
                "measurement",
                "wert",
                "ergebnis",
            ],
            Self::Unit => &["unit", "units", "einheit"],
            Self::Site => &["site", "yard", "trial", "field", "locationname", "ort"],
            Self::By => &[
                "by",
                "observer",
                "person",
                "nameoftheperson",
                "initials",
                "technician",
                "analyst",
                "scorer",
            ],
            Self::Isolate => &["isolate", "race", "strain"],
            Self::Method => &["method", "methode", "technique"],
            Self::Basis => &["basis", "moisture", "moisturebasis"],
            Self::Replicate => &["replicate", "rep", "block", "replication"],
            Self::Test => &["diseasetest", "inoculation"],
            Self::Remark => &[
                "remark",
                "remarks",
                "note",
                "notes",
                "comment",
                "comments",
                "bemerkung",
            ],
            Self::Ignored | Self::Trait(_) => &[],
        }
    }
}

/// What the columns of a table mean.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Mapping {
    /// What the table holds.
    pub kind: TableKind,
    /// What each column means.
    pub columns: Vec<Meaning>,
}

impl Mapping {
    /// What the names of the columns suggest, of the kind that uses the most of them.
    pub fn guess(project: &Project, source: &dyn Source) -> Self {
        let guesses = TableKind::ALL.map(|kind| Self::guess_as(project, source, kind));
        let worth = |mapping: &Self| mapping.worth();
        let best = guesses
            .into_iter()
            .rev()
            .max_by(|a, b| worth(a).total_cmp(&worth(b)));
        best.unwrap_or_else(|| Self::guess_as(project, source, TableKind::Plants))
    }

    /// What the names of the columns suggest, of a table of this kind.
    pub fn guess_as(project: &Project, source: &dyn Source, kind: TableKind) -> Self {
        let mut meanings = kind.meanings(project);
        // A trait's own name says more than any word that several things are called by.
        meanings.sort_by_key(|meaning| !matches!(meaning, Meaning::Trait(_)));
        let mut columns = vec![Meaning::Ignored; source.columns()];
        // First what a column is called in full, then what it is called among other things.
        for rank in 0..24 {
            for (column, own) in columns.iter_mut().enumerate() {
                if *own != Meaning::Ignored {
                    continue;
                }
                let heading = folded(source.name(column)).replace('_', "");
                let fits = |meaning: &&Meaning| match meaning {
                    Meaning::Trait(id) => {
                        let of_trait = project.traits().get(*id);
                        rank == 0 && of_trait.is_some_and(|each| folded(&each.name) == heading)
                    }
                    other => other
                        .headings()
                        .get(rank)
                        .is_some_and(|word| *word == heading),
                };
                if let Some(found) = meanings.iter().find(fits).copied() {
                    meanings.retain(|meaning| *meaning != found);
                    *own = found;
                }
            }
        }
        let mut mapping = Self { kind, columns };
        mapping.drop_doubled();
        mapping
    }

    /// Values stand in columns of traits or in rows of their own, not both.
    fn drop_doubled(&mut self) {
        let long = self.has(&Meaning::TraitName) && self.has(&Meaning::Value);
        if self.kind == TableKind::Observations && !long {
            for own in &mut self.columns {
                if matches!(own, Meaning::TraitName | Meaning::Value | Meaning::Unit) {
                    *own = Meaning::Ignored;
                }
            }
        }
    }

    /// How well it explains the table: columns it uses, and whether the ones that such a table can't do without are there.
    fn worth(&self) -> f64 {
        use Meaning as M;
        let used = self
            .columns
            .iter()
            .filter(|each| **each != M::Ignored)
            .count() as f64;
        let traits = self.columns.iter().any(|each| matches!(each, M::Trait(_)));
        let needed = match self.kind {
            TableKind::Plants => {
                (self.has(&M::Code) || self.has(&M::Name))
                    && (self.has(&M::Pedigree)
                        || self.has(&M::Ploidy)
                        || self.has(&M::Sex)
                        || self.has(&M::Female)
                        || self.has(&M::Name))
            }
            TableKind::Crosses => {
                self.has(&M::Code)
                    && self.has(&M::Female)
                    && self.has(&M::Male)
                    && (self.has(&M::SeedsWanted) || self.has(&M::Purpose) || self.has(&M::Season))
            }
            TableKind::SeedLots => {
                self.has(&M::Code)
                    && (self.has(&M::Cross) || self.has(&M::From) || self.has(&M::Female))
                    && (self.has(&M::Seeds) || self.has(&M::Weight))
            }
            TableKind::Counts => self.has(&M::Box) && self.has(&M::Germinated),
            TableKind::Samples => {
                self.has(&M::Code)
                    && self.has(&M::Plant)
                    && (self.has(&M::Part) || self.has(&M::Laboratory) || self.has(&M::Sent))
            }
            TableKind::Observations => {
                (self.has(&M::Plant) || self.has(&M::Sample))
                    && (traits || self.has(&M::TraitName) && self.has(&M::Value))
            }
        };
        if needed { used + 100.0 } else { used / 100.0 }
    }

    fn has(&self, meaning: &Meaning) -> bool {
        self.columns.contains(meaning)
    }

    /// The column of a meaning.
    pub fn column(&self, meaning: &Meaning) -> Option<usize> {
        self.columns.iter().position(|each| each == meaning)
    }

    /// Why a table can't be read so, as a sentence.
    pub fn fault(&self) -> Option<&'static str> {
        use Meaning as M;
        for (place, meaning) in self.columns.iter().enumerate() {
            if *meaning != M::Ignored && self.columns[..place].contains(meaning) {
                return Some("Two columns mean the same. Leave one of them out.");
            }
        }
        let traits = self.columns.iter().any(|each| matches!(each, M::Trait(_)));
        match self.kind {
            TableKind::Plants if !self.has(&M::Code) && !self.has(&M::Name) => {
                Some("No column gives the code or the name of a plant. Say which one does.")
            }
            TableKind::Crosses if !self.has(&M::Code) || !self.has(&M::Female) => Some(
                "Crosses need a column for their code and one for the female parent. Say which.",
            ),
            TableKind::SeedLots if !self.has(&M::Code) => {
                Some("No column gives the code of a lot. Say which one does.")
            }
            TableKind::Counts if !self.has(&M::Box) || !self.has(&M::Germinated) => Some(
                "Counts need a column for the box and one for the number germinated. Say which.",
            ),
            TableKind::Samples if !self.has(&M::Code) || !self.has(&M::Plant) => {
                Some("Samples need a column for their code and one for the plant. Say which.")
            }
            TableKind::Observations if !self.has(&M::Plant) && !self.has(&M::Sample) => {
                Some("No column gives the plant or the sample. Say which one does.")
            }
            TableKind::Observations
                if !traits && (!self.has(&M::TraitName) || !self.has(&M::Value)) =>
            {
                Some(
                    "No column is named like a trait. Add the trait in Setup, or say which columns give the trait's name and its value.",
                )
            }
            _ => None,
        }
    }
}

/// What tables of one shape have in common: the names of their columns. A mapping remembered by it serves again.
pub fn shape(source: &dyn Source) -> String {
    let names: Vec<String> = (0..source.columns())
        .map(|column| folded(source.name(column)))
        .collect();
    names.join("|")
}
