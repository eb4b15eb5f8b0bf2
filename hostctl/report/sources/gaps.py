"""The readings of a recorded run as gaps, by the ties that were made in it."""

from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import fmean

from hostctl.metrology.basis.estimate import Readings
from hostctl.metrology.trueness.constant import TieConstant, TieInterval, hull, tie_constant
from hostctl.metrology.trueness.constant import elsewhere as at_another_point
from hostctl.report.sources.material import Block, Material
from hostctl.report.sources.tie_record import Counting, Named, NoTie, Recorded, is_of_tie
from hostctl.report.sources.tied import (
    Check,
    Constant,
    Footing,
    Observed,
    Tied,
    Wanted,
    counted_from,
)

_DIGITS = 9  # of a mm: finer are only what binary fractions add
_STALE_K = 5.0  # where the study names none: config/tie.py
_FEWEST = 2
_NEVER = 2**31
_PRINCIPLE = {"touch": "contact"}  # what a tie goes by, where that is not its own name


@dataclass(frozen=True, slots=True, kw_only=True)
class Gaps:
    """Readings as gaps: blocks, each on one footing, and the ties behind them."""

    blocks: tuple[Block, ...]
    tied: Tied


def as_gaps(
    as_read: Material,
    recorded: Recorded,
    values: Sequence[tuple[int, Readings]],
    rows: Callable[[], Iterable[Counting]],
) -> Material:
    """A run's readings as gaps; of a study of ties alone where each observation had its constant.

    As read, with why, where nothing ties them to the nozzle. values, rows: as in `gaps_of`.
    """
    try:
        if as_read.nobody_set:
            return _ties_alone(as_read, recorded)
        found = gaps_of(as_read.name, recorded, values, rows)
    except NoTie as why:
        note = (
            f"Nothing ties these readings to the nozzle, as {why}: they tell how settings repeat, "
            "not how far off they are."
        )
        return replace(as_read, notes=(note, *as_read.notes))
    return replace(as_read, zero_known=True, blocks=found.blocks, tied=found.tied)


def _ties_alone(as_read: Material, recorded: Recorded) -> Material:
    """The middle of where each observation has the constant, point by point.

    They are rounded twice, by the step and by the graduation, so they are taken as read to the
    coarser of the two. Raises NoTie.
    """
    tied = _wanted(recorded, ())
    constants = _constants(tied)
    beside_mm = as_read.resolution_mm + 2.0 * tied.slack_mm
    finest_mm = min(one.high_mm - one.low_mm for one in tied.observed) - beside_mm
    step_mm = max(as_read.resolution_mm, round(finest_mm, _DIGITS))
    return replace(
        as_read,
        blocks=tuple(
            Block(method="", operator="", point=one.point, values_mm=_middles(one, tied, step_mm))
            for one in constants
        ),
        tied=replace(tied, constants=constants),
        resolution_mm=step_mm,
        resolution_from="the coarser of step and graduation",
    )


def _middles(constant: Constant, tied: Tied, step_mm: float) -> Readings:
    here = (one for one in tied.observed if one.point == constant.point)
    steps = (round(0.5 * (one.low_mm + one.high_mm) / step_mm) for one in here)
    return [round(step * step_mm, _DIGITS) for step in steps]


def gaps_of(
    name: str,
    recorded: Recorded,
    values: Sequence[tuple[int, Readings]],
    rows: Callable[[], Iterable[Counting]],
) -> Gaps:
    """Its settings as deviations from the gap that each method is meant to set.

    name: of the run.  values: of each group of settings, as read.  rows: the same one by one, in
    the order stored; asked for only where a check found that the tie had moved.
    Raises NoTie where nothing makes them gaps.
    """
    tied = _wanted(recorded, tuple(_checks(recorded)))
    constants = _constants(tied)
    footings = _Footings(constants, tied.guides_mm)
    if any(check.moved for check in tied.checks):
        parts = _parted(recorded, tied, footings, rows())
    else:
        parts = {(group, 1, False): found for group, found in values}
    divided = Counter(group for group, _, _ in parts)
    blocks = []
    for (group, part, doubted), found in parts.items():
        of = recorded.groups[group]
        footing = footings.of(of.point, part, doubted=doubted)
        block = _block(of, footing, found, tied.meant_mm(of.method), recorded.sign)
        whole = f"{name}, block {of.block}, round {of.round}" if divided[group] > 1 else ""
        blocks.append(replace(block, part_of=whole))
    return Gaps(blocks=tuple(blocks), tied=replace(tied, constants=constants))


def _wanted(recorded: Recorded, checks: tuple[Check, ...]) -> Tied:
    """What the study wanted of the gap, and what was observed and checked. Raises NoTie."""
    study, tie = recorded.study, recorded.study.get("tie")
    target_mm = study.get("target_mm")
    if not isinstance(tie, Mapping) or not isinstance(target_mm, (int, float)):
        raise NoTie("the study as it was kept names no tie and no gap wanted")
    by = str(tie["by"])
    return Tied(
        by=by,
        target_mm=float(target_mm),
        margin_mm=_number(study.get("on_target_within_mm")),
        wanted={
            str(method["name"]): Wanted(
                meant_mm=float(method.get("meant_mm") or target_mm),
                independent=_is_independent(method.get("goes_by"), by),
            )
            for method in study.get("methods") or ()
        },
        beyond_mm=float(tie["beyond_mm"]),
        guides_mm=_number(tie.get("guides_mm")),
        slack_mm=recorded.slack_mm,
        observed=recorded.observed,
        checks=checks,
        unchecked=recorded.unchecked,
        settings_bed_c=recorded.settings_bed_c,
        stale_k=float(tie.get("stale_k", _STALE_K)),
    )


def _number(found: object) -> float | None:
    return float(found) if isinstance(found, (int, float)) else None


def _is_independent(goes_by: object, by: str) -> bool | None:
    return None if goes_by is None else goes_by != _PRINCIPLE.get(by, by)


def _checks(recorded: Recorded) -> Iterator[Check]:
    for data in recorded.checks:
        row = recorded.first_row(data["block"])
        if row is None:
            continue  # it was done again
        yield Check(
            point=data["point"],
            block=data["block"],
            at_trial=recorded.settings_before(row),
            shift_mm=data["shift_mm"],
            limit_mm=data["limit_mm"],
            moved=data["moved"],
        )


def _constants(tied: Tied) -> tuple[Constant, ...]:
    """At each point that has ties of its own, one for as long as it held. Raises NoTie."""
    points = dict.fromkeys(one.point for one in tied.observed)
    if not points:
        raise NoTie("no tie was made that counts")
    return tuple(found for point in points for found in _at(point, tied))


def _at(point: str, tied: Tied) -> Iterator[Constant]:
    starts = [check.block for check in tied.checks if check.point == point and check.moved]
    here = [one for one in tied.observed if one.point == point]
    for part, (start, end) in enumerate(pairwise((0, *sorted(starts), _NEVER)), start=1):
        mine = [one for one in here if start <= one.block < end]
        if len(mine) < _FEWEST:
            what = f"observations of the tie at {point} that count: {len(mine)}"
            raise NoTie(f"{_FEWEST} are needed ({what})")
        yield _constant(point, part, mine, tied.beyond_mm)


def _constant(point: str, part: int, observed: Sequence[Observed], beyond_mm: float) -> Constant:
    intervals = [TieInterval(one.low_mm, one.high_mm) for one in observed]
    return Constant(
        point=point,
        part=part,
        observed=len(intervals),
        middle_mm=fmean(0.5 * (one.low + one.high) for one in intervals),
        width_mm=fmean(one.high - one.low for one in intervals),
        known=tie_constant(intervals, beyond=beyond_mm),
    )


class _Footings:
    """What readings rest on, by point, part and doubt; those that share a tie share the object."""

    def __init__(self, constants: Sequence[Constant], guides_mm: float | None) -> None:
        self._known = {(one.point, one.part): one.known for one in constants}
        self._first = constants[0].point
        self._guides_mm = guides_mm
        self._found: dict[tuple[str, int, bool], Footing] = {}

    def tie_point(self, point: str) -> str:
        """Where the tie was made that counts at a point."""
        return point if (point, 1) in self._known else self._first

    def of(self, point: str, part: int, *, doubted: bool) -> Footing:
        """Raises NoTie for a point without one, where nothing is allowed for the guides."""
        key = point, part, doubted
        if key not in self._found:
            self._found[key] = Footing(constant=self._constant(*key), doubted=doubted)
        return self._found[key]

    def _constant(self, point: str, part: int, doubted: bool) -> TieConstant:
        of = self.tie_point(point)
        known = self._known[of, part]
        if doubted:
            known = hull(known, self._known[of, part + 1])
        if of == point:
            return known
        if self._guides_mm is None:
            raise NoTie(f"no tie was made at {point}, and nothing is allowed for the guides")
        return at_another_point(known, self._guides_mm)


_Part = tuple[int, int, bool]
"""A group of readings, which part of the time by its tie's moves, and whether they are doubted."""


def _parted(
    recorded: Recorded, tied: Tied, footings: _Footings, rows: Iterable[Counting]
) -> dict[_Part, Readings]:
    """Readings told apart by which tie they rest on."""
    moves: dict[str, list[int]] = {}
    for check in tied.checks:
        row = recorded.first_row(check.block)
        if check.moved and row is not None:
            moves.setdefault(check.point, []).append(row)
    doubted = recorded.doubted
    found: dict[_Part, list[float]] = {}
    for row, group, trial, value_mm in rows:
        of = recorded.groups[group]
        if is_of_tie(of):
            continue
        moved = moves.get(footings.tie_point(of.point), ())
        part = 1 + bisect_left(moved, row)
        key = group, part, part <= len(moved) and (of.block, of.round, trial) in doubted
        found.setdefault(key, []).append(value_mm)
    return dict(sorted(found.items()))


def _block(of: Named, footing: Footing, values: Readings, meant_mm: float, sign: float) -> Block:
    """Gap less the one meant: positive where it is too wide."""
    zero_mm = footing.constant.value - meant_mm
    return Block(
        method=of.method,
        operator=of.operator,
        point=of.point,
        values_mm=counted_from(zero_mm, values, sign),
        footing=footing,
    )
