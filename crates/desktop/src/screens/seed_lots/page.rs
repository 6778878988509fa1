//! One lot: its fields, edited in place, and its ledger.

use super::{amount, measured, movement, source};
use crate::forms::{self, FormKind, RecordForm, Submission};
use crate::screens::text_field::text_field;
use crate::screens::{harm, record_history, record_notes, record_page};
use crate::view::{Outbox, Request, View};
use domain::ledger::{LedgerEntry, ledger};
use domain::record::seed_lot::SeedLotField;
use domain::{AnyId, ChillBox, Edit, Id, IdSource, LotSource, Movement, MovementKind, SeedLot};
use egui::{Align, Key, Layout, RichText, Role, Ui, WidgetInfo, vec2};
use kit::drawing::Drawing;
use kit::figures::with_minus;
use kit::form::Action;
use kit::page_keys;
use kit::state_mark::StateMark;
use kit::theme::{muted, numbers, space};
use kit::widgets::form_row;

/// Another origin for a lot, until it is recorded.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
struct SourceForm {
    lot: Id<SeedLot>,
    source: source::Draft,
}

impl RecordForm for SourceForm {
    const KIND: FormKind = FormKind::LotSource;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        self.source.show(ui, view);
        let code = view.project.code_of(self.lot);
        Action::new(format!("Record the origin of {code}")).needs(
            self.source.source().is_some(),
            "Say where the seed comes from.",
        )
    }

    fn submission(&self, _view: &View<'_>, _ids: &mut IdSource) -> Result<Submission, String> {
        let source = self.source.source();
        let source = source.ok_or("Say where the seed comes from.")?;
        Ok(Edit::set(self.lot, SeedLotField::Source(source)).into())
    }
}

/// Another amount for a lot, until it is recorded.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
struct AmountForm {
    lot: Id<SeedLot>,
    amount: amount::Draft,
}

impl RecordForm for AmountForm {
    const KIND: FormKind = FormKind::LotAmount;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        self.amount.show(ui);
        let code = view.project.code_of(self.lot);
        let amount = self.amount.amount();
        let words = match amount {
            Ok(Some(amount)) => format!("Record {} seeds in {code}", amount::words(amount)),
            _ => format!("Record the amount of {code}"),
        };
        Action::new(words).needs(amount.is_ok(), "Give the amount of seed.")
    }

    fn submission(&self, _view: &View<'_>, _ids: &mut IdSource) -> Result<Submission, String> {
        let amount = self.amount.amount();
        let amount = amount.map_err(|amount::Incomplete| "Give the amount of seed.")?;
        Ok(Edit::set(self.lot, SeedLotField::Amount(amount)).into())
    }
}

/// Draws the page of a lot.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, lot: &SeedLot, out: &mut Outbox<'_>) {
    let entries = ledger(view.project, lot.id);
    let balance = entries.last().map_or(0, |entry| entry.balance);
    head_ui(ui, view, lot, balance, out);
    let steps = domain::steps::of_lot(view.project, lot, view.today);
    record_page::life(ui, &lot.code, &steps, view);
    harm::of_lot(ui, view, lot.id, out);
    next_ui(ui, view, lot, balance, out);
    acts_ui(ui, view, lot, out);
    kit::drafts::about(ui, lot.id.uuid(), &lot.code, |ui| {
        let about = lot.id.uuid();
        forms::show::<movement::Form>(ui, view, about, out);
        forms::show::<SourceForm>(ui, view, about, out);
        forms::show::<AmountForm>(ui, view, about, out);
        record_page::columns(
            ui,
            out,
            |ui, out| {
                record_page::section(ui, "Ledger", "");
                ledger_ui(ui, view, &entries, out);
                measured::show(ui, view, lot, out);
            },
            |ui, out| {
                record_page::section(ui, "Record", "");
                ui.add_enabled_ui(view.read_only.is_none(), |ui| {
                    fields(ui, view, lot, out);
                });
            },
        );
        record_notes::show(ui, view, lot.id, out);
        record_history::show(ui, view, lot.id, out);
    });
}

/// Its tag, where it comes from, how much is left.
fn head_ui(ui: &mut Ui, view: &View<'_>, lot: &SeedLot, balance: i64, out: &mut Outbox<'_>) {
    let project = view.project;
    let mut figures = Vec::new();
    if let Some(amount) = lot.amount {
        figures.push((amount::words(amount), "seeds"));
        figures.push((balance.to_string(), "left"));
    }
    record_page::head(ui, &lot.code, &figures, |ui| {
        let origin = match lot.source {
            LotSource::Unknown => "Origin unknown".to_owned(),
            _ => lot.source.words(project),
        };
        record_page::two_lines(ui, &origin, &lot.place);
        let (to, noun): (AnyId, _) = match lot.source {
            LotSource::Cross(cross) => (cross.into(), "cross"),
            LotSource::OpenPollinated(plant) => (plant.into(), "plant"),
            LotSource::Bought { .. } | LotSource::Unknown => return,
        };
        if ui
            .button(format!("Show {noun} {}", project.code_of(to)))
            .clicked()
        {
            out.show(to);
        }
    });
}

/// What is to be done with the seed: laid in boxes, while there is some.
fn next_ui(ui: &mut Ui, view: &View<'_>, lot: &SeedLot, balance: i64, out: &mut Outbox<'_>) {
    let may = view.read_only.is_none() && balance > 0;
    if balance == 0 {
        return;
    }
    ui.add_space(space::S);
    let detail = format!(
        "{balance} seeds are left. Hop seed comes up evenly only after weeks in the damp cold."
    );
    let day = kit::working_day::short_day(view.today);
    let step = kit::widgets::NextStep {
        drawing: Drawing::Box,
        title: "Lay seed in boxes…",
        detail: &detail,
        state: (StateMark::Expected, "any day"),
        day: &day,
        key: if may { "D" } else { "" },
        loud: false,
        enabled: may,
    };
    let pressed = kit::widgets::next_step(ui, step).clicked();
    page_keys::declare(ui, [("D", "lay seed in boxes")]);
    if may && (pressed || page_keys::pressed(ui, Key::D)) {
        out.ask(Request::AddBoxes(None, Some(lot.id)));
    }
    ui.add_space(space::S);
}

/// What else can be done, each by a small button and a key.
fn acts_ui(ui: &mut Ui, view: &View<'_>, lot: &SeedLot, out: &mut Outbox<'_>) {
    let about = lot.id.uuid();
    ui.horizontal_wrapped(|ui| {
        let label = ui.button("Label").clicked();
        if label || page_keys::pressed(ui, Key::L) {
            out.ask(Request::Label(vec![lot.id.into()]));
        }
        if view.read_only.is_some() {
            return;
        }
        for (words, key, direction) in [
            ("Take seed out…", Key::O, MovementKind::Draw),
            ("Bring seed back…", Key::B, MovementKind::Return),
        ] {
            if ui.button(words).clicked() || page_keys::pressed(ui, key) {
                let form = movement::Form::new(lot.id, direction, view.today);
                forms::open(ui.ctx(), about, &lot.code, form);
            }
        }
        if ui.button("Change the amount…").clicked() {
            let form = AmountForm {
                lot: lot.id,
                amount: amount::Draft::from(lot.amount),
            };
            forms::open(ui.ctx(), about, &lot.code, form);
        }
        if ui.button("Change the origin…").clicked() {
            let form = SourceForm {
                lot: lot.id,
                source: source::Draft::of(&lot.source),
            };
            forms::open(ui.ctx(), about, &lot.code, form);
        }
    });
    page_keys::declare(ui, [("O", "take out"), ("B", "bring back"), ("L", "label")]);
}

fn fields(ui: &mut Ui, view: &View<'_>, lot: &SeedLot, out: &mut Outbox<'_>) {
    let set = |field| Edit::set(lot.id, field);
    let text = |ui: &mut Ui, label: &str, name: &str, value: &str| {
        form_row(ui, label, |ui| text_field(ui, name, value))
    };
    if let Some((code, ticket)) = text(ui, "Code", "Code of the lot", &lot.code) {
        out.submit(ticket, set(SeedLotField::Code(code)));
    }
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
    if let Some((place, ticket)) = text(ui, "Place", "Place of the lot", &lot.place) {
        out.submit(ticket, set(SeedLotField::Place(place)));
    }
    if let Some((conditions, ticket)) =
        text(ui, "Conditions", "Conditions of the lot", &lot.conditions)
    {
        out.submit(ticket, set(SeedLotField::Conditions(conditions)));
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
    const DATE: f32 = 84.0;
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
            let day = entry
                .date
                .map_or_else(|| "no date".to_owned(), kit::working_day::short_day);
            ui.label(muted(ui, day));
        }
        Cell::What if entry.record.typed::<ChillBox>().is_some() => {
            let words = RichText::new(&entry.what).underline();
            let link = egui::Button::new(words)
                .frame_when_inactive(false)
                .min_size(egui::vec2(space::TARGET, space::TARGET));
            if ui.add(link).clicked() {
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
        Cell::Change => figure(ui, with_minus(&format!("{:+}", entry.change))),
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
