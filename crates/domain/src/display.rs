//! The value of any field in words, as it would be read out: for the history, and for two values side by side.

use crate::code::Template;
use crate::date::InWords as _;
use crate::id::{AnyId, Id};
use crate::project::Project;
use crate::record::Record;
use crate::record::chill::{BoxEnd, Moisture, Sterilisation};
use crate::record::cross::{Advised, CrossEventKind, Pollen};
use crate::record::disease_test::Infection;
use crate::record::genotype::{End, Origin, Ploidy, Selection, SexRecord};
use crate::record::germination::GerminationEnd;
use crate::record::goals::Goals;
use crate::record::observation::Direction;
use crate::record::permission::Permission;
use crate::record::protocol::Regimen;
use crate::record::readings::Readings;
use crate::record::sample::PlantPart;
use crate::record::scale::{Basis, Rule, Scale, Value};
use crate::record::scoring_sheet::{SheetColumn, SheetPaper};
use crate::record::seed_lot::{LotSource, MovementKind, SeedAmount};
use crate::record::settings::{CrossTiming, Hemisphere};
use crate::record::temperature_log::LogPlace;
use crate::units::{Celsius, Grams};
use crate::words::plural;
use crate::{PartialDate, Span};
use chrono::NaiveDate;

/// What is read out where nothing stands.
pub const NOTHING: &str = "nothing";

/// The pollen of a cross in words: the male's code, the males of a mix, or that it is open or unknown.
pub fn pollen_words(project: &Project, pollen: &Pollen) -> String {
    match pollen {
        Pollen::Male(male) => project.code_of(*male).to_owned(),
        Pollen::Mix(shares) => shares
            .iter()
            .map(|share| project.code_of(share.male))
            .collect::<Vec<_>>()
            .join(" + "),
        Pollen::Open => "open".into(),
        Pollen::Unknown => "unknown pollen".into(),
    }
}

/// Where the genes of a plant come from, in words: 'A × B', 'A × open', 'founder, from …'.
pub fn origin_words(project: &Project, origin: &Origin) -> String {
    match origin {
        Origin::Founder { source, .. } if source.is_empty() => "founder".into(),
        Origin::Founder { source, .. } => format!("founder, from {source}"),
        Origin::Cross { cross } => match project.crosses().get(*cross) {
            Some(cross) => format!(
                "{} × {}",
                project.code_of(cross.female),
                pollen_words(project, &cross.pollen)
            ),
            None => "a cross".into(),
        },
        Origin::OpenPollinated { female } => format!("{} × open", project.code_of(*female)),
        Origin::Doubled { from } => format!("{}, doubled", project.code_of(*from)),
        Origin::Variant { of } => format!("variant of {}", project.code_of(*of)),
        Origin::Unknown => "unknown".into(),
    }
}

/// A value that can be read out.
pub(crate) trait DisplayValue {
    /// In words; records by their codes, as they are called in `project`.
    fn display(&self, project: &Project) -> String;
}

/// Joins what there is, leaving out what is empty.
fn joined(parts: &[&str]) -> String {
    let parts: Vec<&str> = parts
        .iter()
        .copied()
        .filter(|part| !part.is_empty())
        .collect();
    parts.join(", ")
}

macro_rules! display_as_written {
    ($($Type:ty),*) => {$(
        impl DisplayValue for $Type {
            fn display(&self, _project: &Project) -> String {
                self.to_string()
            }
        }
    )*};
}
display_as_written!(u32, i32, f64, Span, Ploidy, Celsius, Grams);

impl DisplayValue for NaiveDate {
    fn display(&self, _project: &Project) -> String {
        self.in_words()
    }
}

impl DisplayValue for PartialDate {
    fn display(&self, _project: &Project) -> String {
        self.in_words()
    }
}

impl<T: DisplayValue> DisplayValue for Option<T> {
    fn display(&self, project: &Project) -> String {
        self.as_ref()
            .map_or_else(|| NOTHING.into(), |value| value.display(project))
    }
}

impl DisplayValue for String {
    fn display(&self, _project: &Project) -> String {
        if self.is_empty() {
            NOTHING.into()
        } else {
            self.clone()
        }
    }
}

impl<T: DisplayValue> DisplayValue for Vec<T> {
    fn display(&self, project: &Project) -> String {
        if self.is_empty() {
            return NOTHING.into();
        }
        let parts: Vec<String> = self.iter().map(|each| each.display(project)).collect();
        parts.join(", ")
    }
}

impl DisplayValue for bool {
    fn display(&self, _project: &Project) -> String {
        if *self { "yes" } else { "no" }.into()
    }
}

impl<R: Record> DisplayValue for Id<R> {
    fn display(&self, project: &Project) -> String {
        project.describe((*self).into())
    }
}

impl DisplayValue for AnyId {
    fn display(&self, project: &Project) -> String {
        project.describe(*self)
    }
}

impl DisplayValue for Pollen {
    fn display(&self, project: &Project) -> String {
        match self {
            Self::Mix(shares) if shares.iter().any(|each| each.share.is_some()) => {
                let parts: Vec<String> = shares
                    .iter()
                    .map(|each| match each.share {
                        Some(share) => {
                            format!("{} {:.0} %", project.code_of(each.male), share * 100.0)
                        }
                        None => project.code_of(each.male).to_owned(),
                    })
                    .collect();
                parts.join(", ")
            }
            _ => pollen_words(project, self),
        }
    }
}

impl DisplayValue for CrossEventKind {
    fn display(&self, _project: &Project) -> String {
        self.words()
    }
}

impl DisplayValue for SexRecord {
    fn display(&self, _project: &Project) -> String {
        let date = self.date.map(|date| date.in_words()).unwrap_or_default();
        joined(&[self.sex.word(), &self.basis.words(), &date])
    }
}

impl DisplayValue for Origin {
    fn display(&self, project: &Project) -> String {
        let words = origin_words(project, self);
        match self {
            Self::Founder {
                permission,
                protected,
                imported,
                ..
            } => joined(&[
                &words,
                permission,
                if *protected { "protected" } else { "" },
                if *imported { "imported" } else { "" },
            ]),
            Self::Cross { cross } => joined(&[&words, &project.describe((*cross).into())]),
            _ => words,
        }
    }
}

impl DisplayValue for Permission {
    fn display(&self, _project: &Project) -> String {
        if *self == Self::default() {
            NOTHING.into()
        } else {
            self.words()
        }
    }
}

impl DisplayValue for Advised {
    fn display(&self, _project: &Project) -> String {
        format!(
            "plan of {}: {} good females with {:.0} %; of this cross {} seeds, {:.0} sprouts, {:.1} good females",
            self.season,
            self.wanted,
            100.0 * self.chance,
            self.seeds,
            self.sprouts,
            self.good_females
        )
    }
}

impl DisplayValue for Selection {
    fn display(&self, _project: &Project) -> String {
        joined(&["selected", &self.date.in_words(), &self.reason])
    }
}

impl DisplayValue for End {
    fn display(&self, _project: &Project) -> String {
        joined(&[self.kind.word(), &self.date.in_words(), &self.cause])
    }
}

impl DisplayValue for BoxEnd {
    fn display(&self, _project: &Project) -> String {
        joined(&[self.fate.word(), &self.date.in_words(), &self.cause])
    }
}

impl DisplayValue for GerminationEnd {
    fn display(&self, _project: &Project) -> String {
        joined(&[self.rest.words(), &self.date.in_words(), &self.remark])
    }
}

impl DisplayValue for Moisture {
    fn display(&self, _project: &Project) -> String {
        self.word().into()
    }
}

impl DisplayValue for Sterilisation {
    fn display(&self, _project: &Project) -> String {
        let how = format!("{} minutes, {} rinses", self.minutes, self.rinses);
        joined(&[&self.date.in_words(), &how, &self.recipe, &self.by])
    }
}

impl DisplayValue for LogPlace {
    fn display(&self, project: &Project) -> String {
        self.words(project)
    }
}

impl DisplayValue for Readings {
    fn display(&self, _project: &Project) -> String {
        match (self.first(), self.last()) {
            (Some(first), Some(last)) => format!(
                "{} {} from {} to {}",
                self.len(),
                plural(self.len() as u32, "temperature", "temperatures"),
                first.moment().format("%-d %b %Y %H:%M"),
                last.moment().format("%-d %b %Y %H:%M")
            ),
            _ => NOTHING.to_owned(),
        }
    }
}

impl DisplayValue for Regimen {
    fn display(&self, _project: &Project) -> String {
        format!(
            "{} at {} to {} (never below {}), checked daily for {} days, then every {}, {} days after the last \
            mould; {} to {} seeds a box; warm at {}, {} hours of light, sprouts after {} to {} days, counted every \
            {}, given up after {}",
            self.chill,
            self.cold_from,
            self.cold_to,
            self.freezing,
            self.daily_checks,
            self.check_every,
            self.recheck_after,
            self.box_from,
            self.box_to,
            self.warm,
            self.light_hours,
            self.sprouts_from,
            self.sprouts_to,
            self.count_every,
            self.give_up_after,
        )
    }
}

impl DisplayValue for LotSource {
    fn display(&self, project: &Project) -> String {
        match self {
            Self::Cross(cross) => {
                joined(&[&self.words(project), &project.describe((*cross).into())])
            }
            _ => self.words(project),
        }
    }
}

impl DisplayValue for SeedAmount {
    fn display(&self, _project: &Project) -> String {
        match self {
            Self::Counted(seeds) => format!("{seeds} counted"),
            Self::Weighed {
                weight,
                thousand_seed_weight,
            } => format!(
                "{} by weight ({weight}, a thousand weigh {thousand_seed_weight})",
                self.seeds()
            ),
        }
    }
}

impl DisplayValue for MovementKind {
    fn display(&self, _project: &Project) -> String {
        match self {
            Self::Draw => "taken out",
            Self::Return => "brought back",
        }
        .into()
    }
}

impl DisplayValue for Scale {
    fn display(&self, project: &Project) -> String {
        match self {
            Self::Score {
                low, high, between, ..
            } => {
                let words = between
                    .iter()
                    .map(|each| format!("{} {}", each.score, each.word));
                joined(&[&self.unit(), low, &joined_words(words), high])
            }
            Self::Measure {
                unit,
                at_least,
                at_most,
            } => {
                let bound =
                    |word: &str, bound: &Option<f64>| bound.map(|bound| format!("{word} {bound}"));
                joined(&[
                    unit,
                    &bound("at least", at_least).unwrap_or_default(),
                    &bound("at most", at_most).unwrap_or_default(),
                ])
            }
            Self::Derived { rule } => rule.display(project),
            _ => self.unit(),
        }
    }
}

fn joined_words(words: impl Iterator<Item = String>) -> String {
    words.collect::<Vec<_>>().join(", ")
}

impl DisplayValue for Rule {
    fn display(&self, project: &Project) -> String {
        let [first, second] = self.operands().map(|operand| {
            project
                .traits()
                .get(operand)
                .map_or("a trait that is missing", |each| each.name.as_str())
        });
        match self {
            Self::Share { .. } => format!("{first} in per cent of {second}"),
            Self::Ratio { .. } | Self::StorageIndex { .. } => {
                format!("{first} divided by {second}")
            }
            Self::AtMoisture { moisture, .. } => {
                format!("{first} by {second}, at {moisture} % moisture")
            }
            Self::PerArea { .. } => format!("{first} times {second}, both dry"),
        }
    }
}

impl DisplayValue for Value {
    fn display(&self, _project: &Project) -> String {
        self.to_string()
    }
}

impl DisplayValue for Basis {
    fn display(&self, _project: &Project) -> String {
        match self {
            Self::Unstated => NOTHING.into(),
            _ => self.to_string(),
        }
    }
}

impl DisplayValue for PlantPart {
    fn display(&self, _project: &Project) -> String {
        self.word().into()
    }
}

impl DisplayValue for SheetPaper {
    fn display(&self, _project: &Project) -> String {
        self.word().into()
    }
}

impl DisplayValue for SheetColumn {
    fn display(&self, project: &Project) -> String {
        let found = project.traits().get(self.of_trait);
        found.map_or_else(
            || "a trait that is missing".into(),
            |each| each.name.clone(),
        )
    }
}

impl DisplayValue for Infection {
    fn display(&self, _project: &Project) -> String {
        self.words().into()
    }
}

impl DisplayValue for Direction {
    fn display(&self, _project: &Project) -> String {
        match self {
            Self::Higher => "higher is better",
            Self::Lower => "lower is better",
            Self::Neutral => "neither",
        }
        .into()
    }
}

impl DisplayValue for Hemisphere {
    fn display(&self, _project: &Project) -> String {
        match self {
            Self::Northern => "northern hemisphere",
            Self::Southern => "southern hemisphere",
        }
        .into()
    }
}

impl DisplayValue for CrossTiming {
    fn display(&self, _project: &Project) -> String {
        format!(
            "bags on {} days before pollination and off {} after, seed ripe after {} to {}, cleaned within {}",
            self.bag_before, self.bag_off_after, self.ripe_from, self.ripe_to, self.clean_within
        )
    }
}

impl DisplayValue for Template {
    fn display(&self, _project: &Project) -> String {
        self.0.clone()
    }
}

impl DisplayValue for Goals {
    fn display(&self, project: &Project) -> String {
        let traits: Vec<String> = self
            .traits
            .iter()
            .map(|goal| {
                let name = project.describe(goal.of_trait.into());
                match goal.threshold {
                    Some(threshold) => {
                        format!("{name} (weight {}, at least {threshold})", goal.weight)
                    }
                    None => format!("{name} (weight {})", goal.weight),
                }
            })
            .collect();
        let wanted = format!(
            "{} good females, {:.0} % sure, inbreeding to {}",
            self.good_females,
            self.sure * 100.0,
            self.inbreeding,
        );
        let coancestry = self.coancestry_rate.map_or_else(String::new, |rate| {
            format!("coancestry up by {rate} a generation")
        });
        let limit = |name: &str, value: Option<u32>| {
            value.map_or_else(String::new, |value| format!("{name} {value}"))
        };
        let index = self
            .index
            .map_or_else(String::new, |index| format!("index {index}"));
        let by = self.plant_out_by.map_or_else(String::new, |day| {
            format!("planted out by {}", day.in_words())
        });
        joined(&[
            &traits.join(", "),
            &index,
            &wanted,
            &coancestry,
            &limit("boxes", self.space.boxes),
            &limit("cells", self.space.cells),
            &limit("pots", self.space.pots),
            &limit("hills", self.space.hills),
            &by,
            &limit("cones a female", self.limits.cones_per_female),
            &limit("crosses a male", self.limits.crosses_per_male),
            &limit("crosses a week", self.limits.crosses_per_week),
        ])
    }
}
