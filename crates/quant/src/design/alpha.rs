//! Arrangements of resolvable incomplete blocks that are known to be good: cyclic arrays.

/// Blocks of an alpha design: `entries` in `replicates` of `blocks` each, block by block, each block a list of entries
/// from 0. Entry `row·s + c` stands in block `b` of replicate `j` where c = (a(row, j) + b) mod s, s being the blocks of
/// a replicate. Where `entries` is no multiple of the blocks, the blocks' sizes differ by one: the last row of a larger
/// array is left out in part.
///
/// The arrays a: for a prime number of blocks, a(row, j) = row·j, in which no two entries meet twice so long as blocks
/// are no larger than there are blocks in a replicate (a square lattice where they are as large; then one replicate
/// more has the rows as its blocks). Else the four columns of Patterson, Williams & Hunter (1978), J. Agric. Sci.
/// 90:395–400. `None` where neither reaches.
pub fn alpha(entries: usize, replicates: usize, blocks: usize) -> Option<Vec<Vec<Vec<usize>>>> {
    if blocks < 2 || entries < blocks {
        return None;
    }
    let size = entries.div_ceil(blocks);
    let prime = (2..blocks).all(|by| !blocks.is_multiple_of(by));
    let rows_as_blocks = prime && size == blocks && entries == size * blocks;
    (0..replicates)
        .map(|replicate| {
            if rows_as_blocks && replicate == blocks {
                return Some(
                    (0..blocks)
                        .map(|row| (0..blocks).map(|c| row * blocks + c).collect())
                        .collect(),
                );
            }
            let column: Option<Vec<usize>> = (0..size)
                .map(|row| {
                    if prime && replicate < blocks {
                        Some(row * replicate % blocks)
                    } else {
                        published(row, replicate, blocks)
                    }
                })
                .collect();
            let column = column?;
            Some(
                (0..blocks)
                    .map(|block| {
                        column
                            .iter()
                            .enumerate()
                            .map(|(row, shift)| row * blocks + (shift + block) % blocks)
                            .filter(|&entry| entry < entries)
                            .collect()
                    })
                    .collect(),
            )
        })
        .collect()
}

/// The columns of the published arrays for s blocks (from memory).
fn published(row: usize, column: usize, s: usize) -> Option<usize> {
    let odd = s % 2 == 1;
    let value = match column {
        0 => 0,
        1 => row,
        2 if odd => (s - row % s) % s,
        2 => row / 2 + if row % 2 == 1 { s / 2 } else { 0 },
        3 if odd && !s.is_multiple_of(3) => row / 2 + if row % 2 == 1 { s.div_ceil(2) } else { 0 },
        _ => return None,
    };
    Some(value % s)
}
