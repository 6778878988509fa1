//! Seed: cleaned, counted or weighed, bought, found; given away and brought back.

use crate::maker::{Made, Maker};
use domain::record::seed_lot::SeedLotField;
use domain::{
    Cross, Edit, Genotype, Grams, Id, LotSource, Movement, MovementKind, SeedAmount, SeedLot,
    actions,
};

/// Cleans the seed of a cross and puts it by.
pub(crate) fn clean(
    make: &mut Maker,
    cross: Id<Cross>,
    offset: i64,
    amount: SeedAmount,
) -> Made<Id<SeedLot>> {
    let day = make.turn_to(offset);
    let edit = actions::clean_seed(&make.project, cross, day, amount, &mut make.ids);
    let lot = edit.touches().first().and_then(|id| id.typed::<SeedLot>());
    make.apply(edit)?;
    let lot = lot.unwrap_or_else(|| make.ids.next());
    put_by(make, lot)?;
    Ok(lot)
}

fn put_by(make: &mut Maker, lot: Id<SeedLot>) -> Made {
    make.apply_all(
        "kept",
        vec![
            Edit::set(
                lot,
                SeedLotField::Place("Seed refrigerator, drawer 2".into()),
            ),
            Edit::set(
                lot,
                SeedLotField::Conditions("Paper in a sealed jar over dry gel, 3 °C".into()),
            ),
        ],
    )
}

/// Seed weighed on the letter balance.
pub(crate) const fn weighed(grams: f64, thousand: f64) -> SeedAmount {
    SeedAmount::Weighed {
        weight: Grams(grams),
        thousand_seed_weight: Grams(thousand),
    }
}

/// Seed that came from elsewhere.
pub(crate) fn brought(
    make: &mut Maker,
    code: &str,
    source: LotSource,
    offset: i64,
    seeds: u32,
) -> Made<Id<SeedLot>> {
    let day = make.turn_to(offset);
    let id = make.ids.next();
    make.apply(Edit::add(SeedLot {
        id,
        code: code.into(),
        source,
        harvested: None,
        cleaned: Some(day),
        amount: Some(SeedAmount::Counted(seeds)),
        place: String::new(),
        conditions: String::new(),
    }))?;
    put_by(make, id)?;
    Ok(id)
}

/// Seed bought from an invented nursery.
pub(crate) fn bought(make: &mut Maker, offset: i64) -> Made<Id<SeedLot>> {
    let source = LotSource::Bought {
        from: "Ambrey Seed Exchange".into(),
        described_as: "mixed wild hop, mountain valleys".into(),
    };
    brought(make, "AMB-1", source, offset, 180)
}

/// Seed picked from a plant left open.
pub(crate) fn open_pollinated(
    make: &mut Maker,
    mother: Id<Genotype>,
    offset: i64,
) -> Made<Id<SeedLot>> {
    brought(
        make,
        "TAN-OP",
        LotSource::OpenPollinated(mother),
        offset,
        95,
    )
}

/// A packet without a label at the back of the drawer.
pub(crate) fn found(make: &mut Maker, offset: i64) -> Made<Id<SeedLot>> {
    brought(make, "Found-1", LotSource::Unknown, offset, 42)
}

/// Seed taken out of a lot or brought back to it.
pub(crate) fn moved(
    make: &mut Maker,
    lot: Id<SeedLot>,
    offset: i64,
    direction: MovementKind,
    seeds: u32,
    reason: &str,
) -> Made {
    let date = make.turn_to(offset);
    let id = make.ids.next();
    make.apply(Edit::add(Movement {
        id,
        lot,
        date,
        direction,
        seeds,
        reason: reason.into(),
    }))
}
