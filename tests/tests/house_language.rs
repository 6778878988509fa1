//! What keeps the source readable: no circles between modules beyond a few that are named, no retired words, and no
//! error that is dropped without a reason.
//!
//! Reads the sources as text: it needs nothing but this folder.
#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .unwrap()
        .to_owned()
}

/// Every Rust file under a folder, with its text.
fn sources(folder: &Path) -> Vec<(PathBuf, String)> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                if path.file_name().is_none_or(|name| name != "target") {
                    folders.push(path);
                }
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                let text = fs::read_to_string(&path).unwrap();
                found.push((path, text));
            }
        }
    }
    found.sort();
    found
}

fn crates() -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(root().join("crates"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| root().join("crates").join(name).join("src").exists())
        .collect();
    names.sort();
    names
}

/// The code of a file: without comments, and without the tests at its foot.
fn code(text: &str) -> String {
    let body = text.split("#[cfg(test)]").next().unwrap();
    let lines = body.lines().map(|line| match line.find("//") {
        Some(at) => &line[..at],
        None => line,
    });
    lines.collect::<Vec<_>>().join("\n")
}

/// The modules of one crate: which names each one hands on, and the code of each.
struct Modules {
    code: BTreeMap<String, String>,
    /// A name that a module re-exports, to the path it stands for.
    handed_on: BTreeMap<(String, String), String>,
}

impl Modules {
    fn of(krate: &str) -> Self {
        let folder = root().join("crates").join(krate).join("src");
        let mut modules = Self {
            code: BTreeMap::new(),
            handed_on: BTreeMap::new(),
        };
        for (path, text) in sources(&folder) {
            let inside = path.strip_prefix(&folder).unwrap().with_extension("");
            let parts: Vec<&str> = inside.iter().map(|part| part.to_str().unwrap()).collect();
            let module = match parts[..] {
                ["lib" | "main"] => String::new(),
                _ => parts.join("::"),
            };
            if parts.last() != Some(&"tests") {
                modules.code.insert(module, code(&text));
            }
        }
        for (module, code) in &modules.code {
            for part in code.split("pub use ").skip(1) {
                for path in spread(part.split(';').next().unwrap()) {
                    let name = path.rsplit("::").next().unwrap().to_owned();
                    let full = Self::absolute(module, &path);
                    modules.handed_on.insert((module.clone(), name), full);
                }
            }
        }
        modules
    }

    /// A path as written in a module, from the root of the crate; other crates' paths lead nowhere.
    fn absolute(module: &str, path: &str) -> String {
        if let Some(rest) = path.strip_prefix("crate::") {
            return rest.to_owned();
        }
        let (mut at, mut rest) = (module.to_owned(), path);
        while let Some(after) = rest.strip_prefix("super::") {
            at = parent(&at).to_owned();
            rest = after;
        }
        joined(&at, rest.strip_prefix("self::").unwrap_or(rest))
    }

    /// The module in which what a path names is written, through what modules hand on.
    fn home(&self, path: &str) -> String {
        let mut at = String::new();
        for part in path.split("::") {
            let below = joined(&at, part);
            if self.code.contains_key(&below) {
                at = below;
            } else if let Some(other) = self.handed_on.get(&(at.clone(), part.to_owned())) {
                let next = if other == path {
                    at.clone()
                } else {
                    self.home(other)
                };
                return next;
            } else {
                return at;
            }
        }
        at
    }

    /// Which modules each module uses, by the paths that begin with `crate::` or `super::`.
    fn uses(&self) -> BTreeSet<(String, String)> {
        let mut uses = BTreeSet::new();
        for (module, code) in &self.code {
            for begin in ["crate::", "super::"] {
                for (at, _) in code.match_indices(begin) {
                    let before = code[..at].chars().next_back();
                    if before.is_some_and(|c| c.is_alphanumeric() || c == '_' || c == ':') {
                        continue;
                    }
                    for path in spread(&code[at..]) {
                        let home = self.home(&Self::absolute(module, &path));
                        uses.insert((module.clone(), home));
                    }
                }
            }
        }
        uses
    }

    /// Circles among the modules that lie side by side in one folder, files below a module counted with it.
    fn circles(&self) -> Vec<BTreeSet<String>> {
        let mut beside: BTreeMap<String, BTreeSet<(String, String)>> = BTreeMap::new();
        for (from, to) in self.uses() {
            let (from, to): (Vec<_>, Vec<_>) =
                (from.split("::").collect(), to.split("::").collect());
            let common = from.iter().zip(&to).take_while(|(a, b)| a == b).count();
            if common < from.len()
                && common < to.len()
                && !to[common].is_empty()
                && !from[common].is_empty()
            {
                let (one, other) = (from[..=common].join("::"), to[..=common].join("::"));
                beside
                    .entry(from[..common].join("::"))
                    .or_default()
                    .insert((one, other));
            }
        }
        beside.values().flat_map(circles_of).collect()
    }
}

fn parent(module: &str) -> &str {
    module.rsplit_once("::").map_or("", |(parent, _)| parent)
}

fn joined(module: &str, rest: &str) -> String {
    if module.is_empty() {
        rest.to_owned()
    } else {
        format!("{module}::{rest}")
    }
}

/// The paths that a path with braces stands for: `a::{b, c::d}` is `a::b` and `a::c::d`. Reads as far as the path goes.
fn spread(text: &str) -> Vec<String> {
    let stem_end = text
        .find(|c: char| !(c.is_alphanumeric() || c == '_' || c == ':'))
        .unwrap_or(text.len());
    let stem = &text[..stem_end];
    if !(stem.ends_with("::") && text[stem_end..].starts_with('{')) {
        return vec![stem.trim_end_matches(':').to_owned()];
    }
    let mut paths = Vec::new();
    let (mut depth, mut begin) = (0, stem_end + 1);
    for (at, sign) in text[stem_end..].char_indices() {
        let at = stem_end + at;
        match sign {
            '{' => depth += 1,
            '}' => depth -= 1,
            _ => {}
        }
        if (sign == ',' && depth == 1) || depth == 0 {
            let part = text[begin..at].trim();
            if part == "self" {
                paths.push(stem.trim_end_matches(':').to_owned());
            } else if !part.is_empty() {
                paths.extend(
                    spread(part)
                        .into_iter()
                        .map(|inner| format!("{stem}{inner}")),
                );
            }
            begin = at + 1;
        }
        if depth == 0 {
            break;
        }
    }
    paths
}

/// The sets of modules each of which reaches all others of its set.
fn circles_of(uses: &BTreeSet<(String, String)>) -> Vec<BTreeSet<String>> {
    let reach = |from: &str| {
        let (mut seen, mut open) = (BTreeSet::new(), vec![from]);
        while let Some(at) = open.pop() {
            for (_, to) in uses.iter().filter(|(one, _)| one == at) {
                if seen.insert(to.as_str()) {
                    open.push(to);
                }
            }
        }
        seen
    };
    let names: BTreeSet<&str> = uses.iter().map(|(from, _)| from.as_str()).collect();
    let reached: BTreeMap<&str, BTreeSet<&str>> =
        names.iter().map(|name| (*name, reach(name))).collect();
    let mut circles = Vec::new();
    let mut placed = BTreeSet::new();
    for name in &names {
        if placed.contains(name) {
            continue;
        }
        let circle: BTreeSet<String> = names
            .iter()
            .filter(|other| reached[*name].contains(**other) && reached[**other].contains(*name))
            .map(|other| (*other).to_owned())
            .collect();
        if circle.len() > 1 {
            placed.extend(
                names
                    .iter()
                    .copied()
                    .filter(|other| circle.contains(*other)),
            );
            circles.push(circle);
        }
    }
    circles
}

/// Circles that stand: the crate, modules that may be in one circle, and why. No circle may hold a module beyond these.
const CIRCLES: &[(&str, &[&str], &str)] = &[
    (
        "kit",
        &["form", "widgets"],
        "a form lays out fields, and a field says when it was chosen in a form",
    ),
    (
        "quant",
        &["chance", "evaluation"],
        "both use normal distributions and their covariances",
    ),
    (
        "desktop",
        &["app::files", "app::welcome"],
        "the welcome page opens files, and a file that can't be opened leads back to it",
    ),
    (
        "desktop",
        &[
            "screens::calendar",
            "screens::plants",
            "screens::record_page",
        ],
        "the page of a record leads to its day and to its parents, and both lead back",
    ),
    (
        "desktop",
        &["screens::calendar::round", "screens::calendar::to_do"],
        "the morning round is a part of the list of what is to be done",
    ),
    (
        "desktop",
        &[
            "screens::planning::compare",
            "screens::planning::pair",
            "screens::planning::pairs",
        ],
        "three views of the pairs lead to one another",
    ),
    (
        "domain",
        &[
            "ancestry", "code", "display", "edit", "id", "ledger", "macros", "project", "record",
            "refusal", "table",
        ],
        "a record's rules ask the project, and the project is made of records: what the rules ask of it (balances, \
         ancestors) and the words it is read out in hang together with both",
    ),
    (
        "domain",
        &[
            "record::chill",
            "record::cross",
            "record::disease_test",
            "record::genotype",
            "record::germination",
            "record::observation",
            "record::sample",
            "record::scale",
            "record::seed_lot",
        ],
        "records refer to one another by typed ids",
    ),
    (
        "domain",
        &["planning::prior", "planning::rates"],
        "what is thought of a rate before any was seen, and the rate learned",
    ),
    (
        "exchange",
        &["label::refusal", "label::sheet"],
        "a refusal says which sheet, and a sheet refuses",
    ),
    (
        "exchange",
        &["logger::clock", "logger::guess", "logger::import"],
        "a mapping is guessed by reading in with it",
    ),
    (
        "family-tree",
        &["draw", "layout", "marks"],
        "marks are measured for the layout and drawn from it",
    ),
    (
        "quant",
        &[
            "evaluation::equations",
            "evaluation::error",
            "evaluation::factor",
            "evaluation::fixed",
            "evaluation::model",
            "evaluation::observations",
            "evaluation::relationship",
            "evaluation::residual",
            "evaluation::selected",
            "evaluation::structure",
        ],
        "the mixed model, its equations and what they may be refused for",
    ),
    (
        "quant",
        &[
            "evaluation::fit",
            "evaluation::reml",
            "evaluation::search",
            "evaluation::solved",
        ],
        "a search solves, and a solution is searched from",
    ),
    (
        "quant",
        &["kinship::order", "kinship::pedigree", "kinship::resolve"],
        "a pedigree is put in order while it is made",
    ),
    (
        "quant",
        &["mating::problem", "mating::value"],
        "a problem holds the levels at which plans for it are valued",
    ),
    (
        "store",
        &[
            "backup",
            "damage",
            "document",
            "error",
            "history",
            "journal",
            "lock",
            "open",
            "other_copy",
            "project_file",
            "quarantine",
            "report",
        ],
        "an open project holds the store that opened it; errors name what they are about",
    ),
    (
        "store",
        &["document::lenient", "document::lines"],
        "a damaged file is read line by line where it can't be read whole",
    ),
];

#[test]
fn modules_form_no_circles_beyond_those_named() {
    let mut wrong = Vec::new();
    for krate in crates() {
        for circle in Modules::of(&krate).circles() {
            let named = CIRCLES.iter().any(|(of, may, _)| {
                *of == krate && circle.iter().all(|module| may.contains(&module.as_str()))
            });
            if !named {
                wrong.push(format!("{krate}: {circle:?}"));
            }
        }
    }
    assert!(
        wrong.is_empty(),
        "modules use one another in a circle; turn one use round, or move what both need below both:\n{}",
        wrong.join("\n")
    );
}

#[test]
fn paths_with_braces_are_spread_out() {
    assert_eq!(
        spread("crate::{a, b::{C, self}, d::e as f}; more"),
        ["crate::a", "crate::b::C", "crate::b", "crate::d::e"]
    );
    assert_eq!(spread("super::x(y)"), ["super::x"]);
    let uses = [("a", "b"), ("b", "c"), ("c", "a"), ("c", "d")];
    let uses = uses.map(|(from, to)| (from.to_owned(), to.to_owned()));
    let circle = ["a", "b", "c"].map(str::to_owned);
    assert_eq!(circles_of(&BTreeSet::from(uses)), [BTreeSet::from(circle)]);
}

/// Names that were retired, and the word that stands for each now.
const RETIRED: &[(&str, &str)] = &[
    ("BatchStanding", "BatchStatus"),
    ("BoxStanding", "BoxStatus"),
    ("Chronicle", "RecordHistory"),
    ("CoursePlot", "GerminationPlot"),
    ("Duty", "ItemKind"),
    ("Keepsakes", "Preserved"),
    ("LookInBox", "CheckBox"),
    ("Passage", "StageSurvival"),
    ("PutAside", "QuarantinedFile"),
    ("Reckoned", "ReadyEstimate"),
    ("Strand", "ParentLine"),
    ("Twig", "ChildLine"),
    ("chronicle", "record_history"),
    ("keepsakes", "preserved"),
    ("lexicon", "with_removed"),
    ("recalling", "with_removed"),
    ("turning_into", "changed_fields"),
    ("unwatched", "ignore_progress"),
];

/// Words that comments don't use; what the window says is checked where it is drawn.
const RETIRED_IN_COMMENTS: &[(&str, &str)] = &[
    ("reckon", "work out, calculate or estimate"),
    ("reckoned", "worked out, calculated or estimated"),
    ("reckoning", "calculation"),
    ("reckons", "calculates"),
    ("twin", "the same identity, or a copy"),
];

/// Names too bare to tell one type from another.
const TOO_BARE: [&str; 4] = ["Kind", "Step", "Told", "Watch"];

fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| !(c.is_alphanumeric() || c == '_'))
}

#[test]
fn retired_names_do_not_come_back() {
    let mut wrong = Vec::new();
    let mut read = 0;
    for folder in ["crates", "tests", "examples"] {
        for (path, text) in sources(&root().join(folder)) {
            // This list itself.
            if path.ends_with("tests/tests/house_language.rs") {
                continue;
            }
            read += 1;
            for (number, line) in (1..).zip(text.lines()) {
                let mut tell = |old: &str, new: &str| {
                    let at = path.strip_prefix(root()).unwrap().display();
                    wrong.push(format!("{at}:{number}: '{old}' is now '{new}'"));
                };
                for (old, new) in RETIRED {
                    // What the window says in its strings is checked where it is drawn.
                    let code = || line.split('"').step_by(2).flat_map(words);
                    if line.contains(old) && code().any(|word| word == *old) {
                        tell(old, new);
                    }
                }
                if let Some((_, comment)) = line.split_once("//") {
                    for (old, new) in RETIRED_IN_COMMENTS {
                        if words(comment).any(|word| word.eq_ignore_ascii_case(old)) {
                            tell(old, new);
                        }
                    }
                }
                let mut names = line.split_whitespace();
                let declares =
                    names.any(|word| ["struct", "enum", "trait", "type"].contains(&word));
                if let Some(name) = names.next().filter(|_| declares && folder == "crates")
                    && let Some(name) = words(name).next()
                    && TOO_BARE.contains(&name)
                    && !line.trim_start().starts_with("//")
                {
                    tell(name, "a name that says of what");
                }
            }
        }
    }
    assert!(read > 300, "only {read} sources read");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Places that may drop an error: the file, how many there are, and why nothing is lost by it.
const DROPPED: &[(&str, usize, &str)] = &[
    (
        "desktop/src/open_project/drafts.rs",
        3,
        "closing the project writes the drafts again, and reports what that meets",
    ),
    (
        "store/src/document/contents.rs",
        1,
        "writing to a String cannot fail",
    ),
    (
        "store/src/project_file.rs",
        2,
        "a change from outside that cannot be written as text is in the project all the same, and only missing from its history; where the file saved anew can't be locked itself, the lock beside it holds still",
    ),
    ("binewright/src/main.rs", 2, "no terminal listens any more"),
    (
        "commands/src/sheet.rs",
        2,
        "writing to a String cannot fail",
    ),
    (
        "commands/src/terminal.rs",
        2,
        "no terminal listens any more; writing to a String can't fail",
    ),
    (
        "desktop/src/open_project/saving.rs",
        1,
        "take_in keeps what could not be copied for the notice",
    ),
    (
        "exchange/src/typeface.rs",
        1,
        "a blank has no outline, and adds none",
    ),
    (
        "domain/src/merge/fit.rs",
        1,
        "the edit was made on a copy; refused, it is asked for part by part",
    ),
    (
        "domain/src/record/readings.rs",
        3,
        "writing to a String can't fail",
    ),
    (
        "family-tree/src/svg.rs",
        1,
        "writing to a String can't fail",
    ),
    (
        "kit/src/bell.rs",
        2,
        "a bell that can't ring; a file for the sound that is left for the system to clear",
    ),
    (
        "kit/src/worker.rs",
        2,
        "who asked is gone, and needs no answer",
    ),
    (
        "store/src/document/lenient.rs",
        1,
        "writing to a String can't fail",
    ),
    (
        "store/src/files.rs",
        3,
        "the error that led here is passed on, and what is left beside the file is written over by the next save",
    ),
    (
        "store/src/export.rs",
        1,
        "a leftover beside the file is written over by the next one",
    ),
    (
        "store/src/files/disk.rs",
        3,
        "closing a file unlocks it as well; a lock file left behind is seen as such; permissions are kept where the disk can",
    ),
    (
        "store/src/journal/writer.rs",
        2,
        "a thread that panicked has said so; what it had not written is reported by flush; an error of the history comes again where the whole is written",
    ),
    (
        "store/src/lock.rs",
        1,
        "a lock file left behind is seen as such",
    ),
    ("store/src/photos.rs", 1, "writing to a String can't fail"),
];

/// Whether a line of code drops an error: binds it to a name that is never read, ends a statement with `.ok()`, or
/// writes nothing where values can't be put into words.
fn drops_an_error(line: &str) -> bool {
    let line = line.trim();
    let bound = line
        .strip_prefix("let _")
        .and_then(|rest| rest.split_once(" = "))
        .is_some_and(|(name, _)| name.chars().all(|c| c.is_alphanumeric() || c == '_'));
    let let_go = line.ends_with(".ok();") && !line.contains('=');
    bound || let_go
}

#[test]
fn errors_are_dropped_only_where_nothing_hangs_on_them() {
    let mut counts = BTreeMap::<String, usize>::new();
    for krate in crates() {
        let folder = root().join("crates").join(&krate).join("src");
        for (path, text) in sources(&folder) {
            if path.ends_with("tests.rs") {
                continue;
            }
            let count = code(&text)
                .lines()
                .filter(|line| drops_an_error(line))
                .count();
            if count > 0 {
                let inside = path.strip_prefix(root().join("crates")).unwrap();
                counts.insert(inside.to_str().unwrap().to_owned(), count);
            }
        }
    }
    for (file, most, why) in DROPPED {
        let count = counts.remove(*file).unwrap_or(0);
        assert!(
            count <= *most,
            "{file} drops {count} errors, and may drop {most} ({why}). Pass the error on, or say here why it may go."
        );
    }
    assert!(
        counts.is_empty(),
        "errors are dropped without a reason given here: {counts:#?}"
    );
    assert!(drops_an_error("    let _ = fs::remove_file(path);"));
    assert!(drops_an_error("file.sync_all().ok();"));
    assert!(!drops_an_error("let found = text.parse().ok();"));
}
