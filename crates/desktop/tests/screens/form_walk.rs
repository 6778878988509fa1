//! Every form of the program, by keyboard alone: opened, filled in wrongly, refused with everything still there, left
//! for another screen and come back to, corrected, recorded by Enter, undone.

use crate::chill::{started, with_lots};
use crate::crosses::with_cross;
use crate::plants::yard;
use crate::window::{Window, day, today};
use desktop::forms::FormKind;
use domain::{Count, CrossEventKind, Edit, Project, actions};
use egui::{Key, Modifiers, Role};
use egui_kittest::kittest::{NodeT as _, Queryable as _};

/// One thing done by keyboard on the way to a form.
enum Press {
    /// Goes to the button whose name begins so, and presses Enter.
    Button(&'static str),
    /// Goes to the tab of a screen or page.
    Page(Role, &'static str),
    /// Goes to a table and down to its row of this number, counted from 0.
    Row(&'static str, usize),
}

/// A field and what is typed into it.
type Typed = (&'static str, &'static str);

/// How one form is walked through.
struct Walk {
    project: Project,
    screen: Key,
    open: Vec<Press>,
    /// What can't be recorded. A form of words alone has nothing of that kind.
    wrong: Option<Typed>,
    /// What can; recorded by Enter in the last of these fields.
    right: Vec<Typed>,
    /// The last field holds several lines: Ctrl+Enter records.
    lines: bool,
    /// What is in the file that the system's dialog answers with.
    file: Option<&'static [u8]>,
}

impl Walk {
    const fn new(project: Project, screen: Key, open: Vec<Press>) -> Self {
        Self {
            project,
            screen,
            open,
            wrong: None,
            right: Vec::new(),
            lines: false,
            file: None,
        }
    }

    fn types(mut self, wrong: Option<Typed>, right: &[Typed]) -> Self {
        self.wrong = wrong;
        self.right = right.to_vec();
        self
    }
}

/// Two boxes in warmth since January; three sprouts came up in the first.
pub(crate) fn in_warmth() -> Project {
    let (mut project, mut ids) = started("2026-01-01");
    let boxes: Vec<_> = project.chill_boxes().iter().map(|each| each.id).collect();
    let warm = actions::warm(&boxes, day("2026-03-02"), &mut ids);
    project.apply(warm).unwrap();
    let run = project.germinations().iter().next().unwrap().id;
    let count = Count {
        id: ids.next(),
        run,
        date: day("2026-03-08"),
        germinated: 3,
        abnormal: 0,
        dead: 0,
        lost: 0,
        by: String::new(),
        remark: String::new(),
    };
    project.apply(Edit::add(count)).unwrap();
    project
}

fn harvested() -> Project {
    let mut project = with_cross();
    let mut ids = domain::IdSource::new(1_780_000_000_000, 9);
    let cross = project.crosses().iter().next().unwrap().id;
    for (what, on) in [
        (CrossEventKind::Pollinated, "2026-01-10"),
        (CrossEventKind::ConesHarvested { cones: None }, "2026-03-09"),
    ] {
        let edit = actions::cross_event(cross, day(on), what, &mut ids);
        project.apply(edit).unwrap();
    }
    project
}

fn planned_batch() -> Project {
    let (mut project, mut ids) = with_lots();
    let protocol = project.settings().protocol.unwrap();
    let batch = actions::plan_batch(&project, protocol, today(), &mut ids).unwrap();
    project.apply(Edit::add(batch)).unwrap();
    project
}

/// How each form is walked. A form without a line here doesn't compile.
#[expect(clippy::too_many_lines, reason = "a line or two for each form")]
fn walk_of(kind: FormKind) -> Walk {
    use Press::{Button, Page, Row};
    const PLANTS: Key = Key::Num2;
    const CROSSES: Key = Key::Num3;
    const LOTS: Key = Key::Num4;
    const CHILL: Key = Key::Num5;
    const SEEDLINGS: Key = Key::Num6;
    let cold = || started("2026-03-01").0;
    let scoring = |bar: &'static str| {
        let open = vec![
            Page(Role::RadioButton, "Scoring"),
            Row("Scores", 1),
            Button(bar),
        ];
        Walk::new(yard().0, SEEDLINGS, open)
    };
    match kind {
        FormKind::Check => {
            let open = vec![Row("Boxes", 0), Button("Add a check…")];
            Walk::new(cold(), CHILL, open).types(
                Some(("Mouldy seeds removed", "7o")),
                &[("Mouldy seeds removed", "7")],
            )
        }
        FormKind::Count => Walk::new(in_warmth(), SEEDLINGS, vec![Button("Count…")]).types(
            Some(("Newly germinated", "900")),
            &[("Newly germinated", "5")],
        ),
        FormKind::PotUp => Walk::new(in_warmth(), SEEDLINGS, vec![Button("Pot up 3…")])
            .types(Some(("Sprouts to pot", "3o")), &[("Sprouts to pot", "2")]),
        FormKind::RemainingSeed => {
            let open = vec![Button("Close the box…")];
            // Chosen from the start: a new batch or none; words alone are typed.
            let mut walk = Walk::new(in_warmth(), SEEDLINGS, open);
            walk.right = vec![("Remark on the rest", "too few to chill again")];
            walk.open.push(Page(Role::RadioButton, "discard"));
            walk
        }
        FormKind::Task => Walk::new(cold(), Key::Num1, vec![Button("Add a task…")]).types(
            Some(("Task due", "when it rains")),
            &[("Task", "Mend the trellis"), ("Task due", "+3")],
        ),
        FormKind::Founder => Walk::new(yard().0, PLANTS, vec![Button("Add a founder")]).types(
            Some(("Code of the founder", "F-01")),
            &[("Code of the founder", "F-77")],
        ),
        FormKind::Founders => Walk::new(yard().0, PLANTS, vec![Button("Add several…")]).types(
            Some(("Code of plant 1", "F-01")),
            &[
                ("Code of plant 1", "BRW"),
                ("Name of plant 1", "Brennow"),
                ("Code of plant 2", "KET"),
            ],
        ),
        FormKind::Sample => {
            let open = vec![Row("All plants", 0), Button("Take a sample…")];
            Walk::new(yard().0, PLANTS, open).types(
                Some(("Sample taken on", "soon")),
                &[
                    ("Sample taken on", "5 mar 2026"),
                    ("Laboratory of the sample", "Fennel lab"),
                ],
            )
        }
        FormKind::DiseaseTest => {
            let open = vec![Page(Role::Tab, "Measure"), Button("Begin a disease test…")];
            Walk::new(yard().0, PLANTS, open).types(
                Some(("Test began on", "soon")),
                &[
                    ("Test began on", "5 mar 2026"),
                    ("Name of the test", "mildew"),
                ],
            )
        }
        FormKind::EndPlant => {
            let open = vec![Row("All plants", 0), Button("Record its end…")];
            Walk::new(yard().0, PLANTS, open)
                .types(Some(("Ended on", "soon")), &[("Ended on", "5 mar 2026")])
        }
        FormKind::Origin => {
            let open = vec![
                Row("All plants", 5),
                Button("Change the origin…"),
                Page(Role::ComboBox, "Origin"),
                Page(Role::Button, "open-pollinated seed"),
            ];
            Walk::new(yard().0, PLANTS, open)
                .types(Some(("Female parent", "zz")), &[("Female parent", "F-01")])
        }
        FormKind::Permission => {
            let open = vec![
                Row("All plants", 0),
                Button("Note what is allowed…"),
                Page(Role::ComboBox, "May be crossed"),
                Page(Role::Button, "not for breeding"),
            ];
            Walk::new(yard().0, PLANTS, open).types(
                Some(("Holds until", "when it rains")),
                &[("Owner", "the Union"), ("Holds until", "5 mar 2030")],
            )
        }
        FormKind::PlanCross => Walk::new(with_cross(), CROSSES, vec![Button("Plan a cross")])
            .types(
                Some(("Planned pollination", "in spring")),
                &[
                    ("Female parent", "F-02"),
                    ("Male parent", "M-02"),
                    ("Planned pollination", "5 jul 2026"),
                ],
            ),
        FormKind::CrossEvent => {
            let open = vec![Row("All crosses", 0), Button("Other work…")];
            Walk::new(with_cross(), CROSSES, open).types(Some(("Bags", "many")), &[("Bags", "3")])
        }
        FormKind::Pollen => {
            let open = vec![Row("All crosses", 0), Button("Change the pollen…")];
            Walk::new(with_cross(), CROSSES, open)
                .types(Some(("Male parent", "zz")), &[("Male parent", "M-02")])
        }
        FormKind::CleanSeed => {
            let open = vec![Row("All crosses", 0), Button("Clean seed…")];
            Walk::new(harvested(), CROSSES, open)
                .types(Some(("Seeds counted", "2oo")), &[("Seeds counted", "200")])
        }
        FormKind::PlanBatch => Walk::new(cold(), CHILL, vec![Button("Plan a batch…")]).types(
            Some(("Start of the batch", "20 foo")),
            &[("Start of the batch", "12 mar")],
        ),
        FormKind::AddBoxes => Walk::new(planned_batch(), CHILL, vec![Button("Add boxes…")]).types(
            Some(("Seeds to lay", "3O")),
            &[("Lot to lay", "L-2"), ("Seeds to lay", "30")],
        ),
        FormKind::MoveToWarmth => {
            let open = vec![Row("Boxes", 0), Button("Move this box to warmth…")];
            Walk::new(started("2026-01-01").0, CHILL, open).types(
                Some(("Day of the move", "later")),
                &[("Day of the move", "-1")],
            )
        }
        FormKind::EndBox => {
            let open = vec![Row("Boxes", 0), Button("End this box…")];
            Walk::new(cold(), CHILL, open).types(
                Some(("Day of the end", "later")),
                &[("Day of the end", "-1")],
            )
        }
        FormKind::EndBatch => Walk::new(cold(), CHILL, vec![Button("End the batch…")]).types(
            Some(("Day of the end", "later")),
            &[("Day of the end", "-1")],
        ),
        FormKind::Sterilisation => {
            let open = vec![Button("Record the sterilisation…")];
            Walk::new(cold(), CHILL, open).types(
                Some(("Minutes in the bath", "five")),
                &[("Minutes in the bath", "5")],
            )
        }
        FormKind::Reading => {
            let open = vec![Page(Role::Tab, "Temperatures"), Button("Enter a reading…")];
            Walk::new(cold(), Key::Num1, open).types(
                Some(("Temperature read", "cold")),
                &[
                    ("Place of the reading", "fridge"),
                    ("Time of the reading", "07:30"),
                    ("Temperature read", "3.5"),
                ],
            )
        }
        FormKind::Logger => {
            let open = vec![Page(Role::Tab, "Temperatures"), Button("Import a file…")];
            let mut walk = Walk::new(cold(), Key::Num1, open).types(
                Some(("Lines of header", "two")),
                &[("Lines of header", "1")],
            );
            walk.file = Some(b"time,celsius\n2026-03-02 06:00,3.5\n2026-03-02 07:00,3.6\n");
            walk
        }
        FormKind::NewLot => Walk::new(
            with_lots().0,
            LOTS,
            vec![
                Button("New lot…"),
                Page(Role::ComboBox, "Comes from"),
                Page(Role::Button, "unknown"),
            ],
        )
        .types(
            Some(("Seeds counted", "2oo")),
            &[("Code of the new lot", "N-1"), ("Seeds counted", "200")],
        ),
        FormKind::LotSource => {
            let open = vec![
                Row("Lots", 0),
                Button("Change the origin…"),
                Page(Role::ComboBox, "Comes from"),
                Page(Role::Button, "bought or given"),
            ];
            Walk::new(with_lots().0, LOTS, open).types(None, &[("Bought from", "Alder nursery")])
        }
        FormKind::LotAmount => {
            let open = vec![Row("Lots", 0), Button("Change the amount…")];
            Walk::new(with_lots().0, LOTS, open)
                .types(Some(("Seeds counted", "2oo")), &[("Seeds counted", "260")])
        }
        FormKind::Movement => {
            let open = vec![Row("Lots", 0), Button("Take seed out…")];
            Walk::new(with_lots().0, LOTS, open)
                .types(Some(("Seeds moved", "9000")), &[("Seeds moved", "9")])
        }
        FormKind::SeedMeasured => {
            let open = vec![Row("Lots", 0), Button("Record a germination test…")];
            Walk::new(with_lots().0, LOTS, open).types(
                Some(("Seeds tested", "5o")),
                &[("Seeds tested", "50"), ("Germinated in the test", "31")],
            )
        }
        FormKind::CullPlants => scoring("Cull 25-01-002…").types(None, &[("Why ended", "mildew")]),
        FormKind::SelectPlants => {
            scoring("Select 25-01-002…").types(None, &[("Why selected", "strong")])
        }
        FormKind::Note => {
            let open = vec![Row("All plants", 0), Button("Add a note…")];
            let mut walk = Walk::new(yard().0, PLANTS, open).types(
                Some(("Date of the new note", "some day")),
                &[
                    ("Date of the new note", "yesterday"),
                    ("New note", "Strong regrowth."),
                ],
            );
            walk.lines = true;
            walk
        }
    }
}

fn role_of(window: &Window, name: &str) -> Role {
    let lines = window
        .harness
        .query_by_role_and_label(Role::MultilineTextInput, name);
    if lines.is_some() {
        Role::MultilineTextInput
    } else {
        Role::TextInput
    }
}

fn value(window: &Window, name: &str) -> Option<String> {
    let role = role_of(window, name);
    let field = window.harness.query_by_role_and_label(role, name)?;
    field.accesskit_node().value()
}

fn go(window: &mut Window, press: &Press) {
    match press {
        Press::Button(beginning) => {
            let name = window.button(beginning);
            window.focus(Role::Button, &name);
            window.press(Key::Enter);
        }
        Press::Page(role, name) => {
            window.focus(*role, name);
            // Enter in a form records; Space chooses.
            window.press(Key::Space);
        }
        Press::Row(table, row) => {
            window.focus(Role::Table, table);
            window.press(Key::Home);
            for _ in 0..*row {
                window.press(Key::ArrowDown);
            }
        }
    }
    window.settle();
}

fn fill(window: &mut Window, (name, text): Typed) {
    let role = role_of(window, name);
    window.focus(role, name);
    window.retype(text);
}

fn walk_through(kind: FormKind) {
    let walk = walk_of(kind);
    let file = walk.file;
    let mut window = Window::answering(&walk.project, walk.screen, move |folder| {
        let path = folder.join("chosen.csv");
        std::fs::write(&path, file?).unwrap();
        Some(path)
    });
    for press in &walk.open {
        go(&mut window, press);
    }
    let open = |window: &Window| window.has_form();
    if file.is_some() {
        window.until(open);
    }
    assert!(open(&window), "{kind:?} doesn't open");
    let focused = window.harness.ctx.memory(egui::Memory::focused);
    assert!(focused.is_some(), "{kind:?}: no field has the keyboard");
    let before = window.project().clone();
    let (name, text) = walk.wrong.unwrap_or(walk.right[0]);
    fill(&mut window, (name, text));
    if walk.wrong.is_some() {
        window.press(Key::Enter);
        window.settle();
        assert_eq!(window.project(), &before, "{kind:?} recorded '{text}'");
        assert!(open(&window), "{kind:?} closed over '{text}'");
    }
    assert_eq!(
        value(&window, name).as_deref(),
        Some(text),
        "{kind:?} lost what was typed"
    );
    // To another screen, and back.
    window.press_with(Modifiers::COMMAND, Key::Num7);
    window.settle();
    if let Some(Press::Page(Role::Tab, page)) = walk.open.first() {
        go(&mut window, &Press::Page(Role::Tab, page));
    } else {
        window.press_with(Modifiers::COMMAND, walk.screen);
    }
    window.settle();
    assert_eq!(
        value(&window, name).as_deref(),
        Some(text),
        "{kind:?} forgot what was typed on another screen"
    );
    assert_eq!(window.project(), &before, "{kind:?} recorded by leaving");
    for (nth, typed) in walk.right.iter().enumerate() {
        fill(&mut window, *typed);
        if nth + 1 < walk.right.len() {
            window.press(Key::Tab);
        }
    }
    let enter = if walk.lines {
        Modifiers::COMMAND
    } else {
        Modifiers::NONE
    };
    // A field with a list takes what fits at the first Enter, and records at the second; a file is read anew first.
    let enters = if file.is_some() { 40 } else { 2 };
    for _ in 0..enters {
        if open(&window) {
            window.press_with(enter, Key::Enter);
            window.settle();
        }
    }
    assert!(
        window.project() != &before,
        "{kind:?} doesn't record by Enter: {}",
        window.notice()
    );
    // A batch that is planned leads on to the form that fills it.
    assert!(
        kind == FormKind::PlanBatch || !open(&window),
        "{kind:?} stays open once it is recorded"
    );
    window.press_with(Modifiers::COMMAND, Key::Z);
    window.settle();
    assert_eq!(window.project(), &before, "{kind:?} isn't undone whole");
}

#[test]
fn every_form_keeps_what_is_typed_until_it_is_recorded_by_enter_and_undone() {
    let mut failed = Vec::new();
    for kind in FormKind::ALL {
        let walked = std::panic::catch_unwind(|| walk_through(kind));
        if walked.is_err() {
            failed.push(kind);
        }
    }
    assert!(failed.is_empty(), "{failed:?}");
}
