//! What runs along a side of a chart, and where its ticks stand.

/// One axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// Its name; empty for none.
    pub name: String,
    /// Where it begins.
    pub from: f64,
    /// Where it ends, above `from`.
    pub to: f64,
    /// Which steps its ticks may have.
    pub steps: Steps,
    /// What stands behind each of its figures, such as ` %`.
    pub unit: &'static str,
    /// Whether a rule runs through the chart at each tick.
    pub ruled: bool,
}

/// Which steps the ticks of an axis may have.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Steps {
    /// 1, 2 or 5 times a power of ten.
    Round,
    /// The first of these, ascending, for which there is room.
    OneOf(&'static [f64]),
}

impl Axis {
    /// Figures from one to another, with a rule at each tick.
    pub fn figures(name: &str, from: f64, to: f64) -> Self {
        let to = if to > from { to } else { from + 1.0 };
        Self {
            name: name.to_owned(),
            from,
            to,
            steps: Steps::Round,
            unit: "",
            ruled: true,
        }
    }

    /// Figures around all of `values`, with some room at both ends.
    pub fn around(name: &str, values: impl Iterator<Item = f64>) -> Self {
        let ends = (f64::INFINITY, f64::NEG_INFINITY);
        let (low, high) = values
            .filter(|value| value.is_finite())
            .fold(ends, |(low, high), value| (low.min(value), high.max(value)));
        let (low, high) = if low <= high { (low, high) } else { (0.0, 1.0) };
        let room = 0.08 * (high - low).max(1e-3 * high.abs()).max(1e-6);
        Self::figures(name, low - room, high + room)
    }

    /// Figures from nothing to the first round one that holds `highest`.
    pub fn from_nothing(name: &str, highest: f64) -> Self {
        let step = round_step(highest / 4.0);
        Self::figures(name, 0.0, (highest / step).ceil().max(1.0) * step)
    }

    /// Whole years, or whatever is counted in whole figures.
    pub fn years(first: i32, last: i32) -> Self {
        // A year alone stands in the middle.
        let room = if first == last { 0.5 } else { 0.0 };
        Self {
            name: String::new(),
            from: f64::from(first) - room,
            to: f64::from(last) + room,
            steps: Steps::OneOf(&[1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0]),
            unit: "",
            ruled: false,
        }
    }

    /// Days from the first on; weeks where there are many.
    pub fn days(name: &str, last: f64) -> Self {
        Self {
            name: name.to_owned(),
            from: 0.0,
            to: last.max(1.0),
            steps: Steps::OneOf(&[1.0, 2.0, 5.0, 7.0, 14.0, 28.0, 56.0, 112.0, 364.0]),
            unit: "",
            ruled: false,
        }
    }

    /// Percent, 0 to 100.
    pub fn percent(name: &str) -> Self {
        Self {
            steps: Steps::OneOf(&[25.0, 50.0, 100.0]),
            unit: " %",
            ..Self::figures(name, 0.0, 100.0)
        }
    }

    /// The ticks where at most so many have room, at least two where steps can be halved.
    pub(crate) fn ticks(&self, most: usize) -> Vec<f64> {
        let most = most.max(2) as f64;
        let span = self.to - self.from;
        let mut step = match self.steps {
            Steps::Round => round_step(span / most),
            Steps::OneOf(steps) => steps
                .iter()
                .copied()
                .find(|step| span / step <= most)
                .unwrap_or(span),
        };
        // Rounding must not lose the tick at an end.
        let slack = 1e-9 * span;
        let within = |step: f64| {
            let (low, high) = ((self.from - slack) / step, (self.to + slack) / step);
            (low.ceil() as i64, high.floor() as i64)
        };
        let (mut first, mut last) = within(step);
        // One tick alone tells no scale.
        while matches!(self.steps, Steps::Round) && last <= first && step > 1e-9 * span {
            step /= 2.0;
            (first, last) = within(step);
        }
        (first..=last.min(first + 40))
            .map(|nth| nth as f64 * step)
            .collect()
    }

    /// A tick's figure, with the decimals that tell it from the next.
    pub(crate) fn words(&self, ticks: &[f64], at: f64) -> String {
        let step = match ticks {
            [first, second, ..] => second - first,
            _ => 1.0,
        };
        let is_told = |decimals: &usize| {
            let scale = 10_f64.powi(*decimals as i32);
            ticks
                .iter()
                .all(|tick| ((tick * scale).round() / scale - tick).abs() < 1e-6 * step)
        };
        let decimals = (0..9).find(is_told).unwrap_or(9);
        let at = if at == 0.0 { 0.0 } else { at };
        format!("{at:.decimals$}{}", self.unit).replace('-', "\u{2212}")
    }
}

/// The smallest step of 1, 2 or 5 times a power of ten that is at least so large.
fn round_step(least: f64) -> f64 {
    if least.is_nan() || least <= 0.0 || !least.is_finite() {
        return 0.05;
    }
    let power = 10_f64.powf(least.log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0].map(|times| times * power);
    steps
        .into_iter()
        .find(|step| *step >= least * (1.0 - 1e-12))
        .unwrap_or(steps[3])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_round() {
        for (least, step) in [
            (0.0325, 0.05),
            (0.25, 0.5),
            (2.0, 2.0),
            (5.75, 10.0),
            (0.0, 0.05),
            (1000.0, 1000.0),
        ] {
            assert!(
                (round_step(least) - step).abs() < 1e-12,
                "{least}: {}",
                round_step(least)
            );
        }
    }

    #[test]
    fn a_narrow_range_has_two_ticks_at_least() {
        let narrow = Axis::around("", [3.9, 4.4].into_iter());
        assert!(narrow.ticks(2).len() > 1);
        let one = Axis::around("", [0.1].into_iter());
        assert!(one.ticks(4).len() > 1 && one.from < 0.1 && one.to > 0.1);
        assert_eq!(Axis::around("", std::iter::empty()).ticks(4).len(), 3);
    }

    #[test]
    fn figures_have_the_decimals_that_tell_them_apart() {
        let axis = Axis::figures("", 0.0, 0.15);
        let ticks = axis.ticks(4);
        let words: Vec<_> = ticks.iter().map(|tick| axis.words(&ticks, *tick)).collect();
        assert_eq!(words, ["0.00", "0.05", "0.10", "0.15"]);
        let axis = Axis::percent("");
        let ticks = axis.ticks(4);
        assert_eq!(axis.words(&ticks, 25.0), "25 %");
    }

    #[test]
    fn years_thin_out_where_there_is_little_room() {
        assert_eq!(
            Axis::years(2021, 2026).ticks(6),
            [2021.0, 2022.0, 2023.0, 2024.0, 2025.0, 2026.0]
        );
        assert_eq!(Axis::years(2021, 2026).ticks(3), [2022.0, 2024.0, 2026.0]);
        assert_eq!(Axis::years(2026, 2026).ticks(3), [2026.0]);
    }
}
