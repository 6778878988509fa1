//! The story of the program, in the order it happened: the years behind, and this year as far as it has come.

use crate::cold::SECOND_BATCH;
use crate::crosses::{FIRST, FOURTH, SECOND, THIRD, TO_HARVEST};
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
    let (third, ahead) = this_winter(&mut make, &lists, &founders, &second_selected)?;
    selections::advance(&mut make, &first_selected.all[..1], lists.elite, -20)?;
    words(&mut make, &founders, &first_selected, &second_selected)?;
    winter::log(&mut make)?;
    this_summer(
        &mut make,
        &lists,
        &founders,
        (third, ahead),
        &first_selected,
        &second_selected,
    )?;
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

/// When a first few boxes go into the cold in November, to be potted under lights while the yard sleeps.
const AUTUMN: i64 = -126;

/// A small batch begun in autumn, up to the last pot.
fn autumn_batch(make: &mut Maker, lists: &Lists, lot: Id<SeedLot>, start: i64) -> Made {
    let (batch, boxes) = cold::lay(make, lists.sixty_days, start, &[(lot, 126)], 42)?;
    cold::looks_of_a_finished_batch(make, &boxes, start)?;
    cold::end_batch(make, batch, start + CHILL_DAYS)?;
    warmth::finished(make, &boxes, start + CHILL_DAYS, 0.42, RestFate::Discarded)?;
    Ok(())
}

/// Last summer's seed, in the cold and in warmth this winter.
fn this_winter(
    make: &mut Maker,
    lists: &Lists,
    founders: &Founders,
    selected: &SecondSelections,
) -> Made<([Id<Cross>; 2], Id<Cross>)> {
    /// When twelve weeks begin for the seed that is left.
    const THIRD_BATCH: i64 = 5;
    let crosses = crosses::third_season(make, founders, selected)?;
    selections::measure_cones(
        make,
        lists,
        &[founders.brackwold, founders.orlenne],
        THIRD + TO_HARVEST + 2,
    )?;
    selections::measure_cones(make, lists, &selected.all, THIRD + TO_HARVEST + 4)?;
    let cleaned = THIRD + TO_HARVEST + 15;
    let one = seed::clean(make, crosses[0], cleaned, SeedAmount::Counted(458))?;
    let two = seed::clean(make, crosses[1], cleaned + 2, seed::weighed(1.26, 3.1))?;
    autumn_batch(make, lists, one, AUTUMN)?;
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
    people_and_place::set_goals(make, lists, -90)?;
    let ahead = crosses::plan_ahead(make, selected)?;
    let first = (-72, &[(two, 234)][..], 80);
    let (_, early) = cold::lay_ahead(make, lists.sixty_days, -80, first.0, first.1, first.2)?;
    cold::looks_of_a_finished_batch(make, &early, first.0)?;
    let second = [(one, 300), (bought, 120)];
    let (_, later) = cold::lay(make, lists.sixty_days, SECOND_BATCH, &second, 75)?;
    // Told in the order of the days: the boxes in warmth come after most checks of those in the cold.
    cold::looks_of_the_second_batch(make, &later)?;
    warmth::first_boxes(make, &early)?;
    let rest = [(two, 110)];
    let (_, last) = cold::lay_ahead(make, lists.twelve_weeks, -12, THIRD_BATCH, &rest, 55)?;
    cold::looks_of_twelve_weeks(make, &last, THIRD_BATCH)?;
    warmth::finished(
        make,
        &later,
        SECOND_BATCH + CHILL_DAYS,
        0.44,
        RestFate::Discarded,
    )?;
    warmth::finished(make, &last, THIRD_BATCH + 84, 0.4, RestFate::Discarded)?;
    Ok((crosses, ahead))
}

/// This year's summer and autumn: seedlings scored and culled, crosses made, seed cleaned and laid for the winter.
fn this_summer(
    make: &mut Maker,
    lists: &Lists,
    founders: &Founders,
    (seedlings_of, ahead): ([Id<Cross>; 2], Id<Cross>),
    first: &FirstSelections,
    second: &SecondSelections,
) -> Made {
    /// The day after which most seedlings of this year have been potted.
    const POTTED: i64 = 45;
    for cross in seedlings_of {
        seedlings::inherit(make, cross);
    }
    let crosses = crosses::fourth_season(make, founders, second, ahead)?;
    seedlings::young_male_flowers(make, second.young_male, FOURTH - 6)?;
    seedlings::score_first_summer(make, lists, &seedlings_of, POTTED)?;
    seedlings::accidents(make, &seedlings_of, POTTED + 130)?;
    let harvested = FOURTH + TO_HARVEST;
    selections::measure_cones(make, lists, &second.all, harvested + 3)?;
    selections::measure_cones(make, lists, &first.all, harvested + 5)?;
    seedlings::sex(
        make,
        &seedlings_of,
        POTTED + 150,
        0.4,
        &SexBasis::FlowersSeen,
    )?;
    let one = seed::clean(make, crosses[0], harvested + 16, SeedAmount::Counted(402))?;
    seedlings::cull(make, lists, &seedlings_of, POTTED + 175)?;
    autumn_batch(make, lists, one, AUTUMN + 365)?;
    // The cones of the second cross hang in the barn until the evenings are long.
    let two = seed::clean(make, crosses[1], harvested + 58, seed::weighed(0.94, 3.0))?;
    cold::plan_for_next_winter(make, lists.sixty_days, &[(one, 240), (two, 220)])
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
    for (title, about, due, done) in [
        ("Order 7 cm pots and labels", None, -22, Some(-20)),
        (
            "Send leaf discs for the marker test",
            Some(second.young_male.into()),
            -4,
            Some(9),
        ),
        ("Wash trays for potting", None, 0, Some(2)),
        (
            "Ask the Union about a licence for the trial",
            Some(founders.orlenne.into()),
            12,
            Some(40),
        ),
        ("Check the strings and clips in Yard B", None, 58, Some(60)),
        ("Cut the males before they flower", None, 84, Some(86)),
        ("Count the bags, order what is missing", None, 95, Some(99)),
        ("Book a place at the kiln", None, 140, Some(151)),
        ("Send cones to the laboratory", None, 186, Some(190)),
        ("Order seed envelopes and dry gel", None, 215, Some(216)),
        ("Choose next year's parents", None, 238, Some(243)),
        ("Write the year's letter to the Union", None, 250, Some(262)),
        (
            "Write up the trial, decide what stays",
            None,
            266,
            Some(270),
        ),
        (
            "Ask for a plant health certificate for the new male",
            None,
            274,
            None,
        ),
        (
            "Wash the seed refrigerator, test its thermostat",
            None,
            281,
            None,
        ),
    ] {
        journal::task(make, title, about, due, done)?;
    }
    Ok(())
}
