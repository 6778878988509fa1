//! Absurd and hostile files give findings or a refusal, within bounded time and memory.

#![expect(
    unsafe_code,
    reason = "an allocator that counts can be written in no other way"
)]

use binewright_tests::hostile::look_everywhere;
use binewright_tests::model_disk::ModelDisk;
use domain::{Cross, Genotype, IdSource, Origin, Photo, Pollen, Project, ProjectParts};
use exchange::pedigree::Pedigree;
use serde_json::{Value, json};
use std::alloc::{GlobalAlloc, Layout, System};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};
use store::{Existing, Opened, Store, StoreError};

/// The system's allocator, counting what is held.
struct Counting;

static HELD: AtomicUsize = AtomicUsize::new(0);
static MOST: AtomicUsize = AtomicUsize::new(0);

// SAFETY: every call is handed to the system's allocator as it came.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        let held = HELD.fetch_add(layout.size(), Ordering::Relaxed) + layout.size();
        MOST.fetch_max(held, Ordering::Relaxed);
        // SAFETY: as the caller promises.
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, pointer: *mut u8, layout: Layout) {
        HELD.fetch_sub(layout.size(), Ordering::Relaxed);
        // SAFETY: as the caller promises.
        unsafe { System.dealloc(pointer, layout) }
    }
}

#[global_allocator]
static COUNTING: Counting = Counting;

/// One test at a time: they share the count.
static ALONE: Mutex<()> = Mutex::new(());

/// Does some work that may hold `times` as many bytes as it is given, and some MB for what every program needs.
fn bounded<T>(name: &str, bytes: usize, times: usize, work: impl FnOnce() -> T) -> T {
    let before = HELD.load(Ordering::Relaxed);
    MOST.store(before, Ordering::Relaxed);
    let start = Instant::now();
    let done = work();
    let (took, held) = (start.elapsed(), MOST.load(Ordering::Relaxed) - before);
    assert!(
        took < Duration::from_secs(20),
        "{name}: {took:?} for {bytes} bytes"
    );
    assert!(
        held < times * bytes + (8 << 20),
        "{name}: {held} bytes held for a file of {bytes}"
    );
    done
}

const FILE: &str = "/season.binewright";
const JOURNAL: &str = "/season.binewright-journal";

fn store(disk: &ModelDisk) -> Store {
    Store::with_files("Ida", Arc::new(disk.clone()))
}

fn open(disk: &ModelDisk) -> Result<Opened, StoreError> {
    store(disk).open_read_only(Path::new(FILE))
}

/// A file with this in place of its plants.
fn with_plants(plants: &str) -> Vec<u8> {
    format!(
        r#"{{"format":{{"name":"binewright project","major":1,"minor":0}},
"journal":{{"id":"01a211a5-0a53-7f88-9c07-2d62695d69a8","sequence":0,"sum":"00000000"}},
"project":{{"genotypes":{plants}}}}}"#
    )
    .into_bytes()
}

fn plant(fields: &str) -> String {
    format!(r#"[{{"id":"019b76da-a808-7534-a6a6-b7fd0b63d0ba","code":"A",{fields}}}]"#)
}

#[test]
fn absurd_projects_are_opened_or_refused_within_bounds() {
    let _alone = ALONE.lock().unwrap_or_else(PoisonError::into_inner);
    let long = 1_000_000;
    let nested = |open: &str, close: &str, times| open.repeat(times) + &close.repeat(times);
    let cases = [
        ("lists in lists", with_plants(&nested("[", "]", long / 2))),
        (
            "objects in objects",
            with_plants(&nested("{\"a\":", "}", long / 6).replace(":}", ":1}")),
        ),
        (
            "lists in a field",
            with_plants(&plant(&format!("\"x\":{}", nested("[", "]", long / 2)))),
        ),
        ("a list without end", with_plants(&"[".repeat(long))),
        (
            "empty objects",
            with_plants(&format!("[{}{{}}]", "{},".repeat(long / 3))),
        ),
        (
            "zeros",
            with_plants(&format!("[{}0]", "0,".repeat(long / 2))),
        ),
        (
            "a number of a million digits",
            with_plants(&plant(&format!("\"ploidy\":{}", "9".repeat(long)))),
        ),
        (
            "a code of megabytes",
            with_plants(&plant("\"x\":1").replace("\"A\"", &format!("\"{}\"", "A".repeat(long)))),
        ),
        (
            "a quote without end",
            with_plants(&format!("[\"{}", "\\\\".repeat(long / 2))),
        ),
        (
            "fields without end",
            with_plants(&plant(&format!("{}\"x\":1", "\"x\":1,".repeat(long / 6)))),
        ),
        (
            "bytes that are no text",
            with_plants("[]")
                .into_iter()
                .chain(vec![0xFF; long])
                .collect(),
        ),
        (
            "empty lines",
            with_plants("[]")
                .into_iter()
                .chain(vec![b'\n'; long])
                .chain(*b"x")
                .collect(),
        ),
        (
            "lines of a cut table",
            format!("  \"genotypes\": [\n{}", "    {\n".repeat(long / 6)).into_bytes(),
        ),
        ("zero bytes", vec![0; long]),
    ];
    for (name, bytes) in cases {
        let disk = ModelDisk::default();
        disk.put(Path::new(FILE), &bytes);
        let opened = bounded(name, bytes.len(), 60, || open(&disk));
        match opened {
            Err(StoreError::NotAProject { why, .. }) => assert!(!why.is_empty() && why.len() < 500),
            Err(other) => panic!("{name}: {other}"),
            Ok(opened) => {
                let told = opened.report.sentences().concat();
                assert!(told.len() < 10_000_000, "{name}");
                bounded(name, bytes.len(), 60, || look_everywhere(&opened.project));
            }
        }
    }
}

#[test]
fn absurd_journals_are_cut_or_set_aside_within_bounds() {
    let _alone = ALONE.lock().unwrap_or_else(PoisonError::into_inner);
    let disk = ModelDisk::default();
    let file = store(&disk)
        .create(Path::new(FILE), &Project::default(), Existing::Keep)
        .unwrap();
    let edit = domain::Edit::Settings(domain::record::settings::SettingsField::Name("A".into()));
    file.append(&edit).unwrap();
    drop(file);
    let sound = disk.peek(Path::new(JOURNAL)).unwrap();
    let last = sound
        .split_inclusive(|byte| *byte == b'\n')
        .next_back()
        .unwrap()
        .to_vec();
    let deep = format!(
        "{{\"n\":2,\"edit\":{}",
        "{\"all\":{\"edits\":[".repeat(100_000)
    );
    let tails = [
        ("empty lines", vec![b'\n'; 1_000_000]),
        ("a line without end", vec![b'x'; 2_000_000]),
        ("the same line again and again", last.repeat(10_000)),
        ("edits in edits", deep.into_bytes()),
    ];
    for (name, tail) in tails {
        let bytes = [&sound[..], &tail].concat();
        disk.put(Path::new(JOURNAL), &bytes);
        let opened = bounded(name, bytes.len(), 60, || open(&disk)).unwrap();
        assert_eq!(opened.file.last(), 1, "{name}");
        assert!(!opened.report.is_quiet(), "{name}");
    }
}

/// Plants that descend from each other in a ring, and one from itself.
#[test]
fn cycles_in_the_pedigree_are_findings() {
    let _alone = ALONE.lock().unwrap_or_else(PoisonError::into_inner);
    let mut ids = IdSource::new(1_770_000_000_000, 3);
    let plants: Vec<_> = (0..400).map(|_| ids.next()).collect();
    let mut parts = ProjectParts::default();
    for (nth, id) in plants.iter().enumerate() {
        let cross = Cross {
            id: ids.next(),
            code: format!("26-{nth}"),
            female: plants[(nth + 1) % plants.len()],
            pollen: Pollen::Male(plants[(nth + 7) % plants.len()]),
            season: 2026,
            planned_pollination: None,
            seeds_wanted: None,
            purpose: String::new(),
            advised: None,
        };
        let origin = Origin::Cross { cross: cross.id };
        parts.crosses.push(cross);
        parts
            .genotypes
            .push(Genotype::new(*id, format!("P{nth}"), origin));
    }
    let itself = ids.next();
    parts.genotypes.push(Genotype::new(
        itself,
        "Self",
        Origin::Doubled { from: itself },
    ));
    let disk = ModelDisk::default();
    drop(
        store(&disk)
            .create(Path::new(FILE), &Project::from_parts(parts), Existing::Keep)
            .unwrap(),
    );
    let size = disk.peek(Path::new(FILE)).unwrap().len();
    let opened = bounded("a ring", size, 60, || open(&disk)).unwrap();
    assert_eq!(opened.project.genotypes().len(), 401);
    let today = "2026-05-01".parse().unwrap();
    let found = bounded("findings of a ring", size, 60, || {
        domain::findings::findings(&opened.project, today)
    });
    assert!(
        found
            .iter()
            .any(|finding| finding.what.contains("ancestor")),
        "{:?}",
        found.first()
    );
    let kinship = domain::genetics::Kinship::of(&opened.project, 0.0);
    assert!(kinship.is_err() || kinship.is_ok_and(|kinship| !kinship.findings().is_empty()));
}

/// Numbers as large as their types hold, in every number of a file.
#[test]
fn huge_numbers_and_far_dates_are_findings_or_refusals() {
    let _alone = ALONE.lock().unwrap_or_else(PoisonError::into_inner);
    let first = include_bytes!("../data/project-1.0.binewright");
    for number in [
        json!(0),
        json!(255),
        json!(u32::MAX),
        json!(u64::MAX),
        json!(-1),
        json!(1e300),
    ] {
        for date in ["0001-01-01", "9999-12-31", "+262142-12-31"] {
            let mut file: Value = serde_json::from_slice(first).unwrap();
            stretch(&mut file["project"], &number, date);
            let bytes = serde_json::to_vec_pretty(&file).unwrap();
            let disk = ModelDisk::default();
            disk.put(Path::new(FILE), &bytes);
            let name = format!("{number}, {date}");
            let opened = bounded(&name, bytes.len(), 200, || open(&disk)).unwrap();
            bounded(&name, bytes.len(), 2000, || {
                look_everywhere(&opened.project);
            });
        }
    }
}

/// Puts the number in place of every number, and the date in place of every full date.
fn stretch(value: &mut Value, number: &Value, date: &str) {
    match value {
        Value::Number(_) => *value = number.clone(),
        Value::String(text) if text.len() == 10 && text.as_bytes()[4] == b'-' => {
            date.clone_into(text);
        }
        Value::Array(items) => items
            .iter_mut()
            .for_each(|item| stretch(item, number, date)),
        Value::Object(fields) => fields
            .values_mut()
            .for_each(|field| stretch(field, number, date)),
        _ => {}
    }
}

#[test]
fn absurd_tables_are_refused_within_bounds() {
    let _alone = ALONE.lock().unwrap_or_else(PoisonError::into_inner);
    let columns: Vec<String> = (0..100_000).map(|n| format!("c{n}")).collect();
    let wide = format!("id,female,male,{}\nA,,\n", columns.join(","));
    let ring: Vec<String> = (0..100_000)
        .map(|n| format!("{n},{},", (n + 1) % 100_000))
        .collect();
    let cases = [
        ("columns without end", wide),
        (
            "a quote without end",
            format!("id,female,male\n\"{}", "x,\n".repeat(700_000)),
        ),
        (
            "commas",
            format!("id,female,male\n{}", ",".repeat(2_000_000)),
        ),
        (
            "faults in every line",
            format!("id,female,male\n{}", "A,A,A,A\n".repeat(250_000)),
        ),
        ("a ring", format!("id,female,male\n{}", ring.join("\n"))),
    ];
    for (name, text) in cases {
        let read = bounded(name, text.len(), 200, || Pedigree::read(text.as_bytes()));
        if let Err(faults) = read {
            let words: String = faults.iter().map(ToString::to_string).collect();
            assert!(!words.is_empty(), "{name}");
        }
    }
}

/// A file from elsewhere names photos that lie elsewhere: each is a finding, and none is read.
#[test]
fn photos_that_lie_elsewhere_are_findings_and_never_read() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path().join("hops");
    std::fs::create_dir(&home).unwrap();
    std::fs::write(folder.path().join("secret.jpg"), b"\xFF\xD8\xFFsecret").unwrap();
    let absolute = folder.path().join("secret.jpg").display().to_string();
    let names = [
        "../secret.jpg",
        "photos/../../secret.jpg",
        "./../secret.jpg",
        "photos\\..\\..\\secret.jpg",
        absolute.as_str(),
        "//server/share/secret.jpg",
        "C:/secret.jpg",
        "",
        "photos",
        "photos/CON",
    ];
    std::fs::create_dir(home.join("photos")).unwrap();
    let mut ids = IdSource::new(1_770_000_000_000, 3);
    let mut parts = ProjectParts::default();
    let plant = Genotype::new(ids.next(), "A", Origin::Unknown);
    for name in names {
        parts.photos.push(Photo {
            id: ids.next(),
            about: plant.id.into(),
            path: name.into(),
            date: None,
            caption: String::new(),
        });
    }
    parts.genotypes.push(plant);
    let path = home.join("season.binewright");
    let store = Store::new("Ida");
    drop(
        store
            .create(&path, &Project::from_parts(parts), Existing::Keep)
            .unwrap(),
    );
    let opened = store.open(&path).unwrap();
    for photo in opened.project.photos().iter() {
        let read = store.read_photo(&path, &photo.path);
        assert!(read.is_err(), "{} was read", photo.path);
    }
    let files = store
        .look_at_photos(&path, &opened.project, true, |_| true)
        .unwrap();
    assert_eq!(files.missing.len() + files.unreadable.len(), names.len());
    let away = folder.path().join("away");
    std::fs::create_dir(&away).unwrap();
    let copied = store.copy_photos(&path, &away.join("season.binewright"), &opened.project);
    assert_eq!((copied.copied, copied.failed.len()), (0, names.len()));
    assert_eq!(std::fs::read_dir(&away).unwrap().count(), 0);
    let today = "2026-05-01".parse().unwrap();
    let found = domain::findings::findings(&opened.project, today);
    let outside = found
        .iter()
        .filter(|finding| finding.what.contains("doesn't lie in the project's folder"));
    assert!(outside.count() >= 8);
}
