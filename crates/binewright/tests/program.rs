//! The program as a script or a desktop starts it: a process of its own.
#![expect(clippy::unwrap_used, reason = "a test stops where it can't go on")]

use std::process::{Command, Output};

/// The program with no display to open a window on, and no folder of the person who runs the tests.
fn run(arguments: &[&str]) -> Output {
    let home = tempfile::tempdir().unwrap();
    Command::new(env!("CARGO_BIN_EXE_binewright"))
        .args(arguments)
        .env("HOME", home.path())
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .env_remove("WAYLAND_SOCKET")
        .env_remove("XDG_CONFIG_HOME")
        .env_remove("XDG_DATA_HOME")
        .output()
        .unwrap()
}

fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap()
}

#[test]
fn its_version_is_that_of_the_package() {
    let output = run(&["--version"]);
    assert!(output.status.success());
    let expected = format!("binewright {}\n", env!("CARGO_PKG_VERSION"));
    assert_eq!(text(&output.stdout), expected);
}

#[test]
#[cfg(target_os = "linux")]
fn without_a_display_it_says_so_in_one_line() {
    let output = run(&[]);
    assert_eq!(output.status.code(), Some(2));
    let words = text(&output.stderr);
    assert_eq!(words.lines().count(), 1, "{words}");
    assert!(words.contains("no display is available"), "{words}");
}

#[test]
fn a_command_works_where_no_window_does() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("season.binewright");
    let file = file.to_str().unwrap();
    let output = run(&["sample", file, "--today", "2026-03-01"]);
    assert!(output.status.success(), "{}", text(&output.stderr));
    let output = run(&["agenda", file, "--today", "2026-03-01"]);
    assert!(output.status.success(), "{}", text(&output.stderr));
    assert!(text(&output.stdout).lines().count() > 3);
}

/// A disk that is full is told by the exit code, whatever was to be printed.
#[test]
#[cfg(target_os = "linux")]
fn what_can_not_be_printed_fails() {
    for arguments in [
        &["--help"][..],
        &["--version"],
        &["trial", "--help"],
        &["design", "--entries", "4", "--replicates", "2"],
    ] {
        let full = std::fs::File::options()
            .write(true)
            .open("/dev/full")
            .unwrap();
        let status = Command::new(env!("CARGO_BIN_EXE_binewright"))
            .args(arguments)
            .stdout(full)
            .stderr(std::process::Stdio::null())
            .status()
            .unwrap();
        assert_eq!(status.code(), Some(2), "{arguments:?}");
    }
}

#[test]
fn an_unknown_word_is_refused_with_exit_code_2() {
    let output = run(&["--no-such-thing"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains("--no-such-thing"));
}
