//! Sums of what was counted.

use std::borrow::Borrow;

/// The sum of counts: the greatest number there is where they come to more, as they do in made-up records only.
pub fn total<C: Borrow<u32>>(counts: impl IntoIterator<Item = C>) -> u32 {
    counts
        .into_iter()
        .fold(0, |sum: u32, count| sum.saturating_add(*count.borrow()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_beyond_any_sum_come_to_the_greatest_there_is() {
        assert_eq!(total([3, 4]), 7);
        assert_eq!(total([u32::MAX, 1, 5]), u32::MAX);
    }
}
