//! The one form: what every form of a window has in common.
//!
//! Its first field has the focus; Tab goes on and selects what is there; Enter records (Ctrl+Enter in long text),
//! Escape cancels. What is invalid disables the action and says why beside it. What it holds is kept in
//! [`crate::drafts`], so that it is there again after another screen, after a refusal, after the program was ended.

use crate::drafts::{self, FormKey, Kept, Place, Ticket};
use crate::theme::{muted, space, strong, tokens};
use crate::widgets::main_button;
use egui::text::CCursorRange;
use egui::{
    Context, FocusDirection, Id, Key, Modifiers, Popup, Role, Sense, TextEdit, Ui, WidgetInfo,
};

/// What a form's button does, in words that name what, how many and for which day, and why it can't be done yet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Action {
    words: String,
    problem: Option<String>,
}

impl Action {
    /// A button with these words: 'Record 7 sprouts, 5 Sep'.
    pub fn new(words: impl Into<String>) -> Self {
        Self {
            words: words.into(),
            problem: None,
        }
    }

    /// It can only be done if `holds`; otherwise this sentence stands beside it.
    #[must_use]
    pub fn needs(mut self, holds: bool, otherwise: impl Into<String>) -> Self {
        if !holds && self.problem.is_none() {
            self.problem = Some(otherwise.into());
        }
        self
    }

    /// The same with what was found wrong, if anything.
    #[must_use]
    pub fn unless(mut self, problem: Option<String>) -> Self {
        self.problem = self.problem.or(problem);
        self
    }
}

/// What came of a form in this frame.
pub enum Answer<S> {
    /// It is open, and nothing more.
    Open,
    /// It was cancelled.
    Cancelled,
    /// It was filled in: hand in an edit of what it holds, with this ticket.
    Filled(S, Ticket),
}

/// What a form remembers between frames.
#[derive(Clone, Copy, Default)]
struct Memory {
    /// The keyboard was in it at the end of the last frame, and nothing lay over it.
    inside: bool,
}

/// Draws the form of this key if it is open: `rows` draws its fields and tells what its button does.
pub fn show<S: Kept>(
    ui: &mut Ui,
    key: &FormKey,
    words: &str,
    rows: impl FnOnce(&mut Ui, &mut S) -> Action,
) -> Option<Answer<S>> {
    let ctx = ui.ctx().clone();
    let mut state = drafts::with(&ctx, |drafts| drafts.state::<S>(key))?;
    let before = state.clone();
    let id = Id::unique(("form", key));
    let memory: Memory = ui.data(|data| data.get_temp(id)).unwrap_or_default();
    let focused_before = ui.memory(egui::Memory::focused);
    // Keys pressed in what lies over the page are not the form's, even the one that closes it.
    let over = ui.memory(egui::Memory::top_modal_layer);
    let reached = over.is_none_or(|layer| layer == ui.layer_id());
    let enter_on_choice = memory.inside
        && reached
        && focused_before.is_none_or(|id| is_choice(&ctx, id))
        && !Popup::is_any_open(&ctx)
        && ui.input_mut(|input| input.consume_key(Modifiers::NONE, Key::Enter));
    let escaped = memory.inside && reached && ui.input(|input| input.key_pressed(Key::Escape));

    let place = Place::form(key, words);
    let (answer, rect) = place.show(ui, |ui| {
        // The tap that opened it would take the keyboard away again: the first frame after it does.
        let tapping = ui.input(|input| input.pointer.any_pressed() || input.pointer.any_released());
        if tapping {
            ctx.request_repaint();
        } else if drafts::with(&ctx, |drafts| drafts.take_fresh(key)) {
            // The key that opened the form is not meant for its first field.
            ui.input_mut(|input| {
                input.consume_key(Modifiers::NONE, Key::Enter);
                input.consume_key(Modifiers::NONE, Key::Space);
            });
            focus_first(ui, id);
        }
        let action = rows(ui, &mut state);
        let answer = buttons(ui, key, action);
        (answer, ui.min_rect())
    });
    if state != before {
        drafts::with(&ctx, |drafts| drafts.hold(key, &state));
        ctx.request_repaint();
    }
    let focused = ui.memory(egui::Memory::focused);
    let within = |id: Id| {
        ctx.read_response(id).is_some_and(|response| {
            response.layer_id == ui.layer_id() && rect.contains(response.rect.center())
        })
    };
    let covered = Popup::is_any_open(&ctx);
    // A click on a choice or beside a field leaves the keyboard nowhere: it is the form's still.
    let clicked = ui.input(|input| {
        let at = input
            .pointer
            .interact_pos()
            .filter(|_| input.pointer.any_released());
        at.map(|at| rect.contains(at))
    });
    let inside = match focused {
        _ if !reached => memory.inside,
        Some(id) => within(id),
        None => clicked.unwrap_or(memory.inside),
    } && !covered;
    ui.data_mut(|data| data.insert_temp(id, Memory { inside }));

    let by_keys = entered(ui, focused_before.filter(|id| within(*id))) || enter_on_choice;
    let Buttons {
        pressed,
        cancelled,
        possible,
    } = answer;
    if cancelled || (escaped && !covered) {
        drafts::with(&ctx, |drafts| drafts.cancel(key));
        ctx.request_repaint();
        return Some(Answer::Cancelled);
    }
    if by_keys && !possible {
        // Back into the form: what stands in the way is said beside the button.
        if let Some(id) = focused_before {
            ui.memory_mut(|memory| memory.request_focus(id));
        }
    }
    if possible && (pressed || by_keys) {
        return Some(Answer::Filled(state, Ticket::of_form(&ctx, key)));
    }
    Some(Answer::Open)
}

/// Enter in a line of text, or Ctrl+Enter in several.
fn entered(ui: &Ui, was_in: Option<Id>) -> bool {
    let Some(id) = was_in else { return false };
    if TextEdit::load_state(ui.ctx(), id).is_none() {
        return false;
    }
    let still_in = ui.memory(|memory| memory.has_focus(id));
    ui.input(|input| input.key_pressed(Key::Enter) && (!still_in || input.modifiers.command))
}

struct Buttons {
    pressed: bool,
    cancelled: bool,
    possible: bool,
}

fn buttons(ui: &mut Ui, key: &FormKey, action: Action) -> Buttons {
    let ctx = ui.ctx().clone();
    let (fault, refusal, touched) = drafts::with(&ctx, |drafts| {
        (
            drafts.fault(key).map(str::to_owned),
            drafts.refusal(key).map(str::to_owned),
            drafts.touched(key),
        )
    });
    if let Some(refusal) = refusal {
        let ink = tokens(ui).danger.text;
        let words = format!("{} {refusal}", crate::fonts::mark::WARNING);
        let label = ui.add(egui::Label::new(strong(words).color(ink)).wrap());
        label.widget_info(|| WidgetInfo::labeled(Role::Alert, true, &refusal));
    }
    ui.add_space(space::XS);
    let problem = fault.or(action.problem);
    let possible = problem.is_none();
    ui.horizontal_wrapped(|ui| {
        let pressed = ui
            .add_enabled_ui(possible, |ui| main_button(ui, &action.words))
            .inner
            .clicked();
        let cancelled = ui.button("Cancel").clicked();
        if let Some(problem) = problem {
            ui.add(egui::Label::new(strong(problem)).wrap());
        } else if touched {
            ui.label(muted(ui, "draft"));
        }
        Buttons {
            pressed,
            cancelled,
            possible,
        }
    })
    .inner
}

/// Gives the keyboard to the widget that is drawn next.
fn focus_first(ui: &mut Ui, id: Id) {
    let anchor = id.with("first");
    ui.memory_mut(|memory| {
        memory.request_focus(anchor);
        memory.move_focus(FocusDirection::Next);
    });
    let rect = egui::Rect::from_min_size(ui.cursor().min, egui::Vec2::ZERO);
    ui.interact(rect, anchor, Sense::focusable_noninteractive());
    ui.ctx().request_repaint();
}

fn choices(_: &Context) -> Id {
    Id::NULL.with("choices of forms")
}

/// Notes that a control chooses among values: in a form, Enter on it records, and Space chooses.
/// A click on it takes the keyboard along, so that Enter records after it too.
pub fn note_choice(ui: &Ui, response: &egui::Response) {
    let id = response.id;
    if Place::of(ui).in_form {
        if response.clicked() {
            response.request_focus();
        }
        let place = choices(ui.ctx());
        ui.data_mut(|data| {
            data.get_temp_mut_or_default::<std::collections::BTreeSet<u64>>(place)
                .insert(id.value());
        });
    }
}

fn is_choice(ctx: &Context, id: Id) -> bool {
    let place = choices(ctx);
    ctx.data_mut(|data| {
        data.get_temp_mut_or_default::<std::collections::BTreeSet<u64>>(place)
            .contains(&id.value())
    })
}

/// Selects the whole of a text field that the keyboard has just come to: what is typed then replaces it.
/// Call once a frame, after everything is drawn.
pub fn select_on_arrival(ctx: &Context) {
    let place = Id::NULL.with("keyboard was in");
    let focused = ctx.memory(egui::Memory::focused);
    let before: Option<Id> = ctx.data(|data| data.get_temp(place)).unwrap_or_default();
    if focused == before {
        return;
    }
    ctx.data_mut(|data| data.insert_temp(place, focused));
    let by_pointer = ctx.input(|input| input.pointer.any_down() || input.pointer.any_released());
    if by_pointer {
        return;
    }
    if let Some(id) = focused
        && let Some(mut state) = TextEdit::load_state(ctx, id)
    {
        let everything = CCursorRange::two(
            egui::text::CCursor::new(0),
            egui::text::CCursor::new(usize::MAX / 2),
        );
        state.cursor.set_char_range(Some(everything));
        TextEdit::store_state(ctx, id, state);
    }
}
