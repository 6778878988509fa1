//! Two copies of the project that were edited apart, brought together: what clashes stands side by side, and the
//! person decides.

use crate::chronicle::time;
use crate::theme::{muted, space, strong};
use crate::view::{Outbox, Request, View};
use crate::widgets::{empty_state, main_button, section_heading, segmented};
use crate::worker::Worker;
use domain::Edit;
use domain::merge::{Choice, Clash, Conflict, Merge, merge};
use egui::{Grid, ScrollArea, Ui};
use std::path::PathBuf;
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
        let sentence = "A copy of this project that was edited elsewhere, on the yard's machine perhaps, is brought together with this one: what was done there comes in, and where both changed the same thing you decide. The other copy isn't touched.";
        if empty_state(ui, sentence, "Choose the other copy…") {
            out.ask(Request::ChooseCopy);
        }
        return;
    };
    let key = (view.project.revision(), other.clone());
    let latest = state.worker.follow(ui.ctx(), key, || {
        let (store, path) = (view.file.store().clone(), view.path.to_owned());
        let mine = view.project.clone();
        move |_| {
            let read = store
                .read_copy(&path, &other)
                .map_err(|error| error.to_string());
            Some(read.map(|copy| {
                let own = store.read_history(&path, None).unwrap_or_default();
                let base = copy.base.as_ref();
                let merge = merge(base.map(|base| &base.project), &mine, &copy.project);
                Met {
                    signed: signed(&merge, &own, &copy.history),
                    beginning: beginning(base, &merge),
                    merge,
                }
            }))
        }
    });
    ui.horizontal_wrapped(|ui| {
        let name = state.other.as_ref().map(|path| path.display().to_string());
        ui.label(muted(ui, name.unwrap_or_default()));
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
        "{} from the other copy come in; {} to decide.",
        comes_in.as_deref().unwrap_or("No changes"),
        met.merge.conflicts.len()
    )));
    ui.horizontal(|ui| {
        let choices: Option<Vec<Choice>> = state.choices.iter().copied().collect();
        let ready = view.read_only.is_none() && choices.is_some();
        ui.add_enabled_ui(ready, |ui| {
            if main_button(ui, "Bring them together").clicked()
                && let Some(choices) = choices
            {
                out.edit(met.merge.settle(&choices));
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
    section_heading(ui, &conflict.title);
    ui.add(egui::Label::new(question(conflict)).wrap());
    Grid::new("sides")
        .num_columns(2)
        .spacing([space::XL, space::XS])
        .show(ui, |ui| {
            let width = (ui.available_width() / 2.0 - space::XL).max(120.0);
            for (name, lines, by) in [
                ("Here", &conflict.mine, &signed.0),
                ("There", &conflict.theirs, &signed.1),
            ] {
                ui.vertical(|ui| {
                    ui.set_width(width);
                    ui.label(strong(name));
                    for line in lines {
                        ui.add(egui::Label::new(line).wrap());
                    }
                    ui.label(muted(ui, by).small());
                });
            }
        });
    let here = format!("Keep here: {}", conflict.title);
    let there = format!("Take there: {}", conflict.title);
    let mut choices = vec![(Some(Choice::Mine), here.as_str())];
    if conflict.can_take_theirs() {
        choices.push((Some(Choice::Theirs), there.as_str()));
    }
    segmented(ui, &conflict.title, choice, &choices);
}

fn question(conflict: &Conflict) -> String {
    match &conflict.clash {
        Clash::Field => "Set differently in the two copies.".into(),
        Clash::GoneHere => "Taken away here, changed or needed there.".into(),
        Clash::GoneThere => "Taken away there, changed or needed here.".into(),
        Clash::Code(code) => {
            format!("Both copies gave out its code. Taken, the one from there is called {code}.")
        }
        Clash::Rule(why) => format!("Both together can't be. {why}"),
    }
}

fn beginning(base: Option<&Base>, merge: &Merge) -> String {
    match (base, merge.assumed) {
        (Some(base), _) => base.at.map_or_else(
            || "The two went apart where this copy's journal begins.".into(),
            |at| format!("The two went apart after the change of {}.", time(at)),
        ),
        (None, Some(assumed)) if (assumed.here, assumed.there) == (0, 0) => {
            "No journal tells where the two went apart: you decide on all that differs.".into()
        }
        (None, Some(assumed)) => format!(
            "No journal tells where the two went apart. {} records that only this copy has are taken for new and stay; {} that only the other has are taken for new and come in.",
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
