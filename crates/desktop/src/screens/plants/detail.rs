//! One plant: every field of it, edited in place.

use super::{figures as figures_of, lineage, origin, permission, samples, seen};
use crate::derived::Figures;
use crate::forms::{self, FormKind, RecordForm, Submission};
use crate::screens::fields::{
    cautions, choice_row, optional_partial_date, partial_date, partial_date_edit, sex_label, text,
    text_with_hint,
};
use crate::screens::{record_history, record_notes, record_page};
use crate::view::{Outbox, Request, View};
use domain::cautions::for_plant;
use domain::date::InWords as _;
use domain::record::genotype::GenotypeField;
use domain::{
    Edit, End, EndKind, Genotype, Id, IdSource, PartialDate, Ploidy, Selection, Sex, SexBasis,
    SexRecord, actions,
};
use egui::{Key, Ui};
use kit::drafts::Ticket;
use kit::form::Action;
use kit::page_keys;
use kit::theme::{muted, space};
use kit::widgets::{TextField, form_row, grouped, parent};

/// What is typed about a plant and not yet recorded.
#[derive(Default)]
pub(super) struct State {
    /// Drafts belong to one plant.
    of: Option<Id<Genotype>>,
    lineage: lineage::State,
}

/// The end of a plant, until it is recorded.
#[derive(Clone, PartialEq, serde::Serialize, serde::Deserialize)]
struct EndForm {
    plant: Id<Genotype>,
    kind: EndKind,
    /// The day, where it isn't the day that is worked for.
    date: PartialDate,
    cause: String,
}

impl RecordForm for EndForm {
    const KIND: FormKind = FormKind::EndPlant;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        choice_row(ui, "Outcome", &mut self.kind, &end_kinds());
        form_row(ui, "Ended on", |ui| {
            partial_date_edit(ui, "Ended on", view.today, &mut self.date);
        });
        form_row(ui, "Cause", |ui| {
            TextField::new("Cause").edit(ui, &mut self.cause)
        });
        ui.label(muted(ui, "Its record stays.").small());
        let code = view.project.code_of(self.plant);
        Action::new(format!(
            "Record: {code} {}, {}",
            past(self.kind),
            self.date.in_words()
        ))
    }

    fn submission(&self, _view: &View<'_>, _ids: &mut IdSource) -> Result<Submission, String> {
        let end = End {
            date: self.date,
            kind: self.kind,
            cause: self.cause.trim().to_owned(),
        };
        Ok(Edit::set(self.plant, GenotypeField::End(Some(end))).into())
    }
}

fn end_kinds() -> [(EndKind, String); 3] {
    [EndKind::Died, EndKind::Culled, EndKind::Lost].map(|kind| (kind, kind.word().to_owned()))
}

/// Draws the page of a plant; words to find others by, when the person asked for them.
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
    head_ui(ui, view, plant, out);
    let steps = domain::steps::of_plant(view.project, plant, view.today);
    record_page::life(ui, &plant.code, &steps, view);
    record_page::next(ui, view, &[plant.id.into()], out);
    acts_ui(ui, view, plant, out);
    // Fields keep their drafts by id: another plant, another draft.
    let may_edit = view.read_only.is_none();
    kit::drafts::about(ui, plant.id.uuid(), &plant.code, |ui| {
        forms::show::<EndForm>(ui, view, plant.id.uuid(), out);
        cautions(ui, &for_plant(plant));
        let mut find = None;
        record_page::columns(
            ui,
            &mut (&mut *out, state, &mut find),
            |ui, (out, ..)| {
                ui.add_enabled_ui(may_edit, |ui| {
                    record_ui(ui, view, plant, out);
                    sex_ui(ui, view, plant, out);
                    selection_ui(ui, view, plant, out);
                    end_ui(ui, view, plant, out);
                });
            },
            |ui, (out, state, find)| {
                record_page::section(ui, "Origin", "");
                ui.add_enabled_ui(may_edit, |ui| {
                    origin::show(ui, view, plant, out);
                    permission::show(ui, view, plant, out);
                });
                **find = lineage::show(ui, view, &mut state.lineage, plant, out);
                figures_of::show(ui, view.project, figures, plant.id);
                seen::show(ui, view.project, plant);
                samples::show(ui, view, plant, out);
            },
        );
        record_notes::show(ui, view, plant.id, out);
        record_history::show(ui, view, plant.id, out);
        ui.add_space(space::L);
        find
    })
}

/// Its tag, its parents or its origin, its name and how it stands.
fn head_ui(ui: &mut Ui, view: &View<'_>, plant: &Genotype, out: &mut Outbox<'_>) {
    let project = view.project;
    let mut figures = Vec::new();
    let young = project
        .crosses_with_female(plant.id)
        .chain(project.crosses_with_pollen(plant.id));
    let young: usize = young
        .map(|cross| project.progeny_of(cross.id).count())
        .sum();
    if young > 0 {
        figures.push((grouped(young as u64), "offspring"));
    }
    let (female, pollen) = project.parents_of(plant);
    record_page::head(ui, &plant.code, &figures, |ui| {
        let sex = sex_label(plant.known_sex());
        // What has no name is told by how it stands, and that once.
        let (first, second) = match plant.name.as_deref() {
            Some(name) => {
                let standing = format!("{sex}, {}, {}", plant.ploidy, plant.state_word());
                (name.to_owned(), standing)
            }
            None => (
                kit::widgets::capital(plant.state_word()),
                format!("{sex}, {}", plant.ploidy),
            ),
        };
        record_page::two_lines(ui, &first, &second);
        ui.add_space(space::L);
        if let Some(female) = female
            && parent(ui, project.code_of(female), true).clicked()
        {
            out.show(female);
        }
        let mut males = pollen.into_iter().flat_map(domain::Pollen::males);
        if let (Some(male), None) = (males.next(), males.next()) {
            ui.label(kit::fonts::mark::TIMES);
            if parent(ui, project.code_of(male), false).clicked() {
                out.show(male);
            }
        }
    });
}

/// What else can be done, each by a small button and a key.
fn acts_ui(ui: &mut Ui, view: &View<'_>, plant: &Genotype, out: &mut Outbox<'_>) {
    ui.horizontal_wrapped(|ui| {
        let label = ui.button("Label this plant").clicked();
        if label || page_keys::pressed(ui, Key::L) {
            out.ask(Request::Label(vec![plant.id.into()]));
        }
        let tree = ui.button("Show in family tree").clicked();
        if tree || page_keys::pressed(ui, Key::T) {
            out.ask(Request::ShowInTree(plant.id));
        }
        let may = view.read_only.is_none() && plant.is_alive();
        if may {
            if ui.button("Take a sample…").clicked() {
                samples::open(ui, view, plant);
            }
            let end = ui.button("Record its end…").clicked();
            if end || page_keys::pressed(ui, Key::X) {
                let form = EndForm {
                    plant: plant.id,
                    kind: EndKind::Culled,
                    date: view.today.into(),
                    cause: String::new(),
                };
                forms::open(ui.ctx(), plant.id.uuid(), &plant.code, form);
            }
        }
    });
    page_keys::declare(
        ui,
        [
            ("L", "label"),
            ("T", "family tree"),
            ("X", "record its end"),
        ],
    );
}

fn record_ui(ui: &mut Ui, view: &View<'_>, plant: &Genotype, out: &mut Outbox<'_>) {
    let mut set = |ticket, field| out.submit(ticket, Edit::set(plant.id, field));
    record_page::section(ui, "Record", "");
    if let Some((code, ticket)) = text(ui, "Code", &plant.code) {
        set(ticket, GenotypeField::Code(code));
    }
    if let Some((name, ticket)) = text_with_hint(
        ui,
        "Name",
        plant.name.as_deref().unwrap_or_default(),
        "none yet",
    ) {
        set(
            ticket,
            GenotypeField::Name((!name.is_empty()).then_some(name)),
        );
    }
    if let Some((aliases, ticket)) = text_with_hint(
        ui,
        "Other names",
        &plant.aliases.join(", "),
        "separated by commas",
    ) {
        let aliases = aliases
            .split(',')
            .map(|alias| alias.trim().to_owned())
            .filter(|alias| !alias.is_empty());
        set(ticket, GenotypeField::Aliases(aliases.collect()));
    }
    if let Some((location, ticket)) =
        text_with_hint(ui, "Location", &plant.location, "row and hill, shelf, pot")
    {
        set(ticket, GenotypeField::Location(location));
    }
    if let Some((born, ticket)) =
        optional_partial_date(ui, "Potted or received", view.today, plant.born)
    {
        set(ticket, GenotypeField::Born(born));
    }
    let mut ploidy = plant.ploidy;
    let known = (2..=12)
        .map(Ploidy)
        .filter(|ploidy| ploidy.is_valid() || *ploidy == plant.ploidy);
    let ploidies: Vec<_> = known.map(|ploidy| (ploidy, ploidy.to_string())).collect();
    if choice_row(ui, "Ploidy", &mut ploidy, &ploidies) {
        set(
            by_choice(ui, "ploidy", plant),
            GenotypeField::Ploidy(ploidy),
        );
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
        set(by_choice(ui, "stage", plant), GenotypeField::Stage(stage));
    }
    let next =
        actions::next_stage(view.project, &[plant.id]).and_then(|id| view.project.stages().get(id));
    if let Some(next) = next.filter(|_| plant.is_alive()) {
        form_row(ui, "", |ui| {
            if ui.button(format!("Move on to {}", next.name)).clicked() {
                set(
                    by_choice(ui, "next stage", plant),
                    GenotypeField::Stage(Some(next.id)),
                );
            }
        });
    }
}

fn sex_ui(ui: &mut Ui, view: &View<'_>, plant: &Genotype, out: &mut Outbox<'_>) {
    let mut set =
        |ticket, record| out.submit(ticket, Edit::set(plant.id, GenotypeField::Sex(record)));
    record_page::section(ui, "Sex", "");
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
        set(
            by_choice(ui, "sex", plant),
            sex.map(|sex| SexRecord {
                sex,
                ..known.unwrap_or(fresh)
            }),
        );
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
        set(
            by_choice(ui, "basis", plant),
            Some(SexRecord {
                basis,
                ..record.clone()
            }),
        );
    }
    if let SexBasis::MarkerTest { .. } = record.basis
        && let Some((test, ticket)) = text_with_hint(ui, "Marker test", &test, "which, by whom")
    {
        set(
            ticket,
            Some(SexRecord {
                basis: SexBasis::MarkerTest { test },
                ..record.clone()
            }),
        );
    }
    if let Some((date, ticket)) = optional_partial_date(ui, "Known since", view.today, record.date)
    {
        set(
            ticket,
            Some(SexRecord {
                date,
                ..record.clone()
            }),
        );
    }
}

fn selection_ui(ui: &mut Ui, view: &View<'_>, plant: &Genotype, out: &mut Outbox<'_>) {
    let mut set = |ticket, selection| {
        out.submit(
            ticket,
            Edit::set(plant.id, GenotypeField::Selected(selection)),
        );
    };
    record_page::section(ui, "Selection", "");
    let mut selected = plant.selected.is_some();
    if form_row(ui, "", |ui| {
        ui.checkbox(&mut selected, "Selected").changed()
    }) {
        set(
            by_choice(ui, "selected", plant),
            selected.then(|| Selection {
                date: view.today.into(),
                reason: String::new(),
            }),
        );
    }
    let Some(selection) = &plant.selected else {
        return;
    };
    if let Some((reason, ticket)) = text_with_hint(
        ui,
        "Reason",
        &selection.reason,
        "what makes it worth keeping",
    ) {
        set(
            ticket,
            Some(Selection {
                reason,
                ..selection.clone()
            }),
        );
    }
    if let Some((date, ticket)) = partial_date(ui, "Selected on", view.today, selection.date) {
        set(
            ticket,
            Some(Selection {
                date,
                ..selection.clone()
            }),
        );
    }
}

fn end_ui(ui: &mut Ui, view: &View<'_>, plant: &Genotype, out: &mut Outbox<'_>) {
    let kinds = end_kinds();
    let Some(end) = &plant.end else { return };
    record_page::section(ui, "End", "");
    let mut set = |ticket, end| {
        out.submit(ticket, Edit::set(plant.id, GenotypeField::End(end)));
    };
    let mut kind = end.kind;
    if choice_row(ui, "Outcome", &mut kind, &kinds) {
        set(
            by_choice(ui, "outcome", plant),
            Some(End {
                kind,
                ..end.clone()
            }),
        );
    }
    if let Some((date, ticket)) = partial_date(ui, "Ended on", view.today, end.date) {
        set(
            ticket,
            Some(End {
                date,
                ..end.clone()
            }),
        );
    }
    if let Some((cause, ticket)) = text(ui, "Cause", &end.cause) {
        set(
            ticket,
            Some(End {
                cause,
                ..end.clone()
            }),
        );
    }
    form_row(ui, "", |ui| {
        if ui.button("Mark as alive again").clicked() {
            set(by_choice(ui, "lives", plant), None);
        }
    });
}

/// A ticket for what was chosen about a plant, not typed.
fn by_choice(ui: &Ui, act: &str, plant: &Genotype) -> Ticket {
    Ticket::of_act(ui, act, plant.id.uuid())
}

const fn past(kind: EndKind) -> &'static str {
    match kind {
        EndKind::Died => "died",
        EndKind::Culled => "was culled",
        EndKind::Lost => "was lost",
    }
}
