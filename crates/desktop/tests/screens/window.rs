//! The whole window on a small project in a folder of its own, driven by accessible names.

use chrono::NaiveDate;
use desktop::app::{App, Places};
use desktop::open_project::OpenProject;
use desktop::preferences::Preferences;
use domain::{
    Edit, Genotype, Hemisphere, Id, IdSource, Origin, Project, Sex, SexBasis, SexRecord, actions,
};
use egui::{Key, Modifiers, Role};
use egui_kittest::{
    Harness,
    kittest::{NodeT as _, Queryable as _},
};
use kit::theme::Theme;
use std::cell::Cell;
use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::time::{Duration, Instant};

/// How long a worker may take on a machine that has much else to do.
pub(crate) const PATIENCE: Duration = Duration::from_mins(2);

/// The window, and the folder its project lives in.
pub(crate) struct Window {
    pub(crate) harness: Harness<'static, App>,
    folder: tempfile::TempDir,
    /// The day by the clock; a test may move it.
    pub(crate) clock: Clock,
}

/// The day by the clock of a window.
pub(crate) type Clock = Rc<Cell<NaiveDate>>;

/// A clock that stands at [`today`], and the window's way to read it.
fn clock() -> (Clock, desktop::app::Today) {
    let clock: Clock = Rc::new(Cell::new(today()));
    let read = Rc::clone(&clock);
    (clock, Box::new(move || read.get()))
}

/// The day it is in these tests.
pub(crate) fn today() -> NaiveDate {
    day("2026-03-10")
}

pub(crate) fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// A project just begun, with identities for what the test adds.
pub(crate) fn begun() -> (Project, IdSource) {
    let mut ids = IdSource::new(1_770_000_000_000, 7);
    let mut project = Project::default();
    project
        .apply(actions::begin_project(
            "Tarn yard",
            Hemisphere::Northern,
            &mut ids,
        ))
        .unwrap();
    (project, ids)
}

/// Adds a founder of this code and sex.
pub(crate) fn founder(
    project: &mut Project,
    ids: &mut IdSource,
    code: &str,
    sex: Option<Sex>,
) -> Id<Genotype> {
    let origin = Origin::Founder {
        source: "a neighbour".into(),
        permission: "free use".into(),
        protected: false,
        imported: false,
    };
    let id = ids.next();
    let sex = sex.map(|sex| SexRecord {
        sex,
        basis: SexBasis::Stated,
        date: None,
    });
    project
        .apply(Edit::add(Genotype {
            sex,
            ..Genotype::new(id, code, origin)
        }))
        .unwrap();
    id
}

fn in_harness(app: App) -> Harness<'static, App> {
    Harness::builder()
        .with_size([1280.0, 720.0])
        .with_max_steps(12)
        .with_context_setup(|ctx| Theme::Light.apply(ctx))
        .build_ui_state(|ui, app: &mut App| app.show(ui), app)
}

impl Window {
    /// The path of its project.
    pub(crate) fn path(&self) -> PathBuf {
        self.folder().join("yard.binewright")
    }

    /// Another window on the project in this file, as if it were in this one's folder.
    pub(crate) fn another(path: &Path) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let places = Places {
            preferences: None,
            samples: folder.path().join("samples"),
        };
        let (clock, read) = clock();
        let mut app = App::new(Preferences::default(), places, Box::new(|_| None), read);
        app.open_path(path);
        let mut window = Self {
            harness: in_harness(app),
            folder,
            clock,
        };
        window.settle();
        window
    }

    /// A window with nothing open, whose preferences are kept in this folder.
    pub(crate) fn empty(kept_in: &Path) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let places = Places {
            preferences: Some(kept_in.join("preferences.json")),
            samples: folder.path().join("samples"),
        };
        let preferences = Preferences::default();
        let (clock, read) = clock();
        let app = App::new(preferences, places, Box::new(|_| None), read);
        let mut window = Self {
            harness: in_harness(app),
            folder,
            clock,
        };
        window.settle();
        window
    }

    /// A window with this project open on the screen that Ctrl and this key go to.
    pub(crate) fn on(project: &Project, screen: Key) -> Self {
        Self::answering(project, screen, |_| None)
    }

    /// The same; `answer` gives the path that file dialogs answer with, from the project's folder.
    pub(crate) fn answering(
        project: &Project,
        screen: Key,
        answer: impl Fn(&Path) -> Option<PathBuf> + 'static,
    ) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("yard.binewright");
        OpenProject::create(&path, project.clone(), "test")
            .unwrap()
            .finish()
            .unwrap();
        let places = Places {
            preferences: None,
            samples: folder.path().join("samples"),
        };
        let answers: Rc<Path> = folder.path().into();
        let (clock, read) = clock();
        let mut app = App::new(
            Preferences::default(),
            places,
            Box::new(move |_| answer(&answers)),
            read,
        );
        app.open_path(&path);
        let harness = in_harness(app);
        let mut window = Self {
            harness,
            folder,
            clock,
        };
        window.settle();
        window.press_with(Modifiers::COMMAND, screen);
        window
    }

    pub(crate) fn folder(&self) -> &Path {
        self.folder.path()
    }

    pub(crate) fn project(&self) -> &Project {
        self.harness
            .state()
            .project()
            .expect("a project is open")
            .project()
    }

    /// The plant of this code.
    pub(crate) fn plant(&self, code: &str) -> &Genotype {
        let id = self
            .project()
            .find_code(code)
            .find_map(domain::AnyId::typed)
            .unwrap_or_else(|| panic!("no plant {code}"));
        self.project().genotypes().get(id).unwrap()
    }

    /// Makes changes as this person, as if screens had asked for them, and waits until they are on the disk.
    pub(crate) fn change(&mut self, who: &str, make: impl FnOnce(&mut IdSource) -> Vec<Edit>) {
        let mut ids = desktop::open_project::new_ids();
        let open = self.harness.state_mut().project_mut().unwrap();
        open.sign_as(who);
        for edit in make(&mut ids) {
            open.apply(&edit).unwrap();
        }
        open.file().flush().unwrap();
        self.settle();
    }

    /// Saves, and waits until it is said.
    pub(crate) fn save(&mut self) {
        self.press_with(Modifiers::COMMAND, Key::S);
        self.until_saved();
    }

    pub(crate) fn until_saved(&mut self) {
        self.until(|window| window.notice().starts_with("Saved"));
    }

    /// Draws until this is so.
    pub(crate) fn until(&mut self, is_so: impl Fn(&Self) -> bool) {
        let begun = Instant::now();
        while !is_so(self) {
            assert!(begun.elapsed() < PATIENCE, "never: {}", self.notice());
            std::thread::sleep(Duration::from_millis(10));
            self.settle();
        }
    }

    pub(crate) fn notice(&self) -> &str {
        self.harness.state().notice_text().unwrap_or_default()
    }

    pub(crate) fn click(&mut self, role: Role, name: &str) {
        self.harness
            .get_by_role_and_label(role, name)
            .scroll_to_me();
        self.settle();
        self.harness.get_by_role_and_label(role, name).click();
        self.settle();
    }

    /// The whole name of the one button whose name begins so: the button of a form says what it records, of what and
    /// for which day.
    pub(crate) fn button(&self, beginning: &str) -> String {
        let mut names = self
            .harness
            .get_all_by_role(Role::Button)
            .filter_map(|node| node.accesskit_node().label())
            .filter(|name| name.starts_with(beginning));
        let name = names.next();
        name.unwrap_or_else(|| panic!("no button begins '{beginning}'"))
    }

    /// Clicks the one button whose name begins so.
    pub(crate) fn click_button(&mut self, beginning: &str) {
        let name = self.button(beginning);
        self.click(Role::Button, &name);
    }

    /// Replaces the words of a field of a form, and leaves it as Tab does: Enter would record the form.
    pub(crate) fn fill(&mut self, name: &str, text: &str) {
        self.focus(Role::TextInput, name);
        self.retype(text);
        self.press(Key::Tab);
    }

    /// Works for another day from here on.
    pub(crate) fn work_for(&mut self, day: &str) {
        self.harness.state_mut().record_for(self::day(day));
        self.settle();
    }

    /// Presses and lets go of the mouse here, within one frame.
    pub(crate) fn tap(&mut self, at: egui::Pos2) {
        let events = &mut self.harness.input_mut().events;
        events.push(egui::Event::PointerMoved(at));
        for pressed in [true, false] {
            events.push(egui::Event::PointerButton {
                pos: at,
                button: egui::PointerButton::Primary,
                pressed,
                modifiers: Modifiers::NONE,
            });
        }
        self.harness.step();
    }

    /// Whether a form is open: its Cancel is there.
    pub(crate) fn has_form(&self) -> bool {
        let mut cancels = self
            .harness
            .query_all_by_role_and_label(Role::Button, "Cancel");
        cancels.next().is_some()
    }

    pub(crate) fn has(&self, role: Role, name: &str) -> bool {
        self.harness.query_by_role_and_label(role, name).is_some()
    }

    /// Draws until a worker has brought what is waited for.
    pub(crate) fn wait_for(&mut self, role: Role, name: &str) {
        self.until(|window| window.has(role, name));
    }

    /// Draws until what was shown is gone.
    pub(crate) fn wait_without(&mut self, role: Role, name: &str) {
        self.until(|window| !window.has(role, name));
    }

    pub(crate) fn focus(&mut self, role: Role, name: &str) {
        self.harness.get_by_role_and_label(role, name).focus();
        self.settle();
    }

    /// The words in the field that has the keyboard are replaced.
    pub(crate) fn retype(&mut self, text: &str) {
        self.press_with(Modifiers::COMMAND, Key::A);
        self.write(text);
    }

    pub(crate) fn write(&mut self, text: &str) {
        self.harness.event(egui::Event::Text(text.to_owned()));
        self.settle();
    }

    /// Goes to a field, replaces its words, and presses Enter.
    pub(crate) fn enter(&mut self, name: &str, text: &str) {
        self.focus(Role::TextInput, name);
        self.retype(text);
        self.press(Key::Enter);
    }

    /// Chooses from a list that drops down.
    pub(crate) fn choose(&mut self, name: &str, choice: &str) {
        self.click(Role::ComboBox, name);
        self.harness
            .get_by_role_and_label(Role::Button, choice)
            .click();
        self.settle();
    }

    pub(crate) fn press(&mut self, key: Key) {
        self.press_with(Modifiers::NONE, key);
    }

    pub(crate) fn press_with(&mut self, modifiers: Modifiers, key: Key) {
        self.harness.key_press_modifiers(modifiers, key);
        self.settle();
    }

    /// Draws until nothing moves. A worker may ask for one more frame at any time: that is no movement.
    pub(crate) fn settle(&mut self) {
        self.harness.run_steps(3);
    }
}
