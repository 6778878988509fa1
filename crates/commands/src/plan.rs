//! The plan of the season's crosses, printed.

use crate::tables;
use crate::terminal::tell;
use crate::voice::Voice;
use chrono::NaiveDate;
use domain::Project;
use domain::genetics::{Kinship, ignore_progress};
use domain::grounds::Grounds;
use domain::planning::{
    Binding, Curve, PlanWish, Planner, Season, SeasonDates, SeasonPlan, expected_flowering,
    size_words,
};
use domain::words::counted;
use paper::season_plan;
use serde::Serialize;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The plan as JSON.
#[derive(Serialize)]
struct PlanFile {
    chance: f64,
    /// The chance if every seedling were kept until its last trait is seen; left out where all are seen in one year.
    #[serde(skip_serializing_if = "Option::is_none")]
    chance_keeping_all: Option<f64>,
    sure: f64,
    good_females: u32,
    gain: f64,
    coancestry_rate: f64,
    effective_size: Option<f64>,
    crosses: Vec<CrossFile>,
    binds: Vec<BindFile>,
    permissions: Vec<String>,
    why: String,
    how_sure: String,
    would_change: String,
}

#[derive(Serialize)]
struct CrossFile {
    female: String,
    male: String,
    seeds: u32,
    cones: u32,
    boxes: u32,
    good_females: f64,
}

#[derive(Serialize)]
struct BindFile {
    limit: &'static str,
    there: u32,
    more: u32,
    chance: f64,
    gain: f64,
}

impl PlanFile {
    fn of(
        project: &Project,
        planner: &Planner,
        plan: &SeasonPlan,
        binds: &[Binding],
        grounds: Grounds,
    ) -> Self {
        let code = |plant| project.code_of(plant).to_owned();
        Self {
            chance: plan.chance,
            chance_keeping_all: plan.chance_keeping_all,
            sure: planner.sure,
            good_females: planner.wanted,
            gain: plan.gain,
            coancestry_rate: plan.rate,
            effective_size: quant::kinship::effective_size(plan.rate),
            crosses: plan
                .crosses
                .iter()
                .map(|cross| CrossFile {
                    female: code(cross.female),
                    male: code(cross.male),
                    seeds: cross.seeds,
                    cones: cross.cones,
                    boxes: cross.boxes,
                    good_females: cross.females,
                })
                .collect(),
            permissions: planner.conditions(plan),
            why: grounds.why,
            how_sure: grounds.how_sure,
            would_change: grounds.would_change,
            binds: binds
                .iter()
                .map(|each| BindFile {
                    limit: each.limit.words(),
                    there: each.there,
                    more: each.more,
                    chance: each.chance,
                    gain: each.gain,
                })
                .collect(),
        }
    }
}

/// Prints the plan that the goals of a project would take as CSV or JSON, or writes it to `pdf`; how good it is, how sure the
/// goal, and what holds it back go to `err`.
pub(super) fn run(
    file: &Path,
    seeds: Option<u32>,
    json: bool,
    pdf: Option<&PathBuf>,
    today: NaiveDate,
    out: &mut dyn Write,
    err: &mut Voice<'_>,
) -> Result<u8, String> {
    tables::may_write(pdf.map(PathBuf::as_path), &[file])?;
    let opened = err.read(file)?;
    // Advice that leaves plants out without their owner's knowing is worse than none.
    let unread = opened.report.quarantined.len();
    if unread > 0 {
        return Err(format!(
            "No plan was made: {} of {} can't be read, and the plan would leave them out. Correct them in the file, under 'set_aside' or in their table.",
            counted(unread, "record", "records"),
            file.display()
        ));
    }
    let project = &opened.project;
    let kinship = Arc::new(Kinship::of(project, 0.0).map_err(|refusal| refusal.to_string())?);
    let stopped = || "It was stopped.".to_owned();
    let season = Season::of(project, &kinship, None, today, &mut ignore_progress);
    let season = season.ok_or_else(stopped)?;
    let wish = PlanWish {
        seeds,
        ..PlanWish::default()
    };
    let curve = Curve::of(project, &season, &wish, today, &[], &mut ignore_progress);
    let Curve {
        planner,
        plans,
        accepted,
    } = curve.map_err(|why| why.to_string())?;
    let plan = &plans[accepted];
    let binds = planner
        .binding(plan, &mut ignore_progress)
        .ok_or_else(stopped)?;
    let dates = SeasonDates::of(
        project,
        plan.crosses.len(),
        expected_flowering(project, today).1,
    );
    if let Some(words) = planner.rate_words(&plans) {
        tell(err, &words);
    }
    tell(err, &format!("chance {:.3}", plan.chance));
    let told = format!(
        "{} {} Gain {:.2}; coancestry {:+.1} % a generation, {}. {}",
        season_plan::in_words(plan),
        planner.chance_words(plan, &plans),
        plan.gain,
        100.0 * plan.rate,
        size_words(plan.rate),
        plan.distance_words()
    );
    tell(err, &told);
    if let Some(words) = planner.stages_words(project, plan) {
        tell(err, &words);
    }
    for risk in planner.bad_case_words(project, plan) {
        tell(err, &format!("father not sure: {risk}"));
    }
    for condition in planner.conditions(plan) {
        tell(err, &format!("permission: {condition}"));
    }
    for each in &binds {
        tell(err, &format!("binds: {}", each.words(plan)));
    }
    let grounds = planner.grounds(project, plan, &plans, Some(&binds));
    for (what, sentence) in grounds.lines() {
        tell(err, &format!("{}: {sentence}", what.to_lowercase()));
    }
    if json {
        let found = PlanFile::of(project, &planner, plan, &binds, grounds);
        serde_json::to_writer_pretty(&mut *out, &found)
            .map_err(|error| format!("the output can't be written: {error}."))?;
        return writeln!(out)
            .map(|()| 0)
            .map_err(|error| format!("the output can't be written: {error}."));
    }
    if let Some(path) = pdf {
        let report = season_plan::report(project, &planner, plan, &dates);
        let bytes =
            exchange::report::pdf(&report, Some(today)).map_err(|error| error.to_string())?;
        tables::write(path, &bytes, &[file])?;
    } else {
        let csv = season_plan::csv(project, plan, &dates);
        out.write_all(csv.as_bytes())
            .map_err(|error| format!("the output can't be written: {error}."))?;
    }
    Ok(0)
}
