//! Trials by the linear mixed model, against published answers and dense textbook formulas.
//!
//! The data sets stand in `tests/data` as their sources give them; the sources are named at the tests. Figures called
//! recomputed come from R 4.2.2 (lme4 1.1-31, nlme 3.1-162).

//! What is held by which test, by source; `trial::` is here, the others are files beside this folder:
//!
//! | Source | Test |
//! | --- | --- |
//! | Goulden (1952) p. 216, Latin square | `trial::sums::latin_square`, `trial::published::latin_square_of_goulden` |
//! | Immer (1934), sums, variances, a variance at 0 | `trial::sums::barley`, `trial::published::barley_over_sites_and_years` |
//! | the same unbalanced: raw means lie | `trial::published::unlike_years_are_compared_fairly`, `environments::raw_means_lie_where_years_differ` |
//! | Stroup, Baenziger & Mulitze (1994), blocks; AR1×AR1 | `trial::sums::nursery`, `trial::space::nursery_of_stroup` |
//! | John & Williams (1995) p. 146: sums, both heritabilities, the trap of incomplete error variances, efficiency against complete blocks | `trial::sums::oats`, `trial::published::oats_in_incomplete_blocks`, `design::the_factors_of_a_published_alpha_design` |
//! | Yates (1935) with lost plots, Kenward & Roger (1997) | `trial::small_sample` |
//! | Kempton & Fox (1997) p. 62 | `trial::published::wheat_in_rows_and_columns` |
//! | Federer (1956), the wrong sign | `trial::sums::augmented`, `trial::published::augmented_design_of_federer`, `design::augmented_differences_come_from_the_matrix`, `environments::augmented_blocks_adjusted` |
//! | AR1×AR1 on a grid, fixed parameters | `trial::space::likelihood_on_a_grid`, units in `evaluation/structure/autoregressive.rs` |
//! | Eilers & Marx (1996), λ → ∞ | `trial::space::curve_of_eilers_and_marx`, `trial::space::a_stiff_surface_is_the_linear_model` |
//! | Cullis et al. (1989), nugget | `trial::space::early_generations_of_cullis` |
//! | Yan & Kang (2002): GGE, AMMI, Wricke, Shukla, Finlay & Wilkinson, Eberhart & Russell | `environments::winter_wheat_along_axes`, `interaction_along_axes`, `winter_wheat_entry_by_entry` |
//! | Digby (1979) | `environments::wheats_that_were_not_all_grown_everywhere` |
//! | Damesa et al. (2017), residuals by site; two stages | `trial::sites`, `environments::two_steps_are_as_good_as_one_where_nothing_is_missing` |
//! | heritability of means over years and sites | `environments::years_and_sites` |
//! | Snedecor & Cochran (1989), the wrong stratum; plot means; harvests | `trial::sums::asparagus`, `trial::published::asparagus_over_years`, `harvests_of_a_plot_are_correlated` |
//! | Falconer & Mackay (1996) ch. 8, repeatability | `environments::harvests` |
//! | Randall (1989), Venables & Ripley (2002): classes | `ordinal` |
//! | area under the disease progress curve | units in `disease_progress.rs` |
//! | Cochran (1951), response, realised heritability | `stages` |
//! | alpha arrays, their bound, balanced blocks, Latin squares, properties for any seed | `design` |
//! | Dunnett (1964), Tukey's range | units in `chance/student.rs`, `chance/studentized_range.rs`, `trial::sums::nursery`, `trial::published::degrees_of_freedom_and_least_difference` |
//! | replicates and power before planting | `design::replicates_before_planting`, `design::power_is_what_simulated_trials_find` |
//! | hop plots: 1.1 for 0.9, the baby year, a lost plot | `trial::hops`, `environments::hop_varieties_over_years` |

#![expect(clippy::unwrap_used, reason = "a test stops where it can't go on")]

mod dense;
mod hops;
mod published;
mod simulated;
mod sites;
mod small_sample;
mod space;
mod sums;
mod table;
