//! One selection, on every list that has one: what an act touches is what is chosen and shown, and it is named in the
//! bar, on the button, in the notice and in the history.

use crate::chill::started;
use crate::crosses::with_cross;
use crate::plants::yard;
use crate::window::{Window, begun, founder, today};
use domain::{AnyId, Cross, Edit, Genotype, Pollen, Project, SeedLot, Sex, actions};
use egui::{Key, Modifiers, Role};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use std::collections::BTreeSet;

/// A list of which several rows can be chosen.
struct List {
    screen: Key,
    /// The page of the screen that it is on.
    page: Option<&'static str>,
    table: &'static str,
    find: &'static str,
    /// What stands before a code in the name of a row.
    before: &'static str,
    project: Project,
    /// Three records that are shown, in the order of the list.
    codes: [&'static str; 3],
    /// How its acts begin that name what they touch.
    acts: &'static [&'static str],
}

fn three_crosses() -> Project {
    let mut project = with_cross();
    let mut ids = domain::IdSource::new(1_780_000_000_000, 9);
    let find = |project: &Project, code: &str| {
        let mut found = project.find_code(code);
        found.find_map(AnyId::typed::<Genotype>).unwrap()
    };
    for code in ["26-02", "26-03"] {
        let cross = Cross {
            id: ids.next(),
            code: code.into(),
            female: find(&project, "F-02"),
            pollen: Pollen::Male(find(&project, "M-02")),
            season: 2026,
            planned_pollination: None,
            seeds_wanted: None,
            purpose: String::new(),
            advised: None,
        };
        let plan = actions::plan_cross(cross, today(), &mut ids);
        project.apply(plan).unwrap();
    }
    project
}

fn three_lots_and_boxes() -> Project {
    let (mut project, mut ids) = started("2026-03-01");
    let like: &SeedLot = project.seed_lots().iter().next().unwrap();
    let lot = SeedLot {
        id: ids.next(),
        code: "L-3".into(),
        ..like.clone()
    };
    project.apply(Edit::add(lot)).unwrap();
    let batch = project.chill_batches().iter().next().unwrap().clone();
    let lot = project.seed_lots().iter().next().unwrap().id;
    let lay = actions::lay_boxes(&project, &batch, lot, 40, 100, &mut ids);
    project.apply(lay).unwrap();
    project
}

fn lists() -> Vec<List> {
    let plants = ["25-01-001", "25-01-002", "25-01-003"];
    vec![
        List {
            screen: Key::Num2,
            page: None,
            table: "All plants",
            find: "Find plants",
            before: "",
            project: yard().0,
            codes: plants,
            acts: &[
                "Female: ", "Male: ", "Select ", "Cull ", "Label ", "Measure ",
            ],
        },
        List {
            screen: Key::Num3,
            page: None,
            table: "All crosses",
            find: "Find crosses",
            before: "",
            project: three_crosses(),
            codes: ["26-01", "26-02", "26-03"],
            acts: &["Label "],
        },
        List {
            screen: Key::Num4,
            page: None,
            table: "Lots",
            find: "Find a lot",
            before: "",
            project: three_lots_and_boxes(),
            codes: ["L-1", "L-2", "L-3"],
            acts: &["Label "],
        },
        List {
            screen: Key::Num5,
            page: None,
            table: "Boxes",
            find: "Find a box",
            before: "Box ",
            project: three_lots_and_boxes(),
            codes: ["C-01", "C-02", "C-03"],
            acts: &["Label "],
        },
        List {
            screen: Key::Num6,
            page: Some("Scoring"),
            table: "Scores",
            find: "Find a plant",
            before: "",
            project: yard().0,
            codes: plants,
            acts: &["Female: ", "Male: ", "Select ", "Cull ", "Label "],
        },
    ]
}

impl List {
    fn open(&self) -> Window {
        let mut window = Window::on(&self.project, self.screen);
        if let Some(page) = self.page {
            window.click(Role::RadioButton, page);
        }
        window
    }

    /// Whether a row of this code is chosen; nothing if it isn't shown.
    fn stands(&self, window: &Window, code: &str) -> Option<bool> {
        let name = format!("{}{code}", self.before);
        let rows = window.harness.query_all_by_role(Role::Row);
        let names = rows.filter_map(|row| row.accesskit_node().label());
        names.into_iter().find_map(|label| {
            let rest = label.strip_prefix(&name)?;
            (rest.is_empty() || rest.starts_with(',')).then(|| rest.contains("selected"))
        })
    }

    fn choose(&self, window: &mut Window, code: &str, with: Modifiers) {
        let chosen = self.stands(window, code).unwrap();
        let selected = if chosen { ", selected" } else { "" };
        let name = format!("{}{code}{selected}", self.before);
        let row = window.harness.get_by_role_and_label(Role::Row, &name);
        row.click_modifiers(with);
        // Beyond what counts as a second tap.
        window.harness.run_steps(4);
    }

    /// The buttons that act on what is chosen name it, and nothing that is not shown and chosen.
    fn names(&self, window: &Window, who: &str, when: &str) {
        let buttons: BTreeSet<String> = window
            .harness
            .query_all_by_role(Role::Button)
            .filter_map(|node| node.accesskit_node().label())
            .collect();
        for act in self.acts {
            let named: Vec<_> = buttons
                .iter()
                .filter(|name| name.starts_with(act) && name.contains('-'))
                .collect();
            assert!(
                named
                    .iter()
                    .any(|name| name[act.len()..].trim_end_matches('…') == who),
                "{}, {when}: '{act}{who}' is not among {named:?}",
                self.table
            );
        }
    }

    /// Nothing can be done with any of these.
    fn offers_nothing(&self, window: &Window, codes: &[&str], when: &str) {
        for node in window.harness.query_all_by_role(Role::Button) {
            let name = node.accesskit_node().label().unwrap_or_default();
            let acts = self.acts.iter().any(|act| name.starts_with(act));
            let touched = codes.iter().find(|code| name.contains(**code));
            assert!(
                !acts || touched.is_none(),
                "{}, {when}: '{name}' is offered",
                self.table
            );
        }
    }
}

#[test]
fn what_a_filter_hides_is_taken_out_of_what_is_chosen_on_every_list() {
    for list in lists() {
        let mut window = list.open();
        let [first, second, third] = list.codes;
        list.choose(&mut window, first, Modifiers::NONE);
        list.choose(&mut window, second, Modifiers::COMMAND);
        list.choose(&mut window, third, Modifiers::COMMAND);
        list.names(&window, &format!("{first} and 2 more"), "three chosen");
        window.focus(Role::TextInput, list.find);
        // Letter by letter: the list may give way to the page of the one that is left, and the keyboard stays in the box.
        for letter in second.chars() {
            window.write(&letter.to_string());
        }
        assert_eq!(list.stands(&window, first), None, "{}: hidden", list.table);
        list.offers_nothing(&window, &[first, third], "two of them hidden");
        window.retype("");
        window.press(Key::Backspace);
        assert_eq!(
            [first, second, third].map(|code| list.stands(&window, code)),
            [Some(false), Some(true), Some(false)],
            "{}: what was hidden doesn't come back chosen",
            list.table
        );
    }
}

#[test]
fn what_is_chosen_stays_chosen_when_the_list_is_sorted() {
    for list in lists() {
        let mut window = list.open();
        let [first, second, third] = list.codes;
        list.choose(&mut window, second, Modifiers::NONE);
        list.choose(&mut window, third, Modifiers::COMMAND);
        let header = {
            let mut headers = window.harness.query_all_by_role(Role::ColumnHeader);
            headers
                .next()
                .and_then(|node| node.accesskit_node().label())
        };
        // Beside the page of a record the list has no headers: it is sorted before.
        let Some(header) = header else { continue };
        for _ in 0..2 {
            let name = window
                .harness
                .query_all_by_role(Role::ColumnHeader)
                .filter_map(|node| node.accesskit_node().label())
                .find(|label| label.split(',').next() == header.split(',').next())
                .unwrap();
            window.click(Role::ColumnHeader, &name);
            assert_eq!(
                [first, second, third].map(|code| list.stands(&window, code)),
                [Some(false), Some(true), Some(true)],
                "{}: sorted by {name}",
                list.table
            );
            list.offers_nothing(&window, &[first], "sorted");
        }
    }
}

#[test]
fn what_is_chosen_and_then_taken_back_is_no_longer_offered() {
    // A record added in the window, chosen, and taken back by Undo.
    let mut window = Window::on(&yard().0, Key::Num2);
    let list = &lists()[0];
    window.change("Ida", |ids| {
        let origin = domain::Origin::Founder {
            source: "a garden".into(),
            permission: String::new(),
            protected: false,
            imported: false,
        };
        vec![Edit::add(Genotype::new(ids.next(), "N-09", origin))]
    });
    list.choose(&mut window, "N-09", Modifiers::NONE);
    list.choose(&mut window, "25-01-001", Modifiers::COMMAND);
    window.press_with(Modifiers::COMMAND, Key::Z);
    assert_eq!(list.stands(&window, "N-09"), None);
    list.offers_nothing(&window, &["N-09"], "taken back");
    assert_eq!(list.stands(&window, "25-01-001"), Some(true));
}

#[test]
fn a_page_that_is_left_and_come_back_to_offers_what_is_chosen_and_shown_on_it() {
    for list in lists() {
        let mut window = list.open();
        let [first, second, third] = list.codes;
        list.choose(&mut window, first, Modifiers::NONE);
        list.choose(&mut window, second, Modifiers::COMMAND);
        window.press_with(Modifiers::COMMAND, Key::Num0);
        list.offers_nothing(&window, &[first, second], "on another screen");
        window.press_with(Modifiers::COMMAND, list.screen);
        assert_eq!(list.stands(&window, third), Some(false), "{}", list.table);
        list.offers_nothing(&window, &[third], "come back to");
        let chosen = [first, second].map(|code| list.stands(&window, code) == Some(true));
        match chosen {
            [true, true] => list.names(&window, &format!("{first} and 1 more"), "come back to"),
            [false, false] => list.offers_nothing(&window, &[first, second], "come back to"),
            _ => panic!("{}: half of it is chosen", list.table),
        }
    }
}

#[test]
fn culled_plants_leave_the_selection_when_the_page_is_left_and_are_named_in_notice_and_history() {
    for list in lists() {
        if !list.acts.contains(&"Cull ") {
            continue;
        }
        let mut window = list.open();
        let [first, second, third] = list.codes;
        list.choose(&mut window, first, Modifiers::NONE);
        list.choose(&mut window, second, Modifiers::COMMAND);
        window.click(Role::Button, &format!("Cull {first} and 1 more…"));
        // Changed while the form is open: the form is about what is chosen now.
        list.choose(&mut window, third, Modifiers::COMMAND);
        window.click_button(&format!("Cull {first} and 2 more, today"));
        assert!(
            window.notice().contains(&format!("{first} and 2 more")),
            "{}",
            window.notice()
        );
        for code in list.codes {
            assert!(!window.plant(code).is_alive(), "{code}");
        }
        window.press_with(Modifiers::COMMAND, Key::Num0);
        window.press_with(Modifiers::COMMAND, list.screen);
        if list.stands(&window, first).is_none() {
            list.offers_nothing(&window, &list.codes, "culled, and no longer shown");
        }
        let label = window.harness.state().project().unwrap();
        let label = label.session().undo_label().unwrap_or_default().to_owned();
        assert!(label.contains(&format!("{first} and 2 more")), "{label}");
        window.click(Role::Tab, "History");
        window.until(|window| {
            let who = format!("{first} and 2 more");
            let mut told = window.harness.query_all_by_label_contains(&who);
            told.next().is_some()
        });
    }
}

#[test]
fn an_act_touches_what_is_chosen_and_nothing_else() {
    let (mut project, mut ids) = begun();
    for code in ["P-1", "P-2", "P-3", "P-4"] {
        founder(&mut project, &mut ids, code, None);
    }
    let mut window = Window::on(&project, Key::Num2);
    let list = List {
        codes: ["P-1", "P-2", "P-3"],
        ..lists().swap_remove(0)
    };
    list.choose(&mut window, "P-1", Modifiers::NONE);
    list.choose(&mut window, "P-3", Modifiers::SHIFT);
    list.choose(&mut window, "P-2", Modifiers::COMMAND);
    window.click(Role::Button, "Male: P-1 and 1 more");
    let sexes = ["P-1", "P-2", "P-3", "P-4"].map(|code| window.plant(code).known_sex());
    assert_eq!(sexes, [Some(Sex::Male), None, Some(Sex::Male), None]);
    assert!(
        window.notice().contains("P-1 and 1 more"),
        "{}",
        window.notice()
    );
    // By key, after a filter that hides one of them.
    window.press_with(Modifiers::COMMAND, Key::Z);
    window.focus(Role::TextInput, "Find plants");
    window.retype("P-3");
    window.focus(Role::Table, list.table);
    window.press(Key::F);
    let sexes = ["P-1", "P-2", "P-3", "P-4"].map(|code| window.plant(code).known_sex());
    assert_eq!(sexes[0], None, "what is hidden is not touched");
    assert_eq!([sexes[1], sexes[3]], [None, None]);
}
