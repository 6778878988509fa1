//! The crosses screen: planned, bagged, pollinated, harvested, season by season.

use super::fields::{choice, marked_parents};
use super::{on_paper, record_page};
use crate::derived::Listing;
use crate::forms;
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::progress::{CrossProgress, seeds_got};
use domain::{AnyId, Cross, Id, Project};
use egui::Ui;
use kit::fonts::mark;
use kit::page_keys;
use kit::state_mark::StateMark;
use kit::theme::{muted, space};
use kit::widgets::{
    Column, Rows, Sort, Table, TableState, empty_state, find_box, heading, list_and_record,
    main_button, page_head,
};
use list::Filter;

mod detail;
mod events;
mod list;
mod plan;
mod pollen;
mod seed;

pub(super) use plan::warnings;

/// What the crosses screen remembers between frames.
pub struct State {
    table: TableState<Id<Cross>>,
    filter: Filter,
    listing: Listing<Cross, (Filter, Option<Sort>)>,
    detail_open: bool,
    /// The pane is the form that plans a cross.
    plan: bool,
    detail: detail::State,
}

impl Default for State {
    fn default() -> Self {
        Self {
            table: TableState::sorted_by(list::SEASON, false),
            filter: Filter::default(),
            listing: Listing::default(),
            detail_open: true,
            plan: false,
            detail: detail::State::default(),
        }
    }
}

/// Draws the screen.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    state.follow(view.project);
    if view.project.crosses().is_empty() && !state.plan {
        heading(ui, "Crosses");
        let sentence = "Every cross stands here, from the plan to the seed in its lot: a female parent and the pollen meant for her.";
        if empty_state(ui, sentence, "Plan the first cross") {
            state.begin_plan(ui, view);
        }
        return;
    }
    let title = state.title(view.project);
    let was_open = state.detail_open && title.is_some();
    let mut open = was_open;
    let mut both = (&mut *state, out);
    list_and_record(
        ui,
        "crosses",
        &mut open,
        title.as_deref().unwrap_or_default(),
        &mut both,
        |ui, (state, out), beside| {
            head(ui, view, state, beside, out);
            table(ui, view, state, beside);
        },
        |ui, (state, out)| state.pane(ui, view, out),
    );
    if was_open && !open {
        state.detail_open = false;
        state.plan = false;
    }
}

/// Brings a record into view: selected, and scrolled to.
pub fn reveal(state: &mut State, project: &Project, id: AnyId) {
    let Some(cross) = id.typed().and_then(|id| project.crosses().get(id)) else {
        return;
    };
    if !state.filter.passes(project, cross) {
        state.filter = Filter::default();
    }
    state.plan = false;
    state.detail_open = true;
    state.table.select_only(cross.id);
}

/// Opens the form that plans a cross.
pub fn plan_one(state: &mut State, ctx: &egui::Context, project: &Project, today: NaiveDate) {
    forms::open(ctx, "crosses", "", plan::Form::new(project, today));
    state.plan = true;
    state.detail_open = true;
}

impl State {
    /// Forgets crosses that are gone.
    fn follow(&mut self, project: &Project) {
        self.table
            .selected
            .retain(|id| project.crosses().contains(*id));
    }

    fn begin_plan(&mut self, ui: &Ui, view: &View<'_>) {
        plan_one(self, ui.ctx(), view.project, view.today);
    }

    fn title(&self, project: &Project) -> Option<String> {
        if self.plan {
            return Some("New cross".into());
        }
        match self.table.selected.len() {
            0 => None,
            1 => self
                .table
                .only_selected()
                .map(|id| format!("Cross {}", project.code_of(id))),
            many => Some(format!("{many} crosses")),
        }
    }

    fn pane(&mut self, ui: &mut Ui, view: &View<'_>, out: &mut Outbox<'_>) {
        if self.plan {
            page_head(ui, "New cross", |ui| ui.add_space(space::XXXL));
            self.plan = forms::show::<plan::Form>(ui, view, "crosses", out);
        } else if let Some(cross) = self
            .table
            .only_selected()
            .and_then(|id| view.project.crosses().get(id))
        {
            detail::show(ui, view, &mut self.detail, cross, out);
        } else {
            let codes = self
                .table
                .selected
                .iter()
                .map(|id| view.project.code_of(*id));
            let who = kit::selection::named(codes).unwrap_or_default();
            page_head(ui, &who, |ui| ui.add_space(space::XXXL));
            if ui.button(format!("Label {who}")).clicked() {
                let crosses = self.table.selected.iter().map(|id| (*id).into()).collect();
                out.ask(crate::view::Request::Label(crosses));
            }
            if ui.button(format!("Print the cards of {who}…")).clicked() {
                let crosses: Vec<_> = self.table.selected.iter().copied().collect();
                on_paper::crossing_cards(view, &crosses, out);
            }
        }
    }
}

fn head(ui: &mut Ui, view: &View<'_>, state: &mut State, beside: bool, out: &mut Outbox<'_>) {
    if beside {
        ui.horizontal_wrapped(|ui| {
            heading(ui, "Crosses");
            ui.add_enabled_ui(view.read_only.is_none(), |ui| {
                if ui.button("Plan a cross").clicked()
                    || kit::page_keys::acts(ui, egui::Key::N, "new cross")
                {
                    state.begin_plan(ui, view);
                }
            });
        });
        ui.horizontal_wrapped(|ui| {
            find_box(ui, "Find crosses", &mut state.filter.find);
            print_cards(ui, view, out);
        });
        ui.add_space(space::XS);
        return;
    }
    ui.horizontal_wrapped(|ui| {
        heading(ui, "Crosses");
        ui.add_space(space::M);
        find_box(ui, "Find crosses", &mut state.filter.find);
        let seasons = list::seasons(view.project)
            .into_iter()
            .map(|season| (Some(season), season.to_string()));
        let seasons: Vec<_> = std::iter::once((None, "all seasons".to_owned()))
            .chain(seasons)
            .collect();
        ui.scope(|ui| {
            ui.set_max_width(130.0);
            choice(ui, "Only of season", &mut state.filter.season, &seasons);
        });
        ui.add_enabled_ui(view.read_only.is_none(), |ui| {
            if main_button(ui, "Plan a cross").clicked()
                || kit::page_keys::acts(ui, egui::Key::N, "new cross")
            {
                state.begin_plan(ui, view);
            }
        });
        print_cards(ui, view, out);
    });
    ui.add_space(space::XS);
}

/// The button that prints a card for each cross that waits for something in the yard.
fn print_cards(ui: &mut Ui, view: &View<'_>, out: &mut Outbox<'_>) {
    let button = ui.button("Print cards…");
    let words = "A crossing card for each cross that waits for something in the yard.";
    if button.on_hover_text(words).clicked() {
        let crosses = paper::crossing_cards::open_crosses(view.project);
        on_paper::crossing_cards(view, &crosses, out);
    }
}

fn table(ui: &mut Ui, view: &View<'_>, state: &mut State, beside: bool) {
    let project = view.project;
    let key = (state.filter.clone(), state.table.sort);
    let exists = |id| project.crosses().contains(id);
    let ids = state
        .listing
        .steady_rows(ui.ctx(), project, key, list::rows, exists);
    if state.table.keep_shown(&ids, project.revision()) {
        ui.ctx().request_repaint();
    }
    if ids.is_empty() {
        ui.add_space(space::L);
        ui.label(muted(
            ui,
            "No cross matches. Clear the search box, or choose all seasons.",
        ));
        return;
    }
    page_keys::declare(ui, [("↑ ↓", "cross")]);
    if beside {
        let rows = Rows {
            count: ids.len(),
            key: |row: usize| ids[row],
            name: |row: usize| project.code_of(ids[row]).to_owned(),
            cell: |ui: &mut Ui, row: usize, _: usize| {
                if let Some(cross) = project.crosses().get(ids[row]) {
                    list_row(ui, project, cross);
                }
            },
        };
        let columns = [Column::text("Cross", 100.0).stretch()];
        let table = Table::new("All crosses", &columns).as_list();
        let response = table.show(ui, &mut state.table, rows);
        if response.changed || response.opened.is_some() {
            state.plan = false;
        }
        return;
    }
    let columns = [
        Column::text("Season", 68.0),
        Column::text("Code", 76.0),
        Column::text("Female × pollen", 168.0).stretch(),
        Column::text("State", 108.0),
        Column::text("Pollination", 128.0),
        Column::number("Wanted", 68.0).hint("Seeds wanted"),
        Column::number("Seeds", 80.0).hint("Seeds obtained, from all lots"),
    ];
    let rows = Rows {
        count: ids.len(),
        key: |row: usize| ids[row],
        name: |row: usize| project.code_of(ids[row]).to_owned(),
        cell: |ui: &mut Ui, row: usize, column: usize| {
            if let Some(cross) = project.crosses().get(ids[row]) {
                cell(ui, project, cross, column);
            }
        },
    };
    let response = Table::new("All crosses", &columns).show(ui, &mut state.table, rows);
    if response.changed || response.opened.is_some() {
        state.plan = false;
        state.detail_open = true;
    }
}

fn list_row(ui: &Ui, project: &Project, cross: &Cross) {
    let progress = CrossProgress::of(project, cross);
    let mark = match progress {
        CrossProgress::Planned => StateMark::Expected,
        CrossProgress::Failed => StateMark::Failed,
        _ => StateMark::Done,
    };
    let parents = marked_parents(project, cross);
    record_page::list_row(
        ui,
        &cross.code,
        (mark, progress.word()),
        &parents,
        progress == CrossProgress::Failed,
    );
}

fn cell(ui: &mut Ui, project: &Project, cross: &Cross, column: usize) {
    match column {
        0 => ui.label(cross.season.to_string()),
        1 => ui.label(&cross.code),
        2 => ui.label(marked_parents(project, cross)),
        3 => ui.label(progress_label(CrossProgress::of(project, cross))),
        4 => match (
            project.last_pollination(cross.id),
            cross.planned_pollination,
        ) {
            (Some(day), _) => ui.label(kit::dates::day(day)),
            (None, Some(day)) => ui.label(muted(ui, format!("{} planned", kit::dates::day(day)))),
            (None, None) => ui.label(""),
        },
        5 => ui.label(
            cross
                .seeds_wanted
                .map(|seeds| seeds.to_string())
                .unwrap_or_default(),
        ),
        _ => ui.label(match seeds_got(project, cross) {
            Some((seeds, true)) => format!("about {seeds}"),
            Some((seeds, false)) => seeds.to_string(),
            None => String::new(),
        }),
    };
}

/// How far a cross has come, with its mark.
fn progress_label(progress: CrossProgress) -> String {
    let mark = match progress {
        CrossProgress::Planned => mark::HOLLOW,
        CrossProgress::Bagged => mark::HOLLOW_SQUARE,
        CrossProgress::Pollinated => mark::FULL,
        CrossProgress::Harvested => mark::DIAMOND,
        CrossProgress::SeedInLot => mark::TICK,
        CrossProgress::Failed => mark::CROSS,
    };
    format!("{mark} {}", progress.word())
}
