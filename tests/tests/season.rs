//! A season, end to end, in the window alone: from an empty page to a selected seedling, every step by the names a
//! person who can't see the screen would hear, under a clock that moves on.

#![expect(clippy::unwrap_used, reason = "a test stops where it can't go on")]

use chrono::NaiveDate;
use desktop::app::{App, Places};
use desktop::preferences::Preferences;
use domain::agenda::{ItemKind, ItemState, agenda};
use domain::ledger::{BoxTally, balance};
use domain::{ChillBox, CrossEventKind, Project, Sex};
use egui::{Event, Key, Modifiers, Role};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use kit::theme::Theme;
use std::cell::Cell;
use std::path::Path;
use std::rc::Rc;
use std::time::{Duration, Instant};

/// The window with a clock of its own.
struct Season {
    harness: Harness<'static, App>,
    clock: Rc<Cell<NaiveDate>>,
}

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

impl Season {
    fn begin(folder: &Path, on: &str) -> Self {
        let clock = Rc::new(Cell::new(day(on)));
        let places = Places {
            preferences: Some(folder.join("preferences.json")),
            samples: folder.join("samples"),
        };
        let today = Rc::clone(&clock);
        let app = App::new(
            Preferences::read(&folder.join("preferences.json")),
            places,
            Box::new(|_| None),
            Box::new(move || today.get()),
        );
        let harness = Harness::builder()
            .with_size([1280.0, 800.0])
            .with_context_setup(|ctx| Theme::Light.apply(ctx))
            .build_ui_state(|ui, app: &mut App| app.show(ui), app);
        let mut season = Self { harness, clock };
        season.settle();
        season
    }

    fn project(&self) -> &Project {
        self.harness
            .state()
            .project()
            .expect("a project is open")
            .project()
    }

    /// The clock moves on.
    fn on(&mut self, text: &str) {
        self.clock.set(day(text));
        self.settle();
    }

    fn go(&mut self, screen: Key) {
        self.keys(Modifiers::COMMAND, screen);
    }

    fn click(&mut self, role: Role, name: &str) {
        self.harness
            .get_by_role_and_label(role, name)
            .scroll_to_me();
        self.settle();
        self.harness.get_by_role_and_label(role, name).click();
        self.settle();
    }

    /// Clicks the button whose name begins so.
    fn click_button(&mut self, beginning: &str) {
        let found = |harness: &Harness<'static, App>, act: &dyn Fn(&egui_kittest::Node<'_>)| {
            let nodes: Vec<_> = harness.get_all_by_role(Role::Button).collect();
            let named = |node: &&egui_kittest::Node<'_>| {
                node.accesskit_node()
                    .label()
                    .is_some_and(|label| label.starts_with(beginning))
            };
            let node = nodes.iter().find(named);
            act(node.unwrap_or_else(|| panic!("no button begins '{beginning}'")));
        };
        found(&self.harness, &|node| node.scroll_to_me());
        self.settle();
        found(&self.harness, &|node| node.click());
        self.settle();
    }

    fn focus(&mut self, role: Role, name: &str) {
        self.harness.get_by_role_and_label(role, name).focus();
        self.settle();
    }

    fn write(&mut self, text: &str) {
        self.harness.event(Event::Text(text.to_owned()));
        self.settle();
    }

    /// Replaces a field's words, and leaves it for what comes next to commit.
    fn fill(&mut self, name: &str, text: &str) {
        self.focus(Role::TextInput, name);
        self.keys(Modifiers::COMMAND, Key::A);
        self.write(text);
    }

    fn keys(&mut self, modifiers: Modifiers, key: Key) {
        self.harness.key_press_modifiers(modifiers, key);
        self.settle();
    }

    fn settle(&mut self) {
        self.harness.run_steps(3);
    }

    fn notice(&self) -> &str {
        self.harness.state().notice_text().unwrap_or_default()
    }

    fn only_box(&self) -> &ChillBox {
        self.project()
            .chill_boxes()
            .iter()
            .next()
            .expect("a box was laid")
    }

    /// What is open on a day, by kind.
    fn open(&self, on: &str) -> Vec<ItemKind> {
        let on = day(on);
        agenda(self.project(), on..=on, on)
            .into_iter()
            .filter(|item| matches!(item.state, ItemState::Due | ItemState::Late))
            .map(|item| item.kind)
            .collect()
    }
}

#[test]
fn from_a_new_project_to_a_selected_seedling() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("tarn.binewright");
    let mut season = Season::begin(folder.path(), "2026-06-20");

    begin_with_two_founders(&mut season, &path);
    cross_them(&mut season);
    chill_the_seed(&mut season);
    raise_seedlings(&mut season);
    select_one(&mut season);
    save_and_open_again(season, folder.path());
}

fn begin_with_two_founders(season: &mut Season, path: &Path) {
    season.click(Role::Button, "New project…");
    season.click(Role::Button, "Create project");
    assert!(
        season
            .harness
            .query_by_label_contains("Give the project a name")
            .is_some()
    );
    season.fill("Name", "Tarn yard");
    season.fill("File", path.to_str().unwrap());
    season.click(Role::Button, "Create project");
    assert_eq!(season.project().settings().name, "Tarn yard");

    season.go(Key::Num2);
    season.click(Role::Button, "Add the first founder");
    season.fill("Code of the founder", "F-01");
    season.fill("Source of the founder", "a neighbour's yard");
    season.click(Role::RadioButton, "♀ female");
    season.click_button("Add founder");
    season.click(Role::Button, "Add a founder");
    season.fill("Code of the founder", "M-01");
    season.fill("Source of the founder", "river bank below the mill");
    season.click(Role::RadioButton, "♂ male");
    season.click_button("Add founder");
    let plants: Vec<_> = season
        .project()
        .genotypes()
        .iter()
        .map(|plant| (plant.code.as_str(), plant.known_sex()))
        .collect();
    assert_eq!(
        plants,
        [("F-01", Some(Sex::Female)), ("M-01", Some(Sex::Male))]
    );
}

fn cross_them(season: &mut Season) {
    season.go(Key::Num3);
    season.click(Role::Button, "Plan the first cross");
    season.focus(Role::TextInput, "Female parent");
    season.write("F-01");
    season.keys(Modifiers::NONE, Key::Enter);
    season.focus(Role::TextInput, "Male parent");
    season.write("M-01");
    season.keys(Modifiers::NONE, Key::Enter);
    season.fill("Planned pollination", "2026-07-05");
    season.click_button("Plan cross 26-01");
    assert_eq!(season.project().crosses().len(), 1);

    // The calendar asks for each step on its day, with the button that does it.
    season.go(Key::Num1);
    assert_eq!(season.open("2026-06-24"), []);
    season.on("2026-06-25");
    season.click(Role::Button, "Bagged: Bag F-01 for 26-01");
    season.on("2026-07-05");
    season.click(Role::Button, "Pollinated: Pollinate 26-01");
    season.keys(Modifiers::COMMAND, Key::Z);
    assert_eq!(
        season.open("2026-07-05"),
        [ItemKind::GivePollen],
        "undone, it is due again"
    );
    season.keys(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    assert_eq!(season.open("2026-07-05"), [], "made again, it is done");
    season.on("2026-07-19");
    season.click(Role::Button, "Bags off: Take the bags off 26-01");
    season.on("2026-08-25");
    season.click(Role::Button, "Harvested: Harvest the cones of 26-01");
    let cross = season.project().crosses().iter().next().unwrap();
    let events: Vec<_> = season
        .project()
        .events_of(cross.id)
        .map(|event| (event.date, event.what.clone()))
        .collect();
    assert_eq!(
        events,
        [
            (day("2026-06-20"), CrossEventKind::Planned),
            (
                day("2026-06-25"),
                CrossEventKind::FemaleBagged { bags: None }
            ),
            (day("2026-07-05"), CrossEventKind::Pollinated),
            (day("2026-07-19"), CrossEventKind::BagOff),
            (
                day("2026-08-25"),
                CrossEventKind::ConesHarvested { cones: None }
            ),
        ]
    );

    // Cleaning needs a number: the calendar leads to the cross, which asks for it.
    season.on("2026-09-08");
    season.click(
        Role::Button,
        "Count seed…: Clean and count the seed of 26-01",
    );
    season.click(Role::Button, "Clean seed…");
    season.fill("Seeds counted", "180");
    season.click_button("Make a lot of 180 seeds");
    let lot = season.project().seed_lots().iter().next().expect("a lot");
    assert_eq!(
        (lot.code.as_str(), balance(season.project(), lot.id)),
        ("26-01-S01", 180)
    );
}

fn chill_the_seed(season: &mut Season) {
    season.on("2027-01-01");
    season.go(Key::Num5);
    season.click(Role::Button, "Plan a batch");
    season.fill("Start of the batch", "2027-01-01");
    season.click_button("Plan a batch to start");
    season.focus(Role::TextInput, "Lot to lay");
    season.write("26-01-S01");
    season.keys(Modifiers::NONE, Key::Enter);
    season.fill("Seeds to lay", "60");
    season.fill("Most seeds per box", "100");
    season.click_button("Lay 60 seeds");
    assert_eq!(
        (season.only_box().code.as_str(), season.only_box().seeds),
        ("C-01", 60)
    );

    season.click(Role::Button, "Record the sterilisation…");
    assert!(
        season
            .harness
            .query_by_label_contains("Caution: Bleach and alcohol")
            .is_some()
    );
    season.fill("Minutes in the bath", "5");
    season.fill("Rinses after it", "4");
    season.click_button("Record the sterilisation of");
    season.click_button("Start");
    let batch = season.project().chill_batches().iter().next().unwrap();
    // 60 days from 1 January end on 2 March; two calendar months would end on the 1st (a day count against the calendar).
    assert_eq!((batch.started, batch.ready_on()), (true, day("2027-03-02")));
    assert!(batch.sterilised.is_some());

    // A look every day in the first 7 days, then at least once a week (common practice).
    season.go(Key::Num1);
    for (nth, date) in ["02", "03", "04", "05", "06", "07", "08"]
        .into_iter()
        .enumerate()
    {
        let date = format!("2027-01-{date}");
        season.on(&date);
        assert_eq!(season.open(&date), [ItemKind::CheckBox], "{date}");
        if nth == 3 {
            season.click(Role::Button, "Note on box C-01");
            season.fill("Mouldy seeds removed", "2");
            season.click(Role::RadioButton, "dry");
            assert!(
                season
                    .harness
                    .query_by_label_contains("Caution: Mould")
                    .is_some()
            );
            season.click_button("Record the check of C-01");
        } else {
            season.click_button("1 box, all clear, today");
        }
        assert_eq!(season.open(&date), [], "{date}");
    }
    assert_eq!(season.open("2027-01-14"), [], "the daily looks are over");
    for date in [
        "2027-01-15",
        "2027-01-22",
        "2027-01-29",
        "2027-02-05",
        "2027-02-12",
        "2027-02-19",
        "2027-02-26",
    ] {
        season.on(date);
        assert_eq!(season.open(date), [ItemKind::CheckBox], "{date}");
        season.click_button("1 box, all clear, today");
    }
    let box_id = season.only_box().id;
    assert_eq!(season.project().checks_of(box_id).count(), 14);
}

fn raise_seedlings(season: &mut Season) {
    season.on("2027-03-02");
    season.click(Role::Button, "Move to warmth: Move box C-01 to warmth");
    assert_eq!(
        season.open("2027-03-06"),
        [],
        "no sprout is looked for before the window opens"
    );
    // First seedlings after 5 to 10 days (common practice).
    season.on("2027-03-07");
    season.click(Role::Button, "Count…: Count sprouts in box C-01");
    season.fill("Newly germinated", "9");
    season.click_button("Record ");
    season.on("2027-03-09");
    season.click(Role::Button, "Count…: Count sprouts in box C-01");
    season.fill("Newly germinated", "11");
    season.fill("Abnormal", "1");
    season.click_button("Record ");
    let tally = BoxTally::of(season.project(), season.only_box());
    assert_eq!(
        (tally.mouldy, tally.germinated, tally.abnormal, tally.left()),
        (2, 20, 1, 37)
    );

    season.on("2027-03-12");
    season.click(Role::Button, "Pot up…: Pot up 20 sprouts of box C-01");
    assert!(
        season
            .harness
            .query_by_label_contains("26-01-001 to 26-01-020")
            .is_some()
    );
    season.click_button("Pot up 20 sprouts");
    let seedlings = season
        .project()
        .genotypes()
        .iter()
        .filter(|plant| plant.potted_from.is_some())
        .count();
    assert_eq!(seedlings, 20);
    season.keys(Modifiers::COMMAND, Key::Z);
    assert_eq!(season.project().genotypes().len(), 2, "potting is one step");
    season.keys(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    assert_eq!(season.project().genotypes().len(), 22);
}

fn select_one(season: &mut Season) {
    season.on("2027-04-20");
    season.go(Key::Num6);
    season.click(Role::RadioButton, "Scoring");
    season.focus(Role::Table, "Scores");
    for digit in ["7", "8", "3"] {
        season.write(digit);
    }
    let scores: Vec<_> = season
        .project()
        .observations()
        .iter()
        .map(|seen| {
            (
                season.project().code_of(seen.genotype).to_owned(),
                seen.number(season.project()),
            )
        })
        .collect();
    assert_eq!(
        scores,
        [
            ("26-01-001".into(), Some(7.0)),
            ("26-01-002".into(), Some(8.0)),
            ("26-01-003".into(), Some(3.0))
        ]
    );

    season.on("2028-07-02");
    season.click(Role::Row, "26-01-002");
    season.click(Role::Button, "Female: 26-01-002");
    season.click(Role::Button, "Select 26-01-002…");
    season.fill("Why selected", "strongest of her family");
    season.click_button("Select 26-01-002, ");
    let find = |code: &str| {
        season
            .project()
            .find_code(code)
            .find_map(domain::AnyId::typed)
            .unwrap()
    };
    let chosen = season.project().genotypes().get(find("26-01-002")).unwrap();
    assert_eq!(chosen.known_sex(), Some(Sex::Female));
    assert_eq!(
        chosen
            .selected
            .as_ref()
            .map(|selected| selected.reason.as_str()),
        Some("strongest of her family")
    );

    season.go(Key::Num7);
    let seen = season.harness.query_by_label_contains("26-01-002, female");
    assert!(seen.is_some(), "the family tree names her");
    assert!(
        season
            .harness
            .query_by_label_contains("F-01, female")
            .is_some()
    );
    assert!(
        season
            .harness
            .query_by_label_contains("M-01, male")
            .is_some()
    );
}

fn save_and_open_again(mut season: Season, folder: &Path) {
    season.keys(Modifiers::COMMAND, Key::S);
    let patience = Instant::now();
    while !season.notice().starts_with("Saved in") && patience.elapsed() < Duration::from_secs(30) {
        std::thread::sleep(Duration::from_millis(20));
        season.settle();
    }
    assert!(
        season.notice().starts_with("Saved in"),
        "{}",
        season.notice()
    );
    let before = season.project().clone();
    // Closing waits for the threads that look at the file.
    season.harness.state_mut().close_project();
    drop(season);

    let mut again = Season::begin(folder, "2028-07-03");
    again.click(Role::Button, "tarn");
    assert_eq!(*again.project(), before, "everything is there");
    let open = again.harness.state().project().unwrap();
    assert!(open.report().is_quiet(), "{:?}", open.report().sentences());
}
