//! What the program is built from: licences, sources, versions that stand twice, and dependencies nobody names.
//!
//! Needs nothing but the toolchain and this folder. Whether a vulnerability of a dependency has become known only the
//! advisory database can tell; DEVELOPERS.md has the command.
#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Licences that let the program be given to anyone, under the terms of its own.
const LICENCES: [&str; 12] = [
    "0BSD",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "ISC",
    "MIT",
    "MPL-2.0",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
];

/// Libraries that stand in the program in more than one version, and why. Take a line out as soon as it can go.
const TWICE: [(&str, &str); 15] = [
    ("equator", "nano-gemm lags behind faer"),
    ("equator-macro", "nano-gemm lags behind faer"),
    ("font-types", "krilla lags behind epaint"),
    ("getrandom", "ahash lags behind zip"),
    ("itertools", "clarabel lags behind egui"),
    ("linux-raw-sys", "winit lags behind zbus"),
    ("miniz_oxide", "png lags behind flate2"),
    (
        "quick-xml",
        "wayland's generator, at build time, lags behind calamine",
    ),
    ("read-fonts", "krilla lags behind epaint"),
    ("rustix", "winit lags behind zbus"),
    ("skrifa", "krilla lags behind epaint"),
    ("strsim", "clarabel's derives lag behind clap"),
    ("syn", "at build time: three generations of derives"),
    ("thiserror", "winit and clarabel lag behind"),
    ("thiserror-impl", "winit and clarabel lag behind"),
];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .unwrap()
        .to_owned()
}

/// The lines that `cargo tree` prints, each package once.
fn tree(arguments: &[&str]) -> BTreeSet<String> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let output = Command::new(cargo)
        .current_dir(root())
        .args(["tree", "--offline", "--locked", "--prefix", "none"])
        .args(arguments)
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "cargo tree: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    let text = String::from_utf8(output.stdout).unwrap();
    let lines = text.lines().map(|line| line.trim_end_matches(" (*)"));
    lines
        .filter(|line| !line.is_empty())
        .map(str::to_owned)
        .collect()
}

/// Whether an expression such as `(MIT OR Apache-2.0) AND ISC` can be met with the licences of the list.
fn is_met(expression: &str) -> bool {
    let expression = expression.replace('/', " OR ");
    let words = expression.replace('(', " ( ").replace(')', " ) ");
    let words: Vec<&str> = words.split_whitespace().collect();
    let (met, rest) = alternatives(&words);
    met && rest.is_empty()
}

/// Reads alternatives; gives whether one can be met, and what follows them.
fn alternatives<'a>(words: &'a [&'a str]) -> (bool, &'a [&'a str]) {
    let (mut met, mut rest) = conditions(words);
    while let Some(after) = rest.strip_prefix(&["OR"]) {
        let (other, left) = conditions(after);
        (met, rest) = (met || other, left);
    }
    (met, rest)
}

/// Reads conditions that hold together.
fn conditions<'a>(words: &'a [&'a str]) -> (bool, &'a [&'a str]) {
    let (mut met, mut rest) = licence(words);
    while let Some(after) = rest.strip_prefix(&["AND"]) {
        let (other, left) = licence(after);
        (met, rest) = (met && other, left);
    }
    (met, rest)
}

fn licence<'a>(words: &'a [&'a str]) -> (bool, &'a [&'a str]) {
    match words {
        ["(", inner @ ..] => {
            let (met, rest) = alternatives(inner);
            rest.strip_prefix(&[")"])
                .map_or((false, rest), |rest| (met, rest))
        }
        [name, "WITH", exception, rest @ ..] => {
            let name = format!("{name} WITH {exception}");
            (LICENCES.contains(&name.as_str()), rest)
        }
        [name, rest @ ..] => {
            // 'Or any later version' gives more, not less.
            (LICENCES.contains(&name.trim_end_matches('+')), rest)
        }
        [] => (false, words),
    }
}

#[test]
fn every_licence_lets_the_program_be_given_on() {
    let all = tree(&[
        "--workspace",
        "--edges",
        "normal,build,dev",
        "--format",
        "{p}|{l}",
    ]);
    assert!(all.len() > 100, "only {} packages", all.len());
    let wrong: Vec<_> = all
        .iter()
        .filter(|line| !line.split_once('|').is_some_and(|(_, named)| is_met(named)))
        .collect();
    assert!(wrong.is_empty(), "not on the list of licences: {wrong:#?}");
}

#[test]
fn licences_are_read_as_they_are_meant() {
    assert!(is_met("MIT"));
    assert!(is_met("MIT/Apache-2.0"));
    assert!(is_met("GPL-3.0-only OR MIT"));
    assert!(is_met("(MIT OR GPL-2.0-only) AND Unicode-3.0"));
    assert!(is_met("Apache-2.0 WITH LLVM-exception"));
    assert!(!is_met("(MIT OR Apache-2.0) AND GPL-3.0-only"));
    assert!(!is_met("GPL-2.0-only WITH Classpath-exception-2.0"));
    assert!(!is_met("AGPL-3.0-only"));
    assert!(!is_met("(MIT"));
    assert!(!is_met(""));
}

#[test]
fn everything_comes_from_the_registry() {
    for lock in ["Cargo.lock", "tests/fuzz/Cargo.lock"] {
        let text = fs::read_to_string(root().join(lock)).unwrap();
        let sources: BTreeSet<&str> = text
            .lines()
            .filter(|line| line.starts_with("source = "))
            .collect();
        let registry = r#"source = "registry+https://github.com/rust-lang/crates.io-index""#;
        assert_eq!(sources, BTreeSet::from([registry]), "{lock}");
    }
}

#[test]
fn no_library_stands_in_the_program_twice_beyond_those_listed() {
    let package = ["--package", "binewright", "--edges", "normal,build"];
    let all = tree(&[&package[..], &["--format", "{p}"]].concat());
    let mut versions = BTreeMap::<&str, BTreeSet<&str>>::new();
    for line in &all {
        let mut words = line.split_whitespace();
        let (name, version) = (words.next().unwrap(), words.next().unwrap());
        versions.entry(name).or_default().insert(version);
    }
    versions.retain(|_, versions| versions.len() > 1);
    let found: BTreeSet<_> = versions.keys().copied().collect();
    let listed: BTreeSet<_> = TWICE.iter().map(|(name, _)| *name).collect();
    let new: Vec<_> = found
        .difference(&listed)
        .map(|name| (name, &versions[name]))
        .collect();
    assert!(new.is_empty(), "more than one version: {new:#?}");
    let gone: Vec<_> = listed.difference(&found).collect();
    assert!(
        gone.is_empty(),
        "only one version now, strike it off: {gone:?}"
    );
}

/// The folders of the packages of this workspace.
fn packages() -> Vec<PathBuf> {
    let crates = fs::read_dir(root().join("crates")).unwrap();
    let crates = crates.map(|entry| entry.unwrap().path());
    crates
        .filter(|folder| folder.join("Cargo.toml").exists())
        .chain([root().join("tests"), root().join("examples")])
        .collect()
}

/// The dependencies that a manifest declares, and the name of its package.
fn declared(manifest: &str) -> (String, Vec<String>) {
    let (mut name, mut dependencies, mut section) = ("", Vec::new(), "");
    for line in manifest.lines() {
        if let Some(title) = line.strip_prefix('[') {
            section = title.trim_end_matches(']');
        } else if let Some((key, value)) = line.split_once('=') {
            let key = key.trim().trim_end_matches(".workspace");
            if section == "package" && key == "name" {
                name = value.trim().trim_matches('"');
            } else if section.ends_with("dependencies") && !key.starts_with('#') {
                dependencies.push(key.to_owned());
            }
        }
    }
    (name.to_owned(), dependencies)
}

/// The code of a package, comments left out.
fn code(folder: &Path) -> String {
    let mut code = String::new();
    let mut folders: Vec<_> = ["src", "tests", "benches", "examples"]
        .iter()
        .map(|part| folder.join(part))
        .collect();
    while let Some(folder) = folders.pop() {
        let Ok(entries) = fs::read_dir(&folder) else {
            continue;
        };
        for entry in entries {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                for line in fs::read_to_string(&path).unwrap().lines() {
                    // Examples in the docs are code too.
                    let line = line.trim_start();
                    let line = line
                        .strip_prefix("//!")
                        .or(line.strip_prefix("///"))
                        .unwrap_or(line);
                    code.push_str(line.split("//").next().unwrap_or(""));
                    code.push('\n');
                }
            }
        }
    }
    code
}

/// Whether a crate is named: `serde::`, `use serde;` or `serde as`, not as a part of a longer name.
fn names(code: &str, dependency: &str) -> bool {
    let dependency = dependency.replace('-', "_");
    code.match_indices(&dependency).any(|(at, _)| {
        let before = code[..at].chars().next_back();
        let after = &code[at + dependency.len()..];
        let starts = !before.is_some_and(|sign| sign.is_alphanumeric() || "_:.".contains(sign));
        starts
            && ["::", ";", " as "]
                .iter()
                .any(|sign| after.starts_with(sign))
    })
}

#[test]
fn every_dependency_declared_is_named_in_the_source() {
    let mut idle = BTreeSet::new();
    let mut seen = 0;
    for folder in packages() {
        let manifest = fs::read_to_string(folder.join("Cargo.toml")).unwrap();
        let (package, dependencies) = declared(&manifest);
        let code = code(&folder);
        for dependency in dependencies {
            seen += 1;
            if !names(&code, &dependency) {
                idle.insert(format!("{package}: {dependency}"));
            }
        }
    }
    assert!(seen > 40, "only {seen} dependencies were found");
    assert!(idle.is_empty(), "declared and never named: {idle:#?}");
}

#[test]
fn every_dependency_of_the_workspace_is_taken_by_a_package() {
    let manifest = fs::read_to_string(root().join("Cargo.toml")).unwrap();
    let (_, offered) = declared(&manifest);
    assert!(offered.len() > 20);
    let taken: BTreeSet<String> = packages()
        .iter()
        .flat_map(|folder| declared(&fs::read_to_string(folder.join("Cargo.toml")).unwrap()).1)
        .collect();
    let idle: Vec<_> = offered
        .iter()
        .filter(|name| !taken.contains(*name))
        .collect();
    assert!(idle.is_empty(), "no package takes {idle:?}");
}
