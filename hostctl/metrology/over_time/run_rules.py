"""Run rules: the usual tests for special causes on a control chart.

The eight that ISO 8258:1991 listed and its successor ISO 7870-2 refers to (both from memory; the
2013 edition shortens runs and trends to seven points). z is a point's distance from the centre line
in standard deviations. Each rule on its own raises false alarms, and together they raise many:
with `BEYOND` alone one comes about every 370 points, with the `USUAL` four every 120, with all
eight every 70 (simulated).
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import assert_never

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray


class Rule(Enum):
    """A pattern that a steady process rarely shows."""

    BEYOND = "a point beyond three standard deviations"
    RUN = "nine points in a row on one side of the centre"
    TREND = "six points in a row steadily rising or falling"
    SAWTOOTH = "fourteen points in a row alternating up and down"
    TWO_OF_THREE = "two of three points beyond two standard deviations on one side"
    FOUR_OF_FIVE = "four of five points beyond one standard deviation on one side"
    HUGGING = "fifteen points in a row within one standard deviation"
    SHUNNING = "eight points in a row beyond one standard deviation, either side"


# These catch a shift, a drift or a lost screw; the rest cost more alarms than they find.
USUAL = (Rule.BEYOND, Rule.RUN, Rule.TREND, Rule.TWO_OF_THREE)

_LENGTH = {
    Rule.BEYOND: 1,
    Rule.RUN: 9,
    Rule.TREND: 6,
    Rule.SAWTOOTH: 14,
    Rule.TWO_OF_THREE: 3,
    Rule.FOUR_OF_FIVE: 5,
    Rule.HUGGING: 15,
    Rule.SHUNNING: 8,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Signal:
    """One rule broken by the points `first` to `last`, counted from 0."""

    rule: Rule
    first: int
    last: int


def signals(z: Sequence[float], rules: Collection[Rule] = USUAL) -> tuple[Signal, ...]:
    """Every place where a rule is broken, in the order of the point that completes it.

    A point on the centre line ends a run; equal neighbours end a trend: with rounded readings both
    happen, and make these rules the more patient.
    """
    points = np.asarray(z, dtype=np.float64)
    found = [
        Signal(rule=rule, first=int(start), last=int(start) + _LENGTH[rule] - 1)
        for rule in rules
        if len(points) >= _LENGTH[rule]
        for start in np.flatnonzero(_broken(rule, sliding_window_view(points, _LENGTH[rule])))
    ]
    return tuple(sorted(found, key=lambda signal: (signal.last, signal.rule.name)))


def _broken(rule: Rule, windows: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which windows break the rule; one window a row."""
    match rule:
        case Rule.BEYOND:
            return _every(np.abs(windows) > 3)
        case Rule.RUN:
            return _one_sided(windows, beyond=0, needed=9)
        case Rule.TREND:
            steps = np.diff(windows, axis=1)
            return _every(steps > 0) | _every(steps < 0)
        case Rule.SAWTOOTH:
            steps = np.diff(windows, axis=1)
            return _every(steps[:, 1:] * steps[:, :-1] < 0)
        case Rule.TWO_OF_THREE:
            return _one_sided(windows, beyond=2, needed=2)
        case Rule.FOUR_OF_FIVE:
            return _one_sided(windows, beyond=1, needed=4)
        case Rule.HUGGING:
            return _every(np.abs(windows) < 1)
        case Rule.SHUNNING:
            return _every(np.abs(windows) > 1)
        case never:
            assert_never(never)


def _every(marked: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Which rows are marked all along."""
    return np.asarray(marked.all(axis=1), dtype=np.bool_)


def _one_sided(windows: NDArray[np.float64], *, beyond: float, needed: int) -> NDArray[np.bool_]:
    """At least `needed` of each window beyond, on one side, its last point among them."""
    high, low = windows > beyond, windows < -beyond
    above = (high.sum(axis=1) >= needed) & high[:, -1]
    below = (low.sum(axis=1) >= needed) & low[:, -1]
    return np.asarray(above | below, dtype=np.bool_)
