//! Where the work can hurt someone or break a law: the usual caution, shown where it applies.
//!
//! Each defers to the product's label, local codes and licensed practice. The program never recommends
//! mixing products.

use crate::agenda::ItemKind;
use crate::{ChillBox, Genotype, Id, Origin, Pollen, Project, Sex};

/// A caution.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Caution {
    /// What it is about.
    pub title: &'static str,
    /// What to mind.
    pub text: &'static str,
    /// Whose rules come first where they differ.
    pub rules: &'static str,
}

/// Surface-sterilising with bleach or alcohol.
///
/// Haloform reaction of hypochlorite with ethanol, chlorine from acid, chloramines from ammonia: general
/// chemistry; CDC 2008, *Guideline for Disinfection and Sterilization in Healthcare Facilities*. Flash
/// point of strong ethanol near room temperature: from memory.
pub const STERILISING: Caution = Caution {
    title: "Bleach and alcohol",
    text: "Never mix them: together they form chloroform and other harmful, irritant compounds. Bleach with acid or ammonia gives off poisonous gas. Use one after the other, with a rinse in water between, in separate vessels. Wear gloves and eye protection, open a window, keep flames away from alcohol. Keep children and pets away, label every vessel, and pour alcohol and bleach away separately, as their labels and local waste rules say.",
    rules: "the product's label and local rules on chemicals",
};

/// Mouldy boxes (common practice).
pub const MOULD: Caution = Caution {
    title: "Mould",
    text: "Open mouldy boxes outdoors or by an open window, away from other seed and from food. Wear gloves and a mask, bag what you take out, wipe tools before the next box. People with asthma or allergies should leave it to others.",
    rules: "local rules and the advice of a doctor",
};

/// Lights and water (common practice).
pub const LIGHTS: Caution = Caution {
    title: "Lights near water",
    text: "Keep plugs and LED power supplies above the trays, use fixtures made for damp places on an outlet \
        protected by a residual-current device (RCD/GFCI), and switch off before watering. Wiring is a licensed \
        electrician's work; local codes decide.",
    rules: "local codes and the maker's instructions",
};

/// Male plants.
///
/// Bavaria: `BayWHopfV` section 1; England: Plant Varieties and Seeds Act 1964, section 33.
pub const MALES: Caution = Caution {
    title: "Male plants",
    text: "In some hop districts male or wild hops must be cut before they flower, or may not be grown at all: one \
        male can pollinate every yard nearby. Ask the local authority, tell your neighbours, and bag or cut males \
        in time.",
    rules: "the law and the plant health authority of your place",
};

/// Imported or protected material (UPOV Convention; national plant health law).
pub const RESTRICTED: Caution = Caution {
    title: "Imported or protected plants",
    text: "Plants, seed and pollen from abroad may need a plant health certificate, a permit or quarantine. Protected and patented cultivars, and plants kept under agreement, may be used only as their owner and the law allow. Ask before you cross, and keep the answer.",
    rules: "the law and the plant health authority of your place",
};

/// Work above the ground (common practice).
pub const LADDERS: Caution = Caution {
    title: "Ladders",
    text: "Stand the ladder on firm, level ground, keep three points of contact, and don't work alone or in wind. Keep clear of overhead lines.",
    rules: "the ladder's label and local work-safety rules",
};

/// What bines and lupulin do to skin and lungs.
///
/// Contact dermatitis, rhinitis and asthma of people who handle hops: Spiewak & Dutkiewicz (2002) *Annals of
/// Agricultural and Environmental Medicine* 9:249–252 (from memory).
pub const BINES: Caution = Caution {
    title: "Hop bines and lupulin",
    text: "Bines scratch, and hop dust and resin can cause rashes or asthma. Wear gloves and long sleeves, and a mask when you clean dry cones. Ask a doctor if symptoms return.",
    rules: "the advice of a doctor and local work-safety rules",
};

/// Steam under pressure (common practice).
pub const PRESSURE: Caution = Caution {
    title: "Pressure cooker",
    text: "Leave the steam path free, and open it only when the pressure is gone.",
    rules: "its manual",
};

/// Chemicals that double chromosomes are poisonous to people too: colchicine, oryzalin (their safety data sheets, from memory).
pub const DOUBLING: Caution = Caution {
    title: "Chromosome doubling",
    text: "The chemicals used for doubling are highly poisonous. Leave it to a laboratory that is licensed for them.",
    rules: "the product's label and local law",
};

/// All of them, as the window lists them under About.
pub const ALL: [Caution; 9] = [
    STERILISING,
    MOULD,
    LIGHTS,
    LADDERS,
    BINES,
    PRESSURE,
    DOUBLING,
    MALES,
    RESTRICTED,
];

/// The cautions that an item of the agenda calls for, shown before it is done.
pub const fn for_item(kind: ItemKind) -> &'static [Caution] {
    match kind {
        ItemKind::BagFemale | ItemKind::GivePollen | ItemKind::TakeBagsOff => &[LADDERS],
        ItemKind::HarvestCones => &[LADDERS, BINES],
        ItemKind::CleanSeed => &[BINES],
        ItemKind::MoveToWarmth => &[LIGHTS],
        ItemKind::LayInBoxes
        | ItemKind::StartChill
        | ItemKind::CheckBox
        | ItemKind::CountSprouts
        | ItemKind::PotUp
        | ItemKind::DecideRest
        | ItemKind::HardenOff
        | ItemKind::PlantOut
        | ItemKind::Task => &[],
    }
}

/// Whether the last check of a box found mould, so that it is opened with [`MOULD`] in mind.
pub fn box_had_mould(project: &Project, chill_box: Id<ChillBox>) -> bool {
    project
        .checks_of(chill_box)
        .last()
        .is_some_and(|check| check.mouldy_removed > 0)
}

/// The cautions that a plant calls for while it lives: males (some districts restrict them), material from abroad or
/// under protection.
pub fn for_plant(plant: &Genotype) -> Vec<Caution> {
    let mut cautions = Vec::new();
    if !plant.is_alive() {
        return cautions;
    }
    if matches!(plant.known_sex(), Some(Sex::Male | Sex::Monoecious)) {
        cautions.push(MALES);
    }
    if is_restricted(plant) {
        cautions.push(RESTRICTED);
    }
    cautions
}

/// The cautions that a cross of these parents calls for: those from abroad or under protection.
pub fn for_parents(project: &Project, female: Id<Genotype>, pollen: &Pollen) -> Vec<Caution> {
    let mut parents = std::iter::once(female).chain(pollen.males());
    let restricted =
        parents.any(|parent| project.genotypes().get(parent).is_some_and(is_restricted));
    if restricted {
        vec![RESTRICTED]
    } else {
        Vec::new()
    }
}

const fn is_restricted(plant: &Genotype) -> bool {
    matches!(
        plant.origin,
        Origin::Founder {
            protected: true,
            ..
        } | Origin::Founder { imported: true, .. }
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{End, EndKind, IdSource, SexBasis, SexRecord};

    #[test]
    fn work_that_can_hurt_has_its_caution_and_every_caution_says_whose_rules_come_first() {
        assert_eq!(for_item(ItemKind::BagFemale), [LADDERS]);
        assert_eq!(for_item(ItemKind::HarvestCones), [LADDERS, BINES]);
        assert_eq!(for_item(ItemKind::CleanSeed), [BINES]);
        assert_eq!(for_item(ItemKind::MoveToWarmth), [LIGHTS]);
        assert_eq!(for_item(ItemKind::CountSprouts), []);
        for (nth, caution) in ALL.iter().enumerate() {
            assert!(caution.text.ends_with('.') && !caution.rules.ends_with('.'));
            assert!(
                !ALL[..nth].contains(caution),
                "{} is listed twice",
                caution.title
            );
        }
    }

    #[test]
    fn living_males_and_restricted_founders_call_for_caution() {
        let founder = |protected, imported| Origin::Founder {
            source: "a neighbour".into(),
            permission: String::new(),
            protected,
            imported,
        };
        let mut plant = Genotype::new(IdSource::new(1, 1).next(), "M1", founder(false, false));
        assert_eq!(for_plant(&plant), []);
        plant.sex = Some(SexRecord {
            sex: Sex::Male,
            basis: SexBasis::Stated,
            date: None,
        });
        plant.origin = founder(false, true);
        assert_eq!(for_plant(&plant), [MALES, RESTRICTED]);
        plant.end = Some(End {
            date: crate::PartialDate::Year(2026),
            kind: EndKind::Culled,
            cause: String::new(),
        });
        assert_eq!(for_plant(&plant), [], "what is gone seeds no yard");
    }
}
