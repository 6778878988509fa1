//! Crosses: three summers of them two years apart, and one for the summer to come.

use crate::founders::Founders;
use crate::maker::{Made, Maker};
use crate::people_and_place::{JOSS, MARET};
use crate::selections::{FirstSelections, SecondSelections};
use chrono::Datelike as _;
use domain::{Cross, CrossEvent, CrossEventKind, Edit, Genotype, Id, Pollen, PollenShare, actions};

/// The day of pollination of each season, in the middle of July: the first seasons are two years apart, so that
/// seedlings of one have flowered before the next.
pub(crate) const FIRST: i64 = THIRD - 4 * 365;
/// The second season.
pub(crate) const SECOND: i64 = THIRD - 2 * 365;
/// The third, last year's: its seed is in the cold this winter.
pub(crate) const THIRD: i64 = -245;
/// This year's.
pub(crate) const FOURTH: i64 = THIRD + 365;
/// Days from pollination to harvest, in the first days of September.
pub(crate) const TO_HARVEST: i64 = 54;

/// Plans a cross some weeks before its day.
fn plan(
    make: &mut Maker,
    female: Id<Genotype>,
    pollen: Pollen,
    pollination: i64,
    purpose: &str,
) -> Made<Id<Cross>> {
    plan_on(make, pollination - 24, female, pollen, pollination, purpose)
}

/// Plans a cross on a day.
fn plan_on(
    make: &mut Maker,
    on: i64,
    female: Id<Genotype>,
    pollen: Pollen,
    pollination: i64,
    purpose: &str,
) -> Made<Id<Cross>> {
    let season = make.day(pollination + TO_HARVEST).year();
    let planned = make.turn_to(on);
    let cross = Cross {
        id: make.ids.next(),
        code: actions::next_cross_code(&make.project, season),
        female,
        pollen,
        season,
        planned_pollination: Some(make.day(pollination)),
        seeds_wanted: Some(200),
        purpose: purpose.into(),
        advised: None,
    };
    let id = cross.id;
    let edit = actions::plan_cross(cross, planned, &mut make.ids);
    make.apply(edit)?;
    Ok(id)
}

fn happened(
    make: &mut Maker,
    cross: Id<Cross>,
    offset: i64,
    what: CrossEventKind,
    by: &str,
    remark: &str,
) -> Made {
    let date = make.turn_to(offset);
    let id = make.ids.next();
    make.apply(Edit::add(CrossEvent {
        id,
        cross,
        date,
        what,
        by: by.into(),
        remark: remark.into(),
    }))
}

/// Bagged, pollinated twice, bags off: all but the harvest.
fn isolate_and_pollinate(make: &mut Maker, cross: Id<Cross>, pollination: i64) -> Made {
    happened(
        make,
        cross,
        pollination - 10,
        CrossEventKind::FemaleBagged { bags: Some(6) },
        MARET,
        "",
    )?;
    happened(
        make,
        cross,
        pollination - 2,
        CrossEventKind::PollenCollected,
        JOSS,
        "",
    )?;
    happened(
        make,
        cross,
        pollination - 1,
        CrossEventKind::Receptive,
        MARET,
        "",
    )?;
    happened(
        make,
        cross,
        pollination,
        CrossEventKind::Pollinated,
        MARET,
        "calm morning",
    )?;
    happened(
        make,
        cross,
        pollination + 3,
        CrossEventKind::Pollinated,
        MARET,
        "",
    )?;
    happened(
        make,
        cross,
        pollination + 18,
        CrossEventKind::BagOff,
        JOSS,
        "",
    )
}

fn harvest(make: &mut Maker, cross: Id<Cross>, pollination: i64, cones: u32) -> Made {
    let picked = CrossEventKind::ConesHarvested { cones: Some(cones) };
    happened(make, cross, pollination + TO_HARVEST, picked, JOSS, "")
}

/// The crosses of the first season: two that bore seed. A third failed.
pub(crate) fn first_season(make: &mut Maker, founders: &Founders) -> Made<[Id<Cross>; 2]> {
    let one = plan(
        make,
        founders.brackwold,
        Pollen::Male(founders.river_male),
        FIRST,
        "Vigour and downy mildew",
    )?;
    let two = plan(
        make,
        founders.orlenne,
        Pollen::Male(founders.hedge_male),
        FIRST + 2,
        "Alpha acids without powdery mildew",
    )?;
    let three = plan(
        make,
        founders.tansel,
        Pollen::Male(founders.river_male),
        FIRST + 4,
        "Yield",
    )?;
    for (cross, day) in [(one, FIRST), (two, FIRST + 2), (three, FIRST + 4)] {
        isolate_and_pollinate(make, cross, day)?;
    }
    let hail = CrossEventKind::Failed {
        why: "hail tore the bags, every cone was empty".into(),
    };
    happened(make, three, FIRST + 26, hail, MARET, "")?;
    harvest(make, one, FIRST, 64)?;
    harvest(make, two, FIRST + 2, 51)?;
    Ok([one, two])
}

/// The crosses of the second season: one of a pollen mix, one open, one whose pollen label washed off.
pub(crate) fn second_season(
    make: &mut Maker,
    founders: &Founders,
    selected: &FirstSelections,
) -> Made<[Id<Cross>; 4]> {
    let share = |male, share| PollenShare {
        male,
        share: Some(share),
    };
    let mix = Pollen::Mix(vec![
        share(founders.river_male, 0.5),
        share(selected.male, 0.3),
        share(founders.unsexed, 0.2),
    ]);
    let one = plan(
        make,
        selected.from_first,
        Pollen::Male(founders.hedge_male),
        SECOND,
        "Powdery mildew on a vigorous mother",
    )?;
    let two = plan(
        make,
        founders.ketterby,
        mix,
        SECOND + 1,
        "Which male fits Ketterby",
    )?;
    let three = plan(
        make,
        selected.from_second,
        Pollen::Open,
        SECOND + 2,
        "Open pollination: see what comes",
    )?;
    let four = plan(
        make,
        founders.sarrowmere,
        Pollen::Unknown,
        SECOND + 3,
        "Alpha acids",
    )?;
    for (cross, day) in [(one, SECOND), (two, SECOND + 1)] {
        isolate_and_pollinate(make, cross, day)?;
    }
    happened(
        make,
        four,
        SECOND - 7,
        CrossEventKind::FemaleBagged { bags: Some(4) },
        JOSS,
        "",
    )?;
    happened(
        make,
        four,
        SECOND + 21,
        CrossEventKind::BagOff,
        JOSS,
        "The pollen label had washed off; the jar is unknown.",
    )?;
    for (cross, day, cones) in [
        (one, SECOND, 58),
        (two, SECOND + 1, 47),
        (three, SECOND + 2, 90),
        (four, SECOND + 3, 33),
    ] {
        harvest(make, cross, day, cones)?;
    }
    Ok([one, two, three, four])
}

/// The crosses of the third season, the second of them bagged a day too late.
pub(crate) fn third_season(
    make: &mut Maker,
    founders: &Founders,
    selected: &SecondSelections,
) -> Made<[Id<Cross>; 2]> {
    let one = plan(
        make,
        selected.mother,
        Pollen::Male(founders.imported_male),
        THIRD,
        "Third generation: fix mildew, lift alpha acids",
    )?;
    let two = plan(
        make,
        founders.brackwold,
        Pollen::Male(founders.imported_male),
        THIRD + 3,
        "A new male on the old mother",
    )?;
    isolate_and_pollinate(make, one, THIRD)?;
    let late = THIRD + 3;
    happened(
        make,
        two,
        late - 6,
        CrossEventKind::Receptive,
        JOSS,
        "first brushes open on the low side arms",
    )?;
    happened(
        make,
        two,
        late - 5,
        CrossEventKind::FemaleBagged { bags: Some(5) },
        MARET,
        "a day late, after rain",
    )?;
    happened(
        make,
        two,
        late - 4,
        CrossEventKind::PollenStored {
            place: "jar over dry gel, 4 °C".into(),
        },
        JOSS,
        "",
    )?;
    happened(make, two, late, CrossEventKind::Pollinated, MARET, "")?;
    happened(make, two, late + 16, CrossEventKind::BagOff, JOSS, "")?;
    harvest(make, one, THIRD, 80)?;
    harvest(make, two, late, 76)?;
    Ok([one, two])
}

/// The cross of this year that was planned in the winter before.
pub(crate) fn plan_ahead(make: &mut Maker, selected: &SecondSelections) -> Made<Id<Cross>> {
    plan_on(
        make,
        THIRD + 165,
        selected.sister,
        Pollen::Male(selected.young_male),
        FOURTH,
        "If the young male flowers",
    )
}

/// The crosses of this year: the one planned ahead, and one decided on when its female proved herself in June.
pub(crate) fn fourth_season(
    make: &mut Maker,
    founders: &Founders,
    selected: &SecondSelections,
    ahead: Id<Cross>,
) -> Made<[Id<Cross>; 2]> {
    let two = plan(
        make,
        selected.mother,
        Pollen::Male(founders.hedge_male),
        FOURTH + 2,
        "Keep the mildew resistance, lift the yield",
    )?;
    isolate_and_pollinate(make, ahead, FOURTH)?;
    isolate_and_pollinate(make, two, FOURTH + 2)?;
    harvest(make, ahead, FOURTH, 71)?;
    harvest(make, two, FOURTH + 2, 66)?;
    Ok([ahead, two])
}
