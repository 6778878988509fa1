//! Cone programs put together row by row.

use clarabel::algebra::CscMatrix;
use clarabel::solver::{
    DefaultSettings, DefaultSolver, IPSolver as _, SolverStatus, SupportedConeT,
};

/// Terms of a linear expression: variable and coefficient.
pub(super) type Terms = Vec<(usize, f64)>;

/// minimise c'v over rows that are equal, at most, or in a second-order cone.
pub(super) struct Program {
    cost: Vec<f64>,
    rows: Vec<usize>,
    columns: Vec<usize>,
    values: Vec<f64>,
    right: Vec<f64>,
    cones: Vec<SupportedConeT<f64>>,
}

/// A solution: the variables, and the multiplier of each row.
pub(super) struct ConeSolution {
    pub(super) variables: Vec<f64>,
    pub(super) multipliers: Vec<f64>,
}

impl Program {
    pub(super) fn new(cost: Vec<f64>) -> Self {
        Self {
            cost,
            rows: Vec::new(),
            columns: Vec::new(),
            values: Vec::new(),
            right: Vec::new(),
            cones: Vec::new(),
        }
    }

    /// expression = right; answers with the row's number.
    pub(super) fn equal(&mut self, terms: &[(usize, f64)], right: f64) -> usize {
        match self.cones.last_mut() {
            Some(SupportedConeT::ZeroConeT(size)) => *size += 1,
            _ => self.cones.push(SupportedConeT::ZeroConeT(1)),
        }
        self.row(terms.iter().copied(), right)
    }

    /// expression ≤ right; answers with the row's number.
    pub(super) fn at_most(&mut self, terms: &[(usize, f64)], right: f64) -> usize {
        match self.cones.last_mut() {
            Some(SupportedConeT::NonnegativeConeT(size)) => *size += 1,
            _ => self.cones.push(SupportedConeT::NonnegativeConeT(1)),
        }
        self.row(terms.iter().copied(), right)
    }

    /// The norm of the other expressions, each plus nothing, is at most the first, which is `head` plus `constant`;
    /// answers with the number of the first row.
    pub(super) fn cone(&mut self, head: &[(usize, f64)], constant: f64, others: &[Terms]) -> usize {
        self.cones
            .push(SupportedConeT::SecondOrderConeT(others.len() + 1));
        let negative = |terms: &[(usize, f64)]| -> Terms {
            terms
                .iter()
                .map(|&(variable, value)| (variable, -value))
                .collect()
        };
        let first = self.row(negative(head).into_iter(), constant);
        for terms in others {
            self.row(negative(terms).into_iter(), 0.0);
        }
        first
    }

    fn row(&mut self, terms: impl Iterator<Item = (usize, f64)>, right: f64) -> usize {
        let row = self.right.len();
        for (variable, value) in terms.filter(|term| term.1 != 0.0) {
            self.rows.push(row);
            self.columns.push(variable);
            self.values.push(value);
        }
        self.right.push(right);
        row
    }

    /// Solves it; `None` if it has no solution, or none was found.
    pub(super) fn solve(self) -> Option<ConeSolution> {
        let size = self.cost.len();
        let squares = CscMatrix::spalloc((size, size), 0);
        let rows = CscMatrix::new_from_triplets(
            self.right.len(),
            size,
            self.rows,
            self.columns,
            self.values,
        );
        let settings = DefaultSettings {
            verbose: false,
            ..DefaultSettings::default()
        };
        let mut solver = DefaultSolver::new(
            &squares,
            &self.cost,
            &rows,
            &self.right,
            &self.cones,
            settings,
        );
        solver.solve();
        matches!(
            solver.solution.status,
            SolverStatus::Solved | SolverStatus::AlmostSolved
        )
        .then(|| ConeSolution {
            variables: std::mem::take(&mut solver.solution.x),
            multipliers: std::mem::take(&mut solver.solution.z),
        })
    }
}
