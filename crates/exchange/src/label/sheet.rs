//! The paper: a page, and the grid of labels on it.

use super::geometry::{Rect, Size, millimetres};
use super::refusal::Refusal;

/// The largest page that a PDF may have: 14,400 units of 1/72 inch (ISO 32000-1:2008, annex C.2).
const LARGEST_PAGE: f32 = 5080.0;
/// What desktop printers leave blank along the edges of a sheet of paper, in millimetres: a sixth
/// of an inch (common practice).
const UNPRINTABLE: f32 = 25.4 / 6.0;
/// Paper sizes are rounded to tenths of a millimetre by their makers; a grid may overrun by less.
const TOLERANCE: f32 = 0.05;

/// A page with a grid of equal labels on it; lengths in millimetres.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// The page.
    pub page: Size,
    /// Labels down the page.
    pub rows: u32,
    /// Labels across the page.
    pub columns: u32,
    /// One label.
    pub label: Size,
    /// From the page's left edge to the first label.
    pub left: f32,
    /// From the page's top edge to the first label.
    pub top: f32,
    /// Between two labels of a row.
    pub gap_across: f32,
    /// Between two labels of a column.
    pub gap_down: f32,
    /// Whether hairlines are printed around the labels, to cut plain paper by.
    pub cut_lines: bool,
}

/// A place on the grid, counted from 1 as on the sheet in the hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Slot {
    /// Row, from the top; the first is 1.
    pub row: u32,
    /// Column, from the left; the first is 1.
    pub column: u32,
}

impl Slot {
    /// The first label of a sheet.
    pub const FIRST: Self = Self { row: 1, column: 1 };
}

impl Sheet {
    /// A grid in the middle of the page.
    pub fn grid(page: Size, columns: u32, rows: u32, label: Size, gap: Size) -> Self {
        let margin = |page: f32, count: u32, label: f32, gap: f32| {
            let count = count as f32;
            ((page - count * label - (count - 1.0) * gap) / 2.0).max(0.0)
        };
        Self {
            page,
            rows,
            columns,
            label,
            left: margin(page.width, columns, label.width, gap.width),
            top: margin(page.height, rows, label.height, gap.height),
            gap_across: gap.width,
            gap_down: gap.height,
            cut_lines: false,
        }
    }

    /// One label a page, as a roll printer takes them.
    pub fn single(label: Size) -> Self {
        Self::grid(label, 1, 1, label, Size::new(0.0, 0.0))
    }

    /// Grids and rolls in common use, as starting points; each is named by [`Sheet::name`].
    pub fn presets() -> Vec<Self> {
        const NO_GAP: Size = Size::new(0.0, 0.0);
        const INCH: f32 = 25.4;
        let a4 = |columns, rows, width, height, gap| {
            Self::grid(Size::A4, columns, rows, Size::new(width, height), gap)
        };
        let letter = |columns, rows, width, height, gap_across| {
            let label = Size::new(width * INCH, height * INCH);
            Self::grid(
                Size::LETTER,
                columns,
                rows,
                label,
                Size::new(gap_across * INCH, 0.0),
            )
        };
        vec![
            a4(3, 8, 70.0, 37.0, NO_GAP),
            a4(3, 7, 63.5, 38.1, Size::new(2.5, 0.0)),
            a4(2, 7, 99.1, 38.1, Size::new(2.5, 0.0)),
            a4(2, 4, 105.0, 74.0, NO_GAP),
            a4(4, 10, 48.5, 25.4, NO_GAP),
            letter(3, 10, 2.625, 1.0, 0.125),
            letter(2, 7, 4.0, 1.333, 0.1875),
            letter(2, 5, 4.0, 2.0, 0.1875),
            letter(2, 3, 4.0, 3.333, 0.1875),
            Self::single(Size::new(50.0, 25.0)),
            Self::single(Size::new(60.0, 40.0)),
            Self::single(Size::new(100.0, 50.0)),
            Self::single(Size::new(100.0, 15.0)),
        ]
    }

    /// The grid and size in words: 'A4, 3 × 8, 70 × 37 mm' (across × down), 'single, 50 × 25 mm'.
    pub fn name(&self) -> String {
        let label = size_name(self.label);
        if self.is_single() {
            return format!("single, {label}");
        }
        let page = match self.page {
            Size::A4 => "A4".to_owned(),
            Size::LETTER => "Letter".to_owned(),
            other => size_name(other),
        };
        format!("{page}, {} × {}, {label}", self.columns, self.rows)
    }

    /// How many labels one page takes.
    pub fn labels_per_page(&self) -> usize {
        self.rows as usize * self.columns as usize
    }

    /// Where a slot's label lies on the page.
    pub fn outline(&self, slot: Slot) -> Rect {
        let across = slot.column.saturating_sub(1) as f32;
        let down = slot.row.saturating_sub(1) as f32;
        Rect {
            x: self.left + across * (self.label.width + self.gap_across),
            y: self.top + down * (self.label.height + self.gap_down),
            width: self.label.width,
            height: self.label.height,
        }
    }

    /// How much of each label's sides (width) and of its top and bottom (height) to keep free, so
    /// that the labels at the page's edges lose nothing. A roll printer prints to the edge.
    pub(crate) fn unprintable(&self) -> Size {
        if self.is_single() {
            return Size::new(0.0, 0.0);
        }
        let last = self.outline(Slot {
            row: self.rows,
            column: self.columns,
        });
        let across = self.left.min(self.page.width - last.right());
        let down = self.top.min(self.page.height - last.bottom());
        Size::new(
            (UNPRINTABLE - across).max(0.0),
            (UNPRINTABLE - down).max(0.0),
        )
    }

    fn is_single(&self) -> bool {
        self.page == self.label && self.rows == 1 && self.columns == 1
    }

    /// The slot of the label at `index` in reading order, counted over pages from 0.
    pub(crate) fn slot(&self, index: usize) -> (usize, Slot) {
        let within = index % self.labels_per_page();
        let columns = self.columns as usize;
        let slot = Slot {
            row: (within / columns) as u32 + 1,
            column: (within % columns) as u32 + 1,
        };
        (index / self.labels_per_page(), slot)
    }

    /// The reading-order index of a slot, from 0.
    ///
    /// # Errors
    /// [`Refusal::StartOutside`] when the grid has no such slot.
    pub(crate) fn index(&self, slot: Slot) -> Result<usize, Refusal> {
        let inside =
            (1..=self.rows).contains(&slot.row) && (1..=self.columns).contains(&slot.column);
        if inside {
            Ok((slot.row as usize - 1) * self.columns as usize + slot.column as usize - 1)
        } else {
            Err(Refusal::StartOutside {
                start: slot,
                rows: self.rows,
                columns: self.columns,
            })
        }
    }

    /// Checks that the grid lies on the page.
    ///
    /// # Errors
    /// The first thing that is wrong: a length that is zero, negative or no number, an empty
    /// grid, a label larger than the page, or a grid that overruns it.
    pub fn check(&self) -> Result<(), Refusal> {
        let lengths = [
            ("page width", self.page.width),
            ("page height", self.page.height),
            ("label width", self.label.width),
            ("label height", self.label.height),
        ];
        for (name, value) in lengths {
            if !(value.is_finite() && value > 0.0) {
                return Err(Refusal::NotALength { name, value });
            }
        }
        let spaces = [
            ("left margin", self.left),
            ("top margin", self.top),
            ("gap across", self.gap_across),
            ("gap down", self.gap_down),
        ];
        for (name, value) in spaces {
            if !(value.is_finite() && value >= 0.0) {
                return Err(Refusal::NotASpace { name, value });
            }
        }
        if self.rows == 0 || self.columns == 0 {
            return Err(Refusal::EmptyGrid);
        }
        if self.page.width > LARGEST_PAGE || self.page.height > LARGEST_PAGE {
            return Err(Refusal::PageTooLarge {
                page: self.page,
                largest: LARGEST_PAGE,
            });
        }
        if self.label.width > self.page.width + TOLERANCE
            || self.label.height > self.page.height + TOLERANCE
        {
            return Err(Refusal::LabelLargerThanPage {
                label: self.label,
                page: self.page,
            });
        }
        let last = self.outline(Slot {
            row: self.rows,
            column: self.columns,
        });
        let overruns = [
            ("columns", self.columns, last.right(), self.page.width),
            ("rows", self.rows, last.bottom(), self.page.height),
        ];
        for (what, count, needed, available) in overruns {
            if needed > available + TOLERANCE {
                return Err(Refusal::GridOverruns {
                    what,
                    count,
                    needed,
                    available,
                });
            }
        }
        Ok(())
    }
}

fn size_name(size: Size) -> String {
    format!(
        "{} × {} mm",
        millimetres(size.width),
        millimetres(size.height)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn presets_lie_on_their_pages_and_have_names_of_their_own() {
        let presets = Sheet::presets();
        let mut names: Vec<String> = presets.iter().map(Sheet::name).collect();
        for sheet in &presets {
            assert_eq!(sheet.check(), Ok(()), "{}", sheet.name());
        }
        assert_eq!(names[0], "A4, 3 × 8, 70 × 37 mm");
        assert_eq!(names[5], "Letter, 3 × 10, 66.67 × 25.4 mm");
        assert!(names.contains(&"single, 50 × 25 mm".to_owned()));
        names.sort();
        names.dedup();
        assert_eq!(names.len(), presets.len());
    }

    /// 8 × 37 mm is 296 mm, one less than an A4 page's 297 (ISO 216): half a millimetre each side.
    #[test]
    fn a_grid_lies_in_the_middle_of_its_page() {
        let sheet = &Sheet::presets()[0];
        assert_eq!((sheet.left, sheet.top), (0.0, 0.5));
        let last = sheet.outline(Slot { row: 8, column: 3 });
        assert_eq!((last.x, last.y), (140.0, 259.5));
        assert_eq!((last.right(), last.bottom()), (210.0, 296.5));
    }

    #[test]
    fn labels_keep_clear_of_what_printers_leave_blank() {
        let edge_to_edge = Sheet::presets()[0].unprintable();
        assert!(
            (edge_to_edge.width - 4.233).abs() < 0.001,
            "{edge_to_edge:?}"
        );
        assert!(
            (edge_to_edge.height - 3.733).abs() < 0.001,
            "{edge_to_edge:?}"
        );
        let roll = Sheet::single(Size::new(50.0, 25.0)).unprintable();
        assert_eq!(roll, Size::new(0.0, 0.0));
    }

    #[test]
    fn slots_run_in_reading_order_over_pages() {
        let sheet = &Sheet::presets()[0];
        assert_eq!(sheet.slot(0), (0, Slot::FIRST));
        assert_eq!(sheet.slot(4), (0, Slot { row: 2, column: 2 }));
        assert_eq!(sheet.slot(24), (1, Slot::FIRST));
        assert_eq!(sheet.index(Slot { row: 8, column: 3 }), Ok(23));
        for index in 0..24 {
            assert_eq!(sheet.index(sheet.slot(index).1), Ok(index));
        }
    }

    #[test]
    fn what_cannot_be_printed_is_refused_in_a_sentence() {
        let good = Sheet::presets()[0].clone();
        let said = |sheet: &Sheet| sheet.check().unwrap_err().to_string();

        let mut sheet = good.clone();
        sheet.label.width = 0.0;
        assert_eq!(
            said(&sheet),
            "The label width is 0 mm; give a length above zero."
        );
        sheet.label.width = f32::NAN;
        assert_eq!(
            said(&sheet),
            "The label width is NaN mm; give a length above zero."
        );
        sheet.label.width = 211.0;
        assert_eq!(
            said(&sheet),
            "The label (211 × 37 mm) is larger than the page (210 × 297 mm); choose a smaller label or a larger page."
        );

        let mut sheet = good.clone();
        sheet.rows = 9;
        assert_eq!(
            said(&sheet),
            "9 rows need 333.5 mm with margin and gaps, but the page has 297 mm; take fewer rows or smaller spaces."
        );
        sheet.rows = 0;
        assert_eq!(
            said(&sheet),
            "The sheet has no rows or no columns; give at least one of each."
        );

        let mut sheet = good.clone();
        sheet.gap_down = -1.0;
        assert_eq!(said(&sheet), "The gap down is -1 mm; give zero or more.");

        let outside = good
            .index(Slot { row: 9, column: 1 })
            .unwrap_err()
            .to_string();
        assert_eq!(
            outside,
            "The start, row 9 and column 1, is outside the sheet; it has 8 rows and 3 columns, counted from 1."
        );
        assert!(good.index(Slot { row: 0, column: 1 }).is_err());
    }
}
