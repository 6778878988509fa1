//! Pages as a printer and a hand make them, and photos of them as a telephone takes them: all from a number.
#![allow(
    clippy::unwrap_used,
    dead_code,
    unreachable_pub,
    reason = "shared by tests and benches, each of which uses a part"
)]

pub mod camera;
pub mod hand;
pub mod page;

use fastrand::Rng;

/// A number between two others.
pub fn within(rng: &mut Rng, from: f64, to: f64) -> f64 {
    from + (to - from) * rng.f64()
}
