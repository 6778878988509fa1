//! A typed field whose text is a draft until it is committed: by Enter, by leaving the field, never in between.

use crate::drafts::{self, Draft, Place, Ticket};
use crate::theme::{self, space, tokens};
use egui::{Align2, Id, Key, Response, Shape, Stroke, TextEdit, Ui, vec2};

/// What became of a typed field this frame.
pub struct FieldResponse {
    /// The text box.
    pub response: Response,
    /// A new value was committed.
    pub changed: bool,
    /// Where the value is recorded by an edit: hand it in with this. There is one when the value changed, but in a
    /// form, which hands in its own.
    pub ticket: Option<Ticket>,
    /// What is wrong with the draft, as a sentence; it is already drawn under the field.
    pub problem: Option<String>,
}

/// The one mechanism behind fields of words, numbers, temperatures and dates.
pub(super) struct DraftField<'a> {
    pub(super) name: &'a str,
    pub(super) width: f32,
    pub(super) hint: &'a str,
    /// Right-aligned tabular figures.
    pub(super) figures: bool,
}

pub(super) struct Drafted<T> {
    pub(super) response: Response,
    pub(super) committed: Option<T>,
    pub(super) ticket: Option<Ticket>,
    pub(super) problem: Option<String>,
    /// What is typed, while it isn't what is recorded and can be read.
    pub(super) understood: Option<String>,
}

impl<T> Drafted<T> {
    /// Writes the committed value where it belongs; says whether it differs.
    pub(super) fn store(self, value: &mut T) -> FieldResponse
    where
        T: PartialEq,
    {
        let mut changed = false;
        let mut ticket = self.ticket;
        if let Some(new) = self.committed {
            changed = *value != new;
            *value = new;
            if !changed {
                // What is recorded already needs no edit: the draft is given up.
                ticket = None;
            }
        }
        FieldResponse {
            response: self.response,
            changed,
            ticket,
            problem: self.problem,
        }
    }
}

impl DraftField<'_> {
    /// The lasting id of the field in `ui`.
    pub(super) fn id(&self, ui: &Ui) -> Id {
        let place = Place::of(ui);
        Id::unique(("draft", &place.key, place.name(self.name)))
    }

    /// Draws the box showing `shown` until a person types; on commit the text is parsed.
    ///
    /// What can't be read, or was refused, stays as typed, with its sentence, until it is mended or Escape brings the
    /// value back. In a form, what can be read is taken over as it is typed.
    pub(super) fn show<T>(
        &self,
        ui: &mut Ui,
        shown: &str,
        parse: impl FnOnce(&str) -> Result<T, String>,
    ) -> Drafted<T> {
        self.show_understood(ui, shown, parse, |_| None)
    }

    /// The same; `understood` tells what the text means, while it is typed.
    pub(super) fn show_understood<T>(
        &self,
        ui: &mut Ui,
        shown: &str,
        parse: impl FnOnce(&str) -> Result<T, String>,
        understood: impl FnOnce(&T) -> Option<String>,
    ) -> Drafted<T> {
        let place = Place::of(ui);
        let name = place.name(self.name);
        let id = Id::unique(("draft", &place.key, &name));
        let (kept, settling) = drafts::with(ui.ctx(), |drafts| {
            (drafts.draft(&place.key, &name).cloned(), drafts.settling())
        });
        let had_draft = kept.is_some();
        let mut draft = kept.unwrap_or_else(|| Draft {
            text: shown.to_owned(),
            whose: place.whose().to_owned(),
            problem: None,
        });
        let focused = ui.memory(|memory| memory.has_focus(id));
        let pending = had_draft && !focused && !place.in_form;
        let response = self.text_box(ui, id, &mut draft, pending);

        let escaped = response.lost_focus() && ui.input(|input| input.key_pressed(Key::Escape));
        let differs = draft.text != shown;
        if escaped || !differs {
            // In a form, Escape is the form's; the field keeps what it holds until then.
            if had_draft && (!place.in_form || !differs) {
                drafts::with(ui.ctx(), |drafts| drafts.forget(&place.key, &name));
            }
            return Drafted {
                response,
                committed: None,
                ticket: None,
                problem: None,
                understood: None,
            };
        }
        if response.changed() {
            draft.problem = None;
        }
        let left = response.lost_focus() || settling;
        let mut committed = None;
        let mut ticket = None;
        let mut meaning = None;
        if place.in_form || left || focused {
            match parse(&draft.text) {
                Ok(value) => {
                    meaning = understood(&value);
                    if place.in_form {
                        draft.problem = None;
                        committed = Some(value);
                    } else if left {
                        draft.problem = None;
                        committed = Some(value);
                        ticket = Some(Ticket::of_field(ui.ctx(), &place.key, &name));
                    }
                }
                Err(problem) if place.in_form || left => draft.problem = Some(problem),
                Err(_) => {}
            }
        }
        // A number that can be read as it stands is the form's already, but as it was typed while the keyboard is in it.
        let give_up = place.in_form && committed.is_some() && !response.has_focus();
        let problem = draft.problem.clone();
        drafts::with(ui.ctx(), |drafts| {
            if give_up {
                drafts.forget(&place.key, &name);
            } else {
                drafts.keep(&place.key, &name, draft);
            }
        });
        Drafted {
            problem: problem.filter(|_| !(place.in_form && response.has_focus())),
            response,
            committed,
            ticket,
            understood: meaning.filter(|_| focused),
        }
    }

    fn text_box(&self, ui: &mut Ui, id: Id, draft: &mut Draft, pending: bool) -> Response {
        let colours = tokens(ui);
        let mut edit = TextEdit::singleline(&mut draft.text)
            .id(id)
            .hint_text(self.hint.to_owned())
            .desired_width(self.width)
            .margin(vec2(space::S, space::XS))
            .min_size(vec2(0.0, space::TARGET))
            .align(if self.figures {
                Align2::RIGHT_CENTER
            } else {
                Align2::LEFT_CENTER
            });
        if self.figures {
            edit = edit.font(theme::numbers());
        }
        let refused = draft.problem.is_some();
        let response = ui
            .scope(|ui| {
                let widgets = &mut ui.visuals_mut().widgets;
                if refused {
                    let stroke = Stroke::new(2.0, colours.alarm);
                    widgets.inactive.bg_stroke = stroke;
                    widgets.hovered.bg_stroke = stroke;
                } else if pending {
                    widgets.inactive.bg_stroke = Stroke::NONE;
                }
                ui.add(edit)
            })
            .inner
            .accessible_name(self.name);
        if pending {
            draft_look(ui, &response, refused);
        }
        response
    }

    /// A ticket for a value that was chosen, not typed; none in a form.
    pub(super) fn ticket(&self, ui: &Ui) -> Option<Ticket> {
        let place = Place::of(ui);
        let name = place.name(self.name);
        (!place.in_form).then(|| Ticket::of_field(ui.ctx(), &place.key, &name))
    }

    /// Throws the draft away, so that the field shows its value again.
    pub(super) fn forget(&self, ui: &Ui) {
        let place = Place::of(ui);
        let name = place.name(self.name);
        drafts::with(ui.ctx(), |drafts| drafts.forget(&place.key, &name));
    }
}

/// A dashed outline and the word: what the field holds isn't recorded.
fn draft_look(ui: &Ui, response: &Response, refused: bool) {
    let colours = tokens(ui);
    let rect = response.rect;
    if !refused {
        let corners = [
            rect.left_top(),
            rect.right_top(),
            rect.right_bottom(),
            rect.left_bottom(),
            rect.left_top(),
        ];
        let stroke = Stroke::new(2.0, colours.ink);
        ui.painter()
            .extend(Shape::dashed_line(&corners, stroke, 5.0, 3.0));
    }
    let font = egui::TextStyle::Small.resolve(ui.style());
    let galley = ui
        .painter()
        .layout_no_wrap("draft".to_owned(), font, colours.ink);
    let at = rect.right_top() + vec2(-galley.size().x - space::XS, -galley.size().y / 2.0);
    let ground = egui::Rect::from_min_size(at, galley.size()).expand2(vec2(2.0, 0.0));
    ui.painter().rect_filled(ground, 0.0, colours.surface);
    ui.painter().galley(at, galley, colours.ink);
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_description("draft, not recorded".to_owned());
    });
}

/// Draws the sentence of a refused draft beneath its field.
///
/// While a pointer is down it neither comes nor goes: what is beneath would slide away from under it.
pub(super) fn problem_line(ui: &mut Ui, problem: Option<&String>) {
    let place = ui.unique_id().with("problem line");
    let down = ui.input(|input| input.pointer.any_down());
    let stood: Option<String> = ui.data(|data| data.get_temp(place));
    let shown = if down { stood } else { problem.cloned() };
    match &shown {
        Some(problem) => {
            let ink = tokens(ui).alarm;
            ui.label(
                egui::RichText::new(format!("{} {problem}", crate::fonts::mark::WARNING))
                    .color(ink)
                    .small(),
            );
            let problem = problem.clone();
            ui.data_mut(|data| data.insert_temp(place, problem));
        }
        None => {
            ui.data_mut(|data| data.remove_temp::<String>(place));
        }
    }
}
