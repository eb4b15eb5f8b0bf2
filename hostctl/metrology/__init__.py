"""The maths of repeatability: pure functions on arrays, typed results, a source beside each.

Where to look, by the question asked; (c) marks what a command shows, the rest is called as it is:

    one block or method     sample: describe (c), repeatability_limit (c)
    rounded readings        rounding: rounded_spread (c); bootstrap: bootstrap_spread
    rig out of the total    setting: setting_of (c); rig: setting_spread
    outliers                block_outliers (c); outliers: grubbs, extreme_deviates
    drift, order, warm-up   block_order (c), warm_up (c); trend: line_trend, mann_kendall,
                            sen_slope; serial_order: lag_1_autocorrelation, runs_about_median
    two spreads             spread_ratio: sd_ratio (c), sd_equivalence (c), sd_ratio_robust;
                            spread_permutation (c);
                            spread_tests: brown_forsythe (c), levene, bartlett
    operator x method       interaction: spread_interaction (c); interaction_permutation (c)
    two means, bias         equivalence: mean_difference (c), welch_test (c), mean_equivalence (c),
                            bias
    several laboratories    interlab: precision, cochran_limit
    gauge study             gauge_study (c): crossed (c), reml (c); nested: two_levels;
                            average_range: average_and_range
    uncertainty budget      propagation: combine (c); monte_carlo: propagate (c), agreement (c)
    tolerance claim         decision: decide (c), decide_by_counting; tolerance: two_sided_factor,
                            distribution_free_interval; conformity: judge, guard_factor
    trials wanted           planning (c)
    over time               history (c), run_rules (c)
    axis                    axis: judge_axis
    bed                     bed: fit_plane, fit_shape; flatness: minimum_zone
"""
