//! What is still to come of lots in warmth, and when to stop waiting.

use super::tables::{CommandResult, Sheet, faulty, may_write, read};
use super::terminal::tell;
use crate::voice::Voice;
use chrono::NaiveDate;
use domain::germination::{Learnt, RunCounts, runs};
use exchange::lot_counts::{self, CountedLot};
use quant::counted::total;
use quant::germination::{Emergence, Forecaster, LEAST_CLOSED, LEVEL, LotCounts, TooFewClosed};
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::io::Write;
use std::path::Path;

/// How many seedlings may be lost by stopping.
const FEW: u32 = 1;

/// A lot by its name, with the boxes it lies in.
struct Lot {
    name: String,
    seeds: u32,
    boxes: Vec<Counted>,
}

/// The seed of one box, or of a lot as a table has it.
enum Counted {
    Run(Box<RunCounts>),
    Table(CountedLot),
}

/// Prints, for each lot of a project or of a table of counts, what is still to come and when to stop waiting. With
/// `as_of` each lot is taken as it stood after so many days in warmth, and forecast by all the others as they are.
pub(super) fn run(
    file: &Path,
    as_of: Option<f64>,
    today: Option<NaiveDate>,
    to: Option<&Path>,
    out: &mut dyn Write,
    err: &mut Voice<'_>,
) -> CommandResult<u8> {
    may_write(to, &[file])?;
    let lots = lots(file, today, err)?;
    let by_all = LearntOnce::default();
    let mut sheet = Sheet::new(&[
        "lot",
        "seeds",
        "germinated",
        "still_to_come",
        "low",
        "high",
        "stop_day",
    ])?;
    let mut too_few = None;
    for (nth, lot) in lots.iter().enumerate() {
        let forecaster = if as_of.is_none() {
            by_all.of(&lots, lot)
        } else {
            let others: Vec<&Lot> = (0..lots.len())
                .filter(|other| *other != nth)
                .map(|other| &lots[other])
                .collect();
            learn(&others, lot.treatment())
        };
        let boxes: Vec<LotCounts> = lot.boxes.iter().map(|each| each.counts(as_of)).collect();
        sheet.text(&lot.name)?;
        sheet.number(f64::from(lot.seeds))?;
        sheet.number(f64::from(total(boxes.iter().map(germinated))))?;
        let waiting: Vec<LotCounts> = boxes.into_iter().filter(|each| !each.closed).collect();
        match forecaster {
            _ if waiting.is_empty() => {
                for _ in 0..3 {
                    sheet.number(0.0)?;
                }
                sheet.text("")?;
            }
            Ok(forecaster) => {
                let outlook = forecaster.outlook(&waiting);
                let to_come = outlook.still_to_come();
                let (low, high) = to_come.interval(LEVEL);
                sheet.number(to_come.mean())?;
                sheet.number(f64::from(low))?;
                sheet.number(f64::from(high))?;
                match outlook.stop(FEW) {
                    Some(day) => sheet.number(day)?,
                    None => sheet.text("")?,
                }
            }
            Err(why) => {
                too_few = Some(why.closed);
                for _ in 0..4 {
                    sheet.text("")?;
                }
            }
        }
        sheet.end_row()?;
    }
    if let Some(closed) = too_few {
        tell(
            err,
            &format!(
                "{closed} closed lots are too few to say what is still to come: it takes {LEAST_CLOSED} in which something came up. Close lots once you stop waiting for them."
            ),
        );
    }
    sheet.deliver(to, &[file], out)?;
    Ok(0)
}

/// What all lots teach, learnt once for each treatment.
#[derive(Default)]
struct LearntOnce(RefCell<BTreeMap<String, Result<Forecaster, TooFewClosed>>>);

impl LearntOnce {
    fn of(&self, lots: &[Lot], lot: &Lot) -> Result<Forecaster, TooFewClosed> {
        let treatment = lot.treatment();
        let mut learnt = self.0.borrow_mut();
        learnt
            .entry(treatment.to_owned())
            .or_insert_with(|| learn(&lots.iter().collect::<Vec<_>>(), treatment))
            .clone()
    }
}

/// What lots teach of one that was treated like this.
fn learn(lots: &[&Lot], treatment: &str) -> Result<Forecaster, TooFewClosed> {
    let boxes = || lots.iter().flat_map(|lot| &lot.boxes);
    let runs: Vec<&RunCounts> = boxes().filter_map(Counted::as_run).collect();
    if runs.is_empty() {
        let counts: Vec<LotCounts> = boxes().map(|each| each.counts(None)).collect();
        return Forecaster::of(&counts);
    }
    Learnt::of(&runs, treatment).map(|learnt| learnt.forecaster)
}

impl Lot {
    /// That of its first box; a table tells none.
    fn treatment(&self) -> &str {
        let first = self.boxes.first().and_then(Counted::as_run);
        first.map_or("", |run| &run.treatment)
    }
}

fn germinated(counts: &LotCounts) -> u32 {
    let up = counts.seeds.iter().filter(|group| group.by.is_finite());
    up.map(|group| group.seeds).sum()
}

impl Counted {
    fn as_run(&self) -> Option<&RunCounts> {
        match self {
            Self::Run(run) => Some(run),
            Self::Table(_) => None,
        }
    }

    fn counts(&self, as_of: Option<f64>) -> LotCounts {
        match (self, as_of) {
            (Self::Run(run), None) => run.as_lot(),
            (Self::Run(run), Some(day)) => run.as_of(day).as_lot(),
            (Self::Table(lot), day) => counts_of(lot, day),
        }
    }
}

/// A lot of a table, to the last look by a day.
fn counts_of(lot: &CountedLot, as_of: Option<f64>) -> LotCounts {
    let by = as_of.unwrap_or(f64::INFINITY);
    let mut looked = 0.0;
    let mut waiting = lot.seeds;
    let mut seeds = Vec::new();
    for &(day, up) in lot.looks.iter().filter(|look| look.0 <= by) {
        // A look on the day warmth began found what came up within that day.
        let day = day.max(0.5);
        if up > 0 {
            let after = if looked < day { looked } else { 0.0 };
            seeds.push(Emergence::between(after, day, up));
        }
        waiting -= up;
        looked = day;
    }
    let whole = lot.looks.iter().all(|look| look.0 <= by);
    if looked > 0.0 && waiting > 0 {
        seeds.push(Emergence::not_by(looked, waiting));
    }
    LotCounts {
        seeds,
        waiting,
        looked,
        closed: waiting == 0 || (lot.closed && whole),
        age: lot.age,
    }
}

/// The lots of a file; of a project, as they stood on `today` if it is given.
fn lots(file: &Path, today: Option<NaiveDate>, err: &mut Voice<'_>) -> CommandResult<Vec<Lot>> {
    let bytes = read(file)?;
    if !super::plants::is_project(&bytes) {
        let lots = lot_counts::read(&bytes).map_err(|faults| faulty(file, &faults, err))?;
        return Ok(lots
            .into_iter()
            .map(|lot| Lot {
                name: lot.lot.clone(),
                seeds: lot.seeds,
                boxes: vec![Counted::Table(lot)],
            })
            .collect());
    }
    drop(bytes);
    let opened = err.read(file)?;
    let project = &opened.project;
    let mut lots: Vec<Lot> = Vec::new();
    for run in runs(project) {
        let run = match today {
            Some(today) if run.moved > today => continue,
            Some(today) => run.as_of((today - run.moved).num_days() as f64),
            None => run,
        };
        let lot = project
            .germinations()
            .get(run.run)
            .and_then(|germination| project.chill_boxes().get(germination.chill_box))
            .map_or_else(String::new, |chill_box| {
                project.code_of(chill_box.lot).to_owned()
            });
        let nth = lots
            .iter()
            .position(|known| known.name == lot)
            .unwrap_or_else(|| {
                lots.push(Lot {
                    name: lot,
                    seeds: 0,
                    boxes: Vec::new(),
                });
                lots.len() - 1
            });
        lots[nth].seeds = total([lots[nth].seeds, run.sown]);
        lots[nth].boxes.push(Counted::Run(Box::new(run)));
    }
    Ok(lots)
}
