//! The page of a record: its tag and figures, its line of time, the next step as the one big button.

use super::fields::caution_lines;
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::agenda::{Completion, Item, ItemState};
use domain::steps::{RecordStep, Standing, StepKind};
use domain::words::plural;
use domain::{AnyId, cautions};
use egui::{Align, Button, FontId, Key, Layout, Rect, Role, Sense, Ui, WidgetInfo, pos2, vec2};
use kit::drawing::{self, Drawing};
use kit::page_keys;
use kit::state_mark::StateMark;
use kit::theme::{self, muted, space, tokens, type_size};
use kit::widgets::{
    NextStep, Station, figure, hairline, next_step, one_line, one_line_right, printers_rule, tag,
    time_line,
};
use kit::working_day::short_day;

/// The head of a page: the tag, `beside` it what the record is, up to three figures at the right, the printer's rule.
/// What has no room beside the tag stands in a line of its own beneath.
pub fn head(ui: &mut Ui, code: &str, figures: &[(String, &str)], beside: impl FnOnce(&mut Ui)) {
    let measured = ui.scope_id().with(("head", code));
    let needed: f32 = ui.data(|data| data.get_temp(measured)).unwrap_or(0.0);
    let mut left_over = None;
    let mut drawn = needed;
    let mut beside_tag = true;
    ui.horizontal(|ui| {
        ui.set_min_height(HEAD_HEIGHT);
        tag(ui, code, false);
        ui.add_space(space::M);
        let width = ui.available_width();
        // The right corner is the button's that goes back to the table.
        let kept = figures.len() as f32 * 96.0 + space::XXXL;
        beside_tag = width >= kept + 80.0;
        let room = (width - kept).max(80.0);
        if needed > room + 0.5 || !beside_tag {
            left_over = Some(beside);
        } else {
            let at = Rect::from_min_size(ui.cursor().min, vec2(room, HEAD_HEIGHT));
            drawn = in_head(ui, at, beside);
        }
        if beside_tag {
            figures_ui(ui, figures);
        }
    });
    if let Some(beside) = left_over {
        let line = vec2(ui.available_width(), HEAD_HEIGHT);
        let (_, at) = ui.allocate_space(line);
        drawn = in_head(ui, at, beside);
    }
    if !beside_tag {
        ui.horizontal(|ui| figures_ui(ui, figures));
    }
    if (drawn - needed).abs() > 0.5 {
        ui.data_mut(|data| data.insert_temp(measured, drawn));
        ui.ctx().request_discard("the head of a page was measured");
    }
    ui.add_space(space::XS);
    printers_rule(ui);
    ui.add_space(space::XS);
}

/// The figures of a head, from the right.
fn figures_ui(ui: &mut Ui, figures: &[(String, &str)]) {
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        ui.add_space(space::XXXL);
        ui.spacing_mut().item_spacing.x = space::XL;
        for (number, counts) in figures.iter().rev() {
            figure(ui, number, counts);
        }
    });
}

const HEAD_HEIGHT: f32 = 48.0;

/// Draws words into `at`; how wide they came out.
fn in_head(ui: &mut Ui, at: Rect, words: impl FnOnce(&mut Ui)) -> f32 {
    let layout = Layout::left_to_right(Align::Center);
    let mut inside = ui.new_child(egui::UiBuilder::new().max_rect(at).layout(layout));
    inside.set_clip_rect(at.expand(4.0).intersect(ui.clip_rect()));
    words(&mut inside);
    inside.min_rect().width()
}

/// Two lines of words beside a tag: the first strong.
pub fn two_lines(ui: &mut Ui, first: &str, second: &str) {
    ui.vertical(|ui| {
        ui.spacing_mut().item_spacing.y = 0.0;
        ui.add(egui::Label::new(theme::strong(first)).truncate());
        ui.add(egui::Label::new(muted(ui, second)).truncate());
    });
}

/// The line of time of a record.
pub fn life(ui: &mut Ui, code: &str, steps: &[RecordStep], view: &View<'_>) {
    let step = ui.available_width() / steps.len().max(1) as f32;
    let mut before: Option<NaiveDate> = None;
    let stations: Vec<Station> = steps
        .iter()
        .map(|each| {
            let days_before = before
                .zip(each.day)
                .map(|(before, day)| (day - before).num_days())
                .filter(|days| *days > 0);
            before = each.day.or(before);
            Station {
                drawing: drawing_of(each.kind),
                word: each.word().to_owned(),
                day: day_words(each, view.today, step >= 88.0),
                mark: mark_of(each.standing),
                days_before,
            }
        })
        .collect();
    time_line(ui, &format!("Line of time of {code}"), &stations);
}

fn day_words(step: &RecordStep, today: NaiveDate, room: bool) -> String {
    match (step.standing, step.day) {
        (_, None) => "not known".to_owned(),
        (Standing::Done | Standing::Failed | Standing::Unknown, Some(day)) => {
            kit::dates::on_button(day, today)
        }
        (Standing::Now, Some(day)) if day == today => "today".to_owned(),
        (Standing::Now, Some(day)) if room => {
            format!("since {}", kit::dates::on_button(day, today))
        }
        (Standing::Expected, Some(day)) if room => {
            format!("about {}", kit::dates::on_button(day, today))
        }
        (Standing::Now | Standing::Expected, Some(day)) => kit::dates::on_button(day, today),
    }
}

const fn mark_of(standing: Standing) -> StateMark {
    match standing {
        Standing::Done => StateMark::Done,
        Standing::Now => StateMark::Now,
        Standing::Expected => StateMark::Expected,
        Standing::Unknown => StateMark::Unknown,
        Standing::Failed => StateMark::Failed,
    }
}

/// The drawing of a step.
pub const fn drawing_of(kind: StepKind) -> Drawing {
    match kind {
        StepKind::Planned => Drawing::Cross,
        StepKind::Bagged | StepKind::BagsOff => Drawing::Bag,
        StepKind::Pollinated => Drawing::Pollen,
        StepKind::Harvested | StepKind::SexKnown => Drawing::Cone,
        StepKind::SeedClean | StepKind::Bought => Drawing::Seed,
        StepKind::Sterilised => Drawing::Moist,
        StepKind::Cold => Drawing::Cold,
        StepKind::LastCheck => Drawing::Box,
        StepKind::Ready | StepKind::Warmth => Drawing::Warm,
        StepKind::FirstSprout => Drawing::Sprout,
        StepKind::FirstPot => Drawing::Pot,
        StepKind::CameIn => Drawing::Hill,
        StepKind::Selected => Drawing::Tag,
        StepKind::Ended => Drawing::Decision,
    }
}

/// Draws the next step of a record as the one big button, done by it or by D. The kind of work, where it needs a form
/// or another page first; what is done by an edit alone is handed in.
pub fn next(ui: &mut Ui, view: &View<'_>, about: &[AnyId], out: &mut Outbox<'_>) -> Option<Item> {
    let (work, current) = view
        .derived
        .work_on(view.project, view.today, ui.ctx(), about);
    let item = work.into_iter().next()?;
    let may = view.read_only.is_none();
    let (mark, word) = standing(&item, view.today);
    if may && item.state != ItemState::Coming {
        caution_lines(ui, cautions::for_item(item.kind));
    }
    ui.add_space(space::S);
    let day = short_day(item.date);
    let pressed = next_step(
        ui,
        NextStep {
            drawing: super::calendar::drawing_of(item.kind),
            title: &item.title,
            detail: &item.detail,
            state: (mark, &word),
            day: &day,
            key: if may { "D" } else { "" },
            loud: item.state != ItemState::Coming,
            enabled: may,
        },
    )
    .clicked();
    ui.add_space(space::S);
    if may {
        page_keys::declare(ui, [("D", "next step")]);
    }
    let by_key = may && page_keys::pressed(ui, Key::D);
    if !(pressed || by_key) || !current {
        return None;
    }
    // The next step slides under the finger as this one is done: a second tap is the same one.
    if kit::drafts::just_acted(ui.ctx(), &item.about.uuid.to_string()) {
        return None;
    }
    match item.completion(view.project, view.today, out.ids) {
        Completion::Ready(edit) => {
            out.act(ui, item.kind.verb(), item.about, *edit);
            None
        }
        Completion::Asks => Some(item),
        Completion::Done => None,
    }
}

/// How an item stands, in words.
fn standing(item: &Item, today: NaiveDate) -> (StateMark, String) {
    match item.state {
        ItemState::Late => {
            let days = (today - item.latest.unwrap_or(item.date)).num_days().max(1) as u32;
            let words = format!("{days} {} late", plural(days, "day", "days"));
            (StateMark::Late, words)
        }
        ItemState::Due => (StateMark::Soon, "due today".to_owned()),
        ItemState::Coming => (StateMark::Expected, "about".to_owned()),
        ItemState::Done => (StateMark::Done, "done".to_owned()),
    }
}

/// The head of a section: its title in the slab with a rule beneath, a remark at the right.
pub fn section(ui: &mut Ui, title: &str, remark: &str) {
    kit::widgets::numbered_section(ui, None, title, remark);
    ui.add_space(space::XS);
}

/// One line of a ledger: the day, a drawing, what happened in bold, the rest. The room of `tail` is left at the right.
pub fn ledger_row(
    ui: &mut Ui,
    day: &str,
    drawing: Option<Drawing>,
    what: &str,
    rest: &str,
    tail: f32,
) -> Rect {
    const ROW: f32 = 30.0;
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::hover());
    response.widget_info(|| {
        let words = [day, what, rest].map(str::trim).join(" ");
        WidgetInfo::labeled(Role::Label, true, words.trim())
    });
    let colours = tokens(ui);
    let y = rect.center().y;
    let body = FontId::proportional(type_size::BODY);
    let days = Rect::from_min_max(rect.min, pos2(rect.left() + 88.0, rect.bottom()));
    one_line_right(ui, days, y, day, body.clone(), colours.muted);
    if let Some(drawing) = drawing {
        let at = pos2(rect.left() + 108.0, y);
        drawing::paint(ui.painter(), drawing, at, 20.0, drawing::Inks::of(colours));
    }
    let left = rect.left() + 128.0;
    let right = rect.right() - tail;
    let split = if rest.is_empty() {
        right
    } else {
        let width = ui
            .painter()
            .layout_no_wrap(what.to_owned(), theme::bold(type_size::BODY), colours.ink)
            .size()
            .x;
        (left + width.max(140.0) + space::M).min(right)
    };
    let room = Rect::from_min_max(pos2(left, rect.top()), pos2(split, rect.bottom()));
    one_line(ui, room, y, what, theme::bold(type_size::BODY), colours.ink);
    if split < right {
        let room = Rect::from_min_max(pos2(split, rect.top()), pos2(right, rect.bottom()));
        one_line(ui, room, y, rest, body, colours.ink);
    }
    hairline(ui, rect.x_range(), rect.bottom());
    Rect::from_min_max(pos2(right, rect.top()), rect.max)
}

/// A small button at the end of a line of a ledger, its target as high as the line. `name` is how it is called aloud.
pub fn line_button(ui: &mut Ui, room: Rect, words: &str, name: &str) -> bool {
    let text = egui::RichText::new(words)
        .size(type_size::SMALL)
        .underline();
    let button = ui.put(room.shrink2(vec2(0.0, 1.0)), Button::new(text).frame(false));
    button.widget_info(|| WidgetInfo::labeled(Role::Button, ui.is_enabled(), name));
    button.clicked()
}

/// Two columns where there is room for them, one under the other where there isn't.
pub fn columns<C>(
    ui: &mut Ui,
    context: &mut C,
    left: impl FnOnce(&mut Ui, &mut C),
    right: impl FnOnce(&mut Ui, &mut C),
) {
    if ui.available_width() < 620.0 {
        left(ui, context);
        right(ui, context);
        return;
    }
    let width = (ui.available_width() - space::XXXL) / 2.0;
    ui.horizontal_top(|ui| {
        ui.spacing_mut().item_spacing.x = space::XXXL;
        ui.allocate_ui_with_layout(vec2(width, 0.0), Layout::top_down(Align::Min), |ui| {
            ui.set_width(width);
            ui.spacing_mut().item_spacing.x = space::S;
            left(ui, context);
        });
        ui.allocate_ui_with_layout(vec2(width, 0.0), Layout::top_down(Align::Min), |ui| {
            ui.set_width(width);
            ui.spacing_mut().item_spacing.x = space::S;
            right(ui, context);
        });
    });
}

/// What stands in a row of a list beside a page: code and state on the first line, what it is on the second.
pub fn list_row(ui: &Ui, code: &str, state: (StateMark, &str), second: &str, ended: bool) {
    let rect = ui.max_rect();
    let colours = tokens(ui);
    let ink = if ended { colours.muted } else { colours.ink };
    let small = FontId::proportional(type_size::SMALL);
    let (mark, word) = state;
    let y = rect.top() + 14.0;
    let word_width = ui
        .painter()
        .layout_no_wrap(word.to_owned(), small.clone(), ink)
        .size()
        .x;
    let word_left = rect.right() - word_width;
    let words = Rect::from_min_max(pos2(word_left, rect.top()), rect.max);
    one_line(ui, words, y, word, small.clone(), colours.muted);
    let at = pos2(word_left - 11.0, y);
    mark.paint(ui.painter(), at, 12.0, colours, colours.surface);
    let name = rect.with_max_x(word_left - 24.0);
    one_line(ui, name, y, code, theme::bold(type_size::BODY), ink);
    one_line(ui, rect, rect.top() + 32.0, second, small, colours.muted);
}

/// The same without a mark: its state is nothing to look out for.
pub fn plain_row(ui: &Ui, code: &str, state: &str, second: &str) {
    let rect = ui.max_rect();
    let colours = tokens(ui);
    let small = FontId::proportional(type_size::SMALL);
    let y = rect.top() + 14.0;
    one_line_right(ui, rect, y, state, small.clone(), colours.muted);
    let name = rect.with_max_x(rect.right() - 84.0);
    one_line(ui, name, y, code, theme::bold(type_size::BODY), colours.ink);
    one_line(ui, rect, rect.top() + 32.0, second, small, colours.muted);
}
