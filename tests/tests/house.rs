//! The floors of the house, and its map: who may reach whom, what no source names, and that every path the
//! documents name is there.
//!
//! Needs nothing but the toolchain and this folder: `cargo tree` reads what the build that made this test has fetched.
#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// What draws, or asks a person.
const WINDOWS: [&str; 8] = [
    "egui",
    "eframe",
    "winit",
    "epaint",
    "glow",
    "wgpu",
    "rfd",
    "accesskit",
];
/// What opens files or looks for folders. The standard library's own ways are looked for in the source.
const FILES: [&str; 9] = [
    "cap-std",
    "directories",
    "dirs",
    "fs-err",
    "gethostname",
    "memmap2",
    "rustix",
    "tempfile",
    "walkdir",
];
/// What asks the machine for the time or for chance. (Chance from a seed that is handed in asks no one.)
const CLOCK_AND_DICE: [&str; 4] = ["getrandom", "iana-time-zone", "jiff", "time"];
/// A file that has grown beyond this holds more than one concept.
const LONGEST: usize = 700;
/// What knows the model.
const MODEL: [&str; 5] = ["domain", "store", "sample", "paper", "commands"];
/// What knows the window of this program.
const UPSTAIRS: [&str; 5] = ["binewright", "desktop", "commands", "family-tree", "kit"];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .unwrap()
        .to_owned()
}

/// Every package that `package` reaches for its own running, with the features it is built with for it alone.
fn reached_from(package: &str) -> BTreeMap<String, Vec<String>> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let output = Command::new(cargo)
        .current_dir(root())
        .args(["tree", "--offline", "--locked", "--package", package])
        .args(["--edges", "normal,no-proc-macro", "--prefix", "none"])
        .args(["--format", "{p}|{f}"])
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "cargo tree -p {package}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    let text = String::from_utf8(output.stdout).unwrap();
    let mut reached = BTreeMap::<String, Vec<String>>::new();
    for line in text.lines().filter(|line| !line.is_empty()) {
        let (package, features) = line.split_once('|').unwrap();
        let name = package.split_whitespace().next().unwrap();
        let features = features.trim_end_matches("(*)").trim();
        reached
            .entry(name.to_owned())
            .or_default()
            .extend(features.split(',').map(str::to_owned));
    }
    assert!(reached.contains_key(package), "{package} reaches itself");
    reached
}

/// That `package` reaches none of `barred`, a name also barring the packages built on it (`egui` bars `egui_extras`).
/// Returns what it reaches.
fn reaches_none(package: &str, barred: &[&[&str]]) -> BTreeMap<String, Vec<String>> {
    let reached = reached_from(package);
    let wrong: Vec<_> = reached
        .keys()
        .filter(|name| {
            barred.iter().copied().flatten().any(|bar| {
                name.strip_prefix(bar)
                    .is_some_and(|rest| rest.is_empty() || rest.starts_with(['-', '_']))
            })
        })
        .collect();
    assert!(wrong.is_empty(), "{package} reaches {wrong:?}");
    reached
}

#[test]
fn quant_is_numbers_only() {
    let names = ["serde", "chrono", "uuid", "exchange"];
    let barred: [&[&str]; 6] = [&WINDOWS, &FILES, &CLOCK_AND_DICE, &MODEL, &UPSTAIRS, &names];
    reaches_none("quant", &barred);
}

#[test]
fn domain_has_no_window_no_file_no_clock_and_no_dice() {
    let above = ["store", "exchange", "sample", "paper", "serde_json"];
    let barred: [&[&str]; 5] = [&WINDOWS, &FILES, &CLOCK_AND_DICE, &UPSTAIRS, &above];
    let reached = reaches_none("domain", &barred);
    let asks = |package: &str, features: &[&str]| {
        let asked = &reached[package];
        let asked = asked
            .iter()
            .find(|asked| features.contains(&asked.as_str()));
        assert_eq!(asked, None, "domain asks {package} for this");
    };
    asks("chrono", &["clock", "now"]);
    asks("uuid", &["v1", "v4", "v6", "v7", "rng", "fast-rng"]);
}

#[test]
fn store_and_exchange_know_no_window_and_not_each_other() {
    reaches_none("store", &[&WINDOWS, &UPSTAIRS, &["exchange", "paper"]]);
    reaches_none("exchange", &[&WINDOWS, &UPSTAIRS, &MODEL]);
    reaches_none(
        "scoring-sheet",
        &[&WINDOWS, &UPSTAIRS, &MODEL, &["exchange"]],
    );
}

#[test]
fn paper_knows_no_window_and_no_file() {
    reaches_none("paper", &[&WINDOWS, &UPSTAIRS, &["store"]]);
}

#[test]
fn the_command_line_knows_no_window() {
    let above = ["binewright", "desktop", "family-tree", "kit"];
    reaches_none("commands", &[&WINDOWS, &above]);
}

#[test]
fn what_windows_are_built_from_knows_nothing_of_the_model() {
    let above = ["binewright", "desktop", "exchange", "quant"];
    reaches_none("kit", &[&MODEL, &above, &["family-tree"]]);
    reaches_none("family-tree", &[&MODEL, &above]);
}

/// Every file of ours under `folder`, as paths from the root; what is built and what git keeps are left out.
fn files_under(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_str().unwrap();
            if path.is_file() {
                files.push(path.strip_prefix(root()).unwrap().to_owned());
            } else if !["target", ".git"].contains(&name) {
                folders.push(path);
            }
        }
    }
    files.sort();
    files
}

fn rust_sources(krate: &str) -> Vec<PathBuf> {
    let mut files = files_under(&root().join("crates").join(krate).join("src"));
    files.retain(|path| path.extension().is_some_and(|ending| ending == "rs"));
    assert!(!files.is_empty(), "crates/{krate}/src has sources");
    files
}

/// That no line of a crate, comments aside, names any of `barred`.
fn names_none(krate: &str, barred: &[&str]) {
    let mut wrong = Vec::new();
    for path in rust_sources(krate) {
        let text = fs::read_to_string(root().join(&path)).unwrap();
        for (number, line) in (1..).zip(text.lines()) {
            let code = line.split("//").next().unwrap_or("");
            if barred.iter().any(|bar| code.contains(bar)) {
                wrong.push(format!("{}:{number}: {}", path.display(), line.trim()));
            }
        }
    }
    assert!(wrong.is_empty(), "{krate}:\n{}", wrong.join("\n"));
}

/// The standard library's ways to files, to the machine and its clock.
const MACHINE: [&str; 8] = [
    "std::fs",
    "std::env",
    "std::net",
    "std::process",
    "fs::File",
    "SystemTime",
    "Local::now",
    "Utc::now",
];

#[test]
fn quant_and_domain_name_no_file_and_no_clock() {
    for krate in ["quant", "domain"] {
        names_none(krate, &MACHINE);
        names_none(krate, &["std::time::Instant", "Instant::now"]);
    }
}

#[test]
fn exchange_hands_bytes_back_and_opens_no_file() {
    names_none("exchange", &MACHINE);
}

/// The standard library's ways to change what a disk holds.
const WRITES: [&str; 7] = [
    "fs::write",
    "File::create",
    "OpenOptions",
    "fs::rename",
    "fs::copy",
    "fs::hard_link",
    "create_new",
];

/// What is written goes through `store`, which writes beside, syncs, renames, and follows no link. Benches, tests and
/// examples write where nobody's work lies.
#[test]
fn only_store_writes_files() {
    for krate in fs::read_dir(root().join("crates")).unwrap() {
        let krate = krate.unwrap().file_name();
        if krate != "store" {
            names_none(krate.to_str().unwrap(), &WRITES);
        }
    }
}

#[test]
fn the_documents_name_only_paths_that_are_there() {
    let all = files_under(&root());
    let is_there = |named: &str| {
        let named = Path::new(named);
        root().join(named).exists()
            || all.iter().any(|path| {
                path.ancestors()
                    .any(|part| !part.as_os_str().is_empty() && part.ends_with(named))
            })
    };
    let mut found = 0;
    for document in ["README.md", "DEVELOPERS.md"] {
        let text = fs::read_to_string(root().join(document)).unwrap();
        for path in paths_in(&text) {
            assert!(
                is_there(path),
                "{document} names {path}, which is not there"
            );
            found += 1;
        }
    }
    assert!(found > 20, "only {found} paths found in the documents");
}

/// The paths a document names: what stands in backticks with a slash or a file's ending and no space, the
/// targets of links, and what begins with one of our folders in a block of code. Patterns such as `NAME.rs`
/// and `foo/` name no one file.
fn paths_in(text: &str) -> Vec<&str> {
    let endings = [".rs", ".md", ".toml", ".json", ".csv", ".png"];
    let mut paths = Vec::new();
    for (nth, block) in text.split("```").enumerate() {
        if nth % 2 == 1 {
            paths.extend(block.split_whitespace().filter(|word| {
                ["crates/", "tests/", "examples/", "assets/", ".ci/"]
                    .iter()
                    .any(|folder| word.starts_with(folder))
            }));
            continue;
        }
        let spans = block.split('`').skip(1).step_by(2);
        paths.extend(spans.filter(|span| {
            let path_like =
                span.contains('/') || endings.iter().any(|ending| span.ends_with(ending));
            path_like && !span.contains([' ', '<', '=', ':'])
        }));
        let links = block.split("](").skip(1);
        paths.extend(links.filter_map(|rest| rest.split(')').next()));
    }
    paths.retain(|path| !path.contains("NAME") && !path.starts_with("foo"));
    paths
}

#[test]
fn paths_are_told_from_other_words() {
    let text = "See `crates/x/src/a.rs`, `record/`, `b.rs` and `cargo run -p x/y`; not `view::Screen`, `foo.rs` \
        or `screens/NAME.rs`. [Here](C.md).\n```\ncrates/x    what (a/b)\n```\n";
    assert_eq!(
        paths_in(text),
        ["crates/x/src/a.rs", "record/", "b.rs", "C.md", "crates/x"]
    );
}

#[test]
fn no_file_holds_more_than_one_can_read() {
    let mut long = Vec::new();
    for krate in fs::read_dir(root().join("crates")).unwrap() {
        let krate = krate.unwrap().file_name();
        for path in rust_sources(krate.to_str().unwrap()) {
            let text = fs::read_to_string(root().join(&path)).unwrap();
            let lines = text.lines().count();
            if lines > LONGEST {
                long.push(format!("{} has {lines} lines", path.display()));
            }
        }
    }
    assert!(long.is_empty(), "split by concept: {long:#?}");
}
