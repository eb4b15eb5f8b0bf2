"""The words for every reason: why a number can't be had, why a verdict is what it is.

Each is part of a sentence, begun small and without its full stop. What the maths finds, and what
the report itself holds back, is a code with numbers; only here does it become words.
"""

from collections.abc import Callable, Mapping

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Code, Number, Reason, Why
from hostctl.metrology.claims.claim import Centre


class Withheld(Code):
    """Why the report holds something back that the maths might give."""

    NO_COMMON_POINT = ("no common point",)
    SINGLE_BLOCK = ("a single block",)
    DIFFERENCES_SHOW_NO_DRIFT = ("differences show no drift",)
    DIFFERENCES_SHARE_A_SETTING = ("differences share a setting",)
    BOUND_IN_SOME_HANDS = ("a bound in some hands",)
    TOO_MANY_TO_SHUFFLE = ("too many to shuffle",)
    BLOCKS_TOO_SHORT = "blocks too short", "least"
    OWN_ZEROS = ("own zeros",)
    NOT_ONE_DATUM = ("not one datum",)
    SEVERAL_BLOCKS_A_WORKSHOP = ("several blocks a workshop",)
    RIG_NOT_KNOWN = "rig not known", "found"
    TOO_FEW_CHECKS = "too few checks", "least"
    SAME_PRINCIPLE = ("same principle",)
    TIE_STALE = ("tie stale",)
    NO_RISK_LEFT = ("no risk left",)
    NO_MARGIN = ("no margin",)
    BEYOND_MARGIN = "beyond margin", "margin"
    LOOKS_SPENT = "looks spent", "number"
    LAW_DOUBTED = "law doubted", "departures", "found", "later"
    LAW_DOUBTED_DIFFERENCES = "law doubted, differences", "departures"


CENTRES: Mapping[Centre, str] = {
    Centre.LONG_RUN_MEAN: "each block's own long-run mean",
    Centre.STUDY_MEAN: "the mean of this study",
    Centre.DATUM: "the datum",
}


TARGET = "the target"
"""What deviations count from where a tie makes gaps known: to the maths, a datum."""


def about_target(reason: Reason) -> Reason:
    """The same, said of the target instead of a datum."""
    numbers = {**reason.numbers, **({"centre": TARGET} if "centre" in reason.numbers else {})}
    if isinstance(behind := numbers.get("found"), Reason):
        numbers["found"] = about_target(behind)
    return Reason(reason.code, **numbers)


def reason_words(reason: Reason) -> str:
    """The part of a sentence that says it."""
    numbers = {
        name: _SPOKEN[name](number) if name in _SPOKEN else number
        for name, number in reason.numbers.items()
    }
    return WORDS[reason.code].format(**numbers)


def error_words(error: Exception) -> str:
    """What an error says to a user: a reason's words, or the error's own."""
    return reason_words(error.reason) if isinstance(error, NotEnough) else str(error)


def _behind(reason: Number) -> str:
    return reason_words(reason) if isinstance(reason, Reason) else str(reason)


# A number that is not printed as it is, by its name.
_SPOKEN: Mapping[str, Callable[[Number], str]] = {
    "blocks": lambda blocks: "" if blocks == 1 else " in the worst block",
    "centre": lambda centre: TARGET if centre == TARGET else CENTRES[Centre(str(centre))],
    "found": _behind,
    "left_out": lambda cut: f", the {cut} farthest left out," if cut else "",
    "later": lambda later: ", at the next look, which has less of the risk" if later else "",
    "nested": lambda nested: (
        "operators differ by part: nested" if nested else "trials or cells are missing"
    ),
    "rig_hidden": lambda hidden: (
        " (the rig's own spread is too small for the resolution to show)" if hidden else ""
    ),
}

_INSIDE = "{inside} of {n} settings lay within ±{tolerance:.3g} {unit}: the true share"
_NOT_NORMAL = "settings do not scatter normally ({departures}), so only a count can tell"
_TAKES = "with that spread a share of {share:.3g} takes ±{holds:.3g} {unit}, so"

WORDS: Mapping[Code, str] = {
    # of any sample
    Why.TOO_FEW: "{what}: {given} given, at least {least} are needed",
    Why.TOO_FEW_GROUPS: "{what}: {given} group given, at least 2 are needed",
    Why.NOT_A_NUMBER: "{what}: value {place} is {value}, not a number",
    Why.MORE_THAN: "more than {most:,} would be needed",
    # rounded readings
    Why.NO_READINGS: "no readings given",
    Why.OFF_GRID: "reading {place} is {value!r}, which is not a whole number of {resolution!r} "
    "from {start!r}; give the resolution these were read to",
    Why.TOO_FAR_FOR_GRID: "the readings reach too far for a resolution of {resolution!r}",
    Why.NO_TWO_SETTINGS: "no block has two settings, and one alone has no spread",
    Why.ALL_ALIKE: "all readings are alike: the spread is too small for this resolution to show, "
    "which is not none; only an upper bound can be given",
    Why.TWO_GRADUATIONS: "all readings fall on two neighbouring graduations, which a value at the "
    "edge between them does with no spread at all; only an upper bound can be given",
    Why.READ_AS_INTERVALS: "each reading is taken as an interval one resolution wide; from a few "
    "resolutions up this agrees with the ordinary figure, below it the ordinary interval is wrong",
    Why.TOO_NARROW_FOR_SHEPPARD: "Sheppard's correction needs a standard deviation of a resolution "
    "or more",
    # the mean
    Why.ZERO_IS_FIRST_SETTING: "readings are relative to the block's first setting and share its "
    "error: their spread is that of all settings, the first included, but how far the method is "
    "off on average cannot be known from them",
    Why.READINGS_ARE_DIFFERENCES: "readings are differences of neighbouring settings: one "
    "setting's spread is theirs over the square root of two, and how far the method is off on "
    "average cannot be known from them",
    Why.ONE_READING: "one reading has no interval for its mean",
    # the rig taken out
    Why.NO_RIG_CHECK: "there is no rig check to take out",
    Why.RIG_MORE_THAN_STUDY: "the rig check scatters significantly more than the whole study: "
    "the rig was not the same in both, repeat the rig check",
    Why.RIG_MORE_THAN_BOUND: "the rig check scatters more than the whole study can: the rig was "
    "not the same in both, repeat the rig check",
    Why.SETTING_ABOVE_RIG: "the setting scatters measurably more than the rig alone{rig_hidden}",
    Why.SETTING_LIKE_RIG: "not distinguishable from the rig: the setting's own standard deviation "
    "may be as small as zero, and is below {high:.3g}{rig_hidden}",
    Why.SETTING_HIDDEN: "too small for this resolution to show; the bound is that of setting and "
    "rig together",
    Why.SETTING_WITHIN_RIG: "the readings scatter no more than the rig check alone; the bound is "
    "that of setting and rig together",
    # what is odd
    Why.NONE_STANDS_OUT: "all readings are alike: none can stand out",
    Why.DRIFT_TOO_FEW: "drift: needs blocks of 3 settings or more, 6 in all",
    Why.DRIFT_HIDDEN: "all readings are alike: the rounding hides any drift",
    Why.NEIGHBOURS_TOO_FEW: "neighbours are compared from {least} settings on",
    Why.CORRELATION_HIDDEN: "all readings are alike: no correlation can be seen",
    Why.WARM_UP_HIDDEN: "all readings are alike: no warm-up can be seen",
    Why.LAW_TOO_FEW: "there are too few settings to show how they scatter; from {least} on "
    "it is looked at",
    Why.LAW_HIDDEN: "they scatter over too few graduations to show how",
    # spreads compared
    Why.RATIO_HIDDEN: "readings are all alike: a ratio of spreads can't be formed",
    Why.NO_METHODS_TO_COMPARE: "test of spreads: no operator and point has two methods to compare",
    Why.NO_SPREAD_TO_COMPARE: "all readings of each block are alike: no spread to compare",
    Why.NOT_THE_SAME_METHODS: "interaction: needs two operators or more, each with the same "
    "methods",
    Why.METHOD_LACKING: "only one of the methods for {operators}",
    Why.TOO_FEW_OPERATORS: "fewer than two operators have a spread in both methods",
    Why.CELL_ALIKE: "an operator's readings with one method are alike in every block",
    # components
    Why.NO_REPEATS: "no group has two values: nothing shows how they repeat",
    Why.NO_FREEDOM_LEFT: "no degrees of freedom are left for an F test",
    Why.NO_ERROR_TO_TEST_BY: "nothing varies within the groups, so there is no error to test by",
    Why.TOO_FEW_PARTS: "gauge study: needs at least 2 parts and 2 operators",
    Why.NESTED_WITHOUT_REPEATS: "gauge study: nested operators need at least two trials of one "
    "part",
    Why.NO_UNIQUE_TABLE: "{nested}: no unique table of sums of squares",
    Why.ROW_NOT_A_NUMBER: "crossed study: row {row} is not a number",
    Why.READINGS_TOO_LARGE: "crossed study: the readings are too large to add up",
    Why.TOO_MANY_CELLS: "crossed study: more than {most} cells, or a part or operator numbered "
    "below 0",
    Why.UNEVEN_CELLS: "crossed study: cells differ in trials, use REML",
    Why.REPEATS_EXACTLY: "crossed study: readings repeat exactly, the rounding hides their scatter",
    Why.REML_TOO_MANY_CELLS: "REML: more than {most} cells; balance the table or split it",
    Why.REML_ALL_ALIKE: "REML: all readings are alike, the rounding hides their scatter",
    Why.REML_TOLD_EXACTLY: "REML: the effects tell every reading exactly, so no scatter is left "
    "over",
    Why.REML_NOT_TOLD_APART: "REML: two effects can't be told apart in this table",
    Why.REML_ONE_LEVEL: "REML: {effect} has only one level, its scatter can't be seen",
    Why.FULL_TABLE: "full table, analysis of variance with interaction",
    Why.FULL_TABLE_ONE_TRIAL: "full table, one trial a cell: the interaction can't be told from "
    "repeatability",
    Why.FULL_TABLE_POOLED: "full table, analysis of variance; the interaction is pooled with "
    "repeatability because its p value is above {above:g}",
    Why.BY_LIKELIHOOD: "{nested}; restricted maximum likelihood, nothing pooled, components stop "
    "at zero",
    Why.NOTHING_VARIES: "nothing varies at all",
    Why.MEASURING_SHOWS_NOTHING: "the measuring shows no variation, so categories can't be counted",
    Why.NO_MEAN_SQUARE: "a mean square is {value}, must be 0 or more",
    Why.TOO_FEW_LABORATORIES: "needs at least {least} laboratories and 2 readings each",
    Why.LABORATORIES_SAME_MEAN: "all laboratories have the same mean",
    Why.LABORATORIES_DO_NOT_VARY: "no laboratory's readings vary",
    # claims
    Why.NO_SPREAD_TO_JUDGE: "a standard deviation of {sd} can't be judged",
    Why.NO_LIMITS: "limits for the spread of at least 2 settings are needed",
    Why.NO_FREEDOM: "n is {n}, degrees of freedom {df}: both must be above 0",
    Why.NO_DATUM: "without a datum the bias is unknown: judge the spread about its own mean",
    Why.REACH_WITHIN: "a share of {share:.3g} lies within ±{high:.3g} {unit} of {centre}{blocks} "
    "at confidence {confidence:.3g}, inside the tolerance of ±{tolerance:.3g} {unit}, if settings "
    "scatter normally and independently",
    Why.REACH_BEYOND: "holding a share of {share:.3g} takes at least ±{low:.3g} {unit} of "
    "{centre}{blocks} at confidence {confidence:.3g}, beyond the tolerance of ±{tolerance:.3g} "
    "{unit}",
    Why.REACH_AROUND: "the band about {centre}{blocks} that holds a share of {share:.3g} of "
    "settings may be anything from ±{low:.3g} to ±{high:.3g} {unit}; the tolerance of "
    "±{tolerance:.3g} {unit} lies between",
    Why.SHARE_AT_LEAST: f"{_INSIDE} is at least {{low:.3f}}",
    Why.SHARE_AT_MOST: f"{_INSIDE} is at most {{high:.3f}}",
    Why.SHARE_AROUND: f"{_INSIDE} may be anything from {{low:.3f}} to {{high:.3f}}",
    Why.BAND_HOLDS: "{n} settings of one block{left_out} lie within ±{reach:.3g} {unit} of their "
    "own average, graduations and its error included: that holds a share of {share:.3g} at "
    "confidence {confidence:.3g}, whatever their law, and ±{tolerance:.3g} {unit} is enough",
    Why.BAND_WIDER: "the settings of a block lie up to {reach:.3g} {unit} from their own average, "
    "graduations and its error included, which is more than ±{tolerance:.3g} {unit}",
    Why.BAND_TOO_FEW: "all settings of a block lie within ±{tolerance:.3g} {unit} of their own "
    "average, but there are {n}, and that shows it from {least} in one block on",
    Why.NO_BAND_HOLDS: "at most {inside} of {n} settings lie within ±{tolerance:.3g} {unit} of "
    "each other's middle wherever that is taken, rig and graduations allowed for",
    Why.FEW_NEAR_DATUM: "only {inside} of {n} settings of a block lie within ±{tolerance:.3g} "
    "{unit} of {centre}, rig and graduations allowed for",
    Why.COUNT_OPEN: "{inside} of {n} settings of a block lie within ±{tolerance:.3g} {unit} of "
    "{centre}, graduations included; that shows it from {least} of {least} on",
    Why.NEVER_PROVEN: f"{_TAKES} ±{{tolerance:.3g}} {{unit}} can't be proven",
    Why.TOO_NEAR_THE_LIMIT: f"{_TAKES} near the limit that more than {{most:,}} would be needed",
    Why.NEAR_THE_LIMIT: "too near the limit to decide, as more than {most:,} further trials "
    "would be needed",
    Why.NO_LOOK_LEFT: "no look is left to judge more trials by",
    Why.RIG_CHECK_DECIDES: "the spread, rig included, is as wide as the claim allows, or wider; a "
    "rig check decides, not more trials",
    Why.ROUNDING_DECIDES: "rounding is what stands in the way; a finer indicator decides, not more "
    "trials",
    Why.VALUE_INSIDE: "the value lies inside the limits by a guard band or more",
    Why.VALUE_BEYOND: "the value lies beyond the limits by more than a guard band",
    Why.VALUE_TOO_NEAR: "the value lies nearer to a limit than a guard band",
    Why.NO_ROOM_FOR_VALUE: "wherever the value lay, guard bands leave no room between the limits",
    Why.VALUE_NOT_JUDGED: "value {value} with uncertainty {u} can't be judged",
    # over time
    Why.CHECKS_TOO_FEW: "{given} checks for the limits: at least {least} are needed",
    Why.CHECKS_ALIKE: "{given} checks all alike: the resolution hides the rig's spread",
    # of a loop of touches
    Why.LOOP_DRIFTS: "{touches} touches drift: some {moved:.3g} from first to last (p {p:.2g})",
    Why.NEIGHBOURS_ALIKE: "{touches} touches resemble their neighbours by {likeness:.2f}, where "
    "chance gives up to {band:.2f}: they aren't independent",
    Why.DOES_NOT_VARY: "{what} hardly varied",
    Why.DRIFTS_TO_THE_END: "it drifted to the end: too short to tell when that stops",
    # geometry
    Why.TOO_FEW_TARGETS: "{side}: each of 2 targets or more needs its row",
    Why.TOO_FEW_RUNS: "{side}: each target needs the same number of runs, at least 2",
    Why.RUN_NOT_A_NUMBER: "{side}: target {target}, run {run} isn't a number",
    Why.FEW_RUNS: "{runs} runs in a direction; the standard asks for {asked}",
    Why.TOO_FEW_POINTS: "{given} points: a plane needs at least 3",
    Why.POINT_NOT_A_NUMBER: "point {place} has a value that isn't a number",
    Why.POINTS_ON_A_LINE: "all points lie on one line: a plane needs one off it",
    Why.SHAPE_NOT_TOLD: "these points can't tell {what} from the rest of the shape",
    Why.NO_POINT_FOR_DOUBT: "{value:.4g}, but {points} points leave none to judge its uncertainty "
    "by; measure more points, or give the rig's spread",
    Why.UNITS_DIFFER: "the heights vary more than the points are apart: are all in one unit?",
    # uncertainty budgets
    Why.NO_CONTRIBUTION: "a budget needs at least one contribution",
    Why.NAMES_TWICE: "contributions need different names: {names}",
    Why.NO_SUCH_CONTRIBUTION: "no contribution is called {names}",
    Why.INPUT_UNUSABLE: "{name}: value {value}, u {u}, df {df} can't be used",
    Why.CORRELATIONS_CONTRADICT: "these correlations contradict each other",
    Why.MODEL_HAS_NO_VALUE: "{measurand}: the model gives no finite value at the inputs' values",
    Why.MODEL_FAILS: "{measurand}: the model fails for some values of its inputs",
    Why.UNIFORM_DOMINATES: "{name} is most of the uncertainty and has sharp limits: a factor from "
    "Student's t overstates; take the Monte Carlo interval",
    Why.MODEL_BENDS: "the model bends within the inputs' uncertainties: take the Monte Carlo "
    "interval",
    Why.CORRELATED_FREEDOM: "some inputs are correlated: the effective degrees of freedom are a "
    "cautious reading",
    # what the report holds back
    Withheld.NO_COMMON_POINT: "they have no point in common",
    Withheld.SINGLE_BLOCK: "one has a single block there, whose readings all share its zero",
    Withheld.DIFFERENCES_SHOW_NO_DRIFT: "differences show no drift",
    Withheld.DIFFERENCES_SHARE_A_SETTING: "neighbouring differences share a setting",
    Withheld.BOUND_IN_SOME_HANDS: "in some hands its spread is no more than a bound",
    Withheld.TOO_MANY_TO_SHUFFLE: "too many settings to shuffle; the ratios above are sure enough",
    Withheld.BLOCKS_TOO_SHORT: "blocks of fewer than {least} settings show no spread",
    Withheld.OWN_ZEROS: "each block has a zero of its own, so what lies between points and between "
    "operators can't be seen: that takes one datum for all",
    Withheld.NOT_ONE_DATUM: "readings do not count from one datum",
    Withheld.SEVERAL_BLOCKS_A_WORKSHOP: "where a workshop has several blocks, what lies "
    "between its own points and hands would pass for what lies between workshops",
    Withheld.RIG_NOT_KNOWN: "{found}, but that is setting and rig together: how much is the rig's "
    "is not known",
    Withheld.LOOKS_SPENT: "this would be look {number}, and as many as were declared have spent "
    "the whole risk of a wrong verdict",
    Withheld.LAW_DOUBTED: f"{_NOT_NORMAL}: {{found}}{{later}}",
    Withheld.LAW_DOUBTED_DIFFERENCES: f"{_NOT_NORMAL}, and differences of settings can't be "
    "counted",
    Withheld.SAME_PRINCIPLE: "the tie goes by the method's own principle; its errors are in both",
    Withheld.TIE_STALE: "the bed was much warmer or colder at the settings than at the tie",
    Withheld.NO_RISK_LEFT: "as many looks as were declared have spent the whole risk",
    Withheld.NO_MARGIN: "nobody stated how far off still counts as on target",
    Withheld.BEYOND_MARGIN: "it may as well be on the target as more than {margin:g} mm off",
    Withheld.TOO_FEW_CHECKS: "a chart needs at least {least} checks",
}
