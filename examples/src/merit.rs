//! What a plant is truly like, and how its seedlings take after it.

use crate::chance::Chance;

/// True worth of a plant in five traits: the middle of its scores and measurements.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Merit {
    /// Vigour, 1 to 9, more is better.
    pub(crate) vigour: f64,
    /// Downy mildew, 1 to 9, less is better.
    pub(crate) downy: f64,
    /// Powdery mildew, 1 to 9, less is better.
    pub(crate) powdery: f64,
    /// Alpha acids, percent of dry cones.
    pub(crate) alpha: f64,
    /// Dry cones, grams a hill.
    pub(crate) cones: f64,
}

impl Merit {
    /// Unknown pollen: a middling plant of the neighbourhood.
    pub(crate) const STRANGER: Self = Self {
        vigour: 5.0,
        downy: 5.0,
        powdery: 5.0,
        alpha: 6.0,
        cones: 900.0,
    };

    /// A seedling of two parents: their middle, and the luck of the draw.
    pub(crate) fn seedling(mother: Self, father: Self, chance: &mut Chance) -> Self {
        let mut draw =
            |one: f64, other: f64, spread: f64| f64::midpoint(one, other) + spread * chance.bell();
        Self {
            vigour: draw(mother.vigour, father.vigour, 1.1),
            downy: draw(mother.downy, father.downy, 1.2),
            powdery: draw(mother.powdery, father.powdery, 1.3),
            alpha: draw(mother.alpha, father.alpha, 1.4).max(0.8),
            cones: draw(mother.cones, father.cones, 170.0).max(80.0),
        }
    }
}

/// A score 1 to 9 given by eye to a plant of this worth.
pub(crate) fn scored(worth: f64, chance: &mut Chance) -> f64 {
    (worth + 0.9 * chance.bell()).round().clamp(1.0, 9.0)
}
