//! The batches, each with how far its chill has come.

use crate::view::View;
use domain::actions::plural;
use domain::status::{BatchStatus, ChillProgress};
use domain::{ChillBatch, Id, Project};
use egui::{Rect, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo, WidgetText, vec2};
use kit::theme::{self, muted, radius, space, strong, tokens};
use kit::widgets::section_heading;

const CARD: f32 = 78.0;

/// Draws the list; the batch that was clicked.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    chosen: Option<Id<ChillBatch>>,
) -> Option<Id<ChillBatch>> {
    let project = view.project;
    let mut clicked = None;
    let groups = [
        (BatchStatus::InCold, "In the cold"),
        (BatchStatus::Planned, "Planned"),
        (BatchStatus::Emptied, "Out of the cold"),
        (BatchStatus::Ended, "Ended"),
    ];
    ui.spacing_mut().item_spacing.y = space::XS;
    for (standing, title) in groups {
        let mut group: Vec<&ChillBatch> = project
            .chill_batches()
            .iter()
            .filter(|batch| BatchStatus::of(project, batch) == standing)
            .collect();
        if group.is_empty() {
            continue;
        }
        // What is planned: the next first. What is or was in the cold: the latest first.
        group.sort_by_key(|batch| batch.start);
        if standing != BatchStatus::Planned {
            group.reverse();
        }
        section_heading(ui, title);
        for batch in group {
            if card(ui, view, batch, chosen == Some(batch.id)) {
                clicked = Some(batch.id);
            }
        }
    }
    clicked
}

fn card(ui: &mut Ui, view: &View<'_>, batch: &ChillBatch, chosen: bool) -> bool {
    let colours = tokens(ui);
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), CARD), Sense::click());
    let progress = ChillProgress::of(batch, view.today);
    let words = progress_words(view.project, batch, progress);
    response.widget_info(|| {
        let name = format!("{}, {words}", batch.code);
        WidgetInfo::selected(Role::Button, true, chosen, name)
    });
    if !ui.is_rect_visible(rect) {
        return response.clicked();
    }
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
    line(ui, muted(ui, contents(view.project, batch)).into());
    line(ui, muted(ui, words).into());
    let bar = Rect::from_min_size(egui::pos2(inner.left(), y + 1.0), vec2(inner.width(), 5.0));
    progress_bar(ui, bar, progress.part());
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

fn progress_bar(ui: &Ui, rect: Rect, part: f32) {
    let colours = tokens(ui);
    let painter = ui.painter();
    painter.rect_filled(rect, theme::radius::SMALL, colours.sunken);
    painter.rect_stroke(
        rect,
        theme::radius::SMALL,
        Stroke::new(1.0, colours.outline),
        StrokeKind::Inside,
    );
    let done = Rect::from_min_size(rect.min, vec2(rect.width() * part, rect.height()));
    painter.rect_filled(done, theme::radius::SMALL, colours.accent);
}
