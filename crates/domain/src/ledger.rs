//! Where every seed of a lot went.

use crate::id::{AnyId, Id};
use crate::project::Project;
use crate::record::chill::{BoxFate, ChillBox};
use crate::record::seed_lot::{Movement, MovementKind, SeedLot};
use crate::record::seed_test::GerminationTest;
use crate::refusal::Refusal;
use chrono::NaiveDate;

/// One line of a lot's ledger.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LedgerEntry {
    /// The day, if known.
    pub date: Option<NaiveDate>,
    /// The record behind it.
    pub record: AnyId,
    /// What happened.
    pub what: String,
    /// Seeds in (positive) or out (negative).
    pub change: i64,
    /// Seeds left after it.
    pub balance: i64,
}

/// The ledger of a lot: what was cleaned, each box filled from it, every draw, test and return, by date.
pub fn ledger(project: &Project, lot: Id<SeedLot>) -> Vec<LedgerEntry> {
    let Some(record) = project.seed_lots().get(lot) else {
        return Vec::new();
    };
    let mut lines = Vec::new();
    if let Some(amount) = record.amount {
        let what = if amount.is_estimate() {
            "cleaned, by weight"
        } else {
            "cleaned, counted"
        };
        lines.push((
            record.cleaned.or(record.harvested),
            lot.into(),
            what.to_owned(),
            i64::from(amount.seeds()),
        ));
    }
    for chill_box in project.boxes_from(lot) {
        let start = project
            .chill_batches()
            .get(chill_box.batch)
            .map(|batch| batch.start);
        if chill_box.rechilled_from.is_none() {
            lines.push((
                start,
                chill_box.id.into(),
                format!("laid in box {}", chill_box.code),
                -i64::from(chill_box.seeds),
            ));
        }
        if let Some(end) = chill_box
            .end
            .as_ref()
            .filter(|end| end.fate == BoxFate::Returned)
        {
            let back = i64::from(BoxTally::of(project, chill_box).left());
            lines.push((
                Some(end.date),
                chill_box.id.into(),
                format!("back from box {}", chill_box.code),
                back,
            ));
        }
    }
    for movement in project.referring::<Movement>(lot) {
        let (word, sign) = match movement.direction {
            MovementKind::Draw => ("taken", -1),
            MovementKind::Return => ("brought back", 1),
        };
        let what = if movement.reason.is_empty() {
            word.to_owned()
        } else {
            format!("{word}: {}", movement.reason)
        };
        lines.push((
            Some(movement.date),
            movement.id.into(),
            what,
            sign * i64::from(movement.seeds),
        ));
    }
    for test in project.referring::<GerminationTest>(lot) {
        if test.drawn {
            lines.push((
                Some(test.date),
                test.id.into(),
                "taken for a germination test".to_owned(),
                -i64::from(test.seeds),
            ));
        }
    }
    // The cleaned count comes first whatever its date: nothing can be taken before it.
    let opening = usize::from(record.amount.is_some());
    lines[opening..].sort_by_key(|line| line.0);
    let mut balance = 0;
    lines
        .into_iter()
        .map(|(date, record, what, change)| {
            balance += change;
            LedgerEntry {
                date,
                record,
                what,
                change,
                balance,
            }
        })
        .collect()
}

/// The seeds left in a lot: none known to be there while it was never counted nor weighed.
pub fn balance(project: &Project, lot: Id<SeedLot>) -> i64 {
    ledger(project, lot).last().map_or(0, |entry| entry.balance)
}

/// Refuses a balance below zero at any moment.
pub(crate) fn check_balance(project: &Project, lot: Id<SeedLot>) -> Result<(), Refusal> {
    let entries = ledger(project, lot);
    let Some(short) = entries.iter().find(|entry| entry.balance < 0) else {
        return Ok(());
    };
    let code = project.code_of(lot);
    let held = short.balance - short.change;
    Err(Refusal::about(
        short.record,
        format!(
            "Lot {code} holds {held} seeds; {} can't be taken ({}).",
            -short.change, short.what
        ),
        if entries
            .first()
            .is_some_and(|entry| entry.record == AnyId::from(lot))
        {
            "Take fewer, or correct the lot's count."
        } else {
            "Count or weigh the lot first."
        },
    ))
}

/// Where the seeds of one box went.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct BoxTally {
    /// Laid in the box.
    pub laid: u32,
    /// Taken out mouldy.
    pub mouldy: u32,
    /// Sprouted in the cold.
    pub sprouted_early: u32,
    /// Germinated in warmth.
    pub germinated: u32,
    /// Came up abnormal.
    pub abnormal: u32,
    /// Found dead in warmth.
    pub dead: u32,
}

impl BoxTally {
    /// The tally of a box.
    pub fn of(project: &Project, chill_box: &ChillBox) -> Self {
        let mut tally = Self {
            laid: chill_box.seeds,
            ..Self::default()
        };
        for check in project.checks_of(chill_box.id) {
            tally.mouldy = tally.mouldy.saturating_add(check.mouldy_removed);
            tally.sprouted_early = tally.sprouted_early.saturating_add(check.sprouted_early);
        }
        for run in project.runs_of(chill_box.id) {
            for count in project.counts_of(run.id) {
                tally.germinated = tally.germinated.saturating_add(count.germinated);
                tally.abnormal = tally.abnormal.saturating_add(count.abnormal);
                tally.dead = tally.dead.saturating_add(count.dead);
            }
        }
        tally
    }

    /// Everything accounted for.
    pub const fn accounted(&self) -> u32 {
        self.mouldy
            .saturating_add(self.sprouted_early)
            .saturating_add(self.germinated)
            .saturating_add(self.abnormal)
            .saturating_add(self.dead)
    }

    /// Seeds still in the box: none once more are accounted for than were laid.
    pub const fn left(&self) -> u32 {
        self.laid.saturating_sub(self.accounted())
    }

    /// Normal sprouts, in the cold and in warmth: what can be potted.
    pub const fn sprouts(&self) -> u32 {
        self.sprouted_early.saturating_add(self.germinated)
    }
}

/// The sprouts of a box that wait to be potted: neither potted yet, nor lost or thinned out before.
pub fn unpotted(project: &Project, chill_box: &ChillBox) -> u32 {
    let in_cold = project
        .checks_of(chill_box.id)
        .map(|look| look.sprouts_lost);
    let in_warmth = project
        .runs_of(chill_box.id)
        .flat_map(|run| project.counts_of(run.id))
        .map(|count| count.lost);
    let lost = in_cold.chain(in_warmth).fold(0, u32::saturating_add);
    BoxTally::of(project, chill_box)
        .sprouts()
        .saturating_sub(lost)
        .saturating_sub(project.potted_out_of(chill_box.id).count() as u32)
}
