"""A levelling of heights that somebody measured: one round, judged and advised."""

from collections.abc import Iterator
from math import inf
from pathlib import Path
from typing import TYPE_CHECKING

from hostctl.deeds import Direction, part_of_a_turn
from hostctl.errors import DataError
from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.levelling.advice import Advice, Keep, Screw, Turn, advise, with_fixed_corner
from hostctl.metrology.levelling.standing import stand
from hostctl.report.document.reasons import error_words
from hostctl.report.kinds.levelling.found.from_machine import screws_of, travel_of
from hostctl.report.kinds.levelling.found.heights_file import heights_in
from hostctl.report.kinds.levelling.found.sums import (
    Measured,
    heights_found,
    measured_once_or_more,
    plane_found,
    rig_of,
    tilt_found,
    warp_of,
)
from hostctl.report.kinds.levelling.result import (
    LevelResult,
    RoundFound,
    Stays,
    TurnFound,
    Verdict,
)
from hostctl.report.kinds.levelling.turn_words import as_seen, other_way

if TYPE_CHECKING:
    from hostctl.config.machine import BedScrew, Machine

MEAN = "mean"


def levelling_of_table(
    path: Path,
    machine: "Machine | None" = None,
    *,
    within_mm: float | None = None,
    keep: str | None = None,
    raise_mm: float = 0.0,
) -> LevelResult:
    """Heights from a table with columns x_mm, y_mm and height_mm (other units may be named).

    machine: whose screws are turned; None: only judged.  within_mm: good enough.  keep: a screw or
    a point that stays as high as it is; None: the mean height.  raise_mm: the whole bed besides.
    Raises DataError.
    """
    table = heights_in(path)
    try:
        of = measured_once_or_more(
            table.points, table.x_mm, table.y_mm, table.again, table.resolution_mm
        )
        place = _kept(path, of, machine, keep)
        advice = _advised(of, machine, place, raise_mm)
        one = _round(of, machine, advice, within_mm)
        return LevelResult(
            name=path.name,
            title=path.name,
            machine=machine.machine if machine is not None else None,
            within_mm=within_mm,
            resolution_mm=table.resolution_mm,
            repeats=min(map(len, table.again)),
            rounds=(one,),
            warp=warp_of(of),
            rig_mm=rig_of(of),
            screws=screws_of(machine, {}) if machine is not None else (),
            travel=travel_of(machine) if machine is not None else None,
            kept=keep or MEAN,
            wait=None,
            complete=True,
            notes=(),
        )
    except NotEnough as why:
        raise DataError(str(path), error_words(why), "Measure more points.") from why


def _kept(path: Path, of: Measured, machine: "Machine | None", keep: str | None) -> Keep:
    """Where it is that stays. Raises DataError for a name that nothing has."""
    screws = machine.screws if machine is not None else []
    if keep is None and len(screws) == 2:
        what = "two screws level a bed only about a corner that is fixed"
        raise DataError(str(path), what, "Name it as what stays as it is (--keep).")
    if keep is None:
        return "mean"
    places = {one.name: (one.x_mm, one.y_mm) for one in screws}
    heights = of.heights
    for name, x_mm, y_mm in zip(heights.names, heights.x_mm, heights.y_mm, strict=True):
        places.setdefault(name, (float(x_mm), float(y_mm)))
    if keep not in places:
        what = f"no screw or point is called '{keep}'"
        raise DataError(str(path), what, f"There are: {', '.join(places)[:200]}.")
    return places[keep]


def _advised(of: Measured, machine: "Machine | None", keep: Keep, raise_mm: float) -> Advice | None:
    if machine is None or not machine.screws:
        return None
    screws = [
        Screw(
            name=one.name,
            x_mm=one.x_mm,
            y_mm=one.y_mm,
            pitch_mm=one.pitch_mm,
            can_raise_mm=inf if one.can_raise_mm is None else one.can_raise_mm,
            can_lower_mm=inf if one.can_lower_mm is None else one.can_lower_mm,
        )
        for one in machine.screws
    ]
    return advise(of.heights, with_fixed_corner(screws, keep), keep=keep, raise_mm=raise_mm)


def _round(
    of: Measured, machine: "Machine | None", advice: Advice | None, within_mm: float | None
) -> RoundFound:
    turns = () if advice is None or machine is None else tuple(_turns(of, machine, advice))
    return RoundFound(
        number=1,
        at=None,
        heights=heights_found(of),
        plane=plane_found(of),
        tilt=tilt_found(of, advice),
        verdict=_verdict(of, advice, within_mm),
        turns=turns,
        moved=(),
        noticed=(),
    )


def _verdict(of: Measured, advice: Advice | None, within_mm: float | None) -> Verdict:
    """As of a run's round; without screws only whether it is level enough."""
    if advice is None:
        high_mm = tilt_found(of, None).high_mm
        good = within_mm is not None and high_mm is not None and high_mm <= within_mm
        return "within-tolerance" if good else "turn"
    found = stand(of.heights, advice, within_mm=within_mm or 0.0)
    return found.verdict.value


def _turns(of: Measured, machine: "Machine", advice: Advice) -> Iterator[TurnFound]:
    for screw, turn in zip(machine.screws, advice.turns, strict=False):
        turn_deg = abs(turn.turn_deg)
        yield TurnFound(
            screw=screw.name,
            raise_mm=turn.raise_mm,
            u_mm=turn.u_mm if of.has_doubt else None,
            df=turn.df if of.has_doubt else None,
            low_mm=turn.low_mm if of.has_doubt else None,
            high_mm=turn.high_mm if of.has_doubt else None,
            turn_deg=turn_deg,
            u_deg=turn.u_deg if of.has_doubt else None,
            half_deg=turn.half_deg if of.has_doubt else None,
            stays=_stays(of, turn),
            part=part_of_a_turn(turn_deg),
            direction=as_seen(_way(screw, turn.raise_mm), screw.seen_from.value),
            seen_from=screw.seen_from.value,
            cut=not advice.whole,
        )


def _stays(of: Measured, turn: Turn) -> Stays:
    if round(abs(turn.turn_deg)) == 0:
        return "hardly any"
    if of.has_doubt and turn.low_mm <= 0.0 <= turn.high_mm:
        return "can't be told from none"
    return ""


def _way(screw: "BedScrew", raise_mm: float) -> Direction:
    """Seen from above."""
    raises: Direction = screw.raises_bed.value
    return raises if raise_mm >= 0 else other_way(raises)
