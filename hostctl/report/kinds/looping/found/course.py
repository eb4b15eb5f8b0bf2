"""The course of a loop: its touches in order of time, many together, and its control limits."""

from bisect import bisect_left
from collections.abc import Iterator, Sequence

import numpy as np

from hostctl.metrology.looping.control_limit import BASELINE, ControlLimit, LimitCheck
from hostctl.report.enclosed.sourced import Account
from hostctl.report.kinds.looping.found.touches import SIDES, Places, Touches, groups
from hostctl.report.kinds.looping.result import (
    BeyondFound,
    ColumnFound,
    CourseFound,
    HaltFound,
    LimitsFound,
)

SINGLE = 120
"""Of so many touches each is shown by itself."""

COLUMNS = 60

_HALTS = {"hold", "stopped"}

Checks = dict[int, LimitCheck]


def limit_checks(touches: Touches, most: int) -> tuple[LimitsFound | None, Checks]:
    """Every touch after those that set its level's limits, held against them. most: as many
    touches share the risk of a false stop. None where no level is that long."""
    checks: Checks = {}
    limit = None
    for level in groups(touches.level):
        if level.size <= BASELINE:
            continue
        limit = ControlLimit(most=most, resolution=touches.resolution_mm)
        for at, value in zip(level.tolist(), touches.value_mm[level].tolist(), strict=True):
            if (check := limit.add(value)) is not None:
                checks[at] = check
    if limit is None:
        return None, checks
    return LimitsFound(
        baseline=BASELINE,
        t=limit.t,
        judged=len(checks),
        beyond=sum(one.beyond for one in checks.values()),
        moved=any(one.moved for one in checks.values()),
    ), checks


def course_found(touches: Touches, checks: Checks, account: Account) -> CourseFound:
    """Limits are shown where all touches are of one point."""
    one_point = np.unique(touches.point).size == 1
    off_mm = touches.value_mm - touches.value_mm.mean() if one_point else touches.off_mm
    together = 1 if len(touches) <= SINGLE else -(-len(touches) // COLUMNS)
    starts = range(0, len(touches), together)
    columns = (
        column
        for start in starts
        for column in _columns(
            touches, off_mm, checks if one_point else {}, start, start + together
        )
    )
    changed = np.flatnonzero(np.diff(touches.homing)) + 1
    return CourseFound(
        columns=tuple(columns),
        homed_before=tuple(int(at) + 1 for at in changed),
        halts=tuple(_halts(touches, account)),
        beyond=tuple(
            BeyondFound(touch=at + 1, off_mm=float(off_mm[at]))
            for at, check in sorted(checks.items())
            if check.beyond
        ),
    )


def _columns(
    touches: Touches, off_mm: np.ndarray, checks: Checks, start: int, end: int
) -> Iterator[ColumnFound]:
    places = np.arange(start, min(end, len(touches)))
    for at in groups(touches.side[places]):
        here: Places = places[at]
        limits = _limits(touches, off_mm, checks, here.tolist())
        yield ColumnFound(
            first=int(places[0]) + 1,
            last=int(places[-1]) + 1,
            side=SIDES[int(touches.side[here[0]])],
            count=int(here.size),
            low_mm=float(off_mm[here].min()),
            mean_mm=float(off_mm[here].mean()),
            high_mm=float(off_mm[here].max()),
            lower_mm=limits[0] if limits else None,
            upper_mm=limits[1] if limits else None,
        )


def _limits(
    touches: Touches, off_mm: np.ndarray, checks: Checks, here: Sequence[int]
) -> tuple[float, float] | None:
    """Those at the last of these touches that has any, counted as the touches are."""
    last = next((at for at in reversed(here) if at in checks), None)
    if last is None:
        return None
    less = float(touches.value_mm[last] - off_mm[last])
    return checks[last].lower - less, checks[last].upper - less


def _halts(touches: Touches, account: Account) -> Iterator[HaltFound]:
    at_s = touches.at_s.tolist()
    for event in account.events:
        if event.kind in _HALTS:
            before = bisect_left(at_s, event.at.timestamp() - touches.began_s)
            yield HaltFound(touch=before + 1, at=event.at, why=event.text)
