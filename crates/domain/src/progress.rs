//! How far a cross has come, derived from what happened to it.

use crate::project::Project;
use crate::{Cross, CrossEventKind};

/// How far a cross has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CrossProgress {
    /// Nothing was done yet.
    Planned,
    /// The female is bagged, or her pollen is being got ready.
    Bagged,
    /// Pollen was given.
    Pollinated,
    /// The cones are picked, the seed isn't counted.
    Harvested,
    /// Its seed lies in a lot.
    SeedInLot,
    /// It came to nothing.
    Failed,
}

impl CrossProgress {
    /// Every step, in the order of a season.
    pub const ALL: [Self; 6] = [
        Self::Planned,
        Self::Bagged,
        Self::Pollinated,
        Self::Harvested,
        Self::SeedInLot,
        Self::Failed,
    ];

    /// How far a cross has come. Seed in a lot outweighs a failure on record: part of the bags may have failed.
    pub fn of(project: &Project, cross: &Cross) -> Self {
        if project.lots_of(cross.id).next().is_some() {
            return Self::SeedInLot;
        }
        let step = |what: &CrossEventKind| match what {
            CrossEventKind::Failed { .. } => Self::Failed,
            CrossEventKind::ConesHarvested { .. } => Self::Harvested,
            CrossEventKind::Pollinated | CrossEventKind::BagOff => Self::Pollinated,
            CrossEventKind::FemaleBagged { .. } => Self::Bagged,
            CrossEventKind::Planned
            | CrossEventKind::Receptive
            | CrossEventKind::PollenCollected
            | CrossEventKind::PollenStored { .. } => Self::Planned,
        };
        project
            .referring::<crate::CrossEvent>(cross.id)
            .map(|event| step(&event.what))
            .max()
            .unwrap_or(Self::Planned)
    }

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Planned => "planned",
            Self::Bagged => "bagged",
            Self::Pollinated => "pollinated",
            Self::Harvested => "harvested",
            Self::SeedInLot => "seed in lot",
            Self::Failed => "failed",
        }
    }
}

/// The seeds got from a cross, over all its lots, and whether the number is an estimate; nothing while no lot was
/// counted or weighed.
pub fn seeds_got(project: &Project, cross: &Cross) -> Option<(u32, bool)> {
    let amounts = project.lots_of(cross.id).filter_map(|lot| lot.amount);
    amounts
        .map(|amount| (amount.seeds(), amount.is_estimate()))
        .reduce(|all, lot| (all.0.saturating_add(lot.0), all.1 | lot.1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Edit, Genotype, IdSource, Origin, Pollen, SeedAmount, actions};

    #[test]
    fn a_cross_moves_through_its_season() {
        let mut ids = IdSource::new(1, 1);
        let mut project = Project::default();
        let (mother, id) = (ids.next(), ids.next());
        project
            .apply(Edit::add(Genotype::new(mother, "F1", Origin::Unknown)))
            .unwrap();
        let cross = Cross {
            id,
            code: "26-01".into(),
            female: mother,
            pollen: Pollen::Open,
            season: 2026,
            planned_pollination: None,
            seeds_wanted: None,
            purpose: String::new(),
            advised: None,
        };
        let day = |text: &str| text.parse().unwrap();
        let edit = actions::plan_cross(cross.clone(), day("2026-03-01"), &mut ids);
        project.apply(edit).unwrap();
        assert_eq!(CrossProgress::of(&project, &cross), CrossProgress::Planned);
        let season = [
            (
                "2026-06-20",
                CrossEventKind::FemaleBagged { bags: Some(3) },
                CrossProgress::Bagged,
            ),
            (
                "2026-06-22",
                CrossEventKind::PollenCollected,
                CrossProgress::Bagged,
            ),
            (
                "2026-07-01",
                CrossEventKind::Pollinated,
                CrossProgress::Pollinated,
            ),
            (
                "2026-07-15",
                CrossEventKind::BagOff,
                CrossProgress::Pollinated,
            ),
            (
                "2026-08-20",
                CrossEventKind::ConesHarvested { cones: None },
                CrossProgress::Harvested,
            ),
        ];
        for (date, what, after) in season {
            let edit = actions::cross_event(id, day(date), what, &mut ids);
            project.apply(edit).unwrap();
            assert_eq!(CrossProgress::of(&project, &cross), after);
        }
        assert_eq!(seeds_got(&project, &cross), None);
        let edit = actions::clean_seed(
            &project,
            id,
            day("2026-09-01"),
            SeedAmount::Counted(140),
            &mut ids,
        );
        project.apply(edit).unwrap();
        let weights = SeedAmount::Weighed {
            weight: crate::Grams(0.62),
            thousand_seed_weight: crate::Grams(3.1),
        };
        let edit = actions::clean_seed(&project, id, day("2026-09-02"), weights, &mut ids);
        project.apply(edit).unwrap();
        assert_eq!(
            CrossProgress::of(&project, &cross),
            CrossProgress::SeedInLot
        );
        assert_eq!(
            seeds_got(&project, &cross),
            Some((340, true)),
            "140 counted and 0.62 g at 3.1 g a thousand"
        );
    }
}
