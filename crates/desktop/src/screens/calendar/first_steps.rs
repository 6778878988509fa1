//! The first steps of a project: from the first plants to the first box in the cold, each a button. They step aside once
//! that is done, or once a person says they know the way.

use crate::screens::plants::founders;
use crate::view::{Outbox, Request, Screen, View};
use domain::{AnyId, CrossEventKind, Project, RecordKind};
use egui::{Frame, Margin, Rect, Role, Sense, Stroke, Ui, UiBuilder, WidgetInfo, pos2, vec2};
use kit::bine::{self, Course, Habit, Leaves};
use kit::drawing::{self, Drawing};
use kit::state_mark::StateMark;
use kit::theme::{self, muted, space, strong, tokens, type_size};
use kit::widgets::{hairline, page_head};

/// One step.
struct FirstStep {
    title: &'static str,
    detail: &'static str,
    button: &'static str,
    done: bool,
    asks: Request,
}

/// Whether the steps are shown: until the first box lies in the cold, and unless a person knows the way.
pub(super) fn are_shown(view: &View<'_>) -> bool {
    !view.preferences.knows_the_way
        && view.read_only.is_none()
        && view.project.chill_boxes().is_empty()
        && view.project.count(RecordKind::Genotype) < 40
}

fn steps(project: &Project) -> [FirstStep; 6] {
    let cross = project.crosses().iter().next().map(|cross| cross.id);
    let lot = project.seed_lots().iter().next().map(|lot| lot.id);
    let harvested = project
        .cross_events()
        .iter()
        .any(|event| matches!(event.what, CrossEventKind::ConesHarvested { .. }));
    let about = |id: Option<AnyId>, otherwise| id.map_or(otherwise, Request::Show);
    [
        FirstStep {
            title: "Name the program",
            detail: "Its name, its place and its half of the earth.",
            button: "Change",
            done: true,
            asks: Request::Go(Screen::Setup),
        },
        FirstStep {
            title: "Your first plants",
            detail: "Any hop you grow, found or were given.",
            button: "Enter\u{2026}",
            done: project.genotypes().len() >= 2,
            asks: Request::Go(Screen::Plants),
        },
        FirstStep {
            title: "The first cross",
            detail: "Which female, which male, and why.",
            button: "Plan\u{2026}",
            done: cross.is_some(),
            asks: Request::PlanCross,
        },
        FirstStep {
            title: "Pollination and harvest",
            detail: "Bag before the flowers open, pollinate, pick the cones when they are ripe.",
            button: "Record\u{2026}",
            done: harvested || lot.is_some(),
            asks: about(cross.map(Into::into), Request::PlanCross),
        },
        FirstStep {
            title: "A seed lot",
            detail: "Clean, dry, count or weigh, put in a cold dry place.",
            button: "Enter\u{2026}",
            done: lot.is_some(),
            asks: about(cross.filter(|_| harvested).map(Into::into), Request::NewLot),
        },
        FirstStep {
            title: "The first box in the cold",
            detail: "About sixty days near 3 \u{b0}C; then Today has your morning round.",
            button: "Lay\u{2026}",
            done: false,
            asks: Request::AddBoxes(None, lot),
        },
    ]
}

/// Draws the steps.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, out: &mut Outbox<'_>) {
    let steps = steps(view.project);
    let done = steps.iter().filter(|step| step.done).count();
    page_head(ui, "From your first plants to the first box", |ui| {
        ui.label(muted(ui, format!("{done} of {} done", steps.len())));
    });
    let now = steps.iter().position(|step| !step.done);
    let whole = ui.available_rect_before_wrap();
    let side = if whole.width() > 900.0 { 320.0 } else { 0.0 };
    let left = whole.with_max_x(whole.right() - side - if side > 0.0 { space::XXXL } else { 0.0 });
    let mut body = ui.new_child(UiBuilder::new().max_rect(left));
    egui::ScrollArea::vertical()
        .id_salt("first steps")
        .auto_shrink(false)
        .show(&mut body, |ui| {
            ui.spacing_mut().item_spacing.y = 0.0;
            let top = ui.cursor().top();
            let mut middles = Vec::new();
            for (nth, step) in steps.iter().enumerate() {
                let middle = step_ui(ui, view, (nth, step), now, out);
                middles.push((middle, step.done));
            }
            string(ui, left.left() + 16.0, top, &middles, now);
            if side == 0.0 {
                ui.add_space(space::L);
                hide_ui(ui, out);
            }
        });
    if side > 0.0 {
        let right = whole.with_min_x(whole.right() - side);
        let mut aside = ui.new_child(UiBuilder::new().max_rect(right));
        aside_ui(&mut aside, out);
    }
    ui.advance_cursor_after_rect(whole);
}

/// The string in the margin: grown past what is done.
fn string(ui: &Ui, x: f32, top: f32, steps: &[(f32, bool)], now: Option<usize>) {
    let colours = tokens(ui);
    let (Some(first), Some(last)) = (steps.first(), steps.last()) else {
        return;
    };
    let from = pos2(x, first.0.min(top + 24.0));
    let course = Course::Line {
        from,
        to: pos2(x, last.0),
    };
    let grown = now
        .and_then(|now| steps.get(now))
        .map_or(last.0, |step| step.0)
        - from.y;
    let inks = bine::Inks::of(colours);
    bine::draw(ui.painter(), course, grown, Leaves::None, Habit::PAGE, inks);
    for (nth, (middle, done)) in steps.iter().enumerate() {
        let (mark, size) = match (done, now == Some(nth)) {
            (true, _) => (StateMark::Done, 14.0),
            (false, true) => (StateMark::Now, 20.0),
            (false, false) => (StateMark::Expected, 12.0),
        };
        let at = pos2(x, *middle);
        ui.painter()
            .circle_filled(at, size / 2.0 + 2.0, colours.surface);
        mark.paint(ui.painter(), at, size, colours, colours.surface);
    }
}

/// One step; the height of its middle.
fn step_ui(
    ui: &mut Ui,
    view: &View<'_>,
    (nth, step): (usize, &FirstStep),
    now: Option<usize>,
    out: &mut Outbox<'_>,
) -> f32 {
    let colours = tokens(ui);
    let in_hand = now == Some(nth);
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 56.0), Sense::hover());
    response.widget_info(|| {
        let standing = match (step.done, in_hand) {
            (true, _) => "done",
            (false, true) => "now",
            (false, false) => "later",
        };
        let words = format!("{}. {}, {standing}", nth + 1, step.title);
        WidgetInfo::labeled(Role::Heading, true, words)
    });
    let row = rect.with_min_x(rect.left() + 40.0);
    if in_hand {
        ui.painter().rect_filled(row, 0, colours.lupulin);
    } else {
        hairline(ui, row.x_range(), row.bottom());
    }
    let ink = match (in_hand, step.done) {
        (true, _) => colours.on_lupulin,
        (false, true) => colours.muted,
        (false, false) => colours.ink,
    };
    let font = theme::slab(type_size::HEADING);
    let number = (nth + 1).to_string();
    let at = pos2(row.left() + 16.0, row.center().y);
    ui.painter()
        .text(at, egui::Align2::LEFT_CENTER, number, font.clone(), ink);
    let button = Rect::from_min_max(
        pos2(row.right() - 104.0, row.top() + 10.0),
        pos2(row.right() - space::M, row.bottom() - 10.0),
    );
    let words = Rect::from_min_max(
        pos2(row.left() + 48.0, row.top()),
        pos2(button.left() - space::S, row.bottom()),
    );
    let y = row.center().y;
    let title = if in_hand {
        font
    } else {
        theme::bold(type_size::BODY)
    };
    kit::widgets::one_line(ui, words, y - 10.0, step.title, title, ink);
    let small = egui::FontId::proportional(type_size::BODY);
    let detail = if in_hand { ink } else { colours.muted };
    kit::widgets::one_line(ui, words, y + 12.0, step.detail, small, detail);
    let pressed = ui.put(button, egui::Button::new(step.button));
    pressed.widget_info(|| {
        WidgetInfo::labeled(
            Role::Button,
            true,
            format!("{} {}", step.button, step.title),
        )
    });
    let plants = nth == 1;
    if pressed.clicked() {
        if plants {
            founders::open(ui);
        } else {
            out.ask(step.asks.clone());
        }
    }
    if plants {
        let frame = Frame::new().inner_margin(Margin {
            left: 40,
            ..Margin::ZERO
        });
        frame.show(ui, |ui| founders::show(ui, view, out));
    }
    y
}

/// What helps with the first plants, and the way past the steps.
fn aside_ui(ui: &mut Ui, out: &mut Outbox<'_>) {
    let colours = tokens(ui);
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 72.0), Sense::hover());
    let inks = drawing::Inks::of(colours);
    for (nth, kind) in [Drawing::Hill, Drawing::Cross].into_iter().enumerate() {
        let at = pos2(rect.left() + 32.0 + nth as f32 * 96.0, rect.center().y);
        drawing::paint(ui.painter(), kind, at, 56.0, inks);
    }
    let sentences = [
        (
            "A plant to start from",
            "is any hop you grow, found or were given. A short code is enough: it is what you write on the label. Names come later, and so do parents, where you know them.",
        ),
        (
            "One of each sex makes a cross",
            "A male is known by its flowers, in its second or third summer. If you have none yet, plan with pollen from another yard.",
        ),
        (
            "Before you plant a male",
            "Its pollen seeds every hop downwind, and in some places the law forbids it. Ask first.",
        ),
    ];
    for (nth, (title, words)) in sentences.into_iter().enumerate() {
        if nth > 0 {
            ui.add_space(space::M);
            let y = ui.cursor().top();
            let line = Stroke::new(1.0, colours.ink);
            ui.painter().hline(ui.max_rect().x_range(), y, line);
            ui.add_space(space::M);
        }
        if nth == 0 {
            let text = egui::RichText::new(title).font(theme::slab(type_size::HEADING));
            ui.label(text.color(colours.ink));
        } else {
            ui.label(strong(title));
        }
        ui.add(egui::Label::new(words).wrap());
    }
    ui.add_space(space::XL);
    hide_ui(ui, out);
}

fn hide_ui(ui: &mut Ui, out: &mut Outbox<'_>) {
    let size = vec2(ui.available_width(), space::BENCH_BUTTON);
    let button = egui::Button::new("Hide these steps: I know my way").min_size(size);
    if ui.add(button).clicked() {
        out.ask(Request::KnowTheWay);
    }
}
