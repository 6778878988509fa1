//! Kinship of each of the chosen plants with each, those alike beside each other.

use super::choose::Chosen;
use super::{doubts_ui, earlier_ui, waiting_ui};
use crate::derived::Group;
use crate::dialogs::Question;
use crate::screens::chart_file::save_drawing;
use crate::screens::explanation::{figure, share, show as explanation_ui};
use crate::screens::fields::marked_code;
use crate::view::{Outbox, Request, View};
use domain::{Genotype, Id, Project};
use egui::{ScrollArea, Ui};
use kit::theme::{muted, space};
use kit::widgets::{
    HeatMap, ShadeStep, empty_state, list_and_detail, offer_table, section_heading,
};

/// Steps of the shades. The words are what unrelated, not inbred diploids come to (Wright 1922, Am. Nat. 56:330-338;
/// coancestry is half his coefficient of relationship there).
const STEPS: [ShadeStep; 7] = [
    ShadeStep {
        limit: 0.0,
        words: "0",
    },
    ShadeStep {
        limit: 1.0 / 32.0,
        words: "to 0.031",
    },
    ShadeStep {
        limit: 1.0 / 16.0,
        words: "to 0.063 (cousins)",
    },
    ShadeStep {
        limit: 1.0 / 8.0,
        words: "to 0.125 (half sibs)",
    },
    ShadeStep {
        limit: 1.0 / 4.0,
        words: "to 0.25 (full sibs, parent)",
    },
    ShadeStep {
        limit: 1.0 / 2.0,
        words: "to 0.5 (itself)",
    },
    ShadeStep {
        limit: f64::INFINITY,
        words: "more (inbred)",
    },
];

/// The most plants that are shown before anybody chose some.
const SHOWN_UNASKED: usize = 60;

/// What the page remembers between frames.
#[derive(Default)]
pub(super) struct State {
    chosen: Chosen,
    /// Whether the first set was shown once: after that, an empty page is a person's wish.
    begun: bool,
    pair: Option<(Id<Genotype>, Id<Genotype>)>,
    detail_open: bool,
}

pub(super) fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    state.chosen.follow(view.project);
    if !state.begun {
        state.begun = true;
        if state.chosen.plants.is_empty()
            && let Some((_, plants)) = state.chosen.first_set(view.project)
            && plants.len() <= SHOWN_UNASKED
        {
            state.chosen.add(&plants);
        }
    }
    state.chosen.show(ui, view);
    if state.chosen.plants.is_empty() {
        state.pair = None;
        let Some((words, plants)) = state.chosen.first_set(view.project) else {
            let sentence = "Add plants by code to see how closely they are related. The kinship of two diploid \
                parents is the inbreeding of their seedlings.";
            ui.add_space(space::XL);
            ui.label(muted(ui, sentence));
            return;
        };
        let sentence = "Choose plants to see how closely they are related. The kinship of two parents is the \
            inbreeding of their seedlings. Similar plants are placed side by side.";
        if empty_state(ui, sentence, &format!("Show the {words}")) {
            state.chosen.add(&plants);
        }
        return;
    }
    let genetics = view.derived.genetics();
    let Some(group) = genetics.group(view.project, &state.chosen.plants, ui.ctx()) else {
        waiting_ui(ui);
        return;
    };
    ui.horizontal_wrapped(|ui| {
        summary_ui(ui, &group);
        if ui.button("Save as CSV…").clicked() {
            let csv = csv(view.project, &group);
            let question = Question::SaveCsv("kinship.csv".into());
            out.ask(Request::Export(question, csv.into_bytes()));
        }
        earlier_ui(ui, group.current);
    });
    doubts_ui(ui, &group.kinship, out);
    let title = state.pair.map_or(String::new(), |(one, other)| {
        let [one, other] = [one, other].map(|plant| view.project.code_of(plant));
        if one == other {
            one.to_owned()
        } else {
            format!("{one} and {other}")
        }
    });
    let was_open = state.detail_open && state.pair.is_some();
    let mut open = was_open;
    list_and_detail(
        ui,
        "kinship",
        &mut open,
        &title,
        &mut (&mut *state, out),
        |ui, (state, out)| map_ui(ui, view, &group, state, out),
        |ui, (state, out)| {
            if let Some(pair) = state.pair {
                pair_ui(ui, view.project, &group, state, pair, out);
            }
        },
    );
    if was_open && !open {
        state.detail_open = false;
    }
}

fn summary_ui(ui: &mut Ui, group: &Group) {
    let Some(figures) = &group.figures else {
        return;
    };
    let explain = |nth: usize| figures.explain().into_iter().nth(nth);
    ui.label(muted(ui, "Mean kinship"));
    figure(ui, "Mean kinship", &share(figures.kinship), || explain(1));
    ui.label(muted(ui, "mean inbreeding"));
    figure(ui, "Mean inbreeding", &share(figures.inbreeding), || {
        explain(0)
    });
    if let Some(founders) = figures.founders {
        ui.label(muted(ui, "effective founders"));
        figure(ui, "Effective founders", &format!("{founders:.1}"), || {
            explain(2)
        });
    }
    if let Some(genomes) = figures.genomes {
        ui.label(muted(ui, "founder genomes"));
        figure(
            ui,
            "Founder genome equivalents",
            &format!("{genomes:.1}"),
            || explain(4),
        );
    }
}

fn map_ui(ui: &mut Ui, view: &View<'_>, group: &Group, state: &mut State, out: &mut Outbox<'_>) {
    let project = view.project;
    let matrix = &group.matrix;
    let plant = |place: usize| matrix.plants[matrix.clustered[place]];
    let count = matrix.clustered.len();
    let labels: Vec<String> = (0..count)
        .map(|place| project.code_of(plant(place)).to_owned())
        .collect();
    let place = |wanted: Id<Genotype>| (0..count).find(|at| plant(*at) == wanted);
    let mut chosen = state
        .pair
        .and_then(|(one, other)| Some((place(one)?, place(other)?)));
    let before = chosen;
    let map = HeatMap::new("Kinship of each with each", &labels, &STEPS);
    map.key(ui);
    let kinship =
        |row: usize, column: usize| matrix.get(matrix.clustered[row], matrix.clustered[column]);
    save_drawing(ui, view.today, out, map.name(), || {
        map.drawing(kinship, &exchange::charts::width_of)
    });
    offer_table(ui.ctx(), || map.table(kinship));
    ScrollArea::both()
        .id_salt("map")
        .auto_shrink(false)
        .show(ui, |ui| {
            map.show(ui, &mut chosen, kinship);
        });
    if chosen != before {
        state.pair = chosen.map(|(row, column)| (plant(row), plant(column)));
        state.detail_open = true;
    }
}

fn pair_ui(
    ui: &mut Ui,
    project: &Project,
    group: &Group,
    state: &mut State,
    (one, other): (Id<Genotype>, Id<Genotype>),
    out: &mut Outbox<'_>,
) {
    if one != other
        && let Some(explanation) = group.kinship.explain_coancestry(project, one, other)
    {
        explanation_ui(ui, &explanation);
    }
    for plant in [Some(one), (one != other).then_some(other)]
        .into_iter()
        .flatten()
    {
        ui.push_id(plant, |ui| {
            section_heading(ui, &marked_code(project, plant));
            ui.horizontal_wrapped(|ui| {
                let inbreeding = group.kinship.inbreeding(plant).unwrap_or_default();
                ui.label("F");
                let name = format!("F of {}", project.code_of(plant));
                figure(ui, &name, &share(inbreeding), || {
                    group.kinship.explain_inbreeding(project, plant)
                });
                if let Some(mean) = mean_with_others(group, plant) {
                    ui.label(muted(ui, "mean kinship with those shown"));
                    ui.label(share(mean));
                }
            });
            ui.horizontal_wrapped(|ui| {
                let code = project.code_of(plant);
                let open = ui.button("Open its page");
                if open
                    .accessible_name(format!("Open the page of {code}"))
                    .clicked()
                {
                    out.show(plant);
                }
                let leave = ui.button("Leave it out");
                if leave.accessible_name(format!("Leave out {code}")).clicked() {
                    state.chosen.leave_out(plant);
                    state.pair = None;
                }
            });
        });
    }
}

/// Mean kinship of a plant with the plants shown, itself included.
fn mean_with_others(group: &Group, plant: Id<Genotype>) -> Option<f64> {
    let matrix = &group.matrix;
    let row = matrix.plants.iter().position(|each| *each == plant)?;
    let count = matrix.plants.len();
    Some(
        (0..count)
            .map(|column| matrix.get(row, column))
            .sum::<f64>()
            / count as f64,
    )
}

/// The matrix as it is shown: a header of codes, then a row for each plant.
fn csv(project: &Project, group: &Group) -> String {
    let matrix = &group.matrix;
    let code = |place: &usize| project.code_of(matrix.plants[*place]).to_owned();
    let codes: Vec<String> = matrix.clustered.iter().map(code).collect();
    let header: Vec<&str> = std::iter::once("plant")
        .chain(codes.iter().map(String::as_str))
        .collect();
    let rows: Vec<Vec<String>> = matrix
        .clustered
        .iter()
        .map(|row| {
            let figures = matrix.clustered.iter();
            std::iter::once(code(row))
                .chain(figures.map(|column| matrix.get(*row, *column).to_string()))
                .collect()
        })
        .collect();
    exchange::table::csv(&header, &rows)
}
