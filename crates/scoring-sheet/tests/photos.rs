//! Sheets that are printed, filled in by hands, photographed, and read back.

#![expect(clippy::unwrap_used, reason = "a test stops where it can't go on")]

mod generator;

use fastrand::Rng;
use generator::camera::Shot;
use generator::hand::{MarkKind, Meant, Truth, fill_in};
use generator::page::Page;
use scoring_sheet::read::{Reading, find};
use scoring_sheet::{ACCEPTED, Column, Form, Found, Paper, Photo, Refusal, Tag};
use std::collections::BTreeMap;

fn some_form(rng: &mut Rng) -> Form {
    let columns = match rng.u32(0..4) {
        0 => vec![Column::Levels(9), Column::Levels(9), Column::Levels(9)],
        1 => vec![Column::Levels(9), Column::Levels(5), Column::Written],
        2 => vec![
            Column::Levels(2),
            Column::Levels(9),
            Column::Written,
            Column::Levels(9),
            Column::Levels(11),
        ],
        _ => vec![Column::Levels(4), Column::Levels(10), Column::Levels(3)],
    };
    let paper = if rng.bool() { Paper::A4 } else { Paper::Letter };
    Form::new(paper, columns, rng.usize(5..60)).unwrap()
}

fn tag_of(form: &Form, page: usize, rng: &mut Rng) -> Tag {
    Tag {
        sheet: rng.u128(..),
        page: page as u16,
        paper: form.paper(),
        landscape: form.landscape(),
    }
}

struct Taken {
    form: Form,
    tag: Tag,
    meant: Vec<Meant>,
    jpeg: Vec<u8>,
}

fn taken(seed: u64, odd: f64, shot: fn(&mut Rng) -> Shot) -> Taken {
    let mut rng = Rng::with_seed(seed);
    let form = some_form(&mut rng);
    let sheet_page = rng.usize(..form.pages());
    let tag = tag_of(&form, sheet_page, &mut rng);
    let mut page = Page::printed(&form, tag);
    let meant = fill_in(&mut page, &form, sheet_page, odd, &mut rng);
    let jpeg = shot(&mut rng).jpeg(&page);
    Taken {
        form,
        tag,
        meant,
        jpeg,
    }
}

fn read(bytes: &[u8], form: &Form) -> Result<Reading, Refusal> {
    find(&Photo::decode(bytes)?)?.read(form)
}

#[derive(Default, Debug)]
struct Count {
    pages: usize,
    /// By reason, which pages.
    refused: BTreeMap<String, Vec<u64>>,
    /// By kind of mark: right and accepted, right and asked about, asked about, accepted and wrong.
    marks: BTreeMap<MarkKind, [usize; 4]>,
    wrong: Vec<String>,
    /// Clear marks that were not told but asked about.
    asked: Vec<String>,
}

impl Count {
    fn add(&mut self, seed: u64, taken: &Taken) {
        self.pages += 1;
        let reading = match read(&taken.jpeg, &taken.form) {
            Ok(reading) => reading,
            Err(refusal) => {
                let reason = format!("{refusal:?}");
                self.refused.entry(reason).or_default().push(seed);
                return;
            }
        };
        assert_eq!(reading.tag, taken.tag, "page {seed}");
        assert_eq!(reading.cells.len(), taken.meant.len());
        for (cell, meant) in reading.cells.iter().zip(&taken.meant) {
            assert_eq!((cell.row, cell.column), (meant.row, meant.column));
            let right = match (&cell.found, meant.level) {
                (Found::Empty, Truth::Empty | Truth::Dust) | (Found::Written, Truth::Written) => {
                    true
                }
                (Found::Level(level), Truth::Level(meant)) => *level == meant,
                _ => false,
            };
            let fate = match (cell.needs_a_look(), right) {
                (_, true) if cell.sure >= ACCEPTED => 0,
                (_, true) => 1,
                (true, false) => 2,
                (false, false) => 3,
            };
            self.marks.entry(meant.kind).or_default()[fate] += 1;
            let told = || {
                format!(
                    "page {seed}, row {}, column {}: {:?} {:?} read as {:?}, sure by {:.3}",
                    cell.row, cell.column, meant.kind, meant.level, cell.found, cell.sure
                )
            };
            match fate {
                3 => self.wrong.push(told()),
                2 if meant.kind.is_clear() => self.asked.push(told()),
                _ => {}
            }
        }
    }

    fn clear(&self) -> (usize, usize) {
        let clear = self.marks.iter().filter(|(kind, _)| kind.is_clear());
        clear.fold((0, 0), |(right, all), (_, fates)| {
            (
                right + fates[0] + fates[1],
                all + fates.iter().sum::<usize>(),
            )
        })
    }

    fn told(&self) -> String {
        use std::fmt::Write as _;
        let (right, all) = self.clear();
        let mut told = format!(
            "{} pages, {} refused {:?}; clear marks: {right} of {all} right\n",
            self.pages,
            self.refused.values().map(Vec::len).sum::<usize>(),
            self.refused
        );
        for (kind, [accepted, right, asked, wrong]) in &self.marks {
            let _ = writeln!(
                told,
                "  {kind:?}: {accepted} right and accepted, {right} right and asked about, {asked} not told and asked about, {wrong} accepted and wrong"
            );
        }
        for mark in self.wrong.iter().chain(&self.asked) {
            let _ = writeln!(told, "  {mark}");
        }
        told
    }
}

/// How many pages: few, or as many as `BINEWRIGHT_SHEETS` says.
fn pages(few: u64) -> u64 {
    std::env::var("BINEWRIGHT_SHEETS")
        .ok()
        .and_then(|number| number.parse().ok())
        .unwrap_or(few)
}

fn tell(what: &str) {
    use std::io::Write as _;
    let _ = writeln!(std::io::stderr(), "{what}");
}

#[test]
fn a_telephone_photo_is_read() {
    let mut count = Count::default();
    for seed in 0..pages(6) {
        count.add(seed, &taken(seed, 0.0, Shot::telephone));
    }
    tell(&count.told());
    let (right, all) = count.clear();
    assert!(count.refused.is_empty(), "{}", count.told());
    assert!(count.wrong.is_empty(), "{}", count.told());
    assert!(right as f64 >= 0.999 * all as f64, "{}", count.told());
}

#[test]
fn marks_that_are_not_clear_are_asked_about_and_never_guessed() {
    let mut count = Count::default();
    for seed in 0..pages(2) {
        let seed = 1_000_000 + seed;
        count.add(seed, &taken(seed, 0.5, Shot::telephone));
    }
    tell(&count.told());
    assert!(count.wrong.is_empty(), "{}", count.told());
    assert!(count.marks.keys().any(|kind| !kind.is_clear()));
}

/// Marks as faint as the figures that are printed in the bubbles: on a page where many cells have two marks, and in a
/// column where almost every bubble is marked.
#[test]
fn marks_as_faint_as_print_are_asked_about() {
    let mut count = Count::default();
    for seed in [1_000_042, 1_000_048] {
        count.add(seed, &taken(seed, 0.5, Shot::telephone));
    }
    assert!(count.wrong.is_empty(), "{}", count.told());
}

#[test]
fn a_poor_photo_is_refused_or_what_is_accepted_of_it_is_right() {
    let mut count = Count::default();
    for seed in 0..pages(3) {
        let seed = 2_000_000 + seed;
        count.add(seed, &taken(seed, 0.1, Shot::poor));
    }
    tell(&count.told());
    assert!(count.wrong.is_empty(), "{}", count.told());
}

/// On this page a bubble is filled right beside one that is crossed out, whose arm passes by it.
#[test]
fn a_bubble_beside_one_that_is_crossed_out_is_read() {
    let mut count = Count::default();
    count.add(3_000_005, &taken(3_000_005, 0.0, Shot::scan));
    let (right, all) = count.clear();
    assert!(all > 50 && right == all, "{}", count.told());
}

/// Two megapixels, the page across the picture: one tilted, far off at its end; one on Letter paper, a shadow's edge over
/// its code.
#[test]
fn small_photos_of_a_page_that_lies_across_are_read() {
    let mut count = Count::default();
    for seed in [20, 27] {
        count.add(seed, &taken(seed, 0.0, Shot::telephone));
    }
    let (right, all) = count.clear();
    let told = count.told();
    assert!(count.refused.is_empty() && count.wrong.is_empty(), "{told}");
    assert!(all > 50 && right == all, "{told}");
}

#[test]
fn a_scan_is_read() {
    let mut count = Count::default();
    for seed in 0..pages(1).min(50) {
        let seed = 3_000_000 + seed;
        count.add(seed, &taken(seed, 0.0, Shot::scan));
    }
    tell(&count.told());
    let (right, all) = count.clear();
    assert!(
        count.refused.is_empty() && count.wrong.is_empty(),
        "{}",
        count.told()
    );
    assert!(
        all > 0 && right as f64 >= 0.999 * all as f64,
        "{}",
        count.told()
    );
}
