//! Others at the same files: another machine's lock, another name of the file, a journal that is taken away, a clock that
//! is wrong, a disk that fails under an edit, photos that can't be read.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use binewright_tests::model_disk::ModelDisk;
use domain::findings::of_photos;
use domain::record::settings::SettingsField;
use domain::{AnyId, Edit, Genotype, Id, IdSource, Origin, Photo, Project};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use store::{Existing, Opened, ReadOnly, Store, StoreError};

const FILE: &str = "/season.binewright";
const JOURNAL: &str = "/season.binewright-journal";
const OTHERS: &str =
    r#"{"who":"Ida","machine":"the yard laptop","process":4242,"since":"2026-03-01T08:00:00Z"}"#;

fn model(disk: &ModelDisk) -> Store {
    Store::with_files("Nils", Arc::new(disk.clone()))
}

fn name(opened: &mut Opened, name: &str) {
    let edit = Edit::Settings(SettingsField::Name(name.into()));
    opened.project.apply(edit.clone()).unwrap();
    opened.file.append(&edit).unwrap();
}

fn season() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("season.binewright");
    drop(
        Store::new("Nils")
            .create(&path, &Project::default(), Existing::Keep)
            .unwrap(),
    );
    (folder, path)
}

/// Locks of the system need not reach from one machine to another: a folder may be carried over by a sync program.
#[test]
fn the_lock_of_another_machine_is_left_until_a_person_takes_it_over() {
    let (folder, path) = season();
    let lock = folder.path().join("season.binewright-lock");
    fs::write(&lock, OTHERS).unwrap();
    let store = Store::new("Nils");
    let opened = store.open(&path).unwrap();
    let Some(ReadOnly::Elsewhere(holder)) = &opened.report.read_only else {
        panic!("{:?}", opened.report);
    };
    assert_eq!((&*holder.who, &*holder.machine), ("Ida", "the yard laptop"));
    let told = opened.report.sentences().join(" ");
    assert!(told.contains("take it over"), "{told}");
    drop(opened);
    assert_eq!(fs::read_to_string(&lock).unwrap(), OTHERS);
    // Nor is it written over under another pretext.
    let refused = store.create(&path, &Project::default(), Existing::Replace);
    assert!(matches!(refused, Err(StoreError::Held { .. })));
    assert_eq!(fs::read_to_string(&lock).unwrap(), OTHERS);
    // Who only reads hears of it too.
    let told = store.open_read_only(&path).unwrap().report.sentences();
    assert!(told.join(" ").contains("another machine"), "{told:?}");
    let mut taken = store.take_over(&path).unwrap();
    assert_eq!(taken.report.read_only, None);
    name(&mut taken, "taken over");
    taken.file.save(&taken.project).unwrap();
    drop(taken);
    let kept = fs::read_dir(folder.path())
        .unwrap()
        .any(|entry| fs::read_to_string(entry.unwrap().path()).is_ok_and(|text| text == OTHERS));
    assert!(kept, "whom to ask is gone");
    assert_eq!(store.open(&path).unwrap().report.read_only, None);
}

/// Two names of one file have two lock files beside them.
#[cfg(unix)]
#[test]
fn a_window_that_comes_by_another_name_of_the_file_only_reads() {
    let (folder, path) = season();
    let other = folder.path().join("twin.binewright");
    fs::hard_link(&path, &other).unwrap();
    let mut first = Store::new("Nils").open(&path).unwrap();
    assert_eq!(first.report.read_only, None);
    let second = Store::new("Ida").open(&other).unwrap();
    assert_eq!(second.report.read_only, Some(ReadOnly::Held(None)));
    // A link made to what was saved meets the lock too.
    name(&mut first, "saved");
    first.file.save(&first.project).unwrap();
    let third = folder.path().join("third.binewright");
    fs::hard_link(&path, &third).unwrap();
    let opened = Store::new("Ida").open(&third).unwrap();
    assert_eq!(opened.report.read_only, Some(ReadOnly::Held(None)));
    drop((first, second, opened));
    let alone = Store::new("Ida").open(&third).unwrap();
    assert_eq!(alone.report.read_only, None);
}

#[test]
fn a_journal_that_is_taken_away_comes_back_with_its_whole_history() {
    let disk = ModelDisk::default();
    let file = model(&disk).create(Path::new(FILE), &Project::default(), Existing::Keep);
    drop(file.unwrap());
    for round in 0..2 {
        let mut opened = model(&disk).open(Path::new(FILE)).unwrap();
        for nth in 0..3 {
            name(&mut opened, &format!("{round} {nth}"));
            opened.file.save(&opened.project).unwrap();
        }
        let before = disk.peek(Path::new(JOURNAL)).unwrap();
        disk.delete(Path::new(JOURNAL));
        assert!(!opened.file.is_changed_elsewhere().unwrap());
        assert_eq!(disk.peek(Path::new(JOURNAL)).unwrap(), before);
        // Cut where it is, it is made whole again.
        disk.put(Path::new(JOURNAL), &before[..before.len() / 2]);
        name(&mut opened, &format!("{round} after"));
        opened.file.flush().unwrap();
        let history = opened.file.history().unwrap();
        assert_eq!(history.len() as u64, opened.file.last());
    }
}

#[test]
fn a_record_whose_change_is_not_on_the_disk_is_named() {
    let disk = ModelDisk::default();
    drop(
        model(&disk)
            .create(Path::new(FILE), &Project::default(), Existing::Keep)
            .unwrap(),
    );
    let mut opened = model(&disk).open(Path::new(FILE)).unwrap();
    let mut ids = IdSource::new(1, 2);
    let mut add = |opened: &mut Opened, code: &str| -> Id<Genotype> {
        let plant = Genotype::new(ids.next(), code, Origin::Unknown);
        let id = plant.id;
        let edit = Edit::add(plant);
        opened.project.apply(edit.clone()).unwrap();
        opened.file.append(&edit).unwrap();
        id
    };
    add(&mut opened, "F-01");
    opened.file.flush().unwrap();
    assert!(opened.file.not_on_disk().is_empty());
    disk.set_unwritable(Some(std::io::ErrorKind::StorageFull));
    let second = add(&mut opened, "F-02");
    assert!(opened.file.flush().is_err());
    let named: Vec<AnyId> = opened.file.not_on_disk().into_iter().collect();
    assert_eq!(named, [AnyId::from(second)]);
    disk.set_unwritable(None);
    opened.file.flush().unwrap();
    assert!(opened.file.not_on_disk().is_empty());
}

#[cfg(unix)]
#[test]
fn photos_that_cannot_be_read_are_told_from_those_that_are_gone() {
    let (folder, path) = season();
    let mut opened = Store::new("Nils").open(&path).unwrap();
    let mut ids = IdSource::new(1, 2);
    let plant = Genotype::new(ids.next(), "F-01", Origin::Unknown);
    let about = plant.id.into();
    opened.project.apply(Edit::add(plant)).unwrap();
    // A folder of that name can't be read as a file, whoever asks.
    fs::create_dir_all(folder.path().join("photos/unreadable.jpg")).unwrap();
    for name in ["unreadable", "gone"] {
        let photo = Photo {
            id: ids.next(),
            about,
            path: format!("photos/{name}.jpg"),
            date: None,
            caption: String::new(),
        };
        opened.project.apply(Edit::add(photo)).unwrap();
    }
    let store = Store::new("Nils");
    for whole in [false, true] {
        let files = store.look_at_photos(&path, &opened.project, whole, |_| true);
        let files = files.unwrap();
        assert_eq!((files.missing.len(), files.unreadable.len()), (1, 1));
        let told = of_photos(&opened.project, &files);
        assert!(
            told.iter().any(|finding| finding
                .what
                .contains("can't be read (photos/unreadable.jpg)")),
            "{told:?}"
        );
    }
}

/// A machine whose battery is empty begins anew in 1970, or before.
#[derive(Debug)]
struct OldClock(store::Disk);

impl store::FileSystem for OldClock {
    fn now(&self) -> std::time::SystemTime {
        std::time::SystemTime::UNIX_EPOCH - std::time::Duration::from_hours(24 * 365 * 30)
    }

    fn resolve(&self, path: &Path) -> std::io::Result<PathBuf> {
        self.0.resolve(path)
    }
    fn facts(&self, path: &Path) -> std::io::Result<Option<store::files::Facts>> {
        self.0.facts(path)
    }
    fn read(&self, path: &Path, most: u64) -> std::io::Result<Vec<u8>> {
        self.0.read(path, most)
    }
    fn create(
        &self,
        path: &Path,
        like: Option<&Path>,
    ) -> std::io::Result<Box<dyn store::files::OpenFile>> {
        self.0.create(path, like)
    }
    fn continue_at(
        &self,
        path: &Path,
        length: u64,
        is: Option<(u64, u64)>,
    ) -> std::io::Result<Box<dyn store::files::OpenFile>> {
        self.0.continue_at(path, length, is)
    }
    fn rename(&self, from: &Path, to: &Path) -> std::io::Result<()> {
        self.0.rename(from, to)
    }
    fn remove(&self, path: &Path) -> std::io::Result<()> {
        self.0.remove(path)
    }
    fn sync_folder(&self, path: &Path) -> std::io::Result<()> {
        self.0.sync_folder(path)
    }
    fn make_folder(&self, path: &Path) -> std::io::Result<()> {
        self.0.make_folder(path)
    }
    fn list(&self, path: &Path) -> std::io::Result<Vec<String>> {
        self.0.list(path)
    }
    fn lock(
        &self,
        path: &Path,
        text: &[u8],
        like: &Path,
    ) -> std::io::Result<store::files::Locking> {
        self.0.lock(path, text, like)
    }
}

#[test]
fn a_clock_before_1970_stops_nothing() {
    let (_folder, path) = season();
    let store = Store::with_files("Nils", Arc::new(OldClock(store::Disk)));
    let mut opened = store.open(&path).unwrap();
    name(&mut opened, "long ago");
    opened.file.save(&opened.project).unwrap();
    let history = opened.file.history().unwrap();
    assert_eq!(history[0].at.format("%Y").to_string(), "1940");
    assert!(!store.backups(&path).unwrap().is_empty());
    drop(opened);
    let again = Store::new("Nils").open(&path).unwrap();
    assert_eq!(again.project.settings().name, "long ago");
    assert!(again.report.is_quiet(), "{:?}", again.report.sentences());
}
