//! Codes that people read: how the next free one is found.

use crate::project::Project;
use serde::{Deserialize, Serialize};

/// From this on a run of digits isn't a running number: counting on from it could overflow.
const MOST: u64 = 1_000_000_000_000;

/// How codes are made: text in which `{family}` stands for the code of the family and a run of `#` for a
/// running number of at least as many digits. `{family}-###` gives `26-04-001`, `26-04-002`, …
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(transparent)]
pub struct Template(pub String);

impl Default for Template {
    fn default() -> Self {
        Self("{family}-###".into())
    }
}

impl Template {
    /// What is wrong with the template, if anything.
    pub fn fault(&self) -> Option<String> {
        let runs = self
            .0
            .split(|sign| sign != '#')
            .filter(|run| !run.is_empty())
            .count();
        (runs != 1).then(|| {
            format!(
                "'{}' needs one run of # for the number, as in {{family}}-###.",
                self.0
            )
        })
    }

    /// The next `count` free codes of a family: they go on after the highest number in use, so that a code
    /// once given to a plant since culled never comes up again.
    pub fn next_codes(&self, project: &Project, family: &str, count: usize) -> Vec<String> {
        let Some((before, rest)) = self.0.split_once('#') else {
            return Vec::new();
        };
        let after = rest.trim_start_matches('#');
        let digits = 1 + rest.len() - after.len();
        // The family's code is put in last, so that a # in it isn't taken for the place of the number.
        let [prefix, suffix] = [before, after].map(|part| part.replace("{family}", family));
        let (prefix_folded, suffix_folded) = (prefix.to_lowercase(), suffix.to_lowercase());
        let highest: Option<u64> = project
            .codes_beginning(&prefix)
            .filter_map(|code| {
                code.get(prefix_folded.len()..)?
                    .strip_suffix(suffix_folded.as_str())?
                    .parse()
                    .ok()
            })
            .filter(|number| *number < MOST)
            .max();
        let next = highest.map_or(1, |highest| highest + 1);
        (next..)
            .take(count)
            .map(|number| format!("{prefix}{number:0digits$}{suffix}"))
            .collect()
    }
}

/// The first free code of the form `prefix` and a running number of two digits or more.
pub fn next_code(project: &Project, prefix: &str) -> String {
    Template(format!("{prefix}##"))
        .next_codes(project, "", 1)
        .pop()
        .unwrap_or_default()
}
