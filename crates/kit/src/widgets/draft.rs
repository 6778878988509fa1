//! A typed field whose text is a draft until it is committed: by Enter, by leaving the field, never in between.

use egui::{Align2, Id, Key, Response, TextEdit, Ui, vec2};

use crate::theme::{self, space, tokens};

/// What became of a typed field this frame.
#[derive(Debug)]
pub struct FieldResponse {
    /// The text box.
    pub response: Response,
    /// A new value was committed: make one edit of it.
    pub changed: bool,
    /// What is wrong with the draft, as a sentence; it is already drawn under the field.
    pub problem: Option<String>,
}

#[derive(Clone, Default)]
struct Draft {
    text: String,
    problem: Option<String>,
}

/// The one mechanism behind number, temperature and date fields.
pub(super) struct DraftField<'a> {
    pub(super) id: Id,
    pub(super) name: &'a str,
    pub(super) width: f32,
    pub(super) hint: &'a str,
    /// Right-aligned tabular figures.
    pub(super) figures: bool,
}

pub(super) struct Drafted<T> {
    pub(super) response: Response,
    pub(super) committed: Option<T>,
    pub(super) problem: Option<String>,
}

impl<T> Drafted<T> {
    /// Writes the committed value where it belongs; says whether it differs.
    pub(super) fn store(self, value: &mut T) -> FieldResponse
    where
        T: PartialEq,
    {
        let mut changed = false;
        if let Some(new) = self.committed {
            changed = *value != new;
            *value = new;
        }
        FieldResponse {
            response: self.response,
            changed,
            problem: self.problem,
        }
    }
}

impl DraftField<'_> {
    /// The id of the field called `name` in `ui`.
    pub(super) fn id(ui: &Ui, name: &str) -> Id {
        ui.make_persistent_id(("draft", name))
    }

    /// Draws the box showing `shown` until a person types; on commit the text is parsed.
    ///
    /// A refused draft stays as typed, with its sentence, until it is mended or Escape brings the value back.
    pub(super) fn show<T>(
        &self,
        ui: &mut Ui,
        shown: &str,
        parse: impl FnOnce(&str) -> Result<T, String>,
    ) -> Drafted<T> {
        let id = self.id;
        let draft: Option<Draft> = ui.data(|data| data.get_temp(id));
        let mut draft = draft.unwrap_or_else(|| Draft {
            text: shown.to_owned(),
            problem: None,
        });
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
                if refused {
                    let stroke = egui::Stroke::new(2.0, colours.alarm);
                    ui.visuals_mut().widgets.inactive.bg_stroke = stroke;
                    ui.visuals_mut().widgets.hovered.bg_stroke = stroke;
                }
                ui.add(edit)
            })
            .inner
            .accessible_name(self.name);
        let mut committed = None;
        let escaped = response.lost_focus() && ui.input(|input| input.key_pressed(Key::Escape));
        if escaped {
            draft = Draft {
                text: shown.to_owned(),
                problem: None,
            };
        } else if response.lost_focus() && draft.text != shown {
            match parse(&draft.text) {
                Ok(value) => {
                    committed = Some(value);
                    draft.problem = None;
                }
                Err(problem) => draft.problem = Some(problem),
            }
        } else if draft.text == shown {
            draft.problem = None;
        }
        let problem = draft.problem.clone();
        let keep = response.has_focus() || problem.is_some();
        ui.data_mut(|data| {
            if keep {
                data.insert_temp(id, draft);
            } else {
                data.remove_temp::<Draft>(id);
            }
        });
        Drafted {
            response,
            committed,
            problem,
        }
    }

    /// Throws the draft away, so that the field shows its value again.
    pub(super) fn forget(&self, ui: &Ui) {
        ui.data_mut(|data| data.remove_temp::<Draft>(self.id));
    }
}

/// Draws the sentence of a refused draft beneath its field.
pub(super) fn problem_line(ui: &mut Ui, problem: Option<&String>) {
    if let Some(problem) = problem {
        let ink = tokens(ui).alarm;
        ui.label(
            egui::RichText::new(format!("{} {problem}", crate::fonts::mark::WARNING))
                .color(ink)
                .small(),
        );
    }
}
