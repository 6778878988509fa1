//! The plan of the season's crosses, printed.

use crate::tables;
use crate::terminal::tell;
use chrono::NaiveDate;
use domain::genetics::{Kinship, ignore_progress};
use domain::planning::{
    Candidates, Knowledge, PlanWish, Planner, Rates, SeasonDates, expected_flowering,
};
use paper::season_plan;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Points along the curve of gain against diversity.
const POINTS: usize = 9;

/// Prints the plan that the goals of a project would take as CSV, or writes it to `pdf`; how good it is goes to `err`.
pub(super) fn run(
    file: &Path,
    seeds: Option<u32>,
    pdf: Option<&PathBuf>,
    today: NaiveDate,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<u8, String> {
    tables::may_write(pdf.map(PathBuf::as_path), &[file])?;
    let opened = crate::open_whole(file)?;
    let project = &opened.project;
    let kinship = Arc::new(Kinship::of(project, 0.0).map_err(|refusal| refusal.to_string())?);
    let stopped = || "It was stopped.".to_owned();
    let knowledge =
        Arc::new(Knowledge::of(project, &kinship, &mut ignore_progress).ok_or_else(stopped)?);
    let candidates = Candidates::rank(project, &kinship, &knowledge, today)
        .with_chances(&mut ignore_progress)
        .ok_or_else(stopped)?;
    let wish = PlanWish {
        seeds,
        ..PlanWish::default()
    };
    let planner = Planner::of(project, &candidates, &Rates::of(project, today), &wish)
        .map_err(|why| why.to_string())?;
    let plans = planner
        .curve(POINTS, &[], &mut ignore_progress)
        .map_err(|why| why.to_string())?;
    let plan = &plans[planner.accepted(&plans)];
    let dates = SeasonDates::of(
        project,
        plan.crosses.len(),
        expected_flowering(project, today).1,
    );
    let told = format!(
        "{} Gain {:.2}, kinship {:+.4}. {}",
        season_plan::in_words(plan),
        plan.gain,
        plan.kinship_rise,
        plan.distance_words()
    );
    tell(err, &told);
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
