//! How many genes each gamete of a cross carries.

use super::error::DoseFault;

/// What is known of one side before the doses are worked out.
#[derive(Clone, Copy)]
pub(super) struct Side {
    /// Sets of the parent, `None` if unknown.
    pub(super) parent: Option<u8>,
    /// A dose that was stated.
    pub(super) stated: Option<u8>,
}

/// The genes of the female and the male gamete of a plant with `ploidy` sets.
///
/// Readings with fewer unreduced gametes come first; among the first that fit there must be exactly one.
pub(super) fn doses(ploidy: u8, female: Side, male: Side) -> Result<[u8; 2], DoseFault> {
    for side in [female, male] {
        if let (Some(parent), Some(stated)) = (side.parent, side.stated)
            && stated > parent
        {
            return Err(DoseFault::ExceedsParent);
        }
    }
    if [female, male]
        .iter()
        .all(|side| side.parent.is_none() && side.stated.is_none())
    {
        let larger = ploidy.div_ceil(2);
        return Ok([larger, ploidy - larger]);
    }
    for unreduced in 0..=2 {
        let mut fitting = readings(ploidy, female)
            .flat_map(|(f, unreduced_f)| {
                readings(ploidy, male)
                    .map(move |(m, unreduced_m)| (f, m, unreduced_f + unreduced_m))
            })
            .filter(|&(f, m, count)| {
                count == unreduced && u16::from(f) + u16::from(m) == u16::from(ploidy)
            })
            .map(|(f, m, _)| [f, m]);
        match (fitting.next(), fitting.next()) {
            (Some(only), None) => return Ok(only),
            (Some(_), Some(_)) => return Err(DoseFault::Ambiguous),
            (None, _) => {}
        }
    }
    Err(DoseFault::Impossible)
}

/// Doses a side may have in a child of `ploidy` sets, each with 1 if it is an unreduced gamete, else 0.
fn readings(ploidy: u8, side: Side) -> impl Iterator<Item = (u8, u8)> {
    let (reduced, unreduced) = match (side.stated, side.parent) {
        (Some(stated), _) => (stated..=stated, None),
        (None, None) => (1..=ploidy, None),
        (None, Some(parent)) => (
            (parent / 2).max(1)..=parent.div_ceil(2),
            (parent > 1).then_some(parent),
        ),
    };
    reduced
        .map(|dose| (dose, 0))
        .chain(unreduced.map(|dose| (dose, 1)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn known(parent: u8) -> Side {
        Side {
            parent: Some(parent),
            stated: None,
        }
    }
    const UNKNOWN: Side = Side {
        parent: None,
        stated: None,
    };

    #[test]
    fn reduced_gametes_come_first() {
        assert_eq!(doses(2, known(2), known(2)), Ok([1, 1]));
        assert_eq!(doses(3, known(4), known(2)), Ok([2, 1]));
        assert_eq!(doses(4, known(4), known(4)), Ok([2, 2]));
        assert_eq!(doses(3, known(2), UNKNOWN), Ok([1, 2]));
        assert_eq!(doses(3, UNKNOWN, UNKNOWN), Ok([2, 1]));
    }

    #[test]
    fn a_triploid_gives_what_fits() {
        assert_eq!(doses(2, known(3), known(2)), Ok([1, 1]));
        assert_eq!(doses(3, known(3), known(2)), Ok([2, 1]));
        assert_eq!(doses(3, known(3), known(3)), Err(DoseFault::Ambiguous));
        assert_eq!(doses(2, known(3), UNKNOWN), Ok([1, 1]));
    }

    #[test]
    fn unreduced_gametes_are_read_from_the_ploidy_when_only_one_reading_fits() {
        assert_eq!(doses(4, known(4), known(2)), Ok([2, 2]));
        assert_eq!(doses(4, known(2), known(2)), Ok([2, 2]));
        assert_eq!(doses(3, known(2), known(2)), Err(DoseFault::Ambiguous));
        assert_eq!(
            doses(
                3,
                Side {
                    parent: Some(2),
                    stated: Some(2)
                },
                known(2)
            ),
            Ok([2, 1])
        );
        assert_eq!(doses(5, known(2), known(2)), Err(DoseFault::Impossible));
        assert_eq!(
            doses(
                3,
                Side {
                    parent: Some(2),
                    stated: Some(3)
                },
                UNKNOWN
            ),
            Err(DoseFault::ExceedsParent)
        );
    }
}
