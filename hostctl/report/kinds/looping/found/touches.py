"""A loop's touches as columns: where, when, how warm, and what interrupts them."""

from bisect import bisect_right
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from hostctl.config.parts.loop import Loop
from hostctl.errors import DataError
from hostctl.metrology.basis.centred import Array
from hostctl.report.enclosed.sourced import COUNTS, Account, Rows
from hostctl.store.rows import HOLD_LIFTED, HOMED, RESUMED, NewEvent

Places: TypeAlias = npt.NDArray[np.intp]
SIDES = ("", "left", "right")


@dataclass(frozen=True, slots=True, kw_only=True)
class Touches:
    """Those that count, in order of time; an item for each in every column.

    point: which of `points`.  side: which of SIDES.  spot: a number for each point and side.
    level: one for each spot, homing, stretch and phase of heat: such touches can be held against
    each other.  homing, halt: how often the axes had homed and the run had stood still before.
    began_s: when the first touch was, since 1970; at_s: since then.
    off_mm: less the mean of its spot.  bed_c, nozzle_c: nan where the machine did not say.
    """

    resolution_mm: float
    began_s: float
    points: tuple[str, ...]
    value_mm: Array
    off_mm: Array
    at_s: Array
    bed_c: Array
    nozzle_c: Array
    point: Places
    side: Places
    trial: Places
    warm: Places
    spot: Places
    level: Places
    homing: Places
    halt: Places

    def __len__(self) -> int:
        return int(self.value_mm.size)

    @property
    def stretch(self) -> Places:
        """A number from 0 for touches between which it neither homed nor stood still."""
        return _numbered(self.homing, self.halt)

    @property
    def spot_of_stretch(self) -> Places:
        """A number for each spot in each stretch."""
        return _numbered(self.spot, self.homing, self.halt)


def touches_of(rows: Rows, account: Account, resolution_mm: float, loop: Loop) -> Touches:
    """Raises DataError where no touch counts, or their times are not known."""
    taken_ms, bed_c, nozzle_c = rows.taken_at_ms, rows.bed_c, rows.nozzle_c
    if taken_ms is None or bed_c is None or nozzle_c is None:
        raise DataError(account.title, "its touches have no times", "Name a run on record.")
    keep = np.flatnonzero((np.asarray(rows.void) == COUNTS) & (np.asarray(rows.is_zero) == 0))
    if not keep.size:
        raise DataError(account.title, "no touch of it counts", "Let it touch again.")
    keep = keep[np.argsort(np.asarray(taken_ms)[keep], kind="stable")]
    group = np.asarray(rows.group)[keep]
    points = tuple(dict.fromkeys(one.point for one in rows.groups))
    trial = np.asarray(rows.trial)[keep].astype(np.intp)
    value_mm = np.asarray(rows.value_mm)[keep]
    at_ms = np.asarray(taken_ms)[keep]
    point = np.asarray([points.index(one.point) for one in rows.groups])[group]
    begun = np.asarray([one.round for one in rows.groups])[group]
    side = np.asarray([SIDES.index(loop.side(int(one)) or "") for one in trial])
    warm = np.asarray([_phase(loop, int(one)) for one in trial])
    homing = _before(account.events, {HOMED}, at_ms)
    halt = _before(account.events, {HOLD_LIFTED, RESUMED}, at_ms)
    spot = _numbered(point, side)
    homings = homing if loop.home_every != 1 else np.zeros_like(homing)
    return Touches(
        resolution_mm=resolution_mm,
        began_s=float(at_ms[0]) / 1000.0,
        points=points,
        value_mm=value_mm,
        off_mm=value_mm - means(value_mm, spot)[spot],
        at_s=(at_ms - at_ms[0]) / 1000.0,
        bed_c=np.asarray(bed_c)[keep],
        nozzle_c=np.asarray(nozzle_c)[keep],
        point=point,
        side=side,
        trial=trial,
        warm=warm,
        spot=spot,
        level=_numbered(spot, begun, homings, halt, _phases(warm)),
        homing=homing,
        halt=halt,
    )


def since(touches: Touches, at_s: float) -> Touches:
    """Those from a time on, counted from the means of what is left."""
    at = np.flatnonzero(touches.at_s >= at_s)
    value_mm, spot = touches.value_mm[at], _numbered(touches.spot[at])
    return Touches(
        resolution_mm=touches.resolution_mm,
        began_s=touches.began_s,
        points=touches.points,
        value_mm=value_mm,
        off_mm=value_mm - means(value_mm, spot)[spot],
        at_s=touches.at_s[at],
        bed_c=touches.bed_c[at],
        nozzle_c=touches.nozzle_c[at],
        point=touches.point[at],
        side=touches.side[at],
        trial=touches.trial[at],
        warm=touches.warm[at],
        spot=spot,
        level=_numbered(touches.level[at]),
        homing=touches.homing[at],
        halt=touches.halt[at],
    )


def means(values: Array, of: Places) -> Array:
    """The mean of each group that `of` numbers from 0."""
    start = values[0]
    return np.asarray(start + np.bincount(of, values - start) / np.bincount(of))


def groups(of: Places) -> list[Places]:
    """The places of each group, in order."""
    order = np.argsort(of, kind="stable")
    return np.split(order, np.flatnonzero(np.diff(of[order])) + 1)


def _phase(loop: Loop, trial: int) -> int:
    return int(loop.heat.is_warm(trial)) if loop.heat is not None else 0


def _phases(warm: Places) -> Places:
    """Which phase of heat each is in, from 0."""
    return np.concatenate([[0], np.cumsum(np.diff(warm) != 0)]).astype(np.intp)


def _numbered(*columns: Places) -> Places:
    """A number from 0 for each set of values that stand beside each other."""
    _, found = np.unique(np.stack(columns, axis=1), axis=0, return_inverse=True)
    return np.asarray(found).reshape(-1).astype(np.intp)


def _before(events: Sequence[NewEvent], kinds: Collection[str], at_ms: npt.ArrayLike) -> Places:
    happened = sorted(event.at.timestamp() * 1000.0 for event in events if event.kind in kinds)
    counts = [bisect_right(happened, one) for one in np.asarray(at_ms).tolist()]
    return np.asarray(counts, dtype=np.intp)
