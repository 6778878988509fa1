//! Temperature files as loggers write them: any usual separator, decimal commas, °C or °F, dates in any order, clocks
//! of 12 or 24 hours, lines of header, columns of numbers that mean nothing here.
//!
//! [`guess`] looks at the beginning of a file and proposes a [`Mapping`]; a person may correct it; [`import`] reads the
//! file through it, line by line. Nothing is dropped silently: every line of the file ends as part of the header, as a
//! blank, as a reading, as a [`BadRow`] with its reason, or as a [`Duplicate`].
//!
//! ```
//! use exchange::logger;
//! let file = "Logger 20417\nTime;Temp (°C)\n05.01.2026 08:00;3,5\n05.01.2026 08:30;3,6\n05.01.2026 09:00;---\n";
//! let guess = logger::guess(file.as_bytes());
//! let import = logger::import(file.as_bytes(), &guess.mapping, &mut |_| true)?.unwrap();
//! assert_eq!((import.header_lines, import.readings.len(), import.bad.len()), (2, 2, 1));
//! assert_eq!(import.bad[0].to_string(), "line 5: '---' is no temperature.");
//! # Ok::<(), std::io::Error>(())
//! ```

mod clock;
mod degrees;
mod fields;
mod guess;
mod import;
mod lines;
mod mapping;
mod when;

pub use clock::{ClockChange, ClockChangeKind};
pub use guess::{Guess, HEAD, guess, guess_with};
pub use import::{BadRow, Duplicate, Import, Reading, holds_for, import};
pub use mapping::{Encoding, Mapping, Separator, TimeForm, Unit};

#[cfg(test)]
mod tests;
