//! Why a pair can't be crossed, or should not be.

use crate::permission::{self, Limit};
use crate::{Ploidy, Sex};
use chrono::NaiveDate;

/// Days from which to which a plant was seen in flower.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Window {
    /// The first day, brought to the season that is planned for.
    pub from: NaiveDate,
    /// The last day.
    pub to: NaiveDate,
}

/// A reason why a pair is not offered.
#[derive(Debug, Clone, PartialEq)]
pub enum Exclusion {
    /// It bears no cones.
    FemaleIsMale,
    /// It has no pollen.
    PollenIsFemale,
    /// Both are of one sex.
    SameSex(Sex),
    /// One plant is both, and bears one kind of flower.
    Itself,
    /// Nobody has seen its flowers.
    SexUnknown {
        /// Whether it is the seed parent.
        female: bool,
    },
    /// It died, was culled or lost, and no pollen of it is stored.
    Dead {
        /// Whether it is the seed parent.
        female: bool,
        /// 'died', 'culled' or 'lost'.
        how: &'static str,
    },
    /// Its gametes carry unequal sets of chromosomes: next to no seed, and what comes varies in its sets.
    OddGametes {
        /// Whether it is the seed parent.
        female: bool,
        /// Its sets.
        ploidy: Ploidy,
    },
    /// Her flowers are past or not yet open when he sheds, and none of his pollen is stored.
    FlowersApart {
        /// When she was seen receptive.
        female: Window,
        /// When he was seen to shed.
        male: Window,
    },
    /// A parent, or a plant that it descends from, may not be bred from, or that is an open question.
    Permission {
        /// Whether it is the seed parent.
        female: bool,
        /// What holds it back.
        limit: Limit,
        /// The codes from the plant that it is noted with down to the parent's own parent; none where it is noted with
        /// the parent itself.
        chain: Vec<String>,
    },
    /// A parent came from abroad, and no release or permit is noted.
    Imported {
        /// Whether it is the seed parent.
        female: bool,
    },
    /// Seedlings would be more inbred than the goals accept.
    Inbred {
        /// Their inbreeding F.
        inbreeding: f64,
        /// What is accepted.
        accepted: f64,
    },
}

impl Exclusion {
    /// The reason in a few words, for a cell of a table.
    pub const fn words(&self) -> &'static str {
        match self {
            Self::FemaleIsMale | Self::PollenIsFemale | Self::SameSex(_) => "same sex",
            Self::Itself => "same plant",
            Self::SexUnknown { .. } => "sex not known",
            Self::Dead { .. } => "not alive",
            Self::OddGametes { .. } => "odd sets of chromosomes",
            Self::FlowersApart { .. } => "don't flower together",
            Self::Permission { .. } => "permission",
            Self::Imported { .. } => "law: imported",
            Self::Inbred { .. } => "too inbred",
        }
    }

    /// The reason as a sentence, with what would make the pair acceptable.
    pub fn sentence(&self, female: &str, male: &str) -> String {
        let which = |is_female: bool| if is_female { female } else { male };
        match self {
            Self::FemaleIsMale => {
                format!("{female} is male and bears no cones. Choose another female.")
            }
            Self::PollenIsFemale => format!("{male} is female and has no pollen. Take a male."),
            Self::SameSex(sex) => format!(
                "{female} and {male} are both {}. Take one of each.",
                sex.word()
            ),
            Self::Itself => format!("{female} bears one kind of flower and can't be both parents."),
            Self::SexUnknown { female } => format!(
                "The sex of {} isn't known. Record it when it flowers, or from a marker test.",
                which(*female)
            ),
            Self::Dead { female, how } => format!(
                "{} {}{how}. Take one that lives; pollen of a male that is gone can still serve if it was stored, and that is on record at a cross.",
                which(*female),
                if *how == "died" { "" } else { "was " }
            ),
            Self::OddGametes { female, ploidy } => format!(
                "{} is {ploidy}: its gametes carry unequal sets, so it sets next to no seed.",
                which(*female)
            ),
            Self::FlowersApart {
                female: hers,
                male: his,
            } => format!(
                "{female} was receptive {}, {male} shed pollen {}. Store pollen and record it, and they can meet.",
                days(*hers),
                days(*his)
            ),
            Self::Permission {
                female,
                limit,
                chain,
            } => permission::sentence(limit, which(*female), chain),
            Self::Imported { female } => format!(
                "{} was brought in from abroad and no permit or release is noted. Ask your plant health service, and note the answer or the document with the plant.",
                which(*female)
            ),
            Self::Inbred {
                inbreeding,
                accepted,
            } => format!(
                "Seedlings would have F = {inbreeding:.3}, more than the {accepted:.3} that the goals accept. Take less related parents, or accept more."
            ),
        }
    }
}

fn days(window: Window) -> String {
    let day = |date: NaiveDate| date.format("%-d %B").to_string();
    if window.from == window.to {
        format!("about {}", day(window.from))
    } else {
        format!("{} to {}", day(window.from), day(window.to))
    }
}
