//! The places along a band: every slot as near as it can be to where its lines want it, never closer to its neighbour
//! than it may be.
//!
//! Each sweep solves one band exactly: least squares of the distances to the wished places under the least distances
//! between neighbours is an isotonic regression, solved by pooling adjacent violators (Barlow, Bartholomew, Bremner and
//! Brunk 1972, 'Statistical inference under order restrictions').

use super::{
    Sizes,
    layers::{Held, Layered, SlotId, UnitId},
};

const SWEEPS: usize = 16;

/// How strongly a trunk wants to stay straight, against 1 for any other line.
const STRAIGHT: f64 = 6.0;

/// How strongly sibs want to stand together, against 1 for a parent that wants to stand over its family.
const TOGETHER: f64 = 2.0;

/// The middle of every slot.
pub(super) fn place(layered: &Layered, sizes: &Sizes) -> Vec<f64> {
    let rows: Vec<Vec<SlotId>> = (0..layered.bands.len())
        .map(|band| layered.row(band).collect())
        .collect();
    let compact = offsets(layered, sizes);
    let mut x = vec![0.0; layered.slots.len()];
    for row in &rows {
        let wishes = vec![
            Wish {
                at: 0.0,
                weight: 1.0
            };
            row.len()
        ];
        settle(layered, sizes, row, &wishes, &mut x);
    }
    for sweep in 0..SWEEPS {
        let mut visit = |row: &Vec<SlotId>| {
            let wishes: Vec<Wish> = row
                .iter()
                .map(|&slot| wish(layered, &compact, &x, slot))
                .collect();
            settle(layered, sizes, row, &wishes, &mut x);
        };
        if sweep % 2 == 0 {
            rows.iter().for_each(&mut visit);
        } else {
            rows.iter().rev().for_each(&mut visit);
        }
    }
    x
}

#[derive(Clone, Copy)]
struct Wish {
    at: f64,
    weight: f64,
}

/// Where each slot stands from the middle of its unit when the unit is as narrow as can be.
fn offsets(layered: &Layered, sizes: &Sizes) -> Vec<f64> {
    let mut offset = vec![0.0; layered.slots.len()];
    for unit in &layered.units {
        let mut at = 0.0;
        for pair in unit.slots.windows(2) {
            at += distance(layered, sizes, pair[0], pair[1]);
            offset[pair[1]] = at;
        }
        for &slot in &unit.slots {
            offset[slot] -= at / 2.0;
        }
    }
    offset
}

/// The least distance between the middles of two neighbours.
pub(super) fn distance(layered: &Layered, sizes: &Sizes, left: SlotId, right: SlotId) -> f64 {
    let (a, b) = (&layered.slots[left], &layered.slots[right]);
    let gap = if a.unit == b.unit {
        sizes.sib_gap
    } else if matches!((&a.held, &b.held), (Held::Trunk(..), Held::Trunk(..))) {
        sizes.trunk_gap
    } else {
        sizes.family_gap
    };
    f64::from(f32::midpoint(a.width, b.width) + gap)
}

/// The middle of a unit.
pub(super) fn middle(layered: &Layered, x: &[f64], unit: UnitId) -> f64 {
    match layered.units[unit].slots.as_slice() {
        [] => 0.0,
        [one] => x[*one],
        [first, .., last] => f64::midpoint(x[*first], x[*last]),
    }
}

fn wish(layered: &Layered, compact: &[f64], x: &[f64], slot: SlotId) -> Wish {
    let data = &layered.slots[slot];
    let unit = &layered.units[data.unit];
    let is_trunk = |slot: SlotId| matches!(layered.slots[slot].held, Held::Trunk(..));
    let (mut sum, mut weight) = (0.0, 0.0);
    let mut pull = |at: f64, strength: f64| {
        sum += at * strength;
        weight += strength;
    };
    if unit.above.is_empty() {
        // Held to its sibs only.
        if unit.slots.len() > 1 {
            pull(middle(layered, x, data.unit) + compact[slot], 0.5);
        }
    } else {
        let above = unit.above.iter().map(|&slot| x[slot]).sum::<f64>() / unit.above.len() as f64;
        let straight = is_trunk(slot) && unit.above.iter().all(|&slot| is_trunk(slot));
        let strength = if straight {
            STRAIGHT
        } else if unit.slots.len() > 1 {
            TOGETHER
        } else {
            1.0
        };
        pull(above + compact[slot], strength);
    }
    for &(below, _) in &data.below {
        let target = layered.units[below].slots[0];
        let straight = is_trunk(slot) && is_trunk(target);
        // A parent stands over its families; one of many pulls less, so that no star parent tears its sibs apart.
        let strength = if straight {
            STRAIGHT
        } else {
            1.0 / (data.below.len() as f64).sqrt()
        };
        pull(middle(layered, x, below), strength);
    }
    if weight > 0.0 {
        Wish {
            at: sum / weight,
            weight,
        }
    } else {
        Wish {
            at: x[slot],
            weight: 0.01,
        }
    }
}

/// Moves the slots of one band to the best places that keep their distances.
fn settle(layered: &Layered, sizes: &Sizes, row: &[SlotId], wishes: &[Wish], x: &mut [f64]) {
    struct Pool {
        sum: f64,
        weight: f64,
        count: usize,
    }
    let mut shift = Vec::with_capacity(row.len());
    let mut total = 0.0;
    for (place, &slot) in row.iter().enumerate() {
        if place > 0 {
            total += distance(layered, sizes, row[place - 1], slot);
        }
        shift.push(total);
    }
    let mut pools: Vec<Pool> = Vec::new();
    for (wish, shift) in wishes.iter().zip(&shift) {
        let mut pool = Pool {
            sum: (wish.at - shift) * wish.weight,
            weight: wish.weight,
            count: 1,
        };
        while let Some(last) = pools.pop_if(|last| last.sum / last.weight > pool.sum / pool.weight)
        {
            pool.sum += last.sum;
            pool.weight += last.weight;
            pool.count += last.count;
        }
        pools.push(pool);
    }
    let mut places = row.iter().zip(&shift);
    for pool in pools {
        for (&slot, shift) in places.by_ref().take(pool.count) {
            x[slot] = pool.sum / pool.weight + shift;
        }
    }
}
