//! Labels printed as PDF, rendered at 300 dpi and read back: needs `pdftoppm` (poppler-utils) and
//! `zbarimg` (zbar-tools), and fails when they are missing.
#![cfg(feature = "pixels")]
#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use chrono::NaiveDate;
use exchange::label::{LabelContent, LabelLine, Layout, Rect, Sheet, Size, Slot, layout, pdf};

/// Dots per inch of the rendered pages.
const DPI: f32 = 300.0;

fn run(command: &mut Command) -> Output {
    let output = command.output().unwrap_or_else(|err| {
        panic!(
            "this test needs {}, which does not start: {err}",
            command.get_program().display()
        )
    });
    assert!(
        output.status.success(),
        "{command:?} failed: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    output
}

fn contents(count: usize) -> Vec<LabelContent> {
    let parents = [
        ("Morning Vale", "M-17"),
        ("Tarnbeck", "open pollination"),
        (
            "Longest Imaginable Name of a Cultivar",
            "Another Quite Long Selection 2021-044",
        ),
    ];
    let day = |month, day| NaiveDate::from_ymd_opt(2026, month, day).unwrap();
    let label = |number: usize| {
        let (female, male) = parents[number % parents.len()];
        LabelContent {
            code: format!("HB26-{:04}-{number:03}", number * 37),
            lines: vec![
                LabelLine::Cross {
                    female: female.to_owned(),
                    male: male.to_owned(),
                },
                LabelLine::Harvested(day(9, 14)),
                LabelLine::ChillStarted(day(11, 2)),
                LabelLine::Count {
                    number: number as u32,
                    noun: "seeds".to_owned(),
                    approximate: false,
                },
            ],
        }
    };
    (1..=count).map(label).collect()
}

/// A grey picture as `pdftoppm -gray` writes it.
struct Picture {
    width: usize,
    pixels: Vec<u8>,
}

impl Picture {
    /// Reads a binary PGM: 'P5', width, height, 255, one blank, then a byte a pixel.
    fn read(path: &Path) -> Self {
        let bytes = std::fs::read(path).unwrap();
        let words: Vec<&[u8]> = bytes.splitn(4, u8::is_ascii_whitespace).collect();
        assert_eq!(words[0], b"P5");
        let number = |word| str::from_utf8(word).unwrap().parse::<usize>().unwrap();
        let (width, height) = (number(words[1]), number(words[2]));
        Self {
            width,
            pixels: bytes[bytes.len() - width * height..].to_vec(),
        }
    }

    /// Writes what lies within a rectangle of millimetres.
    fn crop(&self, rect: Rect, path: &Path) {
        let pixel = |millimetres: f32| (millimetres * DPI / 25.4).round().max(0.0) as usize;
        let (left, right) = (pixel(rect.x), pixel(rect.right()).min(self.width));
        let rows: Vec<&[u8]> = self
            .pixels
            .chunks(self.width)
            .take(pixel(rect.bottom()))
            .skip(pixel(rect.y))
            .map(|row| &row[left..right])
            .collect();
        let mut bytes = format!("P5\n{} {}\n255\n", right - left, rows.len()).into_bytes();
        bytes.extend(rows.concat());
        std::fs::write(path, bytes).unwrap();
    }
}

/// Renders the PDF at 300 dpi and reads each label by itself, as a reader in the hand does: the
/// text found on each label, in order.
fn read_back(layout: &Layout, folder: &Path) -> Vec<String> {
    let file = folder.join("labels.pdf");
    std::fs::write(&file, pdf(layout, None).unwrap()).unwrap();
    let dpi = DPI.to_string();
    run(Command::new("pdftoppm")
        .args(["-gray", "-r", &dpi])
        .arg(&file)
        .arg(folder.join("page")));
    let mut pages: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "pgm"))
        .collect();
    pages.sort();
    assert_eq!(pages.len(), layout.pages.len());
    let mut cut = Vec::new();
    for (page, path) in layout.pages.iter().zip(&pages) {
        let picture = Picture::read(path);
        for label in &page.labels {
            let path = folder.join(format!("label-{}.pgm", label.index));
            picture.crop(label.outline, &path);
            cut.push(path);
        }
    }
    let read = |label: &PathBuf| {
        let arguments = ["--quiet", "--raw", "-Sdisable", "-Sqrcode.enable"];
        let output = run(Command::new("zbarimg").args(arguments).arg(label));
        String::from_utf8(output.stdout)
            .unwrap()
            .trim_end_matches('\n')
            .to_owned()
    };
    cut.iter().map(read).collect()
}

fn assert_reads_back(sheet: &Sheet, start: Slot, contents: &[LabelContent]) {
    let layout = layout(sheet, start, contents).unwrap();
    assert_eq!(layout.findings, [], "{}", sheet.name());
    let folder = tempfile::tempdir().unwrap();
    let codes: Vec<&str> = contents
        .iter()
        .map(|content| content.code.as_str())
        .collect();
    assert_eq!(read_back(&layout, folder.path()), codes, "{}", sheet.name());
}

#[test]
fn every_code_of_an_a4_sheet_reads_back_from_the_picture() {
    assert_reads_back(
        &Sheet::presets()[0],
        Slot { row: 2, column: 3 },
        &contents(30),
    );
}

#[test]
fn every_code_of_a_letter_sheet_reads_back_from_the_picture() {
    let sheet = Sheet::presets()
        .into_iter()
        .find(|sheet| sheet.page == Size::LETTER)
        .unwrap();
    assert_reads_back(&sheet, Slot { row: 10, column: 2 }, &contents(14));
}

#[test]
fn every_code_of_a_roll_reads_back_from_the_picture() {
    for label in [
        Size::new(60.0, 40.0),
        Size::new(100.0, 15.0),
        Size::new(30.0, 60.0),
    ] {
        assert_reads_back(&Sheet::single(label), Slot::FIRST, &contents(2));
    }
}

#[test]
fn cut_lines_do_not_keep_a_code_from_reading() {
    let sheet = Sheet {
        cut_lines: true,
        ..Sheet::presets()[4].clone()
    };
    assert_reads_back(&sheet, Slot { row: 1, column: 3 }, &contents(38));
}

#[test]
fn codes_beyond_ascii_read_back_from_the_picture() {
    let label = |code: &str| LabelContent {
        code: code.to_owned(),
        lines: Vec::new(),
    };
    let contents = ["Ägir-7", "Łąka 04", "Ω-12 ♀"].map(label);
    assert_reads_back(&Sheet::presets()[0], Slot { row: 8, column: 1 }, &contents);
}
