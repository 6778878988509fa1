//! A scanner that types: a code written faster than a hand can, and Enter. On any screen it opens its record; in a field
//! that is typed into it is text like any other.
//!
//! What is pressed where nothing is typed into is held back for a moment, so that the digits of a code don't score
//! plants and its letters don't cull them. A hand never notices; what turns out not to be a code is let go in order.

use super::{App, Notice};
use crate::screens::measure;
use crate::view::Screen;
use domain::{AnyId, Genotype};
use egui::{Context, Event, Key};
use std::time::Duration;

/// Between two signs of a scanner there are fewer seconds than this.
const GAP: f64 = 0.05;

/// A code has so many signs at least.
const SHORTEST: usize = 3;

/// What is held back.
#[derive(Default)]
pub(super) struct State {
    held: Vec<Event>,
    first: f64,
    last: f64,
}

impl State {
    /// Listens to what is pressed in this frame; the code, if one was scanned. `resting` lets everything through.
    fn listen(&mut self, ctx: &Context, resting: bool) -> Option<String> {
        let now = ctx.input(|input| input.time);
        let mut events = ctx.input_mut(|input| std::mem::take(&mut input.events));
        let mut scanned = None;
        if resting {
            events.splice(0..0, self.held.drain(..));
        } else {
            let mut free = Vec::new();
            for event in events {
                if !self.held.is_empty() && now - self.last > GAP {
                    free.append(&mut self.held);
                }
                if !(begins(&event) || (!self.held.is_empty() && is_typed(&event))) {
                    free.push(event);
                    continue;
                }
                if self.held.is_empty() {
                    self.first = now;
                }
                let ends = is_enter(&event);
                self.held.push(event);
                self.last = now;
                if ends {
                    let code = self.code();
                    if let Some(code) = code {
                        self.held.clear();
                        scanned = Some(code);
                    } else {
                        free.append(&mut self.held);
                    }
                }
            }
            if !self.held.is_empty() && now - self.last > GAP {
                free.append(&mut self.held);
            }
            events = free;
        }
        ctx.input_mut(|input| input.events = events);
        if !self.held.is_empty() {
            ctx.request_repaint_after(Duration::from_secs_f64(GAP));
        }
        scanned
    }

    /// What is held, if it was written as fast as a scanner writes.
    fn code(&self) -> Option<String> {
        let text: String = self
            .held
            .iter()
            .filter_map(|event| match event {
                Event::Text(text) => Some(text.as_str()),
                _ => None,
            })
            .collect();
        let signs = text.chars().count();
        let fast = self.last - self.first <= GAP * signs as f64;
        (signs >= SHORTEST && fast).then(|| text.trim().to_owned())
    }
}

/// Whether a code can begin with it.
fn begins(event: &Event) -> bool {
    match event {
        Event::Text(text) => text.chars().all(|sign| !sign.is_whitespace()),
        Event::Key {
            key,
            pressed,
            modifiers,
            ..
        } => *pressed && !modifiers.command && !modifiers.alt && is_sign(*key),
        _ => false,
    }
}

/// A key that writes a letter or a figure.
fn is_sign(key: Key) -> bool {
    let name = key.name();
    name.len() == 1 && name.bytes().all(|byte| byte.is_ascii_alphanumeric())
}

const fn is_typed(event: &Event) -> bool {
    matches!(event, Event::Text(_) | Event::Key { .. })
}

const fn is_enter(event: &Event) -> bool {
    matches!(
        event,
        Event::Key {
            key: Key::Enter,
            pressed: true,
            ..
        }
    )
}

impl App {
    /// Opens the record whose code a scanner wrote.
    pub(super) fn scan(&mut self, ctx: &Context) {
        let on_grid = self.screens.current == Screen::Measure && measure::has_keys(ctx);
        let resting =
            self.open.is_none() || self.overlay.is_some() || (ctx.text_edit_focused() && !on_grid);
        let Some(code) = self.scanner.listen(ctx, resting) else {
            return;
        };
        let Some(open) = &self.open else { return };
        let found: Option<AnyId> = open.project().find_code(&code).next();
        match found {
            None => {
                let sentence =
                    format!("No record has the code {code}. Was it from another project?");
                self.notice = Some(Notice::refused(sentence));
            }
            Some(id) => match id.typed::<Genotype>() {
                Some(plant) if self.screens.current == Screen::Measure => {
                    measure::scanned(&mut self.screens.measure, plant);
                }
                _ => self.show_record(id),
            },
        }
        ctx.request_repaint();
    }
}
