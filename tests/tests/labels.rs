//! Labels read back by a decoder that shares no code with the encoder (`rqrr`).
#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use exchange::label::{LabelContent, LabelLine, PlacedQr, QUIET_ZONE, Sheet, Size, Slot, layout};

/// Pixels a module is drawn with.
const SCALE: usize = 5;

/// Draws a QR code with its quiet zone, black on white, and decodes what it finds.
fn read(qr: &PlacedQr) -> Vec<String> {
    let quiet = QUIET_ZONE as usize;
    let side = (qr.modules.side() as usize + 2 * quiet) * SCALE;
    let mut image = rqrr::PreparedImage::prepare_from_greyscale(side, side, |x, y| {
        let module = |pixel: usize| {
            (pixel / SCALE)
                .checked_sub(quiet)
                .map(|module| module as u32)
        };
        let dark = module(x)
            .zip(module(y))
            .is_some_and(|(column, row)| qr.modules.is_dark(column, row));
        if dark { 0 } else { 255 }
    });
    image
        .detect_grids()
        .iter()
        .map(|grid| grid.decode().unwrap().1)
        .collect()
}

fn label(code: &str) -> LabelContent {
    LabelContent {
        code: code.to_owned(),
        lines: vec![LabelLine::Note("bench 2".to_owned())],
    }
}

#[test]
fn every_qr_code_holds_exactly_its_code() {
    let mut codes: Vec<String> = (1..=40)
        .map(|n| format!("HB26-{n:04}-{:03}", n * 7))
        .collect();
    let odd = [
        "7",
        "box c-12",
        "A+B=C/D:E $%*.",
        "Lot 'late' no. 5 (2026), #3",
        "0012345678901234",
    ];
    codes.extend(odd.map(str::to_owned));
    codes.push("LONG-CODE-".repeat(5));
    let contents: Vec<LabelContent> = codes.iter().map(|code| label(code)).collect();
    for sheet in [
        Sheet::presets()[0].clone(),
        Sheet::single(Size::new(60.0, 40.0)),
    ] {
        let layout = layout(&sheet, Slot::FIRST, &contents).unwrap();
        let labels = layout.pages.iter().flat_map(|page| &page.labels);
        let read: Vec<String> = labels.flat_map(|label| read(&label.qr)).collect();
        assert_eq!(read, codes, "{}", sheet.name());
    }
}

/// Text beyond ASCII is announced as UTF-8 (ECI 26; ISO/IEC 18004:2015, 7.4.2), none of it taken
/// for Kanji although bytes of '♀' could be.
#[test]
fn codes_beyond_ascii_come_back_as_they_were() {
    let codes = ["Ägir-7", "Łąka 04 ♀", "ΩΣ-α12"];
    let contents: Vec<LabelContent> = codes.iter().map(|code| label(code)).collect();
    let layout = layout(&Sheet::presets()[0], Slot::FIRST, &contents).unwrap();
    let labels = layout.pages[0].labels.iter();
    assert_eq!(
        labels.flat_map(|label| read(&label.qr)).collect::<Vec<_>>(),
        codes
    );
}
