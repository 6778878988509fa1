//! The batches, each with how far its chill has come.

use crate::view::View;
use chrono::NaiveDate;
use domain::status::{BatchStatus, ChillProgress};
use domain::words::plural;
use domain::{ChillBatch, Id, Project};
use egui::{Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo, WidgetText, vec2};
use kit::bine;
use kit::theme::{muted, radius, space, strong, tokens};
use kit::widgets::section_heading;
use std::collections::BTreeMap;

const CARD: f32 = 78.0;

/// The list in words, made anew when the project or the day changes.
#[derive(Default)]
pub(super) struct Kept {
    made_for: Option<(u64, NaiveDate)>,
    groups: Vec<(&'static str, Vec<Card>)>,
}

/// One batch in words.
struct Card {
    batch: Id<ChillBatch>,
    code: String,
    contents: String,
    progress: String,
    part: f32,
}

impl Card {
    fn of(view: &View<'_>, batch: &ChillBatch) -> Self {
        let progress = ChillProgress::of(batch, view.today);
        Self {
            batch: batch.id,
            code: batch.code.clone(),
            contents: contents(view.project, batch),
            progress: progress_words(view.project, batch, progress),
            part: progress.part(),
        }
    }
}

impl Kept {
    fn refresh(&mut self, view: &View<'_>) {
        let key = (view.project.revision(), view.today);
        if self.made_for == Some(key) {
            return;
        }
        self.made_for = Some(key);
        let mut standing: BTreeMap<BatchStatus, Vec<&ChillBatch>> = BTreeMap::new();
        for batch in view.project.chill_batches().iter() {
            let status = BatchStatus::of(view.project, batch);
            standing.entry(status).or_default().push(batch);
        }
        let groups = [
            (BatchStatus::InCold, "In the cold"),
            (BatchStatus::Planned, "Planned"),
            (BatchStatus::Emptied, "Out of the cold"),
            (BatchStatus::Ended, "Ended"),
        ];
        self.groups = groups
            .into_iter()
            .filter_map(|(status, title)| {
                let mut group = standing.remove(&status)?;
                // What is planned: the next first. What is or was in the cold: the latest first.
                group.sort_by_key(|batch| batch.start);
                if status != BatchStatus::Planned {
                    group.reverse();
                }
                let cards = group.into_iter().map(|batch| Card::of(view, batch));
                Some((title, cards.collect()))
            })
            .collect();
    }
}

/// Draws the list; the batch that was clicked.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    kept: &mut Kept,
    chosen: Option<Id<ChillBatch>>,
) -> Option<Id<ChillBatch>> {
    kept.refresh(view);
    let mut clicked = None;
    ui.spacing_mut().item_spacing.y = space::XS;
    for (title, cards) in &kept.groups {
        section_heading(ui, title);
        for each in cards {
            if card(ui, each, chosen == Some(each.batch)) {
                clicked = Some(each.batch);
            }
        }
    }
    clicked
}

fn card(ui: &mut Ui, batch: &Card, chosen: bool) -> bool {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), CARD), Sense::click());
    // Long lists run on beyond the window: what isn't seen costs nothing but its room.
    if !ui.is_rect_visible(rect) && !response.has_focus() {
        return response.clicked();
    }
    let colours = tokens(ui);
    response.widget_info(|| {
        let name = format!("{}, {}", batch.code, batch.progress);
        WidgetInfo::selected(Role::Button, true, chosen, name)
    });
    let fill = match (chosen, response.hovered()) {
        (true, _) => Some(colours.selection),
        (false, true) => Some(colours.hover),
        (false, false) => None,
    };
    if let Some(fill) = fill {
        ui.painter().rect_filled(rect, radius::SMALL, fill);
    }
    if response.has_focus() {
        let stroke = Stroke::new(2.0, colours.accent);
        ui.painter()
            .rect_stroke(rect, radius::SMALL, stroke, StrokeKind::Inside);
    }
    let inner = rect.shrink2(vec2(space::S, space::XS));
    let mut y = inner.top();
    let mut line = |ui: &Ui, text: WidgetText| {
        let galley = text.into_galley(
            ui,
            Some(egui::TextWrapMode::Truncate),
            inner.width(),
            egui::TextStyle::Body,
        );
        let at = egui::pos2(inner.left(), y);
        y += galley.size().y + 2.0;
        ui.painter().galley(at, galley, colours.ink);
    };
    line(ui, strong(&batch.code).into());
    line(ui, muted(ui, &batch.contents).into());
    line(ui, muted(ui, &batch.progress).into());
    let course = bine::Course::Line {
        from: egui::pos2(inner.left(), y + 6.0),
        to: egui::pos2(inner.right(), y + 6.0),
    };
    let (grown, inks) = (course.length() * batch.part, bine::Inks::of(colours));
    let habit = bine::Habit::LANE;
    bine::draw(ui.painter(), course, grown, bine::Leaves::None, habit, inks);
    response.clicked()
}

/// How many boxes and seeds.
fn contents(project: &Project, batch: &ChillBatch) -> String {
    let (boxes, seeds) = project
        .boxes_of(batch.id)
        .fold((0_u32, 0_u32), |(boxes, seeds), each| {
            (boxes + 1, seeds + each.seeds)
        });
    format!("{boxes} {}, {seeds} seeds", plural(boxes, "box", "boxes"))
}

/// Where the chill of a batch is, in words.
pub(super) fn progress_words(
    project: &Project,
    batch: &ChillBatch,
    progress: ChillProgress,
) -> String {
    let day = kit::dates::day;
    match (BatchStatus::of(project, batch), batch.ended) {
        (BatchStatus::Planned, _) => format!("starts {}", day(batch.start)),
        (BatchStatus::Emptied, _) => "no box in the cold".to_owned(),
        (_, Some(ended)) => format!("{} days, to {}", progress.days, day(ended)),
        (_, None) if progress.days == progress.of => format!("ready since {}", day(progress.ready)),
        (_, None) => format!("day {} of {}", progress.days, progress.of),
    }
}
