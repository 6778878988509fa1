//! The seed bench, driven by name: lots compared, figures that explain themselves, stock, sexes, ratios.

use crate::window::{Window, begun, day, founder, today};
use domain::{
    ChillBatch, ChillBox, Count, Cross, Edit, Genotype, Id, IdSource, LotSource, Origin, Pollen,
    Project, Regimen, SeedAmount, SeedLot, Sex, SexBasis, SexRecord, actions,
};
use egui::{Key, Role};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use std::time::{Duration, Instant};

/// How long a worker may take on a machine that has much else to do.
const PATIENCE: Duration = Duration::from_mins(2);

impl Window {
    fn on_bench(project: &Project) -> Self {
        let mut window = Self::on(project, Key::Num1);
        window.click(Role::Tab, "Seed bench");
        window
    }

    /// Draws until something of this role holds these words in its name.
    fn wait_for_words(&mut self, role: Role, words: &str) -> String {
        let begun = Instant::now();
        loop {
            let found = self
                .harness
                .query_all_by_role(role)
                .filter_map(|node| {
                    let node = node.accesskit_node();
                    node.label().or_else(|| node.value())
                })
                .find(|name| name.contains(words));
            if let Some(found) = found {
                return found;
            }
            assert!(begun.elapsed() < PATIENCE, "no {role:?} with '{words}'");
            std::thread::sleep(Duration::from_millis(10));
            self.settle();
        }
    }
}

fn lot(project: &mut Project, ids: &mut IdSource, code: &str) -> Id<SeedLot> {
    let id = ids.next();
    let lot = SeedLot {
        id,
        code: code.into(),
        source: LotSource::Bought {
            from: "a friend".into(),
            described_as: String::new(),
        },
        harvested: Some(day("2025-09-20")),
        cleaned: None,
        amount: Some(SeedAmount::Counted(400)),
        place: String::new(),
        conditions: String::new(),
    };
    project.apply(Edit::add(lot)).unwrap();
    id
}

/// A box of 50 seeds of a lot, in warmth since 1 February, counted on days after it.
fn counted(
    project: &mut Project,
    ids: &mut IdSource,
    code: &str,
    lot: Id<SeedLot>,
    counts: &[(i64, u32)],
) {
    let batch: Id<ChillBatch> = ids.next();
    let chill_box: Id<ChillBox> = ids.next();
    let edits = vec![
        Edit::add(ChillBatch {
            id: batch,
            code: format!("Batch {code}"),
            start: day("2025-12-01"),
            regimen: Regimen::default(),
            started: true,
            protocol: String::new(),
            sterilised: None,
            place: String::new(),
            ended: None,
        }),
        Edit::add(ChillBox {
            id: chill_box,
            code: code.into(),
            batch,
            lot,
            seeds: 50,
            rechilled_from: None,
            place: String::new(),
            end: None,
        }),
    ];
    project.apply(Edit::all("Lay a box", edits)).unwrap();
    project
        .apply(actions::warm(&[chill_box], day("2026-02-01"), ids))
        .unwrap();
    let run = project.run_of(chill_box).unwrap().id;
    for &(after, germinated) in counts {
        let count = Count {
            id: ids.next(),
            run,
            date: domain::date::shift(day("2026-02-01"), after),
            germinated,
            abnormal: 0,
            dead: 0,
            lost: 0,
            by: String::new(),
            remark: String::new(),
        };
        project.apply(Edit::add(count)).unwrap();
    }
}

/// Two lots counted, and one that was not.
fn three_lots() -> Project {
    let (mut project, mut ids) = begun();
    for (code, counts) in [
        ("Good", &[(5, 4), (6, 17), (7, 10), (9, 8), (14, 1)][..]),
        ("Poor", &[(5, 1), (7, 6), (9, 8), (14, 3)]),
        ("Uncounted", &[]),
    ] {
        let lot = lot(&mut project, &mut ids, code);
        counted(&mut project, &mut ids, &format!("C-{code}"), lot, counts);
    }
    project
}

/// Two founders and a family of 25 females and 15 males, scored: 30 of 40 up to 3.
fn family() -> Project {
    let (mut project, mut ids) = begun();
    let mother = founder(&mut project, &mut ids, "F-01", Some(Sex::Female));
    let father = founder(&mut project, &mut ids, "M-01", Some(Sex::Male));
    let cross: Id<Cross> = ids.next();
    let record = Cross {
        id: cross,
        code: "25-01".into(),
        female: mother,
        pollen: Pollen::Male(father),
        season: 2025,
        planned_pollination: None,
        seeds_wanted: None,
        purpose: String::new(),
        advised: None,
    };
    let plan = actions::plan_cross(record, today(), &mut ids);
    project.apply(plan).unwrap();
    let vigour = project.traits().iter().next().unwrap().id;
    for nth in 0..40 {
        let sex = if nth < 25 { Sex::Female } else { Sex::Male };
        let plant = Genotype {
            sex: Some(SexRecord {
                sex,
                basis: SexBasis::FlowersSeen,
                date: None,
            }),
            ..Genotype::new(
                ids.next(),
                format!("25-01-{nth:03}"),
                Origin::Cross { cross },
            )
        };
        let id = plant.id;
        project.apply(Edit::add(plant)).unwrap();
        let value = if nth % 4 > 0 { 2.0 } else { 8.0 };
        let score = actions::score(&project, id, vigour, today(), value, &mut ids);
        project.apply(score).unwrap();
    }
    project
}

#[test]
fn two_lots_are_compared_and_a_figure_says_where_it_comes_from() {
    let mut window = Window::on_bench(&three_lots());
    // 40 of 50: Wilson's interval 67 to 89 (see the figures of shares in the tests of `quant`).
    let name = "Germinated, % of Good: 80 so far. How it is worked out";
    window.wait_for_words(Role::Button, name);
    window.wait_for_words(Role::Label, "(67 to 89)");
    assert!(window.has(
        Role::Button,
        "Germinated, % of Poor: 36 so far. How it is worked out"
    ));
    let plot = window.wait_for_words(Role::Figure, "Germinated, as % of seed moved to warmth");
    assert!(
        plot.contains("Good: by day 5 8 %") && plot.contains("Poor: by day 5 2 %"),
        "{plot}"
    );
    window.wait_for_words(Role::Label, "Good: when to stop can\u{2019}t be told yet");
    // Fisher's exact p of 40 : 10 and 18 : 32 is 1.5e-5.
    window.click(
        Role::Button,
        "Shares of Good and Poor: below 0.0001. How it is worked out",
    );
    window.wait_for_words(Role::Label, "Source: Fisher (1935)");
    window.press(Key::Escape);
    window.click(Role::Button, name);
    window.wait_for_words(Role::Label, "Source: Wilson (1927)");
    window.wait_for_words(Role::Label, "exact, 95 %: 66 to 90");
}

#[test]
fn a_lot_without_counts_says_so_and_can_be_left_out_by_keyboard() {
    let mut window = Window::on_bench(&three_lots());
    window.click(Role::CheckBox, "Uncounted, 1 box");
    window.wait_for_words(
        Role::Label,
        "Uncounted: when to stop can\u{2019}t be told yet",
    );
    window.wait_for_words(Role::Button, "Germinated, % of Uncounted: \u{2013}");
    window.focus(Role::CheckBox, "Good, 1 box");
    window.press(Key::Space);
    window.wait_for_words(Role::Button, "Germinated, % of Poor: 36");
    let begun = Instant::now();
    while window.has(
        Role::Button,
        "Germinated, % of Good: 80 so far. How it is worked out",
    ) {
        assert!(begun.elapsed() < PATIENCE, "it stays");
        window.settle();
    }
}

#[test]
fn runs_are_compared_by_box_too_and_waiting_may_go_on_for_fewer() {
    let (mut project, mut ids) = begun();
    for nth in 0..4 {
        let code = format!("Done {nth}");
        let lot = lot(&mut project, &mut ids, &code);
        let counts = [(4, 1), (6, 9), (8, 16), (10, 8), (12, 3), (14, 1), (30, 0)];
        counted(&mut project, &mut ids, &format!("C-{code}"), lot, &counts);
        let run = project.germinations().iter().last().unwrap().id;
        let end = domain::GerminationEnd {
            date: day("2026-03-15"),
            rest: domain::RestFate::Discarded,
            remark: String::new(),
        };
        let close = domain::record::germination::GerminationField::End(Some(end));
        project.apply(Edit::set(run, close)).unwrap();
    }
    let good = lot(&mut project, &mut ids, "A good one");
    counted(
        &mut project,
        &mut ids,
        "A-Good",
        good,
        &[(4, 1), (6, 9), (8, 14)],
    );
    let mut window = Window::on_bench(&project);
    window.wait_for_words(Role::Label, "A good one: of 26 seeds that wait,");
    window.wait_for_words(
        Role::Label,
        "no more than 1 seedling would be lost by stopping",
    );
    window.wait_for_words(
        Role::Label,
        "Learnt from 4 closed boxes of the same treatment",
    );
    window.enter("Seedlings that may be lost by not waiting", "3");
    window.wait_for_words(
        Role::Label,
        "no more than 3 seedlings would be lost by stopping",
    );
    window.choose("Compare by", "boxes");
    window.wait_for_words(Role::CheckBox, "Box A-Good, 1 box");
    window.wait_for_words(Role::Button, "Germinated, % of Box A-Good: 48 so far");
}

#[test]
fn an_empty_project_teaches_on_every_page() {
    let mut window = Window::on_bench(&begun().0);
    assert!(window.has(Role::Button, "Go to Seedlings"));
    window.click(Role::RadioButton, "What to sow first");
    assert!(window.has(Role::Button, "Go to Seed lots"));
    window.click(Role::RadioButton, "Female and male");
    window.wait_for_words(Role::Button, "Go to the plants");
    window.click(Role::RadioButton, "Ratios");
    window.click(Role::Button, "Go to Seedlings");
    assert!(window.has(Role::Heading, "Seedlings"));
}

#[test]
fn families_are_counted_by_sex_and_held_against_ratios() {
    let mut window = Window::on_bench(&family());
    window.click(Role::RadioButton, "Female and male");
    // 25 of 40: Wilson 47 to 76; SciPy 1.16.3: binomtest(25, 40, 0.5).pvalue = 0.1538599441628321.
    window.wait_for_words(Role::Button, "Female share of 25-01: 62 (47 to 76)");
    window.wait_for_words(Role::Label, "1 : 1 cannot be ruled out (p 0.15)");
    window.click(Role::RadioButton, "Ratios");
    window.wait_for_words(Role::Label, "3 : 1 is the likeliest");
    window.click(
        Role::Button,
        "Ratio in All seedlings: 3 : 1. How it is worked out",
    );
    window.wait_for_words(Role::Label, "counts: 30 and 10");
    window.wait_for_words(
        Role::Label,
        "leads to it: One gene, carried once by both parents",
    );
    window.press(Key::Escape);
    window.enter("Highest value of the first class", "9");
    window.wait_for_words(Role::Label, "40 in the first class, 0 in the other");
}

#[test]
fn a_test_recorded_on_a_lot_is_a_draw_and_tells_what_to_sow_first() {
    let mut window = Window::on(&three_lots(), Key::Num4);
    window.click(Role::Row, "Good");
    window.click(Role::Button, "Record a germination test…");
    window.fill("Seeds tested", "50");
    window.focus(Role::TextInput, "Germinated in the test");
    window.write("21 20");
    window.click_button("Record the germination test of Good");
    let test = window.project().germination_tests().iter().next().unwrap();
    assert_eq!((test.seeds, test.germinated, test.drawn), (50, 41, true));
    assert_eq!(test.replicates, [21, 20]);
    assert_eq!(domain::ledger::balance(window.project(), test.lot), 300);
    window.wait_for_words(Role::Button, "Viable of Good: 82 (");
    window.click(Role::Button, "Record a weighing…");
    window.focus(Role::TextInput, "Weights of the replicates");
    window.write("0,301 0,297 0,312 0,306");
    window.click_button("Record the weighing of Good");
    window.wait_for_words(Role::Button, "Seed by weight: 3.040 g a thousand");
    window.click(Role::Tab, "Seed bench");
    window.click(Role::RadioButton, "What to sow first");
    window.wait_for_words(
        Role::Label,
        "a test in another year would show how fast it falls",
    );
    window.wait_for_words(Role::Label, "Never tested");
}

#[test]
fn a_test_of_more_seed_than_there_is_is_refused() {
    let mut window = Window::on(&three_lots(), Key::Num4);
    window.click(Role::Row, "Good");
    window.click(Role::Button, "Record a germination test…");
    window.fill("Seeds tested", "900");
    window.focus(Role::TextInput, "Germinated in the test");
    window.write("700");
    window.click_button("Record the germination test of Good");
    assert!(
        window.notice().contains("holds 350 seeds"),
        "{}",
        window.notice()
    );
    assert!(window.project().germination_tests().is_empty());
}
