//! The way of seed as a picture: a bar for each stage, as long as its part of the seed sown.

use crate::derived::Sized;
use crate::screens::explanation::figure;
use domain::Project;
use domain::planning::Left;
use egui::{Align2, Rect, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2};
use kit::theme::{muted, numbers, space, tokens};

const NAME: f32 = 190.0;
const COUNT: f32 = 190.0;
const RATE: f32 = 76.0;
const BAR: f32 = 14.0;

/// Draws the stages, the sown seeds first.
pub(super) fn show(ui: &mut Ui, project: &Project, sized: &Sized) {
    let sown = sized.seeds;
    ui.spacing_mut().item_spacing.y = 2.0;
    ticks(ui, sown);
    let all = Left {
        mean: sown as f64,
        low: sown,
        high: sown,
    };
    row(ui, "seeds sown", &all, sown, |_| {});
    let stages = sized.funnel.stages.iter().zip(&sized.left);
    for (nth, (stage, left)) in stages.enumerate() {
        let words = stage.kind.words(project);
        row(ui, &words, left, sown, |ui| {
            let rate = format!("{:.0} %", 100.0 * stage.rate.mean());
            let name = format!("Rate of: {words}");
            figure(ui, &name, &rate, || sized.funnel.explain(project, nth));
        });
    }
    let note = "Each bar is as long as its part of the seeds sown. The thin line is an 80 % range; the percentage at the right \
        is the share of the row above.";
    ui.add(egui::Label::new(muted(ui, note).small()).wrap());
    ui.spacing_mut().item_spacing.y = space::S;
}

fn row(ui: &mut Ui, name: &str, left: &Left, sown: u64, rate: impl FnOnce(&mut Ui)) {
    ui.horizontal(|ui| {
        let height = space::TARGET;
        ui.allocate_ui_with_layout(
            vec2(NAME, height),
            egui::Layout::left_to_right(egui::Align::Center),
            |ui| {
                ui.set_min_size(vec2(NAME, height));
                ui.add(egui::Label::new(name).truncate());
            },
        );
        let width = bar_width(ui.available_width());
        bar(ui, name, left, sown, vec2(width, height));
        let (rect, _) = ui.allocate_exact_size(vec2(COUNT, height), Sense::hover());
        let font = numbers().resolve(ui.style());
        let ink = tokens(ui).ink;
        ui.painter().text(
            rect.left_center(),
            Align2::LEFT_CENTER,
            count_words(left),
            font,
            ink,
        );
        rate(ui);
    });
}

/// The figures of the scale, above the bars.
fn ticks(ui: &mut Ui, sown: u64) {
    let whole = ui.available_width();
    let width = bar_width(whole - NAME - space::S);
    let (rect, _) = ui.allocate_exact_size(vec2(whole, space::L), Sense::hover());
    let left = rect.left() + NAME + space::S;
    let font = egui::TextStyle::Small.resolve(ui.style());
    let ink = tokens(ui).muted;
    for (count, along) in ticks_along(sown, width) {
        let at = pos2(left + along, rect.bottom());
        ui.painter().text(
            at,
            Align2::CENTER_BOTTOM,
            count.to_string(),
            font.clone(),
            ink,
        );
    }
}

/// What is left for the bars beside counts and rates.
fn bar_width(available: f32) -> f32 {
    (available - COUNT - RATE - 3.0 * space::S).max(80.0)
}

/// Round counts from nothing up to what was sown, with their places along a bar of this width.
fn ticks_along(sown: u64, width: f32) -> Vec<(u64, f32)> {
    let fits = (width / 90.0).floor().clamp(2.0, 6.0) as u64;
    let rough = sown.div_ceil(fits).max(1);
    let steps = std::iter::successors(Some(1_u64), |power| power.checked_mul(10))
        .flat_map(|power| [1, 2, 5].map(|times| power.saturating_mul(times)));
    let step = steps
        .into_iter()
        .find(|step| *step >= rough)
        .unwrap_or(rough);
    (0..=sown / step)
        .map(|nth| (nth * step, along((nth * step) as f64, sown, width)))
        .collect()
}

/// Where a count stands along a bar.
fn along(count: f64, sown: u64, width: f32) -> f32 {
    width * (count / sown.max(1) as f64).clamp(0.0, 1.0) as f32
}

fn count_words(left: &Left) -> String {
    let mean = if left.mean < 9.95 {
        format!("{:.1}", left.mean)
    } else {
        format!("{:.0}", left.mean)
    };
    if left.low == left.high {
        mean
    } else {
        format!("{mean} ({} to {})", left.low, left.high)
    }
}

fn bar(ui: &mut Ui, name: &str, left: &Left, sown: u64, size: egui::Vec2) {
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| {
        WidgetInfo::labeled(Role::Meter, true, format!("{name}: {}", count_words(left)))
    });
    if !ui.is_rect_visible(rect) {
        return;
    }
    let colours = tokens(ui);
    let along = |count: f64| along(count, sown, rect.width());
    let middle = rect.center().y;
    let painter = ui.painter();
    for (_, place) in ticks_along(sown, rect.width()) {
        let x = rect.left() + place;
        painter.vline(x, rect.y_range(), Stroke::new(1.0, colours.rule));
    }
    let filled = Rect::from_min_size(
        pos2(rect.left(), middle - BAR / 2.0),
        vec2(along(left.mean).max(1.0), BAR),
    );
    painter.rect_filled(filled, 0.0, colours.sunken);
    painter.rect_stroke(
        filled,
        0.0,
        Stroke::new(1.0, colours.accent),
        StrokeKind::Inside,
    );
    if left.low != left.high {
        let ends = [left.low, left.high].map(|end| pos2(rect.left() + along(end as f64), middle));
        painter.line_segment(ends, Stroke::new(2.0, colours.ink));
        for end in ends {
            painter.vline(
                end.x,
                middle - 5.0..=middle + 5.0,
                Stroke::new(2.0, colours.ink),
            );
        }
    }
}
