//! Files of the wrong kind at every place that takes one: each gets a sentence, and nothing is changed.

use crate::window::{Window, begun, founder};
use domain::Sex;
use egui::{Key, Role};
use egui_kittest::kittest::Queryable as _;
use std::cell::RefCell;
use std::fs;
use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::time::{Duration, Instant};

/// Longer than any of them takes to be refused, on a machine that has much else to do.
const WAIT: Duration = Duration::from_secs(30);

fn says(window: &Window, part: &str) -> bool {
    let shown = window.harness.query_all_by_label_contains(part).next();
    shown.is_some() || window.notice().contains(part)
}

fn wait(window: &mut Window, what: &str, is_so: impl Fn(&Window) -> bool) {
    let begun = Instant::now();
    while !is_so(window) {
        assert!(begun.elapsed() < WAIT, "{what}");
        std::thread::sleep(Duration::from_millis(10));
        window.settle();
    }
}

/// A file of each kind, and a part of what is said of it where tables, photos and loggers' files are taken.
fn wrong_files(folder: &Path) -> Vec<(PathBuf, [&'static str; 3])> {
    let write = |name: &str, bytes: &[u8]| {
        let path = folder.join(name);
        fs::write(&path, bytes).unwrap();
        path
    };
    let no_table = "This is no table that can be read";
    let no_picture = "no JPEG or PNG";
    let mut noughts = b"plant,date,trait,value\n".to_vec();
    noughts.extend([0; 4000]);
    let mut all = vec![
        (folder.join("nowhere.csv"), ["can't be read"; 3]),
        (folder.join("a folder"), ["is a folder"; 3]),
        (
            write("empty.csv", b""),
            ["nothing in this file", no_picture, ""],
        ),
        (
            write("letter.csv", b"%PDF-1.7\n"),
            ["This is a PDF", no_picture, ""],
        ),
        (write("noughts.csv", &noughts), [no_table, no_picture, ""]),
        (
            write("line.csv", &vec![b'a'; 5_000_000]),
            ["its first line has no end", no_picture, ""],
        ),
        (
            write("cut.xlsx", b"PK\x03\x04 and no more"),
            ["save it as XLSX, ODS or CSV", no_picture, ""],
        ),
    ];
    fs::create_dir(folder.join("a folder")).unwrap();
    if cfg!(unix) {
        let pipe = folder.join("pipe.csv");
        let made = std::process::Command::new("mkfifo").arg(&pipe).status();
        assert!(made.unwrap().success());
        all.push((pipe, ["is a pipe or a socket"; 3]));
        all.push((PathBuf::from("/dev/zero"), ["is a device"; 3]));
    }
    all
}

#[test]
fn a_wrong_file_gets_a_sentence_wherever_a_file_is_taken() {
    let (mut project, mut ids) = begun();
    founder(&mut project, &mut ids, "BRW", Some(Sex::Female));
    let away = tempfile::tempdir().unwrap();
    let files = wrong_files(away.path());
    let answer = Rc::new(RefCell::new(PathBuf::new()));
    let asked = Rc::clone(&answer);
    let mut window = Window::answering(&project, Key::Num5, move |_| Some(asked.borrow().clone()));
    let places = [
        ("Tables", "Choose a table…", ["Close the table", ""]),
        (
            "Scoring sheets",
            "Read a photo…",
            ["Put the photo away", ""],
        ),
        (
            "Temperatures",
            "Import a file…",
            ["Cancel", "Cancel the import"],
        ),
    ];
    for (nth, (screen, button, closes)) in places.into_iter().enumerate() {
        for (path, sentences) in &files {
            *answer.borrow_mut() = path.clone();
            window.click(Role::Tab, screen);
            wait(
                &mut window,
                &format!("{screen}, {}: {button}", path.display()),
                |window| window.has(Role::Button, button),
            );
            window.click(Role::Button, button);
            let sentence = sentences[nth];
            let what = format!("{screen}, {}: {sentence}", path.display());
            wait(&mut window, &what, |window| {
                sentence.is_empty() || says(window, sentence)
            });
            // What is read comes by itself, and with it another button to put it away.
            wait(&mut window, &what, |window| {
                for close in closes {
                    let found = window.harness.query_by_role_and_label(Role::Button, close);
                    if let Some(found) = found {
                        found.click();
                        return false;
                    }
                }
                window.has(Role::Button, button)
            });
        }
        assert!(window.project() == &project, "{screen}");
    }
}
