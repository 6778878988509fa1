//! No entry beside itself: how often one is, and plots exchanged within their blocks until none is.

use fastrand::Rng;

/// How many pairs of plots side by side hold the same entry.
pub(super) fn alike(entries: &[usize], neighbours: &[Vec<usize>]) -> usize {
    (0..neighbours.len())
        .map(|plot| around(entries, neighbours, plot))
        .sum::<usize>()
        / 2
}

fn around(entries: &[usize], neighbours: &[Vec<usize>], plot: usize) -> usize {
    neighbours[plot]
        .iter()
        .filter(|&&other| entries[other] == entries[plot])
        .count()
}

/// How many more such pairs there are once two plots have exchanged their entries.
pub(super) fn change(
    entries: &[usize],
    neighbours: &[Vec<usize>],
    one: usize,
    other: usize,
) -> i32 {
    let count = |plot: usize, apart: usize, entry: usize| -> i32 {
        neighbours[plot]
            .iter()
            .filter(|&&beside| beside != apart && entries[beside] == entry)
            .count() as i32
    };
    let (here, there) = (entries[one], entries[other]);
    count(one, other, there) - count(one, other, here) + count(other, one, here)
        - count(other, one, there)
}

/// Exchanges entries within `blocks` (lists of plots) until no entry lies beside itself. False if that wasn't reached.
pub(super) fn keep_apart(
    entries: &mut [usize],
    neighbours: &[Vec<usize>],
    blocks: &[Vec<usize>],
    random: &mut Rng,
) -> bool {
    let mut block_of = vec![0; entries.len()];
    for (block, plots) in blocks.iter().enumerate() {
        for &plot in plots {
            block_of[plot] = block;
        }
    }
    for _ in 0..50 * entries.len().max(40) {
        let bad: Vec<usize> = (0..entries.len())
            .filter(|&plot| around(entries, neighbours, plot) > 0)
            .collect();
        if bad.is_empty() {
            return true;
        }
        let plot = bad[random.usize(..bad.len())];
        let block = &blocks[block_of[plot]];
        let first = random.usize(..block.len());
        let better = (0..block.len())
            .map(|step| block[(first + step) % block.len()])
            .filter(|&other| other != plot)
            .min_by_key(|&other| change(entries, neighbours, plot, other));
        // Now and then any exchange, out of a corner.
        let other = match better {
            Some(other) if random.u32(..10) > 0 => other,
            _ => block[first],
        };
        entries.swap(plot, other);
    }
    alike(entries, neighbours) == 0
}
