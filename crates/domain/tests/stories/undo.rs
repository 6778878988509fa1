//! Undo and redo: exact, in order, and told by name.

use crate::program::{Program, day, stated_origin};
use domain::record::genotype::GenotypeField;
use domain::record::settings::SettingsField;
use domain::{Edit, Genotype, Hemisphere, Pollen, Session, actions};

#[test]
fn a_day_is_taken_back_step_by_step_and_made_again() {
    let mut program = Program::begun();
    let mut session = Session::new(program.project.clone());
    let (mother, father) = (program.ids.next(), program.ids.next());
    let cross = program.cross_record("26-01", mother, Pollen::Male(father));
    let edits = [
        Edit::Settings(SettingsField::Name("Hill".into())),
        Edit::add(Genotype::new(mother, "Mother", stated_origin())),
        Edit::add(Genotype::new(father, "Father", stated_origin())),
        actions::plan_cross(cross, day("2026-01-02"), &mut program.ids),
        Edit::set(mother, GenotypeField::Aliases(vec!["Old".into()])),
        Edit::Settings(SettingsField::Hemisphere(Hemisphere::Southern)),
    ];
    let mut states = vec![session.project().clone()];
    for edit in edits {
        session.apply(edit).expect("taken");
        states.push(session.project().clone());
    }
    assert_eq!(session.undo_label(), Some("change hemisphere"));
    for state in states.iter().rev().skip(1) {
        assert!(session.undo().expect("undone").is_some());
        assert!(session.project() == state);
    }
    assert!(session.undo().expect("nothing").is_none() && session.undo_label().is_none());
    assert_eq!(session.redo_label(), Some("change name of the program"));
    for state in &states[1..] {
        assert!(session.redo().expect("made again").is_some());
        assert!(session.project() == state);
    }
    assert!(session.redo().expect("nothing").is_none());
    session.undo().expect("undone");
    assert_eq!(session.undo_label(), Some("aliases of plant Mother"));
}

#[test]
fn a_new_edit_ends_what_could_be_redone_and_a_refused_one_doesnt() {
    let mut program = Program::begun();
    let mut session = Session::new(program.project.clone());
    let plant = |program: &mut Program, code: &str| {
        Edit::add(Genotype::new(program.ids.next(), code, stated_origin()))
    };
    session.apply(plant(&mut program, "One")).expect("taken");
    session.apply(plant(&mut program, "Two")).expect("taken");
    session.undo().expect("undone");
    session
        .apply(plant(&mut program, "ONE"))
        .expect_err("a code twice");
    assert_eq!(session.redo_label(), Some("add plant Two"));
    session.apply(plant(&mut program, "Three")).expect("taken");
    assert_eq!(session.redo_label(), None);
}

#[test]
fn what_undo_did_can_be_replayed_from_its_edits() {
    let mut program = Program::begun();
    let start = program.project.clone();
    let mut session = Session::new(start.clone());
    let mut journal = Vec::new();
    for code in ["One", "Two"] {
        let edit = Edit::add(Genotype::new(program.ids.next(), code, stated_origin()));
        session.apply(edit.clone()).expect("taken");
        journal.push(edit);
    }
    journal.extend(session.undo().expect("undone"));
    journal.extend(session.undo().expect("undone"));
    journal.extend(session.redo().expect("made again"));
    let mut replayed = start;
    for edit in journal {
        let line = serde_json::to_string(&edit).expect("a line");
        replayed
            .apply(serde_json::from_str(&line).expect("the edit"))
            .expect("taken");
    }
    assert!(&replayed == session.project());
}
