//! Disease over a season as one number.

/// The area under the progress curve, by straight lines between the days on which it was scored (Shaner & Finney 1977,
/// Phytopathology 67:1051–1056). `None` unless there are as many values as days, two at least, all numbers, the days
/// rising.
pub fn area(days: &[f64], values: &[f64]) -> Option<f64> {
    let sound = days.len() == values.len()
        && days.len() > 1
        && days.iter().chain(values).all(|each| each.is_finite())
        && days.windows(2).all(|pair| pair[0] < pair[1]);
    sound.then(|| {
        days.windows(2)
            .zip(values.windows(2))
            .map(|(days, values)| (days[1] - days[0]) * f64::midpoint(values[0], values[1]))
            .sum()
    })
}

/// The area as a share of what the whole `scale` (100 for per cent) all the time would give.
pub fn relative_area(days: &[f64], values: &[f64], scale: f64) -> Option<f64> {
    let area = area(days, values)?;
    (scale > 0.0).then(|| area / (scale * (days[days.len() - 1] - days[0])))
}

/// The area under the progress stairs, in which the first and the last score count as much as the others (Simko & Piepho
/// 2012, Phytopathology 102:381–389).
pub fn stairs(days: &[f64], values: &[f64]) -> Option<f64> {
    let area = area(days, values)?;
    let last = days.len() - 1;
    Some(area + f64::midpoint(values[0], values[last]) * (days[last] - days[0]) / last as f64)
}

/// Per cent in the middle of each class of Horsfall & Barratt (1945, Phytopathology 35:655), 0 to 11 (from memory).
/// Classes must become per cent before an area is taken: they are not evenly spaced.
pub const CLASS_MIDPOINTS: [f64; 12] = [
    0.0, 1.5, 4.5, 9.0, 18.5, 37.5, 62.5, 81.5, 91.0, 95.5, 98.5, 100.0,
];

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked out from the formulas of Shaner & Finney (1977) and Simko & Piepho (2012).
    #[test]
    fn a_season() {
        let days = [0.0, 7.0, 14.0, 21.0, 28.0, 35.0];
        let values = [1.0, 3.0, 10.0, 30.0, 55.0, 80.0];
        assert!((area(&days, &values).unwrap() - 969.5).abs() < 1e-9);
        assert!((relative_area(&days, &values, 1.0).unwrap() - 27.7).abs() < 1e-9);
        assert!((stairs(&days, &values).unwrap() - 1253.0).abs() < 1e-9);
        let days = [0.0, 7.0, 14.0, 21.0, 28.0];
        let values = [0.0, 5.0, 20.0, 45.0, 70.0];
        assert!((area(&days, &values).unwrap() - 735.0).abs() < 1e-9);
        assert!((relative_area(&days, &values, 100.0).unwrap() - 0.2625).abs() < 1e-12);
    }

    #[test]
    fn classes_become_per_cent_first() {
        let days = [0.0, 10.0];
        let found = area(&days, &[2, 6].map(|class: usize| CLASS_MIDPOINTS[class])).unwrap();
        assert!((found - 335.0).abs() < 1e-9);
        assert!(CLASS_MIDPOINTS.windows(2).all(|pair| pair[0] < pair[1]));
    }

    #[test]
    fn refuses_days_that_do_not_rise() {
        assert_eq!(area(&[0.0, 7.0, 7.0], &[1.0, 2.0, 3.0]), None);
        assert_eq!(area(&[0.0, 7.0], &[1.0]), None);
        assert_eq!(area(&[0.0], &[1.0]), None);
        assert_eq!(stairs(&[0.0, f64::NAN], &[1.0, 2.0]), None);
        assert_eq!(relative_area(&[0.0, 7.0], &[1.0, 2.0], 0.0), None);
    }
}
