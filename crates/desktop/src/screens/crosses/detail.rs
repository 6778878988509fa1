//! One cross: its plan edited in place, what happened to it, its seed.

use super::pollen::{self, Draft};
use super::{events, plan, progress_label, seed};
use crate::screens::fields::{optional_day, record_link, text, text_with_hint, whole_number};
use crate::screens::{record_history, record_notes};
use crate::view::{Outbox, Request, View};
use domain::agenda::Milestones;
use domain::progress::CrossProgress;
use domain::record::cross::CrossField;
use domain::{Cross, Edit, Genotype, Id, Pollen};
use egui::Ui;
use kit::theme::{muted, space};
use kit::widgets::{NumberField, detail, detail_with, form_row, section_heading};

/// What is typed about a cross and not yet recorded.
#[derive(Default)]
pub(super) struct State {
    /// Drafts belong to one cross.
    of: Option<Id<Cross>>,
    /// Pollen being chosen, and the pollen it was to replace.
    pollen: Option<(Pollen, Draft)>,
    events: events::State,
}

/// Draws a cross.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    cross: &Cross,
    out: &mut Outbox<'_>,
) {
    if state.of != Some(cross.id) {
        *state = State {
            of: Some(cross.id),
            ..State::default()
        };
    }
    ui.horizontal_wrapped(|ui| {
        ui.label(progress_label(CrossProgress::of(view.project, cross)));
        if ui.button("Label this cross").clicked() {
            out.ask(Request::Label(vec![cross.id.into()]));
        }
    });
    kit::drafts::about(ui, cross.id.uuid(), &cross.code, |ui| {
        parents_ui(ui, view, cross, out);
        ui.add_enabled_ui(view.read_only.is_none(), |ui| {
            section_heading(ui, "Events");
            events::show(ui, view, &mut state.events, cross, out);
        });
        milestones_ui(ui, view, cross);
        seed::show(ui, view, cross, out);
        progeny_ui(ui, view, cross, out);
        ui.add_enabled_ui(view.read_only.is_none(), |ui| {
            plan_ui(ui, view, &mut state.pollen, cross, out);
        });
        plan::warnings(ui, view, cross.female, &cross.pollen);
        record_notes::show(ui, view, cross.id, out);
        record_history::show(ui, view, cross.id, out);
        ui.add_space(space::L);
    });
}

fn parents_ui(ui: &mut Ui, view: &View<'_>, cross: &Cross, out: &mut Outbox<'_>) {
    ui.horizontal_wrapped(|ui| {
        record_link(ui, view.project, cross.female, out);
        ui.label(kit::fonts::mark::TIMES);
        if cross.pollen.males().next().is_none() {
            ui.label(domain::agenda::pollen_words(view.project, &cross.pollen));
        }
        for male in cross.pollen.males() {
            record_link(ui, view.project, male, out);
        }
    });
}

fn plan_ui(
    ui: &mut Ui,
    view: &View<'_>,
    draft: &mut Option<(Pollen, Draft)>,
    cross: &Cross,
    out: &mut Outbox<'_>,
) {
    section_heading(ui, "Plan");
    if let Some((code, ticket)) = text(ui, "Code", &cross.code) {
        out.submit(ticket, Edit::set(cross.id, CrossField::Code(code)));
    }
    let mut female = Some(cross.female);
    if pollen::pick_female(ui, view, &mut female)
        && let Some(female) = female
    {
        out.act(
            ui,
            "female",
            cross.id,
            Edit::set(cross.id, CrossField::Female(female)),
        );
    }
    if draft
        .as_ref()
        .is_some_and(|(replaces, _)| *replaces != cross.pollen)
    {
        *draft = None;
    }
    let stands = Draft::from(&cross.pollen);
    let (_, chosen) = draft.get_or_insert_with(|| (cross.pollen.clone(), stands.clone()));
    chosen.show(ui, view, Some(cross.female));
    let new = chosen.pollen().filter(|pollen| *pollen != cross.pollen);
    let differs = *chosen != stands;
    form_row(ui, "", |ui| {
        if let Some(pollen) = new
            && ui.button("Record this pollen").clicked()
        {
            out.act(
                ui,
                "pollen",
                cross.id,
                Edit::set(cross.id, CrossField::Pollen(pollen)),
            );
        }
        if differs && ui.button("Leave the pollen as it was").clicked() {
            *draft = None;
        }
    });
    if let Some((day, ticket)) = optional_day(
        ui,
        "Planned pollination",
        view.today,
        cross.planned_pollination,
    ) {
        out.submit(
            ticket,
            Edit::set(cross.id, CrossField::PlannedPollination(day)),
        );
    }
    form_row(ui, "Season", |ui| {
        let mut season = f64::from(cross.season);
        if let Some(ticket) = NumberField::new("Season", "")
            .decimals(0)
            .range(1800.0..=2200.0)
            .show(ui, &mut season)
            .ticket
        {
            out.submit(
                ticket,
                Edit::set(cross.id, CrossField::Season(season as i32)),
            );
        }
    });
    if let Some((seeds, ticket)) = whole_number(ui, "Seeds wanted", "", cross.seeds_wanted) {
        out.submit(ticket, Edit::set(cross.id, CrossField::SeedsWanted(seeds)));
    }
    if let Some((purpose, ticket)) =
        text_with_hint(ui, "Purpose", &cross.purpose, "what you hope it will give")
    {
        out.submit(ticket, Edit::set(cross.id, CrossField::Purpose(purpose)));
    }
}

fn milestones_ui(ui: &mut Ui, view: &View<'_>, cross: &Cross) {
    section_heading(ui, "Expected dates");
    let Some(days) = Milestones::of(view.project, cross) else {
        ui.label(muted(
            ui,
            "Enter a planned pollination date, and the dates for bagging, harvest and so on are worked out from it.",
        ));
        return;
    };
    let given = view.project.last_pollination(cross.id).is_some();
    detail(ui, "Bag by", &days.bag.to_string());
    detail(
        ui,
        if given { "Pollinated" } else { "Pollinate" },
        &days.pollinate.to_string(),
    );
    detail(ui, "Bags off", &days.bags_off.to_string());
    detail(
        ui,
        "Seed ripe",
        &format!("{} to {}", days.ripe_from, days.ripe_to),
    );
    let words = if given {
        "From the recorded pollination and the timing in Setup."
    } else {
        "From the planned pollination, by the cadence in Setup."
    };
    ui.label(muted(ui, words).small());
}

fn progeny_ui(ui: &mut Ui, view: &View<'_>, cross: &Cross, out: &mut Outbox<'_>) {
    let (mut all, mut living, mut first) = (0, 0, None);
    for plant in view.project.progeny_of(cross.id) {
        all += 1;
        living += usize::from(Genotype::is_alive(plant));
        first = first.or(Some(plant.id));
    }
    section_heading(ui, "Progeny");
    let Some(first) = first else {
        ui.label(muted(ui, "No seedling was potted from this cross yet."));
        return;
    };
    detail(ui, "Seedlings", &format!("{all} potted, {living} living"));
    detail_with(ui, "The first", |ui| {
        record_link(ui, view.project, first, out);
    });
}
