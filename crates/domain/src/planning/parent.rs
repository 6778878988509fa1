//! A plant as a parent to be: what speaks for it, and what stands in its way whatever its mate.

use super::{Exclusion, Goals, PollenAtHand, ResistanceSource, Window};
use crate::ancestry::is_parent;
use crate::date::shift;
use crate::permission::{self, Inherited};
use crate::{
    CrossEventKind, Genotype, Hemisphere, Id, Origin, Pollen, Project, Scale, Sex, actions,
};
use chrono::{Datelike as _, Months, NaiveDate};
use std::collections::BTreeMap;

/// Stored pollen serves for so many days, to the flowering of the next year: at -18 °C half of it lives after a year,
/// at 3 °C none (Haunold & Stanwood 1985, Crop Sci. 25).
const POLLEN_KEEPS: i64 = 400;
/// Days by which flowers seen on single days may have been open before and after: common practice.
const AROUND: i64 = 7;

/// A plant in the role of one parent.
#[derive(Debug, Clone, PartialEq)]
pub struct Parent {
    /// The plant.
    pub plant: Id<Genotype>,
    /// Its sex, if known.
    pub sex: Option<Sex>,
    /// When pollen of it was last put by, if that still serves.
    pub stored: Option<NaiveDate>,
    /// When it was seen in flower, brought to the season planned for.
    pub flowers: Option<Window>,
    /// What stands in its way whatever its mate.
    pub hindrances: Vec<Exclusion>,
    /// Resistance seen in it.
    pub sources: Vec<ResistanceSource>,
    /// On what conditions it may be crossed, and what is still open about plants that it descends from: a sentence each.
    pub conditions: Vec<String>,
}

impl Parent {
    /// The plant as the seed parent, for the season that is planned on `today`.
    pub fn female(project: &Project, plant: &Genotype, today: NaiveDate) -> Self {
        Self::of(project, plant, true, today)
    }

    /// The plant as the giver of pollen.
    pub fn male(project: &Project, plant: &Genotype, today: NaiveDate) -> Self {
        Self::of(project, plant, false, today)
    }

    fn of(project: &Project, plant: &Genotype, female: bool, today: NaiveDate) -> Self {
        let flowering = flowering_of_season(project, today);
        let stored = if female {
            None
        } else {
            stored_pollen(project, plant.id).filter(|day| *day >= shift(flowering, -POLLEN_KEEPS))
        };
        let mut hindrances = Vec::new();
        match (female, plant.known_sex()) {
            (_, None) if stored.is_none() => hindrances.push(Exclusion::SexUnknown { female }),
            (true, Some(Sex::Male)) => hindrances.push(Exclusion::FemaleIsMale),
            (false, Some(Sex::Female)) => hindrances.push(Exclusion::PollenIsFemale),
            _ => {}
        }
        if let Some(end) = &plant.end
            && stored.is_none()
        {
            hindrances.push(Exclusion::Dead {
                female,
                how: end.kind.word(),
            });
        }
        if plant.ploidy.0 % 2 == 1 {
            hindrances.push(Exclusion::OddGametes {
                female,
                ploidy: plant.ploidy,
            });
        }
        let (held_back, told): (Vec<_>, Vec<_>) = permission::limits(project, plant, today)
            .into_iter()
            .partition(Inherited::holds_back);
        match held_back.into_iter().next() {
            Some(by) => hindrances.push(Exclusion::Permission {
                female,
                chain: by.codes(project),
                limit: by.limit,
            }),
            None => hindrances.extend(import_law(plant, female)),
        }
        Self {
            plant: plant.id,
            sex: plant.known_sex(),
            stored,
            flowers: flowers(project, plant.id, female, flowering),
            hindrances,
            sources: sources(project, plant.id),
            conditions: told
                .iter()
                .map(|each| each.sentence(project, &plant.code))
                .collect(),
        }
    }

    /// The pollen it gives.
    pub const fn pollen(&self) -> PollenAtHand {
        PollenAtHand {
            male: self.plant,
            stored: self.stored,
        }
    }
}

/// Why this pair can't be crossed, whatever is expected of it: as the records stand on `today`.
pub fn why_not(female: &Parent, male: &Parent) -> Vec<Exclusion> {
    let mut reasons = Vec::new();
    if female.plant == male.plant {
        if female.sex != Some(Sex::Monoecious) {
            reasons.push(Exclusion::Itself);
        }
    } else if let (Some(one @ (Sex::Female | Sex::Male)), Some(other)) = (female.sex, male.sex)
        && one == other
    {
        reasons.push(Exclusion::SameSex(one));
    }
    let told = !reasons.is_empty();
    let of_sex =
        |reason: &&Exclusion| matches!(reason, Exclusion::FemaleIsMale | Exclusion::PollenIsFemale);
    let both = female.hindrances.iter().chain(&male.hindrances);
    reasons.extend(both.filter(|reason| !(told && of_sex(reason))).cloned());
    if let (Some(hers), Some(his), None) = (female.flowers, male.flowers, male.stored)
        && (hers.from > shift(his.to, 2 * AROUND) || his.from > shift(hers.to, 2 * AROUND))
    {
        reasons.push(Exclusion::FlowersApart {
            female: hers,
            male: his,
        });
    }
    reasons
}

/// Seed parents worth a look: of known sex and alive, or chosen, or used before. What stands in the way of each is
/// told, not hidden.
pub(super) fn females(project: &Project) -> Vec<&Genotype> {
    project
        .genotypes()
        .iter()
        .filter(|plant| match plant.known_sex() {
            Some(Sex::Male) => false,
            Some(_) => plant.is_alive() || project.crosses_with_female(plant.id).next().is_some(),
            None => plant.is_alive() && is_chosen(project, plant),
        })
        .collect()
}

/// Givers of pollen worth a look.
pub(super) fn males(project: &Project) -> Vec<&Genotype> {
    project
        .genotypes()
        .iter()
        .filter(|plant| match plant.known_sex() {
            Some(Sex::Female) => false,
            Some(_) => plant.is_alive() || project.crosses_with_pollen(plant.id).next().is_some(),
            None => plant.is_alive() && is_chosen(project, plant),
        })
        .collect()
}

fn is_chosen(project: &Project, plant: &Genotype) -> bool {
    plant.selected.is_some()
        || matches!(plant.origin, Origin::Founder { .. })
        || is_parent(project, plant.id)
}

/// What the law says about a plant from abroad, as far as it is noted.
fn import_law(plant: &Genotype, female: bool) -> Option<Exclusion> {
    match &plant.origin {
        Origin::Founder {
            permission: note,
            imported: true,
            ..
        } if note.trim().is_empty() && plant.permission.document.trim().is_empty() => {
            Some(Exclusion::Imported { female })
        }
        _ => None,
    }
}

/// The middle of flowering in the season planned for: 1 July in the north, 1 January in the south (common practice).
fn flowering_of_season(project: &Project, today: NaiveDate) -> NaiveDate {
    let year = actions::season_planned(project, today);
    let month = match project.settings().hemisphere {
        Hemisphere::Northern => 7,
        Hemisphere::Southern => 1,
    };
    NaiveDate::from_ymd_opt(year, month, 1).unwrap_or(today)
}

fn stored_pollen(project: &Project, male: Id<Genotype>) -> Option<NaiveDate> {
    project
        .crosses_with_pollen(male)
        .filter(|cross| cross.pollen == Pollen::Male(male))
        .flat_map(|cross| project.events_of(cross.id))
        .filter(|event| matches!(event.what, CrossEventKind::PollenStored { .. }))
        .map(|event| event.date)
        .max()
}

/// The days it was seen in flower in any year, brought to the flowering of one season.
fn flowers(
    project: &Project,
    plant: Id<Genotype>,
    female: bool,
    flowering: NaiveDate,
) -> Option<Window> {
    let crosses: Vec<_> = if female {
        project.crosses_with_female(plant).collect()
    } else {
        project.crosses_with_pollen(plant).collect()
    };
    let mut days = Vec::new();
    for cross in crosses {
        let events: Vec<_> = project.events_of(cross.id).collect();
        let from_store = events
            .iter()
            .any(|event| matches!(event.what, CrossEventKind::PollenStored { .. }));
        days.extend(
            events
                .iter()
                .filter(|event| match event.what {
                    CrossEventKind::Receptive => female,
                    CrossEventKind::PollenCollected => !female,
                    CrossEventKind::Pollinated => female || !from_store,
                    _ => false,
                })
                .map(|event| brought_to(event.date, flowering)),
        );
    }
    Some(Window {
        from: *days.iter().min()?,
        to: *days.iter().max()?,
    })
}

/// The same day of the year that lies nearest to `near`.
fn brought_to(day: NaiveDate, near: NaiveDate) -> NaiveDate {
    let in_year = |year: i32| {
        let months = 12 * (year - day.year());
        if months < 0 {
            day.checked_sub_months(Months::new(months.unsigned_abs()))
        } else {
            day.checked_add_months(Months::new(months.unsigned_abs()))
        }
    };
    (near.year() - 1..=near.year() + 1)
        .filter_map(in_year)
        .min_by_key(|moved| (*moved - near).num_days().abs())
        .unwrap_or(day)
}

/// Resistance seen in a plant: its last score against each isolate reaches the threshold of the goals or, without
/// one, the better half of the scale.
fn sources(project: &Project, plant: Id<Genotype>) -> Vec<ResistanceSource> {
    let goals: &Goals = &project.settings().goals;
    let mut last: BTreeMap<ResistanceSource, (NaiveDate, f64)> = BTreeMap::new();
    for seen in project.observations_of(plant) {
        if seen.isolate.trim().is_empty() || goals.of_trait(seen.of_trait).is_none() {
            continue;
        }
        let source = ResistanceSource {
            of_trait: seen.of_trait,
            isolate: seen.isolate.trim().to_owned(),
        };
        let Some(value) = seen.number(project) else {
            continue;
        };
        let known = last.entry(source).or_insert((seen.date, value));
        if seen.date >= known.0 {
            *known = (seen.date, value);
        }
    }
    let reaches = |source: &ResistanceSource, value: f64| {
        let Some(goal) = goals.of_trait(source.of_trait) else {
            return false;
        };
        if goal.threshold.is_some() {
            return goal.is_reached_by(value, project);
        }
        match project
            .traits()
            .get(source.of_trait)
            .map(|each| &each.scale)
        {
            Some(Scale::Score { from, to, .. }) => {
                let middle = f64::midpoint(f64::from(*from), f64::from(*to));
                goal.sign(project) * (value - middle) > 0.0
            }
            _ => false,
        }
    };
    last.into_iter()
        .filter(|(source, (_, value))| reaches(source, *value))
        .map(|(source, _)| source)
        .collect()
}
