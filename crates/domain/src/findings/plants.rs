//! Plants: sexes and permissions not surely known, seedlings nobody counted.

use super::Found;
use crate::ledger::BoxTally;
use crate::work::plural;
use crate::{Cross, Genotype, Origin, Sex, SexBasis};

pub(super) fn find(found: &mut Found<'_>) {
    for plant in found.project.genotypes().iter() {
        let is_parent = found.project.referring::<Cross>(plant.id).next().is_some();
        sex(found, plant, is_parent);
        if is_parent {
            permission(found, plant);
        }
    }
    for run in found.project.germinations().iter() {
        let project = found.project;
        let chill_box = project.chill_boxes().get(run.chill_box);
        let sprouts = chill_box.map_or(0, |chill_box| BoxTally::of(project, chill_box).sprouts());
        let potted = project.potted_from(run.id).count() as u32;
        if potted > sprouts {
            let (code, counted) = (
                project.code_of(run.chill_box),
                plural(sprouts, "sprout was", "sprouts were"),
            );
            let what = format!(
                "{potted} seedlings were potted from box {code}, but only {sprouts} {counted} counted."
            );
            found.doubt(
                run.id,
                what,
                "Add the missing count, or correct where the seedlings came from.",
            );
        }
    }
}

fn sex(found: &mut Found<'_>, plant: &Genotype, is_parent: bool) {
    let code = &plant.code;
    // Accession numbers of the last century end in M for males.
    let male_number = code
        .strip_suffix('M')
        .is_some_and(|number| number.ends_with(|sign: char| sign.is_ascii_digit()));
    if male_number && plant.known_sex() == Some(Sex::Female) {
        let what = format!(
            "{code} is entered as female, but a number ending in M marks a male in older accessions."
        );
        found.doubt(plant.id, what, "Look at its flowers, or at its source.");
    }
    let by_marker = plant
        .sex
        .as_ref()
        .is_some_and(|sex| matches!(sex.basis, SexBasis::MarkerTest { .. }));
    if by_marker && is_parent {
        let what = format!("{code} is a parent, but its sex rests on a marker test alone.");
        found.gap(
            plant.id,
            what,
            "Record the flowers when they are seen; marker tests err now and then.",
        );
    }
    if plant.selected.is_some() && plant.sex.is_none() && plant.is_alive() {
        let what = format!("{code} is selected, but its sex isn't known.");
        found.gap(plant.id, what, "Record its sex when it flowers.");
    }
}

fn permission(found: &mut Found<'_>, plant: &Genotype) {
    const REMEDY: &str = "Write down the permission, and keep the letter.";
    let code = &plant.code;
    match &plant.origin {
        Origin::Founder {
            permission,
            protected,
            ..
        } if permission.is_empty() => {
            if *protected {
                let what = format!(
                    "{code} is protected and used as a parent, without a note of what its owner allows."
                );
                found.doubt(plant.id, what, REMEDY);
            } else {
                let what = format!(
                    "{code} is used as a parent, without a note of what its source allows."
                );
                found.gap(plant.id, what, REMEDY);
            }
        }
        _ => {}
    }
}
