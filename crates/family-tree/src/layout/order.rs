//! The order within each band: fewest crossings by barycentre sweeps, then by exchanging neighbours.
//!
//! Barycentre sweeps are those of Sugiyama, Tagawa and Toda (1981), 'Methods for visual understanding of hierarchical
//! system structures', IEEE Transactions on Systems, Man, and Cybernetics 11(2); the exchange is the greedy switch of
//! Eades and Kelly (1986), 'Heuristics for reducing crossings in 2-layered networks', Ars Combinatoria 21-A.
//! Both are applied to units as wholes, and inside a unit to its slots, so that sibs always stay together.

use super::layers::{Layered, SlotId, UnitId};

const SWEEPS: usize = 12;
/// Exchanging neighbours costs the square of a parent's families; beyond this many lines the sweeps must do.
const MOST_LINES_FOR_EXCHANGE: usize = 6_000;
const EXCHANGES: usize = 6;

/// Reorders the units of every band and the slots of every unit.
pub(super) fn order(layered: &mut Layered) {
    walk(layered);
    let mut ranks = Ranks::of(layered);
    let lines: usize = layered.slots.iter().map(|slot| slot.below.len()).sum();
    let mut best = layered.clone();
    let mut fewest = crossings(layered, &ranks);
    for _ in 0..SWEEPS {
        if fewest == 0 {
            break;
        }
        for band in 1..layered.bands.len() {
            sweep_down(layered, &mut ranks, band);
        }
        for band in (0..layered.bands.len()).rev() {
            sweep_up(layered, &mut ranks, band);
        }
        if lines <= MOST_LINES_FOR_EXCHANGE {
            for _ in 0..EXCHANGES {
                if !exchange(layered, &mut ranks) {
                    break;
                }
            }
        }
        let now = crossings(layered, &ranks);
        if now < fewest {
            fewest = now;
            best = layered.clone();
        }
    }
    *layered = best;
}

/// How many pairs of lines cross, over all bands.
pub(super) fn count_crossings(layered: &Layered) -> u64 {
    crossings(layered, &Ranks::of(layered))
}

/// Where each slot and unit stands in its band, counted in slots.
struct Ranks {
    slot: Vec<f64>,
    unit: Vec<f64>,
}

impl Ranks {
    fn of(layered: &Layered) -> Self {
        let mut ranks = Self {
            slot: vec![0.0; layered.slots.len()],
            unit: vec![0.0; layered.units.len()],
        };
        for band in 0..layered.bands.len() {
            ranks.update(layered, band);
        }
        ranks
    }

    fn update(&mut self, layered: &Layered, band: usize) {
        let mut next = 0;
        for &unit in &layered.bands[band] {
            let slots = &layered.units[unit].slots;
            for &slot in slots {
                self.slot[slot] = f64::from(next);
                next += 1;
            }
            self.unit[unit] = f64::from(next) - f64::midpoint(slots.len() as f64, 1.0);
        }
    }

    fn above(&self, layered: &Layered, unit: UnitId) -> Option<f64> {
        mean(
            layered.units[unit]
                .above
                .iter()
                .map(|&slot| self.slot[slot]),
        )
    }

    fn below(&self, layered: &Layered, slot: SlotId) -> Option<f64> {
        mean(
            layered.slots[slot]
                .below
                .iter()
                .map(|&(unit, _)| self.unit[unit]),
        )
    }
}

fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (sum, count) = values.fold((0.0, 0), |(sum, count), value| (sum + value, count + 1));
    (count > 0).then(|| sum / f64::from(count))
}

/// Sorts the items that have a wish among the places they hold; the others keep theirs.
fn sort_wishes<T: Copy>(items: &mut [T], wish: impl Fn(T) -> Option<f64>) {
    let places: Vec<usize> = (0..items.len())
        .filter(|&place| wish(items[place]).is_some())
        .collect();
    let mut movable: Vec<(f64, T)> = places
        .iter()
        .filter_map(|&place| Some((wish(items[place])?, items[place])))
        .collect();
    movable.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (place, (_, item)) in places.into_iter().zip(movable) {
        items[place] = item;
    }
}

fn sweep_down(layered: &mut Layered, ranks: &mut Ranks, band: usize) {
    let mut row = std::mem::take(&mut layered.bands[band]);
    sort_wishes(&mut row, |unit| ranks.above(layered, unit));
    layered.bands[band] = row;
    ranks.update(layered, band);
}

fn sweep_up(layered: &mut Layered, ranks: &mut Ranks, band: usize) {
    let mut row = std::mem::take(&mut layered.bands[band]);
    for &unit in &row {
        let mut slots = std::mem::take(&mut layered.units[unit].slots);
        sort_wishes(&mut slots, |slot| ranks.below(layered, slot));
        layered.units[unit].slots = slots;
    }
    sort_wishes(&mut row, |unit| {
        mean(
            layered.units[unit]
                .slots
                .iter()
                .filter_map(|&slot| ranks.below(layered, slot)),
        )
    });
    layered.bands[band] = row;
    ranks.update(layered, band);
}

/// Exchanges neighbours wherever that leaves fewer crossings; says whether anything moved.
fn exchange(layered: &mut Layered, ranks: &mut Ranks) -> bool {
    let mut moved = false;
    for band in 0..layered.bands.len() {
        let ends: Vec<UnitEnds> = layered.bands[band]
            .iter()
            .map(|&unit| UnitEnds::of(layered, ranks, unit))
            .collect();
        let mut order: Vec<usize> = (0..ends.len()).collect();
        for place in 1..order.len() {
            let (left, right) = (&ends[order[place - 1]], &ends[order[place]]);
            let here = crossed(&left.above, &right.above) + crossed(&left.below, &right.below);
            let there = crossed(&right.above, &left.above) + crossed(&right.below, &left.below);
            if there < here {
                order.swap(place - 1, place);
                moved = true;
            }
        }
        let row: Vec<UnitId> = order
            .iter()
            .map(|&place| layered.bands[band][place])
            .collect();
        for &unit in &row {
            moved |= exchange_slots(layered, ranks, unit);
        }
        layered.bands[band] = row;
        ranks.update(layered, band);
    }
    moved
}

fn exchange_slots(layered: &mut Layered, ranks: &Ranks, unit: UnitId) -> bool {
    let mut moved = false;
    for place in 1..layered.units[unit].slots.len() {
        let slots = &layered.units[unit].slots;
        let left = below(layered, ranks, slots[place - 1]);
        let right = below(layered, ranks, slots[place]);
        if crossed(&right, &left) < crossed(&left, &right) {
            layered.units[unit].slots.swap(place - 1, place);
            moved = true;
        }
    }
    moved
}

struct UnitEnds {
    above: Vec<f64>,
    below: Vec<f64>,
}

impl UnitEnds {
    fn of(layered: &Layered, ranks: &Ranks, unit: UnitId) -> Self {
        let data = &layered.units[unit];
        let mut above: Vec<f64> = data.above.iter().map(|&slot| ranks.slot[slot]).collect();
        above.sort_by(f64::total_cmp);
        let mut below: Vec<f64> = data
            .slots
            .iter()
            .flat_map(|&slot| below(layered, ranks, slot))
            .collect();
        below.sort_by(f64::total_cmp);
        Self { above, below }
    }
}

fn below(layered: &Layered, ranks: &Ranks, slot: SlotId) -> Vec<f64> {
    let mut below: Vec<f64> = layered.slots[slot]
        .below
        .iter()
        .map(|&(unit, _)| ranks.unit[unit])
        .collect();
    below.sort_by(f64::total_cmp);
    below
}

/// Crossings between the lines of two neighbours, given the sorted far ends of the left and of the right one.
fn crossed(left: &[f64], right: &[f64]) -> usize {
    let mut smaller = 0;
    let mut total = 0;
    for &end in left {
        while smaller < right.len() && right[smaller] < end {
            smaller += 1;
        }
        total += smaller;
    }
    total
}

fn crossings(layered: &Layered, ranks: &Ranks) -> u64 {
    (0..layered.bands.len())
        .map(|band| crossings_below(layered, ranks, band))
        .sum()
}

/// Inversions among the lines under one band, counted with a binary indexed tree.
fn crossings_below(layered: &Layered, ranks: &Ranks, band: usize) -> u64 {
    let Some(next) = layered.bands.get(band + 1) else {
        return 0;
    };
    // Twice the rank of a unit is a whole number.
    let mut tree = vec![
        0_u64;
        2 * next
            .iter()
            .map(|&unit| layered.units[unit].slots.len())
            .sum::<usize>()
            + 2
    ];
    let mut seen = 0;
    let mut total = 0;
    for slot in layered.row(band) {
        let ends: Vec<usize> = below(layered, ranks, slot)
            .iter()
            .map(|&rank| (2.0 * rank) as usize + 1)
            .collect();
        for &end in &ends {
            let mut not_right = 0;
            let mut index = end;
            while index > 0 {
                not_right += tree[index];
                index &= index - 1;
            }
            total += seen - not_right;
        }
        for end in ends {
            seen += 1;
            let mut index = end;
            while index < tree.len() {
                tree[index] += 1;
                index += index & index.wrapping_neg();
            }
        }
    }
    total
}

/// A first order: units side by side as a walk along the lines meets them.
fn walk(layered: &mut Layered) {
    let mut band_of = vec![0; layered.units.len()];
    for (band, row) in layered.bands.iter().enumerate() {
        for &unit in row {
            band_of[unit] = band;
        }
    }
    let starts: Vec<UnitId> = layered.bands.iter().flatten().copied().collect();
    let mut met = vec![false; layered.units.len()];
    let mut rows = vec![Vec::new(); layered.bands.len()];
    for start in starts {
        let mut waiting = vec![start];
        while let Some(unit) = waiting.pop() {
            if std::mem::replace(&mut met[unit], true) {
                continue;
            }
            rows[band_of[unit]].push(unit);
            let data = &layered.units[unit];
            let down = data
                .slots
                .iter()
                .flat_map(|&slot| layered.slots[slot].below.iter().map(|&(unit, _)| unit));
            let up = data.above.iter().map(|&slot| layered.slots[slot].unit);
            let mut near: Vec<UnitId> = up.chain(down).filter(|&unit| !met[unit]).collect();
            near.reverse();
            waiting.extend(near);
        }
    }
    layered.bands = rows;
}
