//! Every screen and a record of each kind at usual sizes, and at 1024×700 with text at 200 %: all of it can be reached,
//! no label of a button is cut, nothing is written over anything else, and what is pressed is large enough.
//!
//! `BINEWRIGHT_LAYOUT=1` looks at more sizes, `BINEWRIGHT_LAYOUT=512x350` at this one alone;
//! `BINEWRIGHT_LAYOUT_OF='Chill'` looks at this screen.

use crate::window::{Window, today};
use desktop::view::Screen;
use domain::{AnyId, Project};
use egui::epaint::{ClippedShape, TextShape};
use egui::{Key, Pos2, Rect, Role, Shape, Vec2, vec2};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use kit::theme::space;
use std::collections::BTreeSet;

/// What is pressed or typed into on a page.
const CONTROLS: [Role; 13] = [
    Role::Button,
    Role::CheckBox,
    Role::RadioButton,
    Role::ComboBox,
    Role::TextInput,
    Role::MultilineTextInput,
    Role::Tab,
    Role::Slider,
    Role::Link,
    Role::MenuItem,
    Role::ColumnHeader,
    Role::DisclosureTriangle,
    Role::Row,
];

/// What is read on a page.
const READ: [Role; 3] = [Role::Label, Role::Heading, Role::Status];

/// The least width and height of what is pressed (WCAG 2.2, success criterion 2.5.8, W3C 2023), less what rounding to
/// pixels may take.
const LEAST: f32 = 23.9;

/// 1024×700 with text at 200 %: half as many points each way.
const TWICE: Vec2 = vec2(512.0, 350.0);

/// A usual window, and 2560×1440 at scale 2.
const USUAL: Vec2 = vec2(1280.0, 720.0);

/// A line of text as it is painted, and what of it is seen.
struct Painted<'a> {
    text: &'a TextShape,
    whole: Rect,
    seen: Rect,
}

fn painted<'a>(shapes: &'a [ClippedShape], all: &mut Vec<Painted<'a>>) {
    fn gather<'a>(shape: &'a Shape, clip: Rect, all: &mut Vec<Painted<'a>>) {
        match shape {
            Shape::Vec(shapes) => {
                for shape in shapes {
                    gather(shape, clip, all);
                }
            }
            Shape::Text(text) if !text.galley.text().trim().is_empty() && text.angle == 0.0 => {
                // Line by line: a text may begin in the middle of one.
                for row in &text.galley.rows {
                    let mesh = row.visuals.mesh_bounds;
                    if mesh.is_positive() {
                        let whole = mesh.translate(text.pos.to_vec2() + row.pos.to_vec2());
                        all.push(Painted {
                            text,
                            whole,
                            seen: whole.intersect(clip),
                        });
                    }
                }
            }
            _ => {}
        }
    }
    for clipped in shapes {
        gather(&clipped.shape, clipped.clip_rect, all);
    }
}

/// The part of the window that a point lies in.
#[derive(PartialEq)]
enum Part {
    Top,
    Foot,
    Side,
    Page,
}

/// What a control or a text is called by those who hear the page.
fn heard(node: &egui_kittest::Node<'_>) -> String {
    let node = node.accesskit_node();
    node.label().or_else(|| node.value()).unwrap_or_default()
}

/// What stands on the page of this name, looked at.
struct Page<'a> {
    window: &'a mut Window,
    name: String,
    size: Vec2,
    faults: BTreeSet<String>,
    seen: usize,
}

impl Page<'_> {
    fn found(&self, roles: &[Role]) -> Vec<(Role, String, Rect)> {
        let mut found = Vec::new();
        for &role in roles {
            for node in self.window.harness.query_all_by_role(role) {
                found.push((role, heard(&node), node.rect()));
            }
        }
        found
    }

    fn fault(&mut self, words: &str) {
        self.faults.insert(format!("{}: {words}", self.name));
    }

    fn part(&self, at: Pos2) -> Part {
        let narrow = self.size.x < space::NARROW;
        let side = if narrow {
            space::SIDEBAR_NARROW
        } else {
            space::SIDEBAR
        };
        if at.y < space::TOP_BAR - 2.0 {
            Part::Top
        } else if at.y > self.size.y - space::KEY_STRIP {
            Part::Foot
        } else if at.x < side {
            Part::Side
        } else {
            Part::Page
        }
    }

    /// What is pressed is large enough for a finger in a glove.
    fn is_large_enough(&mut self) {
        for (role, name, rect) in self.found(&CONTROLS) {
            if rect.width() < LEAST || rect.height() < LEAST {
                let (width, height) = (rect.width(), rect.height());
                self.fault(&format!("{role:?} '{name}' is {width:.0}×{height:.0}"));
            }
        }
    }

    /// No label of a button is cut, and no text lies over another.
    fn is_legible(&mut self) {
        let controls = self.found(&CONTROLS);
        let output = self.window.harness.output();
        let mut texts = Vec::new();
        painted(&output.shapes, &mut texts);
        let mut faults = Vec::new();
        for piece in &texts {
            if piece.seen.width() < 1.0 || piece.seen.height() < 4.0 {
                continue;
            }
            let words = piece.text.galley.text();
            let part = self.part(piece.whole.center());
            let on = controls
                .iter()
                .filter(|(role, ..)| matches!(role, Role::Button | Role::RadioButton | Role::Tab))
                // What lies under the bar above or the strip below is heard there, but not seen.
                .filter(|(_, _, rect)| part == Part::Page && self.part(rect.center()) == Part::Page)
                // What was scrolled under a field that stays is heard there, but not seen.
                .filter(|_| {
                    let mut fields = controls.iter().filter(|each| each.0 == Role::TextInput);
                    !fields.any(|(_, _, field)| field.contains(piece.whole.center()))
                })
                .find(|(_, _, rect)| rect.contains(piece.whole.center()));
            if let Some((_, name, rect)) = on {
                let beside = piece.whole.left() < rect.left() - 1.5
                    || piece.whole.right() > rect.right() + 1.5;
                // What a row tells beside its name is read on its page too.
                let is_name = name.starts_with(words.chars().take(4).collect::<String>().as_str());
                if piece.text.galley.elided && !is_name {
                    continue;
                }
                if piece.text.galley.elided {
                    faults.push(format!("'{name}' is cut to '{words}'"));
                // The drawing of a family tree writes beside its marks.
                } else if beside && !name.starts_with("Family ") {
                    let (text, rect) = (piece.whole, *rect);
                    faults.push(format!("'{words}' {text:?} runs out of '{name}' {rect:?}"));
                }
            }
        }
        for (nth, one) in texts.iter().enumerate() {
            for other in &texts[nth + 1..] {
                let shared = one.seen.shrink(1.5).intersect(other.seen.shrink(1.5));
                let same = std::ptr::eq(one.text, other.text);
                if !same && shared.width() > 2.0 && shared.height() > 2.0 {
                    let (one, other) = (one.text.galley.text(), other.text.galley.text());
                    faults.push(format!("'{one}' and '{other}' lie over each other"));
                }
            }
        }
        self.seen += texts.len();
        for words in faults {
            self.fault(&words);
        }
    }

    /// What is pressed and isn't in the window can be moved into it; what is read doesn't run out at the right.
    fn is_within_reach(&mut self) {
        let all = Rect::from_min_size(Pos2::ZERO, self.size).expand(1.0);
        let beyond =
            |rect: Rect| rect.left() < 0.0 && rect.right() <= 0.0 || !all.contains(rect.center());
        let cut =
            |rect: Rect| rect.right() > all.right() && all.y_range().contains(rect.center().y);
        let mut asked = BTreeSet::new();
        let mut controls = self.found(&CONTROLS);
        // A table is moved both ways by itself, by the keys of its rows.
        let in_table = |role| matches!(role, Role::Row | Role::ColumnHeader);
        controls.retain(|each| beyond(each.2) && !in_table(each.0));
        let texts = self.found(&READ).into_iter().filter(|each| cut(each.2));
        for (role, name, rect) in controls.into_iter().chain(texts).collect::<Vec<_>>() {
            self.seen += 1;
            if !asked.insert(name.clone()) {
                continue;
            }
            let node = self
                .window
                .harness
                .query_all_by_role(role)
                .find(|node| heard(node) == name);
            let Some(node) = node else { continue };
            let before = node.rect();
            if !beyond(before) && !cut(before) {
                continue;
            }
            node.scroll_to_me();
            self.window.harness.run_steps(6);
            let reached = self.found(&[role]).iter().any(|(_, other, now)| {
                let moved = now.left() < before.left() - 1.0;
                *other == name && !beyond(*now) && (!cut(*now) || moved)
            });
            if !reached {
                self.fault(&format!("{role:?} '{name}' at {rect:?} can't be reached"));
            }
        }
    }
}

/// The first record of each kind that has a place of its own.
fn first_of_each(project: &Project) -> Vec<(&'static str, AnyId)> {
    let first = [
        (
            "a plant",
            project.genotypes().iter().next().map(|each| each.id.into()),
        ),
        (
            "a cross",
            project.crosses().iter().next().map(|each| each.id.into()),
        ),
        (
            "a lot",
            project.seed_lots().iter().next().map(|each| each.id.into()),
        ),
        (
            "a batch",
            project
                .chill_batches()
                .iter()
                .next()
                .map(|each| each.id.into()),
        ),
        (
            "a box",
            project
                .chill_boxes()
                .iter()
                .next()
                .map(|each| each.id.into()),
        ),
        (
            "a germination",
            project
                .germinations()
                .iter()
                .last()
                .map(|each| each.id.into()),
        ),
        (
            "a log",
            project
                .temperature_logs()
                .iter()
                .next()
                .map(|each| each.id.into()),
        ),
        (
            "a sample",
            project.samples().iter().next().map(|each| each.id.into()),
        ),
    ];
    first
        .into_iter()
        .filter_map(|(name, id)| id.map(|id| (name, id)))
        .collect()
}

/// Looks at every screen, each page of it, and a record of each kind, at this size.
fn faults_at(points: Vec2) -> (BTreeSet<String>, usize) {
    let project = sample::sample_project(today()).unwrap();
    let mut window = Window::on(&project, Key::Num1);
    window.harness.set_size(points);
    window.settle();
    assert_eq!(window.harness.ctx.content_rect().size(), points);
    let (mut faults, mut seen) = (BTreeSet::new(), 0);
    let mut look = |window: &mut Window, name: String| {
        // What a worker brings.
        std::thread::sleep(std::time::Duration::from_millis(20));
        window.settle();
        let mut page = Page {
            window,
            name,
            size: points,
            faults: BTreeSet::new(),
            seen: 0,
        };
        page.is_large_enough();
        page.is_legible();
        page.is_within_reach();
        seen += page.seen;
        faults.append(&mut page.faults);
    };
    let only = std::env::var("BINEWRIGHT_LAYOUT_OF").ok();
    let is_looked_at = |title: &str| only.as_deref().is_none_or(|only| only == title);
    for screen in Screen::ALL {
        if !is_looked_at(screen.title()) {
            continue;
        }
        window.harness.state_mut().go(screen);
        window.settle();
        let pages: Vec<String> = window
            .harness
            .query_all_by_role(Role::RadioButton)
            .filter_map(|node| node.accesskit_node().label())
            .collect();
        look(&mut window, screen.title().to_owned());
        for name in pages {
            let buttons = window
                .harness
                .query_all_by_role_and_label(Role::RadioButton, &name);
            if buttons.count() == 1 {
                window.click(Role::RadioButton, &name);
                look(&mut window, format!("{}, {name}", screen.title()));
            }
        }
    }
    for (name, id) in first_of_each(&project) {
        if !is_looked_at(name) {
            continue;
        }
        window.harness.state_mut().show_record(id);
        window.settle();
        look(&mut window, format!("the page of {name}"));
    }
    (faults, seen)
}

fn sizes() -> Vec<Vec2> {
    match std::env::var("BINEWRIGHT_LAYOUT").as_deref() {
        Err(_) => vec![TWICE, USUAL],
        Ok(told) => match told.split_once('x') {
            Some((width, height)) => vec![vec2(width.parse().unwrap(), height.parse().unwrap())],
            None => vec![TWICE, vec2(640.0, 360.0), vec2(1024.0, 700.0), USUAL],
        },
    }
}

#[test]
fn at_usual_sizes_and_at_twice_the_size_of_text_all_is_legible_and_within_reach() {
    let mut all = Vec::new();
    for size in sizes() {
        let (faults, seen) = faults_at(size);
        assert!(
            seen > 1000 || std::env::var("BINEWRIGHT_LAYOUT_OF").is_ok(),
            "{seen}"
        );
        if !faults.is_empty() {
            all.push(format!("{size:?}, {}:", faults.len()));
            all.extend(faults);
        }
    }
    assert!(all.is_empty(), "{}", all.join("\n"));
}
