//! The plants screen: every genotype, from a founder to this year's seedlings.

use super::fields::{choice, marked_code, sex_label};
use super::{record_page, selection};
use crate::derived::{Figures, Listing};
use crate::forms;
use crate::view::{Outbox, View};
use domain::date::InWords as _;
use domain::display::origin_words;
use domain::{AnyId, Genotype, Id, Project, Sex};
use egui::Ui;
use kit::fonts::mark;
use kit::page_keys;
use kit::state_mark::StateMark;
use kit::theme::{muted, space};
use kit::widgets::{
    Column, Rows, Table, TableState, empty_state, find_box, heading, list_and_record, main_button,
    page_head, segmented,
};
use list::{FIELDS, Field, Filter, ListingKey, SexFilter, Show};

mod detail;
mod figures;
mod founder;
pub mod founders;
mod lineage;
mod list;
mod origin;
mod permission;
mod samples;
mod seen;

/// What the plants screen remembers between frames.
pub struct State {
    table: TableState<Id<Genotype>>,
    filter: Filter,
    listing: Listing<Genotype, ListingKey>,
    detail_open: bool,
    /// The pane is the form of a new founder.
    founder: bool,
    /// The pane is the form of several.
    several: bool,
    detail: detail::State,
    bulk: selection::State,
}

impl Default for State {
    fn default() -> Self {
        Self {
            table: TableState::sorted_by(0, true),
            filter: Filter::default(),
            listing: Listing::default(),
            detail_open: true,
            founder: false,
            several: false,
            detail: detail::State::default(),
            bulk: selection::State::default(),
        }
    }
}

/// Draws the screen.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    state.follow(view.project);
    if view.project.genotypes().is_empty() && !state.founder {
        heading(ui, "Plants");
        let sentence = "Every plant stands here: founders that came from outside, and each seedling from the day it is potted. Begin with the plants you will cross.";
        if empty_state(ui, sentence, "Add the first founder") {
            state.begin_founder(ui, view.project);
        }
        return;
    }
    let figures = view.derived.genetics().figures(view.project, ui.ctx());
    let title = state.title(view.project);
    let was_open = state.detail_open && title.is_some();
    let mut open = was_open;
    let mut both = (&mut *state, out);
    list_and_record(
        ui,
        "plants",
        &mut open,
        title.as_deref().unwrap_or_default(),
        &mut both,
        |ui, (state, _), beside| {
            head(ui, view, state, beside);
            if !beside {
                filters(ui, view, &figures, state);
            }
            table(ui, view, &figures, state, beside);
        },
        |ui, (state, out)| state.pane(ui, view, &figures, out),
    );
    if was_open && !open {
        state.detail_open = false;
        state.founder = false;
        state.several = false;
    }
}

/// Brings a record into view: selected, and scrolled to.
pub fn reveal(state: &mut State, project: &Project, id: AnyId) {
    let Some(plant) = id.typed().and_then(|id| project.genotypes().get(id)) else {
        return;
    };
    if !state.filter.passes(project, plant) {
        state.filter = Filter {
            show: Show::All,
            ..Filter::default()
        };
    }
    state.founder = false;
    state.several = false;
    state.detail_open = true;
    state.table.select_only(plant.id);
}

impl State {
    /// Forgets plants that are gone.
    fn follow(&mut self, project: &Project) {
        if self
            .table
            .selected
            .iter()
            .any(|id| !project.genotypes().contains(*id))
        {
            self.table
                .selected
                .retain(|id| project.genotypes().contains(*id));
        }
    }

    fn begin_founder(&mut self, ui: &Ui, project: &Project) {
        forms::open(ui.ctx(), "plants", "", founder::Form::new(project));
        self.founder = true;
        self.detail_open = true;
    }

    /// What the pane at the right is about, if anything.
    fn title(&self, project: &Project) -> Option<String> {
        if self.several {
            return Some("Several founders".into());
        }
        if self.founder {
            return Some("New founder".into());
        }
        match self.table.selected.len() {
            0 => None,
            1 => self
                .table
                .only_selected()
                .and_then(|id| project.genotypes().get(id))
                .map(|plant| match &plant.name {
                    Some(name) => format!("{}, {name}", plant.code),
                    None => plant.code.clone(),
                }),
            many => Some(format!("{many} plants")),
        }
    }

    fn pane(&mut self, ui: &mut Ui, view: &View<'_>, figures: &Figures, out: &mut Outbox<'_>) {
        if self.several {
            page_head(ui, "Several founders", |ui| ui.add_space(space::XXXL));
            self.several = founders::show(ui, view, out);
        } else if self.founder {
            page_head(ui, "New founder", |ui| ui.add_space(space::XXXL));
            self.founder = forms::show::<founder::Form>(ui, view, "plants", out);
        } else if let Some(plant) = self
            .table
            .only_selected()
            .and_then(|id| view.project.genotypes().get(id))
        {
            if let Some(find) = detail::show(ui, view, figures, &mut self.detail, plant, out) {
                self.filter = Filter {
                    find,
                    show: Show::All,
                    ..Filter::default()
                };
            }
        } else {
            let plants: Vec<_> = self.table.selected.iter().copied().collect();
            let codes = plants.iter().map(|id| view.project.code_of(*id));
            let who = kit::selection::named(codes).unwrap_or_default();
            page_head(ui, &who, |ui| ui.add_space(space::XXXL));
            selection::show(ui, view, &mut self.bulk, ("plants", &plants), out);
        }
    }
}

fn head(ui: &mut Ui, view: &View<'_>, state: &mut State, beside: bool) {
    if beside {
        ui.horizontal_wrapped(|ui| {
            heading(ui, "Plants");
            ui.add_enabled_ui(view.read_only.is_none(), |ui| {
                if ui.button("Add a founder").clicked()
                    || kit::page_keys::acts(ui, egui::Key::N, "new founder")
                {
                    state.begin_founder(ui, view.project);
                }
            });
        });
        find_box(ui, "Find plants", &mut state.filter.find);
        ui.add_space(space::XS);
        return;
    }
    ui.horizontal(|ui| {
        heading(ui, "Plants");
        ui.add_space(space::M);
        find_box(ui, "Find plants", &mut state.filter.find);
        ui.add_enabled_ui(view.read_only.is_none(), |ui| {
            if main_button(ui, "Add a founder").clicked()
                || kit::page_keys::acts(ui, egui::Key::N, "new founder")
            {
                state.begin_founder(ui, view.project);
            }
            if ui.button("Add several…").clicked() {
                founders::open(ui);
                state.several = true;
                state.detail_open = true;
            }
        });
    });
}

fn filters(ui: &mut Ui, view: &View<'_>, figures: &Figures, state: &mut State) {
    let filter = &mut state.filter;
    ui.horizontal(|ui| {
        let shows = [
            (Show::Living, "Living"),
            (Show::All, "All"),
            (Show::Selected, "Selected"),
            (Show::Parents, "Parents"),
        ];
        segmented(ui, "Which plants", &mut filter.show, &shows);
        ui.add_space(space::S);
        let any = (None, "any stage".to_owned());
        let stages = view
            .project
            .stages_in_order()
            .into_iter()
            .map(|stage| (Some(stage.id), stage.name.clone()));
        let stages: Vec<_> = std::iter::once(any).chain(stages).collect();
        ui.scope(|ui| {
            ui.set_max_width(140.0);
            choice(ui, "Only at stage", &mut filter.stage, &stages);
        });
        let sexes = [
            Some(Sex::Female),
            Some(Sex::Male),
            Some(Sex::Monoecious),
            None,
        ]
        .map(|sex| (SexFilter::Only(sex), sex_label(sex)));
        let sexes: Vec<_> = std::iter::once((SexFilter::Any, "any sex".to_owned()))
            .chain(sexes)
            .collect();
        ui.scope(|ui| {
            ui.set_max_width(140.0);
            choice(ui, "Only of sex", &mut filter.sex, &sexes);
        });
        figures::trait_choice(ui, view);
        let key = list::listing_key(filter, state.table.sort, figures);
        let make = |project: &_, key: &_| list::rows(project, figures, key);
        let exists = |id| view.project.genotypes().contains(id);
        let shown = state
            .listing
            .steady_rows(ui.ctx(), view.project, key, make, exists)
            .len();
        ui.label(muted(
            ui,
            format!("{shown} of {}", view.project.genotypes().len()),
        ));
    });
}

fn table(ui: &mut Ui, view: &View<'_>, figures: &Figures, state: &mut State, beside: bool) {
    let project = view.project;
    let key = list::listing_key(&state.filter, state.table.sort, figures);
    let make = |project: &_, key: &_| list::rows(project, figures, key);
    let exists = |id| project.genotypes().contains(id);
    let ids = state
        .listing
        .steady_rows(ui.ctx(), project, key, make, exists);
    if state.table.keep_shown(&ids, project.revision()) {
        ui.ctx().request_repaint();
    }
    if ids.is_empty() {
        ui.add_space(space::L);
        ui.label(muted(
            ui,
            "No plant matches. Clear the search box, or show all.",
        ));
        return;
    }
    page_keys::declare(ui, [("↑ ↓", "plant")]);
    if beside {
        let rows = Rows {
            count: ids.len(),
            key: |row: usize| ids[row],
            name: |row: usize| project.code_of(ids[row]).to_owned(),
            cell: |ui: &mut Ui, row: usize, _: usize| {
                if let Some(plant) = project.genotypes().get(ids[row]) {
                    list_row(ui, project, plant);
                }
            },
        };
        let columns = [Column::text("Plant", 100.0).stretch()];
        let table = Table::new("All plants", &columns).as_list();
        let response = table.show(ui, &mut state.table, rows);
        if response.changed || response.opened.is_some() {
            state.founder = false;
            state.several = false;
        }
        return;
    }
    let columns: Vec<Column> = FIELDS
        .into_iter()
        .filter_map(|field| column(project, figures, field))
        .collect();
    let rows = Rows {
        count: ids.len(),
        key: |row: usize| ids[row],
        name: |row: usize| project.code_of(ids[row]).to_owned(),
        cell: |ui: &mut Ui, row: usize, column: usize| {
            if let Some(plant) = project.genotypes().get(ids[row]) {
                cell(ui, project, figures, plant, FIELDS[column]);
            }
        },
    };
    let response = Table::new("All plants", &columns).show(ui, &mut state.table, rows);
    if response.changed || response.opened.is_some() {
        state.founder = false;
        state.several = false;
        state.detail_open = true;
    }
}

fn list_row(ui: &Ui, project: &Project, plant: &Genotype) {
    let ended = !plant.is_alive();
    let mark = match (ended, plant.selected.is_some()) {
        (true, _) => StateMark::Failed,
        (false, true) => StateMark::Good,
        (false, false) => StateMark::Done,
    };
    let sex = sex_label(plant.known_sex());
    let state = match plant.state_word() {
        "alive" => sex.as_str(),
        word => word,
    };
    let second = match &plant.name {
        Some(name) => format!("{name}, {}", origin_words(project, &plant.origin)),
        None => origin_words(project, &plant.origin),
    };
    let code = marked_code(project, plant.id);
    if mark == StateMark::Done {
        record_page::plain_row(ui, &code, state, &second);
    } else {
        record_page::list_row(ui, &code, (mark, state), &second, ended);
    }
}

fn column(project: &Project, figures: &Figures, field: Field) -> Option<Column> {
    Some(match field {
        Field::Code => Column::text("Code", 96.0),
        Field::Name => Column::text("Name", 88.0),
        Field::Sex => Column::text("Sex", 96.0),
        Field::Ploidy => Column::text("Ploidy", 60.0).gives_way(3),
        Field::Inbreeding => Column::number("F", 60.0).hint("Inbreeding").gives_way(1),
        Field::Origin => Column::text("Origin", 148.0).stretch(),
        Field::Stage => Column::text("Stage", 92.0),
        Field::Location => Column::text("Location", 100.0).gives_way(2),
        Field::Born => Column::text("Born", 92.0).gives_way(4),
        Field::State => Column::text("State", 88.0),
        Field::Breeding => Column::text(figures.of_trait(project)?.name.as_str(), 148.0)
            .hint("Breeding value, from the mean, and its accuracy"),
    })
}

fn cell(ui: &mut Ui, project: &Project, figures: &Figures, plant: &Genotype, field: Field) {
    match field {
        Field::Code => ui.label(marked_code(project, plant.id)),
        Field::Name => ui.label(plant.name.as_deref().unwrap_or_default()),
        Field::Sex => match plant.known_sex() {
            None => ui.label(muted(ui, "unknown")),
            sex => ui.label(sex_label(sex)),
        },
        Field::Ploidy => ui.label(plant.ploidy.to_string()),
        Field::Inbreeding => figures::inbreeding_cell(ui, project, figures, plant.id),
        Field::Origin => ui.label(origin_words(project, &plant.origin)),
        Field::Stage => ui.label(
            plant
                .stage
                .and_then(|id| project.stages().get(id))
                .map_or("", |stage| stage.name.as_str()),
        ),
        Field::Location => ui.label(&plant.location),
        Field::Born => ui.label(plant.born.map(|born| born.in_words()).unwrap_or_default()),
        Field::State => {
            let word = plant.state_word();
            match (plant.is_alive(), plant.selected.is_some()) {
                (true, true) => ui.label(format!("{} {word}", mark::DIAMOND)),
                (true, false) => ui.label(word),
                (false, _) => ui.label(muted(ui, format!("{} {word}", mark::CROSS))),
            }
        }
        Field::Breeding => figures::value_cell(ui, project, figures, plant.id),
    };
}
