//! Courses of germination side by side: the plot, what it says, and a table of figures that explain themselves.

use super::{comparison, earlier_ui, waiting_ui};
use crate::derived::Compare;
use crate::screens::chart_file::save_chart;
use crate::screens::explanation::{figure, grounds};
use crate::view::{Outbox, Request, Screen, View};
use domain::Project;
use domain::germination::{By, Group, StillToCome, groups};
use domain::words::plural;
use egui::{Label, Panel, ScrollArea, Ui, vec2};
use kit::figures::{decimals, with_minus};
use kit::theme::{muted, space};
use kit::widgets::{
    Column, CourseLine, CoursePoint, GerminationPlot, NumberField, ShortTable, empty_state,
    find_box, form_row, section_heading,
};

/// More courses make a plot too full to read.
const MOST: usize = 8;

/// What the page remembers between frames.
pub(super) struct State {
    by: By,
    find: String,
    few: u32,
    chosen: Vec<Group>,
    /// The groups there are, for a revision and a way to put runs together.
    listed: Option<(u64, By, Vec<Listed>)>,
}

/// A group, its name, and its boxes.
struct Listed {
    group: Group,
    title: String,
    boxes: usize,
}

impl Default for State {
    fn default() -> Self {
        Self {
            by: By::default(),
            find: String::new(),
            few: 1,
            chosen: Vec::new(),
            listed: None,
        }
    }
}

impl State {
    fn refresh(&mut self, project: &Project) {
        let key = (project.revision(), self.by);
        let kept = self.listed.as_ref().map(|kept| (kept.0, kept.1));
        if kept == Some(key) {
            return;
        }
        let listed: Vec<Listed> = groups(project, self.by)
            .into_iter()
            .map(|(group, runs)| Listed {
                title: group.title(project),
                boxes: runs.len(),
                group,
            })
            .collect();
        self.chosen
            .retain(|group| listed.iter().any(|each| each.group == *group));
        if self.chosen.is_empty() {
            self.chosen = listed
                .iter()
                .take(2)
                .map(|each| each.group.clone())
                .collect();
        }
        self.listed = Some((key.0, key.1, listed));
    }
}

pub(super) fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    if view.project.germinations().is_empty() {
        let sentence = "Once boxes are in warmth and their seedlings are counted, their courses are compared here: how many came, how fast, what is still to come, and when to stop waiting.";
        if empty_state(ui, sentence, "Go to Seedlings") {
            out.ask(Request::Go(Screen::Seedlings));
        }
        return;
    }
    state.refresh(view.project);
    Panel::left("courses compared")
        .exact_size(250.0)
        .resizable(false)
        .show_separator_line(false)
        .frame(egui::Frame::new().inner_margin(egui::Margin {
            right: space::L as i8,
            ..egui::Margin::ZERO
        }))
        .show(ui, |ui| chooser_ui(ui, state));
    let bench = view.derived.bench();
    let Some(found) = bench.germination(view.project, &state.chosen, state.few, ui.ctx()) else {
        waiting_ui(ui);
        return;
    };
    ScrollArea::both()
        .id_salt("germination")
        .auto_shrink(false)
        .show(ui, |ui| {
            earlier_ui(ui, found.current);
            if found.report.analyses.is_empty() {
                ui.label(muted(ui, "Choose what to compare at the left."));
                return;
            }
            plot_ui(ui, view, &found, out);
            ui.label(muted(
                ui,
                "Steps: counts. Curves: fitted, allowing for seed that never germinates. Bands: 95 % intervals for \
                each day.",
            ));
            words_ui(ui, view, &found);
            if let Some(comparison) = &found.report.comparison {
                comparison::show(ui, comparison);
            }
            figures_ui(ui, &found);
        });
}

fn chooser_ui(ui: &mut Ui, state: &mut State) {
    form_row(ui, "Compare", |ui| {
        let choices = By::ALL.map(|by| (by, by.words().to_owned()));
        if crate::screens::fields::choice(ui, "Compare by", &mut state.by, &choices) {
            state.chosen.clear();
        }
    });
    form_row(ui, "May be lost", |ui| {
        let mut few = f64::from(state.few);
        NumberField::new("Seedlings that may be lost by not waiting", "at most")
            .range(0.0..=100.0)
            .decimals(0)
            .width(48.0)
            .show(ui, &mut few);
        state.few = few as u32;
    });
    find_box(ui, "Find a group", &mut state.find);
    let wanted = state.find.trim().to_lowercase();
    let full = state.chosen.len() >= MOST;
    if full {
        ui.label(muted(ui, "Eight at most: leave one out to add another."));
    }
    let Some((_, _, listed)) = &state.listed else {
        return;
    };
    let fitting: Vec<&Listed> = listed
        .iter()
        .filter(|each| each.title.to_lowercase().contains(&wanted))
        .collect();
    if fitting.is_empty() {
        ui.label(muted(ui, "None."));
    }
    ScrollArea::vertical().auto_shrink(false).show_rows(
        ui,
        space::TARGET,
        fitting.len(),
        |ui, rows| {
            for each in &fitting[rows] {
                let place = state.chosen.iter().position(|group| *group == each.group);
                let mut on = place.is_some();
                let boxes = plural(each.boxes as u32, "box", "boxes");
                let words = format!("{}, {} {boxes}", each.title, each.boxes);
                let check = egui::Checkbox::new(&mut on, words);
                let response = ui.add_enabled_ui(place.is_some() || !full, |ui| {
                    ui.add_sized(vec2(ui.available_width(), space::TARGET), LeftCheck(check))
                });
                if response.inner.changed() {
                    match place {
                        Some(place) => {
                            state.chosen.remove(place);
                        }
                        None => state.chosen.push(each.group.clone()),
                    }
                }
            }
        },
    );
}

/// A check box at the left of its room, not in the middle.
struct LeftCheck<'a>(egui::Checkbox<'a>);

impl egui::Widget for LeftCheck<'_> {
    fn ui(self, ui: &mut Ui) -> egui::Response {
        ui.with_layout(egui::Layout::left_to_right(egui::Align::Center), |ui| {
            ui.add(self.0)
        })
        .inner
    }
}

fn plot_ui(ui: &mut Ui, view: &View<'_>, found: &Compare, out: &mut Outbox<'_>) {
    let lines: Vec<CourseLine<'_>> = found
        .report
        .analyses
        .iter()
        .zip(&found.fitted)
        .filter_map(|(analysis, fitted)| {
            let curve = analysis.curve.as_ref()?;
            let point = |day, share, band: domain::germination::Interval| CoursePoint {
                day,
                share,
                low: band.low,
                high: band.high,
            };
            Some(CourseLine {
                name: &analysis.title,
                steps: curve
                    .steps
                    .iter()
                    .map(|step| point(step.by, step.reached, step.band))
                    .collect(),
                until: analysis.last_look(),
                smooth: fitted
                    .iter()
                    .map(|&(day, share, band)| point(day, share, band))
                    .collect(),
            })
        })
        .collect();
    if lines.is_empty() {
        ui.label(muted(
            ui,
            "Nothing was counted yet in what is chosen. Count on the Seedlings screen.",
        ));
        return;
    }
    let width = ui.available_width().clamp(420.0, 1100.0);
    let plot = GerminationPlot::new("Germinated, as % of seed moved to warmth", &lines);
    plot.show(ui, vec2(width, 300.0));
    save_chart(ui, view.today, out, plot.title(), || plot.chart());
}

/// What is still to come and when to stop waiting: a sentence for each group, and beneath it what each day costs.
fn words_ui(ui: &mut Ui, view: &View<'_>, found: &Compare) {
    section_heading(ui, "When to stop waiting");
    for analysis in &found.report.analyses {
        let words = analysis.waiting.words(view.today);
        let label = Label::new(format!("{}: {words}", analysis.title)).wrap();
        ui.add_sized(vec2(ui.available_width().min(900.0), 0.0), AtLeft(label));
        if let Some(known) = analysis.waiting.known() {
            ui.indent(("what waiting costs", &analysis.title), |ui| {
                choices_ui(ui, &analysis.title, known);
            });
        }
    }
}

fn choices_ui(ui: &mut Ui, title: &str, known: &StillToCome) {
    let columns = [
        Column::text("Wait until", 96.0),
        Column::number("Days of light", 104.0),
        Column::number("Seedlings lost", 104.0),
        Column::number("9 in 10", 96.0).hint("Nine times in ten so many are lost."),
    ];
    let name = format!("Waiting for {title}");
    ShortTable::new(&name, &columns).show(ui, known.choices.len(), |ui, row, column| {
        let choice = &known.choices[row];
        let (low, high) = choice.interval;
        ui.label(match column {
            0 if row == 0 => "now".to_owned(),
            0 => format!("day {:.0}", choice.day),
            1 => decimals(choice.light_days, 0),
            2 => decimals(choice.lost, 1),
            _ => format!("{low} to {high}"),
        });
    });
    ui.label(muted(
        ui,
        "Days of light: of all boxes that wait, from their last look on.",
    ));
    ui.set_max_width(ui.available_width().min(900.0));
    grounds(ui, &known.grounds());
}

/// Words that begin at the left of their room.
struct AtLeft(Label);

impl egui::Widget for AtLeft {
    fn ui(self, ui: &mut Ui) -> egui::Response {
        ui.with_layout(egui::Layout::top_down(egui::Align::Min), |ui| {
            ui.add(self.0)
        })
        .inner
    }
}

fn figures_ui(ui: &mut Ui, found: &Compare) {
    section_heading(ui, "Figures");
    ui.label(muted(
        ui,
        "Each figure explains itself when it is clicked. In brackets: 95 % interval.",
    ));
    let analyses = &found.report.analyses;
    let Some(names) = found.figures.first() else {
        return;
    };
    let mut columns = vec![Column::text("Figure", 220.0)];
    for analysis in analyses {
        columns.push(Column::number(&analysis.title, 190.0));
    }
    ShortTable::new("Figures of germination", &columns).show(ui, names.len(), |ui, row, column| {
        let Some(which) = column.checked_sub(1) else {
            ui.label(names[row].name);
            return;
        };
        let found = found.figures.get(which).and_then(|each| each.get(row));
        let (Some(analysis), Some(value)) = (analyses.get(which), found) else {
            return;
        };
        // From the right: the interval, then its figure.
        if let Some(interval) = &value.interval {
            ui.label(with_minus(&format!("({interval})")));
        }
        let name = format!("{} of {}", value.name, analysis.title);
        figure(ui, &name, &value.value, || Some(value.explanation.clone()));
    });
}
