//! Words that were on screen once and read badly don't come back: one word for one thing.
//!
//! Reads what the sources quote: labels, sentences, names for screen readers. The words that replaced them are in the
//! glossary of DEVELOPERS.md.
#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use std::fs;
use std::path::{Path, PathBuf};

/// What is retired, and what is said instead. Lower case; a phrase is found at the bounds of words.
const RETIRED: &[(&str, &str)] = &[
    ("seed parent", "female parent"),
    ("pollen parent", "male parent"),
    ("reckon", "work out, estimate"),
    ("reckoned", "worked out, estimated"),
    ("reckoning", "working out"),
    ("looked in", "checked"),
    ("look in box", "check box"),
    ("look into", "check"),
    ("looked into", "checked"),
    ("put away", "Cancel on a form, Close on a page"),
    ("take away", "remove"),
    ("taken away", "removed"),
    ("nobody wrote", "not recorded"),
    ("half of the globe", "hemisphere"),
    ("as it stood", "as it was"),
    ("came up poorly", "germinated poorly"),
    ("lay boxes", "add boxes"),
    ("read in a file", "import a file"),
    ("bring together", "merge"),
    ("bring them together", "merge"),
    ("told twice", "duplicate"),
    ("thrown out", "discarded, culled"),
    ("begin anew", "start again"),
    ("begun anew", "started again"),
    ("strength of its label", "a strength in per cent"),
    ("strength on its label", "a strength in per cent"),
];

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

/// What a source quotes, each with its line; comments and the tests at its foot are left out.
fn quoted(text: &str) -> Vec<(usize, String)> {
    let text = text.split("#[cfg(test)]").next().unwrap_or_default();
    let signs: Vec<char> = text.chars().collect();
    let (mut found, mut at, mut line) = (Vec::new(), 0, 1);
    while at < signs.len() {
        match signs[at] {
            '\n' => line += 1,
            '/' if signs.get(at + 1) == Some(&'/') => {
                while at < signs.len() && signs[at] != '\n' {
                    at += 1;
                }
                continue;
            }
            // A character, so that '"' opens nothing.
            '\'' if signs.get(at + 2) == Some(&'\'') => at += 2,
            '\'' if signs.get(at + 1) == Some(&'\\') => at += 3,
            '"' => {
                let begun = line;
                let mut words = String::new();
                at += 1;
                while at < signs.len() && signs[at] != '"' {
                    match signs[at] {
                        '\\' if signs.get(at + 1) == Some(&'\n') => {
                            at += 1;
                            line += 1;
                            while signs.get(at + 1).is_some_and(|sign| *sign == ' ') {
                                at += 1;
                            }
                        }
                        '\\' => at += 1,
                        sign => {
                            line += usize::from(sign == '\n');
                            words.push(sign);
                        }
                    }
                    at += 1;
                }
                found.push((begun, words));
            }
            _ => {}
        }
        at += 1;
    }
    found
}

/// Whether a phrase stands in a text between bounds of words.
fn says(text: &str, phrase: &str) -> bool {
    let bound = |sign: Option<char>| sign.is_none_or(|sign| !sign.is_alphanumeric() && sign != '_');
    text.match_indices(phrase).any(|(at, _)| {
        bound(text[..at].chars().next_back()) && bound(text[at + phrase.len()..].chars().next())
    })
}

#[test]
fn what_a_source_quotes_is_found_whole_and_without_its_comments() {
    let source = "// \"no\"\nlet a = \"one \\\n    two\"; let b = '\"'; let c = \"it\\\"s\"; // \"nor this\"\n";
    let expected = [(2, "one two"), (3, "its")].map(|(line, words)| (line, words.to_owned()));
    assert_eq!(quoted(source), expected);
    assert!(says("check, then look into it", "look into"));
    assert!(!says("outlook into", "look into"));
}

#[test]
fn retired_words_dont_come_back() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
    let mut files = Vec::new();
    for krate in [
        "desktop",
        "domain",
        "kit",
        "commands",
        "exchange",
        "paper",
        "family-tree",
    ] {
        sources(&root.join("crates").join(krate).join("src"), &mut files);
    }
    sources(&root.join("examples/src"), &mut files);
    let mut back = Vec::new();
    for path in files {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if name.starts_with("tests") {
            continue;
        }
        for (line, words) in quoted(&fs::read_to_string(&path).unwrap()) {
            let lower = words.to_lowercase();
            for (retired, instead) in RETIRED {
                if says(&lower, retired) {
                    let place = path.strip_prefix(root).unwrap().display();
                    back.push(format!(
                        "{place}:{line}: '{retired}' in \"{words}\": say {instead}"
                    ));
                }
            }
        }
    }
    assert!(back.is_empty(), "{}", back.join("\n"));
}
