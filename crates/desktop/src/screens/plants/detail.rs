//! One plant: every field of it, edited in place.

use super::{figures as figures_of, lineage, origin, seen};
use crate::derived::Figures;
use crate::screens::fields::{
    cautions, choice_row, optional_partial_date, partial_date, sex_label, text, text_with_hint,
};
use crate::screens::{record_history, record_notes};
use crate::view::{Outbox, Request, View};
use domain::cautions::for_plant;
use domain::record::genotype::GenotypeField;
use domain::{
    Edit, End, EndKind, Genotype, Id, PartialDate, Ploidy, Selection, Sex, SexBasis, SexRecord,
    actions,
};
use egui::Ui;
use kit::theme::{muted, space};
use kit::widgets::{form_row, section_heading};

/// What is typed about a plant and not yet recorded.
#[derive(Default)]
pub(super) struct State {
    /// Drafts belong to one plant.
    of: Option<Id<Genotype>>,
    origin: origin::State,
    end: EndForm,
    lineage: lineage::State,
}

struct EndForm {
    kind: EndKind,
    date: Option<PartialDate>,
    cause: String,
}

impl Default for EndForm {
    fn default() -> Self {
        Self {
            kind: EndKind::Culled,
            date: None,
            cause: String::new(),
        }
    }
}

/// Draws a plant; words to find others by, when the person asked for them.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    figures: &Figures,
    state: &mut State,
    plant: &Genotype,
    out: &mut Outbox<'_>,
) -> Option<String> {
    if state.of != Some(plant.id) {
        *state = State {
            of: Some(plant.id),
            ..State::default()
        };
    }
    ui.horizontal_wrapped(|ui| {
        if ui.button("Show in family tree").clicked() {
            out.ask(Request::ShowInTree(plant.id));
        }
        if ui.button("Label this plant").clicked() {
            out.ask(Request::Label(vec![plant.id.into()]));
        }
    });
    // Fields keep their drafts by id: another plant, another draft.
    let may_edit = view.read_only.is_none();
    ui.push_id(plant.id, |ui| {
        ui.add_enabled_ui(may_edit, |ui| {
            record_ui(ui, view, plant, out);
            sex_ui(ui, view, plant, out);
        });
        cautions(ui, &for_plant(plant));
        section_heading(ui, "Origin");
        ui.add_enabled_ui(may_edit, |ui| {
            origin::show(ui, view, &mut state.origin, plant, out);
        });
        let find = lineage::show(ui, view, &mut state.lineage, plant, out);
        figures_of::show(ui, view.project, figures, plant.id);
        seen::show(ui, view.project, plant);
        ui.add_enabled_ui(may_edit, |ui| {
            selection_ui(ui, view, plant, out);
            end_ui(ui, view, &mut state.end, plant, out);
        });
        record_notes::show(ui, view, plant.id, out);
        record_history::show(ui, view, plant.id, out);
        ui.add_space(space::L);
        find
    })
    .inner
}

fn record_ui(ui: &mut Ui, view: &View<'_>, plant: &Genotype, out: &mut Outbox<'_>) {
    let mut set = |field| out.edit(Edit::set(plant.id, field));
    section_heading(ui, "Record");
    if let Some(code) = text(ui, "Code", &plant.code) {
        set(GenotypeField::Code(code));
    }
    if let Some(name) = text_with_hint(
        ui,
        "Name",
        plant.name.as_deref().unwrap_or_default(),
        "none yet",
    ) {
        set(GenotypeField::Name((!name.is_empty()).then_some(name)));
    }
    if let Some(aliases) = text_with_hint(
        ui,
        "Other names",
        &plant.aliases.join(", "),
        "with commas between",
    ) {
        let aliases = aliases
            .split(',')
            .map(|alias| alias.trim().to_owned())
            .filter(|alias| !alias.is_empty());
        set(GenotypeField::Aliases(aliases.collect()));
    }
    if let Some(location) =
        text_with_hint(ui, "Location", &plant.location, "row and hill, shelf, pot")
    {
        set(GenotypeField::Location(location));
    }
    if let Some(born) = optional_partial_date(ui, "Potted or came in", plant.born) {
        set(GenotypeField::Born(born));
    }
    let mut ploidy = plant.ploidy;
    let known = (2..=12)
        .map(Ploidy)
        .filter(|ploidy| ploidy.is_valid() || *ploidy == plant.ploidy);
    let ploidies: Vec<_> = known.map(|ploidy| (ploidy, ploidy.to_string())).collect();
    if choice_row(ui, "Ploidy", &mut ploidy, &ploidies) {
        set(GenotypeField::Ploidy(ploidy));
    }
    let mut stage = plant.stage;
    let stages = view
        .project
        .stages_in_order()
        .into_iter()
        .map(|each| (Some(each.id), each.name.clone()));
    let stages: Vec<_> = std::iter::once((None, "none".to_owned()))
        .chain(stages)
        .collect();
    if choice_row(ui, "Stage", &mut stage, &stages) {
        set(GenotypeField::Stage(stage));
    }
    let next =
        actions::next_stage(view.project, &[plant.id]).and_then(|id| view.project.stages().get(id));
    if let Some(next) = next.filter(|_| plant.is_alive()) {
        form_row(ui, "", |ui| {
            if ui.button(format!("Move on to {}", next.name)).clicked() {
                set(GenotypeField::Stage(Some(next.id)));
            }
        });
    }
}

fn sex_ui(ui: &mut Ui, view: &View<'_>, plant: &Genotype, out: &mut Outbox<'_>) {
    let mut set = |record| out.edit(Edit::set(plant.id, GenotypeField::Sex(record)));
    section_heading(ui, "Sex");
    let mut sex = plant.known_sex();
    let sexes = [
        None,
        Some(Sex::Female),
        Some(Sex::Male),
        Some(Sex::Monoecious),
    ]
    .map(|sex| (sex, sex_label(sex)));
    if choice_row(ui, "Sex", &mut sex, &sexes) {
        let known = plant.sex.clone();
        let fresh = SexRecord {
            sex: Sex::Female,
            basis: SexBasis::FlowersSeen,
            date: Some(view.today.into()),
        };
        set(sex.map(|sex| SexRecord {
            sex,
            ..known.unwrap_or(fresh)
        }));
    }
    let Some(record) = &plant.sex else { return };
    let test = match &record.basis {
        SexBasis::MarkerTest { test } => test.clone(),
        SexBasis::FlowersSeen | SexBasis::Stated => String::new(),
    };
    let mut basis = record.basis.clone();
    let bases = [
        (SexBasis::FlowersSeen, "flowers seen".to_owned()),
        (
            SexBasis::MarkerTest { test: test.clone() },
            "marker test".to_owned(),
        ),
        (SexBasis::Stated, "stated by source".to_owned()),
    ];
    if choice_row(ui, "How it is known", &mut basis, &bases) {
        set(Some(SexRecord {
            basis,
            ..record.clone()
        }));
    }
    if let SexBasis::MarkerTest { .. } = record.basis
        && let Some(test) = text_with_hint(ui, "Marker test", &test, "which, by whom")
    {
        set(Some(SexRecord {
            basis: SexBasis::MarkerTest { test },
            ..record.clone()
        }));
    }
    if let Some(date) = optional_partial_date(ui, "Known since", record.date) {
        set(Some(SexRecord {
            date,
            ..record.clone()
        }));
    }
}

fn selection_ui(ui: &mut Ui, view: &View<'_>, plant: &Genotype, out: &mut Outbox<'_>) {
    let mut set = |selection| out.edit(Edit::set(plant.id, GenotypeField::Selected(selection)));
    section_heading(ui, "Selection");
    let mut selected = plant.selected.is_some();
    if form_row(ui, "", |ui| {
        ui.checkbox(&mut selected, "Selected").changed()
    }) {
        set(selected.then(|| Selection {
            date: view.today.into(),
            reason: String::new(),
        }));
    }
    let Some(selection) = &plant.selected else {
        return;
    };
    if let Some(reason) = text_with_hint(
        ui,
        "Reason",
        &selection.reason,
        "what makes it worth keeping",
    ) {
        set(Some(Selection {
            reason,
            ..selection.clone()
        }));
    }
    if let Some(date) = partial_date(ui, "Selected on", selection.date) {
        set(Some(Selection {
            date,
            ..selection.clone()
        }));
    }
}

fn end_ui(
    ui: &mut Ui,
    view: &View<'_>,
    form: &mut EndForm,
    plant: &Genotype,
    out: &mut Outbox<'_>,
) {
    let mut set = |end| out.edit(Edit::set(plant.id, GenotypeField::End(end)));
    section_heading(ui, "End");
    let kinds =
        [EndKind::Died, EndKind::Culled, EndKind::Lost].map(|kind| (kind, kind.word().to_owned()));
    let Some(end) = &plant.end else {
        choice_row(ui, "It", &mut form.kind, &kinds);
        let mut date = form.date.unwrap_or(view.today.into());
        if let Some(new) = partial_date(ui, "Ended on", date) {
            form.date = Some(new);
            date = new;
        }
        form_row(ui, "Cause", |ui| {
            ui.text_edit_singleline(&mut form.cause)
                .accessible_name("Cause")
        });
        form_row(ui, "", |ui| {
            if ui
                .button(format!("Record that {} {}", plant.code, past(form.kind)))
                .clicked()
            {
                set(Some(End {
                    date,
                    kind: form.kind,
                    cause: form.cause.trim().to_owned(),
                }));
                form.cause.clear();
            }
            ui.label(muted(ui, "Its record stays.").small());
        });
        return;
    };
    let mut kind = end.kind;
    if choice_row(ui, "It", &mut kind, &kinds) {
        set(Some(End {
            kind,
            ..end.clone()
        }));
    }
    if let Some(date) = partial_date(ui, "Ended on", end.date) {
        set(Some(End {
            date,
            ..end.clone()
        }));
    }
    if let Some(cause) = text(ui, "Cause", &end.cause) {
        set(Some(End {
            cause,
            ..end.clone()
        }));
    }
    form_row(ui, "", |ui| {
        if ui.button("It lives after all").clicked() {
            set(None);
        }
    });
}

const fn past(kind: EndKind) -> &'static str {
    match kind {
        EndKind::Died => "died",
        EndKind::Culled => "was culled",
        EndKind::Lost => "was lost",
    }
}
