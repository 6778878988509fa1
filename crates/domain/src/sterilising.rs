//! Surface-sterilising seed: what to measure out for a bath, the steps in their order, and what a mixture would hold.
//!
//! Bleach and alcohol are never mixed: [`check_steps`] refuses steps that let them meet. What the mixture seen in the
//! trade holds is calculated for information, so that records of it can be compared; it is not offered.

use std::fmt;

/// A strength of bleach.
///
/// Labels tell it in different ways. They are brought to one: grams of sodium hypochlorite in 100 ml, 'percent
/// hypochlorite'.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hypochlorite(pub f64);

/// Grams of sodium hypochlorite that oxidise as one gram of chlorine does: 74.44 g/mol to 70.91 g/mol.
const PER_CHLORINE: f64 = 74.44 / 70.91;

impl Hypochlorite {
    /// From the label's percent of available (active) chlorine: 1 % is 10 g in a litre, or 10,000 ppm (CDC, *Best
    /// practices in settings with limited resources*, appendix E). 5 % available chlorine are 5.25 % hypochlorite.
    pub fn from_available_chlorine(percent: f64) -> Self {
        Self(percent * PER_CHLORINE)
    }

    /// From chlorometric degrees, litres of chlorine gas a litre yields: one is 0.3 % available chlorine (CDC, the
    /// same appendix; 0.317 by exact calculation).
    pub fn from_chlorometric_degrees(degrees: f64) -> Self {
        Self::from_available_chlorine(degrees * 0.3)
    }

    /// In percent of available chlorine.
    pub fn available_chlorine(self) -> f64 {
        self.0 / PER_CHLORINE
    }
}

impl fmt::Display for Hypochlorite {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.2} % hypochlorite", self.0)
    }
}

/// What to measure out: so much of the product, made up with water to the volume.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dilution {
    /// Millilitres of the product.
    pub product: f64,
    /// Millilitres of water. For strong alcohol a little more: make up to the volume, since the two shrink together.
    pub water: f64,
}

impl Dilution {
    /// Parts of water to one part of the product.
    pub fn parts_of_water(self) -> f64 {
        self.water / self.product
    }
}

/// Why a bath can't be made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoDilution {
    /// A strength or the volume isn't a number above nothing.
    NotPositive,
    /// A strength is above 100 %.
    AboveHundred,
    /// The product is weaker than the bath is to be.
    TooWeak,
}

impl fmt::Display for NoDilution {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NotPositive => "Give both strengths and the volume as numbers above 0.",
            Self::AboveHundred => "Nothing is stronger than 100 %.",
            Self::TooWeak => {
                "The product is weaker than the bath is to be. Take a stronger product, or aim lower."
            }
        })
    }
}

impl std::error::Error for NoDilution {}

/// Product and water for a bath: both strengths in the same percent, the volume in millilitres (C1·V1 = C2·V2).
///
/// # Errors
/// A strength or volume that can't be, and a product weaker than the bath.
///
/// ```
/// use domain::sterilising::dilute;
/// // CDC appendix E: bleach of 5 % to a bath of 0.5 %: 9 parts of water to one of bleach.
/// assert_eq!(dilute(5.0, 0.5, 1000.0).unwrap().parts_of_water(), 9.0);
/// ```
pub fn dilute(product: f64, bath: f64, volume: f64) -> Result<Dilution, NoDilution> {
    let positive = |number: f64| number.is_finite() && number > 0.0;
    if ![product, bath, volume].into_iter().all(positive) {
        return Err(NoDilution::NotPositive);
    }
    if product > 100.0 || bath > 100.0 {
        return Err(NoDilution::AboveHundred);
    }
    if bath > product {
        return Err(NoDilution::TooWeak);
    }
    let of_product = volume * bath / product;
    Ok(Dilution {
        product: of_product,
        water: volume - of_product,
    })
}

/// The strength of a bath made of so many parts of water to so many of a product.
pub fn strength_of_parts(product: f64, parts: f64, water: f64) -> Option<f64> {
    let whole = parts + water;
    let fits = product.is_finite() && parts.is_finite() && water.is_finite();
    (fits && product > 0.0 && parts > 0.0 && water >= 0.0).then(|| product * parts / whole)
}

/// What a mixture of parts holds, in percent: hypochlorite, and alcohol by volume. For information only: mixed, the two
/// use each other up and form chloroform and other harmful compounds, so that neither figure holds for long.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mixture {
    /// Hypochlorite before it reacts.
    pub hypochlorite: Hypochlorite,
    /// Alcohol before it reacts.
    pub alcohol: f64,
}

/// The mixture seen in the trade: 10 parts of water, 4 of household bleach, 2 of strong alcohol (common practice, not
/// offered by this program), of products of these strengths.
pub fn traded_mixture(bleach: Hypochlorite, alcohol: f64) -> Mixture {
    let (water, of_bleach, of_alcohol) = (10.0, 4.0, 2.0);
    let whole: f64 = water + of_bleach + of_alcohol;
    Mixture {
        hypochlorite: Hypochlorite(bleach.0 * of_bleach / whole),
        alcohol: alcohol * of_alcohol / whole,
    }
}

/// What a step puts the seed into.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fluid {
    /// Alcohol of so many percent by volume.
    Alcohol(f64),
    /// Bleach.
    Bleach(Hypochlorite),
    /// Water that was distilled, or boiled and cooled.
    Water,
}

impl Fluid {
    /// The word for it.
    pub fn words(self) -> String {
        match self {
            Self::Alcohol(percent) => format!("alcohol {percent:.0} %"),
            Self::Bleach(strength) => format!("bleach {strength}"),
            Self::Water => "clean water".into(),
        }
    }
}

/// One step at the bench.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SterilisingStep {
    /// What the seed goes into.
    pub fluid: Fluid,
    /// For how many minutes.
    pub minutes: f64,
    /// Which vessel, from 1: alcohol and bleach never share one.
    pub vessel: u32,
}

impl SterilisingStep {
    /// The step as a line of a list.
    pub fn words(&self) -> String {
        let verb = if self.fluid == Fluid::Water {
            "Rinse in"
        } else {
            "Seed in"
        };
        format!(
            "{verb} {}, {} min, vessel {}",
            self.fluid.words(),
            self.minutes,
            self.vessel
        )
    }
}

/// The steps to begin from: alcohol, water, bleach, and rinses, each fluid in a vessel of its own.
///
/// Alcohol of 70 % for half a minute to two, bleach of 0.5 to 2.5 % hypochlorite for 5 to 20 minutes and three rinses
/// are what is generally done with seed of many kinds: from memory; nothing published for hops was found.
pub fn usual_steps() -> Vec<SterilisingStep> {
    let step = |fluid, minutes, vessel| SterilisingStep {
        fluid,
        minutes,
        vessel,
    };
    vec![
        step(Fluid::Alcohol(70.0), 1.0, 1),
        step(Fluid::Water, 1.0, 2),
        step(Fluid::Bleach(Hypochlorite(1.0)), 5.0, 3),
        step(Fluid::Water, 1.0, 4),
        step(Fluid::Water, 1.0, 5),
    ]
}

/// Why steps are refused, if they are: alcohol and bleach would meet, or a time can't be.
///
/// # Errors
/// A sentence that says which steps and what to do.
pub fn check_steps(steps: &[SterilisingStep]) -> Result<(), String> {
    if let Some(nth) = steps
        .iter()
        .position(|step| !(step.minutes.is_finite() && step.minutes > 0.0 && step.minutes <= 240.0))
    {
        return Err(format!(
            "Step {} can't take {} minutes. Give a number above 0.",
            nth + 1,
            steps[nth].minutes
        ));
    }
    let kind = |fluid: Fluid| match fluid {
        Fluid::Alcohol(_) => 1,
        Fluid::Bleach(_) => 2,
        Fluid::Water => 0,
    };
    for (nth, pair) in steps.windows(2).enumerate() {
        let kinds = (kind(pair[0].fluid), kind(pair[1].fluid));
        if kinds == (1, 2) || kinds == (2, 1) {
            return Err(format!(
                "Steps {} and {} bring alcohol and bleach together. Put a rinse in water between them.",
                nth + 1,
                nth + 2
            ));
        }
    }
    for (nth, step) in steps.iter().enumerate() {
        // Water too: what a first rinse washed off must not wait in the vessel of a later step.
        let shared = steps[..nth].iter().position(|other| {
            other.vessel == step.vessel && (kind(other.fluid) != kind(step.fluid))
        });
        if let Some(other) = shared {
            return Err(format!(
                "Steps {} and {} share vessel {}. Give each fluid a vessel of its own, and pour them away apart.",
                other + 1,
                nth + 1,
                step.vessel
            ));
        }
    }
    Ok(())
}

/// What stands ready before seed is opened (common practice).
pub const BENCH: [&str; 8] = [
    "Window open, no flame near: strong alcohol burns at room temperature",
    "Surfaces wiped down and left to dry",
    "Gloves, mask and eye protection on",
    "Towels sterilised: 10 minutes in a pressure cooker, cooled in their bag",
    "Water distilled; where there is none, tap water boiled 10 minutes and cooled to room temperature",
    "A vessel for each fluid, each with its label",
    "A vessel for alcohol poured away and another for bleach, never one for both",
    "One lot at a time on the bench, its label beside it",
];

/// Why the bath isn't used again (common practice).
pub const ONCE: &str =
    "Use each bath once: the seed exhausts it, and it can carry mould from one lot to the next.";

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn near(one: f64, other: f64, within: f64) {
        assert!((one - other).abs() <= within, "{one} is not {other}");
    }

    #[test]
    fn dilutions_as_published() {
        // CDC, Best practices in settings with limited resources, appendix E: parts of water to a part of bleach.
        near(
            dilute(3.5, 0.5, 1000.0).unwrap().parts_of_water(),
            6.0,
            1e-9,
        );
        near(
            dilute(5.0, 0.1, 1000.0).unwrap().parts_of_water(),
            49.0,
            1e-9,
        );
        // C1·V1 = C2·V2, recomputed by hand.
        for (product, bath, volume, of_product, water) in [
            (5.25, 1.0, 500.0, 95.24, 404.76),
            (8.25, 0.6, 1000.0, 72.73, 927.27),
            (5.0, 0.5, 1000.0, 100.0, 900.0),
            (95.0, 70.0, 1000.0, 736.84, 263.16),
            (96.0, 70.0, 100.0, 72.92, 27.08),
        ] {
            let dilution = dilute(product, bath, volume).unwrap();
            near(dilution.product, of_product, 0.005);
            near(dilution.water, water, 0.005);
        }
    }

    #[test]
    fn a_target_above_the_product_is_an_error() {
        assert_eq!(dilute(5.0, 5.5, 100.0), Err(NoDilution::TooWeak));
        assert_eq!(dilute(0.0, 0.0, 100.0), Err(NoDilution::NotPositive));
        assert_eq!(dilute(f64::NAN, 1.0, 100.0), Err(NoDilution::NotPositive));
        assert_eq!(dilute(120.0, 1.0, 100.0), Err(NoDilution::AboveHundred));
        assert_eq!(dilute(5.0, 5.0, 100.0).unwrap().water, 0.0);
    }

    #[test]
    fn ten_percent_bleach_is_not_ten_percent_hypochlorite() {
        // One part of household bleach of 5.25 % in ten of the whole: 0.525 %.
        near(strength_of_parts(5.25, 1.0, 9.0).unwrap(), 0.525, 1e-12);
        assert_eq!(strength_of_parts(5.25, 0.0, 9.0), None);
    }

    #[test]
    fn available_chlorine_and_hypochlorite_differ_by_their_weights() {
        // 5.25 % sodium hypochlorite is sold as 5 % available chlorine (molar masses 74.44 and 70.91 g/mol).
        near(Hypochlorite::from_available_chlorine(5.0).0, 5.25, 0.01);
        near(Hypochlorite(5.25).available_chlorine(), 5.0, 0.01);
        // CDC appendix E: one chlorometric degree is 0.3 % available chlorine.
        near(
            Hypochlorite::from_chlorometric_degrees(12.0).available_chlorine(),
            3.6,
            1e-12,
        );
    }

    #[test]
    fn the_traded_mixture_is_a_quarter_of_the_bleach() {
        // 4 of 16 parts of bleach of 5.25 %, 2 of 16 parts of alcohol of 95 %, by hand.
        let mixture = traded_mixture(Hypochlorite(5.25), 95.0);
        near(mixture.hypochlorite.0, 1.3125, 1e-12);
        near(mixture.alcohol, 11.875, 1e-12);
    }

    #[test]
    fn alcohol_and_bleach_never_meet() {
        let usual = usual_steps();
        assert_eq!(check_steps(&usual), Ok(()));
        let without_rinse: Vec<SterilisingStep> = [0, 2, 3, 4].map(|nth| usual[nth]).to_vec();
        assert!(
            check_steps(&without_rinse)
                .unwrap_err()
                .contains("rinse in water between")
        );
        let turned: Vec<SterilisingStep> = without_rinse.iter().rev().copied().collect();
        assert!(
            check_steps(&turned)
                .unwrap_err()
                .contains("rinse in water between")
        );
        let mut shared = usual.clone();
        shared[2].vessel = 1;
        assert!(check_steps(&shared).unwrap_err().contains("share vessel 1"));
        shared[2].vessel = 2;
        assert!(check_steps(&shared).unwrap_err().contains("share vessel 2"));
        let mut endless = usual;
        endless[0].minutes = 0.0;
        assert!(check_steps(&endless).is_err());
    }
}
