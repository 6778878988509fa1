//! Where the genes of a plant come from, edited in place.

use crate::screens::code_picker::{self, CodePicker};
use crate::screens::fields::{caution_lines, choice_row, text_with_hint};
use crate::view::{Outbox, View};
use domain::ancestry::origin_words;
use domain::record::genotype::GenotypeField;
use domain::{Cross, Edit, Genotype, Id, Origin, cautions};
use egui::Ui;
use kit::drafts::Ticket;
use kit::widgets::form_row;

/// The kind chosen, while the plant or cross it needs isn't.
#[derive(Default)]
pub(super) struct State {
    kind: Option<OriginKind>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum OriginKind {
    Founder,
    Cross,
    OpenPollinated,
    Doubled,
    Variant,
    Unknown,
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
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    plant: &Genotype,
    out: &mut Outbox<'_>,
) {
    let mut set = |ticket, origin| {
        out.submit(ticket, Edit::set(plant.id, GenotypeField::Origin(origin)));
    };
    let chosen = |ui: &Ui| Ticket::of_act(ui, "origin", plant.id.uuid());
    let mut kind = state.kind.unwrap_or(kind_of(&plant.origin));
    let kinds = [
        (OriginKind::Founder, "founder"),
        (OriginKind::Cross, "seed of a cross"),
        (OriginKind::OpenPollinated, "open-pollinated seed"),
        (OriginKind::Doubled, "doubled from a plant"),
        (OriginKind::Variant, "variant of a clone"),
        (OriginKind::Unknown, "unknown"),
    ]
    .map(|(kind, words)| (kind, words.to_owned()));
    if choice_row(ui, "Origin", &mut kind, &kinds) {
        state.kind = Some(kind);
        match kind {
            OriginKind::Founder => set(
                chosen(ui),
                Origin::Founder {
                    source: String::new(),
                    permission: String::new(),
                    protected: false,
                    imported: false,
                },
            ),
            OriginKind::Unknown => set(chosen(ui), Origin::Unknown),
            OriginKind::Cross
            | OriginKind::OpenPollinated
            | OriginKind::Doubled
            | OriginKind::Variant => {}
        }
    }
    if kind == kind_of(&plant.origin) {
        state.kind = None;
    }
    match kind {
        OriginKind::Founder => founder_ui(ui, plant, &mut set),
        OriginKind::Cross => {
            if let Some(cross) = pick_cross(ui, view, &plant.origin) {
                set(chosen(ui), Origin::Cross { cross });
            }
        }
        OriginKind::OpenPollinated => {
            if let Some(female) = pick_plant(ui, view, plant, "Mother", Genotype::may_bear_seed) {
                set(chosen(ui), Origin::OpenPollinated { female });
            }
        }
        OriginKind::Doubled => {
            caution_lines(ui, &[cautions::DOUBLING]);
            if let Some(from) = pick_plant(ui, view, plant, "Doubled from", |_| true) {
                set(chosen(ui), Origin::Doubled { from });
            }
        }
        OriginKind::Variant => {
            if let Some(of) = pick_plant(ui, view, plant, "Variant of", |_| true) {
                set(chosen(ui), Origin::Variant { of });
            }
        }
        OriginKind::Unknown => {}
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
        text_with_hint(ui, "Permission", permission, "what the source allows")
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

fn pick_cross(ui: &mut Ui, view: &View<'_>, origin: &Origin) -> Option<Id<Cross>> {
    let project = view.project;
    let mut cross = if let Origin::Cross { cross } = origin {
        Some(*cross)
    } else {
        None
    };
    let shown = cross.map_or("", |cross| project.code_of(cross));
    let find = |typed: &str| {
        code_picker::find(
            project.crosses().iter(),
            typed,
            |cross| vec![cross.code.as_str()],
            |cross| origin_words(project, &Origin::Cross { cross: cross.id }),
        )
    };
    let changed = form_row(ui, "Cross", |ui| {
        CodePicker::new("Cross").hint("part of its code").show(
            ui,
            shown,
            project.revision(),
            &mut cross,
            find,
        )
    });
    cross.filter(|_| changed)
}

fn pick_plant(
    ui: &mut Ui,
    view: &View<'_>,
    plant: &Genotype,
    name: &str,
    allowed: impl Fn(&Genotype) -> bool,
) -> Option<Id<Genotype>> {
    let project = view.project;
    let mut source = match plant.origin {
        Origin::OpenPollinated { female: source }
        | Origin::Doubled { from: source }
        | Origin::Variant { of: source } => Some(source),
        Origin::Founder { .. } | Origin::Cross { .. } | Origin::Unknown => None,
    };
    let shown = source.map_or("", |source| project.code_of(source));
    let find = |typed: &str| {
        code_picker::find_plants(project, typed, |other| {
            other.id != plant.id && allowed(other)
        })
    };
    let changed = form_row(ui, name, |ui| {
        CodePicker::new(name).show(ui, shown, project.revision(), &mut source, find)
    });
    source.filter(|_| changed)
}
