//! Two generations of selections, and what was measured on them in trial.

use crate::maker::{Made, Maker};
use crate::merit::Merit;
use crate::people_and_place::{Lists, MARET};
use crate::seedlings::{liking, living};
use domain::{Cross, Edit, Genotype, Id, Observation, Refusal, Sex, SexBasis, Stage, actions};

/// Selections among the seedlings of the first season.
#[derive(Debug)]
pub(crate) struct FirstSelections {
    pub(crate) all: Vec<Id<Genotype>>,
    pub(crate) from_first: Id<Genotype>,
    pub(crate) from_second: Id<Genotype>,
    pub(crate) male: Id<Genotype>,
}

/// Selections among the seedlings of the second season: daughters of the first selections.
#[derive(Debug)]
pub(crate) struct SecondSelections {
    pub(crate) all: Vec<Id<Genotype>>,
    pub(crate) mother: Id<Genotype>,
    pub(crate) sister: Id<Genotype>,
    pub(crate) young_male: Id<Genotype>,
}

/// The living seedlings of a cross of this sex and basis, the best liked first.
fn best(
    make: &Maker,
    lists: &Lists,
    cross: Id<Cross>,
    sex: Sex,
    by_marker: bool,
) -> Made<Vec<Id<Genotype>>> {
    let mut plants: Vec<_> = living(make, cross)
        .into_iter()
        .filter(|id| {
            make.project
                .genotypes()
                .get(*id)
                .and_then(|plant| plant.sex.as_ref())
                .is_some_and(|known| {
                    known.sex == sex
                        && matches!(known.basis, SexBasis::MarkerTest { .. }) == by_marker
                })
        })
        .collect();
    plants.sort_by(|one, other| {
        liking(make, lists, *other)
            .total_cmp(&liking(make, lists, *one))
            .then(one.cmp(other))
    });
    if plants.len() < 3 {
        return Err(Refusal::about(
            cross,
            "Too few seedlings are left to select from.",
            "Raise more.",
        ));
    }
    Ok(plants)
}

fn select(make: &mut Maker, plants: &[Id<Genotype>], offset: i64, reason: &str) -> Made {
    let day = make.turn_to(offset);
    make.apply(actions::select(plants, day.into(), reason))
}

/// Selects among the first season's seedlings, sexed by their flowers.
pub(crate) fn select_first(
    make: &mut Maker,
    lists: &Lists,
    crosses: [Id<Cross>; 2],
    offset: i64,
) -> Made<FirstSelections> {
    let vigorous = best(make, lists, crosses[0], Sex::Female, false)?;
    let bitter = best(make, lists, crosses[1], Sex::Female, false)?;
    let males = best(make, lists, crosses[1], Sex::Male, false)?;
    let all = [&vigorous[..3], &bitter[..2]].concat();
    select(make, &all, offset, "strong, and clean of both mildews")?;
    select(
        make,
        &males[..1],
        offset,
        "clean male with plenty of pollen",
    )?;
    Ok(FirstSelections {
        from_first: vigorous[0],
        from_second: bitter[0],
        male: males[0],
        all,
    })
}

/// Selects among the second season's seedlings.
pub(crate) fn select_second(
    make: &mut Maker,
    lists: &Lists,
    crosses: [Id<Cross>; 4],
    offset: i64,
) -> Made<SecondSelections> {
    let daughters = best(make, lists, crosses[0], Sex::Female, false)?;
    let mixed = best(make, lists, crosses[1], Sex::Female, false)?;
    let males = best(make, lists, crosses[1], Sex::Male, true)?;
    let all = [&daughters[..3], &mixed[..2]].concat();
    select(make, &all, offset, "better than her mother in mildew")?;
    select(
        make,
        &males[..1],
        offset,
        "clean, male by its marker, not flowered yet",
    )?;
    Ok(SecondSelections {
        mother: daughters[0],
        sister: daughters[1],
        young_male: males[0],
        all,
    })
}

/// Moves plants to a stage.
pub(crate) fn advance(
    make: &mut Maker,
    plants: &[Id<Genotype>],
    stage: Id<Stage>,
    offset: i64,
) -> Made {
    make.turn_to(offset);
    let edit = actions::move_to_stage(&make.project, plants, stage);
    make.apply(edit)
}

/// Measures alpha acids and yield after a harvest.
pub(crate) fn measure_cones(
    make: &mut Maker,
    lists: &Lists,
    plants: &[Id<Genotype>],
    offset: i64,
) -> Made {
    let date = make.turn_to(offset);
    let mut edits = Vec::new();
    for genotype in plants {
        let merit = make
            .merits
            .get(genotype)
            .copied()
            .unwrap_or(Merit::STRANGER);
        let alpha = ((merit.alpha + 0.6 * make.chance.bell()).max(0.5) * 10.0).round() / 10.0;
        let cones = (merit.cones + 110.0 * make.chance.bell()).max(40.0).round();
        for (of_trait, value) in [(lists.alpha, alpha), (lists.cones, cones)] {
            edits.push(Edit::add(Observation {
                site: "Pennow trial".into(),
                by: MARET.into(),
                ..Observation::new(make.ids.next(), *genotype, of_trait, date, value)
            }));
        }
    }
    make.apply_all("measure cones", edits)
}
