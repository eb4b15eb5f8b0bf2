"""How long the machine is busy with one reading, kind by kind of study."""

from collections.abc import Callable, Mapping
from dataclasses import replace

from hostctl.config.parts.tie import TieBy
from hostctl.drafts.ahead.machine_time import Ways, away_and_back_s, setting_s

_SLOW_SIDEWAYS_MM_S = 10.0
"""How the head passes with leads on the nozzle, so that eyes can follow."""
_NEAR_MM = 0.3
"""About how far the nozzle comes down in short steps, looked at after each."""


def each_s(ways: Ways) -> float | None:
    """One reading of a study's own, s; None of a kind that is not shipped."""
    reckoned = _EACH.get(ways.study.kind)
    return None if reckoned is None else reckoned(ways)


def tie_s(ways: Ways) -> float:
    """One observation of a tie: told of the surface, then read there."""
    tie, machine = ways.study.tie, ways.machine
    if tie is None:
        return 0.0
    if tie.by is TieBy.TOUCH:
        above_mm = max(tie.stands_mm - machine.highest_point_mm, 0.0)
        ways = replace(ways, stands_mm=above_mm)
    set_z_mm = machine.set_z_mm + (tie.plate_mm or tie.block_mm or 0.0)
    told_s = ways.count_s + ways.down_s(set_z_mm) + ways.up_s(set_z_mm)
    if tie.by is TieBy.TOUCH:
        told_s += ways.slow_s(_NEAR_MM)
    if tie.by is TieBy.GAUGE_BLOCK:
        told_s += ways.count_s
    return told_s + away_and_back_s(ways)


def laid_s(ways: Ways) -> float:
    """What is laid at a point for a tie by touch, its leads shown to hang slack."""
    tie, tip = ways.study.tie, ways.machine.indicator
    if tie is None or tip is None or tie.by is not TieBy.TOUCH:
        return 0.0
    past_s = 2 * max(abs(tip.offset_x_mm), abs(tip.offset_y_mm)) / _SLOW_SIDEWAYS_MM_S
    return 3 * ways.count_s + past_s + ways.down_s(0.0) + ways.up_s(0.0)


def _touch_s(ways: Ways) -> float:
    """Of a probe loop: nobody is asked, and the head stays over its point but for sides."""
    loop = ways.study.loop
    aside_s = 2 * ways.across_s(loop.side_mm) if loop is not None and loop.sides else 0.0
    return ways.touch_s() + aside_s


def _height_s(ways: Ways) -> float:
    """Of an axis test: stepped to the next height, past it and back where sides are two."""
    axis = ways.study.axis
    if axis is None:
        return 0.0
    span_mm = max(axis.targets_mm) - min(axis.targets_mm)
    step_mm = span_mm / max(len(axis.targets_mm) - 1, 1)
    return ways.count_s + ways.settle_s + ways.slow_s(step_mm)


def _level_s(ways: Ways) -> float:
    """Of a levelling: from point to point, slowly down all the way where a plunger reads."""
    if ways.by_probe:
        return ways.to_gauge_s() + ways.touch_s()
    return away_and_back_s(ways)


def _either_s(ways: Ways) -> float:
    """Of two gauges in turn."""
    both = (replace(ways, by_probe=kind == "probe") for kind in _kinds(ways))
    times_s = [away_and_back_s(each) - (each.count_s if each.by_probe else 0) for each in both]
    return sum(times_s) / len(times_s)


def _kinds(ways: Ways) -> tuple[str, str]:
    study = ways.study
    return study.gauge.kind, study.second_gauge.kind if study.second_gauge else study.gauge.kind


_EACH: Mapping[str, Callable[[Ways], float]] = {
    "comparison": setting_s,
    "rig-check": away_and_back_s,
    "tie": tie_s,
    "probe-loop": _touch_s,
    "axis-test": _height_s,
    "level": _level_s,
    "gauge-comparison": _either_s,
}
