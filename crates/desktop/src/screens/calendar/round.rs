//! The morning round: every box that is due for a look, each done with one key or one click.

use super::month::meaning;
use super::to_do::SHOWN;
use crate::screens::forms::CheckForm;
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::actions::{check_boxes, plural};
use domain::agenda::{Item, ItemKind, ItemState};
use domain::risk::BoxRisk;
use domain::{ChillBox, Id};
use egui::{Frame, Key, Margin, Modifiers, Role, Ui, WidgetInfo};
use kit::theme::{muted, space, strong, tokens};
use kit::widgets::{badge, bench_button, section_heading};

/// What the round remembers between frames.
#[derive(Default)]
pub(super) struct State {
    form: Option<CheckForm>,
    /// Whether every box is drawn, however many they are.
    whole: bool,
}

/// Draws the round, if there is one today.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    day: NaiveDate,
    out: &mut Outbox<'_>,
) {
    let risks = view.derived.risks(view.project, view.today);
    let agenda = view.derived.agenda(view.project, view.today, ui.ctx());
    let mut due: Vec<(&Item, Option<&BoxRisk>)> = agenda
        .iter()
        .filter(|item| {
            item.kind == ItemKind::CheckBox
                && matches!(item.state, ItemState::Late | ItemState::Due)
        })
        .map(|item| {
            let risk = risks.iter().find(|risk| item.about == risk.chill_box);
            (item, risk)
        })
        .collect();
    // The box that wants it most comes first.
    due.sort_by_key(|(_, risk)| std::cmp::Reverse(risk.map_or(0, |risk| risk.weight)));
    if due.is_empty() {
        state.form = None;
        return;
    }
    if !agenda.current {
        // On a large project what was just looked into still shows as due for a moment.
        due.retain(|(item, _)| {
            let mut looks = item
                .about
                .typed()
                .into_iter()
                .flat_map(|id| view.project.checks_of(id));
            looks.all(|look| look.date != day)
        });
    }
    section_heading(ui, "Morning round");
    let boxes: Vec<Id<ChillBox>> = due
        .iter()
        .filter_map(|(item, _)| item.about.typed())
        .collect();
    let count = due.len();
    let all = match count {
        1 => "Looked in the box".to_owned(),
        _ => format!("Looked in all {count} boxes"),
    };
    if view.read_only.is_none()
        && bench_button(
            ui,
            &all,
            "Nothing found in any. Boxes with mould or a dry towel: one by one below.",
        )
        .clicked()
    {
        let edit = check_boxes(&boxes, day, out.ids);
        out.edit(edit);
        state.form = None;
        return;
    }
    let keys = match view.read_only {
        Some(_) => "",
        None => " Space: looked, nothing found. Enter: note what was found.",
    };
    ui.label(muted(
        ui,
        format!("The box that wants it most comes first.{keys}"),
    ));
    let shown = if state.whole { count } else { SHOWN };
    for (item, risk) in due.into_iter().take(shown) {
        let Some(chill_box) = item.about.typed::<ChillBox>() else {
            continue;
        };
        match box_row(ui, view, item, risk, chill_box) {
            Some(Answer::Looked) => {
                let edit = check_boxes(&[chill_box], day, out.ids);
                out.edit(edit);
                ui.memory_mut(|memory| memory.move_focus(egui::FocusDirection::Next));
            }
            Some(Answer::Note) => state.form = Some(CheckForm::new(chill_box)),
            None => {}
        }
        if let Some(form) = state
            .form
            .as_mut()
            .filter(|form| form.chill_box() == chill_box)
        {
            let done = Frame::new()
                .fill(tokens(ui).raised)
                .inner_margin(Margin::same(space::M as i8))
                .show(ui, |ui| form.show(ui, view, day, out))
                .inner;
            if done {
                state.form = None;
            }
        }
    }
    let more = count.saturating_sub(shown);
    if more > 0 && ui.button(format!("Show {more} more boxes")).clicked() {
        state.whole = true;
    }
}

enum Answer {
    Looked,
    Note,
}

fn box_row(
    ui: &mut Ui,
    view: &View<'_>,
    item: &Item,
    risk: Option<&BoxRisk>,
    chill_box: Id<ChillBox>,
) -> Option<Answer> {
    let project = view.project;
    let code = project.code_of(chill_box);
    let mut answer = None;
    ui.horizontal(|ui| {
        ui.set_min_height(space::TARGET + space::XS);
        ui.set_min_width(ui.available_width());
        ui.label(strong(code));
        let place = project
            .chill_boxes()
            .get(chill_box)
            .map_or("", |chill_box| chill_box.place.as_str());
        if item.state == ItemState::Late {
            badge(ui, meaning(item.state), &late_words(item, view.today));
        }
        let why = match risk {
            Some(risk) if !risk.reasons.is_empty() => capital(&risk.reasons.join(", ")),
            _ => item.detail.clone(),
        };
        let words = if place.is_empty() {
            why
        } else {
            format!("{place}. {why}")
        };
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            if view.read_only.is_none() {
                let note = ui.button("Note…");
                note.widget_info(|| {
                    WidgetInfo::labeled(Role::Button, true, format!("Note on box {code}"))
                });
                if note.clicked() {
                    answer = Some(Answer::Note);
                }
                let looked = ui.button("Looked");
                looked.widget_info(|| {
                    WidgetInfo::labeled(Role::Button, true, format!("Looked in box {code}"))
                });
                if looked.has_focus()
                    && ui.input_mut(|input| input.consume_key(Modifiers::NONE, Key::Enter))
                {
                    answer = Some(Answer::Note);
                } else if looked.clicked() {
                    answer = Some(Answer::Looked);
                }
            }
            ui.with_layout(egui::Layout::left_to_right(egui::Align::Center), |ui| {
                ui.add(egui::Label::new(muted(ui, &words)).truncate())
                    .on_hover_text(&words);
            });
        });
    });
    answer
}

/// The words as a sentence.
fn capital(words: &str) -> String {
    let mut signs = words.chars();
    signs.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(signs).chain(['.']).collect()
    })
}

/// How late a thing is.
pub(super) fn late_words(item: &Item, today: NaiveDate) -> String {
    let days = (today - item.latest.unwrap_or(item.date)).num_days().max(1) as u32;
    format!("{days} {} late", plural(days, "day", "days"))
}
