//! Single columns of the coancestry matrix among parents.

use super::pedigree::{Donor, Pedigree};

/// Workspace for K w = T Δ T' w with sparse w, visiting only ancestors.
///
/// T is the gene flow among parents and Δ their Mendelian sampling variance (see the module's derivation).
/// The product is formed without T or K: a sweep from descendants to ancestors gives Δ T' w, which is zero
/// outside the ancestors of w's members, and a sweep back down gives the wanted entries (Colleau 2002; taken
/// column by column over a reduced pedigree, as Sargolzaei, Iwaisaki & Colleau 2005, "A fast algorithm for
/// computing inbreeding coefficients in large populations", J. Anim. Breed. Genet. 122:325-331).
pub(super) struct Column {
    /// Δ T' w, at the places in `reached`.
    innovation: Vec<f64>,
    reached: RowSlots,
    /// K w, at the places in `wanted`.
    value: Vec<f64>,
    wanted: RowSlots,
}

impl Column {
    pub(super) fn new(parents: usize) -> Self {
        Self {
            innovation: vec![0.0; parents],
            reached: RowSlots::new(parents),
            value: vec![0.0; parents],
            wanted: RowSlots::new(parents),
        }
    }

    /// Takes a new w. `mendelian` is Δ by family, needed only for the families of w's members and their ancestors.
    pub(super) fn load(&mut self, pedigree: &Pedigree, mendelian: &[f64], w: &[Donor]) {
        for place in self.reached.ascending() {
            self.innovation[place] = 0.0;
        }
        self.reached.clear();
        self.wanted.clear();
        for donor in w {
            self.innovation[donor.parent as usize] += donor.share;
            self.reached.insert(donor.parent as usize);
        }
        let mut below = pedigree.parent_count();
        while let Some(place) = self.reached.last_below(below) {
            below = place;
            let passed_on = self.innovation[place];
            for donor in pedigree.donors_at(place) {
                self.innovation[donor.parent as usize] += passed_on * donor.share;
                self.reached.insert(donor.parent as usize);
            }
            self.innovation[place] = passed_on * mendelian[pedigree.family_at(place)];
        }
    }

    /// Makes the entries of `targets` available to [`Self::value`].
    pub(super) fn evaluate(&mut self, pedigree: &Pedigree, targets: impl IntoIterator<Item = u32>) {
        self.wanted.clear();
        for target in targets {
            self.wanted.insert(target as usize);
        }
        let mut below = pedigree.parent_count();
        while let Some(place) = self.wanted.last_below(below) {
            below = place;
            for donor in pedigree.donors_at(place) {
                self.wanted.insert(donor.parent as usize);
            }
        }
        for place in self.wanted.ascending() {
            let inherited: f64 = pedigree
                .donors_at(place)
                .iter()
                .map(|donor| donor.share * self.value[donor.parent as usize])
                .sum();
            self.value[place] = inherited + self.innovation[place];
        }
    }

    /// The entry of a parent among the latest targets.
    pub(super) fn value(&self, parent: u32) -> f64 {
        self.value[parent as usize]
    }

    /// The sum over donors of share times entry, all of them among the latest targets.
    pub(super) fn weighted(&self, donors: &[Donor]) -> f64 {
        donors
            .iter()
            .map(|donor| donor.share * self.value(donor.parent))
            .sum()
    }
}

/// A set of places that is walked in order while it grows.
struct RowSlots {
    words: Vec<u64>,
    /// One past the highest word in use.
    used: usize,
}

impl RowSlots {
    fn new(places: usize) -> Self {
        Self {
            words: vec![0; places.div_ceil(64)],
            used: 0,
        }
    }

    fn insert(&mut self, place: usize) {
        self.words[place / 64] |= 1 << (place % 64);
        self.used = self.used.max(place / 64 + 1);
    }

    fn clear(&mut self) {
        self.words[..self.used].fill(0);
        self.used = 0;
    }

    /// The highest place below `limit`.
    fn last_below(&self, limit: usize) -> Option<usize> {
        let highest =
            |word: usize, bits: u64| (bits != 0).then(|| word * 64 + bits.ilog2() as usize);
        let word = limit / 64;
        let partial = self
            .words
            .get(word)
            .and_then(|bits| highest(word, bits & ((1 << (limit % 64)) - 1)));
        partial.or_else(|| {
            (0..word.min(self.used))
                .rev()
                .find_map(|word| highest(word, self.words[word]))
        })
    }

    fn ascending(&self) -> impl Iterator<Item = usize> + use<'_> {
        self.words[..self.used]
            .iter()
            .enumerate()
            .flat_map(|(word, &bits)| {
                std::iter::successors((bits != 0).then_some(bits), |bits| {
                    let rest = bits & (bits - 1);
                    (rest != 0).then_some(rest)
                })
                .map(move |bits| word * 64 + bits.trailing_zeros() as usize)
            })
    }
}

#[cfg(test)]
mod tests {
    use super::RowSlots;

    #[test]
    fn places_are_walked_in_order_while_growing() {
        let mut places = RowSlots::new(200);
        places.insert(130);
        let mut seen = Vec::new();
        let mut below = 200;
        while let Some(place) = places.last_below(below) {
            below = place;
            seen.push(place);
            if place > 40 {
                places.insert(place - 3);
                places.insert(place - 40);
            }
        }
        assert!(seen.is_sorted_by(|a, b| a > b));
        let mut ascending: Vec<usize> = places.ascending().collect();
        ascending.reverse();
        assert_eq!(seen, ascending);
        places.clear();
        assert_eq!(places.last_below(200), None);
    }
}
