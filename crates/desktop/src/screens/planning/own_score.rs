//! How good the program's own advice was: what it advised, what was done, what came.

use crate::view::View;
use domain::own_score::{BrierScore, OwnScore, WaitingScore};
use egui::{Label, ScrollArea, Ui};
use kit::theme::{muted, space};
use kit::widgets::{SmallTable, section_heading};

/// Draws the page, or how far it is.
pub(super) fn show(ui: &mut Ui, view: &View<'_>) {
    let plans = view.derived.season_plans();
    let Some(score) = plans.own_score(view.project, view.today, ui.ctx()) else {
        ui.add_space(space::XL);
        ui.label(muted(
            ui,
            "Being worked out: each box is judged by what was known on its day.",
        ));
        return;
    };
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        for sentence in score.value.words() {
            ui.add(Label::new(sentence).wrap());
        }
        chances_ui(ui, score.value.chances.as_ref());
        plans_ui(ui, &score.value);
        waiting_ui(ui, view, &score.value.waiting);
        ui.add_space(space::L);
        ui.add(Label::new(muted(ui, ASSUMPTIONS)).wrap());
    });
}

const ASSUMPTIONS: &str = "What was said of a box is worked out anew from the counts on record by that day, by the program as it is now. \
    A plan's goal counts as not reached once all its seedlings are judged, or four seasons later. Plants are judged by the mean of \
    their records, and the thresholds are those of the goals today.";

fn chances_ui(ui: &mut Ui, chances: Option<&BrierScore>) {
    let Some(chances) = chances else { return };
    section_heading(ui, "Chances told, and how often it came");
    table(
        ui,
        "Chances told",
        &["Told", "How many", "Mean told", "Came"],
        chances.groups.iter().map(|group| {
            let low = (10.0 * group.chance).floor().min(9.0) * 10.0;
            vec![
                format!("{low:.0} to {:.0} %", low + 10.0),
                group.count.to_string(),
                format!("{:.0} %", 100.0 * group.chance),
                format!("{:.0} %", 100.0 * group.came),
            ]
        }),
    );
}

fn plans_ui(ui: &mut Ui, score: &OwnScore) {
    section_heading(ui, "Plans of the season");
    if score.plans.is_empty() {
        ui.add(
            Label::new(muted(
                ui,
                "None is on record. Once a plan is accepted, what it said stays with its crosses.",
            ))
            .wrap(),
        );
    }
    for plan in &score.plans {
        ui.add(Label::new(plan.words()).wrap());
    }
}

fn waiting_ui(ui: &mut Ui, view: &View<'_>, boxes: &[WaitingScore]) {
    if boxes.is_empty() {
        return;
    }
    section_heading(ui, "Boxes in warmth");
    let project = view.project;
    table(
        ui,
        "Boxes judged",
        &[
            "Box",
            "Judged as of",
            "Expected",
            "9 in 10 times",
            "Came",
            "At most one more, told",
            "Within",
        ],
        boxes.iter().map(|each| {
            let code = project
                .germinations()
                .get(each.run)
                .map_or("", |run| project.code_of(run.chill_box));
            vec![
                code.to_owned(),
                kit::dates::day(each.on),
                format!("{:.1}", each.expected),
                format!("{} to {}", each.interval.0, each.interval.1),
                each.came.to_string(),
                format!("{:.0} %", 100.0 * each.no_more),
                if each.is_within() { "yes" } else { "outside" }.to_owned(),
            ]
        }),
    );
}

fn table(ui: &mut Ui, name: &str, heads: &[&str], rows: impl Iterator<Item = Vec<String>>) {
    let rows: Vec<Vec<String>> = rows.collect();
    let heads = heads.iter().copied();
    SmallTable::new(name, heads).show(ui, rows.len(), |ui, row, column| {
        ui.label(rows[row].get(column).map_or("", String::as_str));
    });
}
