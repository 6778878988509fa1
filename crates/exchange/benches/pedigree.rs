//! A pedigree of a million plants read from CSV, beside the `csv` crate just reading the same file.
//! `cargo bench -p exchange --bench pedigree`.

#[path = "../../domain/benches/support/processor.rs"]
mod processor;

use exchange::pedigree::Pedigree;
use processor::processor_time;
use std::fmt::Write as _;
use std::io::Write as _;

const PLANTS: u32 = 1_000_000;
/// Full sibs of a family, which stand together as they were numbered.
const FAMILY: u32 = 100;

fn main() -> std::io::Result<()> {
    // `cargo test --benches` and listing of benchmarks want no timings.
    if !std::env::args().any(|argument| argument == "--bench") {
        return Ok(());
    }
    let file = file();
    let just_read = processor_time(10, || just_read(&file));
    let read = processor_time(10, || {
        Pedigree::read(file.as_bytes()).is_ok_and(|read| read.rows > 0)
    });
    let mut out = std::io::stdout().lock();
    writeln!(out, "{PLANTS} plants, {} bytes", file.len())?;
    writeln!(out, "csv crate, just read   {just_read:>10.1?}   1.00")?;
    writeln!(
        out,
        "read as a pedigree     {read:>10.1?}   {:.2}",
        read.as_secs_f64() / just_read.as_secs_f64()
    )
}

/// Parents are seedlings of the few thousand before.
fn file() -> String {
    let mut file = String::from("id,female,male,ploidy,origin\n");
    for plant in 0..PLANTS {
        let family = plant / FAMILY;
        let before = |salt: u32| {
            let back = family.wrapping_mul(2_654_435_761).wrapping_add(salt) % 5000;
            (family * FAMILY).checked_sub(back + 1)
        };
        let _never = write!(file, "P{plant:09}");
        for parent in [before(17), before(4242)] {
            let _never = match parent {
                Some(parent) => write!(file, ",P{parent:09}"),
                None => write!(file, ","),
            };
        }
        file.push_str(",2,cross\n");
    }
    file
}

fn just_read(file: &str) -> usize {
    let mut reader = csv::Reader::from_reader(file.as_bytes());
    let mut record = csv::StringRecord::new();
    let mut rows = 0;
    while reader.read_record(&mut record).unwrap_or(false) {
        rows += 1;
    }
    rows
}
