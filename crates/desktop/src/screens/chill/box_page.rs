//! One box: its fields, where its seeds went, its looks, its end.

use super::{box_table, end, looks, picture};
use crate::forms;
use crate::screens::fields::caution_lines;
use crate::screens::forms::PotUpForm;
use crate::screens::text_field::text_field;
use crate::screens::{harm, record_history, record_notes, record_page};
use crate::view::{Outbox, Request, View};
use domain::agenda::ItemKind;
use domain::ledger::BoxTally;
use domain::record::chill::ChillBoxField;
use domain::risk::mould_advice;
use domain::status::{BoxStatus, crowding};
use domain::{ChillBox, Edit, Id, cautions};
use egui::Ui;
use kit::theme::{Meaning, muted};
use kit::widgets::{NumberField, badge, capital, detail, form_row};

/// What the page remembers between frames.
#[derive(Default)]
pub(super) struct State;

/// Draws the page of a box; the box when it is to be moved to warmth.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    _state: &mut State,
    chill_box: &ChillBox,
    out: &mut Outbox<'_>,
) -> Option<Vec<Id<ChillBox>>> {
    let status = BoxStatus::of(view.project, chill_box, view.today);
    let mut warm = None;
    head_ui(ui, view, chill_box, status, out);
    let steps = domain::steps::of_box(view.project, chill_box, view.today);
    record_page::life(ui, &chill_box.code, &steps, view);
    harm::of_box(ui, view, chill_box, out);
    let mut about: Vec<domain::AnyId> = vec![chill_box.id.into()];
    if let Some(run) = view.project.run_of(chill_box.id) {
        about.push(run.id.into());
    }
    if let Some(item) = record_page::next(ui, view, &about, out) {
        match item.kind {
            ItemKind::PotUp => {
                let form = PotUpForm::new(view.project, chill_box.id);
                forms::open(ui.ctx(), chill_box.id.uuid(), &chill_box.code, form);
            }
            _ => out.show(item.about),
        }
    }
    kit::drafts::about(ui, chill_box.id.uuid(), &chill_box.code, |ui| {
        if view.read_only.is_none() {
            warm = actions(ui, view, chill_box, status, out);
        } else if ui.button("Label").clicked() {
            out.ask(Request::Label(vec![chill_box.id.into()]));
        }
        let about = chill_box.id.uuid();
        forms::show::<end::BoxForm>(ui, view, about, out);
        forms::show::<PotUpForm>(ui, view, about, out);
        record_page::columns(
            ui,
            out,
            |ui, out| {
                record_page::section(ui, "Checks", "");
                picture::show(ui, view, chill_box);
                mould_ui(ui, view, chill_box, status);
                looks::show(ui, view, chill_box, status, out);
            },
            |ui, out| {
                record_page::section(ui, "Seeds", "");
                tally_ui(ui, view, chill_box);
                ui.add_enabled_ui(view.read_only.is_none(), |ui| {
                    fields(ui, view, chill_box, out);
                });
            },
        );
        record_notes::show(ui, view, chill_box.id, out);
        record_history::show(ui, view, chill_box.id, out);
    });
    warm
}

/// Where mould that comes back may come from.
fn mould_ui(ui: &mut Ui, view: &View<'_>, chill_box: &ChillBox, status: BoxStatus) {
    if !status.in_cold() {
        return;
    }
    let advice = mould_advice(view.project, chill_box, view.today);
    if advice.is_empty() {
        return;
    }
    badge(ui, Meaning::Late, "Mould keeps returning");
    for sentence in advice {
        ui.add(egui::Label::new(sentence).wrap());
    }
    ui.label(muted(ui, "Common practice.").small());
}

/// Its tag, its lot, how many seeds are left.
fn head_ui(
    ui: &mut Ui,
    view: &View<'_>,
    chill_box: &ChillBox,
    status: BoxStatus,
    out: &mut Outbox<'_>,
) {
    let left = BoxTally::of(view.project, chill_box).left();
    let figures = [(left.to_string(), "seeds left")];
    record_page::head(ui, &chill_box.code, &figures, |ui| {
        let mut words = capital(status.words());
        if let Some(end) = &chill_box.end {
            words = format!("{words}, {}", kit::dates::day(end.date));
            if !end.cause.is_empty() {
                words = format!("{words}: {}", end.cause);
            }
        }
        let origin = box_table::origin(view.project, chill_box);
        record_page::two_lines(ui, &words, &origin);
        let lot = view.project.code_of(chill_box.lot);
        if ui.button(format!("Show lot {lot}")).clicked() {
            out.show(chill_box.lot);
        }
        if let Some(from) = chill_box.rechilled_from {
            let words = format!("Chilled again, from box {}", view.project.code_of(from));
            if ui.button(words).clicked() {
                out.show(from);
            }
        }
    });
}

/// What can be done with the box; the box when it is to be moved to warmth.
fn actions(
    ui: &mut Ui,
    view: &View<'_>,
    chill_box: &ChillBox,
    status: BoxStatus,
    out: &mut Outbox<'_>,
) -> Option<Vec<Id<ChillBox>>> {
    let mut warm = None;
    if status.in_cold() && cautions::box_had_mould(view.project, chill_box.id) {
        caution_lines(ui, &[cautions::MOULD]);
    }
    ui.horizontal_wrapped(|ui| {
        if status.in_cold() {
            let words = "Move this box to warmth…";
            let clicked = ui.button(words).clicked();
            warm = clicked.then(|| vec![chill_box.id]);
        }
        let early = PotUpForm::new(view.project, chill_box.id);
        if status.in_cold() && early.button(ui) {
            forms::open(ui.ctx(), chill_box.id.uuid(), &chill_box.code, early);
        }
        if let Some(run) = view.project.run_of(chill_box.id) {
            if ui.button("Show its sprouts").clicked() {
                out.show(run.id);
            }
        } else if chill_box.end.is_some() {
            if ui.button("Reopen the box").clicked() {
                out.act(
                    ui,
                    "take back the end",
                    chill_box.id,
                    Edit::set(chill_box.id, ChillBoxField::End(None)),
                );
            }
        } else if ui.button("End this box…").clicked() {
            let form = end::BoxForm::new(chill_box.id, view.today);
            forms::open(ui.ctx(), chill_box.id.uuid(), &chill_box.code, form);
        }
        if ui.button("Label").clicked() {
            out.ask(Request::Label(vec![chill_box.id.into()]));
        }
        if status == BoxStatus::Planned && ui.button("Remove this box").clicked() {
            out.act(ui, "remove", chill_box.id, Edit::remove(chill_box.id));
        }
    });
    warm
}

fn fields(ui: &mut Ui, view: &View<'_>, chill_box: &ChillBox, out: &mut Outbox<'_>) {
    let set = |field| Edit::set(chill_box.id, field);
    if let Some((code, ticket)) = form_row(ui, "Code", |ui| {
        text_field(ui, "Code of the box", &chill_box.code)
    }) {
        out.submit(ticket, set(ChillBoxField::Code(code.trim().to_owned())));
    }
    form_row(ui, "Seeds in the box at start", |ui| {
        let mut seeds = f64::from(chill_box.seeds);
        let field = NumberField::new("Seeds in the box at start", "seeds").decimals(0);
        if let Some(ticket) = field.range(1.0..=100_000.0).show(ui, &mut seeds).ticket {
            out.submit(ticket, set(ChillBoxField::Seeds(seeds as u32)));
        }
    });
    let regimen = view
        .project
        .chill_batches()
        .get(chill_box.batch)
        .map(|batch| &batch.regimen);
    if let Some(words) = regimen.and_then(|regimen| crowding(regimen, chill_box.seeds)) {
        ui.add(egui::Label::new(muted(ui, words)).wrap());
    }
    if let Some((place, ticket)) = form_row(ui, "Place", |ui| {
        text_field(ui, "Place of the box", &chill_box.place)
    }) {
        out.submit(ticket, set(ChillBoxField::Place(place.trim().to_owned())));
    }
}

fn tally_ui(ui: &mut Ui, view: &View<'_>, chill_box: &ChillBox) {
    let tally = BoxTally::of(view.project, chill_box);
    let potted = view.project.potted_out_of(chill_box.id).count() as u32;
    let parts = [
        ("Seeds laid", tally.laid, true),
        ("Mouldy, removed", tally.mouldy, false),
        ("Sprouted early", tally.sprouted_early, false),
        ("Potted", potted, false),
        ("Up in warmth", tally.germinated, false),
        ("Abnormal", tally.abnormal, false),
        ("Dead in warmth", tally.dead, false),
        ("Left", tally.left(), true),
    ];
    for (name, count, always) in parts {
        if always || count > 0 {
            detail(ui, name, &count.to_string());
        }
    }
    if tally.accounted() > tally.laid {
        let words = format!(
            "{} seeds are accounted for, {} were laid: correct one of the numbers.",
            tally.accounted(),
            tally.laid
        );
        ui.add(egui::Label::new(words).wrap());
    }
}
