//! One cross: its plan edited in place, what happened to it, its seed.

use super::{events, plan, pollen, seed};
use crate::forms;
use crate::screens::fields::{optional_day, record_link, text, text_with_hint, whole_number};
use crate::screens::{harm, record_history, record_notes, record_page};
use crate::view::{Outbox, Request, View};
use domain::agenda::Milestones;
use domain::progress::seeds_got;
use domain::record::cross::CrossField;
use domain::steps::{Standing, StepKind};
use domain::{Cross, CrossEventKind, Edit, Genotype, Pollen};
use egui::{Key, Label, Ui};
use kit::page_keys;
use kit::theme::{muted, space, strong};
use kit::widgets::{NumberField, detail, detail_with, form_row, grouped, parent};
use quant::counted::total;

/// What the page remembers between frames.
#[derive(Default)]
pub(super) struct State {
    events: events::State,
}

/// Draws the page of a cross.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    cross: &Cross,
    out: &mut Outbox<'_>,
) {
    let project = view.project;
    let figures = figures_of(view, cross);
    record_page::head(ui, &cross.code, &figures, |ui| {
        parents_ui(ui, view, cross, out);
    });
    let steps = domain::steps::of_cross(project, cross, view.today);
    record_page::life(ui, &cross.code, &steps, view);
    harm::of_cross(ui, view, cross.id, out);
    let next = record_page::next(ui, view, &[cross.id.into()], out);
    if next.is_some() {
        seed::open(ui, view, cross);
    }
    acts_ui(ui, view, cross, out);
    kit::drafts::about(ui, cross.id.uuid(), &cross.code, |ui| {
        let about = cross.id.uuid();
        forms::show::<events::Form>(ui, view, about, out);
        forms::show::<seed::Form>(ui, view, about, out);
        forms::show::<pollen::Form>(ui, view, about, out);
        let crossed = steps
            .iter()
            .any(|step| step.kind == StepKind::Pollinated && step.standing == Standing::Done);
        plan::warnings(ui, view, cross.female, &cross.pollen, !crossed);
        fathers_ui(ui, view, cross);
        ui.add_enabled_ui(view.read_only.is_none(), |ui| {
            events::show(ui, view, &mut state.events, cross, out);
        });
        record_page::columns(
            ui,
            out,
            |ui, out| {
                ui.add_enabled_ui(view.read_only.is_none(), |ui| {
                    plan_ui(ui, view, cross, out);
                });
            },
            |ui, out| {
                seed::show(ui, view, cross, out);
                progeny_ui(ui, view, cross, out);
            },
        );
        record_notes::show(ui, view, cross.id, out);
        record_history::show(ui, view, cross.id, out);
        ui.add_space(space::L);
    });
}

/// Up to three figures: the cones, the seed, the seedlings.
fn figures_of(view: &View<'_>, cross: &Cross) -> Vec<(String, &'static str)> {
    let mut figures = Vec::new();
    let cones = view.project.events_of(cross.id).filter_map(|event| {
        if let CrossEventKind::ConesHarvested { cones } = event.what {
            cones
        } else {
            None
        }
    });
    let cones = total(cones);
    if cones > 0 {
        figures.push((grouped(cones.into()), "cones"));
    }
    match (seeds_got(view.project, cross), cross.seeds_wanted) {
        (Some((seeds, true)), _) => figures.push((format!("≈ {seeds}"), "seeds")),
        (Some((seeds, false)), _) => figures.push((grouped(seeds.into()), "seeds")),
        (None, Some(wanted)) => figures.push((grouped(wanted.into()), "seeds wanted")),
        (None, None) => {}
    }
    let potted = view.project.progeny_of(cross.id).count();
    if potted > 0 {
        figures.push((grouped(potted as u64), "seedlings"));
    }
    figures
}

/// What else can be done, each by a small button and a key.
fn acts_ui(ui: &mut Ui, view: &View<'_>, cross: &Cross, out: &mut Outbox<'_>) {
    let about = cross.id.uuid();
    let may = view.read_only.is_none();
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = space::S;
        let label = ui.button("Label this cross").clicked();
        if label || page_keys::pressed(ui, Key::L) {
            out.ask(Request::Label(vec![cross.id.into()]));
        }
        ui.add_enabled_ui(may, |ui| {
            let other = ui.button("Other work…").clicked();
            if may && (other || page_keys::pressed(ui, Key::E)) {
                let form = events::Form::other(view, cross);
                forms::open(ui.ctx(), about, &cross.code, form);
            }
            if ui.button("Clean seed…").clicked() {
                seed::open(ui, view, cross);
            }
            let failed = ui.button("Failed…").clicked();
            if may && (failed || page_keys::pressed(ui, Key::F)) {
                let form = events::Form::failed(cross.id, view.today);
                forms::open(ui.ctx(), about, &cross.code, form);
            }
        });
        if let Some(wanted) = cross.seeds_wanted {
            ui.label(muted(
                ui,
                format!("{} seeds wanted.", grouped(wanted.into())),
            ));
        }
    });
    page_keys::declare(ui, [("E", "other work"), ("F", "failed"), ("L", "label")]);
}

fn parents_ui(ui: &mut Ui, view: &View<'_>, cross: &Cross, out: &mut Outbox<'_>) {
    ui.spacing_mut().item_spacing.x = space::M;
    if parent(ui, view.project.code_of(cross.female), true).clicked() {
        out.show(cross.female);
    }
    ui.label(kit::fonts::mark::TIMES);
    let mut males = cross.pollen.males();
    match (males.next(), males.next()) {
        (None, _) => {
            let words = domain::display::pollen_words(view.project, &cross.pollen);
            ui.label(strong(words));
        }
        (Some(only), None) => {
            if parent(ui, view.project.code_of(only), false).clicked() {
                out.show(only);
            }
        }
        (Some(_), Some(_)) => {
            ui.vertical(|ui| {
                ui.spacing_mut().item_spacing.y = 0.0;
                ui.horizontal(|ui| {
                    ui.spacing_mut().item_spacing.x = space::XS;
                    for male in cross.pollen.males() {
                        record_link(ui, view.project, male, out);
                    }
                });
                ui.label(muted(ui, "male parents, mixed").size(kit::theme::type_size::SMALL));
            });
        }
    }
}

fn plan_ui(ui: &mut Ui, view: &View<'_>, cross: &Cross, out: &mut Outbox<'_>) {
    record_page::section(ui, "Plan", "");
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
    form_row(ui, "Pollen", |ui| {
        if ui.button("Change the pollen…").clicked() {
            forms::open(
                ui.ctx(),
                cross.id.uuid(),
                &cross.code,
                pollen::Form::new(cross),
            );
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
    ripe_ui(ui, view, cross);
}

/// What may come of mixed pollen, father by father, while no seed is there to be tested.
fn fathers_ui(ui: &mut Ui, view: &View<'_>, cross: &Cross) {
    let Pollen::Mix(shares) = &cross.pollen else {
        return;
    };
    if shares.len() < 2 || view.project.progeny_of(cross.id).next().is_some() {
        return;
    }
    record_page::section(ui, "Seedlings by father", "");
    let genetics = view.derived.genetics();
    let planning = view.derived.planning();
    let Some(season) = planning.season(genetics, view.project, view.today, ui.ctx()) else {
        ui.label(muted(ui, "Being worked out."));
        return;
    };
    let candidates = &season.value.candidates;
    let Some(mixed) = candidates.mixed(view.project, cross.female, shares) else {
        ui.label(muted(
            ui,
            "Nothing can be said: none of these males is among the givers of pollen of the season.",
        ));
        return;
    };
    for sentence in mixed.words(view.project, candidates.goals.inbreeding) {
        ui.add(Label::new(sentence).wrap());
    }
}

/// The days seed is ripe between, by the timing in Setup.
fn ripe_ui(ui: &mut Ui, view: &View<'_>, cross: &Cross) {
    let Some(days) = Milestones::of(view.project, cross) else {
        ui.label(muted(
            ui,
            "Give a planned pollination, and bagging, harvest and the rest are worked out from it.",
        ));
        return;
    };
    let day = kit::working_day::short_day;
    let words = format!("{} to {}", day(days.ripe_from), day(days.ripe_to));
    detail(ui, "Seed ripe", &words);
}

fn progeny_ui(ui: &mut Ui, view: &View<'_>, cross: &Cross, out: &mut Outbox<'_>) {
    let (mut all, mut living, mut first) = (0, 0, None);
    for plant in view.project.progeny_of(cross.id) {
        all += 1;
        living += usize::from(Genotype::is_alive(plant));
        first = first.or(Some(plant.id));
    }
    record_page::section(ui, "Progeny", "");
    let Some(first) = first else {
        ui.label(muted(ui, "No seedling was potted from this cross yet."));
        return;
    };
    detail(ui, "Seedlings", &format!("{all} potted, {living} living"));
    detail_with(ui, "The first", |ui| {
        record_link(ui, view.project, first, out);
    });
}
