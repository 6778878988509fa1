//! How good the program's own advice was: what it advised, what was done, what came.

use crate::view::View;
use domain::own_score::{BrierScore, OwnScore, WaitingScore};
use egui::{Label, ScrollArea, Ui};
use kit::figures::decimals;
use kit::theme::{muted, space};
use kit::widgets::{Column, ShortTable, section_heading};

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
    section_heading(ui, "What it said, and how often it was so");
    let words = "Where the two columns of figures agree, its chances can be trusted.";
    ui.add(Label::new(muted(ui, words)).wrap());
    let columns = [
        Column::text("Chance it gave", 128.0),
        Column::number("How many times", 116.0),
        Column::number("Said, on average, %", 140.0),
        Column::number("Happened, %", 104.0),
    ];
    let groups = &chances.groups;
    ShortTable::new("Chances told", &columns).show(ui, groups.len(), |ui, row, column| {
        let group = &groups[row];
        let low = (10.0 * group.chance).floor().min(9.0) * 10.0;
        ui.label(match column {
            0 => format!("{low:.0} to {:.0} %", low + 10.0),
            1 => group.count.to_string(),
            2 => decimals(100.0 * group.chance, 0),
            _ => decimals(100.0 * group.came, 0),
        });
    });
    let parts = format!(
        "For those who know the Brier score: {:.3} = reliability {:.3} − resolution {:.3} + uncertainty {:.3} + spread within groups {:.3} (Murphy 1973).",
        chances.score, chances.reliability, chances.resolution, chances.uncertainty, chances.within
    );
    ui.add(Label::new(muted(ui, parts).small()).wrap());
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
    let words = "How many more sprouts it expected of each box on that day, and how many came.";
    ui.add(Label::new(muted(ui, words)).wrap());
    let project = view.project;
    let columns = [
        Column::text("Box", 84.0),
        Column::text("Judged on", 116.0),
        Column::number("Expected", 84.0),
        Column::number("9 times in 10", 104.0),
        Column::number("Came", 68.0),
        Column::number("Chance of one more at most, %", 200.0),
        Column::text("Answer", 120.0),
    ];
    ShortTable::new("Boxes judged", &columns).show(ui, boxes.len(), |ui, row, column| {
        let each = &boxes[row];
        ui.label(match column {
            0 => project
                .germinations()
                .get(each.run)
                .map_or("", |run| project.code_of(run.chill_box))
                .to_owned(),
            1 => kit::dates::day(each.on),
            2 => decimals(each.expected, 1),
            3 => format!("{} to {}", each.interval.0, each.interval.1),
            4 => each.came.to_string(),
            5 => decimals(100.0 * each.no_more, 0),
            _ if each.is_within() => "as said".to_owned(),
            _ => "outside".to_owned(),
        });
    });
}
