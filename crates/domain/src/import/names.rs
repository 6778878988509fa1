//! Plants by any name they go by, and what reads almost like a name that isn't there.

use crate::{Genotype, Id, Project};
use std::collections::{HashMap, HashSet};

/// Plants by their codes, names and other names.
pub(super) struct Names {
    known: HashMap<String, Called>,
    codes: HashSet<String>,
    shown: HashMap<String, String>,
    nearest: HashMap<String, Option<String>>,
}

#[derive(Clone, Copy)]
enum Called {
    One(Id<Genotype>),
    Several,
}

/// So many unknown names are compared with all others; after that a table is of another project.
const MOST_COMPARED: usize = 300;

/// What two names are compared by: letters without regard to size, spaces and quotes.
pub(super) fn folded(name: &str) -> String {
    name.chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '\'' | '"' | '\u{2018}' | '\u{2019}'))
        .flat_map(char::to_lowercase)
        .collect()
}

impl Names {
    pub(super) fn of(project: &Project) -> Self {
        let mut names = Self {
            known: HashMap::new(),
            codes: HashSet::new(),
            shown: HashMap::new(),
            nearest: HashMap::new(),
        };
        // A code outweighs a name, a name outweighs what else a plant is called.
        for plant in project.genotypes().iter() {
            names.add(&plant.code, plant.id, true);
        }
        for plant in project.genotypes().iter() {
            if let Some(name) = &plant.name {
                names.add(name, plant.id, false);
            }
        }
        for plant in project.genotypes().iter() {
            for name in &plant.aliases {
                names.add(name, plant.id, false);
            }
        }
        for (code, _) in project.codes() {
            names
                .shown
                .entry(folded(code))
                .or_insert_with(|| code.to_owned());
        }
        names
    }

    /// Adds a name; of two plants with one name neither is meant by it, unless it is the code of one.
    pub(super) fn add(&mut self, name: &str, plant: Id<Genotype>, is_code: bool) {
        let key = folded(name);
        if key.is_empty() {
            return;
        }
        self.shown.insert(key.clone(), name.trim().to_owned());
        match self.known.get(&key) {
            None => {
                self.known.insert(key.clone(), Called::One(plant));
            }
            Some(Called::One(other)) if *other != plant && !self.codes.contains(&key) => {
                self.known.insert(key.clone(), Called::Several);
            }
            Some(_) => {}
        }
        if is_code {
            self.codes.insert(key);
        }
    }

    /// The plant of this name.
    ///
    /// # Errors
    /// A sentence, if several plants are called so.
    pub(super) fn find(&self, name: &str) -> Result<Option<Id<Genotype>>, String> {
        match self.known.get(&folded(name)) {
            None => Ok(None),
            Some(Called::One(plant)) => Ok(Some(*plant)),
            Some(Called::Several) => Err(format!(
                "More than one plant is called {name}. Give its code."
            )),
        }
    }

    /// What is in the project and differs by a letter or two.
    pub(super) fn nearest(&mut self, name: &str) -> Option<String> {
        let wanted = folded(name);
        if let Some(known) = self.nearest.get(&wanted) {
            return known.clone();
        }
        if self.nearest.len() > MOST_COMPARED {
            return None;
        }
        let most = if wanted.chars().count() < 5 { 1 } else { 2 };
        let letters: Vec<char> = wanted.chars().collect();
        let best = self
            .shown
            .iter()
            .filter_map(|(key, shown)| {
                let distance = distance(&letters, key, most)?;
                Some((distance, shown))
            })
            .min();
        let best = best.map(|(_, shown)| shown.clone());
        self.nearest.insert(wanted, best.clone());
        best
    }
}

/// Letters to be changed, put in or left out (Levenshtein 1966), if at most `most`.
fn distance(wanted: &[char], other: &str, most: usize) -> Option<usize> {
    let other: Vec<char> = other.chars().collect();
    if wanted.len().abs_diff(other.len()) > most {
        return None;
    }
    let mut row: Vec<usize> = (0..=other.len()).collect();
    for (nth, letter) in wanted.iter().enumerate() {
        let mut before = row[0];
        row[0] = nth + 1;
        for (at, another) in other.iter().enumerate() {
            let change = before + usize::from(letter != another);
            before = row[at + 1];
            row[at + 1] = change.min(row[at] + 1).min(before + 1);
        }
        if row.iter().min().is_none_or(|least| *least > most) {
            return None;
        }
    }
    row.last().copied().filter(|distance| *distance <= most)
}
