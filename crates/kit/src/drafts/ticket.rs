//! Who hands in an edit, so that they hear what became of it.

use super::{FormKey, Shared, with};
use egui::{Context, Ui};
use std::sync::PoisonError;

/// Two acts of one kind on one record within so many seconds are one: a hand that trembles, a button that bounces.
pub const MOMENT: f64 = 0.4;

/// The right to hand in one edit, and the duty to be told its fate.
///
/// Made by a field that was committed, a form that was filled in, or an act; by nothing else. A ticket of a field
/// that is dropped unused gives up the draft: its value was taken over in place.
#[must_use = "hand in the edit with it, so that whoever made it hears what became of it"]
pub struct Ticket {
    by: By,
    drafts: Shared,
}

#[derive(Clone, Debug)]
enum By {
    Field(FormKey, String),
    Form(FormKey),
    Act {
        act: String,
        record: String,
        time: f64,
    },
    /// A value among others.
    Value,
    /// Its fate is told.
    Told,
}

impl Ticket {
    pub(crate) fn of_field(ctx: &Context, key: &FormKey, name: &str) -> Self {
        Self {
            by: By::Field(key.clone(), name.to_owned()),
            drafts: super::of(ctx),
        }
    }

    pub(crate) fn of_form(ctx: &Context, key: &FormKey) -> Self {
        Self {
            by: By::Form(key.clone()),
            drafts: super::of(ctx),
        }
    }

    /// For an act on a record, by button or by key: `act` is its kind, such as 'bagged'. What is refused is told in the
    /// notice line.
    pub fn of_act(ui: &Ui, act: impl Into<String>, record: impl std::fmt::Display) -> Self {
        Self {
            by: By::Act {
                act: act.into(),
                record: record.to_string(),
                time: ui.input(|input| input.time),
            },
            drafts: super::of(ui.ctx()),
        }
    }

    /// For a value that is chosen or typed among others and recorded with them: what is refused is told in the notice
    /// line, and the same again is meant.
    pub fn of_value(ui: &Ui) -> Self {
        Self {
            by: By::Value,
            drafts: super::of(ui.ctx()),
        }
    }

    /// The kind of act and its record, if it is an act.
    pub fn act(&self) -> Option<(&str, &str)> {
        match &self.by {
            By::Act { act, record, .. } => Some((act, record)),
            By::Field(..) | By::Form(_) | By::Value | By::Told => None,
        }
    }

    /// The kind of form and what it is about, if it is a form.
    pub fn form(&self) -> Option<(&str, &str)> {
        match &self.by {
            By::Form(key) => Some((&key.kind, &key.about)),
            By::Field(..) | By::Act { .. } | By::Value | By::Told => None,
        }
    }

    /// Whether it is of what was typed in a field that stands in no form.
    pub const fn is_of_field(&self) -> bool {
        matches!(self.by, By::Field(..))
    }

    /// Whether both are of what was typed in the same field.
    pub fn is_of_same_field(&self, other: &Self) -> bool {
        match (&self.by, &other.by) {
            (By::Field(key, name), By::Field(other, of)) => key == other && name == of,
            _ => false,
        }
    }

    /// Whether the same act was done to the same record a moment ago: then this one is not to be made. From here on
    /// this is the one that was done last.
    pub fn is_repeat(&self) -> bool {
        let By::Act { act, record, time } = &self.by else {
            return false;
        };
        let mut drafts = self.drafts.lock().unwrap_or_else(PoisonError::into_inner);
        let before = drafts.acts.insert((act.clone(), record.clone()), *time);
        before.is_some_and(|before| (0.0..MOMENT).contains(&(time - before)))
    }

    /// The edit was made: the form closes, the field shows what is recorded.
    pub fn made(mut self) {
        let by = std::mem::replace(&mut self.by, By::Told);
        let mut drafts = self.drafts.lock().unwrap_or_else(PoisonError::into_inner);
        match by {
            By::Field(key, name) => drafts.forget(&key, &name),
            By::Form(key) => drafts.close(&key),
            By::Act { .. } | By::Value | By::Told => {}
        }
    }

    /// The edit was not made, and why: it is shown where it was typed, with everything still there.
    pub fn refused(mut self, why: &str) {
        let by = std::mem::replace(&mut self.by, By::Told);
        let mut drafts = self.drafts.lock().unwrap_or_else(PoisonError::into_inner);
        match by {
            By::Field(key, name) => {
                if let Some(draft) = drafts
                    .get_mut(&key)
                    .and_then(|held| held.texts.get_mut(&name))
                {
                    draft.problem = Some(why.to_owned());
                }
            }
            By::Form(key) => {
                if let Some(held) = drafts.get_mut(&key) {
                    held.problem = Some(why.to_owned());
                    held.fresh = true;
                }
            }
            By::Act { .. } | By::Value | By::Told => {}
        }
    }
}

impl Drop for Ticket {
    fn drop(&mut self) {
        if let By::Field(key, name) = &self.by {
            let mut drafts = self.drafts.lock().unwrap_or_else(PoisonError::into_inner);
            drafts.forget(key, name);
        }
    }
}

/// Whether something was done to this record a moment ago, so that a tap that follows is the same tap.
pub fn just_acted(ctx: &Context, record: &str) -> bool {
    let now = ctx.input(|input| input.time);
    with(ctx, |drafts| {
        let mut acts = drafts.acts.iter().filter(|((_, each), _)| each == record);
        acts.any(|(_, time)| (0.0..MOMENT).contains(&(now - time)))
    })
}
