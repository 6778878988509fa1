//! A photo read back: the page found and laid flat, its light and shade taken out, its bubbles read.
//!
//! ```no_run
//! use scoring_sheet::read::{Photo, find};
//! use scoring_sheet::{Column, Form, Paper};
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let photo = Photo::decode(&std::fs::read("page.jpg")?)?;
//! let page = find(&photo)?;
//! // Which form it is, whoever printed it knows by page.tag().sheet.
//! let form = Form::new(Paper::A4, vec![Column::Levels(9)], 20)?;
//! let reading = page.read(&form)?;
//! for cell in &reading.cells {
//!     println!("{} {}: {:?}, sure by {:.2}", cell.row, cell.column, cell.found, cell.sure);
//! }
//! # Ok(())
//! # }
//! ```

mod binary;
mod bubbles;
mod flat;
mod gray;
mod ink;
mod judge;
mod marks;
mod page;
mod photo;

pub use flat::{FLAT_SCALE, cut_out};
pub use gray::Gray;
pub use photo::Photo;

use crate::geometry::{Point, Rect, point};
use crate::layout::{Form, MARGIN};
use crate::tag::Tag;
use bubbles::{Place, look, outlines, place};
use ink::Ink;
use judge::judge;
use std::fmt;

/// Answers at least so sure are accepted without a look at each.
pub const ACCEPTED: f64 = 0.95;
/// A cell whose outlines are seen less than so well, against the middle one of the page, is asked about.
const LEAST_SEEN: f64 = 0.4;
/// A page whose outlines are seen less than this isn't the form it should be, or lies too far off.
const LEAST_SEEN_AT_ALL: f64 = 0.05;
/// A cell may be off by so much more than its neighbours, in millimetres; else it goes by them.
const MOST_OFF: f64 = 0.35;
/// Of so many bubbles of one figure some are empty.
const FEWEST: usize = 3;
/// Empty bubbles of one level have inks no further apart than this.
const ALIKE: f64 = 0.012;
/// Of a box to write in, so much is ink where something is written.
const WRITTEN: f64 = 0.006;

/// Why a photo can't be read. Its text is a sentence that says what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// Neither JPEG nor PNG.
    NoPicture,
    /// The file breaks off, or is damaged in another way.
    Damaged(String),
    /// Too many pixels.
    TooLarge {
        /// In a row; 0 where the file doesn't say.
        width: u32,
        /// Rows.
        height: u32,
    },
    /// Too few pixels, in all or of the page.
    TooSmall,
    /// So many corner marks are seen, not four of one page.
    CutOff {
        /// How many.
        corners: usize,
    },
    /// The marks along an edge are hidden.
    EdgeHidden,
    /// Four corners, but the square code between them can't be read.
    NoCode,
    /// The square code says something else.
    OtherCode,
    /// The sheet was printed by another version.
    OtherVersion {
        /// By a newer one; else by an older one.
        newer: bool,
    },
    /// More than one page.
    TwoPages,
    /// Out of focus, or moved.
    Blurred,
    /// Too dark, or too pale.
    Faint,
    /// The page has no such rows, or the print isn't where the form has it.
    OtherForm,
}

impl Refusal {
    /// How near to being read: of several tries, the last hindrance is told.
    fn nearness(&self) -> u8 {
        match self {
            Self::CutOff { .. } => 0,
            Self::NoCode => 1,
            Self::OtherCode => 2,
            _ => 3,
        }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoPicture => {
                f.write_str("This is no JPEG or PNG picture. Choose a photo or a scan of a sheet.")
            }
            Self::Damaged(why) => write!(
                f,
                "The picture is damaged ({why}). Copy it again from the telephone or camera."
            ),
            Self::TooLarge { width: 0, .. } => f.write_str(
                "The picture is too large. Save it with fewer pixels; 12 million are plenty.",
            ),
            Self::TooLarge { width, height } => write!(
                f,
                "The picture has {width} × {height} pixels, which is too large. Save it with fewer; 12 million are plenty."
            ),
            Self::TooSmall => f.write_str(
                "The page is too small on the picture. Go nearer, so that it fills the picture, or send the photo at its full size.",
            ),
            Self::CutOff { corners: 0 } => f.write_str(
                "No scoring sheet is seen. Photograph the whole page, with the ring in each corner in sight.",
            ),
            Self::CutOff { corners } if *corners < 4 => write!(
                f,
                "Only {corners} of the 4 rings in the corners are seen. Photograph the whole page, sharp, with nothing over its corners."
            ),
            Self::CutOff { .. } => f.write_str(
                "The rings that are seen are not the corners of one page. Photograph one whole page.",
            ),
            Self::EdgeHidden => f.write_str(
                "The dots along an edge of the page are hidden or folded. Lay the page flat, take hands and clips off its edges, and photograph it again.",
            ),
            Self::NoCode => f.write_str(
                "The square code of the page can't be read. Wipe it, see that no light is mirrored in it, and photograph the page again.",
            ),
            Self::OtherCode => f.write_str(
                "The square code is none of a scoring sheet of this program. Photograph a sheet that it printed.",
            ),
            Self::OtherVersion { newer: true } => f.write_str(
                "The sheet was printed by a newer version of this program. Read it with that version, or type it in.",
            ),
            Self::OtherVersion { newer: false } => f.write_str(
                "The sheet was printed by an older version of this program, in a layout that is no longer read. Type it in, and print new sheets.",
            ),
            Self::TwoPages => f.write_str(
                "More than one page is seen. Photograph each page by itself.",
            ),
            Self::Blurred => f.write_str(
                "The photo isn't sharp. Hold still, tap on the page to focus, and photograph it again.",
            ),
            Self::Faint => f.write_str(
                "The print hardly stands out from the paper. Photograph the page in better light, or print with more ink.",
            ),
            Self::OtherForm => f.write_str(
                "The print isn't where it should be on this sheet. Lay the page flat and photograph it from above.",
            ),
        }
    }
}

impl std::error::Error for Refusal {}

/// What stands in a cell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Found {
    /// Nothing.
    Empty,
    /// The bubble of this level, from 0.
    Level(usize),
    /// Several bubbles, of which none is crossed out.
    Several(Vec<usize>),
    /// Something that can't be told.
    Unclear,
    /// Something written by hand in a box.
    Written,
}

/// A cell, read.
#[derive(Clone, Debug, PartialEq)]
pub struct CellReading {
    /// Its row on the page, from 0.
    pub row: usize,
    /// Its column, from 0.
    pub column: usize,
    /// What stands in it.
    pub found: Found,
    /// How sure that is, 0 to 1; from [`ACCEPTED`] on it needs no look.
    pub sure: f64,
    /// Where it is on the flat page, in millimetres.
    pub part: Rect,
}

impl CellReading {
    /// Whether a person is to look at it: it is doubtful, or written by hand.
    pub fn needs_a_look(&self) -> bool {
        self.sure < ACCEPTED || self.found == Found::Written
    }
}

/// A page, read.
#[derive(Clone, Debug)]
pub struct Reading {
    /// What its code says.
    pub tag: Tag,
    /// Its cells, row by row.
    pub cells: Vec<CellReading>,
    /// The page laid flat, [`FLAT_SCALE`] pixels to the millimetre.
    pub flat: Gray,
    /// The boxes of the head, for the day and the person: where they are, and whether something is written there.
    pub head: [(Rect, bool); 2],
}

impl Reading {
    /// Part of the page, cut out.
    pub fn cut_out(&self, part: Rect) -> Gray {
        cut_out(&self.flat, part)
    }

    /// The row of a cell from the edge of the page to the end of the cell, so that its code is seen too.
    pub fn row_of(&self, cell: &CellReading) -> Rect {
        Rect {
            x: MARGIN - 1.0,
            y: cell.part.y,
            width: cell.part.right() + 1.0 - (MARGIN - 1.0),
            height: cell.part.height,
        }
    }
}

/// A page found on a photo and laid flat.
#[derive(Clone, Debug)]
pub struct FoundPage {
    page: page::Page,
    flat: Gray,
}

/// Finds the page on a photo.
///
/// # Errors
/// [`Refusal`] says what is wrong with the photo.
pub fn find(photo: &Photo) -> Result<FoundPage, Refusal> {
    let page = page::find(&photo.gray)?;
    let flat = page.flatten(&photo.gray);
    Ok(FoundPage { page, flat })
}

impl FoundPage {
    /// What its code says: by that, whoever printed the sheet knows its form.
    pub fn tag(&self) -> Tag {
        self.page.tag
    }

    /// Reads what is filled in.
    ///
    /// # Errors
    /// [`Refusal`] where the photo is too poor, or the page has another form.
    pub fn read(self, form: &Form) -> Result<Reading, Refusal> {
        let tag = self.page.tag;
        let rows = form.rows_on(usize::from(tag.page));
        if tag.paper != form.paper() || tag.landscape != form.landscape() || rows.is_empty() {
            return Err(Refusal::OtherForm);
        }
        let ink = Ink::of(&self.flat, &self.page.frame)?;
        let places = places(&ink, form, rows.len())?;
        let mut cells = Vec::with_capacity(rows.len() * form.columns().len());
        for row in 0..rows.len() {
            for column in 0..form.columns().len() {
                let cell = form.cell(row, column);
                let (found, sure) = match cell.written {
                    Some(written) => judge_written(&ink, written),
                    None => (Found::Empty, 1.0),
                };
                cells.push(CellReading {
                    row,
                    column,
                    found,
                    sure,
                    part: cell.around.grown(0.5),
                });
            }
        }
        read_bubbles(&ink, form, &places, &mut cells);
        let head = form.head_boxes().map(|part| {
            (
                part,
                judge_written(&ink, part.grown(-0.5)).0 != Found::Empty,
            )
        });
        Ok(Reading {
            tag,
            cells,
            flat: self.flat,
            head,
        })
    }
}

/// Where the print of each cell is, row by row; `None` for boxes to write in.
fn places(ink: &Ink, form: &Form, rows: usize) -> Result<Vec<Option<(Place, bool)>>, Refusal> {
    let columns = form.columns().len();
    let mut places = Vec::with_capacity(rows * columns);
    for row in 0..rows {
        for column in 0..columns {
            let bubbles = form.cell(row, column).bubbles;
            places.push((!bubbles.is_empty()).then(|| place(ink, &bubbles)));
        }
    }
    let mut seen: Vec<f64> = places.iter().flatten().map(|place| place.seen).collect();
    if seen.is_empty() {
        return Ok(vec![None; places.len()]);
    }
    seen.sort_by(f64::total_cmp);
    let usual = seen[seen.len() / 2];
    if usual < LEAST_SEEN_AT_ALL {
        return Err(Refusal::OtherForm);
    }
    Ok((0..places.len())
        .map(|at| {
            let here = places[at]?;
            let (row, column) = (at / columns, at % columns);
            let near: Vec<Place> = (row.saturating_sub(2)..(row + 3).min(rows))
                .flat_map(|row| {
                    (column.saturating_sub(1)..(column + 2).min(columns))
                        .map(move |column| row * columns + column)
                })
                .filter_map(|near| places[near])
                .filter(|place| place.seen > LEAST_SEEN * usual)
                .collect();
            if near.is_empty() {
                return Some((here, false));
            }
            let off = middle_of(&near);
            let place = if here.off.distance(off) > MOST_OFF || here.seen < LEAST_SEEN * usual {
                let bubbles = form.cell(row, column).bubbles;
                Place {
                    off,
                    seen: outlines(ink, &bubbles, off),
                }
            } else {
                here
            };
            Some((place, place.seen >= LEAST_SEEN * usual))
        })
        .collect())
}

fn middle_of(places: &[Place]) -> Point {
    let middle = |mut all: Vec<f64>| {
        all.sort_by(f64::total_cmp);
        all[all.len() / 2]
    };
    point(
        middle(places.iter().map(|place| place.off.x).collect()),
        middle(places.iter().map(|place| place.off.y).collect()),
    )
}

/// Reads all bubbles: first what each has inside, then, less what an empty one of its kind has, what its cell says.
fn read_bubbles(
    ink: &Ink,
    form: &Form,
    places: &[Option<(Place, bool)>],
    cells: &mut [CellReading],
) {
    let columns = form.columns().len();
    let mut marks: Vec<Vec<bubbles::Mark>> = cells
        .iter()
        .zip(places)
        .map(|(cell, place)| {
            let Some((place, _)) = place else {
                return Vec::new();
            };
            let bubbles = form.cell(cell.row, cell.column).bubbles;
            bubbles
                .iter()
                .map(|&bubble| look(ink, bubble + place.off))
                .collect()
        })
        .collect();
    // An empty bubble has its printed figure, and some of its outline where the photo isn't sharp.
    let of_all = quarter(marks.iter().flatten().map(|mark| mark.inside).collect());
    // Columns of as many levels have the same figures printed in them.
    let levels: Vec<usize> = marks.iter().take(columns).map(Vec::len).collect();
    let mut kinds = levels.clone();
    kinds.sort_unstable();
    kinds.dedup();
    for count in kinds {
        let is_of = |cell: usize| levels[cell % columns] == count;
        for level in 0..count {
            let inside: Vec<f64> = (0..marks.len())
                .filter(|cell| is_of(*cell))
                .map(|cell| marks[cell][level].inside)
                .collect();
            let empty = if inside.len() < FEWEST {
                of_all
            } else {
                print_of(&inside).min(of_all + 0.04)
            };
            // Where hardly another bubble has as little, it may be ink of a pencil and not of the print.
            let alike = inside.iter().filter(|each| (*each - empty).abs() < ALIKE);
            let hidden = if alike.count() < FEWEST {
                (empty - of_all).max(0.0)
            } else {
                0.0
            };
            for (cell, marks) in marks.iter_mut().enumerate() {
                if is_of(cell) {
                    marks[level].inside -= empty;
                    marks[level].hidden = hidden;
                }
            }
        }
    }
    let chance = chance_of(&marks);
    for ((cell, marks), place) in cells.iter_mut().zip(&marks).zip(places) {
        let Some((_, seen)) = place else {
            continue;
        };
        let (found, sure) = judge(marks, chance);
        cell.found = found;
        cell.sure = if *seen { sure } else { sure.min(0.5) };
    }
}

/// How far the darkest of a cell's empty bubbles stands out by chance: in 19 of 20 cells in which no more than one is
/// marked, the second darkest stands out from the third by no more.
fn chance_of(marks: &[Vec<bubbles::Mark>]) -> f64 {
    let mut gaps: Vec<f64> = marks
        .iter()
        .filter(|marks| marks.len() > 2)
        .map(|marks| {
            let mut inside: Vec<f64> = marks.iter().map(|mark| mark.inside).collect();
            inside.sort_by(|a, b| b.total_cmp(a));
            (inside[1], inside[1] - inside[2])
        })
        .filter(|(second, _)| *second < judge::EMPTY)
        .map(|(_, gap)| gap)
        .collect();
    gaps.sort_by(f64::total_cmp);
    gaps.get(gaps.len() * 19 / 20).copied().unwrap_or_default()
}

/// The ink of the print in the bubbles of a level: a quarter of them have less, unless so many are marked that the few
/// with the least are far below.
fn print_of(inside: &[f64]) -> f64 {
    let usual = quarter(inside.to_vec());
    let least = inside.iter().copied().fold(f64::INFINITY, f64::min);
    let mut low: Vec<f64> = inside.to_vec();
    low.retain(|each| each - least < 2.0 * ALIKE);
    low.sort_by(f64::total_cmp);
    let of_few = low[low.len() / 2];
    if low.len() >= FEWEST && usual - of_few > 2.0 * ALIKE {
        of_few
    } else {
        usual
    }
}

/// A quarter of the values are less than this.
fn quarter(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 4).copied().unwrap_or_default()
}

/// Whether something is written in a box.
fn judge_written(ink: &Ink, part: Rect) -> (Found, f64) {
    const STEP: f64 = 0.2;
    let inside = part.grown(-0.7);
    let (mut inked, mut all) = (0.0, 0.0);
    let (columns, rows) = (
        (inside.width / STEP) as usize,
        (inside.height / STEP) as usize,
    );
    for row in 0..rows {
        for column in 0..columns {
            let at = point(
                inside.x + column as f64 * STEP,
                inside.y + row as f64 * STEP,
            );
            all += 1.0;
            if ink.at(at) > 0.22 {
                inked += 1.0;
            }
        }
    }
    let share = inked / all;
    if share >= WRITTEN {
        (Found::Written, 1.0)
    } else {
        let sure = if share < 0.5 * WRITTEN { 0.99 } else { 0.5 };
        (Found::Empty, sure)
    }
}
