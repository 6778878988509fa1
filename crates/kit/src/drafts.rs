//! What is typed and not yet recorded: the one place that keeps it, whatever screen is shown.
//!
//! A field commits what it holds, or what it holds stays here as a draft. A form's whole state lies here while it is
//! open. Both are named by what lasts (the kind of form, the record, the name of the field), never by where they were
//! drawn, so that they survive other screens, undo, saving and closing; [`Drafts::to_text`] and [`Drafts::read`] bring
//! them past the end of the program.
//!
//! Whoever hands in an edit holds a [`Ticket`] for it, made only by a committed field, a form or a button that acts.
//! [`Ticket::made`] and [`Ticket::refused`] tell what became of the edit: a made one closes its form or field, a
//! refused one is shown there with everything still in place.

use egui::{Context, Id, Ui, UiBuilder, UiStackInfo};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::any::Any;
use std::collections::BTreeMap;
use std::fmt::Display;
use std::sync::{Arc, Mutex, PoisonError};

mod ticket;

pub use ticket::{MOMENT, Ticket, just_acted};

/// What a form is about: its kind, and the record it hangs on (nothing for a new one).
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct FormKey {
    /// The kind of form.
    pub kind: String,
    /// The lasting name of its record.
    pub about: String,
}

impl FormKey {
    /// The form of this kind about this record.
    pub fn new(kind: impl Into<String>, about: impl Display) -> Self {
        Self {
            kind: kind.into(),
            about: about.to_string(),
        }
    }
}

/// The kind under which fields that belong to no form are kept, by screen.
const INLINE: &str = "field";

/// What a form may hold.
pub trait Kept: Clone + PartialEq + Serialize + DeserializeOwned + Send + Sync + 'static {}

impl<S: Clone + PartialEq + Serialize + DeserializeOwned + Send + Sync + 'static> Kept for S {}

/// What is typed in one field.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Draft {
    /// As it was typed.
    pub text: String,
    /// Whose field it is, in words.
    #[serde(default)]
    pub whose: String,
    /// Why it couldn't be recorded, as a sentence.
    #[serde(skip)]
    pub problem: Option<String>,
}

/// What one form, or the fields of one screen, hold.
#[derive(Clone, Default, Serialize, Deserialize)]
struct Held {
    /// What it is called: 'Count of box B-3'.
    #[serde(default)]
    words: String,
    /// The form's state as data; null for the fields of a screen.
    #[serde(default)]
    state: Value,
    /// The same, as the form's own type.
    #[serde(skip)]
    typed: Option<Arc<dyn Any + Send + Sync>>,
    #[serde(default)]
    texts: BTreeMap<String, Draft>,
    /// Why the edit was refused.
    #[serde(skip)]
    problem: Option<String>,
    /// Nothing was drawn of it yet.
    #[serde(skip)]
    fresh: bool,
    /// Something was changed since it was opened.
    #[serde(default)]
    touched: bool,
}

/// One thing that isn't recorded, for a list of them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pending {
    key: FormKey,
    field: Option<String>,
    /// What it is: 'Place (Setup)', 'Count of box B-3'.
    pub words: String,
    /// What was typed, where it is one field.
    pub text: String,
    /// Why it can't be recorded as it is, if that was tried.
    pub problem: Option<String>,
}

impl Pending {
    /// The screen that an inline field belongs to.
    pub fn screen(&self) -> Option<&str> {
        self.field.as_ref().map(|_| self.key.about.as_str())
    }

    /// Whether both are what waits in the same field, or the same form.
    pub fn is_of(&self, other: &Self) -> bool {
        self.key == other.key && self.field == other.field
    }

    /// The form it is, if it is one.
    pub fn form(&self) -> Option<&FormKey> {
        self.field.is_none().then_some(&self.key)
    }
}

/// Everything typed and not yet recorded in one project.
#[derive(Default)]
pub struct Drafts {
    held: BTreeMap<(String, String), Held>,
    /// Counts changes, so that whoever writes drafts down knows when.
    changes: u64,
    /// Every field is to commit what it holds as it is drawn.
    settling: bool,
    /// The form cancelled last, to be brought back.
    cancelled: Option<(FormKey, Held)>,
    /// When each act was done last to each record, in seconds of input time.
    acts: BTreeMap<(String, String), f64>,
}

/// Drafts as they are shared by the window, its fields and its forms.
pub type Shared = Arc<Mutex<Drafts>>;

/// The drafts of the project that is shown in this window.
pub fn of(ctx: &Context) -> Shared {
    ctx.data_mut(|data| {
        data.get_temp_mut_or_default::<Shared>(Id::NULL.with("drafts"))
            .clone()
    })
}

/// Fields and forms drawn from here on keep what they hold in these drafts.
pub fn install(ctx: &Context, drafts: &Shared) {
    ctx.data_mut(|data| data.insert_temp(Id::NULL.with("drafts"), Arc::clone(drafts)));
}

/// Runs `work` on the drafts of this window.
pub fn with<R>(ctx: &Context, work: impl FnOnce(&mut Drafts) -> R) -> R {
    let drafts = of(ctx);
    let mut drafts = drafts.lock().unwrap_or_else(PoisonError::into_inner);
    work(&mut drafts)
}

/// Where in the program a field stands.
#[derive(Clone, Debug)]
pub(crate) struct Place {
    pub(crate) key: FormKey,
    /// Put before the names of fields: the records they belong to.
    prefix: String,
    whose: String,
    /// Fields are read as they are typed, and the form commits for all of them.
    pub(crate) in_form: bool,
}

const TAG: &str = "draft place";

impl Place {
    /// Where `ui` stands.
    pub(crate) fn of(ui: &Ui) -> Self {
        let found = ui
            .stack()
            .iter()
            .find_map(|each| each.tags().get_downcast::<Self>(TAG).cloned());
        found.unwrap_or_else(|| Self {
            key: FormKey::new(INLINE, ""),
            prefix: String::new(),
            whose: String::new(),
            in_form: false,
        })
    }

    pub(crate) fn form(key: &FormKey, words: &str) -> Self {
        Self {
            key: key.clone(),
            prefix: String::new(),
            whose: words.to_owned(),
            in_form: true,
        }
    }

    /// The lasting name of a field here.
    pub(crate) fn name(&self, field: &str) -> String {
        format!("{}{field}", self.prefix)
    }

    pub(crate) fn whose(&self) -> &str {
        &self.whose
    }

    /// Draws with this place.
    pub(crate) fn show<R>(self, ui: &mut Ui, body: impl FnOnce(&mut Ui) -> R) -> R {
        let salt = (&self.key, &self.prefix);
        let builder = UiBuilder::new()
            .id_salt(egui::IdSalt::new(salt))
            .ui_stack_info(UiStackInfo::default().with_tag_value(TAG, self.clone()));
        ui.scope_builder(builder, body).inner
    }
}

/// The draft of a field that draws itself, such as one with a list to choose from: what is typed in it and not yet
/// taken is kept here, as for every other field.
#[derive(Clone, Debug)]
pub struct Slot {
    place: Place,
    name: String,
}

impl Slot {
    /// The draft of the field of this name in `ui`.
    pub fn of(ui: &Ui, field: &str) -> Self {
        let place = Place::of(ui);
        let name = place.name(field);
        Self { place, name }
    }

    /// The lasting id of the field.
    pub fn id(&self) -> Id {
        Id::unique(("draft", &self.place.key, &self.name))
    }

    /// What is typed, and why it can't be taken, if that was tried.
    pub fn held(&self, ctx: &Context) -> Option<(String, Option<String>)> {
        with(ctx, |drafts| {
            let draft = drafts.draft(&self.place.key, &self.name)?;
            Some((draft.text.clone(), draft.problem.clone()))
        })
    }

    /// Keeps what is typed.
    pub fn keep(&self, ctx: &Context, text: &str, problem: Option<&str>) {
        let draft = Draft {
            text: text.to_owned(),
            whose: self.place.whose.clone(),
            problem: problem.map(str::to_owned),
        };
        with(ctx, |drafts| {
            if drafts.draft(&self.place.key, &self.name) != Some(&draft) {
                drafts.keep(&self.place.key, &self.name, draft);
            }
        });
    }

    /// To hand in an edit of what is typed: made, the draft goes; refused, it stays with the reason.
    pub fn ticket(&self, ctx: &Context) -> Ticket {
        Ticket::of_field(ctx, &self.place.key, &self.name)
    }

    /// What was typed is taken, or given up.
    pub fn forget(&self, ctx: &Context) {
        with(ctx, |drafts| {
            if drafts.draft(&self.place.key, &self.name).is_some() {
                drafts.forget(&self.place.key, &self.name);
            }
        });
    }
}

/// Whether fields are to commit what they hold in this frame, because the page is about to be left or the project saved.
/// For whatever draws itself; other fields do it by themselves.
pub fn settling(ctx: &Context) -> bool {
    with(ctx, |drafts| drafts.settling())
}

/// Draws a screen: fields in it that stand in no form are its own.
pub fn screen<R>(ui: &mut Ui, title: &str, body: impl FnOnce(&mut Ui) -> R) -> R {
    let place = Place {
        key: FormKey::new(INLINE, title),
        prefix: String::new(),
        whose: title.to_owned(),
        in_form: false,
    };
    place.show(ui, body)
}

/// Draws what is about one record: fields in it are that record's, wherever they are drawn. `words` name it.
pub fn about<R>(
    ui: &mut Ui,
    record: impl Display,
    words: &str,
    body: impl FnOnce(&mut Ui) -> R,
) -> R {
    let mut place = Place::of(ui);
    place.prefix = format!("{}{record}/", place.prefix);
    if !place.in_form {
        words.clone_into(&mut place.whose);
    }
    let record = record.to_string();
    place.show(ui, |ui| {
        crate::unkept::page_ui(ui, &record);
        body(ui)
    })
}

impl Drafts {
    fn entry(&mut self, key: &FormKey) -> &mut Held {
        self.held
            .entry((key.kind.clone(), key.about.clone()))
            .or_default()
    }

    fn get(&self, key: &FormKey) -> Option<&Held> {
        self.held.get(&(key.kind.clone(), key.about.clone()))
    }

    fn get_mut(&mut self, key: &FormKey) -> Option<&mut Held> {
        self.held.get_mut(&(key.kind.clone(), key.about.clone()))
    }

    /// What is typed in a field.
    pub(crate) fn draft(&self, key: &FormKey, name: &str) -> Option<&Draft> {
        self.get(key)?.texts.get(name)
    }

    /// Keeps what is typed in a field.
    pub(crate) fn keep(&mut self, key: &FormKey, name: &str, draft: Draft) {
        let held = self.entry(key);
        if held.texts.get(name) != Some(&draft) {
            held.texts.insert(name.to_owned(), draft);
            self.changes += 1;
        }
    }

    /// Forgets what was typed in a field.
    pub(crate) fn forget(&mut self, key: &FormKey, name: &str) {
        let Some(held) = self.get_mut(key) else {
            return;
        };
        if held.texts.remove(name).is_some() {
            let empty = key.kind == INLINE && held.texts.is_empty();
            if empty {
                self.held.remove(&(key.kind.clone(), key.about.clone()));
            }
            self.changes += 1;
        }
    }

    /// Opens a form on this state; one that is open already stays as it is.
    pub fn open(&mut self, key: &FormKey, words: impl Into<String>, state: impl Kept) {
        if self.is_open(key) {
            return;
        }
        *self.entry(key) = Held {
            words: words.into(),
            state: serde_json::to_value(&state).unwrap_or_default(),
            typed: Some(Arc::new(state)),
            fresh: true,
            ..Held::default()
        };
        self.changes += 1;
    }

    /// Whether this form is open.
    pub fn is_open(&self, key: &FormKey) -> bool {
        key.kind != INLINE && self.get(key).is_some()
    }

    /// The records that forms of this kind are open about.
    pub fn open_about<'a>(&'a self, kind: &'a str) -> impl Iterator<Item = &'a str> {
        self.held
            .keys()
            .filter(move |(each, _)| each == kind)
            .map(|(_, about)| about.as_str())
    }

    /// What this form holds; nothing if it isn't open, or what is kept of it is of no use any more.
    pub fn state<S: Kept>(&mut self, key: &FormKey) -> Option<S> {
        let held = self.get_mut(key)?;
        if let Some(typed) = held.typed.as_ref().and_then(|any| any.downcast_ref::<S>()) {
            return Some(typed.clone());
        }
        let state: S = serde_json::from_value(held.state.clone()).ok()?;
        held.typed = Some(Arc::new(state.clone()));
        Some(state)
    }

    /// Keeps what this form holds now, which a person changed.
    pub fn hold<S: Kept>(&mut self, key: &FormKey, state: &S) {
        let Some(held) = self.get_mut(key) else {
            return;
        };
        held.state = serde_json::to_value(state).unwrap_or_default();
        held.typed = Some(Arc::new(state.clone()));
        held.problem = None;
        held.touched = true;
        self.changes += 1;
    }

    /// Puts this in an open form, which nobody typed.
    pub fn replace<S: Kept>(&mut self, key: &FormKey, state: &S) {
        let touched = self.touched(key);
        self.hold(key, state);
        if let Some(held) = self.get_mut(key) {
            held.touched = touched;
        }
    }

    /// Whether this is the first time that the form is drawn; from then on it isn't.
    pub(crate) fn take_fresh(&mut self, key: &FormKey) -> bool {
        self.get_mut(key)
            .is_some_and(|held| std::mem::take(&mut held.fresh))
    }

    /// Why this form can't be recorded: what is typed wrongly in one of its fields.
    pub(crate) fn fault(&self, key: &FormKey) -> Option<&str> {
        let mut texts = self.get(key)?.texts.values();
        texts.find_map(|draft| draft.problem.as_deref())
    }

    /// Why the edit of this form was refused.
    pub fn refusal(&self, key: &FormKey) -> Option<&str> {
        self.get(key)?.problem.as_deref()
    }

    /// Whether anything was changed in this form.
    pub(crate) fn touched(&self, key: &FormKey) -> bool {
        self.get(key).is_some_and(|held| {
            held.touched || held.texts.values().any(|draft| draft.problem.is_some())
        })
    }

    /// Closes a form and forgets what it held.
    pub fn close(&mut self, key: &FormKey) {
        if self
            .held
            .remove(&(key.kind.clone(), key.about.clone()))
            .is_some()
        {
            self.changes += 1;
        }
    }

    /// Closes a form that a person cancelled; [`Self::bring_back`] opens it again.
    pub(crate) fn cancel(&mut self, key: &FormKey) {
        if let Some(held) = self.held.remove(&(key.kind.clone(), key.about.clone())) {
            self.changes += 1;
            self.cancelled = held.touched.then(|| (key.clone(), held));
        }
    }

    /// The form cancelled last, if something was typed in it; it is told once.
    pub fn take_cancelled(&mut self) -> Option<Cancelled> {
        self.cancelled
            .take()
            .map(|(key, held)| Cancelled { key, held })
    }

    /// Opens a cancelled form as it was.
    pub fn bring_back(&mut self, cancelled: Cancelled) {
        let Cancelled { key, mut held } = cancelled;
        held.fresh = true;
        self.held.insert((key.kind, key.about), held);
        self.changes += 1;
    }

    /// From now on, or no longer, each field commits what it holds as it is drawn.
    pub fn settle(&mut self, on: bool) {
        self.settling = on;
    }

    pub(crate) const fn settling(&self) -> bool {
        self.settling
    }

    /// Everything that isn't recorded: fields with a draft, and forms in which something was changed.
    pub fn pending(&self) -> Vec<Pending> {
        let mut all = Vec::new();
        for ((kind, about), held) in &self.held {
            let key = FormKey::new(kind, about);
            if kind == INLINE {
                all.extend(held.texts.iter().map(|(name, draft)| {
                    let field = name.rsplit('/').next().unwrap_or(name);
                    let words = if draft.whose.is_empty() {
                        field.to_owned()
                    } else {
                        format!("{field} ({})", draft.whose)
                    };
                    Pending {
                        key: key.clone(),
                        field: Some(name.clone()),
                        words,
                        text: draft.text.clone(),
                        problem: draft.problem.clone(),
                    }
                }));
            } else if self.touched(&key) {
                all.push(Pending {
                    key,
                    field: None,
                    words: held.words.clone(),
                    text: String::new(),
                    problem: held.problem.clone(),
                });
            }
        }
        all
    }

    /// Whether anything isn't recorded.
    pub fn is_empty(&self) -> bool {
        self.held
            .values()
            .all(|held| held.texts.is_empty() && !held.touched)
    }

    /// Forgets one thing that isn't recorded.
    pub fn throw_away(&mut self, pending: &Pending) {
        match &pending.field {
            Some(name) => self.forget(&pending.key, name),
            None => self.close(&pending.key),
        }
    }

    /// Counts changes: whoever keeps drafts on disk writes them when this has moved.
    pub const fn changes(&self) -> u64 {
        self.changes
    }

    /// All of it as JSON, to be kept beside the project; empty when there is nothing to keep.
    pub fn to_text(&self) -> String {
        let kept: Vec<_> = self
            .held
            .iter()
            .map(|((kind, about), held)| Line {
                key: FormKey::new(kind, about),
                held: held.clone(),
            })
            .collect();
        if kept.is_empty() {
            return String::new();
        }
        serde_json::to_string_pretty(&kept).unwrap_or_default()
    }

    /// What [`Self::to_text`] wrote; an error says why it can't be read.
    pub fn read(text: &str) -> Result<Self, String> {
        if text.trim().is_empty() {
            return Ok(Self::default());
        }
        let lines: Vec<Line> = serde_json::from_str(text)
            .map_err(|error| format!("The drafts beside the project can't be read: {error}."))?;
        let held = lines
            .into_iter()
            .map(|line| ((line.key.kind, line.key.about), line.held));
        Ok(Self {
            held: held.collect(),
            ..Self::default()
        })
    }
}

/// A form that was cancelled with something in it.
pub struct Cancelled {
    key: FormKey,
    held: Held,
}

#[derive(Serialize, Deserialize)]
struct Line {
    #[serde(flatten)]
    key: FormKey,
    #[serde(flatten)]
    held: Held,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(text: &str) -> Draft {
        Draft {
            text: text.into(),
            whose: "Setup".into(),
            problem: None,
        }
    }

    #[test]
    fn drafts_outlive_the_program() {
        let mut drafts = Drafts::default();
        let (field, form) = (
            FormKey::new(INLINE, "Setup"),
            FormKey::new("count", "run 7"),
        );
        drafts.keep(&field, "settings/Place", typed("Tarn farm"));
        drafts.open(&form, "Count of box B-3", 0_u32);
        drafts.hold(&form, &42_u32);
        let mut read = Drafts::read(&drafts.to_text()).unwrap();
        assert_eq!(
            read.draft(&field, "settings/Place").unwrap().text,
            "Tarn farm"
        );
        assert_eq!(read.state::<u32>(&form), Some(42));
        let words: Vec<_> = read.pending().into_iter().map(|each| each.words).collect();
        assert_eq!(words, ["Count of box B-3", "Place (Setup)"]);
    }

    #[test]
    fn what_is_settled_leaves_nothing_behind() {
        let mut drafts = Drafts::default();
        let field = FormKey::new(INLINE, "Setup");
        drafts.keep(&field, "Place", typed("Tarn farm"));
        drafts.forget(&field, "Place");
        assert!(drafts.is_empty());
        assert_eq!(drafts.to_text(), "");
    }

    #[test]
    fn a_cancelled_form_can_be_brought_back() {
        let mut drafts = Drafts::default();
        let form = FormKey::new("count", "run 7");
        drafts.open(&form, "Count", 0_u32);
        drafts.hold(&form, &7_u32);
        drafts.cancel(&form);
        assert!(!drafts.is_open(&form));
        let cancelled = drafts.take_cancelled().unwrap();
        drafts.bring_back(cancelled);
        assert_eq!(drafts.state::<u32>(&form), Some(7));
    }

    #[test]
    fn an_open_form_is_not_opened_over_itself() {
        let mut drafts = Drafts::default();
        let form = FormKey::new("count", "run 7");
        drafts.open(&form, "Count", 1_u32);
        drafts.open(&form, "Count", 2_u32);
        assert_eq!(drafts.state::<u32>(&form), Some(1));
    }

    #[test]
    fn drafts_that_are_damaged_say_so() {
        assert!(Drafts::read("[{").is_err());
    }
}
