//! Degrees of freedom of estimates that rest on several variances.

use super::equations::Part;
use super::solved::Solved;
use super::{Combination, Coordinate, EvaluationError, Fit, Model};

impl Model {
    /// The degrees of freedom of each combination's variance v, `2v² / var(v)` by the slopes of v and the sampling
    /// covariances of the variances (Satterthwaite 1946, Biometrics Bulletin 2:110–114; Giesbrecht & Burns 1985,
    /// Biometrics 41:477–486). Of one trait; infinite where v is known.
    ///
    /// # Errors
    /// Variances that don't fit the model.
    pub fn degrees_of_freedom(
        &self,
        fit: &Fit,
        combinations: &[Combination],
    ) -> Result<Vec<f64>, EvaluationError> {
        let components = fit.components();
        let varies = |k: usize| !components.effects[k].is_zero();
        let kept: Vec<usize> = (0..self.random.len()).filter(|&k| varies(k)).collect();
        let simpler;
        let model = if kept.len() < self.random.len() {
            simpler = self.with_effects(varies)?;
            &simpler
        } else {
            self
        };
        let solved = Solved::new(model, components.restricted(varies))?;
        let renumbered = |component: usize| match kept.binary_search(&component) {
            Ok(place) => place,
            Err(_) => (component + kept.len()).saturating_sub(self.random.len()),
        };
        let (parameters, covariance) = fit.sampling();
        let of_combination = |combination: &Combination| {
            let combination = combination.renumbered(&kept);
            let mut x = vec![0.0; model.equations.size];
            for (unknown, weight) in model.unknowns_of(&model.equations, &combination, 0) {
                x[unknown] += weight;
            }
            let own = x.clone();
            solved.solve_in_place(&mut x);
            let variance: f64 = own.iter().zip(&x).map(|(l, x)| l * x).sum();
            let slopes: Vec<f64> = parameters
                .iter()
                .map(|&coordinate| {
                    let component = renumbered(coordinate.component());
                    solved.slope_of_quadratic(component, coordinate, &x)
                })
                .collect();
            let mut spread = 0.0;
            for (i, one) in slopes.iter().enumerate() {
                for (j, other) in slopes.iter().enumerate() {
                    spread += one * other * covariance[(i, j)];
                }
            }
            if spread > 0.0 {
                2.0 * variance * variance / spread
            } else {
                f64::INFINITY
            }
        };
        Ok(combinations.iter().map(of_combination).collect())
    }
}

impl Solved<'_> {
    /// The slope of `l′C⁻¹l` in a coordinate, `−x′ ∂C x` with x = C⁻¹l; of one trait.
    fn slope_of_quadratic(&self, component: usize, coordinate: Coordinate, x: &[f64]) -> f64 {
        let equations = &self.model.equations;
        let first_part = self.model.random.len();
        let precision = 1.0 / self.components.get(component).get(0, 0);
        let coefficients = match coordinate {
            Coordinate::Entry(_) => {
                let own = self.coefficients[component].iter();
                own.map(|c| c * precision * precision).collect()
            }
            Coordinate::Shape { index, .. } => {
                let shape = &self.components.shapes[component];
                let slopes = self.model.shape(component).map(|s| s.slopes(shape, index));
                let slopes = slopes.unwrap_or_default().into_iter();
                slopes.map(|c| -c * precision).collect::<Vec<f64>>()
            }
        };
        let of_template = |part: Part| match part {
            Part::Effect { effect, piece, .. } => (effect == component).then_some(piece),
            Part::Residual { pattern, piece, .. } => {
                (first_part + equations.patterns[pattern].part == component).then_some(piece)
            }
        };
        equations
            .templates
            .iter()
            .filter_map(|template| {
                let piece = of_template(template.part)?;
                Some(coefficients[piece] * equations.quadratic(template, x))
            })
            .sum()
    }
}
