//! Henderson's mixed model equations as a sum of constant matrices.
//!
//! The coefficient matrix is `C = W′R⁻¹W + diag(0, G_k⁻¹ ⊗ K_k⁻¹)`. Every entry of R⁻¹ and `G_k⁻¹`
//! multiplies a matrix that never changes: its *template*. Templates are laid out once in one
//! common sparse pattern; filling C at new variances, traces with C⁻¹ and quadratic forms are
//! then sums over their places.

use super::fixed::FixedDesign;
use super::selected::SelectedInverse;
use super::structure::Structure;
use super::{Covariance, Observations, RandomEffect, Relationship, Residual};

/// The small matrix entry that a template is multiplied by; `a >= b`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Part {
    /// Entry of the inverse residual matrix of the records with one pattern of recorded traits,
    /// counted within the pattern, times the coefficient of a piece of the residual correlations.
    Residual {
        pattern: usize,
        a: usize,
        b: usize,
        piece: usize,
    },
    /// Entry of the inverse covariance matrix of a random effect, times the coefficient of a piece of its
    /// correlations.
    Effect {
        effect: usize,
        a: usize,
        b: usize,
        piece: usize,
    },
}

/// A constant matrix within C: values at places of the common pattern.
#[derive(Debug)]
pub(super) struct Template {
    pub(super) part: Part,
    entries: Vec<(u32, f64)>,
}

/// Records of one part of the residual in which the same traits were recorded.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Pattern {
    pub(super) part: usize,
    pub(super) traits: Vec<usize>,
}

/// A part of the residual whose records are correlated. Places without a record have an observation of zero and an
/// unknown of their own, which leaves the likelihood of the others as it is.
#[derive(Debug)]
pub(super) struct Correlated {
    pub(super) part: usize,
    pub(super) pattern: usize,
    /// The observation at each level of the part's structure.
    pub(super) observation: Vec<usize>,
}

/// R⁻¹ at given variances and correlations.
#[derive(Debug)]
pub(super) struct ResidualInverse {
    /// By pattern.
    pub(super) matrices: Vec<Covariance>,
    /// By part: what each piece of its correlations is multiplied by.
    pub(super) coefficients: Vec<Vec<f64>>,
}

/// A record with at least one observation, or a place without one.
#[derive(Clone, Copy, Debug)]
pub(super) struct Row {
    /// `None` at a place without a record.
    pub(super) record: Option<usize>,
    /// Its first observation; the others follow in the order of its pattern.
    pub(super) first: usize,
    pub(super) pattern: usize,
}

/// The equations but for the variances. Unknowns are the random effects (equation by equation,
/// trait within equation), then the estimable fixed columns (trait by trait).
#[derive(Debug)]
pub(super) struct Equations {
    pub(super) size: usize,
    pub(super) rows: Vec<Row>,
    /// The traits recorded together.
    pub(super) patterns: Vec<Pattern>,
    pub(super) correlated: Vec<Correlated>,
    /// Places of correlated residuals without a record.
    pub(super) empty_places: usize,
    /// Observations, record by record.
    pub(super) values: Vec<f64>,
    /// W: for each observation its unknowns and their coefficients.
    incidence_start: Vec<usize>,
    incidence: Vec<(u32, f64)>,
    traits: usize,
    effect_start: Vec<usize>,
    /// The unknown of each fixed column: trait by trait, column by column.
    fixed: Vec<Vec<Option<usize>>>,
    /// Row and column of each place of the lower triangle of C, column by column.
    row_of: Vec<u32>,
    column_of: Vec<u32>,
    pub(super) templates: Vec<Template>,
}

impl Equations {
    pub(super) fn new(
        observations: &Observations,
        fixed: &FixedDesign,
        random: &[RandomEffect],
        residual: &Residual,
    ) -> Self {
        let traits = observations.traits();
        let mut effect_start = Vec::with_capacity(random.len());
        let mut size = 0;
        for effect in random {
            effect_start.push(size);
            size += effect.relationship.equations() * traits;
        }
        let fixed_unknowns = fixed
            .kept
            .iter()
            .map(|kept| {
                let number = |&kept: &bool| {
                    kept.then(|| {
                        size += 1;
                        size - 1
                    })
                };
                kept.iter().map(number).collect()
            })
            .collect();
        let mut equations = Self {
            size,
            rows: Vec::new(),
            patterns: Vec::new(),
            correlated: Vec::new(),
            empty_places: 0,
            values: Vec::new(),
            incidence_start: vec![0],
            incidence: Vec::new(),
            traits,
            effect_start,
            fixed: fixed_unknowns,
            row_of: Vec::new(),
            column_of: Vec::new(),
            templates: Vec::new(),
        };
        equations.add_records(observations, fixed, random, residual);
        equations.add_empty_places(residual);
        let triplets = equations.triplets(random, residual);
        equations.lay_out(triplets);
        equations
    }

    fn add_records(
        &mut self,
        observations: &Observations,
        fixed: &FixedDesign,
        random: &[RandomEffect],
        residual: &Residual,
    ) {
        let untouched = usize::MAX;
        for (part, relationship) in residual.parts.iter().enumerate() {
            if let Some(relationship) = relationship {
                let pattern = self.patterns.len();
                self.patterns.push(Pattern {
                    part,
                    traits: vec![0],
                });
                self.correlated.push(Correlated {
                    part,
                    pattern,
                    observation: vec![untouched; relationship.levels()],
                });
            }
        }
        for record in (0..observations.records()).filter(|&record| observations.any(record)) {
            let part = residual.part[record];
            let traits: Vec<usize> = observations.recorded(record).map(|(a, _)| a).collect();
            let same = |known: &Pattern| known.part == part && known.traits == traits;
            let pattern = self.patterns.iter().position(same);
            let pattern = pattern.unwrap_or_else(|| {
                self.patterns.push(Pattern { part, traits });
                self.patterns.len() - 1
            });
            if let Some(correlated) = self.correlated.iter_mut().find(|one| one.part == part) {
                correlated.observation[residual.level[record]] = self.values.len();
            }
            self.rows.push(Row {
                record: Some(record),
                first: self.values.len(),
                pattern,
            });
            for (of_trait, value) in observations.recorded(record) {
                self.values.push(value);
                for (effect, model) in random.iter().enumerate() {
                    let Some(level) = model.level[record] else {
                        continue;
                    };
                    for (equation, weight) in model.relationship.terms(level) {
                        let unknown = self.random(effect, equation, of_trait);
                        self.incidence.push((unknown as u32, weight));
                    }
                }
                for (column, coefficient) in fixed.row(record) {
                    if let Some(unknown) = self.fixed[of_trait][column] {
                        self.incidence.push((unknown as u32, coefficient));
                    }
                }
                self.incidence_start.push(self.incidence.len());
            }
        }
    }

    /// Gives each place without a record an observation of zero and an unknown of its own.
    fn add_empty_places(&mut self, residual: &Residual) {
        for place in 0..self.correlated.len() {
            let (part, pattern) = (self.correlated[place].part, self.correlated[place].pattern);
            let levels = residual.parts[part]
                .as_ref()
                .map_or(0, Relationship::levels);
            for level in 0..levels {
                if self.correlated[place].observation[level] != usize::MAX {
                    continue;
                }
                self.correlated[place].observation[level] = self.values.len();
                self.rows.push(Row {
                    record: None,
                    first: self.values.len(),
                    pattern,
                });
                self.values.push(0.0);
                self.incidence.push((self.size as u32, 1.0));
                self.incidence_start.push(self.incidence.len());
                self.size += 1;
                self.empty_places += 1;
            }
        }
    }

    /// All contributions to the lower triangle of C.
    fn triplets(&mut self, random: &[RandomEffect], residual: &Residual) -> Vec<Triplet> {
        let mut triplets = Vec::new();
        let mut add = |template: usize, i: usize, j: usize, value: f64| {
            triplets.push(Triplet {
                column: i.min(j) as u32,
                row: i.max(j) as u32,
                template: template as u32,
                value,
            });
        };
        let mut first_of_pattern = Vec::with_capacity(self.patterns.len());
        for (pattern, of_pattern) in self.patterns.iter().enumerate() {
            first_of_pattern.push(self.templates.len());
            let part = residual.parts[of_pattern.part].as_ref();
            let pieces = part.map_or(1, Relationship::pieces);
            for (a, b) in pairs(of_pattern.traits.len()) {
                self.templates.extend((0..pieces).map(|piece| {
                    Template::new(Part::Residual {
                        pattern,
                        a,
                        b,
                        piece,
                    })
                }));
            }
        }
        for correlated in &self.correlated {
            let Some(shape) = residual.shape(correlated.part) else {
                continue;
            };
            for piece in 0..shape.pieces() {
                let template = first_of_pattern[correlated.pattern] + piece;
                shape.for_each_entry(piece, |(row, column, value)| {
                    let left = self.incidence(correlated.observation[row]);
                    let right = self.incidence(correlated.observation[column]);
                    for (n, &(i, x)) in left.iter().enumerate() {
                        let partners = if row == column { &right[..=n] } else { right };
                        for &(j, z) in partners {
                            let times = if row != column && i == j { 2.0 } else { 1.0 };
                            add(template, i as usize, j as usize, times * value * x * z);
                        }
                    }
                });
            }
        }
        let is_correlated =
            |pattern: usize| self.correlated.iter().any(|one| one.pattern == pattern);
        for row in self.rows.iter().filter(|row| !is_correlated(row.pattern)) {
            for (offset, (a, b)) in pairs(self.patterns[row.pattern].traits.len()).enumerate() {
                let template = first_of_pattern[row.pattern] + offset;
                let (left, right) = (self.incidence(row.first + a), self.incidence(row.first + b));
                for (n, &(i, x)) in left.iter().enumerate() {
                    let partners = if a == b { &right[..=n] } else { right };
                    for &(j, z) in partners {
                        add(template, i as usize, j as usize, x * z);
                    }
                }
            }
        }
        for (effect, model) in random.iter().enumerate() {
            for (a, b) in pairs(self.traits) {
                for piece in 0..model.relationship.pieces() {
                    let template = self.templates.len();
                    self.templates.push(Template::new(Part::Effect {
                        effect,
                        a,
                        b,
                        piece,
                    }));
                    let unknown = |equation, of_trait| self.random(effect, equation, of_trait);
                    model
                        .relationship
                        .for_each_entry_of_inverse(piece, |(i, j, value)| {
                            add(template, unknown(i, a), unknown(j, b), value);
                            if a != b && i != j {
                                add(template, unknown(i, b), unknown(j, a), value);
                            }
                        });
                }
            }
        }
        // Places that error variances are read from, whether the records fill them or not: what
        // the genetic value of a level is the sum of.
        let last = self.templates.len() - 1;
        (0..self.size).for_each(|unknown| add(last, unknown, unknown, 0.0));
        let genetic = |k: &usize| random[*k].role.is_genetic();
        let genetic: Vec<usize> = (0..random.len()).filter(genetic).collect();
        let levels = |&k: &usize| random[k].relationship.levels();
        for level in 0..genetic.iter().map(levels).max().unwrap_or(0) {
            for a in 0..self.traits {
                let has_level = |k: &&usize| level < levels(k);
                let sum: Vec<usize> = genetic
                    .iter()
                    .filter(has_level)
                    .flat_map(|&k| self.terms(k, &random[k].relationship, level, a))
                    .map(|(unknown, _)| unknown)
                    .collect();
                for (n, &i) in sum.iter().enumerate() {
                    sum[..n].iter().for_each(|&j| add(last, i, j, 0.0));
                }
            }
        }
        triplets
    }

    /// Sorts contributions into the common pattern, adding up those with one place.
    fn lay_out(&mut self, triplets: Vec<Triplet>) {
        let mut ends = vec![0; self.size + 1];
        for triplet in &triplets {
            ends[triplet.column as usize + 1] += 1;
        }
        for column in 0..self.size {
            ends[column + 1] += ends[column];
        }
        let mut next = ends.clone();
        let mut sorted = vec![Triplet::default(); triplets.len()];
        for triplet in triplets {
            let place = &mut next[triplet.column as usize];
            sorted[*place] = triplet;
            *place += 1;
        }
        for column in 0..self.size {
            let of_column = &mut sorted[ends[column]..ends[column + 1]];
            of_column.sort_unstable_by_key(|triplet| (triplet.row, triplet.template));
            for same_place in of_column.chunk_by(|left, right| left.row == right.row) {
                let place = self.row_of.len() as u32;
                self.row_of.push(same_place[0].row);
                self.column_of.push(column as u32);
                for same in same_place.chunk_by(|left, right| left.template == right.template) {
                    let value = same.iter().map(|triplet| triplet.value).sum();
                    self.templates[same[0].template as usize]
                        .entries
                        .push((place, value));
                }
            }
        }
    }

    /// The lower triangle of the pattern of C: where each column starts, and the rows.
    pub(super) fn pattern(&self) -> (Vec<usize>, Vec<usize>) {
        let mut starts = vec![0; self.size + 1];
        for &column in &self.column_of {
            starts[column as usize + 1] += 1;
        }
        for column in 0..self.size {
            starts[column + 1] += starts[column];
        }
        (
            starts,
            self.row_of.iter().map(|&row| row as usize).collect(),
        )
    }

    /// The unknown of a random effect's equation for a trait.
    pub(super) fn random(&self, effect: usize, equation: usize, of_trait: usize) -> usize {
        self.effect_start[effect] + equation * self.traits + of_trait
    }

    /// The unknowns that a random effect's level is the sum of for a trait, with their weights.
    pub(super) fn terms<'a>(
        &'a self,
        effect: usize,
        relationship: &'a Relationship,
        level: usize,
        of_trait: usize,
    ) -> impl Iterator<Item = (usize, f64)> + 'a {
        let terms = relationship.terms(level);
        terms.map(move |(equation, weight)| (self.random(effect, equation, of_trait), weight))
    }

    /// The unknown of a fixed column for a trait, if it is estimated.
    pub(super) fn fixed(&self, of_trait: usize, column: usize) -> Option<usize> {
        self.fixed[of_trait][column]
    }

    fn incidence(&self, observation: usize) -> &[(u32, f64)] {
        &self.incidence[self.incidence_start[observation]..self.incidence_start[observation + 1]]
    }

    /// The values of C, each template times what `coefficient` gives for its part.
    pub(super) fn fill(&self, coefficient: impl Fn(Part) -> f64) -> Vec<f64> {
        let mut values = vec![0.0; self.row_of.len()];
        for template in &self.templates {
            let factor = coefficient(template.part);
            for &(place, value) in &template.entries {
                values[place as usize] += factor * value;
            }
        }
        values
    }

    /// W x.
    pub(super) fn fitted(&self, unknowns: &[f64]) -> Vec<f64> {
        (0..self.values.len())
            .map(|observation| {
                let entries = self.incidence(observation).iter();
                entries
                    .map(|&(unknown, x)| x * unknowns[unknown as usize])
                    .sum()
            })
            .collect()
    }

    /// W′ v.
    pub(super) fn gathered(&self, by_observation: &[f64]) -> Vec<f64> {
        let mut sums = vec![0.0; self.size];
        for (observation, &value) in by_observation.iter().enumerate() {
            for &(unknown, x) in self.incidence(observation) {
                sums[unknown as usize] += x * value;
            }
        }
        sums
    }

    /// R⁻¹ v.
    pub(super) fn weighted(
        &self,
        residual: &Residual,
        inverse: &ResidualInverse,
        by_observation: &[f64],
    ) -> Vec<f64> {
        let mut weighted = vec![0.0; by_observation.len()];
        for correlated in &self.correlated {
            let Some(shape) = residual.shape(correlated.part) else {
                continue;
            };
            let by_level = correlated.by_level(by_observation);
            let precision = inverse.matrices[correlated.pattern].get(0, 0);
            let product = shape.times(&inverse.coefficients[correlated.part], &by_level);
            for (&observation, value) in correlated.observation.iter().zip(product) {
                weighted[observation] = precision * value;
            }
        }
        for row in &self.rows {
            let part = self.patterns[row.pattern].part;
            if residual.parts[part].is_some() {
                continue;
            }
            let inverse = &inverse.matrices[row.pattern];
            for a in 0..inverse.order() {
                weighted[row.first + a] = (0..inverse.order())
                    .map(|b| inverse.get(a, b) * by_observation[row.first + b])
                    .sum();
            }
        }
        weighted
    }

    /// tr(C⁻¹ M) for a template M.
    pub(super) fn trace(&self, template: &Template, inverse: &SelectedInverse<'_>) -> f64 {
        self.both_triangles(template, |place, _, _| inverse.at(place))
    }

    /// x′ M x for a template M.
    pub(super) fn quadratic(&self, template: &Template, x: &[f64]) -> f64 {
        self.both_triangles(template, |_, row, column| x[row] * x[column])
    }

    fn both_triangles(
        &self,
        template: &Template,
        partner: impl Fn(usize, usize, usize) -> f64,
    ) -> f64 {
        let term = |&(place, value): &(u32, f64)| {
            let place = place as usize;
            let (row, column) = (self.row_of[place] as usize, self.column_of[place] as usize);
            let times = if row == column { 1.0 } else { 2.0 };
            times * value * partner(place, row, column)
        };
        template.entries.iter().map(term).sum()
    }
}

impl Correlated {
    pub(super) fn by_level(&self, by_observation: &[f64]) -> Vec<f64> {
        self.observation
            .iter()
            .map(|&observation| by_observation[observation])
            .collect()
    }
}

impl Residual {
    pub(super) fn shape(&self, part: usize) -> Option<&Structure> {
        self.parts[part].as_ref().and_then(Relationship::shape)
    }
}

impl Template {
    fn new(part: Part) -> Self {
        Self {
            part,
            entries: Vec::new(),
        }
    }
}

/// One contribution to the lower triangle of C.
#[derive(Clone, Copy, Default)]
struct Triplet {
    column: u32,
    row: u32,
    template: u32,
    value: f64,
}

/// The places `(a, b)`, `a >= b`, of a lower triangle, row by row.
pub(super) fn pairs(order: usize) -> impl Iterator<Item = (usize, usize)> {
    (0..order).flat_map(|a| (0..=a).map(move |b| (a, b)))
}
