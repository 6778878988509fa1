//! What may be crossed, what it would bring, and what it may take.

use std::fmt;

use faer::{Mat, Side};

use super::value::Levels;

/// A cross that could be made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Family {
    /// The seed parent, an index into the kinship matrix.
    pub female: usize,
    /// The pollen parent.
    pub male: usize,
    /// Expected value of a plant.
    pub mean: f64,
    /// Standard deviation within the family of what can be known of a plant when it is chosen: accuracy times genetic
    /// standard deviation.
    pub deviation: f64,
    /// Chance that a seed becomes a plant to choose from, 0 to 1.
    pub rate: f64,
    /// The most portions of seed this cross may get, whatever the limits.
    pub most: u32,
}

/// Room that portions of seed take: boxes, cells, pots, cones of a female.
#[derive(Clone, Debug, PartialEq)]
pub struct RoomLimit {
    /// How much there is.
    pub room: f64,
    /// What one portion takes, for each family that takes any.
    pub takes: Vec<(usize, f64)>,
    /// A family takes it for whole lots of so many portions, the last one filled or not, as boxes are taken; 1 where
    /// each portion takes its own.
    pub whole: u32,
}

impl RoomLimit {
    /// What so many portions of a family take that takes `take` for each.
    pub(super) fn taken(&self, take: f64, portions: u32) -> f64 {
        let whole = self.whole.max(1);
        take * f64::from(portions.div_ceil(whole)) * f64::from(whole)
    }

    /// The most portions of a family that it has room for.
    pub fn most(&self, take: f64) -> u32 {
        let whole = self.whole.max(1);
        let lots = (self.room / (take * f64::from(whole)) + 1e-9).floor();
        (lots as u32).saturating_mul(whole)
    }
}

/// How many crosses of some may be made.
#[derive(Clone, Debug, PartialEq)]
pub struct CountLimit {
    /// The most.
    pub most: u32,
    /// Of these families.
    pub families: Vec<usize>,
}

/// The figures of a [`Problem`] that stand for themselves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantities {
    /// Seeds in a portion.
    pub portion: u32,
    /// The fewest portions worth making a cross for; 0 counts as 1.
    pub least: u32,
    /// How many of the best plants will be kept; at least 1.
    pub wanted: u32,
    /// The value one has already: plants no better count nothing.
    pub floor: f64,
}

/// Why there is no plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MatingError {
    /// A figure is not a number, or out of its range.
    Figure,
    /// A family or a limit names what is not there.
    Missing,
    /// The kinship matrix is not square, or not that of any plants.
    Kinship,
    /// What is locked in breaks a limit.
    Locked,
    /// No plan stays within the limits.
    Nothing,
    /// It was stopped.
    Stopped,
}

impl fmt::Display for MatingError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Figure => "a figure is not a number or out of its range",
            Self::Missing => "a family or a limit names a plant or a cross that is not there",
            Self::Kinship => "the kinships contradict one another",
            Self::Locked => "the crosses that must be made don't fit within the limits",
            Self::Nothing => "no cross fits within the limits",
            Self::Stopped => "stopped",
        })
    }
}

impl std::error::Error for MatingError {}

/// Everything that a plan is made from.
#[derive(Clone, Debug)]
pub struct Problem {
    pub(super) families: Vec<Family>,
    pub(super) kinship: Mat<f64>,
    /// R with R'R = K.
    pub(super) root: Mat<f64>,
    pub(super) quantities: Quantities,
    pub(super) rooms: Vec<RoomLimit>,
    pub(super) counts: Vec<CountLimit>,
    pub(super) levels: Levels,
    /// The most portions of each family that the limits leave it alone.
    pub(super) most: Vec<u32>,
}

impl Problem {
    /// Checks and takes in what a plan is made from. `kinship` holds the coancestry of all parents, each with itself
    /// on the diagonal.
    ///
    /// # Errors
    /// See [`MatingError`].
    pub fn new(
        families: Vec<Family>,
        kinship: Mat<f64>,
        quantities: Quantities,
        rooms: Vec<RoomLimit>,
        counts: Vec<CountLimit>,
    ) -> Result<Self, MatingError> {
        let parents = kinship.nrows();
        let quantities = Quantities {
            least: quantities.least.max(1),
            ..quantities
        };
        let figures = families.iter().all(|family| {
            family.mean.is_finite()
                && family.deviation.is_finite()
                && family.deviation >= 0.0
                && (0.0..=1.0).contains(&family.rate)
        });
        let takes = rooms.iter().flat_map(|room| room.takes.iter());
        if !figures
            || quantities.wanted == 0
            || quantities.portion == 0
            || !quantities.floor.is_finite()
            || rooms
                .iter()
                .any(|room| room.room.is_nan() || room.room < 0.0)
            || takes
                .clone()
                .any(|take| !(take.1.is_finite() && take.1 >= 0.0))
        {
            return Err(MatingError::Figure);
        }
        if families
            .iter()
            .any(|each| each.female.max(each.male) >= parents)
            || takes.clone().any(|take| take.0 >= families.len())
            || counts
                .iter()
                .flat_map(|count| &count.families)
                .any(|&each| each >= families.len())
        {
            return Err(MatingError::Missing);
        }
        let root = root_of(&kinship)?;
        let most = most_alone(&families, &rooms, quantities.least);
        let levels = Levels::new(
            &families,
            quantities.portion,
            quantities.wanted,
            quantities.floor,
        );
        Ok(Self {
            families,
            kinship,
            root,
            quantities,
            rooms,
            counts,
            levels,
            most,
        })
    }

    /// The same with other limits, for the same families.
    #[must_use]
    pub fn with_limits(&self, rooms: Vec<RoomLimit>, counts: Vec<CountLimit>) -> Self {
        Self {
            most: most_alone(&self.families, &rooms, self.quantities.least),
            rooms,
            counts,
            ..self.clone()
        }
    }

    /// The limits on room.
    pub fn rooms(&self) -> &[RoomLimit] {
        &self.rooms
    }

    /// The limits on numbers of crosses.
    pub fn counts(&self) -> &[CountLimit] {
        &self.counts
    }

    /// The crosses that could be made.
    pub fn families(&self) -> &[Family] {
        &self.families
    }

    /// Its plain figures.
    pub const fn quantities(&self) -> Quantities {
        self.quantities
    }

    /// The most portions that the limits leave a family, if it were alone.
    pub fn most(&self, family: usize) -> u32 {
        self.most[family]
    }

    /// The expected value above the floor of the best plants, for so many portions of each family.
    pub fn gain(&self, portions: &[u32]) -> f64 {
        self.levels.gain(self.plants(portions).into_iter())
    }

    /// How many plants to choose from are expected.
    pub fn plants_raised(&self, portions: &[u32]) -> f64 {
        let each = self.families.iter().zip(portions);
        each.map(|(family, &portions)| f64::from(portions * self.quantities.portion) * family.rate)
            .sum()
    }

    /// The mean coancestry x'Kx of the plants raised; `None` when there are none.
    pub fn coancestry(&self, portions: &[u32]) -> Option<f64> {
        let (x, sum) = self.contributions(portions);
        (sum > 0.0).then(|| self.quadratic(&x) / (sum * sum))
    }

    /// Whether a plan stays within all limits, with the coancestry of `limit` at most and each of `locked` made.
    pub fn allows(&self, portions: &[u32], limit: f64, locked: &[usize]) -> bool {
        let sound = portions.len() == self.families.len()
            && portions.iter().zip(&self.most).all(|(&portions, &most)| {
                portions == 0 || (self.quantities.least..=most).contains(&portions)
            })
            && locked
                .iter()
                .all(|&family| portions.get(family).is_some_and(|&each| each > 0));
        sound
            && self
                .rooms
                .iter()
                .all(|room| self.taken(room, portions) <= room.room * (1.0 + 1e-12) + 1e-9)
            && self.counts.iter().all(|count| {
                let made = count
                    .families
                    .iter()
                    .filter(|&&family| portions[family] > 0);
                made.count() <= count.most as usize
            })
            && (limit.is_infinite()
                || self
                    .coancestry(portions)
                    .is_none_or(|each| each <= limit * (1.0 + 1e-9)))
    }

    /// How much of a limited room a plan takes.
    pub fn taken(&self, room: &RoomLimit, portions: &[u32]) -> f64 {
        room.takes
            .iter()
            .map(|&(family, take)| room.taken(take, portions[family]))
            .sum()
    }

    /// Plants expected above each level.
    pub(super) fn plants(&self, portions: &[u32]) -> Vec<f64> {
        let mut plants = vec![0.0; self.levels.len()];
        for (above, &portions) in self.levels.above.iter().zip(portions) {
            if portions > 0 {
                for (plants, above) in plants.iter_mut().zip(above) {
                    *plants += f64::from(portions) * above;
                }
            }
        }
        plants
    }

    /// What each parent gives to the plants raised, and their number: half of each plant from either side.
    pub(super) fn contributions(&self, portions: &[u32]) -> (Vec<f64>, f64) {
        let mut x = vec![0.0; self.kinship.nrows()];
        let mut sum = 0.0;
        for (family, &portions) in self.families.iter().zip(portions) {
            let plants = f64::from(portions) * self.weight(family);
            x[family.female] += 0.5 * plants;
            x[family.male] += 0.5 * plants;
            sum += plants;
        }
        (x, sum)
    }

    /// Plants from one portion of a family.
    pub(super) fn weight(&self, family: &Family) -> f64 {
        f64::from(self.quantities.portion) * family.rate
    }

    pub(super) fn quadratic(&self, x: &[f64]) -> f64 {
        let used: Vec<usize> = (0..x.len()).filter(|&i| x[i] != 0.0).collect();
        let row = |i: usize| {
            used.iter()
                .map(|&j| self.kinship[(i, j)] * x[j])
                .sum::<f64>()
        };
        used.iter().map(|&i| x[i] * row(i)).sum()
    }
}

/// The most portions of each family that the limits leave it alone; none where that is fewer than are worth a cross.
fn most_alone(families: &[Family], rooms: &[RoomLimit], least: u32) -> Vec<u32> {
    let mut most: Vec<u32> = families.iter().map(|family| family.most).collect();
    for room in rooms {
        for &(family, take) in &room.takes {
            if take > 0.0 {
                most[family] = most[family].min(room.most(take));
            }
        }
    }
    for most in &mut most {
        if *most < least {
            *most = 0;
        }
    }
    most
}

/// R with R'R = K, from the eigenvectors, so that clones and doubled plants make no trouble.
pub(super) fn root_of(kinship: &Mat<f64>) -> Result<Mat<f64>, MatingError> {
    let size = kinship.nrows();
    if kinship.ncols() != size {
        return Err(MatingError::Kinship);
    }
    let finite = (0..size).all(|j| (0..size).all(|i| kinship[(i, j)].is_finite()));
    let eigen = finite
        .then(|| kinship.self_adjoint_eigen(Side::Lower).ok())
        .flatten()
        .ok_or(MatingError::Kinship)?;
    let (vectors, values) = (eigen.U(), eigen.S().column_vector());
    let largest = (0..size).map(|i| values[i]).fold(0.0, f64::max);
    let kept: Vec<usize> = (0..size).filter(|&i| values[i] > 1e-12 * largest).collect();
    if (0..size).any(|i| values[i] < -1e-6 * largest.max(1.0)) {
        return Err(MatingError::Kinship);
    }
    Ok(Mat::from_fn(kept.len(), size, |row, column| {
        values[kept[row]].sqrt() * vectors[(column, kept[row])]
    }))
}
