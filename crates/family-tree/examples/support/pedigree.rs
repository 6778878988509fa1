//! An invented breeding program of any size, the same every time: for the gallery, the tests and the bench.

use family_tree::{Descent, MixPart, Parent, Plant, PlantKey, Sex};

const NAMES: [&str; 12] = [
    "Tarnbell",
    "Hollowmere",
    "Quillgate",
    "Saltlantern",
    "Wickerfen",
    "Ambercote",
    "Thistlewharf",
    "Mooncroft",
    "Larkpenny",
    "Dunnowbrook",
    "Fernwhistle",
    "Oatcastle",
];

/// Numbers that look random and are the same every time (Marsaglia 2003, 'Xorshift RNGs', Journal of Statistical
/// Software 8(14), the triple 13, 7, 17).
struct Dice(u64);

impl Dice {
    fn below(&mut self, limit: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        ((self.0 >> 11) % limit.max(1) as u64) as usize
    }

    fn one_in(&mut self, chances: usize) -> bool {
        self.below(chances) == 0
    }
}

/// About `count` plants (never more, at least two): founders, then crosses year by year.
pub(crate) fn program(count: usize) -> Vec<Plant> {
    let mut dice = Dice(0x9e37_79b9_7f4a_7c15);
    let mut plants: Vec<Plant> = Vec::new();
    let mut females: Vec<PlantKey> = Vec::new();
    let mut males: Vec<PlantKey> = Vec::new();
    let founders = (count / 10).clamp(2, 40).min(count);
    for number in 0..founders {
        let female = number % 2 == 0;
        let mut plant = new_plant(
            &plants,
            format!("{}-{:02}", if female { "F" } else { "M" }, number / 2 + 1),
        );
        plant.sex = if female { Sex::Female } else { Sex::Male };
        "parent".clone_into(&mut plant.stage);
        plant.name = female
            .then(|| NAMES.get(number / 2).map(|name| (*name).to_owned()))
            .flatten();
        if female {
            females.push(plant.key);
        } else {
            males.push(plant.key);
        }
        plants.push(plant);
    }
    let mut year = 14;
    while plants.len() < count {
        let crosses = 1 + (plants.len() / 60).min(30);
        for cross in 1..=crosses {
            if plants.len() >= count {
                break;
            }
            let (new_females, new_males) = grow(
                &mut dice,
                &mut plants,
                &females,
                &males,
                (year, cross),
                count,
            );
            females.extend(new_females);
            males.extend(new_males);
        }
        // Old parents leave the yard.
        let keep = 14 + plants.len() / 100;
        females.drain(..females.len().saturating_sub(keep));
        males.drain(..males.len().saturating_sub(keep / 2 + 2));
        year += 1;
    }
    plants
}

fn new_plant(plants: &[Plant], code: String) -> Plant {
    Plant::new(PlantKey(plants.len() as u128 + 1), code)
}

fn grow(
    dice: &mut Dice,
    plants: &mut Vec<Plant>,
    females: &[PlantKey],
    males: &[PlantKey],
    (year, cross): (usize, usize),
    count: usize,
) -> (Vec<PlantKey>, Vec<PlantKey>) {
    let code = format!("B{year}-{cross:02}");
    let female = females[dice.below(females.len())];
    let male = |dice: &mut Dice| males[dice.below(males.len())];
    let descent = match dice.below(24) {
        0 => Descent::Cross {
            female: Parent::Known(female),
            male: Parent::Open,
        },
        1 => Descent::Cross {
            female: Parent::Known(female),
            male: Parent::Unknown,
        },
        2 => Descent::Cross {
            female: Parent::Known(female),
            male: Parent::Mix(vec![
                MixPart {
                    plant: male(dice),
                    parts: 2,
                },
                MixPart {
                    plant: male(dice),
                    parts: 1,
                },
            ]),
        },
        3 => Descent::Doubled { from: female },
        4 => Descent::Variant { of: female },
        _ => Descent::Cross {
            female: Parent::Known(female),
            male: Parent::Known(male(dice)),
        },
    };
    let seed = matches!(descent, Descent::Cross { .. });
    let size = match dice.below(6) {
        _ if !seed => 1,
        0 => 9 + dice.below(40),
        1 | 2 => 5 + dice.below(6),
        _ => 2 + dice.below(4),
    };
    let (mut new_females, mut new_males) = (Vec::new(), Vec::new());
    for number in 1..=size.min(count - plants.len()) {
        let mut plant = new_plant(plants, format!("{code}-{number:03}"));
        plant.descent = descent.clone();
        plant.family = Some(code.clone());
        "seedling".clone_into(&mut plant.stage);
        plant.sex = match (seed, dice.below(5)) {
            (false, _) | (true, 0 | 1) => Sex::Female,
            (true, 2) => Sex::Male,
            (true, 3) if dice.one_in(6) => Sex::Monoecious,
            _ => Sex::Unknown,
        };
        if matches!(descent, Descent::Doubled { .. }) {
            plant.ploidy = Some(4);
        }
        if plant.sex != Sex::Unknown && dice.one_in(4) {
            plant.selected = true;
            "selected".clone_into(&mut plant.stage);
        } else if dice.one_in(9) {
            plant.dead = true;
            "dead".clone_into(&mut plant.stage);
        }
        if !plant.dead && (plant.selected || dice.one_in(12)) {
            match plant.sex {
                Sex::Female | Sex::Monoecious => new_females.push(plant.key),
                Sex::Male => new_males.push(plant.key),
                Sex::Unknown => {}
            }
        }
        plants.push(plant);
    }
    (new_females, new_males)
}
