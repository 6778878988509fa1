//! Where the work can hurt someone or break a law: the usual caution, shown where it applies.
//!
//! Each defers to the product's label, local codes and licensed practice. The program never recommends
//! mixing products.

use crate::{Genotype, Id, Origin, Pollen, Project, Sex};

/// A caution.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Caution {
    /// What it is about.
    pub title: &'static str,
    /// What to mind.
    pub text: &'static str,
}

/// Surface-sterilising with bleach or alcohol.
///
/// Haloform reaction of hypochlorite with ethanol, chlorine from acid, chloramines from ammonia: general
/// chemistry; CDC 2008, *Guideline for Disinfection and Sterilization in Healthcare Facilities*. Flash
/// point of strong ethanol near room temperature: from memory.
pub const STERILISING: Caution = Caution {
    title: "Bleach and alcohol",
    text: "Never mix them: together they form chloroform and other harmful, irritant compounds. Bleach with acid or ammonia gives off poisonous gas. Use one after the other, with a rinse in water between, in separate vessels. Wear gloves and eye protection, open a window, keep flames away from alcohol. The product's label and local rules decide.",
};

/// Mouldy boxes (common practice).
pub const MOULD: Caution = Caution {
    title: "Mould",
    text: "Open mouldy boxes outdoors or by an open window, away from other seed and from food. Wear gloves and a mask, bag what you take out, wipe tools before the next box. People with asthma or allergies should leave it to others.",
};

/// Lights and water (common practice).
pub const LIGHTS: Caution = Caution {
    title: "Lights near water",
    text: "Keep plugs and LED power supplies above the trays, use fixtures made for damp places on an outlet \
        protected by a residual-current device (RCD/GFCI), and switch off before watering. Wiring is a licensed \
        electrician's work; local codes decide.",
};

/// Male plants.
///
/// Bavaria: `BayWHopfV` section 1; England: Plant Varieties and Seeds Act 1964, section 33.
pub const MALES: Caution = Caution {
    title: "Male plants",
    text: "In some hop districts male or wild hops must be cut before they flower, or may not be grown at all: one \
        male can pollinate every yard nearby. Ask the local authority, tell your neighbours, and bag or cut males \
        in time.",
};

/// Imported or protected material (UPOV Convention; national plant health law).
pub const RESTRICTED: Caution = Caution {
    title: "Imported or protected plants",
    text: "Plants, seed and pollen from abroad may need a plant health certificate, a permit or quarantine. Protected and patented cultivars, and plants kept under agreement, may be used only as their owner and the law allow. Ask before you cross, and keep the answer.",
};

/// The cautions that a plant calls for while it lives: males where they are restricted, material from abroad or
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
