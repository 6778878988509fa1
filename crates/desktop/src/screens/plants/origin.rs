//! Where the genes of a plant come from.

use crate::forms::{self, FormKind, RecordForm, Submission};
use crate::screens::code_picker::{self, CodePicker};
use crate::screens::fields::{caution_lines, choice_row, text_with_hint};
use crate::view::{Outbox, View};
use domain::display::origin_words;
use domain::record::genotype::GenotypeField;
use domain::{Cross, Edit, Genotype, Id, IdSource, Origin, cautions};
use egui::Ui;
use kit::drafts::Ticket;
use kit::form::Action;
use kit::widgets::{detail, form_row};

/// Another origin for a plant, until it is recorded.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub(super) struct Form {
    plant: Id<Genotype>,
    kind: OriginKind,
    cross: Option<Id<Cross>>,
    from: Option<Id<Genotype>>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
enum OriginKind {
    Founder,
    Cross,
    OpenPollinated,
    Doubled,
    Variant,
    Unknown,
}

impl Form {
    /// A form that begins with the origin it has.
    pub(super) const fn new(plant: &Genotype) -> Self {
        let (cross, from) = match plant.origin {
            Origin::Cross { cross } => (Some(cross), None),
            Origin::OpenPollinated { female: from }
            | Origin::Doubled { from }
            | Origin::Variant { of: from } => (None, Some(from)),
            Origin::Founder { .. } | Origin::Unknown => (None, None),
        };
        Self {
            plant: plant.id,
            kind: kind_of(&plant.origin),
            cross,
            from,
        }
    }

    /// The origin chosen; nothing while what it needs isn't.
    fn origin(&self) -> Option<Origin> {
        match self.kind {
            OriginKind::Founder => Some(Origin::Founder {
                source: String::new(),
                permission: String::new(),
                protected: false,
                imported: false,
            }),
            OriginKind::Cross => self.cross.map(|cross| Origin::Cross { cross }),
            OriginKind::OpenPollinated => self.from.map(|female| Origin::OpenPollinated { female }),
            OriginKind::Doubled => self.from.map(|from| Origin::Doubled { from }),
            OriginKind::Variant => self.from.map(|of| Origin::Variant { of }),
            OriginKind::Unknown => Some(Origin::Unknown),
        }
    }
}

impl RecordForm for Form {
    const KIND: FormKind = FormKind::Origin;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        let kinds = [
            (OriginKind::Founder, "founder"),
            (OriginKind::Cross, "seed of a cross"),
            (OriginKind::OpenPollinated, "open-pollinated seed"),
            (OriginKind::Doubled, "doubled from a plant"),
            (OriginKind::Variant, "variant of a clone"),
            (OriginKind::Unknown, "unknown"),
        ]
        .map(|(kind, words)| (kind, words.to_owned()));
        choice_row(ui, "Origin", &mut self.kind, &kinds);
        match self.kind {
            OriginKind::Cross => pick_cross(ui, view, &mut self.cross),
            OriginKind::OpenPollinated => {
                pick_plant(
                    ui,
                    view,
                    self.plant,
                    "Female parent",
                    &mut self.from,
                    Genotype::may_bear_seed,
                );
            }
            OriginKind::Doubled => {
                caution_lines(ui, &[cautions::DOUBLING]);
                pick_plant(ui, view, self.plant, "Doubled from", &mut self.from, |_| {
                    true
                });
            }
            OriginKind::Variant => {
                pick_plant(ui, view, self.plant, "Variant of", &mut self.from, |_| true);
            }
            OriginKind::Founder | OriginKind::Unknown => {}
        }
        let code = view.project.code_of(self.plant);
        let origin = self.origin();
        let stands = view
            .project
            .genotypes()
            .get(self.plant)
            .map(|plant| &plant.origin);
        let same = origin.is_some()
            && stands.is_some_and(|stands| {
                kind_of(stands) == self.kind
                    && (self.kind == OriginKind::Founder || Some(stands) == origin.as_ref())
            });
        Action::new(format!("Record the origin of {code}"))
            .needs(
                origin.is_some(),
                match self.kind {
                    OriginKind::Cross => "Choose the cross.",
                    _ => "Choose the plant.",
                },
            )
            .needs(!same, "That is its origin already.")
    }

    fn submission(&self, _view: &View<'_>, _ids: &mut IdSource) -> Result<Submission, String> {
        let origin = self.origin().ok_or("Choose where it comes from.")?;
        Ok(Edit::set(self.plant, GenotypeField::Origin(origin)).into())
    }
}

const fn kind_of(origin: &Origin) -> OriginKind {
    match origin {
        Origin::Founder { .. } => OriginKind::Founder,
        Origin::Cross { .. } => OriginKind::Cross,
        Origin::OpenPollinated { .. } => OriginKind::OpenPollinated,
        Origin::Doubled { .. } => OriginKind::Doubled,
        Origin::Variant { .. } => OriginKind::Variant,
        Origin::Unknown => OriginKind::Unknown,
    }
}

/// Draws the origin of a plant.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, plant: &Genotype, out: &mut Outbox<'_>) {
    detail(ui, "Origin", &origin_words(view.project, &plant.origin));
    founder_ui(ui, plant, &mut |ticket, origin| {
        out.submit(ticket, Edit::set(plant.id, GenotypeField::Origin(origin)));
    });
    let about = plant.id.uuid();
    if !forms::show::<Form>(ui, view, about, out) {
        form_row(ui, "", |ui| {
            if ui.button("Change the origin…").clicked() {
                forms::open(ui.ctx(), about, &plant.code, Form::new(plant));
            }
        });
    }
}

fn founder_ui(ui: &mut Ui, plant: &Genotype, set: &mut impl FnMut(Ticket, Origin)) {
    let Origin::Founder {
        source,
        permission,
        protected,
        imported,
    } = &plant.origin
    else {
        return;
    };
    let with = |source: &str, permission: &str, protected, imported| Origin::Founder {
        source: source.into(),
        permission: permission.into(),
        protected,
        imported,
    };
    if let Some((source, ticket)) = text_with_hint(ui, "From", source, "from whom or where") {
        set(ticket, with(&source, permission, *protected, *imported));
    }
    if let Some((permission, ticket)) =
        text_with_hint(ui, "Its note", permission, "what the source wrote")
    {
        set(ticket, with(source, &permission, *protected, *imported));
    }
    let (mut is_protected, mut is_imported) = (*protected, *imported);
    form_row(ui, "", |ui| {
        let changed = ui
            .checkbox(&mut is_protected, "Protected or patented")
            .changed()
            | ui.checkbox(&mut is_imported, "From another country")
                .changed();
        if changed {
            let ticket = Ticket::of_act(ui, "limits", plant.id.uuid());
            set(ticket, with(source, permission, is_protected, is_imported));
        }
    });
}

fn pick_cross(ui: &mut Ui, view: &View<'_>, cross: &mut Option<Id<Cross>>) {
    let project = view.project;
    let shown = cross.map_or("", |cross| project.code_of(cross));
    let find = |typed: &str| {
        code_picker::find(
            project.crosses().iter(),
            typed,
            |cross| vec![cross.code.as_str()],
            |cross| origin_words(project, &Origin::Cross { cross: cross.id }),
        )
    };
    form_row(ui, "Of cross", |ui| {
        CodePicker::new("Of cross").hint("part of its code").show(
            ui,
            shown,
            project.revision(),
            cross,
            find,
        )
    });
}

fn pick_plant(
    ui: &mut Ui,
    view: &View<'_>,
    plant: Id<Genotype>,
    name: &str,
    source: &mut Option<Id<Genotype>>,
    allowed: impl Fn(&Genotype) -> bool,
) {
    let project = view.project;
    let shown = source.map_or("", |source| project.code_of(source));
    let find = |typed: &str| {
        code_picker::find_plants(project, typed, |other| other.id != plant && allowed(other))
    };
    form_row(ui, name, |ui| {
        CodePicker::new(name).show(ui, shown, project.revision(), source, find)
    });
}
