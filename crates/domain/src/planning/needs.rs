//! What so many seeds of one cross take: bags, cones, boxes, cells, pots, hills.

use super::{Funnel, Goals, Mean, Rates, SurvivalStage};
use crate::Project;
use crate::explanation::{Explanation, number};
use crate::record::protocol::Regimen;

/// Something that is needed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum NeedKind {
    /// Cones of the female, pollinated by hand.
    Cones,
    /// Bags to pollinate.
    Bags,
    /// Boxes in the refrigerator.
    Boxes,
    /// Cells under lights.
    Cells,
    /// Pots.
    Pots,
    /// Hills.
    Hills,
}

impl NeedKind {
    /// The words for so much of it.
    pub const fn words(self, amount: u64) -> &'static str {
        let one = amount == 1;
        match self {
            Self::Cones if one => "cone, pollinated",
            Self::Cones => "cones, pollinated",
            Self::Bags if one => "bag to pollinate",
            Self::Bags => "bags to pollinate",
            Self::Boxes if one => "box in the cold",
            Self::Boxes => "boxes in the cold",
            Self::Cells if one => "cell under lights",
            Self::Cells => "cells under lights",
            Self::Pots if one => "pot",
            Self::Pots => "pots",
            Self::Hills if one => "hill",
            Self::Hills => "hills",
        }
    }
}

/// How much of something is needed.
#[derive(Debug, Clone, PartialEq)]
pub struct Need {
    /// Of what.
    pub kind: NeedKind,
    /// How much.
    pub amount: u64,
    /// What there is, if the goals say.
    pub limit: Option<u32>,
    /// How it comes about.
    pub explanation: Explanation,
}

impl Need {
    /// Whether it is more than there is.
    pub fn is_too_much(&self) -> bool {
        self.limit
            .is_some_and(|limit| self.amount > u64::from(limit))
    }
}

/// What so many cleaned seeds of a pair take. Room for what comes up is calculated so that it is enough as often as the
/// goals want to be sure.
pub fn needs(
    project: &Project,
    goals: &Goals,
    rates: &Rates,
    funnel: &Funnel,
    seeds: u64,
) -> Vec<Need> {
    let per_cone = rates.seeds_per_cone(funnel.female);
    let per_bag = rates.cones_per_bag(funnel.female);
    let cones = divided(seeds as f64, per_cone.value);
    let bags = divided(cones as f64, per_bag.value);
    let fill = project
        .settings()
        .protocol
        .and_then(|protocol| project.protocols().get(protocol))
        .map_or_else(
            || Regimen::default().box_to,
            |protocol| protocol.regimen.box_to,
        );
    // Counted, not laid: a file may ask for billions of boxes.
    let boxes = seeds.div_ceil(u64::from(fill.max(1))).max(1);
    let room = |step| funnel.room_after(step, seeds, goals.sure);
    let (sprouts, settled) = (room(SurvivalStage::Germinated), room(SurvivalStage::Potted));
    let need = |kind: NeedKind, amount: u64, limit: Option<u32>, formula: &str| Need {
        kind,
        amount,
        limit,
        explanation: Explanation::new(
            format!("{amount} {}", kind.words(amount)),
            formula,
            "arithmetic",
        ),
    };
    let of_mean = |mean: Mean, need: Need, what: &str, of: &str, source: &'static str| Need {
        explanation: Explanation {
            source,
            ..need.explanation
        }
        .with(what, number(mean.value))
        .with(format!("{of} of this female on record"), number(mean.own))
        .with(
            format!("{of} of other females on record"),
            number(mean.others),
        )
        .with("thought before", number(mean.before)),
        ..need
    };
    let ready = "No more than so many, as often as the goals want to be sure, from the rates of the stages.";
    let mut list = vec![
        of_mean(
            per_cone,
            need(
                NeedKind::Cones,
                cones,
                goals.limits.cones_per_female,
                "Seeds over seeds to a cone, rounded up.",
            ),
            "seeds to a cone",
            "cones",
            "Haunold & Stanwood (1985), Crop Sci. 25: 4 to slightly over 5 seeds to a cone",
        ),
        of_mean(
            per_bag,
            need(
                NeedKind::Bags,
                bags,
                None,
                "Cones over cones to a bag, rounded up.",
            ),
            "cones to a bag",
            "bags",
            "common practice",
        ),
        need(
            NeedKind::Boxes,
            boxes,
            goals.space.boxes,
            "Seeds over the most seeds to a box, rounded up.",
        ),
        need(NeedKind::Cells, sprouts, goals.space.cells, ready),
        need(NeedKind::Pots, sprouts, goals.space.pots, ready),
        need(NeedKind::Hills, settled, goals.space.hills, ready),
    ];
    list[2].explanation = list[2]
        .explanation
        .clone()
        .with("seeds to a box", fill.to_string());
    list
}

fn divided(amount: f64, by: f64) -> u64 {
    (amount / by.max(1e-6)).ceil() as u64
}
