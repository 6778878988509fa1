//! A breeder at work, made to be killed: makes random changes to the project named on the command line, saves it,
//! backs it up, keeps photos and copies, and prints a line for each thing that was acknowledged:
//!
//! - `edit NUMBER SUM`: a change, and the check sum of the project after it;
//! - `photo PATH SUM`: a photo, and the check sum of its bytes;
//! - `copy NUMBER`: a copy of the project after so many changes;
//! - `merge NUMBER`: the change that brought in such a copy, told when it was handed over;
//! - `restore NUMBER`: the change that went back to a backup, told when it was handed over;
//! - `draft NUMBER`: what was typed, half of it, was kept for the so manieth time;
//! - `export NUMBER`: a table was written for the so manieth time.
//!
//! The second argument is when its clock was right, in milliseconds: it runs fast, so that backups come and go.

use binewright_tests::dice::Dice;
use binewright_tests::hasty_clock::HastyClock;
use binewright_tests::random_edits::random_edit;
use domain::compare::Comparison;
use domain::merge::{Choice, merge};
use domain::{Edit, IdSource, Photo, Project};
use std::error::Error;
use std::io::Write as _;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::SystemTime;
use store::journal::Sum;
use store::{Earlier, Existing, Store};

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args_os().skip(1);
    let path = PathBuf::from(arguments.next().ok_or("which project?")?);
    let since = arguments.next().ok_or("since when?")?;
    let since = since.to_str().ok_or("since when?")?.parse()?;
    let store = Store::with_files("Ida", Arc::new(HastyClock::since(since)));
    let opened = store.open(&path)?;
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
    let (mut drafts, mut exports) = (0, 0);
    loop {
        let photo = if dice.one_in(6) {
            photo(&store, &path, &project, &mut dice, &mut ids, &mut out)?
        } else {
            None
        };
        let edit = photo.or_else(|| random_edit(&project, dice.roll(), &mut ids));
        if let Some(edit) = edit
            && project.apply(edit.clone()).is_ok()
        {
            file.append(&edit)?;
            sums.push(Sum::of(&serde_json::to_vec(&project)?));
        }
        if dice.one_in(4) {
            file.flush()?;
        }
        if dice.one_in(10) {
            file.save(&project)?;
        }
        if dice.one_in(25) {
            let copy = path.with_extension("copy.binewright");
            let copied = file.save_as(&copy, &project, Existing::Replace)?;
            writeln!(out, "copy {}", copied.last())?;
            // The copy goes its own way for a change.
            let mut there = project.clone();
            if let Some(edit) = random_edit(&there, dice.roll(), &mut ids)
                && there.apply(edit.clone()).is_ok()
            {
                copied.append(&edit)?;
            }
        }
        if dice.one_in(5) {
            // Every key that is typed makes it longer.
            drafts += 1;
            file.keep_drafts(&sealed("half a word ", dice.below(3000)))?;
            writeln!(out, "draft {drafts}")?;
        }
        if dice.one_in(12) {
            exports += 1;
            let table = sealed("F-01,9,8\n", dice.below(4000));
            let to = path.with_extension("csv");
            store.write_file(&to, table.as_bytes(), &[&path], Earlier::Keep)?;
            writeln!(out, "export {exports}")?;
        }
        if dice.one_in(30)
            && let Some(backup) = dice.pick(&store.backups(&path)?)
        {
            let (then, _) = store.read_backup(backup)?;
            let edit = Comparison::between(&project, &then).into_edit("restore a backup");
            if project.apply(edit.clone()).is_ok() {
                writeln!(out, "restore {}", file.append(&edit)?)?;
                sums.push(Sum::of(&serde_json::to_vec(&project)?));
            }
        }
        let copy = path.with_extension("copy.binewright");
        if dice.one_in(15) && copy.exists() {
            // Brought together with the copy: one change, whatever comes in.
            file.flush()?;
            let other = store.read_copy(&path, &copy)?;
            let base = other.base.map(|base| base.project);
            let merged = merge(base.as_ref(), &project, &other.project);
            let edit = merged.settle(&vec![Choice::Mine; merged.conflicts.len()]);
            if !merged.clean.is_empty() && project.apply(edit.clone()).is_ok() {
                writeln!(out, "merge {}", file.append(&edit)?)?;
                sums.push(Sum::of(&serde_json::to_vec(&project)?));
            }
        }
        while told < file.acknowledged() {
            writeln!(out, "edit {} {}", told + 1, sums[(told - first) as usize])?;
            told += 1;
        }
        out.flush()?;
    }
}

/// A text of this length, with its check sum as the last word, so that half of it is told from the whole.
fn sealed(words: &str, times: usize) -> String {
    let text = words.repeat(times);
    format!("{text}{}", Sum::of(text.as_bytes()))
}

/// Takes a photo of some record and keeps it beside the project.
fn photo(
    store: &Store,
    path: &std::path::Path,
    project: &Project,
    dice: &mut Dice,
    ids: &mut IdSource,
    out: &mut impl std::io::Write,
) -> Result<Option<Edit>, Box<dyn Error>> {
    let at = dice.below(project.genotypes().len());
    let Some(plant) = project.genotypes().iter().nth(at) else {
        return Ok(None);
    };
    let mut bytes = b"\xFF\xD8\xFF".to_vec();
    bytes.extend((0..dice.below(50_000)).map(|_| dice.roll() as u8));
    let camera = path.with_extension("jpg");
    std::fs::write(&camera, &bytes)?;
    let kept = store.keep_photo(path, &camera)?;
    writeln!(out, "photo {kept} {}", Sum::of(&bytes))?;
    Ok(Some(Edit::add(Photo {
        id: ids.next(),
        about: plant.id.into(),
        path: kept,
        date: None,
        caption: String::new(),
    })))
}
