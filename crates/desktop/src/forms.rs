//! Every form of the program: what it is about, what its fields are, the edit it makes.
//!
//! A form is a plain value that [`RecordForm`] tells how to draw and to record. Where it lies, what it does with Tab,
//! Enter and Escape, how a refusal is shown and how it survives another screen is [`kit::form`]'s, the same for all.

use crate::view::{Outbox, Request, View};
use domain::{Edit, IdSource};
use egui::{Context, Frame, Margin, Ui};
use kit::drafts::{self, FormKey, Kept};
use kit::form::{Action, Answer};
use kit::theme::{space, tokens};
use std::fmt::Display;

/// The forms there are. A form has a kind of its own, and a test opens every one of [`FormKind::ALL`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "the title says what each is")]
pub enum FormKind {
    Check,
    Count,
    PotUp,
    RemainingSeed,
    Task,
    Founder,
    Founders,
    EndPlant,
    Origin,
    Permission,
    PlanCross,
    CrossEvent,
    Pollen,
    CleanSeed,
    PlanBatch,
    AddBoxes,
    MoveToWarmth,
    EndBox,
    EndBatch,
    Sterilisation,
    Reading,
    Logger,
    NewLot,
    LotSource,
    LotAmount,
    Movement,
    SeedMeasured,
    CullPlants,
    SelectPlants,
    Note,
    Sample,
    DiseaseTest,
}

impl FormKind {
    /// Every form.
    pub const ALL: [Self; 32] = [
        Self::Check,
        Self::Count,
        Self::PotUp,
        Self::RemainingSeed,
        Self::Task,
        Self::Founder,
        Self::Founders,
        Self::EndPlant,
        Self::Origin,
        Self::Permission,
        Self::PlanCross,
        Self::CrossEvent,
        Self::Pollen,
        Self::CleanSeed,
        Self::PlanBatch,
        Self::AddBoxes,
        Self::MoveToWarmth,
        Self::EndBox,
        Self::EndBatch,
        Self::Sterilisation,
        Self::Reading,
        Self::Logger,
        Self::NewLot,
        Self::LotSource,
        Self::LotAmount,
        Self::Movement,
        Self::SeedMeasured,
        Self::CullPlants,
        Self::SelectPlants,
        Self::Note,
        Self::Sample,
        Self::DiseaseTest,
    ];

    /// What it is called.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Check => "Check of a box",
            Self::Count => "Count of a box",
            Self::PotUp => "Potting up",
            Self::RemainingSeed => "Remaining seed",
            Self::Task => "New task",
            Self::Founder => "New founder",
            Self::Founders => "Several founders",
            Self::EndPlant => "End of a plant",
            Self::Origin => "Origin of a plant",
            Self::Permission => "What may be bred from a plant",
            Self::PlanCross => "New cross",
            Self::CrossEvent => "Work on a cross",
            Self::Pollen => "Pollen of a cross",
            Self::CleanSeed => "Cleaned seed",
            Self::PlanBatch => "New batch",
            Self::AddBoxes => "Seed laid in boxes",
            Self::MoveToWarmth => "Move to warmth",
            Self::EndBox => "End of a box",
            Self::EndBatch => "End of a batch",
            Self::Sterilisation => "Sterilisation",
            Self::Reading => "Temperature reading",
            Self::Logger => "File of a logger",
            Self::NewLot => "New seed lot",
            Self::LotSource => "Origin of a lot",
            Self::LotAmount => "Amount of seed",
            Self::Movement => "Seed taken out or brought back",
            Self::SeedMeasured => "Test or weighing of seed",
            Self::CullPlants => "Culling",
            Self::SelectPlants => "Selection",
            Self::Note => "Note",
            Self::Sample => "New sample",
            Self::DiseaseTest => "New disease test",
        }
    }
}

/// A form of the program.
pub trait RecordForm: Kept {
    /// Which one it is.
    const KIND: FormKind;

    /// Draws its fields, and tells what its button does.
    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action;

    /// What it records; a sentence where it can't yet be told.
    fn submission(&self, view: &View<'_>, ids: &mut IdSource) -> Result<Submission, String>;
}

/// What a form records, and what is done once it was made.
pub struct Submission {
    edit: Edit,
    then: Vec<Request>,
}

impl From<Edit> for Submission {
    fn from(edit: Edit) -> Self {
        Self {
            edit,
            then: Vec::new(),
        }
    }
}

impl Submission {
    /// Asks for this once the edit was made.
    #[must_use]
    pub fn then(mut self, request: Request) -> Self {
        self.then.push(request);
        self
    }
}

fn key<F: RecordForm>(about: impl Display) -> FormKey {
    FormKey::new(format!("{:?}", F::KIND), about)
}

/// Opens a form about something: the lasting name of its record, or of the place where there is none. One that is open
/// there already stays as it is.
pub fn open<F: RecordForm>(ctx: &Context, about: impl Display, words: impl Display, form: F) {
    let words = format!("{}: {words}", F::KIND.title());
    let words = words.trim_end_matches(": ").to_owned();
    drafts::with(ctx, |drafts| drafts.open(&key::<F>(about), words, form));
    ctx.request_repaint();
}

/// Whether this form is open about this.
pub fn is_open<F: RecordForm>(ctx: &Context, about: impl Display) -> bool {
    drafts::with(ctx, |drafts| drafts.is_open(&key::<F>(about)))
}

/// What an open form holds.
pub fn held<F: RecordForm>(ctx: &Context, about: impl Display) -> Option<F> {
    drafts::with(ctx, |drafts| drafts.state::<F>(&key::<F>(about)))
}

/// Changes what an open form holds from outside: what it is about follows what is chosen.
pub fn change<F: RecordForm>(ctx: &Context, about: impl Display, change: impl FnOnce(&mut F)) {
    let key = key::<F>(about);
    drafts::with(ctx, |drafts| {
        if let Some(before) = drafts.state::<F>(&key) {
            let mut after = before.clone();
            change(&mut after);
            if after != before {
                drafts.replace(&key, &after);
            }
        }
    });
}

/// Closes a form without asking: what it was about is no more.
pub fn close<F: RecordForm>(ctx: &Context, about: impl Display) {
    drafts::with(ctx, |drafts| drafts.close(&key::<F>(about)));
}

/// Draws a form if it is open about this, and hands in its edit when it was filled in. Whether it is open.
pub fn show<F: RecordForm>(
    ui: &mut Ui,
    view: &View<'_>,
    about: impl Display,
    out: &mut Outbox<'_>,
) -> bool {
    let key = key::<F>(about);
    if !drafts::with(ui.ctx(), |drafts| drafts.is_open(&key)) {
        return false;
    }
    // A page may offer the same form in several places: it stands in the first.
    let drawn = egui::Id::unique(("form drawn", &key));
    let pass = ui.ctx().cumulative_pass_nr();
    let before = ui.data_mut(|data| {
        let before: Option<u64> = data.get_temp(drawn);
        data.insert_temp(drawn, pass);
        before
    });
    if before == Some(pass) {
        return true;
    }
    let frame = Frame::new()
        .fill(tokens(ui).sunken)
        .inner_margin(Margin::same(space::M as i8));
    let answer = frame
        .show(ui, |ui| {
            ui.add_enabled_ui(view.read_only.is_none(), |ui| {
                kit::form::show(ui, &key, F::KIND.title(), |ui, form: &mut F| {
                    form.rows(ui, view)
                })
            })
            .inner
        })
        .inner;
    match answer {
        None => {
            // What was kept is of no use to this version of the form.
            drafts::with(ui.ctx(), |drafts| drafts.close(&key));
            false
        }
        Some(Answer::Open) => true,
        Some(Answer::Cancelled) => false,
        Some(Answer::Filled(form, ticket)) => {
            match form.submission(view, out.ids) {
                Ok(Submission { edit, then }) => out.submit_then(ticket, edit, then),
                Err(why) => ticket.refused(&why),
            }
            true
        }
    }
}
