"""Why a number can't be had, or why a verdict is what it is: a code and its numbers, no words.

The words for people lie in report. Whoever meets a reason in a program reads the code.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Self, TypeAlias, Union

Number: TypeAlias = Union[float, str, "Reason"]
"""A quantity, the name of something, or what lies behind it."""


class Code(StrEnum):
    """What a kind of reason is called, and the names of the numbers that belong to it."""

    numbers: tuple[str, ...]

    def __new__(cls, code: str, *numbers: str) -> Self:
        """Written as a code, followed by the names of its numbers."""
        member = str.__new__(cls, code)
        member._value_ = code
        member.numbers = numbers
        return member


@dataclass(frozen=True, slots=True, init=False)
class Reason:
    """One reason. Lengths are in the unit of the readings unless a `unit` is among the numbers."""

    code: Code
    numbers: Mapping[str, Number]

    def __init__(self, code: Code, /, **numbers: Number) -> None:
        """Raises TypeError where these are not the code's own numbers."""
        if numbers.keys() != set(code.numbers):
            raise TypeError(f"{code!r} takes {code.numbers}, not {tuple(numbers)}")
        object.__setattr__(self, "code", code)
        object.__setattr__(self, "numbers", MappingProxyType(numbers))

    def __str__(self) -> str:
        """For a log or a traceback."""
        return " ".join([self.code, *(f"{name}={value}" for name, value in self.numbers.items())])


class Why(Code):
    """The reasons that the maths gives."""

    # of any sample
    TOO_FEW = "too few", "what", "given", "least"
    TOO_FEW_GROUPS = "too few groups", "what", "given"
    NOT_A_NUMBER = "not a number", "what", "place", "value"
    MORE_THAN = "more than can be tried", "most"
    # rounded readings
    NO_READINGS = ("no readings",)
    OFF_GRID = "off the grid", "place", "value", "resolution", "start"
    TOO_FAR_FOR_GRID = "too far for the grid", "resolution"
    NO_TWO_SETTINGS = ("no block has two settings",)
    ALL_ALIKE = ("all alike",)
    TWO_GRADUATIONS = ("two graduations",)
    READ_AS_INTERVALS = ("read as intervals",)
    TOO_NARROW_FOR_SHEPPARD = ("too narrow for Sheppard",)
    # the mean
    ZERO_IS_FIRST_SETTING = ("zero is the first setting",)
    READINGS_ARE_DIFFERENCES = ("readings are differences",)
    ONE_READING = ("one reading",)
    # the rig taken out
    NO_RIG_CHECK = ("no rig check",)
    RIG_MORE_THAN_STUDY = ("rig significantly more than study",)
    RIG_MORE_THAN_BOUND = ("rig more than study can",)
    SETTING_ABOVE_RIG = "setting above rig", "rig_hidden"
    SETTING_LIKE_RIG = "setting like rig", "high", "rig_hidden"
    SETTING_HIDDEN = ("setting hidden",)
    SETTING_WITHIN_RIG = ("setting within rig",)
    # what is odd
    NONE_STANDS_OUT = ("none stands out",)
    DRIFT_TOO_FEW = ("drift: too few",)
    DRIFT_HIDDEN = ("drift hidden",)
    NEIGHBOURS_TOO_FEW = "neighbours: too few", "least"
    CORRELATION_HIDDEN = ("correlation hidden",)
    WARM_UP_HIDDEN = ("warm-up hidden",)
    LAW_TOO_FEW = "law: too few", "least"
    LAW_HIDDEN = ("law hidden",)
    # spreads compared
    RATIO_HIDDEN = ("ratio hidden",)
    NO_METHODS_TO_COMPARE = ("no methods to compare",)
    NO_SPREAD_TO_COMPARE = ("no spread to compare",)
    NOT_THE_SAME_METHODS = ("not the same methods",)
    METHOD_LACKING = "method lacking", "operators"
    TOO_FEW_OPERATORS = ("too few operators",)
    CELL_ALIKE = ("a cell alike",)
    # components
    NO_REPEATS = ("no repeats",)
    NO_FREEDOM_LEFT = ("no freedom left",)
    NO_ERROR_TO_TEST_BY = ("no error to test by",)
    TOO_FEW_PARTS = ("too few parts or operators",)
    NESTED_WITHOUT_REPEATS = ("nested without repeats",)
    NO_UNIQUE_TABLE = "no unique table", "nested"
    ROW_NOT_A_NUMBER = "row not a number", "row"
    READINGS_TOO_LARGE = ("readings too large",)
    TOO_MANY_CELLS = "too many cells", "most"
    UNEVEN_CELLS = ("uneven cells",)
    REPEATS_EXACTLY = ("repeats exactly",)
    REML_TOO_MANY_CELLS = "REML: too many cells", "most"
    REML_ALL_ALIKE = ("REML: all alike",)
    REML_TOLD_EXACTLY = ("REML: told exactly",)
    REML_NOT_TOLD_APART = ("REML: not told apart",)
    REML_ONE_LEVEL = "REML: one level", "effect"
    FULL_TABLE = ("full table",)
    FULL_TABLE_ONE_TRIAL = ("full table, one trial",)
    FULL_TABLE_POOLED = "full table, pooled", "above"
    BY_LIKELIHOOD = "by likelihood", "nested"
    NOTHING_VARIES = ("nothing varies",)
    MEASURING_SHOWS_NOTHING = ("measuring shows nothing",)
    TOO_FEW_LABORATORIES = "too few laboratories", "least"
    LABORATORIES_SAME_MEAN = ("laboratories of one mean",)
    LABORATORIES_DO_NOT_VARY = ("laboratories do not vary",)
    # claims
    NO_SPREAD_TO_JUDGE = "no spread to judge", "sd"
    NO_LIMITS = ("no limits for the spread",)
    NO_MEAN_SQUARE = "no mean square", "value"
    NO_FREEDOM = "no degrees of freedom", "n", "df"
    NO_DATUM = ("no datum",)
    REACH_WITHIN = (
        "reach within",
        *("share", "confidence", "high", "tolerance", "unit", "centre", "blocks"),
    )
    REACH_BEYOND = (
        "reach beyond",
        *("share", "confidence", "low", "tolerance", "unit", "centre", "blocks"),
    )
    REACH_AROUND = (
        "reach around",
        *("share", "low", "high", "tolerance", "unit", "centre", "blocks"),
    )
    SHARE_AT_LEAST = "share at least", "inside", "n", "tolerance", "unit", "low"
    SHARE_AT_MOST = "share at most", "inside", "n", "tolerance", "unit", "high"
    SHARE_AROUND = "share around", "inside", "n", "tolerance", "unit", "low", "high"
    BAND_HOLDS = (
        "band holds",
        *("n", "left_out", "reach", "share", "confidence", "tolerance", "unit"),
    )
    BAND_WIDER = "band wider", "reach", "tolerance", "unit"
    BAND_TOO_FEW = "band of too few", "n", "least", "tolerance", "unit"
    NO_BAND_HOLDS = "no band holds", "inside", "n", "tolerance", "unit"
    FEW_NEAR_DATUM = "few near the datum", "inside", "n", "tolerance", "unit", "centre"
    COUNT_OPEN = "count open", "inside", "n", "least", "tolerance", "unit", "centre"
    NEVER_PROVEN = "never proven", "share", "holds", "tolerance", "unit"
    TOO_NEAR_THE_LIMIT = "too near the limit", "share", "holds", "unit", "most"
    NEAR_THE_LIMIT = "too near the limit to decide", "most"
    RIG_CHECK_DECIDES = ("a rig check decides",)
    NO_LOOK_LEFT = ("no look left",)
    ROUNDING_DECIDES = ("rounding stands in the way",)
    VALUE_INSIDE = ("value inside",)
    VALUE_BEYOND = ("value beyond",)
    VALUE_TOO_NEAR = ("value too near",)
    NO_ROOM_FOR_VALUE = ("no room for a value",)
    VALUE_NOT_JUDGED = "value can't be judged", "value", "u"
    # over time
    CHECKS_TOO_FEW = "checks: too few", "given", "least"
    CHECKS_ALIKE = "checks alike", "given"
    # of a loop of touches
    LOOP_DRIFTS = "loop drifts", "touches", "moved", "p"
    NEIGHBOURS_ALIKE = "neighbours alike", "touches", "likeness", "band"
    DOES_NOT_VARY = "does not vary", "what"
    DRIFTS_TO_THE_END = ("drifts to the end",)
    # geometry
    TOO_FEW_TARGETS = "too few targets", "side"
    TOO_FEW_RUNS = "too few runs", "side"
    RUN_NOT_A_NUMBER = "run not a number", "side", "target", "run"
    FEW_RUNS = "few runs", "runs", "asked"
    TOO_FEW_POINTS = "too few points", "given"
    POINT_NOT_A_NUMBER = "point not a number", "place"
    POINTS_ON_A_LINE = ("points on a line",)
    SHAPE_NOT_TOLD = "shape not told", "what"
    NO_POINT_FOR_DOUBT = "no point left for its uncertainty", "value", "points"
    UNITS_DIFFER = ("units differ",)
    # uncertainty budgets
    NO_CONTRIBUTION = ("no contribution",)
    NAMES_TWICE = "names twice", "names"
    NO_SUCH_CONTRIBUTION = "no such contribution", "names"
    INPUT_UNUSABLE = "input unusable", "name", "value", "u", "df"
    CORRELATIONS_CONTRADICT = ("correlations contradict",)
    MODEL_HAS_NO_VALUE = "model has no value", "measurand"
    MODEL_FAILS = "model fails", "measurand"
    UNIFORM_DOMINATES = "uniform part dominates", "name"
    MODEL_BENDS = ("model bends",)
    CORRELATED_FREEDOM = ("correlated inputs",)
