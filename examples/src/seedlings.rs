//! Seedlings: what they truly are, how they were scored, what sex they proved to be, and how most of them ended.

use crate::maker::{Made, Maker};
use crate::merit::{Merit, scored};
use crate::people_and_place::{JOSS, Lists, MARET};
use chrono::Datelike as _;
use domain::record::genotype::GenotypeField;
use domain::{
    Cross, Edit, End, EndKind, Genotype, Id, Observation, PartialDate, Pollen, Sex, SexBasis,
    SexRecord, Trait, actions,
};

/// Every living seedling of a cross.
pub(crate) fn living(make: &Maker, cross: Id<Cross>) -> Vec<Id<Genotype>> {
    make.project
        .progeny_of(cross)
        .filter(|plant| plant.is_alive())
        .map(|plant| plant.id)
        .collect()
}

/// Gives each new seedling of a cross what it got from its parents.
pub(crate) fn inherit(make: &mut Maker, cross: Id<Cross>) {
    let Some(record) = make.project.crosses().get(cross).cloned() else {
        return;
    };
    let worth = |make: &Maker, id| make.merits.get(&id).copied().unwrap_or(Merit::STRANGER);
    let mother = worth(make, record.female);
    for plant in living(make, cross) {
        let father = match &record.pollen {
            Pollen::Male(male) => worth(make, *male),
            Pollen::Mix(shares) => {
                let mut left = make.chance.unit();
                let giver = shares.iter().find(|share| {
                    left -= share.share.unwrap_or(0.0);
                    left < 0.0
                });
                giver.map_or(Merit::STRANGER, |share| worth(make, share.male))
            }
            Pollen::Open | Pollen::Unknown => Merit::STRANGER,
        };
        let merit = Merit::seedling(mother, father, &mut make.chance);
        make.merits.entry(plant).or_insert(merit);
    }
}

/// Scores the living seedlings of these crosses in one trait on a day.
pub(crate) fn score(
    make: &mut Maker,
    crosses: &[Id<Cross>],
    of_trait: Id<Trait>,
    offset: i64,
    worth: fn(&Merit) -> f64,
) -> Made {
    let date = make.turn_to(offset);
    let mut edits = Vec::new();
    for genotype in crosses
        .iter()
        .flat_map(|cross| living(make, *cross))
        .collect::<Vec<_>>()
    {
        let merit = make
            .merits
            .get(&genotype)
            .copied()
            .unwrap_or(Merit::STRANGER);
        edits.push(Edit::add(Observation {
            site: "Pennow Farm".into(),
            by: MARET.into(),
            ..Observation::new(
                make.ids.next(),
                genotype,
                of_trait,
                date,
                scored(worth(&merit), &mut make.chance),
            )
        }));
    }
    make.apply_all("score seedlings", edits)
}

/// The first season of seedlings potted in spring: vigour, downy mildew, powdery mildew.
pub(crate) fn score_first_summer(
    make: &mut Maker,
    lists: &Lists,
    crosses: &[Id<Cross>],
    potted: i64,
) -> Made {
    score(make, crosses, lists.vigour, potted + 60, |merit| {
        merit.vigour
    })?;
    score(make, crosses, lists.downy, potted + 82, |merit| merit.downy)?;
    score(make, crosses, lists.powdery, potted + 120, |merit| {
        merit.powdery
    })
}

fn last(make: &Maker, plant: Id<Genotype>, of_trait: Id<Trait>) -> f64 {
    make.project
        .latest_observation(plant, of_trait)
        .and_then(|each| each.number(&make.project))
        .unwrap_or(5.0)
}

/// What the breeder goes by: vigour less both mildews, all from the latest scores.
pub(crate) fn liking(make: &Maker, lists: &Lists, plant: Id<Genotype>) -> f64 {
    last(make, plant, lists.vigour)
        - last(make, plant, lists.downy)
        - last(make, plant, lists.powdery)
}

/// The accidents of a summer: damping off, a dry week, one label lost.
pub(crate) fn accidents(make: &mut Maker, crosses: &[Id<Cross>], offset: i64) -> Made {
    let day = make.turn_to(offset);
    let month = PartialDate::Month(day.year(), day.month());
    let plants: Vec<_> = crosses
        .iter()
        .flat_map(|cross| living(make, *cross))
        .collect();
    let Some(lost) = plants.get(plants.len() / 3).copied() else {
        return Ok(());
    };
    let dead: Vec<_> = plants
        .into_iter()
        .filter(|_| make.chance.happens(0.05))
        .filter(|plant| *plant != lost)
        .collect();
    let (damped, dried) = dead.split_at(dead.len() / 2);
    for (group, kind, date, cause) in [
        (damped, EndKind::Died, day.into(), "damping off"),
        (dried, EndKind::Died, month, "dried out in the hot week"),
        (
            &[lost][..],
            EndKind::Lost,
            day.into(),
            "label gone, pot among the others",
        ),
    ] {
        let edit = actions::end_plants(&make.project, group, kind, date, cause);
        make.apply(edit)?;
    }
    Ok(())
}

/// The autumn cull: the mildewed and the weak go.
pub(crate) fn cull(make: &mut Maker, lists: &Lists, crosses: &[Id<Cross>], offset: i64) -> Made {
    let day = make.turn_to(offset);
    let mut causes: [(&str, Vec<Id<Genotype>>); 3] = [
        ("downy mildew", vec![]),
        ("powdery mildew", vec![]),
        ("weak", vec![]),
    ];
    for plant in crosses.iter().flat_map(|cross| living(make, *cross)) {
        let group = if last(make, plant, lists.downy) >= 6.0 {
            0
        } else if last(make, plant, lists.powdery) >= 6.0 {
            1
        } else if last(make, plant, lists.vigour) <= 3.0 {
            2
        } else {
            continue;
        };
        causes[group].1.push(plant);
    }
    for (cause, plants) in causes {
        let edit = actions::end_plants(&make.project, &plants, EndKind::Culled, day.into(), cause);
        make.apply(edit)?;
    }
    Ok(())
}

/// Males are cut before they flower again, but for those kept.
pub(crate) fn cut_males(
    make: &mut Maker,
    crosses: &[Id<Cross>],
    offset: i64,
    kept: &[Id<Genotype>],
) -> Made {
    let day = make.turn_to(offset);
    let males: Vec<_> = crosses
        .iter()
        .flat_map(|cross| make.project.progeny_of(*cross))
        .filter(|plant| {
            plant.is_alive() && plant.known_sex() == Some(Sex::Male) && !kept.contains(&plant.id)
        })
        .map(|plant| plant.id)
        .collect();
    let edit = actions::end_plants(
        &make.project,
        &males,
        EndKind::Culled,
        day.into(),
        "male, not kept",
    );
    make.apply(edit)
}

/// Seedlings show their sex, as many as this part of those not sexed yet.
pub(crate) fn sex(
    make: &mut Maker,
    crosses: &[Id<Cross>],
    offset: i64,
    part: f64,
    basis: &SexBasis,
) -> Made {
    let day = make.turn_to(offset);
    let unsexed: Vec<_> = crosses
        .iter()
        .flat_map(|cross| make.project.progeny_of(*cross))
        .filter(|plant| plant.is_alive() && plant.sex.is_none())
        .map(|plant| plant.id)
        .collect();
    let mut edits = Vec::new();
    for plant in unsexed {
        if !make.chance.happens(part) {
            continue;
        }
        let sex = if make.chance.happens(0.55) {
            Sex::Female
        } else {
            Sex::Male
        };
        let record = SexRecord {
            sex,
            basis: basis.clone(),
            date: Some(day.into()),
        };
        edits.push(Edit::set(plant, GenotypeField::Sex(Some(record))));
    }
    make.apply_all("sex seedlings", edits)
}

/// A male known by his marker flowers at last.
pub(crate) fn young_male_flowers(make: &mut Maker, plant: Id<Genotype>, offset: i64) -> Made {
    let day = make.turn_to(offset);
    let record = SexRecord {
        sex: Sex::Male,
        basis: SexBasis::FlowersSeen,
        date: Some(day.into()),
    };
    make.apply(Edit::set(plant, GenotypeField::Sex(Some(record))))
}

/// Survivors are planted out on single hills.
pub(crate) fn plant_out(
    make: &mut Maker,
    lists: &Lists,
    crosses: &[Id<Cross>],
    offset: i64,
    yard: &str,
) -> Made {
    make.turn_to(offset);
    let plants: Vec<_> = crosses
        .iter()
        .flat_map(|cross| living(make, *cross))
        .collect();
    let stage = actions::move_to_stage(&make.project, &plants, lists.single_hill);
    make.apply(stage)?;
    let hills = (1..).zip(&plants).map(|(hill, plant)| {
        Edit::set(
            *plant,
            GenotypeField::Location(format!("{yard}, hill {hill}")),
        )
    });
    make.apply_all("plant out", hills.collect())
}

/// One plant that Joss dug in without a note, ended by winter: known only to the month.
pub(crate) fn winter_loss(make: &mut Maker, plant: Id<Genotype>, offset: i64) -> Made {
    let day = make.turn_to(offset);
    let end = End {
        date: PartialDate::Month(day.year(), day.month()),
        kind: EndKind::Died,
        cause: format!("rootstock rotted, found by {JOSS}"),
    };
    make.apply(Edit::set(plant, GenotypeField::End(Some(end))))
}
