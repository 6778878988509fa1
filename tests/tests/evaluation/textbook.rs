//! Random cases against the dense formulas, which share no code with the program.

use quant::evaluation::{
    Components, Covariance, Fit, FixedEffect, Model, Observations, Parameter, RandomEffect,
    Relationship, Role, Solution,
};
use quant::kinship::{Assumptions, Gamete, Genotype, Kinship, Pedigree, Ploidy};

use crate::dense::{self, Dense, Observed};
use crate::pedigree::{Parents, additive_relationship, random_pedigree, relationship};
use crate::random::Random;

/// Records of a small program, in the terms of both implementations.
#[derive(Clone)]
struct Case {
    traits: usize,
    pedigree: Vec<Parents>,
    plots: usize,
    genotype: Vec<Option<usize>>,
    plot: Vec<usize>,
    season: Vec<usize>,
    age: Vec<f64>,
    values: Vec<Option<f64>>,
}

const SEASONS: usize = 3;

impl Case {
    fn random(random: &mut Random, traits: usize, size: usize, records: usize) -> Self {
        let pedigree = random_pedigree(random, size / 4, size);
        let plots = 8;
        let mut values = Vec::new();
        for record in 0..records * traits {
            let missing = random.chance(0.2) && record >= traits;
            let of_trait = (record % traits) as f64;
            values.push((!missing).then(|| 10.0 * (1.0 + of_trait) + 3.0 * random.normal()));
        }
        Self {
            traits,
            // Some plants have no record, some records no known plant.
            genotype: (0..records)
                .map(|_| {
                    random
                        .chance(0.95)
                        .then(|| size / 5 + random.below(size - size / 5))
                })
                .collect(),
            plot: (0..records).map(|_| random.below(plots)).collect(),
            season: (0..records).map(|record| record % SEASONS).collect(),
            age: (0..records)
                .map(|_| 2020.0 + 5.0 * random.uniform())
                .collect(),
            pedigree,
            plots,
            values,
        }
    }

    fn model(&self) -> Model {
        let independent = |role, level: &[Option<usize>], levels| RandomEffect {
            role,
            level: level.to_vec(),
            relationship: Relationship::independent(levels),
        };
        let additive = RandomEffect {
            role: Role::Additive,
            level: self.genotype.clone(),
            relationship: relationship(&self.pedigree),
        };
        Model::new(
            Observations::new(self.traits, self.values.clone()).unwrap(),
            vec![
                FixedEffect::Factor {
                    level: self.season.clone(),
                    levels: SEASONS,
                },
                FixedEffect::Covariate {
                    value: self.age.clone(),
                },
                // Depends on the seasons entirely, so both of its columns have to go.
                FixedEffect::Factor {
                    level: self
                        .season
                        .iter()
                        .map(|&season| usize::from(season == 0))
                        .collect(),
                    levels: 2,
                },
            ],
            vec![
                additive,
                independent(Role::Clonal, &self.genotype, self.pedigree.len()),
                RandomEffect::independent(Role::Permanent, &self.plot, self.plots),
            ],
        )
        .unwrap()
    }

    fn relationships(&self) -> Vec<Dense> {
        vec![
            additive_relationship(&self.pedigree),
            Dense::identity(self.pedigree.len()),
            Dense::identity(self.plots),
        ]
    }

    fn observed(&self) -> Vec<Observed> {
        let records = self.season.len();
        let any = |record: &usize| {
            (0..self.traits).any(|a| self.values[record * self.traits + a].is_some())
        };
        let used: Vec<usize> = (0..records).filter(any).collect();
        let mean = used.iter().map(|&record| self.age[record]).sum::<f64>() / used.len() as f64;
        let mut observed = Vec::new();
        for record in 0..records {
            for of_trait in 0..self.traits {
                let Some(value) = self.values[record * self.traits + of_trait] else {
                    continue;
                };
                let mut fixed = vec![0.0; (SEASONS + 1) * self.traits];
                fixed[self.season[record] * self.traits + of_trait] = 1.0;
                fixed[SEASONS * self.traits + of_trait] = self.age[record] - mean;
                let level = vec![
                    self.genotype[record],
                    self.genotype[record],
                    Some(self.plot[record]),
                ];
                observed.push(Observed {
                    record,
                    of_trait,
                    value,
                    fixed,
                    level,
                });
            }
        }
        observed
    }

    fn components(random: &mut Random, traits: usize) -> Components {
        let mut covariance = |size: f64| {
            let mut matrix = Covariance::zeros(traits);
            for a in 0..traits {
                matrix.set(a, a, size * (0.5 + random.uniform()));
                for b in 0..a {
                    let scale = (matrix.get(a, a) * matrix.get(b, b)).sqrt();
                    matrix.set(a, b, scale * 0.6 * (2.0 * random.uniform() - 1.0));
                }
            }
            matrix
        };
        let effects = vec![covariance(4.0), covariance(2.0), covariance(1.5)];
        Components::new(effects, covariance(5.0))
    }
}

fn close(found: f64, expected: f64, what: &str) {
    let tolerance = 1e-9 * (1.0 + expected.abs());
    assert!(
        (found - expected).abs() < tolerance,
        "{what}: {found} is not {expected}"
    );
}

#[test]
fn solutions_error_variances_and_likelihood_agree_with_the_dense_formulas() {
    let mut random = Random::new(1976);
    for traits in [1, 1, 2, 2, 3] {
        for _ in 0..4 {
            let case = Case::random(&mut random, traits, 24, 40);
            let components = Case::components(&mut random, traits);
            let found = case.model().solve(&components).unwrap();
            let expected = dense::solve(&case.observed(), &case.relationships(), &components);
            agree(&case, &found, &expected);
        }
    }
}

fn agree(case: &Case, found: &Solution, expected: &dense::DenseSolution) {
    close(
        found.minus_two_log_likelihood(),
        expected.minus_two_log_likelihood,
        "likelihood",
    );
    for a in 0..case.traits {
        for column in 0..=SEASONS {
            let estimate = if column < SEASONS {
                found.fixed(0, column, a).unwrap()
            } else {
                found.fixed(1, 0, a).unwrap()
            };
            let place = column * case.traits + a;
            close(estimate.value, expected.fixed[place], "fixed effect");
            let error = expected.fixed_error[(place, place)];
            close(
                estimate.standard_error.powi(2),
                error,
                "fixed effect's error",
            );
        }
        assert_eq!((found.fixed(2, 0, a), found.fixed(2, 1, a)), (None, None));
        for (k, relationship) in case.relationships().iter().enumerate() {
            for level in 0..relationship.rows {
                let place = level * case.traits + a;
                let prediction = found.random(k, level, a);
                close(prediction.value, expected.random[k][place], "prediction");
                close(
                    prediction.error_variance,
                    expected.error[k][k][(place, place)],
                    "error variance",
                );
                if k == 0 {
                    let genetic = found.genetic(level, a).unwrap();
                    let sum = expected.random[0][place] + expected.random[1][place];
                    close(genetic.value, sum, "genetic value");
                    let error = expected.error[0][0][(place, place)]
                        + expected.error[1][1][(place, place)]
                        + 2.0 * expected.error[0][1][(place, place)];
                    close(
                        genetic.error_variance,
                        error,
                        "genetic value's error variance",
                    );
                }
            }
        }
    }
}

#[test]
fn permuting_records_changes_nothing() {
    let mut random = Random::new(31);
    let case = Case::random(&mut random, 2, 30, 60);
    let components = Case::components(&mut random, 2);
    let mut order: Vec<usize> = (0..60).collect();
    for end in (1..60).rev() {
        order.swap(end, random.below(end + 1));
    }
    let mut permuted = case.clone();
    for (new, &old) in order.iter().enumerate() {
        permuted.genotype[new] = case.genotype[old];
        permuted.plot[new] = case.plot[old];
        permuted.season[new] = case.season[old];
        permuted.age[new] = case.age[old];
        permuted.values[2 * new..2 * new + 2].copy_from_slice(&case.values[2 * old..2 * old + 2]);
    }
    let (first, second) = (case.model(), permuted.model());
    let (first, second) = (
        first.solve(&components).unwrap(),
        second.solve(&components).unwrap(),
    );
    for plant in 0..30 {
        for a in 0..2 {
            let (one, other) = (
                first.genetic(plant, a).unwrap(),
                second.genetic(plant, a).unwrap(),
            );
            close(one.value, other.value, "genetic value");
            close(
                one.error_variance,
                other.error_variance,
                "its error variance",
            );
        }
    }
}

/// At the estimate the dense likelihood is level in every direction.
#[test]
fn estimates_stand_at_the_top_of_the_dense_likelihood() {
    let mut random = Random::new(8);
    for traits in [1, 2] {
        let pedigree = random_pedigree(&mut random, 12, 60);
        let records = 180;
        let plant: Vec<usize> = (0..records).map(|record| record % 60).collect();
        let values = simulated(&mut random, &pedigree, &plant, traits);
        let model = Model::new(
            Observations::new(traits, values.clone()).unwrap(),
            vec![FixedEffect::mean(records)],
            vec![RandomEffect::related(
                Role::Additive,
                &plant,
                relationship(&pedigree),
            )],
        )
        .unwrap();
        let fit = model.estimate().unwrap();
        assert_eq!(fit.findings(), &[]);
        let observed: Vec<Observed> = (0..records * traits)
            .filter_map(|place| {
                let (record, of_trait) = (place / traits, place % traits);
                let fixed = (0..traits)
                    .map(|a| f64::from(u8::from(a == of_trait)))
                    .collect();
                let level = vec![Some(plant[record])];
                Some(Observed {
                    record,
                    of_trait,
                    value: values[place]?,
                    fixed,
                    level,
                })
            })
            .collect();
        let relationships = [additive_relationship(&pedigree)];
        let height = |components: &Components| {
            dense::solve(&observed, &relationships, components).minus_two_log_likelihood
        };
        close(
            fit.minus_two_log_likelihood(),
            height(fit.components()),
            "likelihood",
        );
        for component in 0..2 {
            for a in 0..traits {
                for b in 0..=a {
                    let moved = |step: f64| {
                        let mut components = fit.components().clone();
                        let matrix = match component {
                            0 => &mut components.effects[0],
                            _ => &mut components.residuals[0],
                        };
                        matrix.set(a, b, matrix.get(a, b) + step);
                        height(&components)
                    };
                    // In standard errors: the slope of −2 ln L against its curvature of 2.
                    let error = fit.standard_error(component, a, b).unwrap();
                    let step = 1e-3 * error;
                    let slope = (moved(step) - moved(-step)) / 2e-3;
                    assert!(
                        slope.abs() < 1e-4,
                        "component {component} ({a}, {b}) slopes by {slope}"
                    );
                }
            }
        }
        if traits == 2 {
            correlation_agrees_with_its_parts(&fit);
        }
        let same = Parameter {
            component: 0,
            a: 0,
            b: 0,
        };
        let variance = fit.sampling_covariance(same, same).unwrap();
        close(
            variance.sqrt(),
            fit.standard_error(0, 0, 0).unwrap(),
            "standard error",
        );
    }
}

/// The delta method by numerical slopes: what changes in a correlation when each of its parts
/// moves, with the sampling covariances of the parts.
fn correlation_agrees_with_its_parts(fit: &Fit) {
    let parts = |components: &[usize]| -> Vec<Parameter> {
        let entries = [(0, 0), (1, 0), (1, 1)];
        let of = |&component: &usize| entries.map(|(a, b)| Parameter { component, a, b });
        components.iter().flat_map(of).collect()
    };
    for (found, components) in [
        (fit.correlation(0, 0, 1).unwrap(), &[0][..]),
        (fit.correlation(1, 1, 0).unwrap(), &[1]),
        (fit.phenotypic_correlation(0, 1).unwrap(), &[0, 1]),
    ] {
        let parts = parts(components);
        let value = |moved: Option<(usize, f64)>| {
            let sum = |a: usize, b: usize| -> f64 {
                let here = |(_, p): &(usize, &Parameter)| (p.a, p.b) == (a, b);
                let part = |(i, p): (usize, &Parameter)| {
                    let step = moved
                        .filter(|&(place, _)| place == i)
                        .map_or(0.0, |(_, step)| step);
                    fit.components().get(p.component).get(a, b) + step
                };
                parts.iter().enumerate().filter(here).map(part).sum()
            };
            sum(1, 0) / (sum(0, 0) * sum(1, 1)).sqrt()
        };
        close(found.value, value(None), "correlation");
        let step = 1e-5;
        let slope = |i| (value(Some((i, step))) - value(Some((i, -step)))) / (2.0 * step);
        let mut variance = 0.0;
        for i in 0..parts.len() {
            for j in 0..parts.len() {
                let shared = fit.sampling_covariance(parts[i], parts[j]).unwrap();
                variance += slope(i) * slope(j) * shared;
            }
        }
        assert!((found.standard_error - variance.sqrt()).abs() < 1e-6);
        assert!(-1.0 < found.lower && found.lower < found.value);
        assert!(found.value < found.upper && found.upper < 1.0);
    }
}

/// Breeding values down the pedigree plus residuals, both correlated between traits; one value
/// in ten is lost.
fn simulated(
    random: &mut Random,
    pedigree: &[Parents],
    plant: &[usize],
    traits: usize,
) -> Vec<Option<f64>> {
    let mut breeding: Vec<[f64; 2]> = Vec::new();
    for parents in pedigree {
        let known = parents.iter().flatten().count() as f64;
        let shared = random.normal();
        let spread = (1.0 - 0.25 * known).sqrt();
        let value = [0, 1].map(|a| {
            let average: f64 = parents
                .iter()
                .flatten()
                .map(|&p| 0.5 * breeding[p][a])
                .sum();
            average + 2.0 * spread * (0.8 * shared + 0.6 * random.normal())
        });
        breeding.push(value);
    }
    let mut values = Vec::new();
    for &plant in plant {
        let shared = random.normal();
        for (a, value) in breeding[plant].iter().enumerate().take(traits) {
            let residual = 1.5 * (0.5 * shared + 0.75_f64.sqrt() * random.normal());
            let observed = 20.0 + 10.0 * a as f64 + value + residual;
            values.push((!random.chance(0.1)).then_some(observed));
        }
    }
    values
}

/// Diploids, triploids and tetraploids, an unreduced gamete, a doubled plant, a sport, and inbred
/// lines whose cross adds nothing new: relationships from the program, evaluated through their
/// sparse inverse, against V⁻¹ with the whole (singular) matrix.
#[test]
fn plants_of_every_ploidy_and_those_without_equations_agree_with_the_dense_formulas() {
    use Genotype as G;
    use Ploidy as P;
    let of = Gamete::of;
    let tetra = |female: usize, male: usize| G::cross(P::TETRAPLOID, of(female), of(male));
    let genotypes = vec![
        G::founder(P::DIPLOID),
        G::founder(P::DIPLOID),
        G::founder(P::TETRAPLOID),
        G::diploid(Some(0), Some(1)),
        G::doubled(P::TETRAPLOID, 3),
        G::cross(P::TRIPLOID, of(4), of(1)),
        G::cross(P::TRIPLOID, of(2), of(0)),
        tetra(4, 2),
        tetra(4, 2),
        G::variant(P::DIPLOID, 3),
        G::diploid(Some(9), Some(1)),
        tetra(7, 8),
        G::cross(P::TETRAPLOID, of(3).with_dose(2), of(2)),
        G::diploid(Some(3), None),
    ];
    let size = genotypes.len();
    let kinship = Kinship::new(Pedigree::new(genotypes, &Assumptions::default()).unwrap());
    assert!(kinship.relationship_inverse().genotypes.len() < size);
    let additive = Dense::from_fn(size, size, |i, j| kinship.relationship(i, j));

    let mut random = Random::new(2018);
    for traits in [1, 2] {
        let plant: Vec<usize> = (0..30).map(|_| 2 + random.below(size - 2)).collect();
        let values: Vec<Option<f64>> = (0..30 * traits)
            .map(|_| (!random.chance(0.1)).then(|| random.normal()))
            .collect();
        let model = Model::new(
            Observations::new(traits, values.clone()).unwrap(),
            vec![FixedEffect::mean(30)],
            vec![
                RandomEffect::related(Role::Additive, &plant, Relationship::additive(&kinship)),
                RandomEffect::independent(Role::Clonal, &plant, size),
            ],
        )
        .unwrap();
        let drawn = Case::components(&mut random, traits);
        let components = Components::new(drawn.effects[..2].to_vec(), drawn.residual().clone());
        let found = model.solve(&components).unwrap();
        let observed: Vec<Observed> = (0..30 * traits)
            .filter_map(|place| {
                let (record, of_trait) = (place / traits, place % traits);
                let fixed = (0..traits)
                    .map(|a| f64::from(u8::from(a == of_trait)))
                    .collect();
                let level = vec![Some(plant[record]); 2];
                Some(Observed {
                    record,
                    of_trait,
                    value: values[place]?,
                    fixed,
                    level,
                })
            })
            .collect();
        let relationships = [additive.clone(), Dense::identity(size)];
        let expected = dense::solve(&observed, &relationships, &components);
        close(
            found.minus_two_log_likelihood(),
            expected.minus_two_log_likelihood,
            "likelihood",
        );
        for level in 0..size {
            for a in 0..traits {
                let place = level * traits + a;
                let prediction = found.random(0, level, a);
                close(
                    prediction.value,
                    expected.random[0][place],
                    "breeding value",
                );
                let error = |k: usize, l: usize| expected.error[k][l][(place, place)];
                close(prediction.error_variance, error(0, 0), "its error variance");
                let prior = additive[(level, level)] * components.effects[0].get(a, a);
                close(prediction.prior_variance, prior, "its prior variance");
                let whole = found.genetic(level, a).unwrap();
                let errors = error(0, 0) + error(1, 1) + 2.0 * error(0, 1);
                close(
                    whole.error_variance,
                    errors,
                    "clonal value's error variance",
                );
            }
        }
        // A sport has the breeding value of its source.
        assert_eq!(found.random(0, 9, 0), found.random(0, 3, 0));
    }
}
