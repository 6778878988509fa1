//! Inbreeding of every plant, or the coancestry of chosen pairs.

use super::plants::Plants;
use super::tables::{CommandResult, Sheet, faulty, may_write, read};
use crate::voice::Voice;
use exchange::rows::{Fault, Rows};
use std::collections::BTreeMap;
use std::io::Write;
use std::path::Path;

pub(super) fn run(
    pedigree: &Path,
    pairs: Option<&Path>,
    double_reduction: f64,
    to: Option<&Path>,
    out: &mut dyn Write,
    err: &mut Voice<'_>,
) -> CommandResult<u8> {
    let inputs: Vec<&Path> = [pedigree].into_iter().chain(pairs).collect();
    may_write(to, &inputs)?;
    let plants = Plants::read(pedigree, double_reduction, err)?;
    let sheet = match pairs {
        None => inbreeding(&plants)?,
        Some(path) => {
            let pairs =
                read_pairs(&read(path)?, &plants).map_err(|faults| faulty(path, &faults, err))?;
            coancestries(&plants, &pairs)?
        }
    };
    sheet.deliver(to, &inputs, out)?;
    Ok(0)
}

fn inbreeding(plants: &Plants) -> CommandResult<Sheet> {
    let mut sheet = Sheet::new(&["id", "inbreeding"])?;
    let kinship = plants.kinship();
    for plant in 0..kinship.pedigree().len() {
        sheet.text(plants.name(plant))?;
        sheet.number(kinship.inbreeding(plant))?;
        sheet.end_row()?;
    }
    Ok(sheet)
}

/// Pairs of plants, columns `a` and `b`.
fn read_pairs(bytes: &[u8], plants: &Plants) -> Result<Vec<[usize; 2]>, Vec<Fault>> {
    let mut rows = Rows::new(bytes).map_err(|fault| vec![fault])?;
    let (a, b) = match (rows.required("a"), rows.required("b")) {
        (Ok(a), Ok(b)) => (a, b),
        (a, b) => return Err([a, b].into_iter().filter_map(Result::err).collect()),
    };
    let (mut pairs, mut faults) = (Vec::new(), Vec::new());
    while let Some(row) = rows.next() {
        let row = match row {
            Ok(row) => row,
            Err(fault) => {
                faults.push(fault);
                continue;
            }
        };
        let mut find = |column: usize, name: &str| {
            let id = row.field(column);
            let found = plants.find(id);
            if found.is_none() {
                let what = match id {
                    "" => "Both plants of a pair are needed.".into(),
                    _ => format!("{id} is not in the pedigree. Correct the id."),
                };
                faults.push(Fault::at(row.line(), name, what));
            }
            found
        };
        let pair = [find(a, "a"), find(b, "b")];
        if let [Some(a), Some(b)] = pair {
            pairs.push([a, b]);
        }
    }
    if faults.is_empty() {
        Ok(pairs)
    } else {
        Err(faults)
    }
}

fn coancestries(plants: &Plants, pairs: &[[usize; 2]]) -> CommandResult<Sheet> {
    let kinship = plants.kinship();
    // One column of the matrix serves all pairs with the same first plant.
    let mut of_first: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (place, &[a, _]) in pairs.iter().enumerate() {
        of_first.entry(a).or_default().push(place);
    }
    let mut found = vec![0.0; pairs.len()];
    for (a, places) in of_first {
        let others: Vec<usize> = places.iter().map(|&place| pairs[place][1]).collect();
        let block = kinship.coancestry_block(&others, &[a]);
        for (row, place) in places.into_iter().enumerate() {
            found[place] = block[(row, 0)];
        }
    }
    let mut sheet = Sheet::new(&["a", "b", "coancestry"])?;
    for (&[a, b], value) in pairs.iter().zip(found) {
        sheet.text(plants.name(a))?;
        sheet.text(plants.name(b))?;
        sheet.number(value)?;
        sheet.end_row()?;
    }
    Ok(sheet)
}
