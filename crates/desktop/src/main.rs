//! Starts Binewright.

fn main() {}
