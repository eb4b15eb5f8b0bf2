"""An axis' figures out of the positions it reached."""

from collections.abc import Sequence
from dataclasses import dataclass

from hostctl.metrology.basis.estimate import Estimate, Interval
from hostctl.metrology.geometry.axis import AxisReport, Direction, judge_axis
from hostctl.metrology.geometry.axis_limits import AxisLimits, axis_limits
from hostctl.metrology.geometry.axis_oddities import moves_less
from hostctl.report.kinds.axis.found.oddities import far_found, together_found
from hostctl.report.kinds.axis.result import (
    AccuracyFound,
    AxisResult,
    FigureFound,
    SideFound,
    SpreadFound,
    TargetFound,
)

Reached = Sequence[Sequence[float]]
"""Positions in mm, one row a target, one entry a run."""

_FINE = 9  # decimals: readings are decimal, and differences of them are put on their grid again


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What is known of the source beside its positions; as in `AxisResult`."""

    name: str
    title: str
    machine: str | None
    point: str | None
    relative: bool
    calibrated_u_mm: float | None
    left_out: int
    complete: bool
    notes: tuple[str, ...]


def axis_result(
    told: Told, targets_mm: Sequence[float], up: Reached, down: Reached, resolution_mm: float
) -> AxisResult:
    """up, down: reached from below and from above; one of them may be empty.

    Raises NotEnough for fewer than 2 targets or runs, or rows of different lengths.
    """
    report = judge_axis(targets_mm, up or down, down if up and down else None)
    rising, falling = (report.up, report.down) if up else (None, report.up)
    off_up, off_down = _deviations(targets_mm, up), _deviations(targets_mm, down)
    limits = axis_limits(off_up, off_down, resolution=resolution_mm)
    start_mm = _start(rising, falling) if told.relative else 0.0
    both = report.both
    return AxisResult(
        name=told.name,
        title=told.title,
        machine=told.machine,
        point=told.point,
        resolution_mm=resolution_mm,
        relative=told.relative,
        runs=report.up.runs,
        left_out=told.left_out,
        targets=tuple(
            _target(at, target_mm, (up, down), (rising, falling), report, limits, start_mm)
            for at, target_mm in enumerate(targets_mm)
        ),
        repeatability_up=_one_way(rising, limits.repeatability_up),
        repeatability_down=_one_way(falling, limits.repeatability_down),
        repeatability=_figure(both.repeatability if both else None, limits.repeatability),
        reversal=_figure(both.reversal if both else None, limits.reversal),
        mean_reversal_mm=both.mean_reversal if both else None,
        spread=_spread(limits),
        far=far_found(targets_mm, off_up, off_down, resolution_mm),
        together=together_found(off_up, off_down, resolution_mm),
        moved_less_mm=moves_less(off_up, off_down, resolution_mm) if told.machine else None,
        accuracy=_accuracy(report, rising, falling, told.calibrated_u_mm),
        complete=told.complete,
        notes=told.notes,
    )


def _spread(limits: AxisLimits) -> SpreadFound:
    quoted = limits.spread.quoted
    value_mm = quoted.value if isinstance(quoted, Estimate) else None
    return SpreadFound(value_mm=value_mm, interval=limits.spread.interval)


def _deviations(targets_mm: Sequence[float], reached: Reached) -> list[list[float]]:
    return [
        [round(one - target_mm, _FINE) for one in row]
        for target_mm, row in zip(targets_mm, reached, strict=False)
    ]


def _start(rising: Direction | None, falling: Direction | None) -> float:
    """The mean deviation at the first target, of both sides alike."""
    means = [side.means[0] for side in (rising, falling) if side is not None]
    return sum(means) / len(means)


def _target(
    at: int,
    target_mm: float,
    reached: tuple[Reached, Reached],
    sides: tuple[Direction | None, Direction | None],
    report: AxisReport,
    limits: AxisLimits,
    start_mm: float,
) -> TargetFound:
    both = report.both
    up, down = (
        _side(at, target_mm, rows, side, sds, start_mm)
        for rows, side, sds in zip(reached, sides, (limits.sds_up, limits.sds_down), strict=True)
    )
    return TargetFound(
        number=at + 1,
        target_mm=target_mm,
        up=up,
        down=down,
        mean_mm=both.means[at] - start_mm if both else None,
        reversal_mm=both.reversals[at] if both else None,
        reversal_interval=limits.reversals[at] if both else None,
        repeatability_mm=both.repeatabilities[at] if both else None,
    )


def _side(
    at: int,
    target_mm: float,
    reached: Reached,
    side: Direction | None,
    sds: Sequence[Interval],
    start_mm: float,
) -> SideFound | None:
    if side is None:
        return None
    mean_mm, sd_mm = side.means[at] - start_mm, side.sds[at]
    return SideFound(
        deviations_mm=tuple(one - target_mm - start_mm for one in reached[at]),
        mean_mm=mean_mm,
        sd_mm=sd_mm,
        limits_mm=(mean_mm - 2 * sd_mm, mean_mm + 2 * sd_mm),
        sd_interval=sds[at],
    )


def _one_way(side: Direction | None, interval: Interval | None) -> FigureFound | None:
    return _figure(side.repeatability if side else None, interval)


def _figure(value_mm: float | None, interval: Interval | None) -> FigureFound | None:
    if value_mm is None or interval is None:
        return None
    return FigureFound(value_mm=value_mm, interval=interval)


def _accuracy(
    report: AxisReport, rising: Direction | None, falling: Direction | None, u_mm: float | None
) -> AccuracyFound | None:
    if u_mm is None:
        return None
    both = report.both
    return AccuracyFound(
        u_mm=u_mm,
        systematic_up_mm=rising.systematic if rising else None,
        systematic_down_mm=falling.systematic if falling else None,
        systematic_mm=both.systematic if both else None,
        mean_deviation_mm=both.mean_deviation if both else None,
        accuracy_up_mm=rising.accuracy if rising else None,
        accuracy_down_mm=falling.accuracy if falling else None,
        accuracy_mm=both.accuracy if both else None,
    )
