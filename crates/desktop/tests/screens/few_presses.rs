//! How many clicks and keys each main step of a season takes, at 1280×720 and without scrolling. What is typed as words
//! or figures counts for nothing by itself: each key that leads on or records counts, and each click.

use crate::chill::{started, with_lots};
use crate::crosses::with_cross;
use crate::form_walk::in_warmth;
use crate::window::{Window, begun, day, founder};
use domain::{CrossEventKind, Project, Sex, actions};
use egui::{Key, Modifiers, Role};
use egui_kittest::kittest::Queryable as _;

/// A window in which presses are counted.
struct Counted {
    window: Window,
    presses: usize,
}

impl Counted {
    fn on(project: &Project, screen: Key) -> Self {
        let window = Window::on(project, screen);
        Self { window, presses: 0 }
    }

    /// Clicks what is in sight: nothing is scrolled to.
    fn click(&mut self, role: Role, name: &str) {
        let rect = self.window.harness.get_by_role_and_label(role, name).rect();
        let page = self.window.harness.ctx.content_rect();
        assert!(page.contains(rect.center()), "'{name}' must be scrolled to");
        self.window.tap(rect.center());
        self.window.settle();
        self.presses += 1;
    }

    fn key(&mut self, key: Key) {
        self.window.press(key);
        self.presses += 1;
    }

    fn types(&mut self, words: &str) {
        self.window.write(words);
    }

    /// The button that records is in sight before it is pressed, by whatever key.
    fn sees(&self, beginning: &str) {
        let name = self.window.button(beginning);
        let button = self
            .window
            .harness
            .get_by_role_and_label(Role::Button, &name);
        let page = self.window.harness.ctx.content_rect();
        assert!(
            page.contains(button.rect().center()),
            "'{name}' is out of sight"
        );
    }

    /// The presses of this step, which may be so many at most; then counting begins anew.
    fn took(&mut self, step: &str, most: usize) {
        assert!(
            self.presses <= most,
            "{step} took {}, not {most}",
            self.presses
        );
        self.presses = 0;
    }
}

#[test]
fn a_project_is_begun_by_its_name_and_enter() {
    let folder = tempfile::tempdir().unwrap();
    let window = Window::empty(folder.path());
    let mut hand = Counted { window, presses: 0 };
    hand.window.press_with(Modifiers::COMMAND, Key::N);
    hand.presses += 1;
    hand.types("Tarn yard");
    hand.sees("Create project");
    // The offered file lies among the documents of whoever runs the tests: another is named there.
    let path = folder.path().join("tarn.binewright");
    hand.window.fill("File", path.to_str().unwrap());
    hand.window.focus(Role::TextInput, "Name");
    hand.key(Key::Enter);
    assert_eq!(hand.window.project().settings().name, "Tarn yard");
    hand.took("new project", 2);
}

#[test]
fn a_founder_and_a_cross_take_half_of_what_they_took() {
    let (mut project, mut ids) = begun();
    founder(&mut project, &mut ids, "F-01", Some(Sex::Female));
    founder(&mut project, &mut ids, "M-01", Some(Sex::Male));
    let mut hand = Counted::on(&project, Key::Num2);
    hand.key(Key::N);
    hand.types("F-02");
    hand.click(Role::RadioButton, "♀ female");
    hand.sees("Add");
    hand.key(Key::Enter);
    assert_eq!(
        hand.window.plant("F-02").sex.as_ref().map(|sex| sex.sex),
        Some(Sex::Female)
    );
    hand.took("founder", 5);
    hand.window.press_with(Modifiers::COMMAND, Key::Num3);
    hand.window.settle();
    hand.window.click(Role::Button, "Plan the first cross");
    hand.presses += 1;
    hand.types("F-01");
    hand.click(Role::TextInput, "Male parent");
    hand.types("M-01");
    hand.key(Key::Enter);
    hand.sees("Plan cross");
    hand.key(Key::Enter);
    assert_eq!(
        hand.window.project().crosses().len(),
        1,
        "{}",
        hand.window.notice()
    );
    hand.took("cross", 8);
}

#[test]
fn bagged_pollinated_harvested_and_cleaned_are_a_press_or_two() {
    let mut hand = Counted::on(&with_cross(), Key::Num3);
    hand.window.click(Role::Row, "26-01");
    hand.window.clock.set(day("2026-07-05"));
    hand.window.settle();
    let done = |hand: &Counted, what: &dyn Fn(&CrossEventKind) -> bool| {
        hand.window
            .project()
            .cross_events()
            .iter()
            .any(|event| what(&event.what))
    };
    hand.key(Key::D);
    assert!(done(&hand, &|what| matches!(
        what,
        CrossEventKind::FemaleBagged { .. }
    )));
    hand.took("bagged", 2);
    hand.window.clock.set(day("2026-07-12"));
    hand.window.settle();
    hand.key(Key::D);
    assert!(
        done(&hand, &|what| *what == CrossEventKind::Pollinated),
        "{}",
        hand.window.notice()
    );
    hand.took("pollinated", 2);
    hand.window.clock.set(day("2026-07-28"));
    hand.window.settle();
    hand.key(Key::D);
    hand.took("bags taken off", 2);
    hand.window.clock.set(day("2026-09-12"));
    hand.window.settle();
    hand.key(Key::D);
    assert!(
        done(&hand, &|what| matches!(
            what,
            CrossEventKind::ConesHarvested { .. }
        )),
        "{}",
        hand.window.notice()
    );
    hand.took("harvested", 2);
    hand.window.clock.set(day("2026-09-20"));
    hand.window.settle();
    hand.key(Key::D);
    hand.types("320");
    hand.sees("Make a lot");
    hand.key(Key::Enter);
    assert_eq!(
        hand.window.project().seed_lots().len(),
        1,
        "{}",
        hand.window.notice()
    );
    hand.took("lot of clean seed", 3);
}

#[test]
fn a_batch_with_four_boxes_takes_half_of_what_it_took() {
    let mut hand = Counted::on(&with_lots().0, Key::Num5);
    hand.click(Role::Button, "Plan a batch");
    hand.sees("Plan a batch to start");
    hand.key(Key::Enter);
    hand.types("L-1");
    hand.key(Key::Enter);
    hand.click(Role::TextInput, "Seeds to lay");
    hand.window.press_with(Modifiers::COMMAND, Key::A);
    hand.presses += 1;
    hand.types("320");
    hand.sees("Lay");
    hand.key(Key::Enter);
    assert_eq!(
        hand.window.project().chill_boxes().len(),
        4,
        "{}",
        hand.window.notice()
    );
    hand.took("batch with four boxes", 7);
}

#[test]
fn a_past_round_and_missed_days_are_a_few_keys() {
    let (mut project, mut ids) = started("2026-03-01");
    let boxes: Vec<_> = project.chill_boxes().iter().map(|each| each.id).collect();
    let check = actions::check_boxes(&boxes, day("2026-03-04"), &mut ids);
    project.apply(check).unwrap();
    let mut hand = Counted::on(&project, Key::Num1);
    hand.key(Key::OpenBracket);
    hand.key(Key::A);
    assert_eq!(
        hand.window.project().checks().len(),
        4,
        "{}",
        hand.window.notice()
    );
    hand.took("all-clear round of yesterday", 2);
    // The same for all days that were missed.
    let mut hand = Counted::on(&project, Key::Num1);
    hand.key(Key::K);
    hand.sees("Record");
    hand.key(Key::Enter);
    // Checks were due each day to 8 March; after that the next is a week later.
    assert_eq!(
        hand.window.project().checks().len(),
        2 + 4 * 2,
        "{}",
        hand.window.notice()
    );
    hand.took("missed days", 4);
}

#[test]
fn four_boxes_are_counted_and_sprouts_potted_in_half_the_presses() {
    let (mut project, mut ids) = started("2026-01-01");
    let batch = project.chill_batches().iter().next().unwrap().clone();
    let lot = project.seed_lots().iter().nth(1).unwrap().id;
    let more = actions::lay_boxes(&project, &batch, lot, 60, 30, &mut ids);
    project.apply(more).unwrap();
    let boxes: Vec<_> = project.chill_boxes().iter().map(|each| each.id).collect();
    assert_eq!(boxes.len(), 4);
    let warm = actions::warm(&boxes, day("2026-03-01"), &mut ids);
    project.apply(warm).unwrap();
    let mut hand = Counted::on(&project, Key::Num1);
    let first = hand
        .window
        .harness
        .query_all_by_role(Role::TextInput)
        .next()
        .map(|field| field.rect().center())
        .unwrap();
    hand.window.tap(first);
    hand.window.settle();
    hand.presses += 1;
    for count in ["4", "0", "2", "1"] {
        hand.types(count);
        hand.key(Key::Enter);
    }
    assert_eq!(
        hand.window.project().counts().len(),
        4,
        "{}",
        hand.window.notice()
    );
    hand.took("four boxes counted", 10);
    let mut hand = Counted::on(&in_warmth(), Key::Num6);
    hand.click(Role::Button, "Pot up 3…");
    hand.sees("Pot up 3 sprouts");
    hand.key(Key::Enter);
    assert_eq!(
        hand.window.project().genotypes().len(),
        3,
        "{}",
        hand.window.notice()
    );
    hand.took("potted", 2);
}
