//! What may be bred from a plant: what is noted with it, and what it inherits from the plants that it descends from.
//!
//! A refusal and conditions pass to every descendant, whatever is noted with the descendant itself: what a founder's
//! owner forbids can be lifted with the founder only. What isn't known, or has ended, is an open question about the
//! plant it stands with: that plant is held back until it is answered, its descendants are told of it.
//!
//! Words in a note are never taken for an answer. Where a note reads like a refusal and nothing is chosen, that is a
//! guess: the plant and its descendants are held back until someone says whether it is right.

use crate::ancestry::sources;
use crate::id::Id;
use crate::project::Project;
use crate::record::genotype::{Genotype, Origin};
use crate::record::permission::{BreedingUse, Permission};
use chrono::NaiveDate;
use std::collections::{BTreeMap, VecDeque};

/// What is to be heeded in breeding from a plant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Limit {
    /// Its owner forbids it.
    Refused(Permission),
    /// A note reads like a refusal, and nobody has said whether it is one.
    Guessed {
        /// The note.
        note: String,
    },
    /// What was agreed has ended.
    Ended(Permission),
    /// It is protected, and nothing is noted of what its owner allows.
    NothingNoted,
    /// It is allowed on conditions.
    Conditions(Permission),
}

/// A limit, and from which plant it comes down.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Inherited {
    /// The limit.
    pub limit: Limit,
    /// The plants from the one that it is noted with down to the parent of the plant asked about; empty if it is noted
    /// with that plant itself.
    pub chain: Vec<Id<Genotype>>,
}

impl Limit {
    /// Whether it holds the plant back that it is noted with, or, `inherited`, one that descends from it.
    pub const fn holds_back(&self, inherited: bool) -> bool {
        match self {
            Self::Refused(_) | Self::Guessed { .. } => true,
            Self::Ended(_) | Self::NothingNoted => !inherited,
            Self::Conditions(_) => false,
        }
    }
}

impl Inherited {
    /// Whether the plant asked about is held back by it.
    pub const fn holds_back(&self) -> bool {
        self.limit.holds_back(!self.chain.is_empty())
    }

    /// Codes of the chain, from the plant that the limit is noted with downwards.
    pub fn codes(&self, project: &Project) -> Vec<String> {
        let codes = self.chain.iter().map(|id| project.code_of(*id).to_owned());
        codes.collect()
    }

    /// The limit in a sentence about the plant of this code.
    pub fn sentence(&self, project: &Project, code: &str) -> String {
        sentence(&self.limit, code, &self.codes(project))
    }
}

/// A limit in a sentence about the plant `code`, which has it by a chain of others or, where that is empty, itself.
pub(crate) fn sentence(limit: &Limit, code: &str, chain: &[String]) -> String {
    let (who, of) = match chain.first() {
        None => (code.to_owned(), format!("the note of {code}")),
        Some(first) => (
            format!("{code} descends from {}, which", chain_words(chain)),
            format!("the note of {first}"),
        ),
    };
    let reference = |permission: &Permission| match permission.reference() {
        words if words.is_empty() => String::new(),
        words => format!(" ({words})"),
    };
    match limit {
        Limit::Refused(permission) if chain.is_empty() => format!(
            "{who} is not for breeding{}. Ask its owner, or take another parent.",
            reference(permission)
        ),
        Limit::Refused(permission) => format!(
            "{who} is not for breeding{}; that holds for its descendants. Ask its owner, or take another parent.",
            reference(permission)
        ),
        Limit::Guessed { note } if chain.is_empty() => format!(
            "The note of {code} says: '{note}'. That reads like a refusal, but its permission isn't chosen. Choose it on its page."
        ),
        Limit::Guessed { note } => format!(
            "{code} descends from {}. {}{} says: '{note}'. That reads like a refusal, and would hold for its descendants. Choose the permission on its page.",
            chain_words(chain),
            of[..1].to_uppercase(),
            &of[1..]
        ),
        Limit::Ended(permission) => format!(
            "{who} was {} only until {}. Ask its owner again, and note the answer on its page.",
            permission.breeding.words(),
            permission
                .until
                .map(|day| day.to_string())
                .unwrap_or_default()
        ),
        Limit::NothingNoted => format!(
            "{who} is protected and no permission is noted. Ask its owner, and note the answer with the plant."
        ),
        Limit::Conditions(permission) => {
            let conditions = match permission.conditions.trim() {
                "" => "which aren't noted",
                words => words,
            };
            format!(
                "{who} may be bred from on conditions: {conditions}{}.",
                reference(permission)
            )
        }
    }
}

/// 'M-01, through D and E'; of a long line the ends.
fn chain_words(chain: &[String]) -> String {
    match chain {
        [] => String::new(),
        [only] => only.clone(),
        [first, rest @ ..] if rest.len() <= 6 => format!("{first}, through {}", rest.join(", ")),
        [first, rest @ ..] => format!(
            "{first}, through {} and {} more down to {}",
            rest[0],
            rest.len() - 2,
            rest[rest.len() - 1]
        ),
    }
}

/// What is noted with this plant itself, if it limits what may be bred from it on `today`.
pub fn own_limit(plant: &Genotype, today: NaiveDate) -> Option<Limit> {
    let permission = &plant.permission;
    if permission.has_ended(today) {
        return Some(Limit::Ended(permission.clone()));
    }
    match permission.breeding {
        BreedingUse::Free => None,
        BreedingUse::WithConditions => Some(Limit::Conditions(permission.clone())),
        BreedingUse::NotForBreeding => Some(Limit::Refused(permission.clone())),
        BreedingUse::NotKnown => match &plant.origin {
            Origin::Founder {
                permission: note,
                protected,
                ..
            } => {
                let note = note.trim();
                if guess(note) == Some(BreedingUse::NotForBreeding) {
                    Some(Limit::Guessed {
                        note: note.to_owned(),
                    })
                } else if note.is_empty() && *protected {
                    Some(Limit::NothingNoted)
                } else {
                    None
                }
            }
            _ => None,
        },
    }
}

/// All that limits what may be bred from a plant on `today`: its own first, then what it inherits, the nearest first.
pub fn limits(project: &Project, plant: &Genotype, today: NaiveDate) -> Vec<Inherited> {
    let mut found = Vec::new();
    let mut below: BTreeMap<Id<Genotype>, Id<Genotype>> = BTreeMap::new();
    let mut open = VecDeque::from([plant.id]);
    while let Some(id) = open.pop_front() {
        let Some(record) = project.genotypes().get(id) else {
            continue;
        };
        if let Some(limit) = own_limit(record, today) {
            let mut chain = Vec::new();
            let mut at = id;
            while at != plant.id {
                chain.push(at);
                match below.get(&at) {
                    Some(next) => at = *next,
                    None => break,
                }
            }
            found.push(Inherited { limit, chain });
        }
        for source in sources(project, record) {
            if source != plant.id && !below.contains_key(&source) {
                below.insert(source, id);
                open.push_back(source);
            }
        }
    }
    found
}

/// Phrases of a note, and what they may mean.
const PHRASES: [(&str, BreedingUse); 15] = [
    ("no cross", BreedingUse::NotForBreeding),
    ("not for cross", BreedingUse::NotForBreeding),
    ("no breeding", BreedingUse::NotForBreeding),
    ("not for breeding", BreedingUse::NotForBreeding),
    ("not be crossed", BreedingUse::NotForBreeding),
    ("not be used for breeding", BreedingUse::NotForBreeding),
    ("none given", BreedingUse::NotForBreeding),
    ("not given", BreedingUse::NotForBreeding),
    ("comparison only", BreedingUse::NotForBreeding),
    ("refused", BreedingUse::NotForBreeding),
    (" only", BreedingUse::WithConditions),
    ("licen", BreedingUse::WithConditions),
    ("to be named", BreedingUse::WithConditions),
    ("free", BreedingUse::Free),
    ("crossing allowed", BreedingUse::Free),
];

/// What a note, as older files hold it, may mean: a guess to be offered and never acted on as an answer.
pub fn guess(note: &str) -> Option<BreedingUse> {
    let lower = note.to_lowercase();
    PHRASES
        .iter()
        .find(|(phrase, _)| lower.contains(phrase))
        .map(|(_, meant)| *meant)
}
