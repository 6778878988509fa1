//! Passport data by the FAO/Bioversity Multi-Crop Passport Descriptors V2.1 (Alercia, Diulgheroff & Mackay 2015): names,
//! order and codes of the descriptors from memory.

use chrono::Datelike as _;
use domain::{Genotype, Origin, PartialDate, Project};
use exchange::sheets::{Written, WrittenSheet};

/// The descriptors in their order.
pub const DESCRIPTORS: [&str; 41] = [
    "PUID",
    "INSTCODE",
    "ACCENUMB",
    "COLLNUMB",
    "COLLCODE",
    "COLLNAME",
    "COLLINSTADDRESS",
    "COLLMISSID",
    "GENUS",
    "SPECIES",
    "SPAUTHOR",
    "SUBTAXA",
    "SUBTAUTHOR",
    "CROPNAME",
    "ACCENAME",
    "ACQDATE",
    "ORIGCTY",
    "COLLSITE",
    "DECLATITUDE",
    "LATITUDE",
    "DECLONGITUDE",
    "LONGITUDE",
    "COORDUNCERT",
    "COORDDATUM",
    "GEOREFMETH",
    "ELEVATION",
    "COLLDATE",
    "BREDCODE",
    "BREDNAME",
    "SAMPSTAT",
    "ANCEST",
    "COLLSRC",
    "DONORCODE",
    "DONORNAME",
    "DONORNUMB",
    "OTHERNUMB",
    "DUPLSITE",
    "DUPLINSTNAME",
    "STORAGE",
    "MLSSTAT",
    "REMARKS",
];

/// The living plants of a project as accessions of an institute.
///
/// # Errors
/// A sentence, if the code of the institute can't be one.
pub fn table(project: &Project, institute: &str) -> Result<WrittenSheet, String> {
    let code = institute.trim();
    // The code of WIEWS: the country in three letters, and a number.
    let sound = code.is_char_boundary(3)
        && code.len() >= 6
        && code[..3].bytes().all(|byte| byte.is_ascii_uppercase())
        && code[3..].bytes().all(|byte| byte.is_ascii_digit());
    if !sound {
        return Err(format!(
            "'{institute}' is no code of an institute. Give the three letters of the country and the number in FAO's list (WIEWS), such as XYZ001."
        ));
    }
    let living = project.genotypes().iter().filter(|plant| plant.is_alive());
    Ok(WrittenSheet {
        name: "MCPD".into(),
        header: DESCRIPTORS.map(Into::into).into(),
        rows: living.map(|plant| row(project, plant, code)).collect(),
    })
}

fn row(project: &Project, plant: &Genotype, institute: &str) -> Vec<Written> {
    let donor = match &plant.origin {
        Origin::Founder { source, .. } => source.as_str(),
        _ => "",
    };
    let parents = match project.parents_of(plant) {
        (Some(female), Some(pollen)) => {
            let males: Vec<&str> = pollen.males().map(|male| project.code_of(male)).collect();
            let males = if males.is_empty() {
                "unknown".into()
            } else {
                males.join(" + ")
            };
            format!("{} / {males}", project.code_of(female))
        }
        _ => String::new(),
    };
    DESCRIPTORS
        .iter()
        .map(|descriptor| match *descriptor {
            "INSTCODE" => Written::text(institute),
            "ACCENUMB" => Written::text(&plant.code),
            "GENUS" => Written::text("Humulus"),
            "SPECIES" => Written::text("lupulus"),
            "SPAUTHOR" => Written::text("L."),
            "CROPNAME" => Written::text("hop"),
            "ACCENAME" => Written::text(plant.name.clone().unwrap_or_default()),
            // Several values of a descriptor are parted by semicolons without a space.
            "OTHERNUMB" => Written::text(plant.aliases.join(";")),
            "ACQDATE" => Written::text(plant.born.map(day).unwrap_or_default()),
            "SAMPSTAT" => Written::text(status(plant)),
            "ANCEST" => Written::text(&parents),
            "DONORNAME" => Written::text(donor),
            // A field collection.
            "STORAGE" => Written::text("20"),
            _ => Written::Empty,
        })
        .collect()
}

/// YYYYMMDD, what isn't known as hyphens.
fn day(date: PartialDate) -> String {
    let (first, last) = (date.earliest(), date.latest());
    if first == last {
        first.format("%Y%m%d").to_string()
    } else if first.month() == last.month() && first.year() == last.year() {
        first.format("%Y%m--").to_string()
    } else {
        first.format("%Y----").to_string()
    }
}

/// The biological status: 410 breeder's line, 416 clonal selection, 422 cytogenetic stock, 500 improved cultivar, 999 other.
fn status(plant: &Genotype) -> &'static str {
    match &plant.origin {
        _ if plant.selected.is_some() => "416",
        Origin::Founder {
            protected: true, ..
        } => "500",
        Origin::Founder { .. } | Origin::Unknown => "999",
        Origin::Doubled { .. } => "422",
        Origin::Variant { .. } => "416",
        Origin::Cross { .. } | Origin::OpenPollinated { .. } => "410",
    }
}
