//! The morning round: every box that is due for a check, in large fixed rows. A box that was checked keeps its row, with
//! Undo where its button was, and the bine in the margin grows past it.

use super::to_do::SHOWN;
use crate::forms;
use crate::screens::fields::caution_lines;
use crate::screens::forms::CheckForm;
use crate::screens::on_paper;
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::actions::check_boxes;
use domain::agenda::{Item, ItemKind, ItemState};
use domain::risk::BoxRisk;
use domain::words::plural;
use domain::{AnyId, Check, ChillBox, Edit, Id, Moisture, cautions};
use egui::{FontId, Key, Modifiers, Rect, Sense, Ui, pos2, vec2};
use kit::bine::{self, Course, Habit, Leaves};
use kit::drafts::just_acted;
use kit::drawing::{self, Drawing};
use kit::state_mark::StateMark;
use kit::theme::{self, space, tokens, type_size};
use kit::widgets::{
    Weight, hairline, in_hand, numbered_section, one_line, row_button, row_inks, tick_box,
    wide_button,
};
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;
use std::sync::Arc;

/// The margin in which the bine grows.
const MARGIN: f32 = 32.0;

/// What the round remembers between frames.
#[derive(Default)]
pub(super) struct State {
    /// The rows of a day in the order they are drawn in, which holds until the day changes: nothing moves under the
    /// finger.
    rows: Vec<Id<ChillBox>>,
    of: Option<NaiveDate>,
    /// The row the keys act on, where it was chosen; else the first that is still to be done.
    chosen: Option<Id<ChillBox>>,
    /// Whether every box is drawn, however many they are.
    whole: bool,
    /// The agenda and the revision the rows were gathered from.
    gathered: Option<(Arc<Vec<Item>>, u64)>,
    /// The rows that are still to be done.
    open: Rc<[Id<ChillBox>]>,
    /// The rows in words.
    told: Rc<[Row]>,
    mouldy: bool,
    /// How many boxes were cleared at once.
    cleared: usize,
}

/// A row of the round.
struct Row {
    chill_box: Id<ChillBox>,
    code: String,
    /// A check is on record for the working day.
    done: bool,
    why: String,
    detail: String,
    dry: bool,
}

impl State {
    /// Takes in what is due, and keeps what was due before.
    fn refresh(&mut self, ui: &Ui, view: &View<'_>) {
        if self.of != Some(view.today) {
            self.of = Some(view.today);
            self.rows.clear();
            self.chosen = None;
            self.gathered = None;
        }
        let agenda = view.derived.agenda(view.project, view.today, ui.ctx());
        let revision = view.project.revision();
        if self
            .gathered
            .as_ref()
            .is_some_and(|(of, at)| Arc::ptr_eq(of, &agenda.value) && *at == revision)
        {
            return;
        }
        self.gathered = Some((Arc::clone(&agenda.value), revision));
        let risks = view.derived.risks(view.project, view.today);
        let weights: BTreeMap<Id<ChillBox>, u32> = risks
            .iter()
            .map(|risk| (risk.chill_box, risk.weight))
            .collect();
        let known: BTreeSet<_> = self.rows.iter().copied().collect();
        let mut fresh: Vec<Id<ChillBox>> = agenda
            .iter()
            .filter(|item| {
                item.kind == ItemKind::CheckBox
                    && matches!(item.state, ItemState::Late | ItemState::Due)
            })
            .filter_map(|item| item.about.typed())
            .filter(|chill_box| !known.contains(chill_box))
            .collect();
        // The box that wants it most comes first.
        fresh.sort_by_key(|chill_box| std::cmp::Reverse(weights.get(chill_box).copied()));
        self.rows.extend(fresh);
        // A box that is no longer there has no row.
        self.rows
            .retain(|chill_box| view.project.chill_boxes().get(*chill_box).is_some());
        let is_open = |chill_box: &Id<ChillBox>| {
            let mut checks = view.project.checks_of(*chill_box);
            checks.all(|check| check.date != view.today)
        };
        self.open = self.rows.iter().copied().filter(is_open).collect();
        let risks: BTreeMap<Id<ChillBox>, &BoxRisk> =
            risks.iter().map(|risk| (risk.chill_box, risk)).collect();
        let told = |&id: &Id<ChillBox>| row_of(view, risks.get(&id).copied(), id);
        self.told = self.rows.iter().map(told).collect();
        self.mouldy = self
            .open
            .iter()
            .any(|&chill_box| cautions::box_had_mould(view.project, chill_box));
    }
}

/// Draws the round; false when no box is due and none was checked on this page.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    number: usize,
    out: &mut Outbox<'_>,
) -> bool {
    state.refresh(ui, view);
    if state.rows.is_empty() {
        return false;
    }
    let shown = if state.whole {
        state.rows.len()
    } else {
        SHOWN.min(state.rows.len())
    };
    let told = Rc::clone(&state.told);
    let rows = &told[..shown];
    let open = Rc::clone(&state.open);
    let count = state.rows.len();
    let remark = format!(
        "{count} {} due, {} to go",
        plural(count as u32, "box", "boxes"),
        open.len()
    );
    numbered_section(ui, Some(number), "Morning round", &remark);
    if state.mouldy && view.read_only.is_none() {
        caution_lines(ui, &[cautions::MOULD]);
    }
    let hand = state
        .chosen
        .filter(|chosen| rows.iter().any(|row| row.chill_box == *chosen))
        .or_else(|| open.first().copied());
    let top = ui.cursor().top();
    let left = ui.cursor().left();
    let mut middles = Vec::new();
    let mut answer = None;
    for row in rows {
        let is_hand = hand == Some(row.chill_box);
        let (middle, pressed) = row_ui(ui, view, row, is_hand);
        middles.push((middle, row.done, is_hand));
        if let Some(pressed) = pressed {
            answer = Some((row.chill_box, pressed));
        }
        forms::show::<CheckForm>(ui, view, row.chill_box.uuid(), out);
    }
    margin(ui, left, top, &middles);
    if let Some(pressed) = keys(ui, view, state, rows, hand) {
        answer = Some(pressed);
    }
    if let Some((chill_box, pressed)) = answer {
        carry_out(ui, view, state, chill_box, pressed, out);
    }
    let more = count.saturating_sub(shown);
    if more > 0 && ui.button(format!("Show {more} more boxes")).clicked() {
        state.whole = true;
    }
    all_clear(ui, view, state, out);
    ui.add_space(space::S);
    if ui
        .button("Print the bench sheet…")
        .on_hover_text("What is due today, with room for a pencil.")
        .clicked()
    {
        on_paper::bench_sheet(view, out);
    }
    true
}

/// The one button that clears the round. It says what it records before it does, and is its own Undo afterwards.
fn all_clear(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    const ACT: &str = "check all";
    const PLACE: &str = "round";
    if view.read_only.is_some() {
        return;
    }
    let told = |boxes: usize| {
        let noun = plural(boxes as u32, "box", "boxes");
        format!("{boxes} {noun}, all clear, {}", view.on_button())
    };
    let pressed_key =
        |ui: &Ui, key| is_free(ui) && ui.input_mut(|input| input.consume_key(Modifiers::NONE, key));
    let open = Rc::clone(&state.open);
    if !open.is_empty() {
        ui.add_space(space::S);
        let by_key = pressed_key(ui, Key::A);
        if wide_button(ui, Weight::Outline, &told(open.len()), "A", true).clicked() || by_key {
            let edit = check_boxes(&open, view.today, out.ids);
            out.act_on(ui, ACT, PLACE, edit);
            state.cleared = open.len();
            state.chosen = None;
        }
        return;
    }
    let done = view.done.iter().rev();
    let mut done = done.filter(|done| done.act == ACT && done.record == PLACE);
    let Some(done) = done.next() else { return };
    ui.add_space(space::S);
    let words = format!("Undo: {}", told(state.cleared));
    let by_key = pressed_key(ui, Key::U);
    let pressed = wide_button(ui, Weight::Outline, &words, "U", true).clicked() || by_key;
    // The second tap of two is no Undo.
    if pressed && !just_acted(ui.ctx(), PLACE) {
        out.take_back(done);
    }
}

fn row_of(view: &View<'_>, risk: Option<&BoxRisk>, id: Id<ChillBox>) -> Row {
    let project = view.project;
    let chill_box = project.chill_boxes().get(id);
    let checks: Vec<_> = project
        .checks_of(id)
        .filter(|check| check.date == view.today)
        .collect();
    let before = project
        .checks_of(id)
        .filter(|check| check.date < view.today)
        .last();
    let why = match (checks.last(), risk) {
        (Some(check), _) => told(check),
        (None, Some(risk)) if !risk.reasons.is_empty() => {
            kit::widgets::capital(&risk.reasons.join(", "))
        }
        _ => "Due for its check".to_owned(),
    };
    let detail = chill_box.map_or_else(String::new, |chill_box| {
        let lot = project.code_of(chill_box.lot);
        let place = if chill_box.place.is_empty() {
            String::new()
        } else {
            format!(", {}", chill_box.place)
        };
        format!("{lot}, {} seeds{place}", chill_box.seeds)
    });
    let last = checks.last().copied().or(before);
    Row {
        chill_box: id,
        code: project.code_of(id).to_owned(),
        dry: last.is_some_and(|check| check.moisture == Some(Moisture::Dry)),
        done: !checks.is_empty(),
        why,
        detail,
    }
}

/// What a check found, in a sentence.
fn told(check: &Check) -> String {
    let mut found = Vec::new();
    match check.moisture {
        Some(Moisture::Dry) => found.push("dry".to_owned()),
        Some(Moisture::Moist) => found.push("moist".to_owned()),
        Some(Moisture::Wet) => found.push("wet".to_owned()),
        None => {}
    }
    if check.water_added {
        found.push("water added".to_owned());
    }
    if check.mouldy_removed > 0 {
        found.push(format!("{} mouldy removed", check.mouldy_removed));
    }
    if check.sprouted_early > 0 {
        found.push(format!("{} sprouted early", check.sprouted_early));
    }
    if found.is_empty() {
        found.push("nothing found".to_owned());
    }
    format!("Checked: {}.", found.join(", "))
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Pressed {
    Checked,
    Found,
    Undo,
    Choose,
}

/// Draws a row; returns its middle and what was pressed.
fn row_ui(ui: &mut Ui, view: &View<'_>, row: &Row, is_hand: bool) -> (f32, Option<Pressed>) {
    let size = vec2(ui.available_width(), space::BENCH_ROW);
    let (whole, _) = ui.allocate_exact_size(size, Sense::hover());
    // A long round runs on beyond the window: what isn't seen costs nothing but its room.
    if !ui.is_rect_visible(whole) {
        return (whole.center().y, None);
    }
    let rect = whole.with_min_x(whole.left() + MARGIN - 8.0);
    let colours = tokens(ui);
    let done = row.done;
    let mut pressed = None;
    let id = ui.make_persistent_id(("round", row.chill_box));
    let press = ui.interact(rect, id, Sense::CLICK);
    if press.clicked() && !done {
        pressed = Some(Pressed::Choose);
    }
    if is_hand && !done {
        in_hand(ui, rect);
    } else {
        hairline(
            ui,
            rect.with_min_x(rect.left() + 8.0).x_range(),
            rect.bottom(),
        );
    }
    kit::unkept::row_ui(ui, rect, AnyId::from(row.chill_box), &row.code);
    let (ink, muted) = row_inks(colours, is_hand && !done, done);
    let writable = view.read_only.is_none();
    let tick = Rect::from_min_size(rect.min, vec2(56.0, rect.height()));
    let name = format!("Mark box {} as checked", row.code);
    if tick_box(ui, tick, &name, done, writable && !done).clicked() {
        pressed = Some(Pressed::Checked);
    }
    let y = rect.center().y;
    let code = Rect::from_min_max(
        pos2(tick.right(), rect.top()),
        pos2(tick.right() + 76.0, rect.bottom()),
    );
    one_line(ui, code, y, &row.code, theme::slab(type_size::HEADING), ink);
    let mut right = rect.right() - 8.0;
    if writable {
        let button = |right: f32, width: f32| {
            Rect::from_min_max(pos2(right - width, rect.top()), pos2(right, rect.bottom()))
        };
        if done {
            let name = format!("Undo the check of box {}", row.code);
            if row_button(ui, button(right, 76.0), Weight::Outline, "Undo", &name).clicked() {
                pressed = Some(Pressed::Undo);
            }
        } else {
            let name = format!("Note on box {}", row.code);
            if row_button(ui, button(right, 76.0), Weight::Outline, "Found…", &name).clicked() {
                pressed = Some(Pressed::Found);
            }
        }
        right -= 84.0;
        // The box to tick does the same: where there is little room, the words of the row have it.
        if is_hand && !done && rect.width() > 420.0 {
            let name = format!("Checked, nothing found: box {}", row.code);
            let room = button(right, 96.0);
            if row_button(ui, room, Weight::Solid, "Checked", &name).clicked() {
                pressed = Some(Pressed::Checked);
            }
            right -= 104.0;
        }
    }
    let mut words = Rect::from_min_max(pos2(code.right(), rect.top()), pos2(right, rect.bottom()));
    if row.dry {
        let centre = pos2(words.left() + 10.0, y);
        let inks = if is_hand {
            drawing::Inks::plain(ink)
        } else {
            drawing::Inks::of(colours)
        };
        drawing::paint(ui.painter(), Drawing::Dry, centre, 20.0, inks);
        words = words.with_min_x(words.left() + 28.0);
    }
    let body = if is_hand && !done {
        theme::bold(type_size::BODY)
    } else {
        FontId::proportional(type_size::BODY)
    };
    if done {
        one_line(ui, words, y, &row.why, body, ink);
    } else {
        one_line(ui, words, y - 8.0, &row.why, body, ink);
        let small = FontId::proportional(type_size::SMALL);
        one_line(ui, words, y + 10.0, &row.detail, small, muted);
    }
    press.on_hover_text(format!("{} {}", row.why, row.detail));
    (y, pressed)
}

/// The string in the margin: the bine has grown past what is done; a node for each row that is to come.
fn margin(ui: &Ui, left: f32, top: f32, rows: &[(f32, bool, bool)]) {
    let colours = tokens(ui);
    let inks = bine::Inks::of(colours);
    let Some(&(last, ..)) = rows.last() else {
        return;
    };
    let x = left + 10.0;
    let course = Course::Line {
        from: pos2(x, top + 4.0),
        to: pos2(x, last),
    };
    let hand = rows.iter().find(|(_, done, hand)| *hand && !done);
    let done = rows.iter().filter(|(_, done, _)| *done);
    let reach = done.map(|(middle, ..)| middle - top - 4.0);
    let grown = match hand {
        Some((middle, ..)) => middle - top - 4.0,
        None => reach.clone().fold(0.0, f32::max) + 12.0,
    };
    let leaves: Vec<f32> = reach.filter(|reach| *reach < grown).collect();
    let painter = ui.painter();
    let leaves = Leaves::At(&leaves);
    bine::draw(painter, course, grown, leaves, Habit::PAGE, inks);
    for &(middle, done, is_hand) in rows {
        let centre = pos2(x, middle);
        if is_hand && !done {
            painter.extend(bine::tip(course, grown - 17.0, Habit::PAGE, inks));
            painter.circle_filled(centre, 10.0, colours.surface);
            StateMark::Now.paint(painter, centre, 16.0, colours, colours.surface);
        } else if !done && middle - top > grown {
            painter.circle_filled(centre, 6.0, colours.surface);
            StateMark::Expected.paint(painter, centre, 9.0, colours, colours.surface);
        }
    }
}

/// Whether keys are the round's: nothing is typed into, a form least of all.
fn is_free(ui: &Ui) -> bool {
    ui.memory(|memory| memory.focused().is_none())
}

fn keys(
    ui: &Ui,
    view: &View<'_>,
    state: &mut State,
    rows: &[Row],
    hand: Option<Id<ChillBox>>,
) -> Option<(Id<ChillBox>, Pressed)> {
    if !is_free(ui) {
        return None;
    }
    let take = |key| ui.input_mut(|input| input.consume_key(Modifiers::NONE, key));
    let at = rows.iter().position(|row| Some(row.chill_box) == hand);
    if take(Key::ArrowDown) {
        let next = at.map_or(0, |at| (at + 1).min(rows.len() - 1));
        state.chosen = Some(rows[next].chill_box);
    }
    if take(Key::ArrowUp) {
        let next = at.map_or(0, |at| at.saturating_sub(1));
        state.chosen = Some(rows[next].chill_box);
    }
    if view.read_only.is_some() {
        return None;
    }
    let row = &rows[at?];
    let pressed = if !row.done {
        if take(Key::Space) {
            Pressed::Checked
        } else if take(Key::Enter) || take(Key::N) {
            Pressed::Found
        } else {
            return None;
        }
    } else if take(Key::U) {
        Pressed::Undo
    } else {
        return None;
    };
    Some((row.chill_box, pressed))
}

fn carry_out(
    ui: &Ui,
    view: &View<'_>,
    state: &mut State,
    chill_box: Id<ChillBox>,
    pressed: Pressed,
    out: &mut Outbox<'_>,
) {
    let checks: Vec<_> = view
        .project
        .checks_of(chill_box)
        .filter(|check| check.date == view.today)
        .map(|check| check.id)
        .collect();
    match pressed {
        // A second tap on a box that is checked says nothing new.
        Pressed::Checked if checks.is_empty() => {
            let edit = check_boxes(&[chill_box], view.today, out.ids);
            out.act(ui, "check", chill_box, edit);
            state.chosen = None;
        }
        Pressed::Checked => {}
        Pressed::Found => {
            state.chosen = Some(chill_box);
            let code = view.project.code_of(chill_box);
            forms::open(ui.ctx(), chill_box.uuid(), code, CheckForm::new(chill_box));
        }
        // Where the button stood a moment ago, Undo stands now: the second tap of two is no Undo.
        Pressed::Undo if just_acted(ui.ctx(), &chill_box.uuid().to_string()) => {}
        Pressed::Undo => {
            if let Some(&last) = checks.last() {
                out.act(ui, "undo the check", last, Edit::remove(last));
            }
        }
        Pressed::Choose => state.chosen = Some(chill_box),
    }
}
