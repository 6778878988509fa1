//! Order of descent.

use super::pedigree::Donor;

/// Marks a genotype that nothing descends from.
pub(super) const ABSENT: u32 = u32::MAX;
/// Marks a parent that has no place yet.
const UNPLACED: u32 = u32::MAX - 1;
/// Marks a parent on the path being followed.
const ON_PATH: u32 = u32::MAX - 2;

/// The parents, ancestors before descendants, and each genotype's place among them.
pub(super) type Order = (Vec<u32>, Vec<u32>);

/// The members of a cycle: each is a parent of the next, and the last of the first.
pub(super) type Cycle = Vec<usize>;

/// Puts the parents in order.
///
/// A genotype without offspring needs no place, and no cycle can pass through it. The search goes depth first
/// from child to parent with a stack of its own, so long lines of descent cannot exhaust the call stack.
///
/// # Errors
/// Cycles. No two share a member, and once
/// the members of all of them have no parents there are no others.
pub(super) fn ancestors_first<'d>(
    genotypes: usize,
    parents: impl Iterator<Item = u32>,
    donors_of: impl Fn(usize) -> &'d [Donor],
) -> Result<Order, Vec<Cycle>> {
    let mut position = vec![ABSENT; genotypes];
    let mut count = 0;
    for parent in parents {
        let place = &mut position[parent as usize];
        count += usize::from(*place == ABSENT);
        *place = UNPLACED;
    }
    let mut order = Vec::with_capacity(count);
    let mut cycles = Vec::new();
    let mut path: Vec<(u32, usize)> = Vec::new();
    for start in 0..genotypes {
        if position[start] != UNPLACED {
            continue;
        }
        position[start] = ON_PATH;
        path.push((start as u32, 0));
        while let Some((genotype, followed)) = path.last_mut() {
            let Some(donor) = donors_of(*genotype as usize).get(*followed) else {
                position[*genotype as usize] = order.len() as u32;
                order.push(*genotype);
                path.pop();
                continue;
            };
            *followed += 1;
            match &mut position[donor.parent as usize] {
                place if *place == UNPLACED => {
                    *place = ON_PATH;
                    path.push((donor.parent, 0));
                }
                place if *place == ON_PATH => {
                    let members = cycle(&path, donor.parent);
                    // They are left as if they had no parents, so that one search finds all cycles.
                    for &member in &members {
                        position[member] = order.len() as u32;
                        order.push(member as u32);
                    }
                    path.truncate(path.len() - members.len());
                    cycles.push(members);
                }
                _ => {}
            }
        }
    }
    if cycles.is_empty() {
        Ok((order, position))
    } else {
        Err(cycles)
    }
}

/// The end of the path from `first` on, turned so that parents come before children.
fn cycle(path: &[(u32, usize)], first: u32) -> Vec<usize> {
    let mut members: Vec<usize> = path
        .iter()
        .rev()
        .map(|&(genotype, _)| genotype as usize)
        .take_while(|&genotype| genotype != first as usize)
        .collect();
    members.push(first as usize);
    members
}
