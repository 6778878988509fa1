//! The plants the program began with: invented cultivars, and accessions from invented places.

use crate::maker::{Made, Maker};
use crate::merit::Merit;
use chrono::Datelike as _;
use domain::{
    BreedingUse, Edit, Genotype, Id, Origin, PartialDate, Permission, Ploidy, Sex, SexBasis,
    SexRecord,
};

/// The founders that later crosses name.
#[derive(Debug)]
pub(crate) struct Founders {
    pub(crate) brackwold: Id<Genotype>,
    pub(crate) orlenne: Id<Genotype>,
    pub(crate) tansel: Id<Genotype>,
    pub(crate) ketterby: Id<Genotype>,
    pub(crate) sarrowmere: Id<Genotype>,
    pub(crate) river_male: Id<Genotype>,
    pub(crate) hedge_male: Id<Genotype>,
    pub(crate) imported_male: Id<Genotype>,
    pub(crate) unsexed: Id<Genotype>,
}

struct Founder<'a> {
    code: &'a str,
    name: &'a str,
    sex: Option<Sex>,
    basis: SexBasis,
    source: &'a str,
    permission: &'a str,
    breeding: BreedingUse,
    owner: &'a str,
    document: &'a str,
    conditions: &'a str,
    protected: bool,
    imported: bool,
    ploidy: Ploidy,
    location: &'a str,
    merit: [f64; 5],
}

impl Default for Founder<'_> {
    fn default() -> Self {
        Self {
            code: "",
            name: "",
            sex: Some(Sex::Female),
            basis: SexBasis::Stated,
            source: "",
            permission: "Free to use",
            breeding: BreedingUse::Free,
            owner: "",
            document: "",
            conditions: "",
            protected: false,
            imported: false,
            ploidy: Ploidy::DIPLOID,
            location: "",
            merit: [5.0; 5],
        }
    }
}

fn add(make: &mut Maker, founder: Founder<'_>) -> Made<Id<Genotype>> {
    let origin = Origin::Founder {
        source: founder.source.into(),
        permission: founder.permission.into(),
        protected: founder.protected,
        imported: founder.imported,
    };
    add_plant(make, founder, origin)
}

fn add_plant(make: &mut Maker, founder: Founder<'_>, origin: Origin) -> Made<Id<Genotype>> {
    let came = make.turn_to(-2200);
    let id = make.ids.next();
    let [vigour, downy, powdery, alpha, cones] = founder.merit;
    make.merits.insert(
        id,
        Merit {
            vigour,
            downy,
            powdery,
            alpha,
            cones,
        },
    );
    make.apply(Edit::add(Genotype {
        name: (!founder.name.is_empty()).then(|| founder.name.into()),
        sex: founder.sex.map(|sex| SexRecord {
            sex,
            basis: founder.basis,
            date: Some(PartialDate::Year(came.year())),
        }),
        ploidy: founder.ploidy,
        location: founder.location.into(),
        permission: Permission {
            breeding: founder.breeding,
            owner: founder.owner.into(),
            document: founder.document.into(),
            conditions: founder.conditions.into(),
            until: None,
        },
        born: Some(PartialDate::Year(came.year())),
        ..Genotype::new(id, founder.code, origin)
    }))?;
    Ok(id)
}

/// Brings in the founders.
pub(crate) fn bring_in(make: &mut Maker) -> Made<Founders> {
    let [brackwold, orlenne, tansel, ketterby, sarrowmere] = cultivars(make)?;
    let [river_male, hedge_male, imported_male, unsexed] = pollen_parents(make)?;
    oddities(make, brackwold, tansel)?;
    Ok(Founders {
        brackwold,
        orlenne,
        tansel,
        ketterby,
        sarrowmere,
        river_male,
        hedge_male,
        imported_male,
        unsexed,
    })
}

/// Females with a name.
fn cultivars(make: &mut Maker) -> Made<[Id<Genotype>; 5]> {
    let brackwold = add(
        make,
        Founder {
            code: "BRW",
            name: "Brackwold",
            source: "Old yard at Brackwold, cuttings",
            location: "Row 1",
            basis: SexBasis::FlowersSeen,
            merit: [6.5, 3.5, 5.5, 5.2, 1250.0],
            ..Founder::default()
        },
    )?;
    let orlenne = add(
        make,
        Founder {
            code: "ORL",
            name: "Orlenne",
            source: "Orlenne Growers' Union, certified sets",
            permission: "Letter of the Union: crossing for our own trials; no sale of seedlings without a licence",
            breeding: BreedingUse::WithConditions,
            owner: "Orlenne Growers' Union",
            document: "letter of the Union",
            conditions: "crossing for our own trials; no sale of seedlings without a licence",
            protected: true,
            location: "Row 1",
            merit: [5.5, 4.5, 3.0, 11.0, 1050.0],
            ..Founder::default()
        },
    )?;
    // Nobody wrote down what the giver allows: a finding.
    let tansel = add(
        make,
        Founder {
            code: "TAN",
            name: "Tansel",
            source: "Given by the priory garden at Tansel",
            permission: "",
            breeding: BreedingUse::NotKnown,
            location: "Row 2",
            merit: [6.0, 5.5, 4.5, 4.1, 1400.0],
            ..Founder::default()
        },
    )?;
    let ketterby = add(
        make,
        Founder {
            code: "KET",
            name: "Ketterby",
            source: "Ketterby Station, Lower Vessland",
            permission: "Agreement 14/3: breeding only; health certificate on file",
            breeding: BreedingUse::WithConditions,
            owner: "Ketterby Station",
            document: "Agreement 14/3",
            conditions: "for breeding only",
            imported: true,
            location: "Row 2, after quarantine",
            merit: [5.0, 3.0, 4.0, 8.5, 950.0],
            ..Founder::default()
        },
    )?;
    let sarrowmere = add(
        make,
        Founder {
            code: "SAR",
            name: "Sarrowmere",
            source: "Sarrowmere Nursery, virus-free sets",
            location: "Row 3",
            merit: [5.5, 5.0, 6.0, 7.0, 1100.0],
            ..Founder::default()
        },
    )?;
    Ok([brackwold, orlenne, tansel, ketterby, sarrowmere])
}

/// Males, and one plant whose sex nobody wrote down.
fn pollen_parents(make: &mut Maker) -> Made<[Id<Genotype>; 4]> {
    let male = |code, source, location, merit| Founder {
        code,
        source,
        location,
        merit,
        sex: Some(Sex::Male),
        basis: SexBasis::FlowersSeen,
        ..Founder::default()
    };
    let river_male = add(
        make,
        male(
            "OV-11M",
            "Wild by the Ostrel, collected with the landowner's leave",
            "Male plot, bagged",
            [7.0, 3.0, 5.0, 4.5, 800.0],
        ),
    )?;
    let hedge_male = add(
        make,
        male(
            "OV-23M",
            "Hedge at Pennow cross-roads",
            "Male plot, bagged",
            [6.0, 4.0, 3.5, 7.5, 900.0],
        ),
    )?;
    let imported_male = add(
        make,
        Founder {
            permission: "Agreement 14/3: breeding only; quarantine ended",
            breeding: BreedingUse::WithConditions,
            owner: "Ketterby Station",
            document: "Agreement 14/3",
            conditions: "for breeding only",
            imported: true,
            basis: SexBasis::Stated,
            ..male(
                "LV-04M",
                "Ketterby Station, Lower Vessland",
                "Isolation house",
                [5.5, 3.5, 2.5, 9.5, 950.0],
            )
        },
    )?;
    let unsexed = add(
        make,
        Founder {
            code: "OV-31",
            source: "Wild at Heron Weir, seedling dug by Joss",
            sex: None,
            location: "Male plot, end",
            merit: [6.5, 4.0, 4.5, 5.5, 850.0],
            ..Founder::default()
        },
    )?;
    Ok([river_male, hedge_male, imported_male, unsexed])
}

/// A tetraploid, a triploid, a plant with its chromosomes doubled, a sport.
fn oddities(make: &mut Maker, brackwold: Id<Genotype>, tansel: Id<Genotype>) -> Made {
    add(
        make,
        Founder {
            code: "DUN",
            name: "Dunwillow",
            source: "Dunwillow Institute, tetraploid line 8",
            ploidy: Ploidy::TETRAPLOID,
            permission: "Crossing allowed, to be named in any report",
            breeding: BreedingUse::WithConditions,
            owner: "Dunwillow Institute",
            conditions: "to be named in any report",
            location: "Row 4",
            merit: [4.5, 4.5, 5.0, 9.0, 800.0],
            ..Founder::default()
        },
    )?;
    add(
        make,
        Founder {
            code: "HLB",
            name: "Hallowby",
            source: "Hallowby Nursery, nearly seedless",
            ploidy: Ploidy::TRIPLOID,
            protected: true,
            permission: "None given: kept for comparison only",
            breeding: BreedingUse::NotForBreeding,
            owner: "Hallowby Nursery",
            location: "Row 4",
            merit: [7.0, 4.0, 4.0, 8.0, 1500.0],
            ..Founder::default()
        },
    )?;
    let doubled = Founder {
        code: "BRW-4x",
        ploidy: Ploidy::TETRAPLOID,
        breeding: BreedingUse::NotKnown,
        location: "Row 5",
        merit: [5.5, 3.5, 5.5, 5.0, 1000.0],
        ..Founder::default()
    };
    add_plant(make, doubled, Origin::Doubled { from: brackwold })?;
    let variant = Founder {
        code: "TAN-E",
        name: "Early Tansel",
        basis: SexBasis::FlowersSeen,
        breeding: BreedingUse::NotKnown,
        location: "Row 5",
        merit: [5.5, 5.5, 4.5, 4.3, 1200.0],
        ..Founder::default()
    };
    add_plant(make, variant, Origin::Variant { of: tansel })?;
    Ok(())
}
