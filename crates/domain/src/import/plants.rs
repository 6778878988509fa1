//! Plants with their parents, in any order: a parent may stand in a later row, or in none.

use super::columns::Meaning;
use super::crosses::OPEN;
use super::names::folded;
use super::purdy::{self, Descent};
use super::{Fate, Fault, Planned, Reader, Sink, changed};
use crate::date::PartialDate;
use crate::record::genotype::{Origin, Ploidy, Sex, SexBasis, SexRecord};
use crate::record::permission::{BreedingUse, Permission};
use crate::words::plural;
use crate::{Cross, Edit, Genotype, Id, Pollen, Project};
use chrono::Datelike as _;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// Crosses by their female parent and, if it is known, their male one.
type ByParents = HashMap<(Id<Genotype>, Option<Id<Genotype>>), Id<Cross>>;

/// What is made beside the plants of the rows: parents without a row, and crosses between parents.
struct Beside {
    edits: Vec<Edit>,
    /// Crosses by their parents.
    crosses: ByParents,
    parents: usize,
    new_crosses: usize,
    /// The parents that rows give their plants.
    of_rows: HashMap<Id<Genotype>, Vec<Id<Genotype>>>,
    /// The next number of crosses that come from a pedigree.
    next: usize,
}

pub(super) fn read(
    reader: &mut Reader<'_>,
    first: &mut Vec<Edit>,
    notes: &mut Vec<String>,
    sink: &mut Sink<'_>,
) -> Option<Vec<Planned>> {
    let rows = reader.source.rows();
    // First every row gets its plant, so that parents are found whatever the order.
    let mut own: Vec<Result<(Id<Genotype>, bool), Fault>> = Vec::with_capacity(rows);
    let mut taken: HashMap<Id<Genotype>, u64> = HashMap::new();
    for row in 0..rows {
        if row % 500 == 0 && sink(row / 2, rows).is_break() {
            return None;
        }
        let found = plant_of(reader, row).and_then(|(plant, new)| {
            let line = reader.source.line(row);
            match taken.insert(plant, line) {
                Some(before) => {
                    taken.insert(plant, before);
                    Err(Fault::Refused(format!(
                        "This plant stands in line {before} already. Keep one of the two."
                    )))
                }
                None => Ok((plant, new)),
            }
        });
        own.push(found);
    }
    let mut beside = Beside {
        edits: Vec::new(),
        crosses: crosses_by_parents(reader.project),
        parents: 0,
        new_crosses: 0,
        of_rows: HashMap::new(),
        next: 1,
    };
    let mut planned = Vec::with_capacity(rows);
    let mut row_of = HashMap::new();
    for (row, own) in own.into_iter().enumerate() {
        if row % 500 == 0 && sink(usize::midpoint(rows, row), rows).is_break() {
            return None;
        }
        if let Ok((plant, _)) = &own {
            row_of.insert(*plant, row);
        }
        let made = own.and_then(|(plant, new)| one(reader, &mut beside, row, plant, new));
        planned.push(reader.planned(made));
    }
    refuse_own_ancestors(reader.project, &mut beside, &row_of, &mut planned);
    if beside.parents > 0 {
        let parents = beside.parents as u32;
        notes.push(format!(
            "{parents} {} no row of {} own and {} added as plants of unknown origin.",
            plural(parents, "parent has", "parents have"),
            plural(parents, "its", "their"),
            plural(parents, "is", "are"),
        ));
    }
    if beside.new_crosses > 0 {
        let crosses = beside.new_crosses as u32;
        notes.push(format!(
            "{crosses} {} added, for parents that had none together.",
            plural(crosses, "cross is", "crosses are")
        ));
    }
    *first = beside.edits;
    Some(planned)
}

/// Refuses the last row of each ring in which a plant would be its own ancestor.
fn refuse_own_ancestors(
    project: &Project,
    beside: &mut Beside,
    row_of: &HashMap<Id<Genotype>, usize>,
    planned: &mut [Planned],
) {
    loop {
        // Plants without parents are taken away until none is left but rings and what descends from them, then plants
        // without progeny until rings are left alone.
        let parents = |plant: &Id<Genotype>| -> Vec<Id<Genotype>> {
            match (beside.of_rows.get(plant), project.genotypes().get(*plant)) {
                (Some(given), _) => given.clone(),
                (None, Some(there)) => {
                    let (female, pollen) = project.parents_of(there);
                    let males = pollen.into_iter().flat_map(crate::Pollen::males);
                    female.into_iter().chain(males).collect()
                }
                (None, None) => Vec::new(),
            }
        };
        let mut above: BTreeMap<Id<Genotype>, Vec<Id<Genotype>>> = BTreeMap::new();
        let mut to_see: Vec<Id<Genotype>> = beside.of_rows.keys().copied().collect();
        while let Some(plant) = to_see.pop() {
            if let std::collections::btree_map::Entry::Vacant(own) = above.entry(plant) {
                let found = parents(&plant);
                to_see.extend(&found);
                own.insert(found);
            }
        }
        let mut below: BTreeMap<Id<Genotype>, Vec<Id<Genotype>>> = BTreeMap::new();
        for (plant, parents) in &above {
            for parent in parents {
                below.entry(*parent).or_default().push(*plant);
            }
        }
        let mut ring: BTreeSet<Id<Genotype>> = above.keys().copied().collect();
        for (up, down) in [(&above, &below), (&below, &above)] {
            let left = |plant: &Id<Genotype>, ring: &BTreeSet<Id<Genotype>>| {
                let all = up.get(plant).into_iter().flatten();
                all.filter(|other| ring.contains(other)).count()
            };
            let mut free: Vec<_> = ring
                .iter()
                .copied()
                .filter(|plant| left(plant, &ring) == 0)
                .collect();
            while let Some(plant) = free.pop() {
                if !ring.remove(&plant) {
                    continue;
                }
                for next in down.get(&plant).into_iter().flatten() {
                    if ring.contains(next) && left(next, &ring) == 0 {
                        free.push(*next);
                    }
                }
            }
        }
        let rows = ring
            .iter()
            .filter(|plant| beside.of_rows.contains_key(plant));
        let last = rows
            .filter_map(|plant| Some((*row_of.get(plant)?, *plant)))
            .max();
        let Some((row, plant)) = last else {
            return;
        };
        beside.of_rows.remove(&plant);
        let code = planned[row].edits.iter().find_map(|edit| match edit {
            Edit::Genotype(crate::Change::Add(plant)) => Some(plant.code.clone()),
            _ => None,
        });
        let code = code.unwrap_or_else(|| project.code_of(plant).to_owned());
        planned[row] = Planned::refused(format!(
            "{code} would be its own ancestor. Correct its parents, or those of its ancestors."
        ));
    }
}

fn crosses_by_parents(project: &Project) -> ByParents {
    let mut crosses = HashMap::new();
    for cross in project.crosses().iter() {
        let male = match cross.pollen {
            Pollen::Male(male) => Some(male),
            Pollen::Unknown => None,
            Pollen::Mix(_) | Pollen::Open => continue,
        };
        crosses.entry((cross.female, male)).or_insert(cross.id);
    }
    crosses
}

/// The plant of a row, and whether it is new.
fn plant_of(reader: &mut Reader<'_>, row: usize) -> Result<(Id<Genotype>, bool), Fault> {
    let code = reader.text(row, &Meaning::Code).into_owned();
    let name = reader.text(row, &Meaning::Name).into_owned();
    let called = if code.is_empty() { &name } else { &code };
    if called.is_empty() {
        return Err(Fault::Refused("This row has no code and no name.".into()));
    }
    let found = match reader.names.find(called)? {
        None if !name.is_empty() && code.is_empty() => reader.names.find(&name)?,
        found => found,
    };
    if let Some(plant) = found {
        return Ok((plant, !reader.project.genotypes().contains(plant)));
    }
    let plant = reader.ids.next();
    let called = called.clone();
    reader.names.add(&called, plant, true);
    if !name.is_empty() && name != called {
        reader.names.add(&name, plant, false);
    }
    Ok((plant, true))
}

fn one(
    reader: &mut Reader<'_>,
    beside: &mut Beside,
    row: usize,
    plant: Id<Genotype>,
    new: bool,
) -> Result<Planned, Fault> {
    let there = reader.project.genotypes().get(plant);
    let code = reader.text(row, &Meaning::Code).into_owned();
    let name = reader.text(row, &Meaning::Name).into_owned();
    let origin = origin(reader, beside, row, (plant, there))?;
    let mut record = if let Some(there) = there {
        there.clone()
    } else {
        let called = if code.is_empty() {
            name.as_str()
        } else {
            code.as_str()
        };
        Genotype::new(plant, called.trim(), Origin::Unknown)
    };
    if let Some(origin) = origin {
        record.origin = origin;
    }
    if !name.is_empty() && name.trim() != record.code && !record.aliases.contains(&name) {
        record.name = Some(name.trim().to_owned());
    }
    for alias in reader.text(row, &Meaning::Aliases).split([';', ',']) {
        let alias = alias.trim().to_owned();
        if !alias.is_empty() && !record.aliases.contains(&alias) {
            record.aliases.push(alias);
        }
    }
    if let Some(ploidy) = ploidy(&reader.text(row, &Meaning::Ploidy))? {
        record.ploidy = ploidy;
    }
    if let Some(sex) = sex(&reader.text(row, &Meaning::Sex))?
        && record.known_sex() != Some(sex)
    {
        record.sex = Some(SexRecord {
            sex,
            basis: SexBasis::Stated,
            date: None,
        });
    }
    if let Some(born) = born(reader, row)? {
        record.born = Some(born);
    }
    let place = reader.text(row, &Meaning::Place);
    if !place.is_empty() {
        record.location = place.into_owned();
    }
    permission(reader, row, &mut record.permission)?;
    Ok(match there {
        Some(there) if !new => changed(reader.project, there, &record),
        _ => Planned {
            fate: Fate::New,
            edits: vec![Edit::add(record)],
        },
    })
}

fn born(reader: &Reader<'_>, row: usize) -> Result<Option<PartialDate>, Fault> {
    let text = reader.text(row, &Meaning::Born);
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    if let Ok(partial) = text.parse::<PartialDate>() {
        return Ok(Some(partial));
    }
    Ok(reader.date(row, &Meaning::Born)?.map(Into::into))
}

/// Where a plant comes from, if the row says so and the project doesn't say the same.
fn origin(
    reader: &mut Reader<'_>,
    beside: &mut Beside,
    row: usize,
    (plant, there): (Id<Genotype>, Option<&Genotype>),
) -> Result<Option<Origin>, Fault> {
    let pedigree = reader.text(row, &Meaning::Pedigree).into_owned();
    let female = reader.text(row, &Meaning::Female).trim().to_owned();
    let male = reader.text(row, &Meaning::Male).trim().to_owned();
    let source = reader.text(row, &Meaning::From).trim().to_owned();
    let year = match born(reader, row)? {
        Some(born) => Some(born.earliest().year()),
        None => reader.round.date.map(|day| day.year()),
    };
    let code = reader.text(row, &Meaning::Cross).trim().to_owned();
    if !code.is_empty() {
        let Some(cross) = super::coded::<Cross>(reader.project, &code) else {
            return Err(Fault::Unknown(code));
        };
        return Ok(Some(Origin::Cross { cross }));
    }
    let unknown = |name: &str| {
        name.is_empty() || ["?", "unknown", "-", "0", "na", "."].contains(&folded(name).as_str())
    };
    let (female, male) = match (pedigree.trim(), unknown(&female), unknown(&male)) {
        ("", true, true) => {
            return Ok((!source.is_empty()
                && there.is_none_or(|each| matches!(each.origin, Origin::Unknown)))
            .then(|| Origin::Founder {
                source,
                permission: String::new(),
                protected: false,
                imported: false,
            }));
        }
        ("", true, false) => {
            return Err(Fault::Refused(format!(
                "Only the male parent {male} is given. Give the female too, or leave both empty."
            )));
        }
        ("", false, no_male) => {
            let mother = parent(reader, beside, &Descent::Named(female), year)?;
            if !no_male && OPEN.contains(&folded(&male).as_str()) {
                return Ok(different(
                    there,
                    reader.project,
                    (mother, None),
                    Origin::OpenPollinated { female: mother },
                ));
            }
            let father = if no_male {
                None
            } else if male.contains('+') && reader.names.find(&male)?.is_none() {
                return Err(Fault::Refused(format!(
                    "{male} are several males. Record the cross of their pollen, and name it in a column 'cross'."
                )));
            } else {
                Some(parent(reader, beside, &Descent::Named(male), year)?)
            };
            (mother, father)
        }
        (pedigree, _, _) => match purdy::read(pedigree)? {
            Descent::Named(name) => {
                return Err(Fault::Refused(format!(
                    "'{name}' is one name, not the two parents of a pedigree."
                )));
            }
            Descent::Cross(female, male) => {
                let mother = parent(reader, beside, &female, year)?;
                if matches!(male.as_ref(), Descent::Named(name) if OPEN.contains(&folded(name).as_str()))
                {
                    return Ok(different(
                        there,
                        reader.project,
                        (mother, None),
                        Origin::OpenPollinated { female: mother },
                    ));
                }
                (mother, Some(parent(reader, beside, &male, year)?))
            }
        },
    };
    // What the project says already stays, whatever cross of theirs it is from.
    if there.is_some_and(|each| comes_from(reader.project, each, female, male)) {
        return Ok(None);
    }
    let parents = [Some(female), male].into_iter().flatten().collect();
    beside.of_rows.insert(plant, parents);
    let cross = cross(reader, beside, (female, male), year);
    Ok(Some(Origin::Cross { cross }))
}

fn different(
    there: Option<&Genotype>,
    project: &Project,
    (female, male): (Id<Genotype>, Option<Id<Genotype>>),
    origin: Origin,
) -> Option<Origin> {
    let same =
        there.is_some_and(|each| each.origin == origin || comes_from(project, each, female, male));
    (!same).then_some(origin)
}

fn comes_from(
    project: &Project,
    plant: &Genotype,
    female: Id<Genotype>,
    male: Option<Id<Genotype>>,
) -> bool {
    let (mother, pollen) = project.parents_of(plant);
    let father = match pollen {
        Some(Pollen::Male(male)) => Some(*male),
        Some(Pollen::Unknown) => None,
        _ => return false,
    };
    mother == Some(female) && father == male
}

/// A parent by its name, or by its own pedigree; one that isn't there is added.
fn parent(
    reader: &mut Reader<'_>,
    beside: &mut Beside,
    descent: &Descent,
    year: Option<i32>,
) -> Result<Id<Genotype>, Fault> {
    let name = descent.written();
    if let Some(plant) = reader.names.find(&name)? {
        return Ok(plant);
    }
    if name.chars().count() > crate::project::CODE_LIMIT {
        return Err(Fault::Refused(format!(
            "The parent {name} is too long for a code. Give it a row with a code of its own."
        )));
    }
    let origin = match descent {
        Descent::Named(_) => Origin::Unknown,
        Descent::Cross(female, male) => {
            let female = parent(reader, beside, female, year)?;
            let male = parent(reader, beside, male, year)?;
            Origin::Cross {
                cross: cross(reader, beside, (female, Some(male)), year),
            }
        }
    };
    let plant = reader.ids.next();
    beside
        .edits
        .push(Edit::add(Genotype::new(plant, name.clone(), origin)));
    beside.parents += 1;
    reader.names.add(&name, plant, true);
    Ok(plant)
}

/// The cross of two parents: one that is there, or a new one.
fn cross(
    reader: &mut Reader<'_>,
    beside: &mut Beside,
    parents: (Id<Genotype>, Option<Id<Genotype>>),
    year: Option<i32>,
) -> Id<Cross> {
    if let Some(cross) = beside.crosses.get(&parents) {
        return *cross;
    }
    let id = reader.ids.next();
    let code = loop {
        let code = format!("Ped-{:03}", beside.next);
        beside.next += 1;
        if reader.project.find_code(&code).next().is_none() {
            break code;
        }
    };
    beside.edits.push(Edit::add(Cross {
        id,
        code,
        female: parents.0,
        pollen: parents.1.map_or(Pollen::Unknown, Pollen::Male),
        // The year of an old cross is seldom known; that of its plant is the nearest there is.
        season: year.unwrap_or(EARLIEST),
        planned_pollination: None,
        seeds_wanted: None,
        purpose: "from a pedigree".into(),
        advised: None,
    }));
    beside.new_crosses += 1;
    beside.crosses.insert(parents, id);
    id
}

/// The season of a cross whose year nobody knows.
const EARLIEST: i32 = 1900;

/// '4x', 'tetraploid', 4, or the number of chromosomes: 20 in a diploid hop.
fn ploidy(text: &str) -> Result<Option<Ploidy>, Fault> {
    let bare = folded(text);
    let bare = bare.trim_start_matches("2n=");
    let sets = match bare.trim_end_matches('x').parse::<f64>() {
        Ok(sets) if sets.fract() == 0.0 && (1.0..=120.0).contains(&sets) => match sets as u8 {
            sets if sets >= 20 && sets % 10 == 0 => sets / 10,
            sets => sets,
        },
        _ => match bare {
            "" => return Ok(None),
            "diploid" => 2,
            "triploid" => 3,
            "tetraploid" => 4,
            _ => {
                return Err(Fault::Refused(format!(
                    "'{text}' is no ploidy. Write 2x, 3x or 4x."
                )));
            }
        },
    };
    Ok(Some(Ploidy(sets)))
}

/// What is allowed to be bred from a plant, as far as the row says it; what it leaves empty stays as it is. Only the four
/// answers are taken: words that may mean one are not, as a permission is no guess.
fn permission(reader: &Reader<'_>, row: usize, permission: &mut Permission) -> Result<(), Fault> {
    let text = reader.text(row, &Meaning::MayBeCrossed);
    let answer = folded(&text);
    if !answer.is_empty() {
        let found = BreedingUse::ALL
            .into_iter()
            .find(|each| folded(each.words()) == answer);
        permission.breeding = found.ok_or_else(|| {
            let words = BreedingUse::ALL.map(BreedingUse::words);
            let [not_known, free, conditions, not] = words;
            let guessed = crate::permission::guess(&text).map_or_else(String::new, |guessed| {
                format!(
                    " It may mean '{}'; ask the owner before you write that.",
                    guessed.words()
                )
            });
            Fault::Refused(format!(
                "'{}' is no permission. Write {free}, {conditions}, {not} or {not_known}.{guessed}",
                text.trim()
            ))
        })?;
    }
    for (meaning, own) in [
        (Meaning::Owner, &mut permission.owner),
        (Meaning::Document, &mut permission.document),
        (Meaning::Conditions, &mut permission.conditions),
    ] {
        let words = reader.text(row, &meaning);
        if !words.trim().is_empty() {
            words.trim().clone_into(own);
        }
    }
    if let Some(until) = reader.date(row, &Meaning::HoldsUntil)? {
        permission.until = Some(until);
    }
    Ok(())
}

fn sex(text: &str) -> Result<Option<Sex>, Fault> {
    Ok(Some(match folded(text).as_str() {
        "" | "?" | "unknown" | "u" | "-" => return Ok(None),
        "female" | "f" | "\u{2640}" | "w" | "weiblich" => Sex::Female,
        "male" | "m" | "\u{2642}" | "männlich" => Sex::Male,
        "monoecious" | "both" | "h" | "hermaphrodite" => Sex::Monoecious,
        _ => {
            return Err(Fault::Refused(format!(
                "'{text}' is no sex. Write female, male or monoecious."
            )));
        }
    }))
}
