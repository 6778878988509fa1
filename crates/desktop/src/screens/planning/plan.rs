//! The plan: gain against diversity, the crosses at the point picked, what locks cost, and taking it on.

use super::Pair;
use crate::dialogs::Question;
use crate::screens::chart_file::save_chart;
use crate::screens::explanation::{figure, grounds};
use crate::screens::fields::marked_code;
use crate::view::{Outbox, Request, View};
use chrono::NaiveDate;
use domain::date::InWords;
use domain::planning::{
    Binding, Lock, NoPlan, PlanWish, PlannedCross, SeasonDates, SeasonPlan, accept,
    expected_flowering, size_words,
};
use domain::planning::{Curve, Season};
use domain::{Genotype, Id, Project};
use egui::{ComboBox, Label, Panel, ScrollArea, Ui, vec2};
use kit::theme::{Meaning, muted, space};
use kit::widgets::{
    ChoicePlot, Column, NumberField, Rows, Table, TableState, badge, growth, main_button,
    section_heading,
};
use kit::worker::Latest;
use paper::season_plan;
use std::collections::BTreeSet;
use std::sync::{Arc, Weak};

/// What the pages of the plan remember between frames.
#[derive(Default)]
pub(super) struct State {
    wish: PlanWish,
    point: Option<usize>,
    flowering: Option<NaiveDate>,
    table: TableState<Pair>,
    to_lock: (Option<Id<Genotype>>, Option<Id<Genotype>>),
    to_choose: ToChoose,
}

/// The plants that a cross to be required can be put together of, gathered when the pairs or the female change.
#[derive(Default)]
struct ToChoose {
    of: Option<(Weak<Season>, Option<Id<Genotype>>)>,
    females: Vec<Id<Genotype>>,
    males: Vec<Id<Genotype>>,
}

impl ToChoose {
    fn refresh(
        &mut self,
        season: &Latest<Season>,
        project: &Project,
        female: Option<Id<Genotype>>,
    ) {
        let known = self.of.as_ref().is_some_and(|(of, known)| {
            Weak::ptr_eq(of, &Arc::downgrade(&season.value)) && *known == female
        });
        if known {
            return;
        }
        self.of = Some((Arc::downgrade(&season.value), female));
        let offered = || {
            season
                .candidates
                .pairs
                .iter()
                .filter(|pair| pair.is_offered())
        };
        let females: BTreeSet<_> = offered().map(|pair| pair.female).collect();
        self.females = females.into_iter().collect();
        self.females
            .sort_by_cached_key(|&plant| project.code_of(plant).to_owned());
        self.males = offered()
            .filter(|pair| Some(pair.female) == female)
            .map(|pair| pair.pollen.male)
            .collect();
        self.males
            .sort_by_cached_key(|&plant| project.code_of(plant).to_owned());
    }
}

/// The plan at the point picked.
pub(super) struct Chosen {
    curve: Arc<Result<Curve, NoPlan>>,
    point: usize,
    pub(super) plan: SeasonPlan,
    /// What locks cost; `None` while that is worked out.
    locks: Option<Vec<Lock>>,
    /// What holds it back; `None` while that is worked out.
    binding: Option<Vec<Binding>>,
    pub(super) dates: SeasonDates,
    current: bool,
}

impl Chosen {
    fn curve(&self) -> Option<&Curve> {
        self.curve.as_ref().as_ref().ok()
    }
}

/// The plan at the point picked, or how far it is.
pub(super) fn chosen(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    season: &Latest<Season>,
) -> Option<Chosen> {
    let plans = view.derived.season_plans();
    let offered = |pair: &Pair| {
        season
            .candidates
            .pair(pair.0, pair.1)
            .is_some_and(domain::planning::Candidate::is_offered)
    };
    if season.current {
        // What can no longer be crossed can't be held to.
        state.wish.locked.retain(offered);
    }
    let Some(latest) = plans.curve(season, view.project, view.today, &state.wish, ui.ctx()) else {
        progress_ui(ui, view);
        return None;
    };
    let curve = match &*latest.value {
        Ok(curve) => curve,
        // What stood in the way of an earlier state is no answer to what is wished now.
        Err(_) if !latest.current => {
            progress_ui(ui, view);
            return None;
        }
        Err(why) => {
            refused_ui(ui, state, season, view.project, *why);
            return None;
        }
    };
    let point = state
        .point
        .unwrap_or(curve.accepted)
        .min(curve.plans.len().saturating_sub(1));
    let mut plan = curve.plans.get(point)?.clone();
    let refined = plans.refined(&latest, view.today, &state.wish, point, ui.ctx());
    let mut locks = None;
    let mut binding = None;
    let mut current = latest.current;
    match refined.filter(|refined| refined.current) {
        Some(refined) => {
            if let Some(refined) = &*refined.value {
                plan = refined.plan.clone();
                locks = Some(refined.locks.clone());
                binding = Some(refined.binding.clone());
            }
        }
        None => current = false,
    }
    let flowering = state
        .flowering
        .unwrap_or_else(|| expected_flowering(view.project, view.today).1);
    Some(Chosen {
        dates: SeasonDates::of(view.project, plan.crosses.len(), flowering),
        curve: Arc::clone(&latest.value),
        point,
        plan,
        locks,
        binding,
        current,
    })
}

/// The day of first pollen: that chosen here, or else the one expected.
pub(super) fn flowering_ui(ui: &mut Ui, view: &View<'_>, state: &mut State) {
    ui.horizontal(|ui| {
        ui.label("First pollen on");
        let expected = expected_flowering(view.project, view.today).1;
        let mut day = state.flowering.unwrap_or(expected);
        if view
            .date_field("First pollen on")
            .show(ui, &mut day)
            .changed
        {
            state.flowering = Some(day);
        }
        let words = if state.flowering.is_some() {
            "chosen here"
        } else {
            "from earlier seasons, else common practice"
        };
        ui.label(muted(ui, words));
    });
}

fn progress_ui(ui: &mut Ui, view: &View<'_>) {
    ui.add_space(space::XL);
    let progress = view.derived.season_plans().progress().unwrap_or_default();
    let words = if progress.words.is_empty() {
        "Reading the pairs"
    } else {
        &progress.words
    };
    ui.label(words);
    growth(
        ui,
        &format!("Progress: {words}"),
        progress.part.unwrap_or(0.0),
    );
}

fn refused_ui(
    ui: &mut Ui,
    state: &mut State,
    season: &Latest<Season>,
    project: &Project,
    why: NoPlan,
) {
    ui.add_space(space::L);
    ui.add(Label::new(why.to_string()).wrap());
    seeds_ui(ui, state, None);
    locks_ui(ui, state, season, project, None);
}

pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    season: &Latest<Season>,
    out: &mut Outbox<'_>,
) {
    let Some(chosen) = chosen(ui, view, state, season) else {
        return;
    };
    let width = (ui.available_width() * 0.36).clamp(330.0, 520.0);
    Panel::left("season plan")
        .exact_size(width)
        .resizable(false)
        .show_separator_line(false)
        .frame(egui::Frame::new().inner_margin(egui::Margin {
            right: space::L as i8,
            ..egui::Margin::ZERO
        }))
        .show(ui, |ui| {
            ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
                ui.set_max_width(width - space::XL - space::S);
                chance_ui(ui, view.project, &chosen);
                curve_ui(ui, view, state, &chosen, out);
                figures_ui(ui, view.project, &chosen);
                let room = chosen.curve().map(|curve| curve.planner.seeds);
                seeds_ui(ui, state, room);
                locks_ui(ui, state, season, view.project, Some(&chosen));
            });
        });
    actions_ui(ui, view, &chosen, out);
    table_ui(ui, view.project, state, &chosen);
}

fn curve_ui(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    chosen: &Chosen,
    out: &mut Outbox<'_>,
) {
    let Some(curve) = chosen.curve() else { return };
    let points: Vec<(f64, f64)> = curve
        .plans
        .iter()
        .map(|plan| (100.0 * plan.rate, plan.gain))
        .collect();
    let mut point = chosen.point;
    let size = vec2(ui.available_width(), 210.0);
    let plot = ChoicePlot::new(
        "Gain against diversity",
        ["coancestry a generation, %", "gain"],
        &points,
        [1, 2],
    );
    plot.show(ui, size, &mut point);
    ui.horizontal_wrapped(|ui| {
        let last = points.len().saturating_sub(1);
        if ui
            .add_enabled(point > 0, egui::Button::new("More diverse"))
            .clicked()
        {
            point -= 1;
        }
        if ui
            .add_enabled(point < last, egui::Button::new("More gain"))
            .clicked()
        {
            point += 1;
        }
        if point != curve.accepted && ui.button("As the goals say").clicked() {
            point = curve.accepted;
        }
        save_chart(ui, view.today, out, plot.title(), || plot.chart());
    });
    if point != chosen.point {
        state.point = Some(point);
    }
}

fn figures_ui(ui: &mut Ui, project: &Project, chosen: &Chosen) {
    let Some(curve) = chosen.curve() else { return };
    let (planner, plan) = (&curve.planner, &chosen.plan);
    ui.add_space(space::XS);
    ui.horizontal_wrapped(|ui| {
        ui.label(muted(
            ui,
            format!("Gain of the best {}", planner.wanted.min(50)),
        ));
        figure(ui, "Gain", &format!("{:.2}", plan.gain), || {
            Some(plan.explain(planner))
        });
        ui.label(muted(ui, "coancestry"));
        figure(
            ui,
            "Coancestry a generation",
            &format!(
                "{:+.1} % a generation, {}",
                100.0 * plan.rate,
                size_words(plan.rate)
            ),
            || Some(planner.diversity.explain(plan.rate)),
        );
    });
    if let Some(words) = planner.rate_words(&curve.plans) {
        badge(ui, Meaning::Soon, "limit on coancestry not kept");
        ui.add(Label::new(words).wrap());
    }
    section_heading(ui, "Why this plan");
    let binds = chosen.binding.as_deref();
    grounds(ui, &planner.grounds(project, plan, &curve.plans, binds));
    binding_ui(ui, chosen);
}

/// The goal first: how sure it is, in a sentence.
fn chance_ui(ui: &mut Ui, project: &Project, chosen: &Chosen) {
    let Some(curve) = chosen.curve() else { return };
    let (planner, plan) = (&curve.planner, &chosen.plan);
    ui.add(Label::new(planner.chance_words(plan, &curve.plans)).wrap());
    ui.horizontal_wrapped(|ui| {
        ui.label(muted(ui, "Chance of the goal"));
        figure(
            ui,
            "Chance of the goal",
            &format!("{:.0} %", 100.0 * plan.chance),
            || Some(plan.explain_chance(planner)),
        );
    });
    if let Some(words) = planner.stages_words(project, plan) {
        ui.add(Label::new(muted(ui, words)).wrap());
    }
    let gambles: Vec<&PlannedCross> = plan
        .crosses
        .iter()
        .filter(|each| each.is_gamble())
        .collect();
    if !gambles.is_empty() {
        let words = format!(
            "{} of {} {} a parent of which little is known: its gain is a gamble. A test of that parent would tell.",
            gambles.len(),
            plan.crosses.len(),
            if gambles.len() == 1 {
                "crosses has"
            } else {
                "crosses have"
            }
        );
        ui.add(Label::new(muted(ui, words)).wrap());
    }
}

/// The limits that hold the plan back, with what a little more of each would bring.
fn binding_ui(ui: &mut Ui, chosen: &Chosen) {
    section_heading(ui, "What holds it back");
    match &chosen.binding {
        None => {
            ui.label(muted(ui, "Being worked out."));
        }
        Some(binding) if binding.is_empty() => {
            ui.add(
                Label::new(muted(
                    ui,
                    "No limit: a little more of any would bring next to nothing.",
                ))
                .wrap(),
            );
        }
        Some(binding) => {
            for each in binding {
                ui.add(Label::new(each.words(&chosen.plan)).wrap());
            }
        }
    }
}

fn seeds_ui(ui: &mut Ui, state: &mut State, room: Option<u32>) {
    ui.add_space(space::S);
    ui.horizontal_wrapped(|ui| {
        ui.label("Seeds in total");
        let mut seeds = state.wish.seeds.map(f64::from);
        let field = NumberField::new("Seeds in total", "")
            .range(1.0..=1_000_000.0)
            .decimals(0);
        if field.show_optional(ui, &mut seeds).changed {
            state.wish.seeds = seeds.map(|seeds| seeds as u32);
        }
        let words = match (state.wish.seeds, room) {
            (Some(_), _) => "at most; empty for what the goals say".to_owned(),
            (None, Some(room)) => format!("{room} by the goals and the room"),
            (None, None) => "as the goals say".to_owned(),
        };
        ui.label(muted(ui, words));
    });
}

/// The crosses that must be made, with what each costs, and another to be added.
fn locks_ui(
    ui: &mut Ui,
    state: &mut State,
    season: &Latest<Season>,
    project: &Project,
    chosen: Option<&Chosen>,
) {
    section_heading(ui, "Must be made");
    let mut gone = None;
    for (place, &(female, male)) in state.wish.locked.iter().enumerate() {
        ui.horizontal_wrapped(|ui| {
            let name = format!("{} × {}", project.code_of(female), project.code_of(male));
            ui.label(&name);
            ui.label(muted(ui, cost_words(chosen, (female, male))));
            if ui.button(format!("No longer require {name}")).clicked() {
                gone = Some(place);
            }
        });
    }
    if let Some(place) = gone {
        state.wish.locked.remove(place);
    }
    if state.wish.locked.is_empty() {
        ui.label(muted(
            ui,
            "No cross is required. Requiring one may reduce the gain; by how much is shown here.",
        ));
    }
    let (mut female, mut male) = state.to_lock;
    state.to_choose.refresh(season, project, female);
    ui.horizontal_wrapped(|ui| {
        let (females, males) = (&state.to_choose.females, &state.to_choose.males);
        let before = female;
        plant_box(ui, project, "Female to hold to", females, &mut female);
        if female != before || male.is_some_and(|male| !males.contains(&male)) {
            male = None;
        }
        plant_box(ui, project, "Male to hold to", males, &mut male);
        let pair = female
            .zip(male)
            .filter(|pair| !state.wish.locked.contains(pair));
        if ui
            .add_enabled(pair.is_some(), egui::Button::new("Require this cross"))
            .clicked()
            && let Some(pair) = pair
        {
            state.wish.locked.push(pair);
            (female, male) = (None, None);
        }
    });
    state.to_lock = (female, male);
}

fn cost_words(chosen: Option<&Chosen>, pair: Pair) -> String {
    let Some(chosen) = chosen else {
        return String::new();
    };
    let Some(locks) = &chosen.locks else {
        return "its cost is being worked out".into();
    };
    let cost = locks
        .iter()
        .find(|lock| lock.pair == pair)
        .map_or(0.0, |lock| lock.cost);
    let share = 100.0 * cost / (chosen.plan.gain + cost).max(1e-9);
    if share < 0.05 {
        "costs nothing".into()
    } else {
        format!("costs {cost:.2} of gain ({share:.1} %)")
    }
}

fn plant_box(
    ui: &mut Ui,
    project: &Project,
    name: &str,
    plants: &[Id<Genotype>],
    chosen: &mut Option<Id<Genotype>>,
) {
    // The first word of the name says which is to be chosen.
    let hint = name.split(' ').next().unwrap_or_default();
    let shown = chosen.map_or_else(|| hint.to_owned(), |plant| marked_code(project, plant));
    let response = ComboBox::from_id_salt(name)
        .selected_text(&shown)
        .width(96.0)
        .show_ui(ui, |ui| {
            for &plant in plants {
                ui.selectable_value(chosen, Some(plant), marked_code(project, plant));
            }
        })
        .response;
    response.widget_info(|| {
        let mut info = egui::WidgetInfo::labeled(egui::Role::ComboBox, true, name);
        info.current_text_value = Some(shown.clone());
        info
    });
}

fn actions_ui(ui: &mut Ui, view: &View<'_>, chosen: &Chosen, out: &mut Outbox<'_>) {
    let Some(curve) = chosen.curve() else { return };
    let (plan, dates) = (&chosen.plan, &chosen.dates);
    ui.horizontal_wrapped(|ui| {
        ui.add_enabled_ui(view.read_only.is_none() && chosen.current, |ui| {
            if main_button(ui, "Accept this plan").clicked() {
                match accept(view.project, plan, dates, view.today, out.ids) {
                    Ok(edit) => out.act_on(ui, "accept", "plan", edit),
                    Err(refusal) => out.say(refusal.to_string()),
                }
            }
        });
        if ui.button("Save plan as PDF…").clicked() {
            let report = season_plan::report(view.project, &curve.planner, plan, dates);
            match exchange::report::pdf(&report, Some(view.today)) {
                Ok(bytes) => out.ask(Request::Export(
                    Question::SavePdf(format!("season plan {}.pdf", dates.season)),
                    bytes,
                )),
                Err(error) => out.say(error.to_string()),
            }
        }
        if ui.button("Save plan as CSV…").clicked() {
            let csv = season_plan::csv(view.project, plan, dates);
            let question = Question::SaveCsv(format!("season plan {}.csv", dates.season));
            out.ask(Request::Export(question, csv.into_bytes()));
        }
        if !chosen.current {
            badge(ui, Meaning::Soon, "being worked out");
        }
    });
    ui.add(Label::new(season_plan::in_words(plan)).wrap());
    for risk in curve.planner.bad_case_words(view.project, plan) {
        badge(ui, Meaning::Soon, "father not known for sure");
        ui.add(Label::new(risk).wrap());
    }
    // Many of them would push the crosses out of sight.
    let conditions = curve.planner.conditions(plan);
    if !conditions.is_empty() {
        egui::CollapsingHeader::new(format!(
            "What owners allow of these parents: {}",
            conditions.len()
        ))
        .id_salt("what owners allow")
        .default_open(conditions.len() <= 2)
        .show(ui, |ui| {
            for condition in conditions {
                ui.add(Label::new(muted(ui, condition)).wrap());
            }
        });
    }
    let planned = view
        .project
        .crosses()
        .iter()
        .filter(|cross| cross.season == dates.season)
        .count();
    if planned > 0 {
        let words = format!(
            "Crosses of {} on the Crosses screen already: {planned}. Accepting adds these.",
            dates.season
        );
        ui.add(Label::new(muted(ui, words)).wrap());
    }
    ui.add_space(space::XS);
}

fn table_ui(ui: &mut Ui, project: &Project, state: &mut State, chosen: &Chosen) {
    let columns = [
        Column::text("Female", 88.0),
        Column::text("Male", 88.0),
        Column::number("Seeds", 56.0).hint("To sow"),
        Column::number("Cones", 56.0).hint("To pollinate, on average, for so many seeds"),
        Column::number("Boxes", 52.0),
        Column::number("Sprouts", 62.0).hint("Expected: a cell and a pot each"),
        Column::number("Good", 56.0).hint("Females that reach the thresholds, expected"),
        Column::text("Pollinate", 92.0),
        Column::text("", 90.0).stretch(),
    ]
    .map(Column::unsortable);
    let crosses = &chosen.plan.crosses;
    let rows = Rows {
        count: crosses.len(),
        key: |row: usize| (crosses[row].female, crosses[row].male),
        name: |row: usize| row_name(project, &crosses[row]),
        cell: |ui: &mut Ui, row: usize, column: usize| {
            let cross = &crosses[row];
            ui.label(match column {
                0 => marked_code(project, cross.female),
                1 => marked_code(project, cross.male),
                2 => cross.seeds.to_string(),
                3 => cross.cones.to_string(),
                4 => cross.boxes.to_string(),
                5 => format!("{:.0}", cross.sprouts),
                6 => format!("{:.1}", cross.females),
                7 => chosen
                    .dates
                    .pollination
                    .get(row)
                    .map(InWords::in_words)
                    .unwrap_or_default(),
                _ => match (cross.locked, cross.is_gamble()) {
                    (true, true) => "must be made; a gamble".into(),
                    (true, false) => "must be made".into(),
                    (false, true) => "a gamble".into(),
                    (false, false) => String::new(),
                },
            });
        },
    };
    Table::new("Crosses of the plan", &columns).show(ui, &mut state.table, rows);
}

fn row_name(project: &Project, cross: &PlannedCross) -> String {
    format!(
        "{} × {}, {} seeds",
        project.code_of(cross.female),
        project.code_of(cross.male),
        cross.seeds
    )
}
