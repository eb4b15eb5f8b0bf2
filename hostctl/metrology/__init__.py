"""The maths of repeatability: pure functions on arrays, typed results, a source beside each.

A wing for each question asked, and in it the file and function that answer; (c) marks what a
command shows, the rest waits for one.

    spread        one block or method             sample: describe (c), repeatability_limit (c)
                  the rig out of the total        setting: setting_of (c)
    rounded       readings rounded to a grid      rounding: rounded_spread (c);
                                                  evidence: limits at any risk, the box (c);
                                                  bootstrap: bootstrap_spread
                  how rounded scores scatter      law: score, tails
    oddities      outliers                        block_outliers (c)
                  drift, likeness of neighbours   block_order (c)
                  warm-up                         warm_up (c)
    comparison    two spreads                     spread_ratio (c)
                  operator x method               interaction: ratio_of_ratios (c)
                  two means                       mean_difference (c)
    components    gauge study                     gauge_study (c), by crossed or reml
                  several laboratories            interlab: precision, cochran_limit
    claims        within a tolerance              decision: decide (c), decide_by_counting
                  trials wanted                   planning (c)
                  one value against limits        conformity: judge
    trueness      the true gap, by a tie          constant: tie_constant, hull, elsewhere;
                                                  mean_gap: mean_gap; standing: standing
    over_time     check after check               history (c), run_rules (c)
    looping       a loop stopped as it goes       known_spread: KnownSpread; control_limit:
                                                  ControlLimit
                  what a loop says at its end     groups, line: slope_of, wait: warm_up_wait
                  two gauges at one point         paired: paired_difference
    uncertainty   a budget                        propagation: combine (c);
                                                  monte_carlo: propagate (c), agreement (c)
    geometry      an axis                         axis: judge_axis
                  a bed                           bed: fit_plane, fit_shape;
                                                  flatness: minimum_zone

All stand on `basis`; beyond it `spread`, `comparison` and `trueness` import `rounded`,
`trueness` imports `comparison`, and `looping` `rounded`, `claims` and `components`.

No words for people are here: what can't be had, and what a verdict rests on, is a `Reason`
(`basis/reason.py`), a code with its numbers, which report puts into words.
"""
