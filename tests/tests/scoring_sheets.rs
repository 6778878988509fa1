//! A scoring sheet from the command that prints it, over a hand with a pencil and a photo, to observations in the
//! project.
#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

#[path = "../../crates/scoring-sheet/tests/generator/mod.rs"]
mod generator;

use chrono::NaiveDate;
use commands::{Task, parse, run};
use domain::{Project, Value};
use fastrand::Rng;
use generator::camera::Shot;
use generator::hand::{MarkKind, mark_in};
use generator::page::Page;
use scoring_sheet::{Form, Tag};
// What the generator draws and writes with.
use qrcode as _;

use std::fs;
use std::io::{ErrorKind, Write as _};
use std::path::{Path, PathBuf};
use std::process::Command;
use store::Store;
use tempfile::TempDir;

struct Outcome {
    code: u8,
    out: String,
    err: String,
}

fn binewright(words: &[&str]) -> Outcome {
    let words = ["binewright"].iter().chain(words);
    let Task::Script(script) = parse(words.map(Into::into)).unwrap() else {
        panic!("these words open the window");
    };
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let today = NaiveDate::from_ymd_opt(2027, 6, 1).unwrap();
    let code = run(script, today, &mut out, &mut err);
    Outcome {
        code,
        out: String::from_utf8(out).unwrap(),
        err: String::from_utf8(err).unwrap(),
    }
}

/// A folder with a sample project and a printed sheet of two of its traits.
struct Bench {
    folder: TempDir,
    project: PathBuf,
}

impl Bench {
    fn new() -> Self {
        let folder = TempDir::new().unwrap();
        let project = folder.path().join("yard.binewright");
        let done = binewright(&["sample", project.to_str().unwrap(), "--today", "2027-06-01"]);
        assert_eq!(done.code, 0, "{}", done.err);
        Self { folder, project }
    }

    fn at(&self, name: &str) -> String {
        self.folder.path().join(name).to_str().unwrap().to_owned()
    }

    fn opened(&self) -> Project {
        let opened = Store::new("").open_read_only(&self.project).unwrap();
        opened.project
    }

    /// Prints a sheet of the first plants with a trait that is scored and one that is measured.
    fn print(&self) -> (Form, Tag, Vec<String>) {
        let project = self.opened();
        let codes: Vec<String> = project
            .genotypes()
            .iter()
            .filter(|plant| plant.end.is_none())
            .take(8)
            .map(|plant| plant.code.clone())
            .collect();
        let pdf = self.at("sheet.pdf");
        let done = binewright(&[
            "sheet",
            self.project.to_str().unwrap(),
            "--traits",
            &names(&project).join(","),
            "--plants",
            &codes.join(","),
            "--name",
            "Lower yard",
            "--out",
            &pdf,
        ]);
        assert_eq!(done.code, 0, "{}", done.err);
        assert!(done.err.contains("Lower yard: 8 plants, 2 traits, 1 pages"));
        assert!(fs::read(&pdf).unwrap().starts_with(b"%PDF-"));
        let project = self.opened();
        let sheet = project.scoring_sheets().iter().next().unwrap();
        let form = paper::scoring_sheet::form(sheet).unwrap();
        let tag = Tag {
            sheet: sheet.id.uuid().as_u128(),
            page: 0,
            paper: form.paper(),
            landscape: form.landscape(),
        };
        (form, tag, codes)
    }

    fn photo(&self, name: &str, page: &Page) -> String {
        let mut rng = Rng::with_seed(5);
        let shot = Shot {
            megapixels: 1.6,
            turn: 180.0,
            blur: 0.05,
            ..Shot::scan(&mut rng)
        };
        let path = self.at(name);
        fs::write(&path, shot.jpeg(page)).unwrap();
        path
    }
}

/// A scored trait and a measured one.
fn names(project: &Project) -> Vec<String> {
    let find = |fits: fn(&domain::Scale) -> bool| {
        let mut all = project.traits().iter();
        all.find(|each| fits(&each.scale)).unwrap().name.clone()
    };
    vec![
        find(|scale| matches!(scale, domain::Scale::Score { .. })),
        find(|scale| matches!(scale, domain::Scale::Measure { .. })),
    ]
}

fn rows(csv: &str) -> Vec<Vec<String>> {
    csv.lines()
        .skip(1)
        .map(|line| line.split(',').map(str::to_owned).collect())
        .collect()
}

#[test]
fn what_was_filled_in_with_a_pencil_stands_in_the_project() {
    let bench = Bench::new();
    let (form, tag, codes) = bench.print();
    let mut page = Page::printed(&form, tag);
    let mut rng = Rng::with_seed(3);
    // Score 1 for the first plant, 2 for the second ...; the last two stay empty; the fifth has two bubbles filled.
    for row in 0..6 {
        mark_in(&mut page, &form, (row, 0), MarkKind::Filled, row, &mut rng);
    }
    mark_in(&mut page, &form, (4, 0), MarkKind::Scribbled, 7, &mut rng);
    mark_in(&mut page, &form, (0, 1), MarkKind::Written, 0, &mut rng);
    let photo = bench.photo("page.jpg", &page);
    let file = bench.project.to_str().unwrap();

    let looked = binewright(&["read-sheet", file, &photo]);
    assert_eq!(looked.code, 0, "{}", looked.err);
    let rows = rows(&looked.out);
    assert_eq!(rows.len(), 16);
    for (plant, code) in codes.iter().enumerate() {
        let score = &rows[2 * plant];
        assert_eq!(&score[3], code);
        let expected = match plant {
            4 | 6 | 7 => String::new(),
            _ => (plant + 1).to_string(),
        };
        assert_eq!(score[5], expected, "{score:?}");
        assert_eq!(score[7], if plant == 4 { "several filled in" } else { "" });
    }
    assert_eq!(rows[1][7], "written by hand");
    assert_eq!(rows[3][7], "");
    let before = bench.opened();

    let recorded = binewright(&[
        "read-sheet",
        file,
        &photo,
        "--record",
        "--day",
        "2027-05-30",
        "--by",
        "Ida",
    ]);
    assert_eq!(recorded.code, 0, "{}", recorded.err);
    assert!(
        recorded.err.contains("5 recorded, 2 left out"),
        "{}",
        recorded.err
    );
    let after = bench.opened();
    assert_eq!(after.observations().len(), before.observations().len() + 5);
    let of_trait = after
        .traits()
        .iter()
        .find(|each| each.name == names(&after)[0])
        .unwrap()
        .id;
    for (plant, code) in codes.iter().enumerate().take(4) {
        let id = after
            .genotypes()
            .iter()
            .find(|each| each.code == *code)
            .unwrap()
            .id;
        let scored = after.observations_of(id).any(|each| {
            each.of_trait == of_trait
                && each.value == Value::Number((plant + 1) as f64)
                && each.by == "Ida"
                && each.date.to_string() == "2027-05-30"
        });
        assert!(scored, "{code}");
    }
    let kept = after
        .photos()
        .iter()
        .find(|kept| kept.caption == "Page 1")
        .unwrap();
    let beside = bench.project.parent().unwrap().join(&kept.path);
    assert_eq!(fs::read(beside).unwrap(), fs::read(&photo).unwrap());

    // The same photo once more changes nothing.
    let again = binewright(&["read-sheet", file, &photo, "--record"]);
    assert_eq!(again.code, 2);
    assert!(again.err.contains("recorded before"), "{}", again.err);
    assert_eq!(
        bench.opened().observations().len(),
        after.observations().len()
    );
}

/// The PDF itself, made into a picture by a program that knows nothing of ours (poppler's `pdftoppm`), filled in and read
/// back: what is printed stands where the reader has it.
#[test]
fn the_printed_page_is_read_by_way_of_another_program() {
    let bench = Bench::new();
    let (form, tag, codes) = bench.print();
    let dots_to_inch = 200;
    let drawn = Command::new("pdftoppm")
        .args(["-png", "-singlefile", "-r", &dots_to_inch.to_string()])
        .args([bench.at("sheet.pdf"), bench.at("drawn")])
        .status();
    let drawn = match drawn {
        Ok(status) => status,
        Err(error) if error.kind() == ErrorKind::NotFound => {
            // .ci/run installs it.
            writeln!(
                std::io::stderr(),
                "skipped: there is no pdftoppm (package poppler-utils), which draws the PDF"
            )
            .unwrap();
            return;
        }
        Err(error) => panic!("{error}"),
    };
    assert!(drawn.success());
    let mut picture = image::open(bench.at("drawn.png")).unwrap().into_luma8();
    let scale = f64::from(dots_to_inch) / 25.4;
    let score = |plant: usize| plant % 9;
    for plant in 0..codes.len() {
        let at = form.cell(plant, 0).bubbles[score(plant)];
        let reach = scoring_sheet::layout::BUBBLE * scale;
        for (x, y, pixel) in picture.enumerate_pixels_mut() {
            let off = (f64::from(x) - at.x * scale).hypot(f64::from(y) - at.y * scale);
            if off < 0.9 * reach {
                pixel.0 = [50];
            }
        }
    }
    let path = bench.at("filled.png");
    picture.save(&path).unwrap();
    let file = bench.project.to_str().unwrap();
    let looked = binewright(&["read-sheet", file, &path]);
    assert_eq!(looked.code, 0, "{}", looked.err);
    let rows = rows(&looked.out);
    assert_eq!(rows.len(), 2 * codes.len());
    for (plant, code) in codes.iter().enumerate() {
        let read = &rows[2 * plant];
        let wanted = (score(plant) + 1).to_string();
        assert_eq!(
            (&read[3], &read[5], read[7].as_str()),
            (code, &wanted, ""),
            "{read:?}"
        );
        let sure: f64 = read[6].parse().unwrap();
        assert!(sure >= scoring_sheet::ACCEPTED, "{read:?}");
        assert_eq!(rows[2 * plant + 1][5], "");
    }
    // The code that was printed is the one that the record has.
    let bytes = fs::read(&path).unwrap();
    let photo = scoring_sheet::Photo::decode(&bytes).unwrap();
    assert_eq!(scoring_sheet::read::find(&photo).unwrap().tag(), tag);
}

#[test]
fn what_is_no_photo_of_a_sheet_gets_a_sentence() {
    let bench = Bench::new();
    let (form, tag, _) = bench.print();
    let file = bench.project.to_str().unwrap().to_owned();
    let refused = |name: &str, bytes: &[u8], words: &str| {
        let path = bench.at(name);
        fs::write(&path, bytes).unwrap();
        let done = binewright(&["read-sheet", &file, &path]);
        assert_eq!(
            (done.code, done.out.as_str()),
            (2, ""),
            "{name}: {}",
            done.err
        );
        assert!(done.err.contains(words), "{name}: {}", done.err);
    };
    refused("empty.jpg", b"", "no JPEG or PNG");
    refused(
        "text.jpg",
        b"Not a picture at all, but words.",
        "no JPEG or PNG",
    );
    let page = Page::printed(&form, tag);
    let whole = fs::read(bench.photo("whole.jpg", &page)).unwrap();
    // A decoder may fill what is missing with grey: then corners are missing.
    refused("cut.jpg", &whole[..whole.len() / 3], "");
    refused("head.jpg", &whole[..200], "damaged");

    let other = Tag { sheet: 4711, ..tag };
    let stray = fs::read(bench.photo("stray.jpg", &Page::printed(&form, other))).unwrap();
    refused("stray.jpg", &stray, "none of this project");

    let missing = binewright(&["read-sheet", &file, "/nowhere/photo.jpg"]);
    assert_eq!(missing.code, 2);
    assert!(missing.err.contains("can't be read"), "{}", missing.err);
}

#[test]
fn a_picture_that_claims_to_be_huge_is_refused_before_it_takes_memory() {
    // PNG (W3C, third edition), 11.2.1: width and height are the first eight bytes of IHDR.
    let mut bytes = b"\x89PNG\r\n\x1a\n\x00\x00\x00\x0dIHDR".to_vec();
    bytes.extend(60_000_u32.to_be_bytes());
    bytes.extend(60_000_u32.to_be_bytes());
    bytes.extend([8, 2, 0, 0, 0]);
    let check = crc(&bytes[12..]);
    bytes.extend(check.to_be_bytes());
    bytes.extend(b"\x00\x00\x00\x00IDAT\x35\xaf\x06\x1e");
    let refusal = scoring_sheet::Photo::decode(&bytes).unwrap_err();
    assert!(refusal.to_string().contains("too large"), "{refusal}");
}

/// PNG (W3C, third edition), annex D.
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |crc, &byte| {
        (0..8).fold(crc ^ u32::from(byte), |crc, _| {
            if crc & 1 == 1 {
                0xEDB8_8320 ^ (crc >> 1)
            } else {
                crc >> 1
            }
        })
    })
}

#[test]
fn a_sheet_that_cannot_be_printed_says_why_and_leaves_no_record() {
    let bench = Bench::new();
    let file = bench.project.to_str().unwrap();
    let out = bench.at("sheet.pdf");
    let unknown = binewright(&["sheet", file, "--traits", "Moonshine", "--out", &out]);
    assert_eq!(unknown.code, 2);
    assert!(
        unknown.err.contains("no trait 'Moonshine'"),
        "{}",
        unknown.err
    );
    let plant = binewright(&[
        "sheet",
        file,
        "--traits",
        &names(&bench.opened())[0],
        "--plants",
        "NOBODY-1",
        "--out",
        &out,
    ]);
    assert_eq!(plant.code, 2);
    assert!(plant.err.contains("no plant 'NOBODY-1'"), "{}", plant.err);
    assert!(!Path::new(&out).exists());
    assert_eq!(bench.opened().scoring_sheets().len(), 0);

    // Somebody has it open.
    let held = Store::new("Ida").open(&bench.project).unwrap();
    let refused = binewright(&[
        "sheet",
        file,
        "--traits",
        &names(&held.project)[0],
        "--out",
        &out,
    ]);
    assert_eq!(refused.code, 2);
    assert!(
        refused.err.contains("Nothing was changed"),
        "{}",
        refused.err
    );
}
