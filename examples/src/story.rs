//! The story of the program, in the order it happened.

use crate::cold::UNDER_WAY;
use crate::crosses::{FIRST, SECOND, THIRD, TO_HARVEST};
use crate::founders::Founders;
use crate::maker::{Made, Maker};
use crate::people_and_place::Lists;
use crate::selections::{FirstSelections, SecondSelections};
use crate::{
    cold, crosses, founders, journal, people_and_place, seed, seedlings, selections, warmth, winter,
};
use chrono::NaiveDate;
use domain::{
    Cross, Germination, Id, MovementKind, Project, RestFate, SeedAmount, SeedLot, SexBasis, actions,
};

/// The start of chill of the first season's seed, in the winter after its harvest.
const FIRST_CHILL: i64 = FIRST + 180;
const SECOND_CHILL: i64 = SECOND + 180;
/// Boxes go to warmth after sixty days, and are mostly potted a fortnight later.
const CHILL_DAYS: i64 = 60;
const FIRST_POTTED: i64 = FIRST_CHILL + CHILL_DAYS + 14;
const SECOND_POTTED: i64 = SECOND_CHILL + CHILL_DAYS + 14;

pub(crate) fn tell(today: NaiveDate) -> Made<Project> {
    let mut make = Maker::new(today);
    make.turn_to(-2210);
    let lists = people_and_place::begin(&mut make)?;
    let founders = founders::bring_in(&mut make)?;
    let (first, first_selected) = first_generation(&mut make, &lists, &founders)?;
    let second_selected = second_generation(&mut make, &lists, &founders, first, &first_selected)?;
    this_winter(&mut make, &lists, &founders, &second_selected)?;
    selections::advance(&mut make, &first_selected.all[..1], lists.elite, -20)?;
    words(&mut make, &founders, &first_selected, &second_selected)?;
    winter::log(&mut make)?;
    Ok(make.project)
}

/// Crosses among founders, their seedlings, and the first selections.
fn first_generation(
    make: &mut Maker,
    lists: &Lists,
    founders: &Founders,
) -> Made<([Id<Cross>; 2], FirstSelections)> {
    let crosses = crosses::first_season(make, founders)?;
    let cleaned = FIRST + TO_HARVEST + 14;
    let one = seed::clean(make, crosses[0], cleaned, SeedAmount::Counted(212))?;
    let two = seed::clean(make, crosses[1], cleaned + 1, SeedAmount::Counted(168))?;
    seed::moved(
        make,
        one,
        cleaned + 5,
        MovementKind::Draw,
        20,
        "cut open to see whether they are full",
    )?;
    seed::moved(
        make,
        one,
        cleaned + 40,
        MovementKind::Draw,
        40,
        "lent to a neighbour",
    )?;
    let (batch, boxes) = cold::lay(
        make,
        lists.sixty_days,
        FIRST_CHILL,
        &[(one, 140), (two, 130)],
        70,
    )?;
    cold::looks_of_a_finished_batch(make, &boxes, FIRST_CHILL)?;
    let moved = FIRST_CHILL + CHILL_DAYS;
    cold::end_batch(make, batch, moved)?;
    warmth::finished(make, &boxes, moved, 0.46, RestFate::Discarded)?;
    seed::moved(
        make,
        one,
        moved + 40,
        MovementKind::Return,
        12,
        "brought back by the neighbour",
    )?;
    for cross in crosses {
        seedlings::inherit(make, cross);
    }
    seedlings::score_first_summer(make, lists, &crosses, FIRST_POTTED)?;
    seedlings::accidents(make, &crosses, FIRST_POTTED + 130)?;
    seedlings::cull(make, lists, &crosses, FIRST_POTTED + 170)?;
    seedlings::plant_out(make, lists, &crosses, FIRST_POTTED + 370, "Yard A")?;
    if let Some(plant) = seedlings::living(make, crosses[0]).last().copied() {
        seedlings::winter_loss(make, plant, FIRST_POTTED + 400)?;
    }
    seedlings::sex(make, &crosses, SECOND - 30, 1.0, &SexBasis::FlowersSeen)?;
    seedlings::score(make, &crosses, lists.vigour, SECOND - 28, |merit| {
        merit.vigour
    })?;
    let selected = selections::select_first(make, lists, crosses, SECOND - 27)?;
    Ok((crosses, selected))
}

/// Crosses with the first selections, their seedlings, and the second selections.
fn second_generation(
    make: &mut Maker,
    lists: &Lists,
    founders: &Founders,
    first: [Id<Cross>; 2],
    first_selected: &FirstSelections,
) -> Made<SecondSelections> {
    let crosses = crosses::second_season(make, founders, first_selected)?;
    seedlings::cut_males(make, &first, SECOND + 30, &[first_selected.male])?;
    selections::measure_cones(make, lists, &first_selected.all, SECOND + 55)?;
    let lots = second_lots(make, crosses)?;
    let laid = [(lots[0], 120), (lots[1], 96), (lots[2], 76), (lots[3], 58)];
    let (batch, boxes) = cold::lay(make, lists.sixty_days, SECOND_CHILL, &laid, 96)?;
    cold::looks_of_a_finished_batch(make, &boxes, SECOND_CHILL)?;
    let moved = SECOND_CHILL + CHILL_DAYS;
    cold::end_batch(make, batch, moved)?;
    let (doubtful, good) = boxes
        .split_last()
        .map_or((&[][..], &[][..]), |(last, rest)| {
            (std::slice::from_ref(last), rest)
        });
    warmth::finished(make, good, moved, 0.46, RestFate::Discarded)?;
    let stubborn = warmth::finished(make, doubtful, moved, 0.28, RestFate::ChilledAgain)?;
    chill_the_rest_again(make, lists, &stubborn, moved + 28)?;
    for cross in crosses {
        seedlings::inherit(make, cross);
    }
    selections::advance(make, &first_selected.all, lists.trial, SECOND_POTTED)?;
    seedlings::score_first_summer(make, lists, &crosses, SECOND_POTTED + 50)?;
    selections::measure_cones(make, lists, &first_selected.all, SECOND_POTTED + 176)?;
    seedlings::accidents(make, &crosses, SECOND_POTTED + 178)?;
    seedlings::sex(
        make,
        &crosses,
        SECOND_POTTED + 180,
        0.55,
        &SexBasis::FlowersSeen,
    )?;
    let marker = SexBasis::MarkerTest {
        test: "leaf discs, Dunwillow Institute".into(),
    };
    seedlings::sex(make, &crosses, SECOND_POTTED + 205, 0.55, &marker)?;
    seedlings::cull(make, lists, &crosses, SECOND_POTTED + 215)?;
    let selected = selections::select_second(make, lists, crosses, SECOND_POTTED + 220)?;
    seedlings::plant_out(make, lists, &crosses, SECOND_POTTED + 370, "Yard B")?;
    seedlings::cut_males(make, &crosses, SECOND_POTTED + 440, &[selected.young_male])?;
    Ok(selected)
}

fn second_lots(make: &mut Maker, crosses: [Id<Cross>; 4]) -> Made<[Id<SeedLot>; 4]> {
    let cleaned = SECOND + TO_HARVEST + 16;
    Ok([
        seed::clean(make, crosses[0], cleaned, seed::weighed(0.62, 3.1))?,
        seed::clean(make, crosses[1], cleaned, SeedAmount::Counted(154))?,
        seed::clean(make, crosses[2], cleaned + 1, seed::weighed(1.9, 2.9))?,
        seed::clean(make, crosses[3], cleaned + 1, SeedAmount::Counted(66))?,
    ])
}

/// Seed that hadn't come up goes through a second, shorter story.
fn chill_the_rest_again(
    make: &mut Maker,
    lists: &Lists,
    runs: &[Id<Germination>],
    start: i64,
) -> Made {
    for run in runs {
        let seeds = warmth::left_in(make, *run);
        let (batch, _) = cold::lay(make, lists.sixty_days, start, &[], 96)?;
        let from = make
            .project
            .germinations()
            .get(*run)
            .map(|run| run.chill_box);
        let again = from.and_then(|from| {
            actions::chill_again(&make.project, from, batch, seeds, &mut make.ids)
        });
        if let Some(edit) = again {
            make.apply(edit)?;
        }
        let boxes: Vec<_> = make.project.boxes_of(batch).map(|each| each.id).collect();
        cold::looks_of_a_finished_batch(make, &boxes, start)?;
        cold::end_batch(make, batch, start + CHILL_DAYS)?;
        warmth::finished(make, &boxes, start + CHILL_DAYS, 0.2, RestFate::Discarded)?;
    }
    Ok(())
}

/// The season that is under way today.
fn this_winter(
    make: &mut Maker,
    lists: &Lists,
    founders: &Founders,
    selected: &SecondSelections,
) -> Made {
    let crosses = crosses::third_season(make, founders, selected)?;
    selections::measure_cones(
        make,
        lists,
        &[founders.brackwold, founders.orlenne],
        THIRD + TO_HARVEST + 2,
    )?;
    selections::measure_cones(make, lists, &selected.all, THIRD + TO_HARVEST + 4)?;
    let cleaned = THIRD + TO_HARVEST + 15;
    let one = seed::clean(make, crosses[0], cleaned, SeedAmount::Counted(338))?;
    let two = seed::clean(make, crosses[1], cleaned + 2, seed::weighed(1.26, 3.1))?;
    let bought = seed::bought(make, -150)?;
    let _open = seed::open_pollinated(make, founders.tansel, -140)?;
    let _found = seed::found(make, -118)?;
    seed::moved(
        make,
        two,
        -100,
        MovementKind::Draw,
        25,
        "sent to the Dunwillow Institute",
    )?;
    let (_, early) = cold::lay(make, lists.sixty_days, -72, &[(two, 234)], 80)?;
    cold::looks_of_a_finished_batch(make, &early, -72)?;
    let (_, later) = cold::lay(
        make,
        lists.sixty_days,
        UNDER_WAY,
        &[(one, 300), (bought, 120)],
        75,
    )?;
    // Told in the order of the days: the boxes in warmth come after most looks into those in the cold.
    cold::looks_of_the_batch_under_way(make, &later)?;
    warmth::under_way(make, &early)?;
    let (_, _planned) = cold::lay(make, lists.twelve_weeks, 5, &[(two, 110)], 55)?;
    let _cross = crosses::coming_season(make, selected)?;
    Ok(())
}

/// What was written beside it all, and what is to be done.
fn words(
    make: &mut Maker,
    founders: &Founders,
    first: &FirstSelections,
    second: &SecondSelections,
) -> Made {
    journal::note(
        make,
        founders.brackwold,
        -400,
        "Old stock, slow after replanting; cut back hard.",
    )?;
    journal::note(
        make,
        first.from_first,
        THIRD + 60,
        "Resin smell, cones hold together when dry. Brewers asked for more.",
    )?;
    journal::note(
        make,
        second.mother,
        THIRD + 61,
        "Side arms long enough for six bags.",
    )?;
    journal::note(
        make,
        founders.imported_male,
        -30,
        "Stays in the isolation house: the district allows no male outdoors.",
    )?;
    journal::task(make, "Order 7 cm pots and labels", None, -22, Some(-20))?;
    journal::task(
        make,
        "Send leaf discs for the marker test",
        Some(second.young_male.into()),
        -4,
        None,
    )?;
    journal::task(make, "Wash trays for potting", None, 0, None)?;
    journal::task(
        make,
        "Ask the Union about a licence for the trial",
        Some(founders.orlenne.into()),
        12,
        None,
    )?;
    journal::task(make, "Cut the males before they flower", None, 75, None)
}
