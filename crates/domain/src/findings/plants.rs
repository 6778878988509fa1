//! Plants: sex, permission, selection, and whether seedlings match the sprouts counted.

use super::{Found, Weight};
use crate::id::{AnyId, Id};
use crate::ledger::BoxTally;
use crate::permission::{self, Limit};
use crate::words::plural;
use crate::{BreedingUse, ChillBox, Genotype, Origin, Sex, SexBasis};
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
            if is_parent {
                self.permission(plant);
            }
            self.looser_than_inherited(plant);
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

    /// What isn't settled about breeding from a plant that is bred from.
    fn permission(&mut self, plant: &Genotype) {
        let code = &plant.code;
        let (weight, what, remedy) = match permission::own_limit(plant, self.today) {
            Some(Limit::NothingNoted) => (
                Weight::Doubt,
                format!(
                    "{code} is protected and used as a parent, without a note of what its owner allows."
                ),
                "Write down the permission, and keep the letter.",
            ),
            Some(Limit::Refused(_)) => (
                Weight::Doubt,
                format!("{code} is used as a parent, but it is not for breeding."),
                "Ask its owner what may become of its seedlings, or correct the permission.",
            ),
            Some(Limit::Guessed { note }) => (
                Weight::Doubt,
                format!(
                    "{code} is used as a parent. Its note, '{note}', reads like a refusal, but its permission isn't chosen."
                ),
                "Choose the permission on its page.",
            ),
            Some(Limit::Ended(_)) => (
                Weight::Gap,
                format!("{code} is used as a parent, and its permission has ended."),
                "Ask its owner again before the next cross, and write down the answer.",
            ),
            Some(Limit::Conditions(permission)) if permission.conditions.trim().is_empty() => (
                Weight::Gap,
                format!("{code} is bred from with conditions, but they aren't written down."),
                "Write down the conditions, and keep the letter.",
            ),
            Some(Limit::Conditions(_)) => return,
            None => match &plant.origin {
                Origin::Founder {
                    permission: note, ..
                } if note.trim().is_empty()
                    && plant.permission.breeding == BreedingUse::NotKnown =>
                {
                    (
                        Weight::Gap,
                        format!(
                            "{code} is used as a parent, but there is no note of what its source permits."
                        ),
                        "Write down the permission, and keep the letter.",
                    )
                }
                _ => return,
            },
        };
        self.add(weight, plant.id, what, remedy);
    }

    /// A plant that is marked freer than one it descends from.
    fn looser_than_inherited(&mut self, plant: &Genotype) {
        let own = plant.permission.breeding;
        if !matches!(own, BreedingUse::Free | BreedingUse::WithConditions) {
            return;
        }
        let inherited = permission::limits(self.project, plant, self.today)
            .into_iter()
            .filter(|each| !each.chain.is_empty())
            .find(|each| match each.limit {
                Limit::Refused(_) => true,
                Limit::Conditions(_) => own == BreedingUse::Free,
                _ => false,
            });
        if let Some(inherited) = inherited {
            let what = format!(
                "The permission of {} is marked '{}', but: {}",
                plant.code,
                own.words(),
                inherited.sentence(self.project, &plant.code)
            );
            self.add(
                Weight::Doubt,
                plant.id,
                what,
                "Note with the founder what its owner allows now; the founder's permission holds for all that descends from it.",
            );
        }
    }
}
