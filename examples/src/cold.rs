//! Boxes in the cold: batches, the looks into them, and what was found.

use crate::maker::{Made, Maker};
use crate::people_and_place::{JOSS, MARET};
use domain::record::chill::ChillBatchField;
use domain::{
    Celsius, Check, ChillBatch, ChillBox, Edit, Id, Moisture, Protocol, SeedLot, Sterilisation,
    actions,
};

/// Lays seed of these lots into boxes of a new batch. In the cold from its start, unless the start is still to come.
pub(crate) fn lay(
    make: &mut Maker,
    protocol: Id<Protocol>,
    start: i64,
    lots: &[(Id<SeedLot>, u32)],
    most: u32,
) -> Made<(Id<ChillBatch>, Vec<Id<ChillBox>>)> {
    let first_day = make.turn_to(start.min(0));
    let day = make.day(start);
    let mut batch = batch_under(make, protocol, start)?;
    batch.place = "Seed refrigerator, shelf 1".into();
    if start <= 0 {
        batch.sterilised = Some(Sterilisation {
            date: first_day,
            recipe:
                "Household bleach diluted to 1 % hypochlorite, then three rinses in cooled boiled water"
                    .into(),
            minutes: 5.0,
            rinses: 3,
            by: MARET.into(),
        });
    }
    make.apply(Edit::add(batch.clone()))?;
    for (lot, seeds) in lots {
        let edit = actions::lay_boxes(&make.project, &batch, *lot, *seeds, most, &mut make.ids);
        make.apply(edit)?;
    }
    if start <= 0 {
        make.apply(actions::start_batch(&batch, day))?;
    }
    let boxes = make
        .project
        .boxes_of(batch.id)
        .map(|each| each.id)
        .collect();
    Ok((batch.id, boxes))
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

/// The batch left the cold.
pub(crate) fn end_batch(make: &mut Maker, batch: Id<ChillBatch>, offset: i64) -> Made {
    let day = make.turn_to(offset);
    make.apply(Edit::set(batch, ChillBatchField::Ended(Some(day))))
}

/// When the batch that is in the cold today began.
pub(crate) const UNDER_WAY: i64 = -33;

/// Six boxes in the cold today: one mouldy, one dry and due today, one with early sprouts, one overdue, one due today.
pub(crate) fn looks_of_the_batch_under_way(make: &mut Maker, boxes: &[Id<ChillBox>]) -> Made {
    for after in 1..=7 {
        for chill_box in boxes {
            look(make, *chill_box, UNDER_WAY + after, |_| ())?;
        }
    }
    let [good, mouldy, dry, early, overdue, due] = *boxes else {
        return Ok(());
    };
    // In the order of the days, as a pair of hands would have written them.
    look(make, due, -21, |_| ())?;
    for chill_box in [good, mouldy, dry, early, overdue] {
        look(make, chill_box, -19, |_| ())?;
    }
    look(make, due, -14, |_| ())?;
    for chill_box in [good, dry, early, overdue] {
        look(make, chill_box, -12, |_| ())?;
    }
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
    look(make, mouldy, -1, |check| check.mouldy_removed = 1)
}
