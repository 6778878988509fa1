//! On the real disk: locks, links, permissions, other programs, backups.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use domain::record::settings::SettingsField;
use domain::{Edit, Project};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};
use store::{Existing, Opened, QuarantinedPart, ReadOnly, Store, StoreError};

struct Desk {
    folder: tempfile::TempDir,
    store: Store,
}

impl Desk {
    fn new() -> Self {
        Self {
            folder: tempfile::tempdir().unwrap(),
            store: Store::new("Ida"),
        }
    }

    fn path(&self, name: &str) -> PathBuf {
        fs::canonicalize(self.folder.path()).unwrap().join(name)
    }

    fn made(&self, name: &str) -> PathBuf {
        let path = self.path(name);
        self.store
            .create(&path, &Project::default(), Existing::Keep)
            .unwrap();
        path
    }

    fn names(&self) -> Vec<String> {
        let entries = fs::read_dir(self.folder.path()).unwrap();
        let mut names: Vec<_> = entries
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }
}

fn rename(opened: &mut Opened, name: &str) {
    let edit = Edit::Settings(SettingsField::Name(name.into()));
    opened.project.apply(edit.clone()).unwrap();
    opened.file.append(&edit).unwrap();
}

#[test]
fn a_season_on_disk() {
    let desk = Desk::new();
    let path = desk.made("season.binewright");
    assert_eq!(desk.names(), ["season.binewright"]);
    let mut opened = desk.store.open(&path).unwrap();
    rename(&mut opened, "Hillside");
    assert_eq!((opened.file.last(), opened.file.saved_up_to()), (1, 0));
    opened.file.flush().unwrap();
    assert_eq!(opened.file.acknowledged(), 1);
    assert_eq!(
        desk.names(),
        [
            "season.binewright",
            "season.binewright-journal",
            "season.binewright-lock"
        ]
    );
    opened.file.save(&opened.project).unwrap();
    assert!(!opened.file.has_unsaved() && opened.file.backup_trouble().is_none());
    drop(opened);
    assert_eq!(
        desk.names(),
        [
            "season.binewright",
            "season.binewright-backups",
            "season.binewright-journal"
        ]
    );
    let again = desk.store.open(&path).unwrap();
    assert_eq!(again.project.settings().name, "Hillside");
    assert!(again.report.is_quiet(), "{:?}", again.report.sentences());
}

/// Typing is smooth: handing over a change waits for no disk, and it is safe about a tenth of a second later.
#[test]
fn a_change_is_acknowledged_by_itself_soon_after() {
    let desk = Desk::new();
    let mut opened = desk.store.open(&desk.made("season.binewright")).unwrap();
    for n in 0..50 {
        rename(&mut opened, &format!("Name {n}"));
    }
    let start = Instant::now();
    while opened.file.acknowledged() < 50 {
        assert!(
            start.elapsed() < Duration::from_secs(20),
            "never acknowledged: {:?}",
            opened.file.trouble()
        );
        std::thread::sleep(Duration::from_millis(5));
    }
}

#[test]
fn a_second_window_reads_and_says_who_writes() {
    let desk = Desk::new();
    let path = desk.made("season.binewright");
    let mut first = desk.store.open(&path).unwrap();
    rename(&mut first, "Hillside");
    first.file.flush().unwrap();
    let second = Store::new("Nils").open(&path).unwrap();
    // What is acknowledged is there to read, though not yet saved.
    assert_eq!(second.project.settings().name, "Hillside");
    let Some(ReadOnly::Held(Some(holder))) = &second.report.read_only else {
        panic!("{:?}", second.report.read_only);
    };
    assert_eq!(
        (holder.who.as_str(), holder.process),
        ("Ida", std::process::id())
    );
    assert_eq!(desk.store.holder(&path).as_ref(), Some(holder));
    let refused = second.file.save(&second.project).unwrap_err().to_string();
    assert!(
        refused.contains("Ida on ") && refused.ends_with("season.binewright"),
        "{refused}"
    );
    assert!(matches!(
        desk.store
            .create(&path, &Project::default(), Existing::Replace),
        Err(StoreError::Held { .. })
    ));
    // It takes over when the first is gone.
    drop(first);
    let third = Store::new("Nils").open(&path).unwrap();
    assert_eq!(third.report.read_only, None);
}

#[test]
fn a_lock_left_by_a_killed_program_holds_nobody_up() {
    let desk = Desk::new();
    let path = desk.made("season.binewright");
    let machine = store::machine_name();
    let text = serde_json::json!({
        "who": "Ida", "machine": machine, "process": 4_194_999, "since": "2026-03-01T08:00:00Z",
    });
    fs::write(desk.path("season.binewright-lock"), text.to_string()).unwrap();
    let opened = desk.store.open(&path).unwrap();
    assert_eq!(opened.report.read_only, None);
    let told = opened.report.sentences().join(" ");
    assert!(
        told.contains(&format!(
            "Ida on {machine} (since 2026-03-01 08:00 UTC) left the project without closing it"
        )),
        "{told}"
    );
    assert_eq!(
        desk.store.holder(&path).unwrap().process,
        std::process::id()
    );
}

#[test]
fn a_file_changed_by_another_program_is_noticed_before_it_is_written_over() {
    let desk = Desk::new();
    let path = desk.made("season.binewright");
    let mut opened = desk.store.open(&path).unwrap();
    rename(&mut opened, "Ours");
    // Touched but the same: no matter.
    let bytes = fs::read(&path).unwrap();
    fs::write(&path, &bytes).unwrap();
    opened.file.save(&opened.project).unwrap();
    // The same length, another content.
    let bytes = fs::read_to_string(&path).unwrap();
    let theirs = bytes.replace("Ours", "Etre");
    std::thread::sleep(Duration::from_millis(20));
    fs::write(&path, &theirs).unwrap();
    rename(&mut opened, "Ours again");
    let noticed = opened.file.save(&opened.project).unwrap_err();
    assert_eq!(noticed, StoreError::ChangedElsewhere(path.clone()));
    assert_eq!(fs::read_to_string(&path).unwrap(), theirs);
    // Elsewhere, or over it: the person decides.
    let copy = desk.path("ours.binewright");
    drop(
        opened
            .file
            .save_as(&copy, &opened.project, Existing::Keep)
            .unwrap(),
    );
    opened.file.overwrite(&opened.project).unwrap();
    opened.file.save(&opened.project).unwrap();
    for path in [path, copy] {
        let there = desk.store.open_read_only(&path).unwrap();
        assert_eq!(there.project.settings().name, "Ours again");
    }
}

#[test]
fn saving_as_another_file_takes_the_history_along() {
    let desk = Desk::new();
    let mut opened = desk.store.open(&desk.made("season.binewright")).unwrap();
    rename(&mut opened, "One");
    rename(&mut opened, "Two");
    let copy = desk.path("copy.binewright");
    let file = opened
        .file
        .save_as(&copy, &opened.project, Existing::Keep)
        .unwrap();
    assert_eq!(file.history().unwrap().len(), 2);
    assert_eq!(file.project_at(1).unwrap().unwrap().settings().name, "One");
    let edit = Edit::Settings(SettingsField::Name("Three".into()));
    assert_eq!(file.append(&edit).unwrap(), 3);
    file.flush().unwrap();
    assert_eq!(opened.file.history().unwrap().len(), 2);
    let refused = opened
        .file
        .save_as(&copy, &opened.project, Existing::Keep)
        .unwrap_err();
    assert!(matches!(refused, StoreError::Exists(_)), "{refused}");
    drop(file);
    // Replacing a project sets its journal aside.
    drop(
        opened
            .file
            .save_as(&copy, &opened.project, Existing::Replace)
            .unwrap(),
    );
    assert!(
        desk.names()
            .iter()
            .any(|name| name.starts_with("copy.binewright-journal.other-"))
    );
    let aside = desk.store.quarantined(&copy).unwrap();
    let [aside] = &*aside else {
        panic!("{aside:?}")
    };
    assert_eq!(aside.what, QuarantinedPart::Other);
    assert_eq!(std::fs::metadata(&aside.path).unwrap().len(), aside.size);
    assert!(
        desk.store
            .quarantined(&desk.path("season.binewright"))
            .unwrap()
            .is_empty()
    );
}

#[test]
fn a_worker_saves_a_snapshot_elsewhere_while_changes_go_on() {
    let desk = Desk::new();
    let mut opened = desk.store.open(&desk.made("season.binewright")).unwrap();
    rename(&mut opened, "One");
    let snapshot = opened.file.snapshot(&opened.project);
    let later = Edit::Settings(SettingsField::Name("Two".into()));
    opened.project.apply(later.clone()).unwrap();
    opened.file.append(&later).unwrap();
    let copy = desk.path("copy.binewright");
    let file = opened
        .file
        .save_snapshot_as(&copy, &snapshot, Existing::Keep)
        .unwrap();
    // The history ends where the snapshot was taken, and goes on from there.
    assert_eq!(file.history().unwrap().len(), 1);
    assert_eq!(file.append(&later).unwrap(), 2);
    file.flush().unwrap();
    drop(file);
    let there = desk.store.open(&copy).unwrap();
    assert_eq!(there.project.settings().name, "Two");
    assert_eq!(there.report.recovered.unwrap().changes, 1);
    assert_eq!(there.file.identity(), opened.file.identity());
    assert!(there.file.project_at(1).unwrap().unwrap().settings().name == "One");
}

#[cfg(unix)]
#[test]
fn permissions_are_kept_and_links_followed() {
    use std::os::unix::fs::{PermissionsExt as _, symlink};
    let desk = Desk::new();
    let path = desk.made("season.binewright");
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
    let link = desk.path("link.binewright");
    symlink(&path, &link).unwrap();
    let mut opened = desk.store.open(&link).unwrap();
    assert_eq!(opened.file.path(), path);
    rename(&mut opened, "Linked");
    opened.file.save(&opened.project).unwrap();
    drop(opened);
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    assert_eq!(
        fs::metadata(&path).unwrap().permissions().mode() & 0o777,
        0o640
    );
    assert!(fs::read_to_string(&path).unwrap().contains("Linked"));
    assert!(
        !desk
            .names()
            .iter()
            .any(|name| name.starts_with("link.binewright-"))
    );
}

#[cfg(unix)]
#[test]
fn a_file_that_may_not_be_written_opens_for_reading() {
    use std::os::unix::fs::PermissionsExt as _;
    let desk = Desk::new();
    let path = desk.made("season.binewright");
    fs::set_permissions(&path, fs::Permissions::from_mode(0o440)).unwrap();
    let opened = desk.store.open(&path).unwrap();
    assert_eq!(opened.report.read_only, Some(ReadOnly::NotWritable));
    assert!(opened.report.sentences()[0].contains("can't be written"));
    assert_eq!(desk.names(), ["season.binewright"]);
}

#[test]
fn what_is_not_there_or_is_no_file_is_said_so() {
    let desk = Desk::new();
    let missing = desk.path("none.binewright");
    assert_eq!(
        desk.store.open(&missing).unwrap_err(),
        StoreError::Missing(missing.clone())
    );
    assert!(desk.store.open(desk.folder.path()).is_err());
    let nowhere = desk.path("no folder/season.binewright");
    let refused = desk
        .store
        .create(&nowhere, &Project::default(), Existing::Keep)
        .unwrap_err();
    assert!(matches!(refused, StoreError::Missing(_)), "{refused}");
    assert!(desk.names().is_empty(), "{:?}", desk.names());
}

#[test]
fn a_worker_saves_a_snapshot_while_changes_go_on() {
    let desk = Desk::new();
    let path = desk.made("season.binewright");
    let Opened {
        mut project, file, ..
    } = desk.store.open(&path).unwrap();
    let file = Arc::new(file);
    for n in 0..20 {
        let edit = Edit::Settings(SettingsField::Name(format!("Name {n}")));
        project.apply(edit.clone()).unwrap();
        file.append(&edit).unwrap();
        if n == 9 {
            let (theirs, snapshot) = (Arc::clone(&file), file.snapshot(&project));
            std::thread::spawn(move || theirs.save_snapshot(&snapshot))
                .join()
                .unwrap()
                .unwrap();
        }
    }
    assert_eq!(file.saved_up_to(), 10);
    drop(file);
    let again = desk.store.open(&path).unwrap();
    assert!(again.project == project);
    assert_eq!(again.report.recovered.unwrap().changes, 10);
}

#[test]
fn a_save_leaves_a_backup_that_can_be_read() {
    let desk = Desk::new();
    let path = desk.made("season.binewright");
    let mut opened = desk.store.open(&path).unwrap();
    assert_eq!(desk.store.backups(&path).unwrap(), []);
    rename(&mut opened, "First");
    opened.file.save(&opened.project).unwrap();
    rename(&mut opened, "Second");
    opened.file.save(&opened.project).unwrap();
    // Within the hour one is enough.
    let backups = desk.store.backups(&path).unwrap();
    assert_eq!(backups.len(), 1);
    let (first, after) = desk.store.read_backup(&backups[0]).unwrap();
    assert_eq!((first.settings().name.as_str(), after), ("First", Some(1)));
    // It opens like any other project.
    let copy = desk
        .store
        .open_read_only(Path::new(&backups[0].path))
        .unwrap();
    assert_eq!(copy.project.settings().name, "First");
}
