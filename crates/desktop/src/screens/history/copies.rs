//! Two copies of the project that were edited apart, brought together: what clashes stands side by side, and the
//! person decides.

use crate::record_history::time;
use crate::view::{Outbox, Request, View};
use domain::Edit;
use domain::merge::{Choice, Clash, Conflict, Merge, merge};
use egui::{
    Align, Frame, Label, Layout, Margin, Role, ScrollArea, Stroke, Ui, UiBuilder, WidgetInfo,
};
use kit::fonts::mark;
use kit::theme::{muted, radius, space, strong, tokens};
use kit::widgets::{capital, empty_state, main_button, section_heading};
use kit::worker::Worker;
use std::path::PathBuf;
use std::sync::Arc;
use store::{Base, History};

/// Two copies held together.
struct Met {
    merge: Merge,
    /// What the two began from, in words.
    beginning: String,
    /// Who made each side of each conflict, and when.
    signed: Vec<(String, String)>,
}

/// What the page remembers.
#[derive(Default)]
pub(super) struct State {
    other: Option<PathBuf>,
    worker: Worker<(u64, PathBuf), Result<Met, String>>,
    choices: Vec<Option<Choice>>,
}

pub(super) fn meet(state: &mut State, other: PathBuf) {
    *state = State {
        other: Some(other),
        ..State::default()
    };
}

/// Draws the page.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let Some(other) = state.other.clone() else {
        let sentence = "Merge a copy of this project that was edited elsewhere, for example on the yard computer. \
            Its changes are added here; where both copies changed the same thing, you decide. The other copy is not \
            altered.";
        if empty_state(ui, sentence, "Choose the other copy…") {
            out.ask(Request::ChooseCopy);
        }
        return;
    };
    let key = (view.project.revision(), other.clone());
    let latest = state.worker.follow(ui.ctx(), key, || {
        let (file, store, path) = (
            Arc::clone(view.file),
            view.file.store().clone(),
            view.path.to_owned(),
        );
        let (mine, other) = (view.project.clone(), other.clone());
        move |watch| {
            let copy = match file.read_copy(&other) {
                Ok(copy) => copy,
                Err(error) => return Some(Err(error.to_string())),
            };
            let mut told = |part| watch.tell("Reading the history", Some(part));
            let own = match store.read_history(&path, None, &mut told) {
                Ok(own) => own?,
                // Who made what here is then not told.
                Err(_) => History::default(),
            };
            let base = copy.base.as_ref();
            let merge = merge(base.map(|base| &base.project), &mine, &copy.project);
            Some(Ok(Met {
                signed: signed(&merge, &own, &copy.history),
                beginning: beginning(base, &merge),
                merge,
            }))
        }
    });
    ui.horizontal_wrapped(|ui| {
        let name = other.file_name().unwrap_or(other.as_os_str());
        ui.label(muted(ui, name.to_string_lossy()))
            .on_hover_text(other.display().to_string());
        if ui.button("Choose another copy…").clicked() {
            out.ask(Request::ChooseCopy);
        }
    });
    let Some(latest) = latest.filter(|latest| latest.current) else {
        ui.label(muted(ui, "Comparing"));
        return;
    };
    let met = match &*latest.value {
        Ok(met) => met,
        Err(problem) => {
            ui.label(problem);
            return;
        }
    };
    ui.label(&met.beginning);
    if met.merge.is_nothing() {
        ui.label("The other copy has nothing that this one lacks. Take this copy to the other machine, and both are the same.");
        return;
    }
    state.choices.resize(met.merge.conflicts.len(), None);
    let comes_in = met.merge.clean.words();
    ui.label(strong(format!(
        "Comes in from the other copy: {}. To decide: {}.",
        comes_in.as_deref().unwrap_or("nothing"),
        met.merge.conflicts.len()
    )));
    ui.horizontal(|ui| {
        let choices: Option<Vec<Choice>> = state.choices.iter().copied().collect();
        let ready = view.read_only.is_none() && choices.is_some();
        ui.add_enabled_ui(ready, |ui| {
            if main_button(ui, "Merge").clicked()
                && let Some(choices) = choices
            {
                out.act_on(ui, "merge", "copies", met.merge.settle(&choices));
                if other == view.path {
                    view.file.is_settled();
                }
            }
        });
        ui.label(muted(ui, "One change: Undo takes it back."));
    });
    ui.add_space(space::S);
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        for (nth, conflict) in met.merge.conflicts.iter().enumerate() {
            ui.push_id(nth, |ui| {
                conflict_ui(ui, conflict, &met.signed[nth], &mut state.choices[nth]);
            });
        }
    });
}

fn conflict_ui(
    ui: &mut Ui,
    conflict: &Conflict,
    signed: &(String, String),
    choice: &mut Option<Choice>,
) {
    section_heading(ui, &capital(&conflict.title));
    ui.add(Label::new(question(conflict)).wrap());
    let width = ((ui.available_width() - space::L) / 2.0).clamp(160.0, 440.0);
    let group = UiBuilder::new()
        .layout(Layout::left_to_right(Align::Min))
        .accessibility_role(Role::RadioGroup)
        .accessibility_label(&conflict.title);
    ui.scope_builder(group, |ui| {
        ui.spacing_mut().item_spacing.x = space::M;
        let sides = [
            ("Here", "Keep here", Choice::Mine, &conflict.mine, &signed.0),
            (
                "There",
                "Take there",
                Choice::Theirs,
                &conflict.theirs,
                &signed.1,
            ),
        ];
        for (name, verb, this, lines, by) in sides {
            let chosen = *choice == Some(this);
            let can = this == Choice::Mine || conflict.can_take_theirs();
            side_frame(ui, chosen).show(ui, |ui| {
                ui.vertical(|ui| {
                    ui.set_width(width - 2.0 * space::M);
                    ui.label(strong(name));
                    for line in lines {
                        ui.add(Label::new(line).wrap());
                    }
                    if !by.is_empty() {
                        ui.label(muted(ui, by).small());
                    }
                    if can {
                        let text = if chosen {
                            format!("{} {verb}", mark::TICK)
                        } else {
                            verb.to_owned()
                        };
                        let take = ui.button(text);
                        let words = format!("{verb}: {}", conflict.title);
                        take.widget_info(|| {
                            WidgetInfo::selected(Role::RadioButton, true, chosen, &words)
                        });
                        if take.clicked() {
                            *choice = Some(this);
                        }
                    }
                });
            });
        }
    });
}

/// What one copy has, the chosen one marked.
fn side_frame(ui: &Ui, chosen: bool) -> Frame {
    let colours = tokens(ui);
    let (fill, edge) = if chosen {
        (colours.selection, colours.accent)
    } else {
        (colours.raised, colours.rule)
    };
    Frame::new()
        .fill(fill)
        .stroke(Stroke::new(1.0, edge))
        .corner_radius(radius::SMALL)
        .inner_margin(Margin::symmetric(space::M as i8, space::S as i8))
}

fn question(conflict: &Conflict) -> String {
    match &conflict.clash {
        Clash::Field => "Set differently in the two copies.".into(),
        Clash::GoneHere => "Removed here, changed or needed there.".into(),
        Clash::GoneThere => "Removed there, changed or needed here.".into(),
        Clash::Code(code) => {
            format!("Both copies gave out its code. Taken, the one from there is called {code}.")
        }
        Clash::Rule(why) => format!("The two can't be combined. {why}"),
    }
}

fn beginning(base: Option<&Base>, merge: &Merge) -> String {
    match (base, merge.assumed) {
        (Some(base), _) => base.at.map_or_else(
            || "The two went apart where this copy's journal begins.".into(),
            |at| format!("The two went apart after the change of {}.", time(at)),
        ),
        (None, Some(assumed)) if (assumed.here, assumed.there) == (0, 0) => {
            "No journal shows where the two copies parted: you decide on everything that differs."
                .into()
        }
        (None, Some(assumed)) => format!(
            "No journal shows where the two copies parted. {} records that only this copy has are taken for new and \
            stay; {} that only the other has are taken for new and come in.",
            assumed.here, assumed.there
        ),
        (None, None) => String::new(),
    }
}

fn signed(merge: &Merge, own: &History, other: &History) -> Vec<(String, String)> {
    let who = |history: &History, edits: &[Edit]| {
        edits
            .iter()
            .find_map(|edit| history.last_change(edit))
            .map_or_else(String::new, |line| {
                format!("{}, {}", line.by, time(line.at))
            })
    };
    merge
        .conflicts
        .iter()
        .map(|each| (who(own, &each.here), who(other, &each.there)))
        .collect()
}
