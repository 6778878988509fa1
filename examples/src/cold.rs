//! Boxes in the cold: batches, the looks into them, and what was found.

use crate::maker::{Made, Maker};
use crate::people_and_place::{JOSS, MARET};
use domain::record::chill::ChillBatchField;
use domain::{
    Celsius, Check, ChillBatch, ChillBox, Edit, Id, Moisture, Protocol, SeedLot, Sterilisation,
    actions,
};

/// Lays seed of these lots into boxes of a new batch on the day it goes into the cold.
pub(crate) fn lay(
    make: &mut Maker,
    protocol: Id<Protocol>,
    start: i64,
    lots: &[(Id<SeedLot>, u32)],
    most: u32,
) -> Made<(Id<ChillBatch>, Vec<Id<ChillBox>>)> {
    lay_ahead(make, protocol, start, start, lots, most)
}

/// Lays seed into boxes of a batch some days before it goes into the cold.
pub(crate) fn lay_ahead(
    make: &mut Maker,
    protocol: Id<Protocol>,
    planned: i64,
    start: i64,
    lots: &[(Id<SeedLot>, u32)],
    most: u32,
) -> Made<(Id<ChillBatch>, Vec<Id<ChillBox>>)> {
    make.turn_to(planned);
    let day = make.day(start);
    let mut batch = batch_under(make, protocol, start)?;
    batch.place = "Seed refrigerator, shelf 1".into();
    make.apply(Edit::add(batch.clone()))?;
    for (lot, seeds) in lots {
        let edit = actions::lay_boxes(&make.project, &batch, *lot, *seeds, most, &mut make.ids);
        make.apply(edit)?;
    }
    make.turn_to(start);
    let sterilised = Sterilisation {
        date: day,
        recipe:
            "Household bleach diluted to 1 % hypochlorite, then three rinses in cooled boiled water"
                .into(),
        minutes: 5.0,
        rinses: 3,
        by: MARET.into(),
    };
    make.apply(Edit::set(
        batch.id,
        ChillBatchField::Sterilised(Some(sterilised)),
    ))?;
    make.apply(actions::start_batch(&batch, day))?;
    let boxes = make
        .project
        .boxes_of(batch.id)
        .map(|each| each.id)
        .collect();
    Ok((batch.id, boxes))
}

/// The batch of next winter, planned in November and filled after Christmas. It goes into the cold in January.
pub(crate) fn plan_for_next_winter(
    make: &mut Maker,
    protocol: Id<Protocol>,
    lots: &[(Id<SeedLot>, u32)],
) -> Made {
    make.turn_to(243);
    let mut batch = batch_under(make, protocol, 296)?;
    batch.place = "Seed refrigerator, shelf 1".into();
    make.apply(Edit::add(batch.clone()))?;
    make.turn_to(286);
    for (lot, seeds) in lots {
        let edit = actions::lay_boxes(&make.project, &batch, *lot, *seeds, 80, &mut make.ids);
        make.apply(edit)?;
    }
    Ok(())
}

fn batch_under(make: &mut Maker, protocol: Id<Protocol>, start: i64) -> Made<ChillBatch> {
    let day = make.day(start);
    actions::plan_batch(&make.project, protocol, day, &mut make.ids).ok_or_else(|| {
        domain::Refusal::about(
            protocol,
            "This protocol isn't in the project.",
            "Choose one that is.",
        )
    })
}

/// One look on a day, with what was found.
pub(crate) fn look(
    make: &mut Maker,
    chill_box: Id<ChillBox>,
    offset: i64,
    found: impl FnOnce(&mut Check),
) -> Made {
    let date = make.turn_to(offset);
    let degrees = (2.6 + 0.5 * make.chance.bell()).clamp(1.3, 4.2);
    let mut check = Check {
        moisture: Some(Moisture::Moist),
        temperature: Some(Celsius((degrees * 10.0).round() / 10.0)),
        air_let_in: true,
        by: if make.chance.happens(0.6) {
            MARET
        } else {
            JOSS
        }
        .into(),
        ..Check::nothing_found(make.ids.next(), chill_box, date)
    };
    found(&mut check);
    make.apply(Edit::add(check))
}

/// A finished spell in the cold: looked into every day for a week, then every week; a little mould here and there.
pub(crate) fn looks_of_a_finished_batch(
    make: &mut Maker,
    boxes: &[Id<ChillBox>],
    start: i64,
) -> Made {
    for after in (1..=7).chain((14..60).step_by(7)) {
        for chill_box in boxes {
            let mouldy = make.chance.of(2, 0.04);
            look(make, *chill_box, start + after, |check| {
                check.mouldy_removed = mouldy;
            })?;
        }
    }
    Ok(())
}

/// Twelve weeks in the cold: every day for a week, then every week.
pub(crate) fn looks_of_twelve_weeks(make: &mut Maker, boxes: &[Id<ChillBox>], start: i64) -> Made {
    for after in (1..=7).chain((14..84).step_by(7)) {
        for chill_box in boxes {
            // These boxes stand on the upper shelf, a degree warmer.
            look(make, *chill_box, start + after, |check| {
                check.temperature = check.temperature.map(|Celsius(read)| {
                    Celsius(((read + 1.2).clamp(3.1, 4.9) * 10.0).round() / 10.0)
                });
            })?;
        }
    }
    Ok(())
}

/// The batch left the cold.
pub(crate) fn end_batch(make: &mut Maker, batch: Id<ChillBatch>, offset: i64) -> Made {
    let day = make.turn_to(offset);
    make.apply(Edit::set(batch, ChillBatchField::Ended(Some(day))))
}

/// When this winter's second batch began.
pub(crate) const SECOND_BATCH: i64 = -33;

/// Looks into a box on these days, nothing found.
fn looks(make: &mut Maker, chill_box: Id<ChillBox>, days: &[i64]) -> Made {
    for &day in days {
        look(make, chill_box, day, |_| ())?;
    }
    Ok(())
}

/// The same by a hand that has not written up the last five days.
fn looks_behind(make: &mut Maker, chill_box: Id<ChillBox>, days: &[i64]) -> Made {
    make.behind(5, |make| looks(make, chill_box, days))
}

/// Six boxes in the cold in the middle of March: one mouldy, one dry and due, one with early sprouts, one overdue, one
/// due. What comes after is told up to their move to warmth.
pub(crate) fn looks_of_the_second_batch(make: &mut Maker, boxes: &[Id<ChillBox>]) -> Made {
    for after in 1..=7 {
        for chill_box in boxes {
            look(make, *chill_box, SECOND_BATCH + after, |_| ())?;
        }
    }
    let [good, mouldy, dry, early, overdue, due] = *boxes else {
        return Ok(());
    };
    // In the order of the days, as a pair of hands would have written them.
    look(make, due, -21, |_| ())?;
    for chill_box in [good, mouldy, dry, early] {
        look(make, chill_box, -19, |_| ())?;
    }
    looks_behind(make, overdue, &[-19])?;
    look(make, due, -14, |_| ())?;
    for chill_box in [good, dry, early] {
        look(make, chill_box, -12, |_| ())?;
    }
    looks_behind(make, overdue, &[-12])?;
    look(make, mouldy, -12, |check| {
        check.mouldy_removed = 4;
        check.remark = "Grey mould round one corner, towel changed".into();
    })?;
    look(make, mouldy, -10, |check| check.mouldy_removed = 3)?;
    look(make, mouldy, -8, |_| ())?;
    look(make, due, -7, |_| ())?;
    look(make, good, -5, |_| ())?;
    look(make, dry, -5, |_| ())?;
    look(make, early, -5, |check| {
        check.sprouted_early = 2;
        check.remark = "Two roots showing, left in a corner of the box".into();
    })?;
    look(make, dry, -2, |check| {
        check.moisture = Some(Moisture::Dry);
        check.water_added = true;
        check.remark = "Lid had lifted".into();
    })?;
    look(make, mouldy, -1, |check| check.mouldy_removed = 1)?;
    looks_behind(make, overdue, &[-5])?;
    for (chill_box, days) in [
        (due, [0, 7, 14, 21]),
        (dry, [0, 5, 12, 19]),
        (mouldy, [1, 3, 10, 17]),
        (good, [2, 9, 16, 23]),
        (early, [2, 9, 16, 23]),
    ] {
        looks(make, chill_box, &days)?;
    }
    looks_behind(make, overdue, &[2, 9, 16, 23])
}
