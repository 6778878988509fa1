//! Boxes in warmth and light: counts of what came up, and the rest.

use crate::maker::{Made, Maker};
use crate::people_and_place::JOSS;
use domain::ledger::{BoxTally, unpotted};
use domain::record::germination::GerminationField;
use domain::{ChillBox, Count, Edit, Germination, GerminationEnd, Id, RestFate, actions};

/// Moves boxes to warmth.
pub(crate) fn warm(
    make: &mut Maker,
    boxes: &[Id<ChillBox>],
    offset: i64,
) -> Made<Vec<Id<Germination>>> {
    let day = make.turn_to(offset);
    let edit = actions::warm(boxes, day, &mut make.ids);
    make.apply(edit)?;
    Ok(boxes
        .iter()
        .filter_map(|id| make.project.run_of(*id))
        .map(|run| run.id)
        .collect())
}

/// Counts what newly came up.
pub(crate) fn count(
    make: &mut Maker,
    run: Id<Germination>,
    offset: i64,
    [germinated, abnormal, dead]: [u32; 3],
) -> Made {
    let date = make.turn_to(offset);
    let id = make.ids.next();
    make.apply(Edit::add(Count {
        id,
        run,
        date,
        germinated,
        abnormal,
        dead,
        lost: 0,
        by: JOSS.into(),
        remark: String::new(),
    }))
}

/// Pots every sprout that has no pot yet, or at most so many.
pub(crate) fn pot(make: &mut Maker, run: Id<Germination>, offset: i64, most: u32) -> Made {
    let day = make.turn_to(offset);
    let chill_box = make
        .project
        .germinations()
        .get(run)
        .and_then(|run| make.project.chill_boxes().get(run.chill_box));
    let Some(chill_box) = chill_box else {
        return Ok(());
    };
    let sprouts = unpotted(&make.project, chill_box).min(most);
    if sprouts == 0 {
        return Ok(());
    }
    let edit = actions::pot_up(&make.project, chill_box.id, sprouts, day, &mut make.ids)
        .ok_or_else(|| {
            domain::Refusal::about(
                run,
                "The seedlings can't be numbered.",
                "Correct the template of seedling codes.",
            )
        })?;
    make.apply(edit)
}

/// The days after the move on which a finished run was counted, and what part of its sprouts each found.
const COUNTS: [(i64, f64); 7] = [
    (6, 0.12),
    (8, 0.26),
    (10, 0.24),
    (12, 0.16),
    (15, 0.12),
    (20, 0.07),
    (28, 0.03),
];

/// Finished runs: counted to the end, potted twice, the rest discarded unless it is chilled again.
pub(crate) fn finished(
    make: &mut Maker,
    boxes: &[Id<ChillBox>],
    moved: i64,
    rate: f64,
    rest: RestFate,
) -> Made<Vec<Id<Germination>>> {
    let runs = warm(make, boxes, moved)?;
    for (after, part) in COUNTS {
        for run in &runs {
            let left = left_in(make, *run);
            let laid = laid_in(make, *run);
            let found = make.chance.of(laid, rate * part).min(left);
            let abnormal = make.chance.of(2, 0.08).min(left - found);
            let dead = make.chance.of(3, 0.1).min(left - found - abnormal);
            count(make, *run, moved + after, [found, abnormal, dead])?;
        }
        if after == 12 {
            for run in &runs {
                pot(make, *run, moved + 14, u32::MAX)?;
            }
        }
    }
    let day = make.turn_to(moved + 28);
    for run in &runs {
        let fate = if left_in(make, *run) == 0 {
            RestFate::NoneLeft
        } else {
            rest
        };
        let end = GerminationEnd {
            date: day,
            rest: fate,
            remark: String::new(),
        };
        make.apply(Edit::set(*run, GerminationField::End(Some(end))))?;
        pot(make, *run, moved + 31, u32::MAX)?;
    }
    Ok(runs)
}

fn tally(make: &Maker, run: Id<Germination>) -> BoxTally {
    let chill_box = make
        .project
        .germinations()
        .get(run)
        .and_then(|run| make.project.chill_boxes().get(run.chill_box));
    chill_box.map_or_else(BoxTally::default, |chill_box| {
        BoxTally::of(&make.project, chill_box)
    })
}

/// Seeds of a run that have neither come up nor died.
pub(crate) fn left_in(make: &Maker, run: Id<Germination>) -> u32 {
    tally(make, run).left()
}

fn laid_in(make: &Maker, run: Id<Germination>) -> u32 {
    tally(make, run).laid
}

/// Counts a run on these days.
fn counts(make: &mut Maker, run: Id<Germination>, found: &[(i64, [u32; 3])]) -> Made {
    for &(day, found) in found {
        count(make, run, day, found)?;
    }
    Ok(())
}

/// The end of a run whose rest is discarded.
fn close(make: &mut Maker, run: Id<Germination>, offset: i64) -> Made {
    let end = GerminationEnd {
        date: make.turn_to(offset),
        rest: RestFate::Discarded,
        remark: String::new(),
    };
    make.apply(Edit::set(run, GerminationField::End(Some(end))))
}

/// The three boxes of this winter's first batch. In the middle of March the first was counted the day before
/// yesterday, the second is overdue for a count, and the third was moved five days ago and is due for its first.
pub(crate) fn first_boxes(make: &mut Maker, boxes: &[Id<ChillBox>]) -> Made {
    let [first, second, third] = *boxes else {
        return Ok(());
    };
    let runs = warm(make, &[first, second], -12)?;
    let [one, two] = *runs else { return Ok(()) };
    count(make, one, -6, [4, 0, 0])?;
    count(make, two, -6, [2, 0, 1])?;
    let last = warm(make, &[third], -5)?;
    make.behind(4, |make| count(make, two, -5, [3, 1, 0]))?;
    count(make, one, -4, [11, 1, 0])?;
    pot(make, one, -3, 12)?;
    count(make, one, -2, [9, 0, 1])?;
    let [three] = *last else { return Ok(()) };
    let of_two = [
        (-3, [8, 1, 0]),
        (-1, [9, 0, 0]),
        (2, [5, 0, 1]),
        (6, [2, 0, 0]),
        (11, [1, 0, 0]),
    ];
    let of_three = [
        (1, [5, 0, 0]),
        (3, [11, 1, 0]),
        (5, [9, 0, 0]),
        (8, [4, 0, 1]),
        (14, [2, 0, 0]),
    ];
    make.behind(4, |make| counts(make, two, &of_two))?;
    counts(make, one, &[(1, [6, 0, 1]), (4, [3, 0, 0])])?;
    counts(make, three, &of_three)?;
    for (run, potted, closed) in [(one, 5, 9), (two, 9, 16), (three, 12, 23)] {
        pot(make, run, potted, u32::MAX)?;
        close(make, run, closed)?;
        pot(make, run, closed, u32::MAX)?;
    }
    Ok(())
}
