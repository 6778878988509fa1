//! All boxes in warmth in one table: type what came up, Enter, next.

use super::to_do::SHOWN;
use crate::forms;
use crate::screens::forms::CountForm;
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::ledger::BoxTally;
use domain::{AnyId, Count, Edit, Germination, Id};
use egui::{
    Align2, FontId, Frame, Key, Margin, Rect, Role, Sense, TextEdit, Ui, WidgetInfo, pos2, vec2,
};
use kit::drafts::Slot;
use kit::state_mark::{StateMark, draft_outline};
use kit::theme::{self, radius, space, tokens, type_size};
use kit::widgets::{Weight, hairline, numbered_section, one_line, one_line_right, wide_button};
use quant::counted::total;
use std::rc::Rc;

/// What the table remembers: its rows, until the project or the day changes. What is typed lies with all drafts.
#[derive(Default)]
pub(super) struct State {
    rows: Rc<[Row]>,
    made_for: Option<(u64, NaiveDate)>,
    /// Whether every box is drawn, however many they are.
    whole: bool,
}

/// One box in warmth.
struct Row {
    run: Id<Germination>,
    code: String,
    day: i64,
    left: u32,
    up: u32,
    laid: u32,
    /// What was counted on the working day.
    counted: Option<u32>,
}

/// Draws the table; false when no box is in warmth.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    number: usize,
    out: &mut Outbox<'_>,
) -> bool {
    let key = (view.project.revision(), view.today);
    if state.made_for != Some(key) {
        state.rows = rows(view).into();
        state.made_for = Some(key);
    }
    let rows = Rc::clone(&state.rows);
    if rows.is_empty() {
        return false;
    }
    let remark = match rows.len() {
        1 => "1 warm box".to_owned(),
        count => format!("{count} warm boxes"),
    };
    numbered_section(ui, Some(number), "Counts", &remark);
    head(ui);
    let mut record = None;
    let mut first_draft = None;
    let shown = if state.whole {
        rows.len()
    } else {
        SHOWN.min(rows.len())
    };
    for (nth, row) in rows[..shown].iter().enumerate() {
        let slot = slot_of(ui, row);
        let answer = row_ui(ui, view, &slot, row);
        let draft = typed_in(ui, &slot);
        let has_draft = draft.is_some();
        if let (Some(draft), None) = (draft, &first_draft) {
            first_draft = Some((nth, draft));
        }
        if answer == Some(Answer::Enter) && has_draft {
            record = Some(nth);
        }
        if answer == Some(Answer::More) {
            forms::open(ui.ctx(), row.run.uuid(), &row.code, CountForm::new(row.run));
        }
        forms::show::<CountForm>(ui, view, row.run.uuid(), out);
    }
    let more = rows.len() - shown;
    if more > 0 && ui.button(format!("Show {more} more warm boxes")).clicked() {
        state.whole = true;
    }
    if let Some((nth, draft)) = first_draft {
        let row = &rows[nth];
        ui.add_space(space::S);
        let day = view.working.on_button();
        let count = draft.parse::<u32>().ok().filter(|count| *count <= row.left);
        let words = match count {
            Some(1) => format!("Record 1 sprout in {}, {day}", row.code),
            Some(count) => format!("Record {count} sprouts in {}, {day}", row.code),
            None => format!("Record the count of {}", row.code),
        };
        if wide_button(ui, Weight::Solid, &words, "Enter", count.is_some()).clicked() {
            record = Some(nth);
        }
        if count.is_none() {
            let why = format!(
                "{}: type a whole number from 0 to {}, the seeds left.",
                row.code, row.left
            );
            ui.label(theme::strong(why).color(tokens(ui).alarm));
        }
    }
    if let Some(nth) = record {
        let row = &rows[nth];
        let slot = slot_of(ui, row);
        let typed = typed_in(ui, &slot).unwrap_or_default();
        if let Some(germinated) = typed.parse().ok().filter(|count| *count <= row.left) {
            let count = count_of(out.ids.next(), row.run, germinated, view);
            out.submit(slot.ticket(ui.ctx()), Edit::add(count));
            // On to the next box.
            if let Some(next) = rows.get(nth + 1) {
                let id = slot_of(ui, next).id();
                ui.memory_mut(|memory| memory.request_focus(id));
            }
        }
    }
    ui.add_space(space::XS);
    ui.label(
        theme::muted(
            ui,
            "Enter records and goes to the next box. 0 is a count too.",
        )
        .small(),
    );
    true
}

fn count_of(id: Id<Count>, run: Id<Germination>, germinated: u32, view: &View<'_>) -> Count {
    Count {
        id,
        run,
        date: view.today,
        germinated,
        abnormal: 0,
        dead: 0,
        lost: 0,
        by: String::new(),
        remark: String::new(),
    }
}

/// The boxes in warmth on the working day, in the order of their codes.
fn rows(view: &View<'_>) -> Vec<Row> {
    let project = view.project;
    let mut rows: Vec<Row> = project
        .germinations()
        .iter()
        .filter(|run| run.end.is_none() && run.moved <= view.today)
        .filter_map(|run| {
            let chill_box = project.chill_boxes().get(run.chill_box)?;
            let tally = BoxTally::of(project, chill_box);
            let today: Vec<u32> = project
                .counts_of(run.id)
                .filter(|count| count.date == view.today)
                .map(|count| count.germinated)
                .collect();
            Some(Row {
                run: run.id,
                code: chill_box.code.clone(),
                day: (view.today - run.moved).num_days(),
                left: tally.left(),
                up: tally.sprouts(),
                laid: tally.laid,
                counted: (!today.is_empty()).then(|| total(&today)),
            })
        })
        .collect();
    rows.sort_by(|one, other| one.code.cmp(&other.code));
    rows
}

/// Where the columns end, from the left of a row.
struct Columns {
    code: f32,
    day: f32,
    left: f32,
    up: f32,
    field: Rect,
}

impl Columns {
    fn of(row: Rect) -> Self {
        let field = Rect::from_min_max(
            pos2(row.right() - 92.0, row.top() + 2.0),
            pos2(row.right(), row.bottom() - 2.0),
        );
        let end = field.left() - 56.0;
        let room = end - row.left() - 76.0;
        // Where little room is left, the heads need as much of it each.
        let (day, left) = if room < 220.0 {
            (1.0 / 3.0, 2.0 / 3.0)
        } else {
            (0.25, 0.6)
        };
        Self {
            code: row.left() + 76.0,
            day: row.left() + 76.0 + room * day,
            left: row.left() + 76.0 + room * left,
            up: end,
            field,
        }
    }
}

fn head(ui: &mut Ui) {
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 24.0), Sense::hover());
    let columns = Columns::of(rect);
    let muted = tokens(ui).muted;
    let font = FontId::proportional(type_size::SMALL);
    let y = rect.center().y;
    one_line(ui, rect, y, "Box", font.clone(), muted);
    for (left, right, word) in [
        (rect.left() + 24.0, columns.day, "Days warm"),
        (columns.day, columns.left, "Not up"),
        (columns.left, columns.up, "Up so far"),
        (columns.up, columns.field.right(), "New"),
    ] {
        let room = Rect::from_min_max(
            pos2(left + space::XS, rect.top()),
            pos2(right, rect.bottom()),
        );
        one_line_right(ui, room, y, word, font.clone(), muted);
    }
    hairline(ui, rect.x_range(), rect.bottom());
}

#[derive(PartialEq, Eq)]
enum Answer {
    Enter,
    More,
}

/// The draft of the field of a box.
fn slot_of(ui: &Ui, row: &Row) -> Slot {
    Slot::of(ui, &format!("New sprouts in {}", row.code))
}

/// What is typed in it, if anything.
fn typed_in(ui: &Ui, slot: &Slot) -> Option<String> {
    let (typed, _) = slot.held(ui.ctx())?;
    Some(typed.trim().to_owned()).filter(|typed| !typed.is_empty())
}

#[expect(clippy::too_many_lines, reason = "one row, drawn from left to right")]
fn row_ui(ui: &mut Ui, view: &View<'_>, slot: &Slot, row: &Row) -> Option<Answer> {
    let size = vec2(ui.available_width(), space::BENCH_ROW);
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    // Long tables run on beyond the window: what isn't seen costs nothing but its room. The rows next to what is seen
    // are drawn, so that Tab goes on to them.
    let near = rect.expand2(vec2(0.0, 2.0 * space::BENCH_ROW));
    if !ui.is_rect_visible(near) && !ui.memory(|memory| memory.has_focus(slot.id())) {
        return None;
    }
    kit::unkept::row_ui(ui, rect, AnyId::from(row.run), &row.code);
    let columns = Columns::of(rect);
    let colours = tokens(ui);
    let y = rect.center().y;
    let code = rect.with_max_x(columns.code);
    one_line(
        ui,
        code,
        y,
        &row.code,
        theme::slab(type_size::HEADING),
        colours.ink,
    );
    let bench = FontId::proportional(type_size::BENCH);
    for (right, figure) in [
        (columns.day, row.day.to_string()),
        (columns.left, row.left.to_string()),
        (columns.up, row.up.to_string()),
    ] {
        let room = Rect::from_min_max(rect.min, pos2(right, rect.bottom()));
        one_line_right(ui, room, y, &figure, bench.clone(), colours.ink);
    }
    hairline(ui, rect.x_range(), rect.bottom());
    if view.read_only.is_some() {
        return None;
    }
    let mut answer = None;
    let more = Rect::from_center_size(pos2(columns.field.left() - 26.0, y), vec2(28.0, 28.0));
    let share = (row.up * 100)
        .checked_div(row.laid)
        .map_or_else(String::new, |share| {
            format!("{share} % of {} seeds are up", row.laid)
        });
    let response = ui
        .put(more, egui::Button::new("…").min_size(more.size()))
        .on_hover_text(format!("{share}. Abnormal, dead, lost, a remark…"));
    response.widget_info(|| {
        WidgetInfo::labeled(
            Role::Button,
            true,
            format!("Count…: Count sprouts in box {}", row.code),
        )
    });
    if response.clicked() {
        answer = Some(Answer::More);
    }
    let field = columns.field;
    let id = slot.id();
    let mut typed = slot
        .held(ui.ctx())
        .map(|(typed, _)| typed)
        .unwrap_or_default();
    let is_draft = !typed.trim().is_empty();
    let counted = row.counted.filter(|_| !is_draft);
    let ground = if counted.is_some() {
        colours.good.fill
    } else {
        colours.raised
    };
    let stroke = egui::Stroke::new(1.0, colours.outline);
    ui.painter().rect(
        field,
        f32::from(radius::SMALL),
        ground,
        stroke,
        egui::StrokeKind::Inside,
    );
    let hint = counted.map(|count| count.to_string()).unwrap_or_default();
    let edit = TextEdit::singleline(&mut typed)
        .id(id)
        .frame(Frame::NONE)
        .font(theme::bold(type_size::HEADING))
        .text_color(colours.ink)
        .hint_text(
            egui::RichText::new(hint)
                .font(theme::bold(type_size::HEADING))
                .color(colours.ink),
        )
        .align(Align2::RIGHT_CENTER)
        .margin(Margin::symmetric(8, 4))
        .desired_width(field.width() - 16.0);
    let response = ui
        .put(field, edit)
        .accessible_name(format!("New sprouts in {}", row.code));
    if counted.is_some() {
        StateMark::Good.paint(
            ui.painter(),
            pos2(field.left() + 16.0, y),
            14.0,
            colours,
            colours.good.fill,
        );
    }
    if is_draft {
        draft_outline(ui.painter(), field, colours);
        one_line(
            ui,
            field.with_min_x(field.left() + 8.0),
            y,
            "draft",
            FontId::proportional(type_size::SMALL),
            colours.ink,
        );
    }
    if response.changed() {
        if typed.trim().is_empty() {
            slot.forget(ui.ctx());
        } else {
            slot.keep(ui.ctx(), &typed, None);
        }
    }
    if response.gained_focus() {
        response.scroll_to_me(None);
    }
    if response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter)) {
        answer = Some(Answer::Enter);
    }
    answer
}
