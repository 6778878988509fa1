//! Points spread evenly in many dimensions, always the same ones.

/// `points` values of a uniform number, one in the middle of each of as many equal strata of 0 to 1, in an order of
/// their own for each dimension: a Latin hypercube (`McKay`, Beckman & Conover 1979, Technometrics 21:239–245). What is
/// nearly a sum over the dimensions is averaged over it with far less error than over points drawn freely.
pub fn stratified(dimension: u64, points: usize) -> Vec<f64> {
    let mut order: Vec<usize> = (0..points).collect();
    let mut state = dimension
        .wrapping_add(1)
        .wrapping_mul(0x9E37_79B9_7F4A_7C15);
    // Fisher & Yates' shuffle by Steele, Lea & Flood's generator (2014, "Fast splittable pseudorandom number
    // generators", OOPSLA).
    for last in (1..points).rev() {
        state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^= mixed >> 31;
        order.swap(last, (mixed % (last as u64 + 1)) as usize);
    }
    order
        .into_iter()
        .map(|stratum| (stratum as f64 + 0.5) / points as f64)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_stratum_has_one_point_and_dimensions_are_not_alike() {
        let (one, other) = (stratified(3, 256), stratified(4, 256));
        let mut sorted = one.clone();
        sorted.sort_by(f64::total_cmp);
        for (nth, value) in sorted.iter().enumerate() {
            assert!((value - (nth as f64 + 0.5) / 256.0).abs() < 1e-12);
        }
        assert_eq!(one, stratified(3, 256));
        // Uniform numbers have variance 1/12; independent ones of 256 correlate within 3/16.
        let covariance: f64 = one
            .iter()
            .zip(&other)
            .map(|(a, b)| (a - 0.5) * (b - 0.5))
            .sum();
        assert!((12.0 * covariance / 256.0).abs() < 3.0 / 16.0);
    }
}
