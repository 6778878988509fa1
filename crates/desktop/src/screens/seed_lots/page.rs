//! One lot: its fields, edited in place, and its ledger.

use super::{amount, measured, movement, source};
use crate::forms;
use crate::screens::text_field::text_field;
use crate::screens::{record_history, record_notes};
use crate::view::{Outbox, Request, View};
use domain::ledger::{LedgerEntry, ledger};
use domain::record::seed_lot::SeedLotField;
use domain::{AnyId, ChillBox, Edit, Id, LotSource, Movement, MovementKind, SeedLot};
use egui::{Align, Layout, RichText, Role, Ui, WidgetInfo, vec2};
use kit::theme::{muted, numbers, space};
use kit::widgets::{detail, form_row, main_button, section_heading};

/// What the page remembers between frames.
#[derive(Default)]
pub(super) struct State {
    /// A source being changed, not yet complete.
    source: Option<(Id<SeedLot>, source::Draft)>,
    /// An amount being changed, not yet complete.
    amount: Option<(Id<SeedLot>, amount::Draft)>,
}

/// Draws the page of a lot.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    lot: &SeedLot,
    out: &mut Outbox<'_>,
) {
    let entries = ledger(view.project, lot.id);
    let balance = entries.last().map_or(0, |entry| entry.balance);
    ui.horizontal_wrapped(|ui| {
        let can_lay = view.read_only.is_none() && balance > 0;
        let lay = ui.add_enabled_ui(can_lay, |ui| main_button(ui, "Lay seed in boxes…"));
        if lay.inner.clicked() {
            out.ask(Request::AddBoxes(None, Some(lot.id)));
        }
        if ui.button("Label").clicked() {
            out.ask(Request::Label(vec![lot.id.into()]));
        }
    });
    if matches!(
        lot.source,
        LotSource::Cross(_) | LotSource::OpenPollinated(_)
    ) {
        detail(ui, "Origin", &lot.source.words(view.project));
    }
    detail(ui, "Seed left", &balance.to_string());
    kit::drafts::about(ui, lot.id.uuid(), &lot.code, |ui| {
        ui.add_enabled_ui(view.read_only.is_none(), |ui| {
            fields(ui, view, state, lot, out);
        });
        section_heading(ui, "Ledger");
        ledger_ui(ui, view, &entries, out);
        if view.read_only.is_none() {
            movement_ui(ui, view, lot, out);
        }
        measured::show(ui, view, lot, out);
        record_notes::show(ui, view, lot.id, out);
        record_history::show(ui, view, lot.id, out);
    });
}

fn fields(ui: &mut Ui, view: &View<'_>, state: &mut State, lot: &SeedLot, out: &mut Outbox<'_>) {
    let set = |field| Edit::set(lot.id, field);
    let text = |ui: &mut Ui, label: &str, name: &str, value: &str| {
        form_row(ui, label, |ui| text_field(ui, name, value))
    };
    if let Some((code, ticket)) = text(ui, "Code", "Code of the lot", &lot.code) {
        out.submit(ticket, set(SeedLotField::Code(code)));
    }
    source_ui(ui, view, state, lot, out);
    link_ui(ui, view, lot, out);
    let (mut harvested, mut cleaned) = (lot.harvested, lot.cleaned);
    form_row(ui, "Harvested", |ui| {
        let field = view.date_field("Harvested");
        if let Some(ticket) = field.show_optional(ui, &mut harvested).ticket {
            out.submit(ticket, set(SeedLotField::Harvested(harvested)));
        }
    });
    form_row(ui, "Cleaned", |ui| {
        let field = view.date_field("Cleaned");
        if let Some(ticket) = field.show_optional(ui, &mut cleaned).ticket {
            out.submit(ticket, set(SeedLotField::Cleaned(cleaned)));
        }
    });
    amount_ui(ui, state, lot, out);
    if let Some((place, ticket)) = text(ui, "Place", "Place of the lot", &lot.place) {
        out.submit(ticket, set(SeedLotField::Place(place)));
    }
    if let Some((conditions, ticket)) =
        text(ui, "Conditions", "Conditions of the lot", &lot.conditions)
    {
        out.submit(ticket, set(SeedLotField::Conditions(conditions)));
    }
}

fn source_ui(ui: &mut Ui, view: &View<'_>, state: &mut State, lot: &SeedLot, out: &mut Outbox<'_>) {
    let kept = state.source.take().filter(|(of, _)| *of == lot.id);
    let mut draft = kept.map_or_else(|| source::Draft::of(&lot.source), |(_, draft)| draft);
    let changed = draft.show(ui, view);
    match draft.source() {
        Some(source) if changed && source != lot.source => {
            let edit = Edit::set(lot.id, SeedLotField::Source(source));
            out.act(ui, "source", lot.id, edit);
        }
        _ if draft != source::Draft::of(&lot.source) => state.source = Some((lot.id, draft)),
        _ => {}
    }
}

/// The way to the cross or the plant the seed comes from.
fn link_ui(ui: &mut Ui, view: &View<'_>, lot: &SeedLot, out: &mut Outbox<'_>) {
    let (to, noun): (AnyId, _) = match lot.source {
        LotSource::Cross(cross) => (cross.into(), "cross"),
        LotSource::OpenPollinated(plant) => (plant.into(), "plant"),
        LotSource::Bought { .. } | LotSource::Unknown => return,
    };
    form_row(ui, "", |ui| {
        if ui
            .button(format!("Show {noun} {}", view.project.code_of(to)))
            .clicked()
        {
            out.show(to);
        }
    });
}

fn amount_ui(ui: &mut Ui, state: &mut State, lot: &SeedLot, out: &mut Outbox<'_>) {
    let kept = state.amount.take().filter(|(of, _)| *of == lot.id);
    let mut draft = kept.map_or_else(|| amount::Draft::from(lot.amount), |(_, draft)| draft);
    let changed = draft.show(ui);
    match draft.amount() {
        Ok(amount) if changed && amount != lot.amount => {
            let edit = Edit::set(lot.id, SeedLotField::Amount(amount));
            out.act(ui, "amount", lot.id, edit);
        }
        Ok(_) => {}
        Err(amount::Incomplete) => state.amount = Some((lot.id, draft)),
    }
}

fn ledger_ui(ui: &mut Ui, view: &View<'_>, entries: &[LedgerEntry], out: &mut Outbox<'_>) {
    if entries.is_empty() {
        ui.label(muted(
            ui,
            "No entries yet. Count or weigh the seed to start the ledger.",
        ));
        return;
    }
    ledger_row(ui, |ui, cell| {
        let words = match cell {
            Cell::Date => "Date",
            Cell::What => "What",
            Cell::Change => "Seeds",
            Cell::Balance => "Left",
        };
        ui.label(muted(ui, words));
    });
    for entry in entries {
        ui.push_id((entry.record, entry.change), |ui| {
            ledger_row(ui, |ui, cell| entry_ui(ui, view, entry, cell, out));
        });
    }
}

/// The parts of a line of the ledger.
#[derive(Clone, Copy)]
enum Cell {
    Date,
    What,
    Change,
    Balance,
}

/// A line of the ledger: what happened takes the width the figures leave, and as many lines as it needs.
fn ledger_row(ui: &mut Ui, mut add: impl FnMut(&mut Ui, Cell)) {
    const DATE: f32 = 66.0;
    const FIGURE: f32 = 46.0;
    ui.horizontal_top(|ui| {
        ui.spacing_mut().item_spacing.x = space::XS;
        let what = ui.available_width() - DATE - 2.0 * FIGURE - 4.0 * space::XS;
        let left = Layout::top_down(Align::Min);
        let right = Layout::top_down(Align::Max);
        let cells = [
            (Cell::Date, DATE, left),
            (Cell::What, what.max(60.0), left),
            (Cell::Change, FIGURE, right),
            (Cell::Balance, FIGURE, right),
        ];
        for (cell, width, layout) in cells {
            ui.allocate_ui_with_layout(vec2(width, 20.0), layout, |ui| {
                ui.set_width(width);
                add(ui, cell);
            });
        }
    });
}

fn entry_ui(ui: &mut Ui, view: &View<'_>, entry: &LedgerEntry, cell: Cell, out: &mut Outbox<'_>) {
    let figure = |ui: &mut Ui, text: String| {
        ui.label(RichText::new(text).text_style(numbers()));
    };
    match cell {
        Cell::Date => {
            let day = entry.date.map_or_else(
                || "no date".to_owned(),
                |day| day.format("%-d %b %y").to_string(),
            );
            ui.label(muted(ui, day));
        }
        Cell::What if entry.record.typed::<ChillBox>().is_some() => {
            if ui.link(&entry.what).clicked() {
                out.show(entry.record);
            }
        }
        Cell::What => {
            ui.add(egui::Label::new(&entry.what).wrap());
            let movement = entry.record.typed::<Movement>();
            if let Some(movement) = movement.filter(|_| view.read_only.is_none()) {
                take_away_ui(ui, entry, movement, out);
            }
        }
        Cell::Change => figure(ui, format!("{:+}", entry.change).replace('-', "\u{2212}")),
        Cell::Balance => figure(ui, entry.balance.to_string()),
    }
}

fn take_away_ui(ui: &mut Ui, entry: &LedgerEntry, movement: Id<Movement>, out: &mut Outbox<'_>) {
    let remove = ui.button("Remove");
    remove.widget_info(|| {
        let name = format!("Remove: {} {}", entry.what, entry.change.abs());
        WidgetInfo::labeled(Role::Button, true, name)
    });
    if remove.clicked() {
        out.act(ui, "remove", movement, Edit::remove(movement));
    }
}

fn movement_ui(ui: &mut Ui, view: &View<'_>, lot: &SeedLot, out: &mut Outbox<'_>) {
    ui.add_space(space::S);
    let about = lot.id.uuid();
    if forms::show::<movement::Form>(ui, view, about, out) {
        return;
    }
    ui.horizontal_wrapped(|ui| {
        for (words, direction) in [
            ("Take seed out…", MovementKind::Draw),
            ("Bring seed back…", MovementKind::Return),
        ] {
            if ui.button(words).clicked() {
                let form = movement::Form::new(lot.id, direction, view.today);
                forms::open(ui.ctx(), about, &lot.code, form);
            }
        }
    });
}
