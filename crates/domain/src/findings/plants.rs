//! Plants: sex, permission, selection, and whether seedlings match the sprouts counted.

use super::{Found, Weight};
use crate::actions::plural;
use crate::id::{AnyId, Id};
use crate::ledger::BoxTally;
use crate::{ChillBox, Genotype, Origin, Sex, SexBasis};
use std::collections::{BTreeMap, BTreeSet};

impl Found<'_> {
    pub(super) fn plants(&mut self) {
        let project = self.project;
        let parents: BTreeSet<Id<Genotype>> = project
            .crosses()
            .iter()
            .flat_map(|cross| std::iter::once(cross.female).chain(cross.pollen.males()))
            .collect();
        let mut potted_out_of: BTreeMap<Id<ChillBox>, u32> = BTreeMap::new();
        for plant in project.genotypes().iter() {
            let code = &plant.code;
            let is_parent = parents.contains(&plant.id);
            if let Some(chill_box) = project.box_of(plant) {
                *potted_out_of.entry(chill_box).or_default() += 1;
            }
            let tail = code.as_bytes();
            let male_number = tail.len() > 1
                && tail[tail.len() - 1] == b'M'
                && tail[tail.len() - 2].is_ascii_digit();
            if male_number && plant.known_sex() == Some(Sex::Female) {
                self.add(Weight::Doubt, plant.id, format!("{code} is entered as female, but a number ending in M marks a male in older accessions."), "Check its flowers, or its source.");
            }
            if let Some(sex) = &plant.sex
                && let SexBasis::MarkerTest { .. } = sex.basis
                && is_parent
            {
                self.add(
                    Weight::Gap,
                    plant.id,
                    format!("{code} is a parent, but its sex rests on a marker test alone."),
                    "Record the sex again when it flowers; marker tests are occasionally wrong.",
                );
            }
            if let Origin::Founder {
                permission,
                protected,
                ..
            } = &plant.origin
                && is_parent
                && permission.is_empty()
            {
                let what = if *protected {
                    format!(
                        "{code} is protected and used as a parent, without a note of what its owner allows."
                    )
                } else {
                    format!(
                        "{code} is used as a parent, but there is no note of what its source permits."
                    )
                };
                self.add(
                    if *protected {
                        Weight::Doubt
                    } else {
                        Weight::Gap
                    },
                    plant.id,
                    what,
                    "Write down the permission, and keep the letter.",
                );
            }
            if plant.selected.is_some() && plant.known_sex().is_none() && plant.is_alive() {
                self.add(
                    Weight::Gap,
                    plant.id,
                    format!("{code} is selected, but its sex isn't known."),
                    "Record its sex when it flowers.",
                );
            }
        }
        for chill_box in project.chill_boxes().iter() {
            let Some(&potted) = potted_out_of.get(&chill_box.id) else {
                continue;
            };
            let sprouts = BoxTally::of(project, chill_box).sprouts();
            if potted > sprouts {
                let what = format!(
                    "{potted} seedlings were potted from box {}, but only {sprouts} {} counted.",
                    chill_box.code,
                    plural(sprouts, "sprout was", "sprouts were")
                );
                self.add(
                    Weight::Doubt,
                    project
                        .run_of(chill_box.id)
                        .map_or_else(|| AnyId::from(chill_box.id), |run| run.id.into()),
                    what,
                    "Add the missing count, or correct where the seedlings came from.",
                );
            }
        }
    }
}
