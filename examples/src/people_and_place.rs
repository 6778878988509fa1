//! The invented program: where it is, who works in it, what it looks at.

use crate::maker::{Made, Maker};
use domain::planning::{Goals, Space, TraitGoal};
use domain::record::settings::SettingsField;
use domain::{Direction, Edit, Hemisphere, Id, Protocol, Scale, Stage, Trait, actions};

/// Who breeds.
pub(crate) const MARET: &str = "Maret";
/// Who helps.
pub(crate) const JOSS: &str = "Joss";

/// The lists a program starts with, by name.
#[derive(Debug)]
pub(crate) struct Lists {
    pub(crate) vigour: Id<Trait>,
    pub(crate) downy: Id<Trait>,
    pub(crate) powdery: Id<Trait>,
    pub(crate) alpha: Id<Trait>,
    pub(crate) cones: Id<Trait>,
    pub(crate) single_hill: Id<Stage>,
    pub(crate) trial: Id<Stage>,
    pub(crate) elite: Id<Stage>,
    pub(crate) sixty_days: Id<Protocol>,
    pub(crate) twelve_weeks: Id<Protocol>,
}

/// Begins the program, and adds what it measures in cones.
pub(crate) fn begin(make: &mut Maker) -> Made<Lists> {
    let begin = actions::begin_project(
        "Ostrel Valley hop breeding",
        Hemisphere::Northern,
        &mut make.ids,
    );
    make.apply(begin)?;
    make.apply(Edit::Settings(SettingsField::Place(
        "Pennow Farm, Ostrel Valley".into(),
    )))?;
    let measured = |make: &mut Maker, name: &str, unit: &str, method: &str| {
        let id = make.ids.next();
        make.apply(Edit::add(Trait {
            id,
            name: name.into(),
            scale: Scale::measure(unit),
            direction: Direction::Higher,
            method: method.into(),
        }))?;
        Ok(id)
    };
    let alpha = measured(
        make,
        "Alpha acids",
        "%",
        "Dry cones, sent to the laboratory within a week of picking.",
    )?;
    let cones = measured(
        make,
        "Cone yield",
        "g per hill",
        "Dry cones of one hill, at about 10 % moisture.",
    )?;
    let scores: Vec<_> = make.project.traits().iter().map(|each| each.id).collect();
    let stages: Vec<_> = make
        .project
        .stages_in_order()
        .iter()
        .map(|stage| stage.id)
        .collect();
    let protocols: Vec<_> = make
        .project
        .protocols()
        .iter()
        .map(|each| each.id)
        .collect();
    Ok(Lists {
        vigour: scores[0],
        downy: scores[1],
        powdery: scores[2],
        alpha,
        cones,
        single_hill: stages[1],
        trial: stages[2],
        elite: stages[3],
        sixty_days: protocols[0],
        twelve_weeks: protocols[3],
    })
}

/// What the program is after: mildew resistance first, in room for a kitchen table.
pub(crate) fn set_goals(make: &mut Maker, lists: &Lists, offset: i64) -> Made {
    make.turn_to(offset);
    let goal = |of_trait, weight| TraitGoal {
        weight,
        ..TraitGoal::new(of_trait)
    };
    let goals = Goals {
        traits: vec![
            goal(lists.vigour, 1.0),
            goal(lists.downy, 2.0),
            goal(lists.powdery, 2.0),
        ],
        space: Space {
            boxes: Some(12),
            pots: Some(320),
            hills: Some(120),
            ..Space::default()
        },
        plant_out_by: Some(make.day(92)),
        ..Goals::default()
    };
    make.apply(Edit::Settings(SettingsField::Goals(goals)))
}
