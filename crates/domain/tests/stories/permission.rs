//! What owners allow to be bred from their plants, and what that means for all that descends from them.

use crate::program::{Program, day, seen};
use domain::findings::findings;
use domain::permission::{Limit, guess, limits};
use domain::planning::{Exclusion, Parent, why_not};
use domain::record::genotype::GenotypeField;
use domain::{BreedingUse, Edit, Genotype, Id, Origin, Permission, Pollen, Sex};

const TODAY: &str = "2026-03-10";

/// A founder, its daughter and her daughter, and a male of another family.
struct Line {
    program: Program,
    founder: Id<Genotype>,
    daughter: Id<Genotype>,
    granddaughter: Id<Genotype>,
    other: Id<Genotype>,
}

impl Line {
    fn begun() -> Self {
        let mut program = Program::begun();
        let female = program.founder("F-01", Some(Sex::Female));
        let founder = program.founder("M-01", Some(Sex::Male));
        let other = program.founder("M-02", Some(Sex::Male));
        let cross = program.cross("24-01", female, Pollen::Male(founder));
        let daughter = program.seedling("D", Origin::Cross { cross });
        let next = program.cross("25-01", daughter, Pollen::Male(other));
        let granddaughter = program.seedling("G", Origin::Cross { cross: next });
        for plant in [daughter, granddaughter] {
            program.make(Edit::set(
                plant,
                GenotypeField::Sex(Some(seen(Sex::Female))),
            ));
        }
        Self {
            program,
            founder,
            daughter,
            granddaughter,
            other,
        }
    }

    fn plant(&self, id: Id<Genotype>) -> &Genotype {
        self.program.project.genotypes().get(id).expect("a plant")
    }

    fn note(&mut self, plant: Id<Genotype>, permission: Permission) {
        self.program
            .make(Edit::set(plant, GenotypeField::Permission(permission)));
    }

    /// A note in the words of older files, nothing chosen.
    fn old_note(&mut self, plant: Id<Genotype>, note: &str) {
        let origin = Origin::Founder {
            source: "a breeder".into(),
            permission: note.into(),
            protected: false,
            imported: false,
        };
        self.program
            .make(Edit::set(plant, GenotypeField::Origin(origin)));
    }

    /// Why the granddaughter and the other male aren't offered as a pair.
    fn why_not(&self) -> Vec<Exclusion> {
        let project = &self.program.project;
        why_not(
            &Parent::female(project, self.plant(self.granddaughter), day(TODAY)),
            &Parent::male(project, self.plant(self.other), day(TODAY)),
        )
    }

    fn told(&self) -> String {
        let found = findings(&self.program.project, day(TODAY));
        let told: Vec<_> = found.into_iter().map(|each| each.what).collect();
        told.join("\n")
    }
}

fn refused() -> Permission {
    Permission {
        breeding: BreedingUse::NotForBreeding,
        owner: "the Institute".into(),
        document: "letter of 4 May".into(),
        ..Permission::default()
    }
}

#[test]
fn a_refusal_reaches_every_descendant_with_the_chain_and_the_document() {
    let mut line = Line::begun();
    assert_eq!(line.why_not(), []);
    line.note(line.founder, refused());
    let found = line.why_not();
    let [reason @ Exclusion::Permission { limit, chain, .. }] = &found[..] else {
        panic!("{found:?}")
    };
    assert_eq!(*limit, Limit::Refused(refused()));
    assert_eq!(*chain, ["M-01", "D"]);
    assert_eq!(
        reason.sentence("G", "M-02"),
        "G descends from M-01, through D, which is not for breeding (letter of 4 May, by the Institute); that holds for its descendants. Ask its owner, or take another parent."
    );
    // What a seedling is marked as doesn't lift what binds it, and the contradiction is told.
    line.note(
        line.granddaughter,
        Permission {
            breeding: BreedingUse::Free,
            ..Permission::default()
        },
    );
    assert_eq!(line.why_not().len(), 1);
    let told = line.told();
    assert!(
        told.contains("The permission of G is marked 'free', but: G descends from M-01"),
        "{told}"
    );
    assert!(
        told.contains("M-01 is used as a parent, but it is not for breeding."),
        "{told}"
    );
    // Lifted with the founder, it is lifted for all.
    line.note(
        line.founder,
        Permission {
            breeding: BreedingUse::Free,
            ..Permission::default()
        },
    );
    assert_eq!(line.why_not(), []);
}

#[test]
fn conditions_are_inherited_and_shown_but_hold_nobody_back() {
    let mut line = Line::begun();
    let conditions = Permission {
        breeding: BreedingUse::WithConditions,
        owner: "the Union".into(),
        document: "Agreement 14/3".into(),
        conditions: "no sale of seedlings".into(),
        until: Some(day("2030-12-31")),
    };
    line.note(line.founder, conditions.clone());
    assert_eq!(line.why_not(), []);
    let project = &line.program.project;
    let found = limits(project, line.plant(line.granddaughter), day(TODAY));
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].limit, Limit::Conditions(conditions));
    assert_eq!(found[0].chain, [line.founder, line.daughter]);
    assert_eq!(
        found[0].sentence(project, "G"),
        "G descends from M-01, through D, which may be bred from on conditions: no sale of seedlings (Agreement 14/3, by the Union, until 2030-12-31)."
    );
}

#[test]
fn what_was_agreed_until_a_day_holds_the_plant_itself_back_after_it() {
    let mut line = Line::begun();
    let until = |end: &str| Permission {
        breeding: BreedingUse::Free,
        until: Some(day(end)),
        ..Permission::default()
    };
    line.note(line.other, until(TODAY));
    assert_eq!(line.why_not(), []);
    line.note(line.other, until("2026-03-09"));
    let found = line.why_not();
    assert!(
        matches!(&found[..], [Exclusion::Permission { limit: Limit::Ended(_), chain, .. }] if chain.is_empty()),
        "{found:?}"
    );
    assert_eq!(
        found[0].sentence("G", "M-02"),
        "M-02 was free only until 2026-03-09. Ask its owner again, and note the answer on its page."
    );
    // A descendant that was made in time is told of it and not held back.
    line.note(line.other, until("2030-01-01"));
    line.note(line.founder, until("2026-03-09"));
    assert_eq!(line.why_not(), []);
}

#[test]
fn words_of_an_old_file_are_a_guess_until_someone_chooses() {
    let mut line = Line::begun();
    line.old_note(line.founder, "None given: kept for comparison only");
    let found = line.why_not();
    let [reason @ Exclusion::Permission { limit, .. }] = &found[..] else {
        panic!("{found:?}")
    };
    assert!(matches!(limit, Limit::Guessed { .. }));
    let words = reason.sentence("G", "M-02");
    assert!(
        words.contains("reads like a refusal") && words.contains("Choose the permission"),
        "{words}"
    );
    // Whatever is chosen, the words no longer count.
    for breeding in [BreedingUse::Free, BreedingUse::WithConditions] {
        line.note(
            line.founder,
            Permission {
                breeding,
                ..Permission::default()
            },
        );
        assert_eq!(line.why_not(), [], "{breeding:?}");
    }
    assert_eq!(
        guess("trial only, not for breeding"),
        Some(BreedingUse::NotForBreeding)
    );
    assert_eq!(
        guess("Agreement 14/3: breeding only"),
        Some(BreedingUse::WithConditions)
    );
    assert_eq!(guess("Free to use"), Some(BreedingUse::Free));
    assert_eq!(guess("by the gate"), None);
    assert_eq!(guess(""), None);
}

#[test]
fn a_permission_is_set_undone_and_read_out_like_any_field() {
    let mut line = Line::begun();
    let before = line.program.project.clone();
    let edit = Edit::set(line.founder, GenotypeField::Permission(refused()));
    let back = line.program.project.apply(edit).expect("taken");
    assert_eq!(line.plant(line.founder).permission, refused());
    line.program.project.apply(back).expect("taken back");
    assert!(line.program.project == before);
    let far = Permission {
        until: Some(day("9999-01-01")),
        ..refused()
    };
    let refusal = line
        .program
        .project
        .apply(Edit::set(line.founder, GenotypeField::Permission(far)))
        .expect_err("no such year");
    assert!(refusal.to_string().contains("can't end on"), "{refusal}");
}
