//! A bell for when a time is over.
//!
//! Libraries that play sound need a sound system's development files to build on Linux, and this program builds with
//! the toolchain alone. So the bell is a short sound made here, written to a file for the machine's own player: what
//! desktops bring along. Where there is none, the terminal's bell is rung; the window shows it in any case.

use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};

/// Rings once.
pub type Bell = Box<dyn FnMut()>;

/// A bell that makes no sound, for tests.
pub fn silent() -> Bell {
    Box::new(|| ())
}

/// The machine's own: it never keeps the window waiting, and one ring ends before the next begins.
///
/// `write` brings the sound into a file; it says whether it could.
pub fn of_this_machine(write: fn(&Path, &[u8]) -> bool) -> Bell {
    static RINGING: AtomicBool = AtomicBool::new(false);
    Box::new(move || {
        if RINGING.swap(true, Ordering::AcqRel) {
            return;
        }
        std::thread::spawn(move || {
            if !play(write) {
                // Nobody may be listening there either.
                let _unheard = std::io::stderr().write_all(b"\x07");
            }
            RINGING.store(false, Ordering::Release);
        });
    })
}

/// Plays the sound with the first player that can; whether one could.
fn play(write: fn(&Path, &[u8]) -> bool) -> bool {
    let Some(file) = written(write) else {
        return false;
    };
    let played = players(&file).into_iter().any(|(player, arguments)| {
        Command::new(player)
            .args(arguments)
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status()
            .is_ok_and(|status| status.success())
    });
    let _left_behind = std::fs::remove_file(&file);
    played
}

/// The players of the systems, the likeliest first.
fn players(file: &Path) -> Vec<(&'static str, Vec<String>)> {
    let path = file.display().to_string();
    if cfg!(target_os = "windows") {
        let play = format!(
            "(New-Object Media.SoundPlayer '{}').PlaySync()",
            path.replace('\'', "''")
        );
        return vec![(
            "powershell",
            vec!["-NoProfile".into(), "-Command".into(), play],
        )];
    }
    if cfg!(target_os = "macos") {
        return vec![("afplay", vec![path])];
    }
    vec![
        ("pw-play", vec![path.clone()]),
        ("paplay", vec![path.clone()]),
        ("aplay", vec!["-q".into(), path]),
    ]
}

/// The sound in a file of its own, or nothing if none can be written.
fn written(write: fn(&Path, &[u8]) -> bool) -> Option<PathBuf> {
    let file = std::env::temp_dir().join(format!("binewright-bell-{}.wav", std::process::id()));
    write(&file, &sound()).then_some(file)
}

/// Samples a second.
const RATE: u32 = 22_050;

/// Three strokes of a bell as a WAV file: 16 bits, one channel.
fn sound() -> Vec<u8> {
    let stroke = RATE as usize * 2 / 5;
    let samples = (0..3 * stroke).map(|nth| {
        let time = (nth % stroke) as f32 / RATE as f32;
        let fading = (-9.0 * time).exp() * (time * 200.0).min(1.0);
        let tone = |hertz: f32| (std::f32::consts::TAU * hertz * time).sin();
        let wave = fading * (0.6 * tone(1046.5) + 0.3 * tone(2093.0) + 0.1 * tone(3140.0));
        (wave * 28_000.0) as i16
    });
    let data: Vec<u8> = samples.flat_map(i16::to_le_bytes).collect();
    let length = data.len() as u32;
    let mut file = Vec::with_capacity(44 + data.len());
    file.extend_from_slice(b"RIFF");
    file.extend_from_slice(&(36 + length).to_le_bytes());
    file.extend_from_slice(b"WAVEfmt ");
    file.extend_from_slice(&16_u32.to_le_bytes());
    // Plain samples, one channel.
    file.extend_from_slice(&1_u16.to_le_bytes());
    file.extend_from_slice(&1_u16.to_le_bytes());
    file.extend_from_slice(&RATE.to_le_bytes());
    file.extend_from_slice(&(RATE * 2).to_le_bytes());
    file.extend_from_slice(&2_u16.to_le_bytes());
    file.extend_from_slice(&16_u16.to_le_bytes());
    file.extend_from_slice(b"data");
    file.extend_from_slice(&length.to_le_bytes());
    file.extend_from_slice(&data);
    file
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sound_is_a_file_that_tells_its_own_length_and_is_loud_enough() {
        // The layout of RIFF WAVE, as in Microsoft's multimedia programming reference of 1991 (from memory).
        let file = sound();
        let number = |at: usize| u32::from_le_bytes(file[at..at + 4].try_into().unwrap());
        assert_eq!((&file[..4], &file[8..16]), (&b"RIFF"[..], &b"WAVEfmt "[..]));
        assert_eq!(number(4) as usize, file.len() - 8);
        assert_eq!(number(40) as usize, file.len() - 44);
        let loudest = file[44..]
            .chunks(2)
            .map(|pair| i16::from_le_bytes([pair[0], pair[1]]).unsigned_abs());
        assert!(loudest.max().unwrap() > 10_000);
    }
}
