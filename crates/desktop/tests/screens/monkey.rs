//! A monkey at the window: a random walk over everything that can be heard, pressed and typed into, with what must hold
//! after every step. `BINEWRIGHT_MONKEY=20000` walks that many steps, `BINEWRIGHT_MONKEY_SEED=7` begins with that seed.
//!
//! It presses, double-clicks, types, drags, resizes, moves the clock, and lets saves fail.
//!
//! What it holds: nothing panics; a control that is pressed is where it was when it is let go; what was typed is in the
//! project, in a draft, or in sight; what an act changes was named on screen when it was pressed; a window left alone
//! asks for no frame; and all of it undone gives back the equal project.

use crate::chill::{started, with_lots};
use crate::crosses::with_cross;
use crate::form_walk::in_warmth;
use crate::plants::yard;
use crate::window::{Window, begun};
use binewright_dice::Dice;
use domain::compare::Comparison;
use domain::{AnyId, Project};
use egui::{Event, Key, Modifiers, PointerButton, Pos2, Rect, Role, vec2};
use egui_kittest::kittest::NodeT as _;

/// The dice of these walks.
mod binewright_dice {
    /// Repeatable random numbers: `SplitMix64` (Steele, Lea & Flood 2014, "Fast splittable pseudorandom number
    /// generators", Fig. 17).
    pub(super) struct Dice(pub(super) u64);

    impl Dice {
        pub(super) fn below(&mut self, bound: usize) -> usize {
            self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
            let mut z = self.0;
            z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
            z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
            ((z ^ (z >> 31)) % bound.max(1) as u64) as usize
        }

        pub(super) fn pick<'a, T>(&mut self, among: &'a [T]) -> &'a T {
            &among[self.below(among.len())]
        }
    }
}

/// What can be pressed.
const PRESSED: [Role; 11] = [
    Role::Button,
    Role::CheckBox,
    Role::RadioButton,
    Role::ComboBox,
    Role::Link,
    Role::Tab,
    Role::Row,
    Role::ListBoxOption,
    Role::ColumnHeader,
    Role::DisclosureTriangle,
    Role::TextInput,
];

/// Sense and nonsense to type.
const TYPED: [&str; 12] = [
    "3",
    "0",
    "-7",
    "12,5",
    "999999999999",
    "5 sep",
    "2026-02-30",
    "yesterday",
    "♀ Ž\u{301}",
    "=1+1",
    "   ",
    "F-01",
];

/// Each walk begins afresh after so many steps: its seed tells the whole of it.
const LENGTH: usize = 250;

/// Keys that may be pressed at any time.
const KEYS: [(Modifiers, Key); 30] = [
    (Modifiers::NONE, Key::Tab),
    (Modifiers::SHIFT, Key::Tab),
    (Modifiers::NONE, Key::Enter),
    (Modifiers::NONE, Key::Escape),
    (Modifiers::NONE, Key::Space),
    (Modifiers::NONE, Key::ArrowDown),
    (Modifiers::NONE, Key::ArrowUp),
    (Modifiers::NONE, Key::ArrowRight),
    (Modifiers::SHIFT, Key::ArrowDown),
    (Modifiers::NONE, Key::Home),
    (Modifiers::NONE, Key::Backspace),
    (Modifiers::NONE, Key::Delete),
    (Modifiers::NONE, Key::OpenBracket),
    (Modifiers::NONE, Key::CloseBracket),
    (Modifiers::NONE, Key::D),
    (Modifiers::NONE, Key::F),
    (Modifiers::NONE, Key::M),
    (Modifiers::NONE, Key::X),
    (Modifiers::NONE, Key::L),
    (Modifiers::COMMAND, Key::Z),
    (Modifiers::COMMAND, Key::A),
    (Modifiers::COMMAND, Key::F),
    (Modifiers::COMMAND, Key::S),
    (Modifiers::COMMAND, Key::Num1),
    (Modifiers::COMMAND, Key::Num2),
    (Modifiers::COMMAND, Key::Num3),
    (Modifiers::COMMAND, Key::Num4),
    (Modifiers::COMMAND, Key::Num5),
    (Modifiers::COMMAND, Key::Num6),
    (Modifiers::COMMAND, Key::Num0),
];

/// Left alone: what closes the project, or hands it to another program.
fn is_left_alone(label: &str) -> bool {
    [
        "Close project",
        "Quit",
        "Exit",
        "New project",
        "Open",
        "Save",
        "File",
    ]
    .iter()
    .any(|word| label.starts_with(word))
}

struct Monkey {
    window: Window,
    dice: Dice,
    begun: Project,
    /// What was done, for the story of a failure.
    told: Vec<String>,
    counts: [usize; 8],
}

/// A control as it is heard.
#[derive(Clone)]
struct Control {
    role: Role,
    label: String,
    rect: Rect,
}

impl Monkey {
    fn controls(&self) -> Vec<Control> {
        let screen = Rect::from_min_size(Pos2::ZERO, self.size());
        let mut controls = Vec::new();
        let mut nodes = vec![self.window.harness.root()];
        while let Some(node) = nodes.pop() {
            let heard = node.accesskit_node();
            let role = heard.role();
            if PRESSED.contains(&role) {
                let rect = node.rect();
                let label = heard.label().unwrap_or_default();
                if screen.contains(rect.center()) && !is_left_alone(&label) {
                    controls.push(Control { role, label, rect });
                }
            }
            nodes.extend(node.children());
        }
        controls
    }

    fn size(&self) -> egui::Vec2 {
        self.window.harness.ctx.content_rect().size()
    }

    /// Everything that can be read or heard at this moment.
    fn in_sight(&self) -> String {
        let mut words = String::new();
        let mut nodes = vec![self.window.harness.root()];
        while let Some(node) = nodes.pop() {
            let heard = node.accesskit_node();
            for each in [heard.label(), heard.value()].into_iter().flatten() {
                words.push_str(&each);
                words.push('\n');
            }
            nodes.extend(node.children());
        }
        words
    }

    fn frame(&mut self, events: impl IntoIterator<Item = Event>) {
        self.window.harness.input_mut().events.extend(events);
        self.window.harness.step();
    }

    fn button(at: Pos2, pressed: bool) -> [Event; 2] {
        let press = Event::PointerButton {
            pos: at,
            button: PointerButton::Primary,
            pressed,
            modifiers: Modifiers::NONE,
        };
        [Event::PointerMoved(at), press]
    }

    /// Presses and lets go of one control, which may not move meanwhile.
    fn press(&mut self, control: &Control, times: usize) {
        let at = control.rect.center();
        self.frame([Event::PointerMoved(at)]);
        for _ in 0..times {
            self.frame(Self::button(at, true));
            let still = self.controls();
            let mut same = still
                .iter()
                .filter(|each| each.role == control.role && each.label == control.label);
            if let Some(first) = same.clone().next() {
                let stays = same.any(|each| (each.rect.center() - at).length() < 1.5);
                assert!(
                    stays || times > 1,
                    "'{}' moved from {at:?} to {:?} between press and release",
                    control.label,
                    first.rect.center()
                );
            }
            self.frame(Self::button(at, false));
        }
    }

    fn step(&mut self, nth: usize) {
        let before = self.window.project().clone();
        let seen = self.in_sight();
        let controls = self.controls();
        let choice = self.dice.below(24);
        let mut free = false;
        match choice {
            0..=9 => {
                let control = self.dice.pick(&controls).clone();
                let times = if choice == 0 { 2 } else { 1 };
                self.told.push(format!("{nth}: {times}× {}", control.label));
                self.press(&control, times);
                self.counts[0] += 1;
            }
            10..=14 => self.type_somewhere(nth, &controls),
            15..=18 => {
                let (modifiers, key) = *self.dice.pick(&KEYS);
                self.told.push(format!("{nth}: {modifiers:?} {key:?}"));
                free = key == Key::Z;
                self.window.harness.key_press_modifiers(modifiers, key);
                self.window.harness.step();
                self.counts[2] += 1;
            }
            19..=20 => self.drag(nth, &controls),
            21 => {
                let days = self.dice.below(5) as i64 - 1;
                let day = domain::date::shift(self.window.clock.get(), days);
                self.told.push(format!("{nth}: the clock goes to {day}"));
                self.window.clock.set(day);
                self.counts[6] += 1;
            }
            22 => self.save_in_vain(nth),
            _ => {
                let sizes = [[1024.0, 700.0], [1280.0, 720.0], [1600.0, 900.0]];
                let [width, height] = *self.dice.pick(&sizes);
                self.told.push(format!("{nth}: {width}×{height}"));
                self.window.harness.set_size(vec2(width, height));
                self.counts[3] += 1;
            }
        }
        self.settles();
        if self.is_elsewhere() {
            // A menu reached by keys closed the project or opened the sample: nothing of that project was touched, and
            // what is open now is another's.
            let path = self.window.path();
            self.window.harness.state_mut().open_path(&path);
            self.window.settle();
            // What was done before can't be undone in a file that is opened anew.
            self.begun = self.window.project().clone();
        } else if !free {
            self.only_what_was_named(&before, &seen);
        }
    }

    /// Whether the project of this walk isn't the one that is open.
    fn is_elsewhere(&self) -> bool {
        let open = self.window.harness.state().project();
        open.is_none_or(|open| open.path() != self.window.path())
    }

    /// Takes hold of a control, carries it elsewhere, and lets go there.
    fn drag(&mut self, nth: usize, controls: &[Control]) {
        let control = self.dice.pick(controls).clone();
        let (from, size) = (control.rect.center(), self.size());
        let to = Pos2::new(
            self.dice.below(size.x as usize) as f32,
            self.dice.below(size.y as usize) as f32,
        );
        self.told
            .push(format!("{nth}: {} dragged to {to:?}", control.label));
        self.frame(Self::button(from, true));
        for part in [0.2, 0.6, 1.0] {
            self.frame([Event::PointerMoved(from + part * (to - from))]);
        }
        self.frame(Self::button(to, false));
        self.counts[5] += 1;
    }

    /// Saves while the folder is not where it was, as on a stick that was pulled out.
    fn save_in_vain(&mut self, nth: usize) {
        self.told.push(format!("{nth}: a save fails"));
        let folder = self.window.folder().to_owned();
        let away = folder.with_extension("away");
        std::fs::rename(&folder, &away).unwrap();
        self.window
            .harness
            .key_press_modifiers(Modifiers::COMMAND, Key::S);
        for _ in 0..6 {
            self.window.harness.step();
            std::thread::sleep(std::time::Duration::from_millis(5));
        }
        std::fs::rename(&away, &folder).unwrap();
        let open = self.window.harness.state().project();
        assert!(
            open.is_some(),
            "the project is open after a save that failed"
        );
        self.counts[7] += 1;
    }

    /// Types into a field, and leaves it or not.
    fn type_somewhere(&mut self, nth: usize, controls: &[Control]) {
        let fields: Vec<_> = controls
            .iter()
            .filter(|each| each.role == Role::TextInput)
            .collect();
        if fields.is_empty() {
            return;
        }
        let field = (*self.dice.pick(&fields)).clone();
        self.press(&field, 1);
        self.window
            .harness
            .key_press_modifiers(Modifiers::COMMAND, Key::A);
        self.window.harness.step();
        // What lies under the edge of a page can be heard but not pressed: the keyboard isn't in it then.
        if !self.window.harness.ctx.text_edit_focused() {
            return;
        }
        // A word like no other, so that it can be looked for afterwards.
        let marked = self.dice.below(2) == 0;
        let text = if marked {
            format!("zq{nth}x")
        } else {
            (*self.dice.pick(&TYPED)).to_owned()
        };
        self.told
            .push(format!("{nth}: '{text}' into {}", field.label));
        self.window.harness.event(Event::Text(text.clone()));
        self.window.harness.step();
        let leaves = [Key::Tab, Key::Enter, Key::F35];
        let leave = *self.dice.pick(&leaves);
        if leave != Key::F35 {
            self.window.harness.key_press(leave);
        }
        self.window.settle();
        self.counts[1] += 1;
        if marked && leave != Key::Enter {
            self.is_somewhere(&text, &field.label);
        }
    }

    /// What was typed is in the project, in a draft, in the preferences (a person's own name) or in sight.
    fn is_somewhere(&self, text: &str, field: &str) {
        let open = self.window.harness.state().project();
        let Some(open) = open else { return };
        let in_project = format!("{:?}", open.project()).contains(text);
        let drafts = open.drafts().lock();
        let in_drafts = drafts.is_ok_and(|drafts| drafts.to_text().contains(text));
        let name = &self.window.harness.state().preferences().who;
        let seen = self.in_sight();
        assert!(
            in_project || in_drafts || name.contains(text) || seen.contains(text),
            "'{text}', typed into '{field}', is nowhere"
        );
    }

    /// A record that was changed was named on screen before; what is new need not be.
    fn only_what_was_named(&self, before: &Project, seen: &str) {
        let Some(open) = self.window.harness.state().project() else {
            return;
        };
        let after = open.project();
        if before.revision() == after.revision() {
            return;
        }
        let change = Comparison::between(before, after).into_edit("this step");
        for id in change.touches() {
            let owner = before.owner(id).unwrap_or(id);
            let Some(code) = name_of(before, id).or_else(|| name_of(before, owner)) else {
                continue;
            };
            // What takes a new name back is offered by the old one.
            let other = name_of(after, owner).unwrap_or_default();
            let told: String = format!("{change:?}").chars().take(2_000).collect();
            assert!(
                seen.contains(&code) || !other.is_empty() && seen.contains(&other),
                "{code} was changed, and was not in sight: {told}; the notice now is '{}'",
                self.window.notice()
            );
        }
    }

    /// A window left alone asks for no frame.
    fn settles(&mut self) {
        for _ in 0..40 {
            if self.window.harness.try_run().is_ok() {
                return;
            }
            std::thread::sleep(std::time::Duration::from_millis(5));
        }
        panic!("the window never comes to rest");
    }

    fn undo_all(&mut self) {
        let Some(open) = self.window.harness.state_mut().project_mut() else {
            return;
        };
        while open.undo().unwrap().is_some() {
            self.counts[4] += 1;
        }
        assert_eq!(
            open.project(),
            &self.begun,
            "undoing everything gives back the project"
        );
    }
}

fn name_of(project: &Project, id: AnyId) -> Option<String> {
    project
        .code(id)
        .filter(|code| !code.is_empty())
        .map(str::to_owned)
}

/// One walk; a failure is the reason for it and the last steps that led there.
fn walk(project: &Project, screen: Key, seed: u64, steps: usize) -> Result<[usize; 8], String> {
    let window = Window::on(project, screen);
    let mut monkey = Monkey {
        begun: window.project().clone(),
        window,
        dice: Dice(seed),
        told: Vec::new(),
        counts: [0; 8],
    };
    let walked = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
        for nth in 0..steps {
            monkey.step(nth);
        }
        monkey.undo_all();
    }));
    walked.map(|()| monkey.counts).map_err(|why| {
        let words = why.downcast_ref::<String>().cloned();
        let words = words.or_else(|| why.downcast_ref::<&str>().map(|words| (*words).to_owned()));
        let from = monkey.told.len().saturating_sub(12);
        let story = monkey.told[from..].join("\n");
        format!("seed {seed}: {}\n{story}", words.unwrap_or_default())
    })
}

fn number(name: &str, otherwise: usize) -> usize {
    let told = std::env::var(name).ok();
    told.and_then(|told| told.parse().ok()).unwrap_or(otherwise)
}

/// Where a walk begins: each seed takes the next of them.
fn begins(seed: u64) -> (Project, Key) {
    match seed % 8 {
        0 => (
            sample::sample_project(crate::window::today()).unwrap(),
            Key::Num1,
        ),
        1 => (in_warmth(), Key::Num1),
        2 => (yard().0, Key::Num2),
        3 => (with_cross(), Key::Num3),
        4 => (started("2026-03-01").0, Key::Num5),
        5 => (yard().0, Key::Num6),
        6 => (with_lots().0, Key::Num4),
        _ => (begun().0, Key::Num1),
    }
}

#[test]
fn a_random_walk_over_every_control_loses_nothing_and_touches_only_what_is_in_sight() {
    let steps = number("BINEWRIGHT_MONKEY", 400);
    let seed = number("BINEWRIGHT_MONKEY_SEED", 1) as u64;
    let length = number("BINEWRIGHT_MONKEY_LENGTH", LENGTH.min(steps.div_ceil(8)));
    let mut counts = [0; 8];
    let mut failures = Vec::new();
    for seed in seed..seed + steps.div_ceil(length) as u64 {
        let (project, screen) = begins(seed);
        match walk(&project, screen, seed, length) {
            Ok(walked) => {
                for (all, one) in counts.iter_mut().zip(walked) {
                    *all += one;
                }
            }
            Err(story) => failures.push(story),
        }
    }
    let [presses, texts, keys, sizes, undone, drags, clocks, saves] = counts;
    println!(
        "{steps} steps: {presses} presses, {texts} texts, {keys} keys, {sizes} sizes, {drags} drags, {clocks} moves of the clock, \
         {saves} saves that fail; {undone} edits undone; {} walks failed",
        failures.len()
    );
    assert!(failures.is_empty(), "{}", failures.join("\n\n"));
    assert!(
        presses + texts + keys + sizes + drags + clocks + saves > steps / 2,
        "most steps do something"
    );
}
