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

//! And what is asked of the engine and its commands; `command_line_trial::` and `command_line_design::` are in `tests/tests`,
//! `evaluation::` is there too.
//!
//! | Asked | Test |
//! | --- | --- |
//! | several terms, nested or crossed, covariates, space and relatives together | `trial::dense`, `trial::dense_surface`, `command_line_trial::whole::several_terms_space_and_pedigree_together` |
//! | relatives at any ploidy, several traits | `evaluation::dense`, `evaluation::random` |
//! | neighbours with and without a nugget | `trial::space::nursery_of_stroup`, `early_generations_of_cullis`, `command_line_trial::space` |
//! | a surface: bent, straight, dense | `trial::space::surface_follows_a_field`, `a_stiff_surface_is_the_linear_model`, `trial::dense_surface` |
//! | residuals by environment; harvests alike or by distance in time | `trial::sites`, `trial::published::residual_variances_differ_by_site`, `harvests_of_a_plot_are_correlated` |
//! | a component at 0 stops there and says so | `trial::published::barley_over_sites_and_years`, `evaluation::refusals`, `command_line_trial::published::entries_that_do_not_vary_are_ranked_by_their_adjusted_means` |
//! | correlations are bounded and say so | `trial::space::a_correlation_at_its_bound_says_so` |
//! | what can't be separated is named | `command_line_trial::told`, `command_line_trial::plain`, `command_line_trial::published::terms_that_are_the_same_are_named` |
//! | the whole covariance of differences | `trial::dense`, `trial::published::wheat_in_rows_and_columns`, `augmented_design_of_federer` |
//! | least differences, Dunnett, Tukey | `trial::published::degrees_of_freedom_and_least_difference`, units in `chance/student.rs`, `trial::simulated::checks_are_rarely_left_by_accident` |
//! | both heritabilities | `trial::published::oats_in_incomplete_blocks`, `command_line_trial::published::oats_in_incomplete_blocks` |
//! | the probability that an entry beats a check by an amount | `trial::simulated::probabilities_of_beating_a_check_are_true_as_often_as_they_say`, `confidence_in_a_difference_is_even`, `command_line_trial::whole::intervals_and_probabilities` |
//! | residuals, effective dimensions | `trial::space`, `trial::sums`, `trial::dense_surface` |
//! | with space and without | units in `trial/likelihood_ratio.rs`, `command_line_trial::space::what_the_space_adds_is_told` |
//! | intervals by profile likelihood | `trial::intervals`, `trial::published::interval_ends_where_the_likelihood_has_fallen`, `trial::simulated::intervals_hold_the_truth` |
//! | entry by year and site, stability, multiplicative models, repeatability | `environments`, `command_line_trial::published::entries_over_sites_and_years` |
//! | classes, a random term by quadrature, disease over a season | `ordinal`, units in `disease_progress.rs` |
//! | designs under constraints, efficiency and bound, the same for a seed | `design`, `command_line_design::`, units in `design/` |
//! | power and least difference before planting | `design::replicates_before_planting`, `power_is_what_simulated_trials_find` |
//! | stages under a budget, by integration and simulation, against the bound | `stages` |
//! | `trial`: its lines and their order, OUT, bad rows | `command_line_trial::published`, `command_line_trial::slips` |
//! | nothing is given unless all of it can be | `command_line_trial::whole::printed_first_and_written_then`, `command_line_trial::plain::all_is_given_or_nothing`, `command_line_design::a_folder_that_takes_no_file_is_told`, `what_can_not_be_printed_fails` of the program |
//! | `design`: its columns, efficiency and bound, what is taken out | `command_line_design::` |
//! | `evaluate` says its terms and lets each be left out | `command_line_trial::published::random_terms_of_an_evaluation_are_told_and_left_out`, `command_line_trial::plain::every_term_of_an_evaluation_may_be_left_out` |
//! | components without bias, intervals, Dunnett, probabilities over thousands | `trial::simulated` |
//! | thousands of seeds, at or above the alpha arrays | `design::thousands_of_seeds_break_no_rule`, `searched_designs_are_at_or_above_the_alpha_arrays` |
//! | speed by size and against dense matrices | `benches/trial.rs`, `benches/design.rs`, `benches/evaluation.rs` |

#![expect(clippy::unwrap_used, reason = "a test stops where it can't go on")]

mod dense;
mod dense_surface;
mod hops;
mod intervals;
mod published;
mod several_tops;
mod simulated;
mod sites;
mod small_sample;
mod space;
mod sums;
mod table;
