//! A breeder at work, made to be killed: makes random changes to the project named on the command line, and
//! prints a line for each that was acknowledged: its number and the check sum of the project after it.

use binewright_tests::dice::Dice;
use binewright_tests::random_edits::random_edit;
use domain::{IdSource, Project};
use std::error::Error;
use std::io::Write as _;
use std::path::PathBuf;
use std::time::SystemTime;
use store::Store;
use store::journal::Sum;

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args_os().skip(1);
    let path = PathBuf::from(arguments.next().ok_or("which project?")?);
    let opened = Store::new("Ida").open(&path)?;
    if let Some(why) = &opened.report.read_only {
        return Err(why.to_string().into());
    }
    let (file, mut project) = (opened.file, opened.project);
    let now = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH)?;
    let mut ids = IdSource::new(now.as_millis() as u64, now.as_nanos() as u64);
    let mut dice = Dice::new(now.as_nanos() as u64);
    let mut out = std::io::stdout().lock();
    let mut sums = Vec::new();
    let mut told = file.last();
    let first = file.last();
    loop {
        let edit = random_edit(&project, dice.roll(), &mut ids);
        if let Some(edit) = edit
            && project.apply(edit.clone()).is_ok()
        {
            file.append(&edit)?;
            sums.push(sum(&project)?);
        }
        if dice.one_in(4) {
            file.flush()?;
        }
        if dice.one_in(15) {
            file.save(&project)?;
        }
        while told < file.acknowledged() {
            writeln!(out, "{} {}", told + 1, sums[(told - first) as usize])?;
            told += 1;
        }
        out.flush()?;
    }
}

fn sum(project: &Project) -> Result<Sum, serde_json::Error> {
    Ok(Sum::of(&serde_json::to_vec(project)?))
}
