//! Everything that is worked out from a project, asked for once, as the screens and the commands do.

use crate::hostile::look_everywhere;
use chrono::NaiveDate;
use domain::chill_response::{response, trials};
use domain::genetics::{Kinship, Plan, Progress, evaluate};
use domain::germination::{By, groups, report};
use domain::planning::{
    Candidates, Funnel, Knowledge, LookAhead, PlanWish, Planner, Rates, SeasonDates, capacity,
    expected_flowering, needs,
};
use domain::risk::{by_risk, mould_advice};
use domain::segregation::{classes, sexes};
use domain::stock::{Stock, sow_first};
use domain::temperature::BatchCold;
use domain::{Id, Project};
use std::ops::ControlFlow;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// Asks for what the day's work is made of: findings, agenda, lanes, statuses, stock, counts. Breeding values and plans
/// take a hundred times as long.
pub fn derive_the_day(project: &Project, today: NaiveDate) {
    look_everywhere(project);
    look_at_seed(project, today);
}

/// Asks for everything on one day. What can be stopped is stopped after `patience`: it must then end.
pub fn derive_everything(project: &Project, today: NaiveDate, patience: Duration) {
    look_everywhere(project);
    look_at_seed(project, today);
    let start = Instant::now();
    let mut sink = |_: Progress| {
        if start.elapsed() < patience {
            ControlFlow::Continue(())
        } else {
            ControlFlow::Break(())
        }
    };
    let _ = look_at_breeding(project, today, &mut sink);
}

fn look_at_seed(project: &Project, today: NaiveDate) {
    let boxes: Vec<Id<_>> = project.chill_boxes().iter().map(|each| each.id).collect();
    let _ = by_risk(project, &boxes, today);
    for chill_box in project.chill_boxes().iter() {
        let _ = mould_advice(project, chill_box, today);
    }
    for batch in project.chill_batches().iter() {
        let _ = BatchCold::of(project, batch, today);
    }
    let _ = response(&trials(project, today));
    for by in [By::Lot, By::Cross, By::Treatment, By::Weeks, By::Season] {
        let wanted: Vec<_> = groups(project, by)
            .into_iter()
            .map(|(group, _)| group)
            .collect();
        for group in &wanted {
            assert!(!group.title(project).is_empty());
        }
        if by == By::Lot
            && let Some(report) = report(
                project,
                &wanted,
                &domain::germination::Forecasts::of(project),
                1,
                &mut |_| true,
            )
        {
            for analysis in &report.analyses {
                let _ = (analysis.figures(), analysis.emergence(), analysis.share());
            }
        }
    }
    for each in sexes(project) {
        let _ = each.words();
    }
    for each in project.traits().iter() {
        let _ = classes(project, each.id, 5.0);
    }
    for lot in project.seed_lots().iter() {
        let _ = Stock::of(project, lot, today).explain(project);
    }
    let _ = sow_first(project, today);
}

/// Kinship, breeding values, and the plan of the season. `None` once stopped, or where there is nothing to plan.
fn look_at_breeding(
    project: &Project,
    today: NaiveDate,
    sink: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Option<()> {
    let kinship = Arc::new(Kinship::of(project, 0.0).ok()?);
    kinship.population(sink)?;
    for each in project.traits().iter() {
        let plan = Plan::suggested(project, each.id);
        if let Ok(evaluation) = evaluate(project, &kinship, &plan, sink) {
            let _ = evaluation.ranked(project);
        }
    }
    let knowledge = Arc::new(Knowledge::of(project, &kinship, sink)?);
    let rates = Rates::of(project, today);
    let candidates = Candidates::rank(project, &kinship, &knowledge, today).with_chances(sink)?;
    for pair in candidates.pairs.iter().take(5) {
        let funnel = Funnel::of(&candidates, pair, &rates);
        let _ = needs(project, &candidates.goals, &rates, &funnel, 100);
        let _ = funnel.fewest_seeds(3, 0.9);
    }
    let planner = Planner::of(project, &candidates, &rates, &PlanWish::default(), today).ok()?;
    let plans = planner.curve(3, &[], sink).ok()?;
    let plan = plans.get(planner.accepted(&plans))?;
    let flowering = expected_flowering(project, today).1;
    let dates = SeasonDates::of(project, plan.crosses.len(), flowering);
    let _ = capacity(project, plan, &dates);
    let outlook = LookAhead::of(project, &candidates).ok()?;
    let _ = outlook.play(&[outlook.usual()], 2, 1, sink);
    Some(())
}
