//! Boxes in warmth: counts, potting up, what becomes of the rest.

use crate::derived::Listing;
use crate::forms;
use crate::screens::fields::record_link;
use crate::screens::forms::{CountForm, PotUpForm, RestForm};
use crate::screens::{record_history, record_notes, record_page};
use crate::view::{Outbox, Request, Screen, View};
use domain::agenda::ItemKind;
use domain::ledger::BoxTally;
use domain::record::germination::GerminationField;
use domain::{ChillBox, Edit, Germination, Id, Project, RestFate};
use egui::{Role, Ui, WidgetInfo};
use kit::page_keys;
use kit::state_mark::StateMark;
use kit::theme::{Meaning, muted, space};
use kit::widgets::{
    Column, Rows, Sort, Table, TableState, badge, detail, detail_with, empty_state, find_box,
    list_and_record, section_heading, segmented,
};

/// What the page remembers between frames.
pub(super) struct State {
    table: TableState<Id<Germination>>,
    listing: Listing<Germination, (bool, String, Option<Sort>)>,
    open_only: bool,
    find: String,
    detail: bool,
}

impl Default for State {
    fn default() -> Self {
        Self {
            table: TableState::default(),
            listing: Listing::default(),
            open_only: true,
            find: String::new(),
            detail: true,
        }
    }
}

impl State {
    pub(super) fn choose(&mut self, run: Option<Id<Germination>>) {
        if let Some(run) = run {
            self.table.select_only(run);
            self.open_only = false;
            self.find.clear();
            self.detail = true;
        }
    }
}

/// The figures of a run, as its row shows them.
struct Figures<'a> {
    chill_box: Option<&'a ChillBox>,
    tally: BoxTally,
    potted: usize,
}

impl<'a> Figures<'a> {
    fn of(project: &'a Project, run: &Germination) -> Self {
        let chill_box = project.chill_boxes().get(run.chill_box);
        Self {
            chill_box,
            tally: chill_box
                .map(|chill_box| BoxTally::of(project, chill_box))
                .unwrap_or_default(),
            potted: project.potted_out_of(run.chill_box).count(),
        }
    }

    /// Normal sprouts as a share of the seeds that were laid and not lost to mould.
    fn percent(&self) -> Option<f64> {
        let sown = self.tally.laid.saturating_sub(self.tally.mouldy);
        (sown > 0).then(|| 100.0 * f64::from(self.tally.sprouts()) / f64::from(sown))
    }
}

pub(super) fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let project = view.project;
    if project.germinations().is_empty() {
        let sentence = "Boxes moved to warmth show here: count what germinates, pot it, number it. A box is moved \
            on the Chill screen, or from the calendar when its chill is over.";
        if empty_state(ui, sentence, "Go to Chill") {
            out.ask(Request::Go(Screen::Chill));
        }
        return;
    }
    ui.horizontal(|ui| {
        segmented(
            ui,
            "Which runs",
            &mut state.open_only,
            &[(true, "Open"), (false, "All")],
        );
        find_box(ui, "Find a box", &mut state.find);
        if !state.detail && state.table.only_selected().is_some() && ui.button("Details").clicked()
        {
            state.detail = true;
        }
    });
    let key = (state.open_only, state.find.to_lowercase(), state.table.sort);
    let exists = |id| project.germinations().contains(id);
    let rows = state
        .listing
        .steady_rows(ui.ctx(), project, key, listed, exists);
    if state.table.keep_shown(&rows, project.revision()) {
        ui.ctx().request_repaint();
    }
    if state
        .table
        .only_selected()
        .is_none_or(|run| project.germinations().get(run).is_none())
        && let Some(first) = rows.first()
    {
        state.table.select_only(*first);
    }
    if rows.is_empty() && state.find.trim().is_empty() && state.open_only {
        let sentence = "No box stands in warmth now. A box is moved there when its chill is over; those that are \
            closed are under All.";
        if empty_state(ui, sentence, "Show all") {
            state.open_only = false;
        }
        return;
    }
    let chosen = state
        .table
        .only_selected()
        .and_then(|run| project.germinations().get(run));
    let title = chosen
        .map_or("", |run| project.code_of(run.chill_box))
        .to_owned();
    let mut open = state.detail && chosen.is_some();
    list_and_record(
        ui,
        "germination",
        &mut open,
        &format!("Box {title}"),
        &mut (&mut *state, &mut *out),
        |ui, (state, _), beside| table_ui(ui, view, state, &rows, beside),
        |ui, (_, out)| {
            if let Some(run) = chosen {
                run_ui(ui, view, run, out);
            }
        },
    );
    state.detail = open || chosen.is_none();
}

fn listed(
    project: &Project,
    (open_only, find, sort): &(bool, String, Option<Sort>),
) -> Vec<Id<Germination>> {
    let mut runs: Vec<&Germination> = project
        .germinations()
        .iter()
        .filter(|run| !open_only || run.end.is_none())
        .filter(|run| {
            let lot = project
                .chill_boxes()
                .get(run.chill_box)
                .map(|chill_box| chill_box.lot);
            find.is_empty()
                || project.code_of(run.chill_box).to_lowercase().contains(find)
                || lot.is_some_and(|lot| project.code_of(lot).to_lowercase().contains(find))
        })
        .collect();
    if let Some(sort) = sort {
        runs.sort_by_cached_key(|run| {
            let figures = Figures::of(project, run);
            let lot = figures
                .chill_box
                .map_or("", |chill_box| project.code_of(chill_box.lot));
            let (text, number) = match sort.column {
                0 => (project.code_of(run.chill_box).to_owned(), 0),
                1 => (lot.to_owned(), 0),
                2 => (run.moved.to_string(), 0),
                3 => (String::new(), figures.tally.laid),
                4 => (String::new(), figures.tally.sprouts()),
                5 => (
                    String::new(),
                    figures
                        .percent()
                        .map_or(0, |percent| (percent * 100.0) as u32),
                ),
                6 => (String::new(), figures.tally.left()),
                _ => (String::new(), figures.potted as u32),
            };
            (text, number, run.id)
        });
        if !sort.ascending {
            runs.reverse();
        }
    }
    runs.into_iter().map(|run| run.id).collect()
}

fn table_ui(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    rows: &[Id<Germination>],
    beside: bool,
) {
    let project = view.project;
    page_keys::declare(ui, [("↑ ↓", "box")]);
    if beside {
        list_ui(ui, view, state, rows);
        return;
    }
    let columns = [
        Column::text("Box", 70.0),
        Column::text("Lot", 110.0).stretch(),
        Column::text("In warmth since", 110.0),
        Column::number("Seeds", 56.0),
        Column::number("Up", 48.0),
        Column::number("Germinated, %", 96.0)
            .hint("Normal sprouts as a share of the seeds laid and not lost to mould."),
        Column::number("Left", 48.0),
        Column::number("Potted", 60.0),
        Column::text("State", 130.0),
    ];
    let response = Table::new("Germination runs", &columns).show(
        ui,
        &mut state.table,
        Rows {
            count: rows.len(),
            key: |row: usize| rows[row],
            name: |row: usize| {
                let run = project.germinations().get(rows[row]);
                run.map_or_else(String::new, |run| {
                    format!("Box {}", project.code_of(run.chill_box))
                })
            },
            cell: |ui: &mut Ui, row: usize, column: usize| {
                let Some(run) = project.germinations().get(rows[row]) else {
                    return;
                };
                let figures = Figures::of(project, run);
                match column {
                    0 => ui.label(project.code_of(run.chill_box)),
                    1 => ui.label(
                        figures
                            .chill_box
                            .map_or("", |chill_box| project.code_of(chill_box.lot)),
                    ),
                    2 => ui.label(kit::dates::day(run.moved)),
                    3 => ui.label(figures.tally.laid.to_string()),
                    4 => ui.label(figures.tally.sprouts().to_string()),
                    5 => ui.label(
                        figures
                            .percent()
                            .map_or_else(String::new, |percent| format!("{percent:.0}")),
                    ),
                    6 => ui.label(figures.tally.left().to_string()),
                    7 => ui.label(figures.potted.to_string()),
                    _ => match &run.end {
                        Some(end) => ui.label(muted(ui, end.rest.words())),
                        None => ui.label(format!("day {}", (view.today - run.moved).num_days())),
                    },
                };
            },
        },
    );
    if response.sort.is_some() {
        state.table.sort = response.sort;
    }
}

/// The boxes in warmth as a list beside the page of one.
fn list_ui(ui: &mut Ui, view: &View<'_>, state: &mut State, rows: &[Id<Germination>]) {
    let project = view.project;
    let columns = [Column::text("Box", 100.0).stretch()];
    Table::new("Germination runs", &columns).as_list().show(
        ui,
        &mut state.table,
        Rows {
            count: rows.len(),
            key: |row: usize| rows[row],
            name: |row: usize| {
                let run = project.germinations().get(rows[row]);
                run.map_or_else(String::new, |run| {
                    format!("Box {}", project.code_of(run.chill_box))
                })
            },
            cell: |ui: &mut Ui, row: usize, _: usize| {
                let Some(run) = project.germinations().get(rows[row]) else {
                    return;
                };
                let figures = Figures::of(project, run);
                let lot = figures
                    .chill_box
                    .map_or("", |chill_box| project.code_of(chill_box.lot));
                let code = project.code_of(run.chill_box);
                let tally = figures.tally;
                let second = format!("{lot}, {} up, {} left", tally.sprouts(), tally.left());
                if run.end.is_some() {
                    let state = (StateMark::Done, "closed");
                    record_page::list_row(ui, code, state, &second, true);
                } else {
                    let day = format!("day {}", (view.today - run.moved).num_days());
                    record_page::plain_row(ui, code, &day, &second);
                }
            },
        },
    );
}

fn run_ui(ui: &mut Ui, view: &View<'_>, run: &Germination, out: &mut Outbox<'_>) {
    let project = view.project;
    let figures = Figures::of(project, run);
    let Some(chill_box) = figures.chill_box else {
        return;
    };
    let tally = figures.tally;
    let code = project.code_of(run.chill_box);
    let mut numbers = vec![
        (tally.sprouts().to_string(), "up"),
        (tally.left().to_string(), "left"),
    ];
    if figures.potted > 0 {
        numbers.push((figures.potted.to_string(), "potted"));
    }
    record_page::head(ui, code, &numbers, |ui| {
        let lot = project.code_of(chill_box.lot);
        let days = (view.today - run.moved).num_days();
        let words = match &run.end {
            Some(end) => format!("closed {}: {}", kit::dates::day(end.date), end.rest.words()),
            None => format!("In warmth for {days} days"),
        };
        let origin = project.seed_lots().get(chill_box.lot);
        let origin = origin.map_or_else(String::new, |lot| lot.source.words(project));
        record_page::two_lines(ui, &words, &format!("Lot {lot}, {origin}"));
    });
    let steps = domain::steps::of_box(project, chill_box, view.today);
    record_page::life(ui, code, &steps, view);
    let about = [run.id.into(), chill_box.id.into()];
    if let Some(item) = record_page::next(ui, view, &about, out) {
        match item.kind {
            ItemKind::CountSprouts => {
                forms::open(ui.ctx(), run.id.uuid(), code, CountForm::new(run.id));
            }
            ItemKind::PotUp => {
                let form = PotUpForm::new(project, run.chill_box);
                forms::open(ui.ctx(), run.chill_box.uuid(), code, form);
            }
            ItemKind::DecideRest => {
                let form = RestForm::new(project, run.id);
                forms::open(ui.ctx(), run.id.uuid(), code, form);
            }
            _ => out.show(item.about),
        }
    }
    if view.read_only.is_none() {
        actions_ui(ui, view, run, out);
    }
    ui.add_space(space::S);
    detail_with(ui, "Lot", |ui| record_link(ui, project, chill_box.lot, out));
    detail(
        ui,
        "Seeds laid",
        &format!("{} seeds, {} lost to mould", tally.laid, tally.mouldy),
    );
    detail(
        ui,
        "Germinated",
        &format!(
            "{} in warmth, {} early in the cold",
            tally.germinated, tally.sprouted_early
        ),
    );
    detail(
        ui,
        "Lost",
        &format!("{} abnormal, {} dead", tally.abnormal, tally.dead),
    );
    detail(ui, "Left", &format!("{} seeds", tally.left()));
    detail(
        ui,
        "Potted",
        &format!("{} of {} sprouts", figures.potted, tally.sprouts()),
    );
    if let Some(batch) = project.chill_batches().get(chill_box.batch) {
        let regimen = &batch.regimen;
        let warmth = view.preferences.temperature.show(regimen.warm.0);
        detail(
            ui,
            "Protocol",
            &format!(
                "{warmth}, {} h of light; first seedlings after {} to {} days",
                regimen.light_hours, regimen.sprouts_from, regimen.sprouts_to
            ),
        );
    }
    counts_ui(ui, view, run, out);
    record_notes::show(ui, view, run.id, out);
    record_history::show(ui, view, run.id, out);
}

fn actions_ui(ui: &mut Ui, view: &View<'_>, run: &Germination, out: &mut Outbox<'_>) {
    let project = view.project;
    let code = project.code_of(run.chill_box);
    ui.horizontal_wrapped(|ui| {
        let sprouts = PotUpForm::new(project, run.chill_box);
        if run.end.is_none() && ui.button("Count…").clicked() {
            forms::open(ui.ctx(), run.id.uuid(), code, CountForm::new(run.id));
        }
        if sprouts.button(ui) {
            forms::open(ui.ctx(), run.chill_box.uuid(), code, sprouts);
        }
        if run.end.is_none() && ui.button("Close the box…").clicked() {
            forms::open(
                ui.ctx(),
                run.id.uuid(),
                code,
                RestForm::new(project, run.id),
            );
        }
        if run.end.is_some() && ui.button("Open the box again").clicked() {
            let edit = Edit::set(run.id, GerminationField::End(None));
            out.act(ui, "open again", run.id, edit);
        }
        let potted: Vec<_> = project
            .potted_out_of(run.chill_box)
            .map(|plant| plant.id.into())
            .collect();
        if !potted.is_empty() && ui.button("Label the pots").clicked() {
            out.ask(Request::Label(potted));
        }
    });
    if let Some(end) = &run.end {
        let meaning = if end.rest == RestFate::ChilledAgain {
            Meaning::Soon
        } else {
            Meaning::Plain
        };
        badge(
            ui,
            meaning,
            &format!("closed {}: {}", kit::dates::day(end.date), end.rest.words()),
        );
    }
    forms::show::<CountForm>(ui, view, run.id.uuid(), out);
    forms::show::<PotUpForm>(ui, view, run.chill_box.uuid(), out);
    forms::show::<RestForm>(ui, view, run.id.uuid(), out);
}

fn counts_ui(ui: &mut Ui, view: &View<'_>, run: &Germination, out: &mut Outbox<'_>) {
    section_heading(ui, "Counts");
    let mut any = false;
    for count in view.project.counts_of(run.id) {
        any = true;
        ui.horizontal_wrapped(|ui| {
            let after = (count.date - run.moved).num_days();
            ui.label(format!("{} (day {after})", kit::dates::day(count.date)));
            ui.label(format!(
                "{} up, {} abnormal, {} dead",
                count.germinated, count.abnormal, count.dead
            ));
            if !count.remark.is_empty() {
                ui.add(egui::Label::new(muted(ui, &count.remark)).truncate())
                    .on_hover_text(&count.remark);
            }
            if view.read_only.is_none() {
                let remove = ui.button(kit::fonts::mark::TIMES);
                remove.widget_info(|| {
                    WidgetInfo::labeled(
                        Role::Button,
                        true,
                        format!("Remove the count of {}", kit::dates::day(count.date)),
                    )
                });
                if remove.clicked() {
                    out.act(ui, "remove", count.id, Edit::remove(count.id));
                }
            }
        });
    }
    if !any {
        ui.label(muted(ui, "None yet."));
    }
    ui.add_space(space::S);
}
