//! Every female with every pollen: ranked, filtered, compared.

use super::{Pair, compare, pair, why};
use crate::screens::explanation;
use crate::screens::fields::marked_code;
use crate::screens::sorting::{Key, holds, sort};
use crate::view::{Outbox, View};
use domain::Project;
use domain::explanation::Explanation;
use domain::planning::Season;
use domain::planning::{BestOf, Candidate, Candidates};
use egui::Ui;
use kit::figures::{decimals, with_minus};
use kit::theme::{muted, space};
use kit::widgets::{
    Column, NumberField, Rows, Sort, Table, TableState, find_box, list_and_detail, segmented,
};
use kit::worker::Latest;
use std::rc::Rc;

/// What the page remembers between frames.
pub(super) struct State {
    table: TableState<Pair>,
    filter: Filter,
    rows: Rc<[usize]>,
    made_for: Option<(u64, Filter, Option<Sort>)>,
    counts: Counts,
    why: why::State,
    detail_open: bool,
}

/// How many pairs are offered and not, and why: counted once for each revision.
#[derive(Default)]
struct Counts {
    made_for: Option<u64>,
    offered: usize,
    not: usize,
    reasons: String,
}

impl Counts {
    fn refresh(&mut self, candidates: &Candidates) {
        if self.made_for == Some(candidates.revision) {
            return;
        }
        let not = candidates.pairs.iter().filter(|pair| !pair.is_offered());
        let not = not.count();
        let reasons: Vec<String> = candidates
            .reasons()
            .iter()
            .map(|(reason, count)| format!("{reason}, {count}"))
            .collect();
        *self = Self {
            made_for: Some(candidates.revision),
            offered: candidates.pairs.len() - not,
            not,
            reasons: reasons.join("; "),
        };
    }
}

#[derive(Debug, Clone, PartialEq)]
struct Filter {
    find: String,
    show: Show,
    /// Seedlings of a family that the best is expected of.
    of: BestOf,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Show {
    Offered,
    Not,
}

impl Default for State {
    fn default() -> Self {
        Self {
            table: TableState::default(),
            filter: Filter {
                find: String::new(),
                show: Show::Offered,
                of: BestOf::seedlings(50),
            },
            rows: Rc::default(),
            made_for: None,
            counts: Counts::default(),
            why: why::State::default(),
            detail_open: false,
        }
    }
}

impl State {
    /// The pair that is selected, if it is one.
    pub(super) fn only_selected(&self) -> Option<Pair> {
        self.table.only_selected()
    }

    /// The places of the pairs to list, made anew when pairs, filter or order changed.
    fn rows(&mut self, project: &Project, candidates: &Candidates) -> Rc<[usize]> {
        let wanted = (candidates.revision, self.filter.clone(), self.table.sort);
        if self.made_for.as_ref() != Some(&wanted) {
            self.rows = listed(project, candidates, &self.filter, self.table.sort).into();
            self.made_for = Some(wanted);
        }
        Rc::clone(&self.rows)
    }
}

/// Draws the page; the pair to calculate seeds for, when that was asked.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    season: &Latest<Season>,
    out: &mut Outbox<'_>,
) -> Option<Pair> {
    let candidates = &season.candidates;
    // In the order of the list, which is that of what they promise.
    let all = if state.table.selected.is_empty() {
        &[][..]
    } else {
        &candidates.pairs[..]
    };
    let chosen: Vec<&Candidate> = all
        .iter()
        .filter(|pair| {
            state
                .table
                .selected
                .contains(&(pair.female, pair.pollen.male))
        })
        .collect();
    let title = match chosen[..] {
        [] => String::new(),
        [only] => candidates.title(view.project, only),
        _ => format!("{} pairs compared", chosen.len()),
    };
    let was_open = state.detail_open && !chosen.is_empty();
    let mut open = was_open;
    let of = state.filter.of;
    let mut wanted = None;
    list_and_detail(
        ui,
        "pairs",
        &mut open,
        &title,
        &mut (&mut *state, out),
        |ui, (state, _)| table_ui(ui, view, state, candidates),
        |ui, (_, out)| match chosen[..] {
            [only] => wanted = pair::show(ui, view, candidates, only, of, out),
            _ => compare::show(ui, view.project, candidates, &chosen, of),
        },
    );
    if was_open && !open {
        state.detail_open = false;
    }
    wanted
}

fn table_ui(ui: &mut Ui, view: &View<'_>, state: &mut State, candidates: &Candidates) {
    state.counts.refresh(candidates);
    filter_ui(ui, candidates, &state.counts, &mut state.filter);
    if state.filter.show == Show::Not {
        why::show(ui, view, &mut state.why);
        reasons_ui(ui, &state.counts);
    }
    let rows = state.rows(view.project, candidates);
    if rows.is_empty() {
        ui.add_space(space::M);
        ui.label(muted(ui, nothing_words(candidates, &state.filter)));
        return;
    }
    let columns = columns(view.project, candidates, &state.filter);
    let filter = state.filter.clone();
    let pair_at = |row: usize| &candidates.pairs[rows[row]];
    let table_rows = Rows {
        count: rows.len(),
        key: |row: usize| (pair_at(row).female, pair_at(row).pollen.male),
        name: |row: usize| row_name(view.project, candidates, pair_at(row), filter.of),
        cell: |ui: &mut Ui, row: usize, column: usize| {
            let pair = pair_at(row);
            let text = cell(view.project, candidates, pair, &filter, column);
            ui.label(text).on_hover_ui(|ui| {
                if let Some(explained) = explain(view.project, candidates, pair, &filter, column) {
                    explanation::show(ui, &explained);
                } else {
                    ui.label(candidates.title(view.project, pair));
                }
            });
        },
    };
    let name = match filter.show {
        Show::Offered => "Pairs",
        Show::Not => "Pairs not offered",
    };
    let response = Table::new(name, &columns).show(ui, &mut state.table, table_rows);
    if let Some(sort) = response.sort {
        state.table.sort = Some(sort);
    }
    if response.changed || response.opened.is_some() {
        state.detail_open = true;
    }
}

fn filter_ui(ui: &mut Ui, candidates: &Candidates, counts: &Counts, filter: &mut Filter) {
    let offered = format!("Possible, {}", counts.offered);
    let others = format!("Ruled out, {}", counts.not);
    ui.horizontal_wrapped(|ui| {
        let shows = [
            (Show::Offered, offered.as_str()),
            (Show::Not, others.as_str()),
        ];
        segmented(ui, "Which pairs", &mut filter.show, &shows);
        find_box(ui, "Find pairs", &mut filter.find);
        ui.label(muted(ui, "Best of"));
        let mut of = f64::from(filter.of.count());
        NumberField::new("Seedlings of a family", "seedlings")
            .decimals(0)
            .range(1.0..=100_000.0)
            .width(56.0)
            .show(ui, &mut of);
        if of as u32 != filter.of.count() {
            filter.of = BestOf::seedlings(of as u32);
        }
    });
    let [females, males] = candidates.left_out;
    if females + males > 0 {
        let words = format!(
            "Only the best by the index are paired: {females} females and {males} males are left out."
        );
        ui.label(muted(ui, words).small());
    }
    if candidates.goals.traits.is_empty() {
        ui.label(
            muted(
                ui,
                "No goals are set yet, so all pairs look equally good. Choose traits under Goals.",
            )
            .small(),
        );
    }
    if filter.show == Show::Offered {
        ui.label(muted(ui, "Select two or more with Ctrl or Shift to compare them. Point at a number to see how it \
            is worked out.").small());
    }
}

fn nothing_words(candidates: &Candidates, filter: &Filter) -> &'static str {
    match filter.show {
        _ if !filter.find.is_empty() => "No pair fits. Clear the find box.",
        Show::Not => "Every pair can be made.",
        Show::Offered if candidates.pairs.is_empty() => {
            "There is no pair yet. Record the sex of your plants: one female and one male make the first."
        }
        Show::Offered => "No pair can be made as things stand. See why under 'Ruled out'.",
    }
}

fn reasons_ui(ui: &mut Ui, counts: &Counts) {
    if !counts.reasons.is_empty() {
        let words = format!("Reasons: {}.", counts.reasons);
        ui.add(egui::Label::new(muted(ui, words)).wrap());
    }
}

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Figure {
    Female,
    Pollen,
    Reason,
    Best,
    Index,
    Trait(usize),
    ReachesAll,
    Inbreeding,
    Added,
    Sources,
}

fn figure(candidates: &Candidates, filter: &Filter, column: usize) -> Figure {
    let traits = candidates.goals.traits.len();
    match (column, filter.show) {
        (0, _) => Figure::Female,
        (1, _) => Figure::Pollen,
        (2, Show::Not) => Figure::Reason,
        (2, Show::Offered) => Figure::Best,
        (3, _) => Figure::Index,
        (4, _) => Figure::ReachesAll,
        (5, _) => Figure::Inbreeding,
        (6, _) => Figure::Added,
        (column, _) if column - 7 < traits => Figure::Trait(column - 7),
        _ => Figure::Sources,
    }
}

fn columns(project: &Project, candidates: &Candidates, filter: &Filter) -> Vec<Column> {
    let third = match filter.show {
        Show::Offered => Column::number(format!("Best of {}", filter.of.count()), 92.0)
            .hint("Index expected of the seedling that looks best among so many"),
        Show::Not => Column::text("Why not", 170.0),
    };
    let mut columns = vec![
        Column::text("Female", 92.0).stretch(),
        Column::text("Pollen", 92.0).stretch(),
        third,
        Column::number("Index", 64.0)
            .hint("Expected index of a seedling; 0 is an unselected plant"),
        Column::number("Reaches, %", 86.0).hint("Chance that a seedling reaches all thresholds"),
        Column::number("F", 60.0).hint("Inbreeding of a seedling"),
        Column::number("Kinship +", 80.0)
            .hint("Kinship that seedlings add to the program; below 0 they widen it"),
    ];
    for goal in &candidates.goals.traits {
        if let Some(each) = project.traits().get(goal.of_trait) {
            let unit = each.scale.measured_in();
            let unit = unit.map_or_else(String::new, |unit| format!(", {unit}"));
            columns.push(
                Column::number(format!("{}{unit}", each.name), 110.0)
                    .hint("Expected mean of the family"),
            );
        }
    }
    columns.push(
        Column::text("Resistances", 92.0)
            .hint("Different resistances seen in the female and in the male parent"),
    );
    columns
}

fn cell(
    project: &Project,
    candidates: &Candidates,
    pair: &Candidate,
    filter: &Filter,
    column: usize,
) -> String {
    value(project, pair, filter.of, figure(candidates, filter, column))
}

/// A figure of a pair as it is written everywhere.
pub(super) fn value(project: &Project, pair: &Candidate, of: BestOf, figure: Figure) -> String {
    let names = matches!(
        figure,
        Figure::Female | Figure::Pollen | Figure::Reason | Figure::Sources
    );
    if pair.ploidy.is_none() && !names {
        // Nothing can be expected of gametes with odd sets.
        return String::new();
    }
    match figure {
        Figure::Female => marked_code(project, pair.female),
        Figure::Pollen => match pair.pollen.stored {
            Some(_) => format!("{}, stored", marked_code(project, pair.pollen.male)),
            None => marked_code(project, pair.pollen.male),
        },
        Figure::Reason => pair
            .exclusions
            .first()
            .map_or("", |reason| reason.words())
            .into(),
        Figure::Best => decimals(pair.best(of), 2),
        Figure::Index => decimals(pair.index.mean, 2),
        Figure::Trait(place) => pair
            .traits
            .get(place)
            .copied()
            .flatten()
            .map_or_else(String::new, |outlook| decimals(outlook.mean, 2)),
        Figure::ReachesAll => pair
            .reaches_all
            .map_or_else(String::new, |chance| format!("{:.1}", 100.0 * chance)),
        Figure::Inbreeding => match pair.bad_case {
            Some(bad) => format!(
                "{}, or {}",
                decimals(pair.relatedness.inbreeding, 3),
                decimals(bad.inbreeding, 3)
            ),
            None => decimals(pair.relatedness.inbreeding, 3),
        },
        Figure::Added => with_minus(&format!("{:+.4}", pair.relatedness.added)),
        Figure::Sources => match pair.sources {
            [0, 0] => String::new(),
            [female, male] => format!("{female} + {male}"),
        },
    }
}

/// Where a figure of a pair comes from.
pub(super) fn explain_figure(
    project: &Project,
    candidates: &Candidates,
    pair: &Candidate,
    of: BestOf,
    figure: Figure,
) -> Option<Explanation> {
    match figure {
        Figure::Best => Some(candidates.explain_best(project, pair, of)),
        Figure::Index => Some(candidates.explain_index(project, pair)),
        Figure::Trait(place) => candidates.explain_trait(project, pair, place),
        Figure::ReachesAll => candidates.explain_reaches_all(project, pair),
        Figure::Inbreeding => Some(candidates.explain_inbreeding(project, pair)),
        Figure::Added => Some(candidates.explain_added(project, pair)),
        Figure::Female | Figure::Pollen | Figure::Reason | Figure::Sources => None,
    }
}

fn explain(
    project: &Project,
    candidates: &Candidates,
    pair: &Candidate,
    filter: &Filter,
    column: usize,
) -> Option<Explanation> {
    explain_figure(
        project,
        candidates,
        pair,
        filter.of,
        figure(candidates, filter, column),
    )
}

fn row_name(project: &Project, candidates: &Candidates, pair: &Candidate, of: BestOf) -> String {
    let title = candidates.title(project, pair);
    match pair.exclusions.first() {
        Some(reason) => format!("{title}, {}", reason.words()),
        None => format!("{title}, best of {}: {:.2}", of.count(), pair.best(of)),
    }
}

fn listed(
    project: &Project,
    candidates: &Candidates,
    filter: &Filter,
    order: Option<Sort>,
) -> Vec<usize> {
    let wanted = filter.find.trim().to_lowercase();
    let named = |plant| {
        let found = project.genotypes().get(plant);
        found.is_some_and(|plant| {
            holds(&plant.code, &wanted)
                || plant
                    .name
                    .as_deref()
                    .is_some_and(|name| holds(name, &wanted))
        })
    };
    let passes = |place: &usize| {
        let pair = &candidates.pairs[*place];
        pair.is_offered() == (filter.show == Show::Offered)
            && (named(pair.female) || named(pair.pollen.male))
    };
    let places: Vec<usize> = (0..candidates.pairs.len()).filter(passes).collect();
    let order = order.unwrap_or(Sort {
        column: 2,
        ascending: filter.show == Show::Not,
    });
    sort(places, order.ascending, |place| {
        let pair = &candidates.pairs[*place];
        match figure(candidates, filter, order.column) {
            Figure::Female => Key::words(project.code_of(pair.female)),
            Figure::Pollen => Key::words(project.code_of(pair.pollen.male)),
            Figure::Reason => Key::words(pair.exclusions.first()?.words()),
            Figure::Best => Some(Key::figure(pair.best(filter.of))),
            Figure::Index => Some(Key::figure(pair.index.mean)),
            Figure::Trait(place) => {
                Some(Key::figure(pair.traits.get(place).copied().flatten()?.mean))
            }
            Figure::ReachesAll => Some(Key::figure(pair.reaches_all?)),
            Figure::Inbreeding => Some(Key::figure(pair.relatedness.inbreeding)),
            Figure::Added => Some(Key::figure(pair.relatedness.added)),
            Figure::Sources => Some(Key::Number(pair.sources.iter().sum::<usize>() as i64)),
        }
    })
}
