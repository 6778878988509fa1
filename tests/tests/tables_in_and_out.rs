//! Tables brought into a project and out of it: what becomes of each row, and that nothing is lost on the way.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use binewright_tests::random_edits::{choices, walk};
use chrono::NaiveDate;
use commands::{Task, parse, run};
use domain::genetics::Kinship;
use domain::import::{DryRun, Fate, Mapping, Round, TableKind, dry_run};
use domain::{
    Basis, BreedingUse, Direction, Edit, Genotype, IdSource, Observation, Origin, PlantPart,
    Ploidy, Project, Sample, Scale, Trait, Value,
};
use exchange::sheets::{Table, Wishes, read, xlsx};
use paper::tables::{TableSource, table};
use paper::{passport, workbook};
use proptest::prelude::{ProptestConfig, proptest};
use std::fs;
use std::ops::ControlFlow;
use store::{Existing, Store};

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// A text as a table, taken as its columns suggest.
fn tried(project: &Project, text: &str, round: &Round) -> DryRun {
    let book = read(text.as_bytes()).unwrap();
    let table = Table::of(book.first().unwrap().clone(), Wishes::default()).unwrap();
    let source = TableSource(&table);
    let mapping = Mapping::guess(project, &source);
    assert_eq!(mapping.fault(), None, "{mapping:?}");
    let mut ids = IdSource::new(1_800_000_000_000, project.revision() + 7);
    dry_run(project, &source, &mapping, round, &mut ids, &mut |_, _| {
        ControlFlow::Continue(())
    })
    .unwrap()
}

fn told(run: &DryRun) -> Vec<String> {
    run.rows
        .iter()
        .map(|(line, fate)| {
            format!("{line} {} {}", fate.word(), fate.words())
                .trim()
                .to_owned()
        })
        .collect()
}

fn take(project: &mut Project, text: &str) -> (DryRun, Option<Edit>) {
    let run = tried(project, text, &Round::default());
    let undo = run.edit.clone().map(|edit| project.apply(edit).unwrap());
    (run, undo)
}

fn plant<'a>(project: &'a Project, code: &str) -> &'a Genotype {
    let id = project
        .find_code(code)
        .find_map(domain::AnyId::typed)
        .unwrap();
    project.genotypes().get(id).unwrap()
}

/// The female and male parent of a plant, by their codes.
fn parents(project: &Project, code: &str) -> (String, String) {
    let (female, pollen) = project.parents_of(plant(project, code));
    let males: Vec<&str> = pollen
        .into_iter()
        .flat_map(|pollen| pollen.males().map(|male| project.code_of(male)))
        .collect();
    (project.code_of(female.unwrap()).to_owned(), males.join("+"))
}

#[test]
fn plants_come_in_any_order_with_parents_by_name_or_pedigree() {
    let mut project = Project::default();
    let text = "code;name;mother;father;ploidy;sex\n\
        B2;;Kestrel;M1;2x;f\n\
        A1;Kestrel;;;;female\n\
        M1;;?;;2n=20;m\n\
        T1;;Kestrel;open;3x;\n\
        X9;;;M1;;\n\
        B2;;;;;\n";
    let (run, undo) = take(&mut project, text);
    assert_eq!(run.kind, TableKind::Plants);
    assert_eq!(
        told(&run),
        [
            "2 new",
            "3 new",
            "4 new",
            "5 new",
            "6 refused Only the male parent M1 is given. Give the female too, or leave both empty.",
            "7 refused This plant stands in line 2 already. Keep one of the two.",
        ]
    );
    assert_eq!(parents(&project, "B2"), ("A1".into(), "M1".into()));
    assert_eq!(plant(&project, "T1").ploidy, Ploidy::TRIPLOID);
    assert!(matches!(
        plant(&project, "T1").origin,
        Origin::OpenPollinated { .. }
    ));
    // What is said again is there already; undone, nothing is left of it.
    let good: Vec<&str> = text.lines().take(5).collect();
    let good = good.join("\n");
    let again = tried(&project, &good, &Round::default());
    assert_eq!(
        again.counts().into_iter().collect::<Vec<_>>(),
        [("same", 4)]
    );
    assert_eq!(again.edit, None);
    project.apply(undo.unwrap()).unwrap();
    assert!(project == Project::default());
}

/// What owners allow is read from a table and written to it; words that are no answer aren't taken for one.
#[test]
fn permissions_come_and_go_with_the_plants() {
    let mut project = Project::default();
    let text = "code;sex;may be crossed;owner;document;conditions;holds until\n\
        A1;f;Free;;;;\n\
        A2;f;with conditions;Orlen Yard;Letter 14/3;no sale of seedlings;2030-12-31\n\
        A3;m;not for breeding;Orlen Yard;;;\n\
        A4;m;;;;;\n\
        A5;m;None given: kept for comparison only;;;;\n";
    let (run, _) = take(&mut project, text);
    assert_eq!(
        told(&run),
        [
            "2 new",
            "3 new",
            "4 new",
            "5 new",
            "6 refused 'None given: kept for comparison only' is no permission. Write free, with conditions, not for breeding or not known. It may mean 'not for breeding'; ask the owner before you write that.",
        ]
    );
    let noted = &plant(&project, "A2").permission;
    assert_eq!(
        (noted.breeding, noted.until),
        (BreedingUse::WithConditions, Some(day("2030-12-31")))
    );
    assert_eq!(
        noted.words(),
        "with conditions: no sale of seedlings (Letter 14/3, by Orlen Yard, until 2030-12-31)"
    );
    assert_eq!(
        plant(&project, "A4").permission.breeding,
        BreedingUse::NotKnown
    );
    // Written and read again it says the same; a changed answer is told as a change.
    let good = text.lines().take(5).collect::<Vec<_>>().join("\n");
    let again = tried(&project, &good, &Round::default());
    assert_eq!(
        again.counts().into_iter().collect::<Vec<_>>(),
        [("same", 4)]
    );
    let (changed, _) = take(
        &mut project,
        "code;sex;may be crossed\nA1;f;not for breeding\n",
    );
    assert_eq!(
        told(&changed),
        ["2 changes permission to breed not for breeding was free"]
    );
    let sheet = table(&project, TableKind::Plants);
    let column = sheet
        .header
        .iter()
        .position(|name| name == "may be crossed");
    let column = column.unwrap();
    let answers: Vec<String> = sheet
        .rows
        .iter()
        .map(|row| format!("{:?}", row[column]))
        .collect();
    assert!(answers[0].contains("not for breeding"), "{answers:?}");
}

/// Kinship of what was read: a plant of A and B crossed back to A is inbred by 1/4 (Falconer & Mackay 1996, chapter 5).
#[test]
fn a_pedigree_in_one_line_brings_parents_that_are_not_there() {
    let mut project = Project::default();
    let (run, _) = take(
        &mut project,
        "code,pedigree\nN1,A / B // C\nN2,A*2/B\nN3,A/B/C\n",
    );
    assert_eq!(told(&run)[..2], ["2 new".to_owned(), "3 new".to_owned()]);
    assert!(told(&run)[2].starts_with("4 refused 'A/B/C' has two crosses of the same rank"));
    assert_eq!(
        run.notes[0],
        "4 parents have no row of their own and are added as plants of unknown origin."
    );
    assert_eq!(parents(&project, "N1"), ("A/B".into(), "C".into()));
    let kinship = Kinship::of(&project, 0.0).unwrap();
    let index = kinship.index(plant(&project, "N2").id).unwrap();
    assert!((kinship.numbers().inbreeding(index) - 0.25).abs() < 1e-12);
}

/// Rules are asked of all rows together: one that makes a plant its own ancestor is refused, the others are taken.
#[test]
fn a_row_that_breaks_a_rule_is_refused_alone() {
    let mut project = Project::default();
    take(&mut project, "code,mother,father\nA,,\nB,,\nC,A,B\n");
    let (run, _) = take(
        &mut project,
        "code,mother,father,sex\nD,C,B,\nA,C,B,\nE,C,B,\n",
    );
    assert_eq!(run.rows[0].1, Fate::New);
    assert!(
        matches!(&run.rows[1].1, Fate::Refused(why) if why.contains("own ancestor")),
        "{run:?}"
    );
    assert_eq!(run.rows[2].1, Fate::New);
    assert_eq!(parents(&project, "E"), ("C".into(), "B".into()));
}

/// Two plants, a sample of the first, and a trait of every kind.
fn measured() -> Project {
    let mut project = Project::default();
    let mut ids = IdSource::new(0, 3);
    let mut kestrel = Genotype::new(ids.next(), "K-1", Origin::Unknown);
    kestrel.name = Some("Kestrel".into());
    let merlin = Genotype::new(ids.next(), "M-1", Origin::Unknown);
    let sample = Sample {
        id: ids.next(),
        code: "S-26-001".into(),
        genotype: kestrel.id,
        part: PlantPart::Cones,
        taken: day("2026-09-04"),
        site: "Pennow".into(),
        replicate: Some(2),
        by: String::new(),
        laboratory: String::new(),
        sent: None,
        remark: String::new(),
    };
    let mut edits = vec![Edit::add(kestrel), Edit::add(merlin), Edit::add(sample)];
    let scales = [
        (
            "Alpha acids",
            Scale::Measure {
                unit: "%".into(),
                at_least: Some(0.0),
                at_most: Some(30.0),
            },
        ),
        ("Vigour", Scale::one_to_nine("weak", "strong")),
        (
            "Habit",
            Scale::Classes {
                classes: vec!["weak".into(), "strong".into()],
            },
        ),
        ("First burrs", Scale::Date),
        ("Hollow", Scale::YesNo),
        ("Aroma", Scale::Text),
        ("Cone temperature", Scale::measure("°C")),
        ("Hills", Scale::Number),
    ];
    for (name, scale) in scales {
        edits.push(Edit::add(Trait {
            id: ids.next(),
            name: name.into(),
            scale,
            direction: Direction::Neutral,
            method: String::new(),
        }));
    }
    project.apply(Edit::all("begin", edits)).unwrap();
    project
}

#[test]
fn a_laboratory_answers_by_the_codes_of_samples() {
    let mut project = measured();
    let text = "Report of the laboratory\n\nSample no.;Date;Alpha acids (%);Remark\nS-26-001;20.9.2026;11,2;\nS-26-01;20.9.2026;9,9;\nS-26-001;21.9.2026;112;\n;21.9.2026;5;\nS-26-001;1.9.2026;5;\n";
    let round = Round {
        method: "HPLC".into(),
        basis: Basis::AsIs { moisture: 8.0 },
        ..Round::default()
    };
    let run = tried(&project, text, &round);
    assert_eq!(run.kind, TableKind::Observations);
    assert_eq!(
        told(&run),
        [
            "4 new",
            "5 unknown S-26-01 isn't in the project. Do you mean s-26-001?",
            "6 refused Alpha acids can't be above 30 %, so not 112. Correct the value.",
            "7 refused No plant and no sample is named.",
            "8 refused Sample S-26-001 was taken on 4 Sep 2026; it can't have been analysed on 1 Sep 2026. Correct one of the two dates.",
        ]
    );
    project.apply(run.edit.unwrap()).unwrap();
    let seen: &Observation = project.observations().iter().next().unwrap();
    assert_eq!(
        (&seen.site, seen.replicate),
        (&"Pennow".to_owned(), Some(2))
    );
    assert_eq!(seen.method_words(&project), "HPLC, as is, 8 % moisture");
    // Another method is another value; another number of the same method changes it.
    let other = Round {
        method: "spectrophotometer".into(),
        ..round.clone()
    };
    let text = "sample,date,alpha acids\nS-26-001,2026-09-20,11.4\n";
    assert_eq!(tried(&project, text, &other).rows[0].1, Fate::New);
    let changes = tried(&project, text, &round);
    assert_eq!(told(&changes), ["2 changes value 11.4 was 11.2"]);
}

#[test]
fn every_kind_of_trait_comes_in_wide_and_long() {
    let mut project = measured();
    let wide = "plant,date,vigour,habit,first burrs,hollow,aroma,cone temperature (°F),hills\n\
        Kestrel,2026-07-20,7,STRONG,4 Jul 2026,x,of pear,68,3\n\
        M-1,2026-07-20,,weak,,no,,,0\n\
        M-1,2026-07-21,12,,,,,,\n\
        M-1,2026-07-22,,tall,,,,,\n\
        M-1,2026-07-23,,,,perhaps,,,\n\
        M-1,2026-07-24,,,,,,,\n";
    let (run, _) = take(&mut project, wide);
    assert_eq!(
        told(&run),
        [
            "2 new",
            "3 new",
            "4 refused Vigour is scored in whole numbers from 1 to 9, not 12. Correct the value.",
            "5 refused Habit is one of weak, strong, not 'tall'. Correct the value.",
            "6 refused Hollow: 'perhaps' is neither yes nor no.",
            "7 refused No column of this row has a value.",
        ]
    );
    let values: Vec<String> = project
        .observations_of(plant(&project, "K-1").id)
        .map(|seen| seen.value.to_string())
        .collect();
    assert_eq!(
        values,
        ["7", "strong", "2026-07-04", "yes", "of pear", "20", "3"]
    );
    let long = "entry;date;trait;value;unit\nK-1;20.7.2026;Vigour;7;\nK-1;20.7.2026;cone temperature;68;°F\nK-1;20.7.2026;Height;7;\n";
    let run = tried(&project, long, &Round::default());
    assert_eq!(
        told(&run),
        [
            "2 same",
            "3 same",
            "4 refused There is no trait called Height. Add it in Setup, or correct the table.",
        ]
    );
}

/// What is written is read back as what is there already: for every kind, as CSV and as XLSX.
#[test]
fn exported_tables_come_back_as_they_went() {
    let sample = sample::sample_project(day("2026-05-20")).unwrap();
    for project in [sample, measured()] {
        for kind in TableKind::ALL {
            let written = table(&project, kind);
            if written.rows.is_empty() {
                continue;
            }
            for bytes in [
                written.csv().into_bytes(),
                xlsx(std::slice::from_ref(&written)).unwrap(),
            ] {
                let book = read(&bytes).unwrap();
                let read_back =
                    Table::of(book.first().unwrap().clone(), Wishes::default()).unwrap();
                let source = TableSource(&read_back);
                let mapping = Mapping::guess(&project, &source);
                assert_eq!(mapping.kind, kind, "{:?}", mapping.columns);
                let mut ids = IdSource::new(1, 1);
                let run = dry_run(
                    &project,
                    &source,
                    &mapping,
                    &Round::default(),
                    &mut ids,
                    &mut |_, _| ControlFlow::Continue(()),
                )
                .unwrap();
                let other: Vec<_> = run
                    .rows
                    .iter()
                    .filter(|(_, fate)| *fate != Fate::Same)
                    .take(3)
                    .collect();
                assert!(other.is_empty(), "{}: {other:?}", kind.words());
                assert_eq!(run.rows.len(), written.rows.len());
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

    /// A project of any kind of record goes into a workbook and comes back the same.
    #[test]
    fn a_workbook_loses_nothing(choices in choices(150)) {
        let project = walk(&choices).project;
        let bytes = xlsx(&workbook::sheets(&project).unwrap()).unwrap();
        let book = read(&bytes).unwrap();
        assert!(workbook::is_project(&book));
        assert!(workbook::read(&book).unwrap() == project);
    }
}

/// Rows that can't be read, and two of one identity, are refused each by itself; what the workbook lacks stays.
#[test]
fn a_workbook_that_comes_back_is_told_row_by_row() {
    let project = measured();
    let mut sheets = workbook::sheets(&project).unwrap();
    let sheet = |sheets: &mut Vec<exchange::sheets::WrittenSheet>, name: &str| {
        sheets.iter().position(|sheet| sheet.name == name).unwrap()
    };
    let traits = sheet(&mut sheets, "traits");
    let lacking = sheets[traits].rows.len();
    sheets[traits].rows.clear();
    let plants = sheet(&mut sheets, "genotypes");
    let twin = sheets[plants].rows[0].clone();
    sheets[plants].rows.push(twin);
    let samples = sheet(&mut sheets, "samples");
    let date = sheets[samples]
        .header
        .iter()
        .position(|field| field == "taken");
    sheets[samples].rows[0][date.unwrap()] = exchange::sheets::Written::text("the day before");
    let book = read(&xlsx(&sheets).unwrap()).unwrap();
    let told = workbook::incoming(&project, &book, || ControlFlow::Continue(()));
    let told = told.unwrap().unwrap();
    assert_eq!(told.edit, None);
    let refused: Vec<String> = told
        .rows
        .iter()
        .filter(|row| row.fate != Fate::Same)
        .map(|row| format!("{} {}", row.sheet, row.fate.words()))
        .collect();
    assert_eq!(refused.len(), 2, "{refused:?}");
    assert!(
        refused[0].starts_with("genotypes It has the id of row 2."),
        "{refused:?}"
    );
    assert!(
        refused[1].starts_with("samples It can't be read ("),
        "{refused:?}"
    );
    assert!(
        lacking > 0 && told.notes[1].contains("trait"),
        "{:?}",
        told.notes
    );
    // Stopped, it says nothing.
    assert!(workbook::incoming(&project, &book, || ControlFlow::Break(())).is_none());
}

#[test]
fn texts_that_a_spreadsheet_would_change_survive_it() {
    let mut project = measured();
    let texts = [
        " with spaces ",
        "=1+2",
        "'quoted",
        "json:{}",
        "two\nlines",
        "_x0041_",
        "007",
        "2026-09-04",
        "TRUE",
        "\u{1}control",
        "🌿",
    ];
    let mut ids = IdSource::new(0, 99);
    let long = "a b ".repeat(30_000);
    for text in texts.into_iter().chain([long.as_str()]) {
        let note = domain::Note {
            id: ids.next(),
            about: plant(&project, "K-1").id.into(),
            date: day("2026-09-04"),
            text: text.into(),
            by: String::new(),
        };
        project.apply(Edit::add(note)).unwrap();
    }
    let bytes = xlsx(&workbook::sheets(&project).unwrap()).unwrap();
    assert!(workbook::read(&read(&bytes).unwrap()).unwrap() == project);
}

/// Mandatory and coded descriptors of MCPD V2.1 (Alercia et al. 2015), from memory: INSTCODE and ACCENUMB are there and
/// tell accessions apart, GENUS begins with a capital and SPECIES with none, dates are YYYYMMDD with hyphens for what isn't
/// known, SAMPSTAT and STORAGE are of the lists.
#[test]
fn passport_data_keep_their_rules() {
    let project = sample::sample_project(day("2026-05-20")).unwrap();
    let table = passport::table(&project, "XYZ001").unwrap();
    let column = |name: &str| table.header.iter().position(|each| each == name).unwrap();
    let mut codes = std::collections::BTreeSet::new();
    for row in &table.rows {
        let cell = |name: &str| row[column(name)].plain();
        assert_eq!(cell("INSTCODE"), "XYZ001");
        assert!(codes.insert(cell("ACCENUMB")));
        assert_eq!(
            (cell("GENUS").as_str(), cell("SPECIES").as_str()),
            ("Humulus", "lupulus")
        );
        let date = cell("ACQDATE");
        assert!(
            date.is_empty()
                || date.len() == 8 && date.bytes().all(|b| b.is_ascii_digit() || b == b'-'),
            "{date}"
        );
        assert!(["410", "416", "422", "500", "999"].contains(&cell("SAMPSTAT").as_str()));
        assert_eq!(cell("STORAGE"), "20");
    }
    assert!(!codes.is_empty());
    for code in ["", "xyz001", "XYZ", "XY0012", "XYZ00A"] {
        assert!(passport::table(&project, code).is_err(), "{code}");
    }
}

/// A hundred thousand rows, and a way to stop. How long it takes is the bench's.
#[test]
fn a_large_table_can_be_stopped() {
    let project = measured();
    let mut text = String::from("plant,date,vigour,replicate\n");
    for row in 0..20_000 {
        let line = format!("K-1,2026-07-20,{},{row}\n", row % 9 + 1);
        text.push_str(&line);
    }
    let book = read(text.as_bytes()).unwrap();
    let table = Table::of(book.first().unwrap().clone(), Wishes::default()).unwrap();
    let source = TableSource(&table);
    let mapping = Mapping::guess(&project, &source);
    let mut ids = IdSource::new(1, 1);
    let mut calls = 0;
    let stopped = dry_run(
        &project,
        &source,
        &mapping,
        &Round::default(),
        &mut ids,
        &mut |_, _| {
            calls += 1;
            if calls < 5 {
                ControlFlow::Continue(())
            } else {
                ControlFlow::Break(())
            }
        },
    );
    assert_eq!((stopped, calls), (None, 5));
    let whole = dry_run(
        &project,
        &source,
        &mapping,
        &Round::default(),
        &mut ids,
        &mut |_, _| ControlFlow::Continue(()),
    );
    assert_eq!(
        whole.unwrap().counts().into_iter().collect::<Vec<_>>(),
        [("new", 20_000)]
    );
}

/// Runs `binewright` with these words: its exit code, what it printed, and what it told.
fn binewright(words: &[&str]) -> (u8, String, String) {
    let words = ["binewright"].into_iter().chain(words.iter().copied());
    let Task::Script(script) = parse(words.map(Into::into)).unwrap() else {
        panic!("these words open the window");
    };
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = run(script, day("2026-10-01"), &mut out, &mut err);
    (
        code,
        String::from_utf8(out).unwrap(),
        String::from_utf8(err).unwrap(),
    )
}

#[test]
fn the_command_line_imports_through_journal_and_lock() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (file, rows) = (path("season.binewright"), path("alpha.csv"));
    drop(
        Store::new("")
            .create(file.as_ref(), &measured(), Existing::Keep)
            .unwrap(),
    );
    fs::write(
        &rows,
        "plant,date,alpha acids\nKestrel,2026-09-20,11.2\nKestrle,2026-09-20,9\n",
    )
    .unwrap();
    let before = fs::read(&file).unwrap();
    let (code, out, err) = binewright(&["import", &file, &rows, "--dry-run"]);
    assert_eq!(
        (code, out.as_str()),
        (
            1,
            "line,fate,words\n2,new,\n3,unknown,Kestrle isn't in the project. Do you mean Kestrel?\n"
        ),
        "{err}"
    );
    assert!(
        err.contains("1 new, 1 unknown; nothing was changed."),
        "{err}"
    );
    assert_eq!(fs::read(&file).unwrap(), before);
    // While a window has it open, it is left alone.
    let window = Store::new("Ida").open(file.as_ref()).unwrap();
    let (code, out, err) = binewright(&["import", &file, &rows]);
    assert_eq!((code, out.as_str()), (2, ""), "{err}");
    assert!(err.contains("Nothing was imported."), "{err}");
    drop(window);
    let (code, ..) = binewright(&["import", &file, &rows, "--method", "HPLC", "--dry"]);
    assert_eq!(code, 1);
    let opened = Store::new("").open(file.as_ref()).unwrap();
    let seen = opened.project.observations().iter().next().unwrap().clone();
    assert_eq!((seen.value, seen.basis), (Value::Number(11.2), Basis::Dry));
    assert_eq!(opened.file.history().unwrap().len(), 1);
    drop(opened);
    // Out as a workbook, and back into an empty project.
    let (book, empty) = (path("season.xlsx"), path("empty.binewright"));
    let (code, out, err) = binewright(&["export", &file, "--as", "xlsx", "--out", &book]);
    assert_eq!(code, 0, "{err}");
    assert!(out.starts_with("12 records: "), "{out}");
    drop(
        Store::new("")
            .create(empty.as_ref(), &Project::default(), Existing::Keep)
            .unwrap(),
    );
    let (code, _, err) = binewright(&["import", &empty, &book]);
    assert_eq!(code, 0, "{err}");
    let (one, other) = (
        Store::new("").open(file.as_ref()).unwrap(),
        Store::new("").open(empty.as_ref()).unwrap(),
    );
    assert!(one.project == other.project);
}

#[test]
fn an_exported_calendar_is_one_for_other_programs_and_replaces_itself() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (file, first, second) = (path("season.binewright"), path("a.ics"), path("b.ics"));
    let project = sample::sample_project(day("2026-05-20")).unwrap();
    drop(
        Store::new("")
            .create(file.as_ref(), &project, Existing::Keep)
            .unwrap(),
    );
    let identifiers = |path: &str, today: &str| {
        let (code, _, err) = binewright(&[
            "export", &file, "--as", "ics", "--today", today, "--out", path,
        ]);
        assert_eq!(code, 0, "{err}");
        let text = fs::read_to_string(path).unwrap();
        let lines = icalendar::parser::unfold(&text);
        let calendars = icalendar::parser::read_calendar_simple(&lines)
            .unwrap()
            .len();
        assert_eq!(calendars, 1);
        assert_eq!(
            text.matches("BEGIN:VALARM").count(),
            text.matches("BEGIN:VTODO").count()
        );
        let uids: std::collections::BTreeSet<String> = lines
            .lines()
            .filter(|line| line.starts_with("UID:"))
            .map(str::to_owned)
            .collect();
        assert_eq!(
            uids.len(),
            text.matches("BEGIN:VTODO").count(),
            "an identifier stands twice"
        );
        uids
    };
    let (one, other) = (
        identifiers(&first, "2026-05-20"),
        identifiers(&second, "2026-05-20"),
    );
    assert!(!one.is_empty());
    assert_eq!(one, other);
}
