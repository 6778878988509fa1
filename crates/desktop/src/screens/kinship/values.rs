//! Breeding values: a trait evaluated on the worker, its answer in words, and every plant with its value.

use super::plan::Form;
use super::{answer, earlier_ui};
use crate::derived::{Evaluated, Listing};
use crate::dialogs::Question;
use crate::screens::explanation::show as explanation_ui;
use crate::screens::fields::marked_code;
use crate::screens::sorting::{Key, holds, sort};
use crate::view::{Outbox, Request, Screen, View};
use domain::display::origin_words;
use domain::genetics::{Evaluation, PlantValue};
use domain::{Genotype, Id, Project, Scale};
use egui::{Label, Panel, ScrollArea, Ui};
use kit::figures::decimals;
use kit::theme::{muted, space};
use kit::widgets::{
    Column, Rows, Sort, Table, TableState, empty_state, find_box, growth, list_and_detail,
    main_button, segmented, share_bar,
};
use std::rc::Rc;

/// What the page remembers between frames.
#[derive(Default)]
pub(super) struct State {
    form: Form,
    table: TableState<Id<Genotype>>,
    filter: Filter,
    listing: Listing<Genotype, ListingKey>,
    /// What is to be said of the ploidies of the plants listed, for a listing.
    ploidy: Option<(Listed, Option<&'static str>)>,
    detail_open: bool,
}

type Listed = Rc<[Id<Genotype>]>;
type ListingKey = (crate::derived::Stamp, Filter, Option<Sort>);

#[derive(Debug, Clone, PartialEq, Eq, Default)]
struct Filter {
    find: String,
    show: Show,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Show {
    #[default]
    Living,
    All,
    Recorded,
}

pub(super) fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let Some(plan) = state.form.plan(view.project) else {
        nothing_recorded(ui, view.project, out);
        return;
    };
    let genetics = view.derived.genetics();
    let evaluated = genetics.evaluation(view.project, plan.of_trait);
    // The other screens show the trait that is looked at here.
    if matches!(evaluated.outcome.as_deref(), Some(Ok(_))) {
        genetics.show(plan.of_trait);
    }
    let width = (ui.available_width() * 0.28).clamp(290.0, 380.0);
    Panel::left("evaluation")
        .exact_size(width)
        .resizable(false)
        .show_separator_line(false)
        .frame(egui::Frame::new().inner_margin(egui::Margin {
            right: space::L as i8,
            ..egui::Margin::ZERO
        }))
        .show(ui, |ui| {
            ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
                ui.set_max_width(width - space::XL - space::S);
                state.form.show(ui, view, &plan);
                let mut wanted = run_ui(ui, view, &plan, &evaluated);
                let simpler = match evaluated.outcome.as_deref() {
                    Some(Ok(evaluation)) => answer::show(ui, evaluation),
                    Some(Err(why)) => answer::refused(ui, why, &plan),
                    None => None,
                };
                if let Some(simpler) = simpler {
                    state.form.set(simpler.clone());
                    wanted = Some(simpler);
                }
                if let Some(plan) = wanted {
                    genetics.evaluate(view.project, ui.ctx(), plan);
                }
            });
        });
    if let Some(Ok(evaluation)) = evaluated.outcome.as_deref() {
        plants_ui(ui, view, state, evaluation, out);
    } else {
        ui.add_space(space::XL);
        ui.horizontal(|ui| {
            ui.add_space(space::L);
            let words = "A plant's breeding value says what it is worth as a parent, estimated from its own records \
                and those of its relatives, in the trait's unit, as a difference from the mean. Seedlings take half of \
                it from each parent. Even plants never scored get one; the accuracy tells you how far to trust it.";
            ui.add(egui::Label::new(muted(ui, words)).wrap());
        });
    }
}

fn nothing_recorded(ui: &mut Ui, project: &Project, out: &mut Outbox<'_>) {
    let (sentence, button, screen) = if project.traits().is_empty() {
        (
            "There is no trait yet. Breeding values come from what is scored or measured on plants whose parents are known.",
            "Set up a trait",
            Screen::Setup,
        )
    } else {
        (
            "Nothing is scored or measured yet. Breeding values come from records on plants whose parents are known; some dozens of them say more than a few.",
            "Go to scoring",
            Screen::Seedlings,
        )
    };
    if empty_state(ui, sentence, button) {
        out.ask(Request::Go(screen));
    }
}

/// The button that runs the evaluation, or how far it is.
fn run_ui(
    ui: &mut Ui,
    view: &View<'_>,
    plan: &domain::genetics::Plan,
    evaluated: &Evaluated,
) -> Option<domain::genetics::Plan> {
    ui.add_space(space::S);
    if let Some(progress) = &evaluated.progress {
        let words = if progress.words.is_empty() {
            "Reading the pedigree"
        } else {
            &progress.words
        };
        ui.label(words);
        growth(
            ui,
            &format!("Progress: {words}"),
            progress.part.unwrap_or(0.0),
        );
        if ui.button("Stop").clicked() {
            view.derived.genetics().stop(plan.of_trait);
        }
        return None;
    }
    let mut run = false;
    ui.horizontal_wrapped(|ui| {
        run = main_button(ui, "Evaluate").clicked();
        if evaluated.outcome.is_some() {
            earlier_ui(ui, evaluated.current);
        }
    });
    if evaluated.ended_without {
        ui.label("Stopped. There is no new answer.");
    }
    run.then(|| plan.clone())
}

fn plants_ui(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    evaluation: &Evaluation,
    out: &mut Outbox<'_>,
) {
    let project = view.project;
    let title = state
        .table
        .only_selected()
        .map_or(String::new(), |plant| project.code_of(plant).to_owned());
    let was_open = state.detail_open && !title.is_empty();
    let mut open = was_open;
    list_and_detail(
        ui,
        "breeding values",
        &mut open,
        &title,
        &mut (&mut *state, out),
        |ui, (state, out)| table_ui(ui, view, state, evaluation, out),
        |ui, (state, out)| {
            let Some(plant) = state.table.only_selected() else {
                return;
            };
            ui.horizontal_wrapped(|ui| {
                if ui.button("Open its page").clicked() {
                    out.show(plant);
                }
                if let Some(record) = project.genotypes().get(plant) {
                    ui.label(muted(ui, origin_words(project, &record.origin)));
                }
            });
            match evaluation.explain(project, plant) {
                Some(explanation) => explanation_ui(ui, &explanation),
                None => {
                    ui.label("It came after this evaluation. Evaluate again.");
                }
            }
        },
    );
    if was_open && !open {
        state.detail_open = false;
    }
}

fn table_ui(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    evaluation: &Evaluation,
    out: &mut Outbox<'_>,
) {
    let project = view.project;
    let stamp = view.derived.genetics().figures(project, ui.ctx()).stamp();
    ui.horizontal_wrapped(|ui| {
        let shows = [
            (Show::Living, "Living"),
            (Show::All, "All"),
            (Show::Recorded, "With records"),
        ];
        segmented(ui, "Which values", &mut state.filter.show, &shows);
        find_box(ui, "Find values", &mut state.filter.find);
        if ui.button("Save as CSV…").clicked() {
            let name = project
                .traits()
                .get(evaluation.plan.of_trait)
                .map_or("breeding values", |each| each.name.as_str());
            let question = Question::SaveCsv(format!("breeding values, {name}.csv"));
            out.ask(Request::Export(
                question,
                csv(project, evaluation).into_bytes(),
            ));
        }
    });
    let key = (stamp, state.filter.clone(), state.table.sort);
    let ids = state
        .listing
        .rows(project, key, |project, (_, filter, order)| {
            rows(project, evaluation, filter, *order)
        });
    if ids.is_empty() {
        ui.label(muted(
            ui,
            "No plant matches. Clear the search box, or show all.",
        ));
        return;
    }
    if state
        .ploidy
        .as_ref()
        .is_none_or(|kept| !Rc::ptr_eq(&kept.0, &ids))
    {
        state.ploidy = Some((Rc::clone(&ids), ploidy_words(project, &ids)));
    }
    if let Some((_, Some(words))) = &state.ploidy {
        ui.add(Label::new(muted(ui, *words)).wrap());
    }
    let clones = evaluation.values.iter().any(|value| value.clone.is_some());
    let unit = project
        .traits()
        .get(evaluation.plan.of_trait)
        .map_or_else(String::new, |each| match &each.scale {
            Scale::Score { .. } => "points".into(),
            scale => scale.unit(),
        });
    let mut columns = vec![
        Column::text("Plant", 100.0).hint(
            "3x, 4x and so on: not diploid; its value isn't to be held against those of diploids",
        ),
        Column::text("Name", 76.0).stretch(),
        Column::text("Sex", 64.0),
        Column::number(format!("Value, {unit}"), 100.0).hint("Breeding value, from the mean"),
        Column::text("Accuracy", 112.0)
            .hint("How far predicted and true value go together, 0 to 1"),
        Column::number("Records", 72.0).hint("Records of the plant itself"),
    ];
    if clones {
        columns.push(Column::number("Clone value", 96.0).hint("What its cuttings are worth"));
    }
    let table_rows = Rows {
        count: ids.len(),
        key: |row: usize| ids[row],
        name: |row: usize| row_name(project, evaluation, ids[row]),
        cell: |ui: &mut Ui, row: usize, column: usize| {
            if let Some(value) = evaluation.value(ids[row]) {
                cell(ui, project, value, column);
            }
        },
    };
    let response =
        Table::new("Breeding values of plants", &columns).show(ui, &mut state.table, table_rows);
    if response.changed || response.opened.is_some() {
        state.detail_open = true;
    }
}

/// What is to be said where plants of several ploidies are listed together.
fn ploidy_words(project: &Project, ids: &[Id<Genotype>]) -> Option<&'static str> {
    let other = |id: &Id<Genotype>| {
        project
            .genotypes()
            .get(*id)
            .is_some_and(|plant| plant.ploidy != domain::Ploidy::DIPLOID)
    };
    ids.iter().any(other).then_some(
        "Marked 3x, 4x: not diploid. By convention a doubled plant is given \u{221a}2 times the value of its diploid, and so on: a scaling, not a measurement. Hold such plants against their like, by records of their own.",
    )
}

fn row_name(project: &Project, evaluation: &Evaluation, plant: Id<Genotype>) -> String {
    let code = marked_code(project, plant);
    match evaluation.value(plant) {
        Some(value) => format!(
            "{code}, {:.2}, accuracy {:.2}",
            value.breeding.value, value.breeding.accuracy
        ),
        None => code,
    }
}

fn cell(ui: &mut Ui, project: &Project, value: &PlantValue, column: usize) {
    let plant = project.genotypes().get(value.plant);
    match column {
        0 => ui.label(marked_code(project, value.plant)),
        2 => ui.label(
            plant
                .and_then(domain::Genotype::known_sex)
                .map_or("", domain::Sex::word),
        ),
        1 => ui.label(
            plant
                .and_then(|plant| plant.name.as_deref())
                .unwrap_or_default(),
        ),
        3 => ui.label(decimals(value.breeding.value, 2)),
        4 => share_bar(ui, "Accuracy", value.breeding.accuracy),
        5 => ui.label(value.records.to_string()),
        _ => ui.label(
            value
                .clone
                .map(|clone| decimals(clone.value, 2))
                .unwrap_or_default(),
        ),
    };
}

/// The plants listed: the best first, unless another order was asked for.
fn rows(
    project: &Project,
    evaluation: &Evaluation,
    filter: &Filter,
    order: Option<Sort>,
) -> Vec<Id<Genotype>> {
    let wanted = filter.find.trim().to_lowercase();
    let passes = |value: &&PlantValue| {
        let Some(plant) = project.genotypes().get(value.plant) else {
            return false;
        };
        let shown = match filter.show {
            Show::Living => plant.is_alive(),
            Show::All => true,
            Show::Recorded => value.records > 0,
        };
        shown
            && (holds(&plant.code, &wanted)
                || plant
                    .name
                    .as_deref()
                    .is_some_and(|name| holds(name, &wanted)))
    };
    let ranked = evaluation.ranked(project).into_iter().filter(passes);
    let ids: Vec<_> = ranked.map(|value| value.plant).collect();
    let Some(Sort { column, ascending }) = order else {
        return ids;
    };
    sort(ids, ascending, |id| {
        let value = evaluation.value(*id)?;
        match column {
            0 => Key::words(project.code_of(*id)),
            1 => Key::words(project.genotypes().get(*id)?.name.as_deref()?),
            2 => Key::words(project.genotypes().get(*id)?.known_sex()?.word()),
            3 => Some(Key::figure(value.breeding.value)),
            4 => Some(Key::figure(value.breeding.accuracy)),
            5 => Some(Key::Number(value.records as i64)),
            _ => Some(Key::figure(value.clone?.value)),
        }
    })
}

/// Every plant, the best first.
fn csv(project: &Project, evaluation: &Evaluation) -> String {
    let header = [
        "code",
        "name",
        "breeding_value",
        "accuracy",
        "standard_error",
        "records",
        "clone_value",
        "clone_accuracy",
    ];
    let rows: Vec<Vec<String>> = evaluation
        .ranked(project)
        .into_iter()
        .map(|value| {
            let name = project
                .genotypes()
                .get(value.plant)
                .and_then(|plant| plant.name.clone());
            let clone = |of: fn(&domain::genetics::Value) -> f64| {
                value
                    .clone
                    .as_ref()
                    .map(|clone| of(clone).to_string())
                    .unwrap_or_default()
            };
            vec![
                project.code_of(value.plant).to_owned(),
                name.unwrap_or_default(),
                value.breeding.value.to_string(),
                value.breeding.accuracy.to_string(),
                value.breeding.standard_error.to_string(),
                value.records.to_string(),
                clone(|clone| clone.value),
                clone(|clone| clone.accuracy),
            ]
        })
        .collect();
    exchange::table::csv(&header, &rows)
}
