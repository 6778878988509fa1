//! What is half typed, under every way of leaving, saving and closing, and when the program is killed: it is in the
//! project, or it waits as a draft and is named. `BINEWRIGHT_PENDING=1` tries every way with everything that is typed, and
//! kills more often.

use crate::chill::started;
use crate::form_walk::in_warmth;
use crate::plants::yard;
use crate::window::{Window, begun};
use egui::{Key, Modifiers, Role};
use std::io::{BufRead as _, BufReader, Write as _};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

/// Somewhere something is half typed, and what was typed.
struct Typing {
    what: &'static str,
    begin: fn() -> Window,
    typed: &'static str,
    /// It could be recorded as it is.
    sound: bool,
}

fn place() -> Window {
    let mut window = Window::on(&begun().0, Key::Num0);
    window.focus(Role::TextInput, "Place of the program");
    window.write("zqplace");
    window
}

fn chill_length() -> Window {
    let mut window = Window::on(&started("2026-03-01").0, Key::Num5);
    window.focus(Role::TextInput, "Chill length");
    window.retype("zqlength");
    window
}

fn founder() -> Window {
    let mut window = Window::on(&yard().0, Key::Num2);
    window.click(Role::Button, "Add a founder");
    window.focus(Role::TextInput, "Source of the founder");
    window.write("zqsource");
    window
}

fn note() -> Window {
    let mut window = Window::on(&yard().0, Key::Num2);
    window.click(Role::Row, "F-01");
    window.click(Role::Button, "Add a note…");
    window.focus(Role::MultilineTextInput, "New note");
    window.write("zqnote");
    window
}

fn check() -> Window {
    let mut window = Window::on(&started("2026-03-01").0, Key::Num5);
    window.click(Role::Row, "Box C-01");
    window.click(Role::Button, "Add a check…");
    window.focus(Role::TextInput, "Mouldy seeds removed");
    window.retype("zqmould");
    window
}

fn plant_name() -> Window {
    let mut window = Window::on(&yard().0, Key::Num2);
    window.click(Role::Row, "F-01");
    window.focus(Role::TextInput, "Location");
    window.retype("zqhill");
    window
}

fn goal() -> Window {
    let mut window = Window::on(&yard().0, Key::Num2);
    window.click(Role::Tab, "Season plan");
    window.focus(Role::TextInput, "Good females");
    window.retype("zqgoal");
    window
}

fn sprouts() -> Window {
    let mut window = Window::on(&in_warmth(), Key::Num1);
    let field = {
        use egui_kittest::kittest::{NodeT as _, Queryable as _};
        let mut fields = window.harness.query_all_by_role(Role::TextInput);
        fields.find_map(|field| {
            let label = field.accesskit_node().label()?;
            label.starts_with("New sprouts in").then_some(label)
        })
    };
    window.focus(Role::TextInput, &field.unwrap());
    window.retype("zqcount");
    window
}

const ALL: [Typing; 8] = [
    Typing {
        what: "a field of the program",
        begin: place,
        typed: "zqplace",
        sound: true,
    },
    Typing {
        what: "a figure that can't be read",
        begin: chill_length,
        typed: "zqlength",
        sound: false,
    },
    Typing {
        what: "a form",
        begin: founder,
        typed: "zqsource",
        sound: false,
    },
    Typing {
        what: "a note",
        begin: note,
        typed: "zqnote",
        sound: false,
    },
    Typing {
        what: "a figure in a form",
        begin: check,
        typed: "zqmould",
        sound: false,
    },
    Typing {
        what: "a field of a plant",
        begin: plant_name,
        typed: "zqhill",
        sound: true,
    },
    Typing {
        what: "a goal",
        begin: goal,
        typed: "zqgoal",
        sound: false,
    },
    Typing {
        what: "a count in the round",
        begin: sprouts,
        typed: "zqcount",
        sound: false,
    },
];

/// A way to leave what is typed.
type Way = (&'static str, fn(&mut Window));

const WAYS: [Way; 16] = [
    ("another screen by keys", |window| {
        window.press_with(Modifiers::COMMAND, Key::Num8);
    }),
    ("another screen by tap", |window| {
        window.click(Role::Tab, "Findings, 5");
    }),
    ("the menu", |window| window.click(Role::Button, "Edit")),
    ("finding a code", |window| {
        window.press_with(Modifiers::COMMAND, Key::F);
        window.press(Key::Escape);
    }),
    ("the preferences", |window| {
        window.press_with(Modifiers::COMMAND, Key::Comma);
        window.press(Key::Escape);
    }),
    ("help", |window| window.press(Key::F1)),
    ("the day after", |window| {
        window.click(Role::Button, "Day after");
    }),
    ("Tab", |window| window.press(Key::Tab)),
    ("Shift and Tab", |window| {
        window.press_with(Modifiers::SHIFT, Key::Tab);
    }),
    ("a larger text", |window| {
        window.press_with(Modifiers::COMMAND, Key::Plus);
    }),
    ("a smaller window", |window| {
        window.harness.set_size(egui::vec2(800.0, 600.0));
        window.settle();
    }),
    ("midnight", |window| {
        let next = domain::date::shift(window.clock.get(), 1);
        window.clock.set(next);
        window.settle();
    }),
    ("saving", |window| {
        window.press_with(Modifiers::COMMAND, Key::S);
        window.until(|window| !window.notice().is_empty());
    }),
    ("closing the project", |window| {
        window.press_with(Modifiers::COMMAND, Key::W);
    }),
    ("closing the window", |window| {
        for _ in 0..2 {
            let ctx = window.harness.ctx.clone();
            let _ = window.harness.state_mut().may_close(&ctx);
            window.settle();
        }
    }),
    ("opening the sample", |window| {
        window.press_with(Modifiers::COMMAND, Key::Num2);
        window.harness.state_mut().open_sample();
        window.settle();
    }),
];

/// Where what was typed is now: in the project, or in a draft that is named.
fn is_kept(window: &Window, typed: &str) -> (bool, bool) {
    let Some(open) = window.harness.state().project() else {
        return (false, false);
    };
    let recorded = format!("{:?}", open.project()).contains(typed);
    let waits = open.drafts().lock().unwrap().to_text().contains(typed);
    let named = !open.not_recorded().is_empty();
    (recorded, waits && named)
}

#[test]
fn what_is_half_typed_outlives_every_way_of_leaving_it() {
    let mut lost = Vec::new();
    let mut tried = 0;
    let every = std::env::var("BINEWRIGHT_PENDING").is_ok();
    for (row, typing) in ALL.iter().enumerate() {
        for (column, (way, leave)) in WAYS.into_iter().enumerate() {
            // By default each way is tried with two of what is typed, and each of that with four ways.
            if !every && (row + column) % 4 != 0 {
                continue;
            }
            let mut window = (typing.begin)();
            let path = window.path();
            let (recorded, waits) = is_kept(&window, typing.typed);
            assert!(recorded || waits, "{} is typed", typing.what);
            if way.starts_with("another screen by tap") && !window.has(Role::Tab, "Findings, 5") {
                window.click(Role::Tab, "History");
            } else {
                leave(&mut window);
            }
            tried += 1;
            let here = window
                .harness
                .state()
                .project()
                .map(|open| open.path() == path);
            let (mut recorded, mut waits) = is_kept(&window, typing.typed);
            if here != Some(true) {
                // Closed: it is there when the project is opened again.
                let folder = window;
                let again = Window::another(&path);
                (recorded, waits) = is_kept(&again, typing.typed);
                drop(folder);
            }
            if !recorded && !waits {
                lost.push(format!("{}, {way}", typing.what));
            }
            let leaves = ["another screen", "saving", "closing", "opening"];
            if typing.sound && leaves.iter().any(|each| way.starts_with(each)) && !recorded {
                lost.push(format!("{}, {way}: not recorded", typing.what));
            }
        }
    }
    assert!(tried >= 32, "{tried}");
    assert!(lost.is_empty(), "of {tried}:\n{}", lost.join("\n"));
}

#[test]
fn saved_is_not_said_over_what_waits() {
    let mut tried = 0;
    for typing in &ALL {
        tried += 1;
        let mut window = (typing.begin)();
        window.press_with(Modifiers::COMMAND, Key::S);
        window.until(|window| !window.notice().is_empty());
        window.settle();
        let open = window.harness.state().project().unwrap();
        let word = open.save_state().word;
        if typing.sound {
            assert!(open.not_recorded().is_empty(), "{}", typing.what);
        } else {
            assert!(word.contains("not recorded"), "{}: '{word}'", typing.what);
            assert_ne!(window.notice(), "Saved.", "{}", typing.what);
        }
    }
    assert_eq!(tried, ALL.len());
}

/// Under this name a window types in a process of its own, into the form of this number, until it is killed.
const KILLED: &str = "BINEWRIGHT_KILLED_WINDOW";

/// Types letter by letter, as people do, and tells each; never comes to an end.
fn types_until_killed(nth: usize) -> ! {
    let mut window = (ALL[nth].begin)();
    let mut out = std::io::stdout();
    let mut tell = |words: String| {
        writeln!(out, "\n{words}").unwrap();
        out.flush().unwrap();
    };
    tell(format!("at {}", window.path().display()));
    for letter in "abcdefghijklmnopqrstuvwxyz".chars() {
        window.harness.event(egui::Event::Text(letter.to_string()));
        for _ in 0..4 {
            window.harness.step();
            std::thread::sleep(Duration::from_millis(5));
        }
        tell(format!("typed {letter}"));
    }
    // A moment without a letter.
    for _ in 0..60 {
        window.harness.step();
        std::thread::sleep(Duration::from_millis(10));
    }
    tell("typed all".to_owned());
    loop {
        window.harness.step();
        std::thread::sleep(Duration::from_millis(50));
    }
}

/// Kills a window that types after it told so much; returns where its project is.
fn killed(nth: usize, told: &str) -> std::path::PathBuf {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "pending::what_is_half_typed_outlives_a_kill"])
        .arg("--nocapture")
        .env(KILLED, nth.to_string())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let mut path = None;
    let mut reached = false;
    while let Some(Ok(line)) = lines.next() {
        if let Some(at) = line.strip_prefix("at ") {
            path = Some(at.into());
        }
        if line == told {
            reached = true;
            break;
        }
    }
    child.kill().unwrap();
    child.wait().unwrap();
    assert!(reached, "it never told '{told}'");
    path.unwrap()
}

#[test]
fn what_is_half_typed_outlives_a_kill() {
    if let Ok(nth) = std::env::var(KILLED) {
        types_until_killed(nth.parse().unwrap());
    }
    let every = std::env::var("BINEWRIGHT_PENDING").is_ok();
    let whole = "abcdefghijklmnopqrstuvwxyz";
    for (nth, typing) in ALL.iter().enumerate() {
        if !every && nth % 3 != 0 {
            continue;
        }
        let letters: &[&str] = if every {
            &["typed c", "typed k", "typed t", "typed all"]
        } else {
            &["typed k", "typed all"]
        };
        for told in letters {
            let path = killed(nth, told);
            let again = Window::another(&path);
            let open = again.harness.state().project().expect("it opens");
            let drafts = open.drafts().lock().unwrap().to_text();
            let all = format!("{}{whole}", typing.typed);
            if *told == "typed all" {
                assert!(drafts.contains(&all), "{}: {drafts}", typing.what);
                assert!(!open.not_recorded().is_empty(), "{}", typing.what);
            } else if let Some(begins) = drafts.find(typing.typed) {
                // Killed in the middle of a word: what is kept is the beginning of it.
                let kept: String = drafts[begins..]
                    .chars()
                    .take_while(char::is_ascii_alphabetic)
                    .collect();
                assert!(all.starts_with(&kept), "{}: '{kept}'", typing.what);
            }
            drop(again);
            remove(&path);
        }
    }
}

/// The folder of a window that was killed is left behind: nobody else clears it away.
fn remove(path: &Path) {
    std::fs::remove_dir_all(path.parent().unwrap()).unwrap();
}
