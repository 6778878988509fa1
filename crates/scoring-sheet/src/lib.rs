//! A scoring sheet: paper that is filled in with a pencil, and read back from a photo or a scan.
//!
//! [`layout`] says in millimetres where everything stands; what prints the sheet and what reads it both go by it.
//! [`tag`] is what its QR code says. [`read`] finds the page on a photo, takes out perspective, bend and shade, and
//! reads the bubbles, each answer with a confidence. Nothing here knows what a plant or a trait is: a sheet has rows
//! and columns.

pub mod geometry;
pub mod layout;
pub mod read;
pub mod shapes;
pub mod tag;

pub use layout::{Column, Form, Paper};
pub use read::{ACCEPTED, Found, Photo, Reading, Refusal};
pub use tag::Tag;
