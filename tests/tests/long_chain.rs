//! A chain of generations longer than any program will see, sound or not, and thousands of plants that descend from each
//! other, as a damaged or made-up file may hold them: they open, are checked, worked out with and drawn within bounds of
//! time, memory and stack.
//!
//! Twenty thousand generations by default; `BINEWRIGHT_GENERATIONS=200000 cargo test -p binewright-tests --test long_chain`
//! takes minutes. The work is done by a child process, so that an overflow of the stack is caught as well.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use chrono::NaiveDate;
use commands::{Task, parse, run};
use desktop::app::{App, Places};
use desktop::open_project::OpenProject;
use desktop::preferences::Preferences;
use desktop::view::Screen;
use domain::agenda::agenda;
use domain::ancestry::{ancestors, ancestors_within, descendants_within};
use domain::date::shift;
use domain::findings::findings;
use domain::genetics::Kinship;
use domain::{Cross, Genotype, Id, IdSource, Origin, Pollen, Project, ProjectParts};
use egui_kittest::Harness;
use kit::theme::Theme;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};
use store::{Existing, Store};

const CHILD: &str = "BINEWRIGHT_CHAIN_CHILD";
/// Address space of the child in KiB.
const MEMORY: u32 = 4_000_000;
/// The whole of it, in an unoptimised build on a busy machine: what takes as the square of the generations takes longer.
const LONGEST: Duration = Duration::from_mins(20);

fn today() -> NaiveDate {
    "2026-05-01".parse().unwrap()
}

fn generations() -> usize {
    std::env::var("BINEWRIGHT_GENERATIONS").map_or(20_000, |text| text.parse().unwrap())
}

/// How the plants hang together.
#[derive(Clone, Copy)]
enum Shape {
    /// Each from the one before, in turn by open pollination, doubled, and by a cross with itself: soon none has a number of
    /// sets of chromosomes that a plant can have.
    Faulty,
    /// Each from the one before, in turn by open pollination and by a cross with itself, as the rules allow.
    Sound,
    /// In twos, each from the other.
    Circles,
}

impl Shape {
    const ALL: [(Self, &'static str); 3] = [
        (Self::Faulty, "faulty"),
        (Self::Sound, "sound"),
        (Self::Circles, "circles"),
    ];
}

/// So many plants that hang together in this shape.
fn chain(shape: Shape, length: usize) -> Project {
    let mut ids = IdSource::new(1_770_000_000_000, 3);
    let mut parts = ProjectParts::default();
    let plants: Vec<Id<Genotype>> = (0..length).map(|_| ids.next()).collect();
    for nth in 0..length {
        let before = match shape {
            Shape::Circles => plants.get(nth ^ 1).copied(),
            _ => nth.checked_sub(1).map(|before| plants[before]),
        };
        let kind = match shape {
            Shape::Faulty => nth % 3,
            Shape::Sound => 2 * (nth % 2),
            Shape::Circles => nth / 2 % 3,
        };
        let origin = match (before, kind) {
            (None, _) => Origin::Unknown,
            (Some(female), 0) => Origin::OpenPollinated { female },
            (Some(from), 1) => Origin::Doubled { from },
            (Some(parent), _) => {
                let cross = Cross {
                    id: ids.next(),
                    code: format!("26-{nth}"),
                    female: parent,
                    pollen: Pollen::Male(parent),
                    season: 2026,
                    planned_pollination: None,
                    seeds_wanted: None,
                    purpose: String::new(),
                    advised: None,
                };
                let origin = Origin::Cross { cross: cross.id };
                parts.crosses.push(cross);
                origin
            }
        };
        let plant = Genotype::new(plants[nth], format!("P{nth}"), origin);
        parts.genotypes.push(plant);
    }
    Project::from_parts(parts)
}

/// Says how long the last step took, on the terminal of whoever asks with `--nocapture`.
struct Steps(Instant);

impl Steps {
    fn after(&mut self, what: &str) {
        #[expect(
            clippy::print_stderr,
            reason = "how long each part took, for whoever asks"
        )]
        {
            eprintln!("{what}: {:.1} s", self.0.elapsed().as_secs_f64());
        }
        self.0 = Instant::now();
    }
}

fn command(words: &[&str], path: &Path) -> u8 {
    let words: Vec<_> = ["binewright", words[0], path.to_str().unwrap()]
        .into_iter()
        .chain(words[1..].iter().copied())
        .map(Into::into)
        .collect();
    let Task::Script(script) = parse(words).unwrap() else {
        panic!("these words open the window")
    };
    let (mut out, mut err) = (Vec::new(), Vec::new());
    run(script, today(), &mut out, &mut err)
}

fn live_with_a_chain(shape: Shape, length: usize, folder: &Path) {
    let mut steps = Steps(Instant::now());
    let path = folder.join("season.binewright");
    let project = chain(shape, length);
    drop(
        Store::new("Ida")
            .create(&path, &project, Existing::Keep)
            .unwrap(),
    );
    steps.after("made");
    let opened = Store::new("Ida").open_read_only(&path).unwrap();
    assert!(opened.project == project && opened.report.quarantined.is_empty());
    drop(opened);
    steps.after("opened");
    let found = findings(&project, today());
    assert!(found.len() < 10 * length);
    steps.after("findings");
    let (from, to) = (shift(today(), -400), shift(today(), 400));
    assert!(agenda(&project, from..=to, today()).len() < length);
    steps.after("agenda");
    let first = project.genotypes().iter().next().unwrap().id;
    let last = project.genotypes().iter().next_back().unwrap().id;
    let related = ancestors(&project, &[last]).len();
    assert_eq!(
        related,
        if matches!(shape, Shape::Circles) {
            2
        } else {
            length
        }
    );
    assert!(ancestors_within(&project, last, 4).len() < 20);
    assert!(descendants_within(&project, first, 4).len() < 20);
    steps.after("ancestors");
    let kinship = Kinship::of(&project, 0.0).unwrap();
    assert!(kinship.inbreeding(last).unwrap() <= 1.0);
    steps.after("kinship");
    let begun = Instant::now();
    // As whoever waits may stop it: it must then end.
    let _ = kinship.population(&mut |_| {
        if begun.elapsed() < Duration::from_secs(20) {
            ControlFlow::Continue(())
        } else {
            ControlFlow::Break(())
        }
    });
    drop(kinship);
    steps.after("population");
    for words in [&["check"][..], &["agenda"], &["kinship"]] {
        let code = command(words, &path);
        assert!(code <= 1, "{words:?}");
        steps.after(words[0]);
    }
    let open = OpenProject::open(&path, "Ida").unwrap();
    let places = Places {
        preferences: None,
        samples: PathBuf::from(folder),
    };
    let mut app = App::new(
        Preferences::default(),
        places,
        Box::new(|_: &_| None),
        Box::new(today),
    );
    app.open_project(open);
    let mut harness = Harness::builder()
        .with_size([1280.0, 720.0])
        .with_context_setup(|ctx| Theme::Light.apply(ctx))
        .build_ui_state(|ui, app: &mut App| app.show(ui), app);
    for screen in Screen::ALL {
        harness.state_mut().go(screen);
        harness.step();
        harness.step();
        steps.after(screen.title());
        for plant in [first, last] {
            if matches!(screen, Screen::Plants | Screen::FamilyTree) {
                harness.state_mut().show_record(plant.into());
                harness.step();
                harness.step();
                steps.after("its page");
            }
        }
    }
}

/// Does nothing unless a parent asks for it.
#[test]
fn the_child_lives_with_a_chain() {
    if let Ok(asked) = std::env::var(CHILD) {
        let (wanted, folder) = asked.split_once(' ').unwrap();
        let (shape, _) = *Shape::ALL.iter().find(|(_, name)| *name == wanted).unwrap();
        live_with_a_chain(shape, generations(), Path::new(folder));
    }
}

#[test]
fn a_chain_of_generations_without_end_is_opened_checked_evaluated_and_drawn() {
    is_lived_with("faulty");
}

#[test]
fn a_chain_that_breaks_no_rule_takes_no_longer() {
    is_lived_with("sound");
}

#[test]
fn thousands_of_plants_that_descend_from_each_other_take_no_longer() {
    is_lived_with("circles");
}

fn is_lived_with(shape: &str) {
    let folder = tempfile::tempdir().unwrap();
    let program = std::env::current_exe().unwrap();
    let mut child = if cfg!(unix) {
        let mut shell = Command::new("sh");
        let limited = format!("ulimit -v {MEMORY} 2>/dev/null; exec \"$0\" \"$@\"");
        shell.args(["-c", &limited]).arg(program);
        shell
    } else {
        Command::new(program)
    };
    let mut child = child
        .args(["--exact", "the_child_lives_with_a_chain", "--nocapture"])
        .env(CHILD, format!("{shape} {}", folder.path().display()))
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    let begun = Instant::now();
    let status = loop {
        if let Some(status) = child.try_wait().unwrap() {
            break status;
        }
        if begun.elapsed() > LONGEST {
            child.kill().unwrap();
            child.wait().unwrap();
            panic!("it takes longer than {LONGEST:?}");
        }
        std::thread::sleep(Duration::from_millis(50));
    };
    assert!(status.success(), "{status}");
}
