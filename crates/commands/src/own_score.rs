//! How good the program's own advice was, printed.

use crate::voice::Voice;
use chrono::NaiveDate;
use domain::own_score::OwnScore;
use serde_json::json;
use std::io::Write;
use std::path::Path;

/// Prints the score of a project's advice, in sentences or as JSON.
pub(super) fn run(
    file: &Path,
    json: bool,
    today: NaiveDate,
    out: &mut dyn Write,
    err: &mut Voice<'_>,
) -> Result<u8, String> {
    let opened = err.read(file)?;
    let score = OwnScore::of(&opened.project, today, &mut |_| true)
        .ok_or_else(|| "It was stopped.".to_owned())?;
    let text = if json {
        let chances = score.chances.as_ref().map(|chances| {
            json!({
                "score": chances.score,
                "reliability": chances.reliability,
                "resolution": chances.resolution,
                "uncertainty": chances.uncertainty,
                "groups": chances.groups.iter().map(|group| json!({
                    "count": group.count, "told": group.chance, "came": group.came,
                })).collect::<Vec<_>>(),
            })
        });
        let within = score.waiting.iter().filter(|each| each.is_within()).count();
        let value = json!({
            "chances": chances,
            "plans": score.plans.iter().map(|plan| json!({
                "season": plan.season, "good_females": plan.wanted, "chance": plan.chance,
                "found": plan.good, "reached": plan.reached,
            })).collect::<Vec<_>>(),
            "boxes": { "judged": score.waiting.len(), "within": within },
            "dates": { "done": score.dates.done, "kept": score.dates.kept, "missed": score.dates.missed },
        });
        serde_json::to_string_pretty(&value)
            .map_err(|error| format!("the output can't be written: {error}."))?
    } else {
        let plans = score.plans.iter().map(domain::own_score::PlanScore::words);
        let lines: Vec<String> = score.words().into_iter().chain(plans).collect();
        lines.join("\n")
    };
    writeln!(out, "{text}").map_err(|error| format!("the output can't be written: {error}."))?;
    Ok(0)
}
