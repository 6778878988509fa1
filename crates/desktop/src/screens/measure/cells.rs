//! One cell: what is recorded in it, what is typed in it, and what becomes of that when it is left.

use super::{Cell, Column, Sheet, Spot, State};
use crate::view::{Outbox, View};
use domain::recording::{read, told};
use domain::{Genotype, Id, Observation, Trait};
use egui::Ui;
use kit::dates::{self, DayOrder};
use kit::drafts::Slot;

/// What a cell is called: 'Alpha acids of T-014'.
pub(super) fn name(view: &View<'_>, spot: Spot) -> String {
    let code = view.project.code_of(spot.plant);
    match spot.column {
        Column::Trait(of_trait) => {
            let of_trait = view.project.traits().get(of_trait);
            format!("{} of {code}", of_trait.map_or("", |each| &each.name))
        }
        Column::Remark => format!("Remark on {code}"),
    }
}

/// Where what is typed in a cell lies: by the day, so that it is never recorded for another one.
pub(super) fn slot(ui: &Ui, view: &View<'_>, spot: Spot) -> Slot {
    let of = match spot.column {
        Column::Trait(of_trait) => of_trait.uuid().to_string(),
        Column::Remark => "remark".to_owned(),
    };
    let place = format!("{} {} {of}", view.today, spot.plant.uuid());
    Slot::of(ui, &format!("{place}/{}", name(view, spot)))
}

/// The value of this round, if there is one.
pub(super) fn seen<'a>(view: &View<'a>, sheet: &Sheet, spot: Spot) -> Option<&'a Observation> {
    let Column::Trait(of_trait) = spot.column else {
        return None;
    };
    sheet
        .round
        .existing(view.project, (spot.plant, of_trait), view.today)
}

/// What is recorded in a cell, as it can be typed.
pub(super) fn recorded(view: &View<'_>, sheet: &Sheet, spot: Spot) -> String {
    match spot.column {
        Column::Trait(_) => {
            seen(view, sheet, spot).map_or_else(String::new, |seen| told(&seen.value))
        }
        Column::Remark => sheet
            .round
            .remark(view.project, spot.plant, &sheet.traits, view.today),
    }
}

/// The cell of a trait.
pub(super) const fn cell(spot: Spot) -> Option<Cell> {
    match spot.column {
        Column::Trait(of_trait) => Some((spot.plant, of_trait)),
        Column::Remark => None,
    }
}

/// Takes what is typed in a cell: hands in its edit, or keeps it there with the sentence that says what is wrong.
pub(super) fn commit(
    ui: &Ui,
    view: &View<'_>,
    state: &mut State,
    sheet: &Sheet,
    spot: Spot,
    out: &mut Outbox<'_>,
) {
    let slot = slot(ui, view, spot);
    let Some((text, problem)) = slot.held(ui.ctx()) else {
        return;
    };
    if text.trim() == recorded(view, sheet, spot) {
        slot.forget(ui.ctx());
        return;
    }
    if problem.is_some() {
        // It was tried as it stands.
        note_unread(state, spot);
        return;
    }
    let project = view.project;
    let edit = match spot.column {
        Column::Remark => {
            let (traits, today) = (&sheet.traits, view.today);
            let round = &sheet.round;
            round.set_remark(project, spot.plant, traits, today, text.trim())
        }
        Column::Trait(of_trait) => meant(ui, view, of_trait, &text).map(|value| {
            let cell = (spot.plant, of_trait);
            sheet
                .round
                .record(project, cell, view.today, value, out.ids)
        }),
    };
    match edit {
        Ok(Some(edit)) => {
            out.submit(slot.ticket(ui.ctx()), edit);
            note_entered(state, spot);
        }
        Ok(None) => slot.forget(ui.ctx()),
        Err(why) => {
            slot.keep(ui.ctx(), &text, Some(&why));
            note_unread(state, spot);
        }
    }
}

/// What a text means for a trait; nothing if it is empty.
pub(super) fn meant(
    ui: &Ui,
    view: &View<'_>,
    of_trait: Id<Trait>,
    text: &str,
) -> Result<Option<domain::Value>, String> {
    let Some(of_trait) = view.project.traits().get(of_trait) else {
        return Err("The trait isn't in the project any more.".into());
    };
    let order = DayOrder::of(ui.ctx());
    read(&of_trait.scale, &of_trait.name, text, |text| {
        dates::read(text, view.today, order)
    })
}

/// So many cells are asked about beside the grid.
const ASKED: usize = 200;

pub(super) fn note_entered(state: &mut State, spot: Spot) {
    state.unread.retain(|each| *each != spot);
    if let Some(cell) = cell(spot) {
        state.entered.retain(|each| *each != cell);
        state.entered.push(cell);
        if state.entered.len() > ASKED {
            state.entered.remove(0);
        }
    }
}

pub(super) fn note_unread(state: &mut State, spot: Spot) {
    if !state.unread.contains(&spot) {
        state.unread.push(spot);
    }
}

/// The cells in which something typed was left behind, by an earlier visit to the page or an earlier run of the program.
pub(super) fn kept_drafts(
    ui: &Ui,
    view: &View<'_>,
    rows: &[Id<Genotype>],
    traits: &[&Trait],
) -> Vec<Spot> {
    let waits = kit::drafts::with(ui.ctx(), |drafts| {
        drafts
            .pending()
            .iter()
            .any(|each| each.screen() == Some(crate::view::Screen::Measure.title()))
    });
    if !waits {
        return Vec::new();
    }
    let columns: Vec<Column> = all_columns(traits).collect();
    let spots = rows.iter().flat_map(|plant| {
        columns.iter().map(|column| Spot {
            plant: *plant,
            column: *column,
        })
    });
    spots
        .filter(|spot| slot(ui, view, *spot).held(ui.ctx()).is_some())
        .collect()
}

/// The columns: a trait each, and last the remark.
pub(super) fn all_columns(traits: &[&Trait]) -> impl Iterator<Item = Column> {
    let of_traits = traits.iter().map(|each| Column::Trait(each.id));
    of_traits.chain([Column::Remark])
}
