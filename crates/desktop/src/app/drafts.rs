//! What is typed and not yet recorded: recorded before a page is left, kept when it can't be, and named.

use super::{App, Notice};
use crate::command::Command;
use crate::open_project::{OpenProject, words_of};
use egui::{Button, Context, Label, ScrollArea, Ui};
use kit::drafts::{self, Shared};
use kit::theme::{muted, space, strong};
use kit::widgets::heading;
use std::sync::PoisonError;

/// From now on, or no longer, fields record what they hold as they are drawn.
pub(super) fn settle(drafts: &Shared, on: bool) {
    let mut drafts = drafts.lock().unwrap_or_else(PoisonError::into_inner);
    drafts.settle(on);
}

impl App {
    /// Fields drawn in this frame keep what they hold in the open project; in a moment of the past, or where nothing
    /// is open, nowhere that lasts.
    pub(super) fn place_drafts(&mut self, ctx: &Context) {
        if let Some(sentence) = self.own.keep(ctx) {
            self.notice = Some(Notice::failed(sentence));
        }
        let Some(open) = &mut self.open else {
            drafts::install(ctx, self.own.shared());
            return;
        };
        if open.moment().is_some() {
            drafts::install(ctx, self.own.shared());
        } else {
            drafts::install(ctx, open.drafts());
        }
        if let Some(sentence) = open.keep_drafts(ctx) {
            self.notice = Some(Notice::failed(sentence));
        }
    }

    /// Forgets what was done on a page that was left.
    pub(super) fn follow_page(&mut self) {
        if self.done_on != self.screens.current {
            self.done_on = self.screens.current;
            self.done.clear();
        }
    }

    /// Takes back one thing that was done.
    pub(super) fn take_back(&mut self, step: u64) {
        let Some(open) = &mut self.open else { return };
        match open.take_back(step) {
            Ok(_) => {
                self.done.retain(|done| done.step != step);
                self.notice = Some(Notice::said("Undone.".into()));
            }
            Err(why) => self.notice = Some(Notice::refused(why)),
        }
    }

    /// Carries out the command that waited, now that fields were asked to record what they hold; what they could not
    /// stays a draft, and is named.
    pub(super) fn run_waiting(&mut self, ctx: &Context) {
        let Some(command) = self.waiting.take() else {
            return;
        };
        if let Some(open) = &self.open {
            settle(open.drafts(), false);
        }
        let drafts = self.open.as_ref().map(OpenProject::not_recorded);
        let drafts = drafts.unwrap_or_default();
        self.run_now(ctx, command);
        if !drafts.is_empty() && command != Command::Save && self.notice.is_none() {
            let words = format!("Kept as a draft, not recorded: {}.", words_of(&drafts));
            self.notice = Some(Notice::said(words));
        }
        if self.closing {
            self.closing = false;
            if self.open.is_none() {
                ctx.send_viewport_cmd(egui::ViewportCommand::Close);
            }
        }
        ctx.request_repaint();
    }

    /// The window is to be closed: true if it can be at once. Otherwise fields record what they hold first, and it
    /// closes by itself.
    pub fn may_close(&mut self, ctx: &Context) -> bool {
        if let Some(sentence) = self.own.write() {
            self.notice = Some(Notice::failed(sentence));
        }
        let Some(open) = &self.open else { return true };
        let typing = !open.not_recorded().is_empty();
        let seen = ctx.input(|input| input.viewport().minimized != Some(true));
        if typing && seen && !self.closing {
            self.closing = true;
            self.run(ctx, Command::Close);
            return false;
        }
        self.close_project();
        self.open.is_none()
    }

    /// Everything that isn't recorded, each to be thrown away. True when it is done with. What was listed when it was
    /// opened stays where it stands, and nothing joins it under a finger.
    pub(super) fn drafts_ui(&mut self, ui: &mut Ui) -> bool {
        heading(ui, "Not recorded yet");
        let Some(open) = &self.open else { return true };
        let pending = open.not_recorded();
        if self.listed.is_empty() {
            self.listed.clone_from(&pending);
        }
        let down = ui.input(|input| input.pointer.any_down());
        for each in pending.iter().filter(|_| !down) {
            match self.listed.iter_mut().find(|listed| listed.is_of(each)) {
                Some(listed) => listed.clone_from(each),
                None => self.listed.push(each.clone()),
            }
        }
        if self.listed.is_empty() {
            ui.label(muted(ui, "Everything that was typed is recorded."));
        }
        let mut away = None;
        let mut show = None;
        ScrollArea::vertical().max_height(360.0).show(ui, |ui| {
            for each in &self.listed {
                let waits = pending.iter().any(|one| one.is_of(each));
                ui.horizontal_wrapped(|ui| {
                    ui.label(strong(&each.words));
                    if !each.text.is_empty() {
                        ui.label(&each.text);
                    }
                });
                let problem = each.problem.as_deref().unwrap_or("Not recorded.");
                let state = if waits {
                    problem
                } else {
                    "Not waiting any more."
                };
                ui.add(Label::new(muted(ui, state)).truncate())
                    .on_hover_text(state);
                ui.horizontal(|ui| {
                    if let Some(screen) = each.screen()
                        && let Some(screen) = crate::view::Screen::ALL
                            .into_iter()
                            .find(|one| one.title() == screen)
                        && ui.button(format!("Go to {}", screen.title())).clicked()
                    {
                        show = Some(screen);
                    }
                    let button = ui.add_enabled(waits, Button::new("Discard"));
                    button.widget_info(|| {
                        let name = format!("Discard the draft: {}", each.words);
                        egui::WidgetInfo::labeled(egui::Role::Button, waits, name)
                    });
                    if button.clicked() {
                        away = Some(each.clone());
                    }
                });
            }
        });
        if let Some(each) = away {
            let mut drafts = open.drafts().lock().unwrap_or_else(PoisonError::into_inner);
            drafts.throw_away(&each);
        }
        ui.add_space(space::S);
        if let Some(screen) = show {
            self.go(screen);
            return true;
        }
        ui.button("Close").clicked()
    }
}
