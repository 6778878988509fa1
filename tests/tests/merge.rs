//! Two copies of one project brought together: nothing of either is lost unseen.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use binewright_tests::random_edits::{choices, random_edit, walk};
use domain::compare::Comparison;
use domain::merge::{Choice, Clash, Merge, merge};
use domain::record::genotype::GenotypeField;
use domain::record::settings::SettingsField;
use domain::{
    Edit, Genotype, Id, IdSource, LotSource, Movement, MovementKind, Origin, Project, SeedAmount,
    SeedLot,
};
use proptest::prelude::{prop_assert, proptest};

/// The project after these random edits, with identities of one of two machines.
fn edited(base: &Project, choices: &[u64], machine: u64) -> Project {
    let mut project = base.clone();
    let mut ids = IdSource::new(1_800_000_000_000 + machine * 1_000_000, machine);
    for choice in choices {
        if let Some(edit) = random_edit(&project, *choice, &mut ids) {
            let _taken_or_refused = project.apply(edit);
        }
    }
    project
}

fn settled(merge: &Merge, mine: &Project, choice: Choice) -> Project {
    let mut project = mine.clone();
    let choices = vec![choice; merge.conflicts.len()];
    let inverse = project.apply(merge.settle(&choices)).unwrap();
    let mut back = project.clone();
    back.apply(inverse).unwrap();
    assert!(back == *mine, "it is undone in one step");
    project
}

/// Whether each change from `before` to `after` is in `outcome` or told by a conflict.
fn lost(before: &Project, after: &Project, outcome: &Project, merge: &Merge) -> Vec<Edit> {
    let told = |edit: &Edit| {
        let mut edits = merge
            .conflicts
            .iter()
            .flat_map(|each| each.there.iter().chain(&each.here));
        edits.any(|each| {
            each.about() == edit.about() && (edit.about().is_some() || each.same_field(edit))
        })
    };
    let changes = Comparison::between(before, after).edits;
    changes
        .into_iter()
        .filter(|edit| edit.as_in(outcome) != edit.as_in(after) && !told(edit))
        .collect()
}

proptest! {
    #[test]
    fn a_copy_brought_together_with_itself_brings_nothing(choices in choices(60)) {
        let project = walk(&choices).project;
        for base in [None, Some(&project), Some(&Project::default())] {
            prop_assert!(merge(base, &project, &project).is_nothing());
        }
    }

    #[test]
    fn no_change_of_either_copy_is_lost_unseen(
        shared in choices(60),
        ours in choices(25),
        theirs in choices(25),
    ) {
        let base = walk(&shared).project;
        let (mine, their) = (edited(&base, &ours, 1), edited(&base, &theirs, 2));
        let merge = merge(Some(&base), &mine, &their);
        let outcome = settled(&merge, &mine, Choice::Mine);
        prop_assert!(outcome.broken_rules().is_empty());
        let lost_there = lost(&base, &their, &outcome, &merge);
        prop_assert!(lost_there.is_empty(), "of theirs: {lost_there:?}");
        let lost_here = lost(&base, &mine, &outcome, &merge);
        prop_assert!(lost_here.is_empty(), "of ours: {lost_here:?}");
        // Each of them alone can be had from the other copy, where it says so.
        for (nth, conflict) in merge.conflicts.iter().enumerate() {
            if !conflict.can_take_theirs() {
                continue;
            }
            let mut choices = vec![Choice::Mine; merge.conflicts.len()];
            choices[nth] = Choice::Theirs;
            let mut project = mine.clone();
            let taken = project.apply(merge.settle(&choices));
            prop_assert!(taken.is_ok(), "{conflict:?}: {taken:?}");
        }
    }

    #[test]
    fn without_a_conflict_both_ways_come_to_the_same(
        shared in choices(60),
        ours in choices(12),
        theirs in choices(12),
    ) {
        let base = walk(&shared).project;
        let (mine, their) = (edited(&base, &ours, 1), edited(&base, &theirs, 2));
        let one = merge(Some(&base), &mine, &their);
        let other = merge(Some(&base), &their, &mine);
        prop_assert!(one.conflicts.is_empty() == other.conflicts.is_empty());
        if one.conflicts.is_empty() {
            let (one, other) = (settled(&one, &mine, Choice::Mine), settled(&other, &their, Choice::Mine));
            prop_assert!(one == other);
        }
    }

    #[test]
    fn changes_of_different_plants_come_together_by_themselves(
        shared in choices(60),
        marks in proptest::collection::vec(proptest::prelude::any::<bool>(), 1..40),
    ) {
        let base = walk(&shared).project;
        let plants: Vec<Id<Genotype>> = base.genotypes().iter().map(|plant| plant.id).collect();
        let (mut mine, mut their, mut both) = (base.clone(), base.clone(), base.clone());
        for (nth, (plant, here)) in plants.iter().zip(&marks).enumerate() {
            let edit = Edit::set(*plant, GenotypeField::Location(format!("row {nth}")));
            both.apply(edit.clone()).unwrap();
            if *here { &mut mine } else { &mut their }.apply(edit).unwrap();
        }
        let merge = merge(Some(&base), &mine, &their);
        prop_assert!(merge.conflicts.is_empty());
        prop_assert!(settled(&merge, &mine, Choice::Mine) == both);
    }

    #[test]
    fn without_the_beginning_each_difference_is_a_conflict_and_what_only_one_has_is_new(
        shared in choices(60),
        ours in choices(20),
        theirs in choices(20),
    ) {
        let base = walk(&shared).project;
        let (mine, their) = (edited(&base, &ours, 1), edited(&base, &theirs, 2));
        let merge = merge(None, &mine, &their);
        let outcome = settled(&merge, &mine, Choice::Mine);
        let lost = lost(&mine, &their, &outcome, &merge);
        let only_here = |edit: &Edit| edit.verb() == domain::compare::Verb::Remove;
        prop_assert!(lost.iter().all(only_here), "{lost:?}");
        prop_assert!(lost.len() <= merge.assumed.unwrap().here);
    }
}

struct Pair {
    base: Project,
    mine: Project,
    theirs: Project,
    ids: IdSource,
}

impl Pair {
    fn begin() -> Self {
        let mut ids = IdSource::new(1_770_000_000_000, 3);
        let mut base = Project::default();
        base.apply(Edit::Settings(SettingsField::Name("Tarn".into())))
            .unwrap();
        for code in ["A", "B"] {
            let plant = Genotype::new(ids.next(), code, Origin::Unknown);
            base.apply(Edit::add(plant)).unwrap();
        }
        let lot = SeedLot {
            id: ids.next(),
            code: "Lot".into(),
            source: LotSource::Unknown,
            harvested: None,
            cleaned: None,
            amount: Some(SeedAmount::Counted(300)),
            place: String::new(),
            conditions: String::new(),
        };
        base.apply(Edit::add(lot)).unwrap();
        Self {
            mine: base.clone(),
            theirs: base.clone(),
            base,
            ids,
        }
    }

    fn plant(&self, code: &str) -> Id<Genotype> {
        self.base
            .find_code(code)
            .find_map(domain::AnyId::typed)
            .unwrap()
    }

    fn draw(&mut self, seeds: u32) -> Edit {
        Edit::add(Movement {
            id: self.ids.next(),
            lot: self.base.seed_lots().iter().next().unwrap().id,
            date: "2026-03-01".parse().unwrap(),
            direction: MovementKind::Draw,
            seeds,
            reason: String::new(),
        })
    }

    fn merge(&self) -> Merge {
        merge(Some(&self.base), &self.mine, &self.theirs)
    }
}

#[test]
fn one_field_set_differently_is_told_side_by_side() {
    let mut pair = Pair::begin();
    let (a, b) = (pair.plant("A"), pair.plant("B"));
    let set = |plant, place: &str| Edit::set(plant, GenotypeField::Location(place.into()));
    pair.mine.apply(set(a, "row 1")).unwrap();
    pair.theirs.apply(set(a, "row 2")).unwrap();
    pair.theirs.apply(set(b, "row 3")).unwrap();
    let merge = pair.merge();
    assert_eq!(merge.clean.edits, [set(b, "row 3")]);
    let conflict = &merge.conflicts[0];
    assert_eq!(conflict.clash, Clash::Field);
    assert_eq!(conflict.title, "place of plant A");
    assert_eq!(
        (&*conflict.mine, &*conflict.theirs),
        (&["row 1".to_owned()][..], &["row 2".to_owned()][..])
    );
    let taken = settled(&merge, &pair.mine, Choice::Theirs);
    assert!(taken == pair.theirs);
    let kept = settled(&merge, &pair.mine, Choice::Mine);
    assert_eq!(kept.genotypes().get(a).unwrap().location, "row 1");
}

#[test]
fn what_is_gone_on_one_side_and_changed_on_the_other_is_asked_both_ways() {
    let mut pair = Pair::begin();
    let (a, b) = (pair.plant("A"), pair.plant("B"));
    let set = |plant| Edit::set(plant, GenotypeField::Location("row 1".into()));
    pair.mine.apply(Edit::remove(a)).unwrap();
    pair.theirs.apply(set(a)).unwrap();
    pair.mine.apply(set(b)).unwrap();
    pair.theirs.apply(Edit::remove(b)).unwrap();
    let merge = pair.merge();
    let clashes: Vec<_> = merge.conflicts.iter().map(|each| &each.clash).collect();
    assert_eq!(clashes, [&Clash::GoneHere, &Clash::GoneThere]);
    assert!(settled(&merge, &pair.mine, Choice::Theirs) == pair.theirs);
    assert!(settled(&merge, &pair.mine, Choice::Mine) == pair.mine);
}

#[test]
fn two_plants_of_one_code_both_stay_and_the_newcomer_gets_another() {
    let mut pair = Pair::begin();
    let (here, there) = (pair.ids.next(), pair.ids.next());
    let plant = |id| Edit::add(Genotype::new(id, "C-1", Origin::Unknown));
    pair.mine.apply(plant(here)).unwrap();
    pair.theirs.apply(plant(there)).unwrap();
    let child = Genotype::new(pair.ids.next(), "C-2", Origin::Doubled { from: there });
    pair.theirs.apply(Edit::add(child)).unwrap();
    let merge = pair.merge();
    assert_eq!(merge.conflicts.len(), 1, "the child hangs on its parent");
    assert_eq!(merge.conflicts[0].clash, Clash::Code("C-1-2".into()));
    let both = settled(&merge, &pair.mine, Choice::Theirs);
    assert_eq!(both.genotypes().get(there).unwrap().code, "C-1-2");
    assert!(both.find_code("C-2").next().is_some());
    assert!(settled(&merge, &pair.mine, Choice::Mine) == pair.mine);
}

#[test]
fn seed_drawn_twice_is_told_with_both_draws() {
    let mut pair = Pair::begin();
    let (small, here, there) = (pair.draw(10), pair.draw(200), pair.draw(200));
    pair.mine.apply(small.clone()).unwrap();
    pair.mine.apply(here).unwrap();
    pair.theirs.apply(there.clone()).unwrap();
    let merge = pair.merge();
    let conflict = &merge.conflicts[0];
    assert!(
        matches!(&conflict.clash, Clash::Rule(why) if why.contains("holds 90 seeds")),
        "{conflict:?}"
    );
    assert_eq!(conflict.there, std::slice::from_ref(&there));
    assert_eq!(
        conflict.mine.len(),
        1,
        "only what stands in the way: {:?}",
        conflict.mine
    );
    let taken = settled(&merge, &pair.mine, Choice::Theirs);
    let seeds: Vec<u32> = taken.movements().iter().map(|each| each.seeds).collect();
    assert_eq!(seeds, [10, 200]);
    assert!(there.as_in(&taken).is_some());
}

#[test]
fn a_note_on_what_was_taken_away_here_brings_it_back_or_stays_out() {
    let mut pair = Pair::begin();
    let a = pair.plant("A");
    pair.mine.apply(Edit::remove(a)).unwrap();
    let note = domain::Note {
        id: pair.ids.next(),
        about: a.into(),
        date: "2026-03-01".parse().unwrap(),
        text: "smells of resin".into(),
        by: "Ida".into(),
    };
    pair.theirs.apply(Edit::add(note)).unwrap();
    let merge = pair.merge();
    assert_eq!(merge.conflicts[0].clash, Clash::GoneHere);
    assert!(settled(&merge, &pair.mine, Choice::Theirs) == pair.theirs);
    assert!(settled(&merge, &pair.mine, Choice::Mine) == pair.mine);
    // And the other way round: taken away there, written about here.
    let merge = domain::merge::merge(Some(&pair.base), &pair.theirs, &pair.mine);
    assert_eq!(merge.conflicts[0].clash, Clash::GoneThere);
    assert!(settled(&merge, &pair.theirs, Choice::Theirs) == pair.mine);
    assert!(settled(&merge, &pair.theirs, Choice::Mine) == pair.theirs);
}
