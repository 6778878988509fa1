//! Scoring: a table of plants with a column for each score; digits and arrows alone go down it.

use super::selection;
use crate::derived::Listing;
use crate::view::{Outbox, Request, Screen, View};
use chrono::NaiveDate;
use domain::actions::score;
use domain::{Cross, Edit, Genotype, Id, Origin, Project, Scale, Sex, Stage, Trait};
use egui::{ComboBox, Role, Ui, WidgetInfo};
use kit::drafts::Ticket;
use kit::fonts::mark;
use kit::theme::muted;
use kit::widgets::{Column, Rows, Sort, Table, TableState, empty_state, find_box};

/// The columns before the traits: code, sex, stage.
const FIXED: usize = 3;

/// What the page remembers between frames.
#[derive(Default)]
pub(super) struct State {
    table: TableState<Id<Genotype>>,
    listing: Listing<Genotype, Filter>,
    filter: Filter,
    selection: selection::State,
}

/// Which plants are shown, in which order.
#[derive(Debug, Clone, PartialEq, Default)]
struct Filter {
    family: Option<Id<Cross>>,
    stage: Option<Id<Stage>>,
    with_ended: bool,
    find: String,
    sort: Option<Sort>,
    traits: Vec<Id<Trait>>,
}

pub(super) fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let project = view.project;
    let seedlings = project
        .genotypes()
        .iter()
        .any(|plant| !matches!(plant.origin, Origin::Founder { .. }));
    if !seedlings {
        let sentence = "Seedlings show here from the day they are potted. Count the sprouts of a box in warmth, then pot them up: each gets its number.";
        if empty_state(ui, sentence, "Go to the calendar") {
            out.ask(Request::Go(Screen::Calendar));
        }
        return;
    }
    let day = view.today;
    ui.horizontal_wrapped(|ui| {
        filters_ui(ui, project, &mut state.filter);
        find_box(ui, "Find a plant", &mut state.filter.find);
    });
    let traits: Vec<&Trait> = project
        .traits()
        .iter()
        .filter(|each| matches!(each.scale, Scale::Score { from: 1, to: 9, .. }))
        .collect();
    state.filter.sort = state.table.sort;
    state.filter.traits = traits.iter().map(|each| each.id).collect();
    let key = Filter {
        find: state.filter.find.to_lowercase(),
        ..state.filter.clone()
    };
    let rows = state.listing.rows(project, key, listed);
    // What can't be seen can't be acted on. In the order of the table, so that the first one named is the first seen.
    if state.table.keep_shown(&rows, project.revision()) {
        ui.ctx().request_repaint();
    }
    let chosen: Vec<Id<Genotype>> = if state.table.selected.is_empty() {
        Vec::new()
    } else {
        let is_chosen = |id: &&Id<Genotype>| state.table.selected.contains(*id);
        rows.iter().filter(is_chosen).copied().collect()
    };
    selection::show(ui, view, &mut state.selection, &chosen, day, out);
    ui.label(muted(
        ui,
        format!(
            "{} plants. Type 1 to 9 to score and move down; full stop skips, Backspace clears, \
        Left and Right change column.",
            rows.len()
        ),
    ));
    table_ui(ui, view, state, &rows, &traits, day, out);
}

fn filters_ui(ui: &mut Ui, project: &Project, filter: &mut Filter) {
    let family = filter
        .family
        .map_or("all families", |family| project.code_of(family))
        .to_owned();
    let combo = ComboBox::from_id_salt("family")
        .selected_text(&family)
        .width(120.0)
        .show_ui(ui, |ui| {
            ui.selectable_value(&mut filter.family, None, "all families");
            for cross in project
                .crosses()
                .iter()
                .filter(|cross| project.progeny_of(cross.id).next().is_some())
            {
                ui.selectable_value(&mut filter.family, Some(cross.id), &cross.code);
            }
        });
    combo
        .response
        .widget_info(|| WidgetInfo::labeled(Role::ComboBox, true, format!("Family: {family}")));
    let stages = project.stages_in_order();
    let stage = filter
        .stage
        .and_then(|stage| project.stages().get(stage))
        .map_or("all stages", |stage| stage.name.as_str())
        .to_owned();
    let combo = ComboBox::from_id_salt("stage")
        .selected_text(&stage)
        .width(120.0)
        .show_ui(ui, |ui| {
            ui.selectable_value(&mut filter.stage, None, "all stages");
            for stage in stages {
                ui.selectable_value(&mut filter.stage, Some(stage.id), &stage.name);
            }
        });
    combo
        .response
        .widget_info(|| WidgetInfo::labeled(Role::ComboBox, true, format!("Stage: {stage}")));
    ui.checkbox(&mut filter.with_ended, "Include culled and dead");
}

fn listed(project: &Project, filter: &Filter) -> Vec<Id<Genotype>> {
    let mut plants: Vec<&Genotype> = match filter.family {
        Some(family) => project.progeny_of(family).collect(),
        None => project
            .genotypes()
            .iter()
            .filter(|plant| !matches!(plant.origin, Origin::Founder { .. }))
            .collect(),
    };
    plants.retain(|plant| {
        (filter.with_ended || plant.is_alive())
            && filter.stage.is_none_or(|stage| plant.stage == Some(stage))
            && (filter.find.is_empty()
                || plant.code.to_lowercase().contains(&filter.find)
                || plant.location.to_lowercase().contains(&filter.find))
    });
    match filter.sort {
        None | Some(Sort { column: 0, .. }) => plants.sort_by(|a, b| a.code.cmp(&b.code)),
        Some(Sort { column: 1, .. }) => plants.sort_by_key(|plant| plant.known_sex()),
        Some(Sort { column: 2, .. }) => plants.sort_by_key(|plant| {
            plant
                .stage
                .and_then(|stage| project.stages().get(stage))
                .map(|stage| stage.rank)
        }),
        Some(Sort { column, .. }) => {
            let of_trait = filter.traits.get(column - FIXED).copied();
            let value = |plant: &Genotype| {
                of_trait
                    .and_then(|each| project.latest_observation(plant.id, each))
                    .and_then(|seen| seen.number(project))
                    .map(|value| value as i64)
            };
            plants.sort_by_cached_key(|plant| value(plant));
        }
    }
    if filter.sort.is_some_and(|sort| !sort.ascending) {
        plants.reverse();
    }
    plants.into_iter().map(|plant| plant.id).collect()
}

fn table_ui(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    rows: &[Id<Genotype>],
    traits: &[&Trait],
    day: NaiveDate,
    out: &mut Outbox<'_>,
) {
    let project = view.project;
    let mut columns = vec![
        Column::text("Code", 120.0),
        Column::text("Sex", 100.0),
        Column::text("Stage", 120.0).stretch(),
    ];
    columns.extend(traits.iter().map(|each| {
        let hint = match &each.scale {
            Scale::Score {
                from,
                to,
                low,
                high,
                ..
            } => format!("{from} {low}, {to} {high}. {}", each.method),
            _ => each.method.clone(),
        };
        Column::score(&each.name, 110.0).hint(hint)
    }));
    let response = Table::new("Scores", &columns).show(
        ui,
        &mut state.table,
        Rows {
            count: rows.len(),
            key: |row: usize| rows[row],
            name: |row: usize| project.code_of(rows[row]).to_owned(),
            cell: |ui: &mut Ui, row: usize, column: usize| {
                let Some(plant) = project.genotypes().get(rows[row]) else {
                    return;
                };
                match column {
                    0 => {
                        let ended = if plant.is_alive() { "" } else { mark::CROSS };
                        let selected = if plant.selected.is_some() {
                            mark::TICK
                        } else {
                            ""
                        };
                        ui.label(format!("{} {ended}{selected}", plant.code));
                    }
                    1 => {
                        ui.label(sex_words(plant.known_sex()));
                    }
                    2 => {
                        let stage = plant.stage.and_then(|stage| project.stages().get(stage));
                        ui.label(match &plant.end {
                            Some(end) => end.kind.word(),
                            None => stage.map_or("", |stage| stage.name.as_str()),
                        });
                    }
                    _ => score_cell(ui, project, plant.id, traits.get(column - FIXED), day),
                }
            },
        },
    );
    if response.sort.is_some() {
        state.table.sort = response.sort;
    }
    if let Some(plant) = response.opened {
        out.show(plant);
    }
    if view.read_only.is_some() {
        return;
    }
    for entry in response.entries {
        let Some(of_trait) = entry
            .column
            .checked_sub(FIXED)
            .and_then(|column| traits.get(column))
        else {
            continue;
        };
        if let Some(digit) = entry.digit {
            let edit = score(
                project,
                entry.key,
                of_trait.id,
                day,
                f64::from(digit),
                out.ids,
            );
            out.submit(Ticket::of_value(ui), edit);
        } else {
            let of_day = project
                .observations_of(entry.key)
                .filter(|each| each.of_trait == of_trait.id && each.date == day)
                .last();
            if let Some(seen) = of_day {
                out.act(ui, "clear the score", seen.id, Edit::remove(seen.id));
            }
        }
    }
}

/// The score of the day, or, muted, the last one before it.
fn score_cell(
    ui: &mut Ui,
    project: &Project,
    plant: Id<Genotype>,
    of_trait: Option<&&Trait>,
    day: NaiveDate,
) {
    let Some(of_trait) = of_trait else { return };
    let Some(seen) = project.latest_observation(plant, of_trait.id) else {
        return;
    };
    if seen.date == day {
        ui.label(seen.value.to_string());
    } else {
        ui.label(muted(ui, seen.value.to_string()))
            .on_hover_text(format!("seen {}", seen.date));
    }
}

/// A sex as its mark and word.
pub(super) fn sex_words(sex: Option<Sex>) -> String {
    match sex {
        None => "unknown".into(),
        Some(Sex::Female) => format!("{} female", mark::FEMALE),
        Some(Sex::Male) => format!("{} male", mark::MALE),
        Some(Sex::Monoecious) => format!("{} monoecious", mark::MONOECIOUS),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sexes_are_told_by_mark_and_word() {
        assert_eq!(sex_words(Some(Sex::Female)), "♀ female");
        assert_eq!(sex_words(None), "unknown");
    }
}
