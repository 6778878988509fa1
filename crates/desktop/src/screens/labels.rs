//! Labels: for chosen boxes, lots, crosses and plants, the sheet as it will print, saved as a PDF.

use crate::dialogs::Question;
use crate::view::{Outbox, Request, View};
use chrono::NaiveDate;
use domain::{AnyId, Project, RecordKind};
use egui::{Align, CentralPanel, ComboBox, Frame, Margin, Panel, Role, ScrollArea, Ui, WidgetInfo};
use exchange::label::{Layout, Refusal, Sheet, Size, Slot, layout, pdf};
use kit::theme::{Meaning, muted, space};
use kit::widgets::{NumberField, badge, form_row, heading, main_button, section_heading};

mod content;
mod preview;

/// Copies of one label, at most.
const MOST_COPIES: u32 = 20;

/// What the labels screen remembers between frames.
pub struct State {
    chosen: Vec<AnyId>,
    sheets: Vec<Sheet>,
    sheet: usize,
    /// The size of single labels by millimetres, when that is chosen.
    own_size: Size,
    start: Slot,
    page: usize,
    /// What is labelled most often, by revision.
    ready: Option<(u64, Vec<content::Choice>)>,
    kept: Option<Kept>,
}

/// The layout, kept until what it was made from changes.
struct Kept {
    made_for: (u64, Vec<AnyId>, u32, Sheet, Slot),
    layout: Result<Layout, Refusal>,
}

impl Default for State {
    fn default() -> Self {
        Self {
            chosen: Vec::new(),
            sheets: Sheet::presets(),
            sheet: 0,
            own_size: Size::new(60.0, 30.0),
            start: Slot::FIRST,
            page: 0,
            ready: None,
            kept: None,
        }
    }
}

impl State {
    /// The sheet chosen: a ready one, or single labels of the person's own size.
    fn sheet(&self) -> Sheet {
        self.sheets
            .get(self.sheet)
            .cloned()
            .unwrap_or_else(|| Sheet::single(self.own_size))
    }
}

/// Draws the screen.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    state.chosen.retain(|id| view.project.contains(*id));
    Panel::left("label choices")
        .exact_size(330.0)
        .resizable(false)
        .frame(Frame::new().inner_margin(Margin {
            right: space::M as i8,
            ..Margin::ZERO
        }))
        .show(ui, |ui| {
            ScrollArea::vertical()
                .auto_shrink(false)
                .show(ui, |ui| choices(ui, view, state, out));
        });
    CentralPanel::default()
        .frame(Frame::new().inner_margin(Margin {
            left: space::M as i8,
            ..Margin::ZERO
        }))
        .show(ui, |ui| {
            let (sheet, start) = (state.sheet(), state.start);
            let copies = view.preferences.label_copies.clamp(1, MOST_COPIES) as usize;
            let key = (
                view.project.revision(),
                state.chosen.clone(),
                view.preferences.label_copies,
                sheet.clone(),
                start,
            );
            if state.kept.as_ref().is_none_or(|kept| kept.made_for != key) {
                let contents: Vec<_> = state
                    .chosen
                    .iter()
                    .filter_map(|id| content::label(view.project, *id))
                    .flat_map(|label| std::iter::repeat_n(label, copies))
                    .collect();
                state.kept = Some(Kept {
                    layout: layout(&sheet, start, &contents),
                    made_for: key,
                });
            }
            let Some(kept) = &state.kept else { return };
            match &kept.layout {
                _ if state.chosen.is_empty() => {
                    if kit::page_keys::acts(ui, egui::Key::P, "save as PDF") {
                        out.say("Choose what to label first, at the left.");
                    }
                    ui.add_space(space::XXL);
                    ui.vertical_centered(|ui| {
                        let words =
                            "Choose what to label at the left. The sheet appears here as it will print.";
                        ui.add(egui::Label::new(muted(ui, words)).wrap());
                    });
                }
                Ok(layout) => {
                    let asked = sheet_ui(ui, layout, &sheet, &mut state.page);
                    if asked.save {
                        save(layout, view.today, out);
                    }
                    if let Some(slot) = asked.start.filter(|_| sheet.labels_per_page() > 1) {
                        state.start = slot;
                        state.page = 0;
                    }
                }
                Err(refusal) => {
                    badge(ui, Meaning::Danger, "no sheet");
                    ui.add(egui::Label::new(refusal.to_string()).wrap());
                }
            }
        });
}

/// Asks where to write the sheets as a PDF.
fn save(layout: &Layout, today: NaiveDate, out: &mut Outbox<'_>) {
    match pdf(layout, Some(today)) {
        Ok(bytes) => out.ask(Request::Export(
            Question::SavePdf(format!("labels {today}.pdf")),
            bytes,
        )),
        Err(error) => out.say(error.to_string()),
    }
}

fn choices(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    heading(ui, "Labels");
    ui.label(muted(
        ui,
        "A lost label costs a year: print two of each, one to go inside and one outside.",
    ));
    section_heading(ui, "What to label");
    let revision = view.project.revision();
    if state.ready.as_ref().is_none_or(|(of, _)| *of != revision) {
        state.ready = Some((revision, content::ready_choices(view.project)));
    }
    for (words, records) in state.ready.iter().flat_map(|(_, choices)| choices) {
        if !records.is_empty() && ui.button(format!("{words}: {}", records.len())).clicked() {
            state.chosen.clone_from(records);
            state.page = 0;
        }
    }
    ui.label(muted(
        ui,
        "Or select rows on another screen and choose Label there.",
    ));
    if !state.chosen.is_empty() {
        section_heading(ui, &format!("Chosen: {}", state.chosen.len()));
        chosen_ui(ui, view.project, &mut state.chosen);
    }
    section_heading(ui, "Paper");
    form_row(ui, "Copies", |ui| {
        let mut copies = f64::from(view.preferences.label_copies);
        let field = NumberField::new("Copies of each", "of each")
            .range(1.0..=f64::from(MOST_COPIES))
            .decimals(0);
        if field.show(ui, &mut copies).changed {
            out.ask(Request::RememberCopies(copies as u32));
        }
    });
    form_row(ui, "Sheet", |ui| {
        let own = state.sheets.len();
        let name = |sheet: usize| {
            state
                .sheets
                .get(sheet)
                .map_or_else(|| "single, own size".to_owned(), Sheet::name)
        };
        let mut sheet = state.sheet;
        let combo = ComboBox::from_id_salt("sheet")
            .selected_text(name(sheet))
            .width(170.0)
            .show_ui(ui, |ui| {
                for choice in 0..=own {
                    ui.selectable_value(&mut sheet, choice, name(choice));
                }
            });
        combo.response.widget_info(|| {
            WidgetInfo::labeled(Role::ComboBox, true, format!("Sheet: {}", name(sheet)))
        });
        if sheet != state.sheet {
            state.sheet = sheet;
            state.start = Slot::FIRST;
            state.page = 0;
        }
    });
    if state.sheet >= state.sheets.len() {
        millimetres(ui, "Width", &mut state.own_size.width);
        millimetres(ui, "Height", &mut state.own_size.height);
    }
    let sheet = state.sheet();
    if sheet.labels_per_page() > 1 {
        place(ui, "From row", sheet.rows, &mut state.start.row);
        place(ui, "From column", sheet.columns, &mut state.start.column);
        ui.label(muted(
            ui,
            "The first label still on the sheet. You can also click it in the preview.",
        ));
    }
    ui.label(muted(
        ui,
        "Print at actual size: a sheet scaled to fit the page misses its labels.",
    ));
}

fn chosen_ui(ui: &mut Ui, project: &Project, chosen: &mut Vec<AnyId>) {
    let mut removed = None;
    ScrollArea::vertical()
        .id_salt("chosen labels")
        .max_height(150.0)
        .auto_shrink([false, true])
        .show_rows(ui, space::TARGET, chosen.len(), |ui, rows| {
            for nth in rows {
                ui.horizontal(|ui| {
                    let words = project.describe(chosen[nth]);
                    let button = ui.button(kit::fonts::mark::TIMES);
                    button.widget_info(|| {
                        WidgetInfo::labeled(Role::Button, true, format!("Leave out {words}"))
                    });
                    if button.clicked() {
                        removed = Some(nth);
                    }
                    ui.label(words);
                });
            }
        });
    if let Some(nth) = removed {
        chosen.remove(nth);
    }
    if ui.button("Clear").clicked() {
        chosen.clear();
    }
}

fn millimetres(ui: &mut Ui, name: &str, value: &mut f32) {
    form_row(ui, name, |ui| {
        let mut number = f64::from(*value);
        NumberField::new(name, "mm")
            .range(5.0..=500.0)
            .decimals(1)
            .show(ui, &mut number);
        *value = number as f32;
    });
}

fn place(ui: &mut Ui, name: &str, most: u32, value: &mut u32) {
    form_row(ui, name, |ui| {
        let mut number = f64::from(*value);
        NumberField::new(name, &format!("of {most}"))
            .range(1.0..=f64::from(most))
            .decimals(0)
            .show(ui, &mut number);
        *value = number as u32;
    });
}

/// What was asked for in the picture of the sheet.
struct Asked {
    /// The place on the grid that was clicked.
    start: Option<Slot>,
    save: bool,
}

/// Draws one page with what didn't come out whole.
fn sheet_ui(ui: &mut Ui, layout: &Layout, sheet: &Sheet, page: &mut usize) -> Asked {
    let mut save = false;
    let pages = layout.pages.len();
    *page = (*page).min(pages.saturating_sub(1));
    ui.horizontal(|ui| {
        if ui
            .add_enabled(*page > 0, egui::Button::new("Previous page"))
            .clicked()
        {
            *page -= 1;
        }
        ui.label(format!("Page {} of {pages}", *page + 1));
        if ui
            .add_enabled(*page + 1 < pages, egui::Button::new("Next page"))
            .clicked()
        {
            *page += 1;
        }
        ui.label(muted(ui, sheet.name()));
        ui.with_layout(egui::Layout::right_to_left(Align::Center), |ui| {
            save = main_button(ui, "Save the sheet as PDF…").clicked();
            save |= kit::page_keys::acts(ui, egui::Key::P, "save as PDF");
        });
    });
    if !layout.findings.is_empty() {
        badge(
            ui,
            Meaning::Late,
            &format!("{} could not be printed in full", layout.findings.len()),
        );
        for finding in layout.findings.iter().take(3) {
            ui.add(egui::Label::new(finding.to_string()).wrap());
        }
    }
    let page = layout.pages.get(*page);
    Asked {
        start: page.and_then(|shown| preview::show(ui, layout, shown, sheet)),
        save,
    }
}

/// Takes these records as the ones to label.
pub fn choose(state: &mut State, records: Vec<AnyId>) {
    state.chosen = records
        .into_iter()
        .filter(|id| content::can_be_labelled(id.kind))
        .collect();
    state.page = 0;
}

/// Brings a record into view: as the one to label.
pub fn reveal(state: &mut State, _project: &Project, id: AnyId) {
    choose(state, vec![id]);
}

/// The kinds of records that carry labels.
const LABELLED: [RecordKind; 5] = [
    RecordKind::Sample,
    RecordKind::Genotype,
    RecordKind::Cross,
    RecordKind::SeedLot,
    RecordKind::ChillBox,
];
