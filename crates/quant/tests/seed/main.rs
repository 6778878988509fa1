//! Germination, shares, ratios and stored seed held against published figures, against another library, and against
//! what must hold for any counts.

#![expect(
    clippy::doc_markdown,
    reason = "names of libraries, and the symbols of the sources"
)]

mod invariants;
mod other_library;
mod published;

/// Whether two numbers agree to within `tolerance`.
fn near(value: f64, expected: f64, tolerance: f64) {
    assert!(
        (value - expected).abs() <= tolerance,
        "{value} instead of {expected}"
    );
}
