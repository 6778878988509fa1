//! What must hold for any bytes at all that come as a file: the fuzz targets run these for hours
//! (`tests/fuzz`), and `tests/tests/hostile.rs` for a moment in every test run.
//!
//! Each function panics where the program fails: it panics itself, loses what it can't read, or comes to
//! another project when it opens what it just saved.

use crate::model_disk::ModelDisk;
use crate::random_edits::{random_edit, walk};
use chrono::NaiveDate;
use domain::agenda::agenda;
use domain::ancestry::ancestors;
use domain::date::shift;
use domain::findings::findings;
use domain::genetics::Kinship;
use domain::ledger::{BoxTally, ledger};
use domain::merge::{Choice, merge};
use domain::progress::CrossProgress;
use domain::record::settings::SettingsField;
use domain::status::{BatchStatus, BoxStatus, ChillProgress};
use domain::timeline::lanes;
use domain::{Edit, IdSource, Project};
use exchange::pedigree::Pedigree;
use exchange::records::TraitRecords;
use std::path::Path;
use std::sync::Arc;
use store::journal::Sum;
use store::{Existing, Opened, Store, StoreError};

const FILE: &str = "/season.binewright";
const JOURNAL: &str = "/season.binewright-journal";
const MOST: u64 = 1 << 22;

fn store(disk: &ModelDisk) -> Store {
    Store::with_files("Ida", Arc::new(disk.clone())).reading_at_most(MOST)
}

fn is_kept(disk: &ModelDisk, bytes: &[u8]) -> bool {
    let paths = disk.paths();
    let mut files = paths.iter().filter_map(|path| disk.peek(path));
    bytes.is_empty() || files.any(|file| file.windows(bytes.len()).any(|part| part == bytes))
}

/// Derives everything the screens show of a project, whatever it holds.
pub fn look_everywhere(project: &Project) {
    let Some(today) = NaiveDate::from_ymd_opt(2026, 5, 1) else {
        return;
    };
    let (from, to) = (shift(today, -400), shift(today, 400));
    for finding in findings(project, today) {
        assert!(!finding.what.is_empty() && !finding.remedy.is_empty());
    }
    let _ = agenda(project, from..=to, today);
    let _ = lanes(project, from, to, today);
    for cross in project.crosses().iter() {
        let _ = CrossProgress::of(project, cross);
    }
    for lot in project.seed_lots().iter() {
        let _ = ledger(project, lot.id);
    }
    for batch in project.chill_batches().iter() {
        let _ = BatchStatus::of(project, batch);
        let _ = ChillProgress::of(batch, today);
    }
    for chill_box in project.chill_boxes().iter() {
        let _ = BoxStatus::of(project, chill_box, today);
        let _ = BoxTally::of(project, chill_box);
    }
    for plant in project.genotypes().iter() {
        let _ = ancestors(project, &[plant.id]);
        let _ = project.describe(plant.id.into());
    }
    let _ = Kinship::of(project, 0.0);
}

/// Looks at everything that was opened, works on it, saves it and opens it again.
fn live_with(disk: &ModelDisk, mut opened: Opened) {
    look_everywhere(&opened.project);
    let _ = opened.report.sentences();
    if opened.file.read_only().is_some() {
        assert!(
            opened.file.save(&opened.project).is_err(),
            "saved for reading"
        );
        return;
    }
    // A file may hold what breaks the rules; then even this edit may be refused.
    let edit = Edit::Settings(SettingsField::Place("Hill".into()));
    if opened.project.apply(edit.clone()).is_ok() {
        opened
            .file
            .append(&edit)
            .unwrap_or_else(|error| panic!("{error}"));
    }
    let aside = opened.report.quarantined.len();
    let saved = opened.file.save(&opened.project);
    // What another file already has can't be written over, such as a name taken by a folder.
    saved.unwrap_or_else(|error| panic!("{error}"));
    let project = opened.project.clone();
    drop(opened);
    let again = store(disk).open(Path::new(FILE));
    let again = again.unwrap_or_else(|error| panic!("saved and not opened: {error}"));
    assert!(again.project == project, "another project was saved");
    assert_eq!(
        again.report.quarantined.len(),
        aside,
        "of what was set aside"
    );
    assert!(again.report.recovered.is_none(), "saved, and brought back");
}

/// The bytes are a project file.
pub fn project_file(bytes: &[u8]) {
    let disk = ModelDisk::default();
    disk.put(Path::new(FILE), bytes);
    match store(&disk).open(Path::new(FILE)) {
        Err(StoreError::NotAProject { why, .. }) => assert!(!why.is_empty()),
        Err(StoreError::TooLarge { .. }) => assert!(bytes.len() as u64 > MOST),
        Err(other) => panic!("{other}"),
        Ok(opened) => {
            let damaged = !opened.report.quarantined.is_empty();
            let read_only = opened.file.read_only().is_some();
            live_with(&disk, opened);
            if read_only {
                assert_eq!(disk.peek(Path::new(FILE)).as_deref(), Some(bytes));
            } else if damaged {
                assert!(
                    is_kept(&disk, bytes) || was_set_aside_before(bytes),
                    "the original is gone"
                );
            }
        }
    }
}

/// Whether a file has a section of things set aside: then it was saved by us after the damage.
fn was_set_aside_before(bytes: &[u8]) -> bool {
    let key = b"\"set_aside\"";
    bytes.windows(key.len()).any(|part| part == key)
}

/// A project of some edits, its file, and its journal, as they lie on a disk.
fn begun() -> (ModelDisk, Project) {
    let disk = ModelDisk::default();
    let walk = walk(&[3, 1 << 9, 77, 12, 1 << 40, 5]);
    let project = walk.project;
    let made = store(&disk).create(Path::new(FILE), &project, Existing::Keep);
    made.unwrap_or_else(|error| panic!("{error}"));
    (disk, project)
}

/// The bytes are the journal beside a project: as they are if the first is even, and each line sealed with
/// its sums, so that the edits are reached, if it is odd.
pub fn journal(bytes: &[u8]) {
    let Some((mode, bytes)) = bytes.split_first() else {
        return;
    };
    let (disk, project) = begun();
    let text = if mode % 2 == 0 {
        bytes.to_vec()
    } else {
        sealed(&disk, bytes)
    };
    disk.put(Path::new(JOURNAL), &text);
    let opened = match store(&disk).open(Path::new(FILE)) {
        Err(StoreError::TooLarge { .. }) => return,
        opened => opened.unwrap_or_else(|error| panic!("{error}")),
    };
    if opened.file.last() == 0 {
        assert!(opened.project == project, "changed by nothing");
    }
    let _ = opened.file.history();
    live_with(&disk, opened);
    // Nothing of a journal is ever lost: it stands where it stood, or beside.
    let rest = disk.peek(Path::new(JOURNAL)).unwrap_or_default();
    let common = rest.iter().zip(&text).take_while(|(a, b)| a == b).count();
    assert!(
        is_kept(&disk, &text[common..]),
        "a part of the journal is gone"
    );
}

/// A sound journal of the project on this disk whose lines hold these texts as edits.
fn sealed(disk: &ModelDisk, texts: &[u8]) -> Vec<u8> {
    let id = store(disk)
        .open_read_only(Path::new(FILE))
        .map(|opened| opened.file.identity())
        .unwrap_or_default();
    let seal = |line: String| {
        let sum = Sum::of(line.as_bytes());
        (format!("{line},\"sum\":\"{sum}\"}}\n"), sum)
    };
    let (mut text, _) = seal(format!(
        r#"{{"format":{{"name":"binewright journal","major":1,"minor":0}},"start":{{"id":"{id}","sequence":0,"sum":"00000000"}}"#
    ));
    let mut after = Sum::default();
    for (n, edit) in (1..).zip(texts.split(|byte| *byte == b'\n')) {
        let edit = String::from_utf8_lossy(edit);
        let (line, sum) = seal(format!(
            r#"{{"n":{n},"after":"{after}","at":"2026-03-01T09:30:00.123Z","by":"Ida","edit":{edit}"#
        ));
        text.push_str(&line);
        after = sum;
    }
    text.into_bytes()
}

/// The bytes, eight at a time, choose edits: each has its inverse, and the journal and the file give the
/// project back.
pub fn edits(bytes: &[u8]) {
    let walk = walk(&choices(bytes));
    let mut project = walk.project.clone();
    for inverse in walk.inverses.iter().rev() {
        let undone = project.apply(inverse.clone());
        undone.unwrap_or_else(|refusal| panic!("an inverse was refused: {refusal}"));
    }
    assert!(project == Project::default(), "undone to something else");
    let disk = ModelDisk::default();
    let file = store(&disk).create(Path::new(FILE), &Project::default(), Existing::Keep);
    let file = file.unwrap_or_else(|error| panic!("{error}"));
    for edit in &walk.edits {
        file.append(edit).unwrap_or_else(|error| panic!("{error}"));
    }
    drop(file);
    let opened = store(&disk).open(Path::new(FILE));
    let opened = opened.unwrap_or_else(|error| panic!("{error}"));
    assert!(opened.project == walk.project, "replayed to something else");
    live_with(&disk, opened);
}

/// Eight bytes a choice, at most a hundred.
fn choices(bytes: &[u8]) -> Vec<u64> {
    let eights = bytes.chunks(8).take(100);
    eights
        .map(|eight| {
            let mut number = [0; 8];
            number[..eight.len()].copy_from_slice(eight);
            u64::from_le_bytes(number)
        })
        .collect()
}

/// The bytes are two copies of a project, apart by a zero byte (if the first is even), or choose edits for what both
/// began from and for each of them (if it is odd). Brought together, no rule is broken that was kept before, and it is
/// undone in one step.
pub fn two_copies(bytes: &[u8]) {
    let Some((mode, bytes)) = bytes.split_first() else {
        return;
    };
    if mode % 2 == 0 {
        let mut parts = bytes.splitn(2, |byte| *byte == 0);
        let [mine, theirs] = [parts.next(), parts.next()].map(|part| {
            let disk = ModelDisk::default();
            disk.put(Path::new(FILE), part.unwrap_or_default());
            let opened = store(&disk).open_read_only(Path::new(FILE)).ok()?;
            Some(opened.project)
        });
        if let (Some(mine), Some(theirs)) = (mine, theirs) {
            bring_together(None, &mine, &theirs);
        }
        return;
    }
    let choices = choices(bytes);
    let (shared, apart) = choices.split_at(choices.len() / 2);
    let (ours, others) = apart.split_at(apart.len() / 2);
    let base = walk(shared).project;
    let [mine, theirs] = [(1, ours), (2, others)].map(|(machine, choices)| {
        let mut project = base.clone();
        let mut ids = IdSource::new(1_800_000_000_000 + machine * 1_000_000, machine);
        for choice in choices {
            if let Some(edit) = random_edit(&project, *choice, &mut ids) {
                let _ = project.apply(edit);
            }
        }
        project
    });
    bring_together(Some(&base), &mine, &theirs);
    bring_together(None, &mine, &theirs);
}

fn bring_together(base: Option<&Project>, mine: &Project, theirs: &Project) {
    let merged = merge(base, mine, theirs);
    let kept = mine.broken_rules().is_empty() && mine.dangling_references().is_empty();
    for choice in [Choice::Mine, Choice::Theirs] {
        let edit = merged.settle(&vec![choice; merged.conflicts.len()]);
        let mut outcome = mine.clone();
        match outcome.apply(edit) {
            Ok(inverse) => {
                assert!(
                    !kept || outcome.broken_rules().is_empty(),
                    "a rule is broken"
                );
                let refused = outcome.apply(inverse).err();
                assert!(!kept || refused.is_none(), "not undone: {refused:?}");
                assert!(!kept || outcome == *mine, "undone to something else");
            }
            // Of a file that breaks rules anything may be refused; and each of two of theirs may fit, and not both.
            Err(refusal) => assert!(!kept || choice == Choice::Theirs, "{refusal}"),
        }
    }
}

/// The bytes are a pedigree; a second file after a zero byte holds the records of its plants.
pub fn tables(bytes: &[u8]) {
    let mut parts = bytes.splitn(2, |byte| *byte == 0);
    let (first, second) = (parts.next().unwrap_or_default(), parts.next());
    let read = Pedigree::read(first);
    if let Ok(pedigree) = &read {
        for (at, plant) in pedigree.plants.iter().enumerate() {
            assert_eq!(pedigree.find(pedigree.name(at)), Some(at));
            for parent in [plant.female, plant.male].into_iter().flatten() {
                assert!((parent as usize) < pedigree.plants.len());
            }
        }
    } else if let Err(faults) = &read {
        assert!(!faults.is_empty() && faults.iter().all(|fault| !fault.to_string().is_empty()));
    }
    let known = read.ok();
    let find = |name: &str| {
        known
            .as_ref()
            .map_or(Some(0), |pedigree| pedigree.find(name))
    };
    let fixed = ["Year".to_owned()];
    for fixed in [&fixed[..], &[]] {
        if let Ok(records) = TraitRecords::read(second.unwrap_or(first), "yield", fixed, find) {
            assert_eq!(records.plant.len(), records.value.len());
            assert!(records.value.iter().all(|value| value.is_finite()));
        }
    }
}

/// The bytes are a table of any kind, or the workbook of a project: every row is told its fate, and what is taken is made
/// in one step that can be taken back.
pub fn imports(bytes: &[u8]) {
    use domain::import::{Fate, Mapping, Round, TableKind, dry_run};
    use exchange::sheets::{Table, Wishes, read};
    use paper::tables::TableSource;
    use paper::workbook;
    use std::ops::ControlFlow;
    let project = walk(&[5, 8, 13, 21, 34, 55, 89, 144]).project;
    let take = |edit: Option<Edit>| {
        let Some(edit) = edit else { return };
        let mut changed = project.clone();
        let undo = changed
            .apply(edit)
            .unwrap_or_else(|refusal| panic!("promised and refused: {refusal}"));
        changed
            .apply(undo)
            .unwrap_or_else(|refusal| panic!("not taken back: {refusal}"));
        assert!(changed == project, "not as it was");
    };
    let told = |fate: &Fate| match fate {
        Fate::New | Fate::Same => {}
        other => assert!(!other.words().is_empty(), "{other:?}"),
    };
    let book = match read(bytes) {
        Ok(book) => book,
        Err(sentence) => return assert!(!sentence.is_empty()),
    };
    if workbook::is_project(&book) {
        let read = workbook::incoming(&project, &book, || ControlFlow::Continue(()));
        match read.unwrap_or_else(|| Err("stopped".into())) {
            Ok(read) => {
                read.rows.iter().for_each(|row| told(&row.fate));
                take(read.edit);
            }
            Err(sentence) => assert!(!sentence.is_empty()),
        }
    }
    for sheet in &book.sheets {
        let table = match Table::of(sheet.clone(), Wishes::default()) {
            Ok(table) => table,
            Err(sentence) => {
                assert!(!sentence.is_empty());
                continue;
            }
        };
        let source = TableSource(&table);
        let guessed = Mapping::guess(&project, &source);
        // As what it seems to hold, and as what the first byte says.
        let first = usize::from(bytes.first().copied().unwrap_or(0));
        let other = Mapping::guess_as(
            &project,
            &source,
            TableKind::ALL[first % TableKind::ALL.len()],
        );
        for mapping in [guessed, other] {
            if mapping.fault().is_some() {
                continue;
            }
            let mut ids = IdSource::new(1_800_000_000_000, 17);
            let run = dry_run(
                &project,
                &source,
                &mapping,
                &Round::default(),
                &mut ids,
                &mut |_, _| ControlFlow::Continue(()),
            );
            let Some(run) = run else {
                panic!("it wasn't stopped")
            };
            assert_eq!(run.rows.len(), table.rows());
            run.rows.iter().for_each(|(_, fate)| told(fate));
            take(run.edit);
        }
    }
}

/// Bytes as a logger's file, read through its own guess and through a mapping that the first of them choose.
pub fn logger(bytes: &[u8]) {
    use exchange::logger::{Encoding, Mapping, Separator, TimeForm, Unit, holds_for};
    let (choices, file) = bytes.split_at(bytes.len().min(8));
    let choice = |nth: usize| usize::from(choices.get(nth).copied().unwrap_or(0));
    let mapping = Mapping {
        encoding: Encoding::ALL[choice(0) % Encoding::ALL.len()],
        separator: Separator::ALL[choice(1) % Separator::ALL.len()],
        header_lines: (choice(2) % 8 > 3).then_some(choice(2) as u64 % 4),
        date: choice(3) % 4,
        time: (choice(4) % 8 > 3).then_some(choice(4) % 4),
        form: TimeForm::ALL[choice(5) % TimeForm::ALL.len()],
        temperature: choice(6) % 4,
        decimal_comma: choice(7) & 1 == 1,
        unit: if choice(7) & 2 == 2 {
            Unit::Fahrenheit
        } else {
            Unit::Celsius
        },
        summer_time: choice(7) & 4 == 4,
    };
    holds_for(file, &mapping);
}
