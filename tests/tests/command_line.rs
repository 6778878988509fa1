//! The command line as a script meets it: what is printed where, and with which exit code.
#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use std::fs;
use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use commands::{Start, Task, parse, run};
use domain::actions::{begin_project, lay_boxes, plan_batch, start_batch};
use domain::planning::{Goals, TraitGoal};
use domain::record::settings::SettingsField;
use domain::{
    Cross, Edit, Genotype, Hemisphere, IdSource, LotSource, Origin, Ploidy, Pollen, Project,
    SeedAmount, SeedLot, Sex, SexBasis, SexRecord,
};
use serde_json::Value;
use store::{Existing, Store};
use tempfile::TempDir;

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// What a run left: its exit code and what it wrote on either side.
struct Outcome {
    code: u8,
    out: String,
    err: String,
}

impl Outcome {
    /// That it failed with one sentence on the error side, holding `words`, and nothing on the other.
    fn is_one_clear_line(&self, words: &str) {
        assert_eq!((self.code, self.out.as_str()), (2, ""), "{}", self.err);
        assert_eq!(self.err.lines().count(), 1, "{}", self.err);
        assert!(self.err.starts_with("binewright: "), "{}", self.err);
        assert!(self.err.ends_with('\n'), "{:?}", self.err);
        assert!(self.err.contains(words), "no '{words}' in: {}", self.err);
    }
}

/// Runs `binewright` with these words on 1 June 2027.
fn binewright<'a>(words: impl IntoIterator<Item = &'a str>) -> Outcome {
    let words = ["binewright"].into_iter().chain(words);
    let Task::Script(script) = parse(words.map(Into::into)).unwrap() else {
        panic!("these words open the window");
    };
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = run(script, day("2027-06-01"), &mut out, &mut err);
    Outcome {
        code,
        out: String::from_utf8(out).unwrap(),
        err: String::from_utf8(err).unwrap(),
    }
}

/// A folder with `project` kept in it.
fn kept(project: &Project) -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("season.binewright");
    Store::new("")
        .create(&path, project, Existing::Keep)
        .unwrap();
    (folder, path)
}

fn begun(hemisphere: Hemisphere, ids: &mut IdSource) -> Project {
    let mut project = Project::default();
    project
        .apply(begin_project("Test yard", hemisphere, ids))
        .unwrap();
    project
}

/// A box of 80 seeds that went into the cold on `start`, by the common-practice protocol.
fn with_a_box(hemisphere: Hemisphere, start: NaiveDate) -> Project {
    let mut ids = IdSource::new(0, 1);
    let mut project = begun(hemisphere, &mut ids);
    let lot = SeedLot {
        id: ids.next(),
        code: "L-1".into(),
        source: LotSource::Unknown,
        harvested: None,
        cleaned: None,
        amount: Some(SeedAmount::Counted(80)),
        place: String::new(),
        conditions: String::new(),
    };
    let protocol = project.settings().protocol.unwrap();
    let batch = plan_batch(&project, protocol, start, &mut ids).unwrap();
    let (lot_id, planned) = (lot.id, batch.clone());
    project.apply(Edit::add(lot)).unwrap();
    project.apply(Edit::add(batch)).unwrap();
    let boxes = lay_boxes(&project, &planned, lot_id, 80, 100, &mut ids);
    project.apply(boxes).unwrap();
    project.apply(start_batch(&planned, start)).unwrap();
    project
}

/// A cross of two founders with this pollination planned.
fn with_a_cross(hemisphere: Hemisphere, pollination: NaiveDate) -> Project {
    let mut ids = IdSource::new(0, 2);
    let mut project = begun(hemisphere, &mut ids);
    let mut founder = |code: &str| {
        let plant = Genotype {
            id: ids.next(),
            code: code.into(),
            origin: Origin::Founder {
                source: "a friend".into(),
                permission: "free use".into(),
                protected: false,
                imported: false,
            },
            name: None,
            aliases: Vec::new(),
            sex: None,
            ploidy: Ploidy::DIPLOID,
            permission: domain::Permission::default(),
            stage: None,
            selected: None,
            location: String::new(),
            born: None,
            potted_from: None,
            sprouted_in: None,
            end: None,
        };
        let id = plant.id;
        project.apply(Edit::add(plant)).unwrap();
        id
    };
    let (female, male) = (founder("F-1"), founder("M-1"));
    let cross = Cross {
        id: ids.next(),
        code: "X-1".into(),
        female,
        pollen: Pollen::Male(male),
        season: 2028,
        planned_pollination: Some(pollination),
        seeds_wanted: None,
        purpose: String::new(),
        advised: None,
    };
    project.apply(Edit::add(cross)).unwrap();
    project
}

fn agenda<'a>(path: &'a Path, words: &[&'a str]) -> Outcome {
    let path = path.to_str().unwrap();
    binewright(["agenda", path].into_iter().chain(words.iter().copied()))
}

fn agenda_json(path: &Path, words: &[&str]) -> Vec<Value> {
    let words: Vec<_> = words.iter().copied().chain(["--json"]).collect();
    let printed = agenda(path, &words);
    assert_eq!((printed.code, printed.err.as_str()), (0, ""));
    serde_json::from_str(&printed.out).unwrap()
}

fn dates_of<'a>(items: &'a [Value], title: &str) -> Vec<&'a str> {
    items
        .iter()
        .filter(|item| item["title"].as_str().unwrap().starts_with(title))
        .map(|item| item["date"].as_str().unwrap())
        .collect()
}

#[test]
fn nothing_found_exits_0_and_says_nothing() {
    let (_folder, path) = kept(&begun(Hemisphere::Northern, &mut IdSource::new(0, 3)));
    let checked = binewright(["check", path.to_str().unwrap()]);
    assert_eq!(
        (checked.code, checked.out.as_str(), checked.err.as_str()),
        (0, "", "")
    );
}

#[test]
fn findings_exit_1_one_a_line_with_weight_and_remedy() {
    let (_folder, path) = kept(&with_a_box(Hemisphere::Northern, day("2027-05-31")));
    let checked = binewright(["check", path.to_str().unwrap()]);
    assert_eq!((checked.code, checked.err.as_str()), (1, ""));
    assert!(
        checked
            .out
            .contains("doubt: The parents of lot L-1 are unknown"),
        "{}",
        checked.out
    );
    for line in checked.out.lines() {
        assert!(
            ["fault: ", "doubt: ", "gap: "]
                .iter()
                .any(|weight| line.starts_with(weight)),
            "{line}"
        );
        assert!(line.ends_with('.'), "{line}");
    }
    // The day can be set: on the day it went into the cold the box is not behind yet, a month on it is.
    let behind = "was due for a check";
    let on = |date: &str| binewright(["check", path.to_str().unwrap(), "--today", date]).out;
    assert!(!on("2027-05-31").contains(behind));
    assert!(on("2027-07-05").contains(behind));
}

#[test]
fn what_is_missing_or_no_project_exits_2_with_one_clear_line() {
    let folder = tempfile::tempdir().unwrap();
    let put = |name: &str, bytes: &[u8]| {
        let path = folder.path().join(name);
        fs::write(&path, bytes).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let missing = folder.path().join("not there.binewright");
    let other = "This isn't a Binewright project";
    let cases = [
        (
            missing.to_str().unwrap().to_owned(),
            "File or folder not found",
        ),
        (put("empty.binewright", b""), other),
        (put("letter.txt", b"Dear Ida,\nthe hops are up.\n"), other),
        (put("bytes.binewright", &[0, 159, 146, 150, 255]), other),
        (put("other.json", br#"{"name": "something else"}"#), other),
        (
            put(
                "format.json",
                br#"{"format": {"name": "atlas", "major": 1, "minor": 0}, "project": {}}"#,
            ),
            other,
        ),
    ];
    for (path, words) in cases {
        for command in ["check", "agenda"] {
            let outcome = binewright([command, path.as_str()]);
            outcome.is_one_clear_line(words);
            assert!(
                outcome.err.trim_end().ends_with(&path),
                "the path comes last: {}",
                outcome.err
            );
        }
    }
    // A folder is no project either.
    let outcome = binewright(["check", folder.path().to_str().unwrap()]);
    assert_eq!((outcome.code, outcome.out.as_str()), (2, ""));
    assert_eq!(outcome.err.lines().count(), 1, "{}", outcome.err);
}

#[test]
fn a_damaged_record_is_told_and_the_rest_is_read() {
    let (_folder, path) = kept(&with_a_box(Hemisphere::Northern, day("2027-05-31")));
    let sound = binewright(["check", path.to_str().unwrap()]).out;
    let text = fs::read_to_string(&path).unwrap();
    let damaged = text.replacen(r#""seeds": 80"#, r#""seeds": "eighty""#, 1);
    assert_ne!(text, damaged);
    fs::write(&path, &damaged).unwrap();
    let checked = binewright(["check", path.to_str().unwrap()]);
    // A record that is left out makes what is worked out doubtful, and a script hears of it.
    assert_eq!((checked.code, checked.err.as_str()), (2, ""));
    let told: Vec<_> = checked
        .out
        .lines()
        .filter(|line| line.contains("can't be read"))
        .collect();
    assert!(
        matches!(told.as_slice(), [line] if line.starts_with("fault: ") && line.contains("C-01")),
        "{}",
        checked.out
    );
    assert!(sound.contains("L-1") && checked.out.contains("The parents of lot L-1 are unknown"));
    assert_eq!(
        fs::read_to_string(&path).unwrap(),
        damaged,
        "checking leaves the file as it is"
    );
}

#[test]
fn a_truncated_file_is_told_even_if_nothing_else_is_doubtful() {
    let (_folder, path) = kept(&begun(Hemisphere::Northern, &mut IdSource::new(0, 6)));
    let bytes = fs::read(&path).unwrap();
    fs::write(&path, &bytes[..bytes.len() * 9 / 10]).unwrap();
    let checked = binewright(["check", path.to_str().unwrap()]);
    // A record that is left out makes what is worked out doubtful, and a script hears of it.
    assert_eq!((checked.code, checked.err.as_str()), (2, ""));
    assert!(
        checked.out.starts_with("fault: The file is damaged"),
        "{}",
        checked.out
    );
}

#[test]
fn looks_fall_on_29_february_in_a_leap_year_only() {
    // Common practice: every day in the first 7 days, then weekly; 60 days of chill.
    // 60 days from 25 February are 25 April 2028 (leap) and 26 April 2027, counted on a calendar.
    for (start, to, looks, over) in [
        (
            "2028-02-25",
            "2028-04-30",
            &[
                "2028-02-26",
                "2028-02-27",
                "2028-02-28",
                "2028-02-29",
                "2028-03-01",
                "2028-03-02",
                "2028-03-03",
                "2028-03-10",
                "2028-03-17",
            ][..],
            "2028-04-25",
        ),
        (
            "2027-02-25",
            "2027-04-30",
            &[
                "2027-02-26",
                "2027-02-27",
                "2027-02-28",
                "2027-03-01",
                "2027-03-02",
                "2027-03-03",
                "2027-03-04",
                "2027-03-11",
                "2027-03-18",
            ][..],
            "2027-04-26",
        ),
    ] {
        let (_folder, path) = kept(&with_a_box(Hemisphere::Northern, day(start)));
        let items = agenda_json(&path, &["--today", start, "--from", start, "--to", to]);
        let told = dates_of(&items, "Check box");
        assert_eq!(&told[..looks.len()], looks);
        assert_eq!(dates_of(&items, "Move box"), [over]);
    }
}

#[test]
fn the_year_turns_in_the_middle_of_a_chill_and_both_hemispheres_count_alike() {
    let start = "2026-12-28";
    let words = ["--today", start, "--from", start, "--to", "2027-01-12"];
    let told = |hemisphere| {
        let (_folder, path) = kept(&with_a_box(hemisphere, day(start)));
        agenda(&path, &words).out
    };
    let north = told(Hemisphere::Northern);
    assert_eq!(
        north,
        told(Hemisphere::Southern),
        "no month is assumed in the cold"
    );
    let looks: Vec<_> = north
        .lines()
        .filter(|line| line.contains("Check box"))
        .map(|line| &line[..10])
        .collect();
    assert_eq!(
        looks,
        [
            "2026-12-29",
            "2026-12-30",
            "2026-12-31",
            "2027-01-01",
            "2027-01-02",
            "2027-01-03",
            "2027-01-04",
            "2027-01-11"
        ]
    );
}

#[test]
fn a_southern_cross_ripens_over_the_turn_of_the_year() {
    // Common practice, as the settings begin: bag 10 days before pollination, bags off 14 days after,
    // ripe 42 to 56 days after. Counted on a calendar.
    for (hemisphere, pollination, bag, off, ripe, latest) in [
        (
            Hemisphere::Southern,
            "2027-12-22",
            "2027-12-12",
            "2028-01-05",
            "2028-02-02",
            "2028-02-16",
        ),
        (
            Hemisphere::Northern,
            "2028-06-22",
            "2028-06-12",
            "2028-07-06",
            "2028-08-03",
            "2028-08-17",
        ),
    ] {
        let (_folder, path) = kept(&with_a_cross(hemisphere, day(pollination)));
        let words = ["--today", "2027-12-01", "--to", "2028-12-31"];
        let items = agenda_json(&path, &words);
        assert_eq!(dates_of(&items, "Bag F-1"), [bag]);
        assert_eq!(dates_of(&items, "Pollinate X-1"), [pollination]);
        assert_eq!(dates_of(&items, "Take the bags off"), [off]);
        assert_eq!(dates_of(&items, "Harvest the cones"), [ripe]);
        let harvest = items.iter().find(|item| item["date"] == ripe).unwrap();
        assert_eq!(harvest["latest"], latest);
        assert_eq!(harvest["state"], "coming");
        assert_eq!(
            (&harvest["kind"], &harvest["code"]),
            (&Value::from("cross"), &Value::from("X-1"))
        );
    }
}

#[test]
fn the_text_names_day_state_and_work_and_says_what_the_json_says() {
    let (_folder, path) = kept(&with_a_box(Hemisphere::Northern, day("2027-05-25")));
    // Without dates: from today (1 June 2027) for 30 days.
    let printed = agenda(&path, &[]);
    assert_eq!((printed.code, printed.err.as_str()), (0, ""));
    let items = agenda_json(&path, &[]);
    assert!(items.len() > 3);
    assert_eq!(printed.out.lines().count(), items.len());
    for (line, item) in printed.out.lines().zip(&items) {
        for part in ["date", "state", "title", "detail"] {
            assert!(
                line.contains(item[part].as_str().unwrap()),
                "no {part} in {line}"
            );
        }
        assert_eq!(line, line.trim_end());
        assert!(item["id"].as_str().unwrap().len() == 36);
    }
    let first = printed.out.lines().next().unwrap();
    assert!(
        first.starts_with("2027-05-26  late    Check box C-01 (L-1)"),
        "{first}"
    );
    assert!(
        items
            .iter()
            .all(|item| item["date"].as_str().unwrap() <= "2027-07-01")
    );
}

#[test]
fn days_that_run_backwards_are_refused() {
    let (_folder, path) = kept(&with_a_box(Hemisphere::Northern, day("2027-05-25")));
    agenda(&path, &["--from", "2027-06-10", "--to", "2027-06-09"])
        .is_one_clear_line("2027-06-09 lies before");
}

#[test]
fn the_sample_is_written_once_read_by_check_and_never_over_another_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("sample.binewright");
    let words = ["sample", path.to_str().unwrap(), "--today", "2028-02-29"];
    let written = binewright(words);
    assert_eq!((written.code, written.err.as_str()), (0, ""));
    assert!(
        written.out.contains("2028-02-29") && written.out.contains(path.to_str().unwrap()),
        "{}",
        written.out
    );
    let bytes = fs::read(&path).unwrap();
    let checked = binewright(["check", path.to_str().unwrap(), "--today", "2028-02-29"]);
    assert_eq!((checked.code, checked.err.as_str()), (1, ""));
    assert!(!checked.out.contains("can't be read"), "{}", checked.out);
    let due = agenda(&path, &["--today", "2028-02-29"]);
    assert_eq!(due.code, 0);
    assert!(
        due.out
            .lines()
            .any(|line| line.starts_with("2028-0") && line.contains("Check box")),
        "{}",
        due.out
    );
    binewright(words).is_one_clear_line("There is a file of this name already");
    assert_eq!(fs::read(&path).unwrap(), bytes);
    // A file of another kind is safe too.
    let letter = folder.path().join("letter.txt");
    fs::write(&letter, "Dear Ida").unwrap();
    binewright(["sample", letter.to_str().unwrap()])
        .is_one_clear_line("There is a file of this name already");
    assert_eq!(fs::read_to_string(&letter).unwrap(), "Dear Ida");
}

#[test]
fn reading_leaves_nothing_beside_the_file() {
    let (folder, path) = kept(&begun(Hemisphere::Southern, &mut IdSource::new(0, 4)));
    let listing = || {
        let mut names: Vec<_> = fs::read_dir(folder.path())
            .unwrap()
            .map(|entry| entry.unwrap().file_name())
            .collect();
        names.sort();
        names
    };
    let before = listing();
    binewright(["check", path.to_str().unwrap()]);
    agenda(&path, &["--json"]);
    assert_eq!(listing(), before);
}

#[test]
fn help_is_there_for_every_command_and_is_no_error() {
    for (words, told) in [
        (
            &["--help"][..],
            &["check", "agenda", "sample", "--sample"][..],
        ),
        (&["check", "--help"], &["<FILE>", "--today", "Exits with 0"]),
        (
            &["agenda", "--help"],
            &["<FILE>", "--from", "--to", "--today", "--json"],
        ),
        (&["sample", "--help"], &["<PATH>", "--today"]),
        (&["--version"], &[env!("CARGO_PKG_VERSION")]),
    ] {
        let given = ["binewright"].iter().chain(words).map(Into::into);
        let shown = parse(given).unwrap_err();
        assert!(!shown.use_stderr(), "{words:?}");
        assert_eq!(shown.exit_code(), 0);
        let text = shown.to_string();
        for word in told {
            assert!(text.contains(word), "{words:?}: no {word} in\n{text}");
        }
    }
}

#[test]
fn words_that_make_no_sense_exit_2_and_say_which() {
    for (words, told) in [
        (&["check"][..], "<FILE>"),
        (
            &["agenda", "a.binewright", "--from", "2027-02-29"],
            "2027-02-29",
        ),
        (
            &["agenda", "a.binewright", "--form", "2027-02-28"],
            "--form",
        ),
        (&["sample"], "<PATH>"),
        (&["--sample", "a.binewright"], "--sample"),
        (&["a.binewright", "b.binewright"], "b.binewright"),
    ] {
        let given = ["binewright"].iter().chain(words).map(Into::into);
        let refused = parse(given).unwrap_err();
        assert!(refused.use_stderr(), "{words:?}");
        assert_eq!(refused.exit_code(), 2);
        assert!(refused.to_string().contains(told), "{words:?}: {refused}");
    }
}

#[test]
fn without_a_command_the_window_opens_on_what_was_named() {
    let window = |words: &[&str]| {
        let given = ["binewright"].iter().chain(words).map(Into::into);
        parse(given).unwrap()
    };
    assert_eq!(window(&[]), Task::Window(Start::Welcome));
    assert_eq!(window(&["--sample"]), Task::Window(Start::Sample));
    assert_eq!(
        window(&["my yard.binewright"]),
        Task::Window(Start::File("my yard.binewright".into()))
    );
}

/// Two females and a male; vigour counts.
fn three_founders() -> Project {
    let mut ids = IdSource::new(0, 1);
    let mut project = begun(Hemisphere::Northern, &mut ids);
    for (code, sex) in [("F1", Sex::Female), ("F2", Sex::Female), ("M1", Sex::Male)] {
        let origin = Origin::Founder {
            source: "a neighbour".into(),
            permission: "free use".into(),
            protected: false,
            imported: false,
        };
        let plant = Genotype {
            sex: Some(SexRecord {
                sex,
                basis: SexBasis::Stated,
                date: None,
            }),
            ..Genotype::new(ids.next(), code, origin)
        };
        project.apply(Edit::add(plant)).unwrap();
    }
    let vigour = project.traits().iter().next().unwrap().id;
    let goals = Goals {
        traits: vec![TraitGoal::new(vigour)],
        ..Goals::default()
    };
    project
        .apply(Edit::Settings(SettingsField::Goals(goals)))
        .unwrap();
    project
}

#[test]
fn the_plan_of_a_season_is_printed_as_a_table_or_on_paper() {
    let (folder, path) = kept(&three_founders());
    let file = path.to_str().unwrap();
    let printed = binewright(["plan", file, "--seeds", "120"]);
    assert_eq!(printed.code, 0, "{}", printed.err);
    let lines: Vec<_> = printed.out.lines().collect();
    assert_eq!(
        lines[0],
        "what,female,male,seeds,cones,boxes,sprouts,good_females,from,to,latest"
    );
    let seeds: u32 = lines
        .iter()
        .filter(|line| line.starts_with("cross,"))
        .map(|line| line.split(',').nth(3).unwrap().parse::<u32>().unwrap())
        .sum();
    assert!(seeds > 0 && seeds <= 120, "{seeds}");
    assert!(printed.out.contains("\r\nPlant out,"));
    assert!(
        printed.err.contains("No plan within these limits"),
        "{}",
        printed.err
    );

    let paper = folder.path().join("plan.pdf");
    let to_paper = binewright(["plan", file, "--pdf", paper.to_str().unwrap()]);
    assert_eq!((to_paper.code, to_paper.out.as_str()), (0, ""));
    assert!(fs::read(paper).unwrap().starts_with(b"%PDF-"));
}

#[test]
fn without_goals_there_is_no_plan_and_it_says_why() {
    let mut ids = IdSource::new(0, 1);
    let (_folder, path) = kept(&begun(Hemisphere::Northern, &mut ids));
    binewright(["plan", path.to_str().unwrap()]).is_one_clear_line("No pair can be crossed");
}
