"""A levelling as its run, or a report of it, has it: readings, decisions and both files' texts."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from hostctl.config.grid import level_of
from hostctl.config.load import machine_from, study_from
from hostctl.config.yaml_text import Source
from hostctl.deeds import SeenFrom
from hostctl.errors import DataError, HostctlError
from hostctl.metrology.basis.estimate import NotEnough
from hostctl.report.document.reasons import error_words
from hostctl.report.enclosed.sourced import COUNTS, Rows, Sourced
from hostctl.report.kinds.levelling.decided import (
    Decided,
    MovedDecided,
    TurnDecided,
    rounds_decided,
)
from hostctl.report.kinds.levelling.from_machine import screws_of, travel_of
from hostctl.report.kinds.levelling.result import (
    HeightFound,
    LevelResult,
    MovedFound,
    RoundFound,
    TiltFound,
    TurnFound,
)
from hostctl.report.kinds.levelling.sums import Heights, plane_found, spread_of, warp_of
from hostctl.report.kinds.levelling.turn_words import as_seen, part_of_a_turn

if TYPE_CHECKING:
    from hostctl.config.machine import Machine
    from hostctl.config.study import Study
    from hostctl.report.enclosed.sourced import Account

_MOST_TEXT = 200_000  # letters of a file: whoever sends a report chose them


def levelling_of(source: Sourced) -> LevelResult:
    """What the run found, round by round. Raises DataError where no round was judged yet."""
    name, account = source.material.name, source.account
    decided = tuple(rounds_decided(account.events, name)) if account is not None else ()
    if account is None or not decided:
        raise DataError(name, "no round of it was judged yet", "Carry the run on first.")
    study, machine = _files(account, name)
    try:
        return _result(source, account, decided, study, machine)
    except NotEnough as why:
        raise DataError(name, error_words(why), "Level again with other points.") from why


def _files(account: "Account", name: str) -> "tuple[Study, Machine]":
    """As they were kept with the run. Raises DataError."""
    next_step = "Read it with the version of hostctl that it was made with."
    if max(len(account.study_text), len(account.machine_text)) > _MOST_TEXT:
        raise DataError(name, "its study and machine file are too long to be such", next_step)
    try:
        study = study_from(Source("study", account.study_text))
        machine = machine_from(Source("machine", account.machine_text))
    except HostctlError as why:
        what = "its study and machine file can't be read by this version"
        raise DataError(name, what, next_step) from why
    return study, machine


def _result(
    source: Sourced,
    account: "Account",
    decided: Sequence[Decided],
    study: "Study",
    machine: "Machine",
) -> LevelResult:
    level = level_of(study)
    readings = [_readings_of(source.rows, one.number) for one in decided]
    resolution_mm = source.material.resolution_mm
    measured = [
        _heights(one, again, resolution_mm) for one, again in zip(decided, readings, strict=True)
    ]
    rounds = tuple(
        _round(one, heights, sum(map(len, again.values())), machine)
        for one, heights, again in zip(decided, measured, readings, strict=True)
    )
    last = rounds[-1].tilt
    return LevelResult(
        name=source.material.name,
        title=source.material.title,
        machine=account.machine,
        within_mm=level.within_mm if level is not None else None,
        resolution_mm=resolution_mm,
        repeats=study.trials,
        rounds=rounds,
        warp=warp_of(measured[-1]),
        rig_mm=last.high_mm - last.value_mm if last.high_mm is not None else None,
        screws=screws_of(machine, _raised(rounds)),
        travel=travel_of(machine),
        kept=decided[-1].kept,
        wait=None,
        complete=account.complete,
        notes=source.material.notes,
    )


def _readings_of(rows: Rows, number: int) -> Mapping[str, list[float]]:
    """Of each point, what counts of a round: the last time that its block was begun."""
    block = 2 * number - 1
    begun = max((group.round for group in rows.groups if group.block == block), default=0)
    found: dict[str, list[float]] = defaultdict(list)
    for at, void, value_mm in zip(rows.group, rows.void, rows.value_mm, strict=True):
        group = rows.groups[at]
        if void == COUNTS and (group.block, group.round) == (block, begun):
            found[group.point].append(value_mm)
    return found


def _heights(
    decided: Decided, again: Mapping[str, Sequence[float]], resolution_mm: float
) -> Heights:
    return Heights(
        points=tuple(one.point for one in decided.heights),
        x_mm=tuple(one.x_mm for one in decided.heights),
        y_mm=tuple(one.y_mm for one in decided.heights),
        z_mm=tuple(one.height_mm for one in decided.heights),
        spread=spread_of(list(again.values()), resolution_mm),
    )


def _round(decided: Decided, heights: Heights, readings: int, machine: "Machine") -> RoundFound:
    plane = heights.plane()
    return RoundFound(
        number=decided.number,
        at=decided.at,
        readings=readings,
        heights=tuple(
            HeightFound(
                point=one.point,
                x_mm=one.x_mm,
                y_mm=one.y_mm,
                height_mm=one.height_mm,
                u_mm=one.u_mm,
                off_plane_mm=float(off),
            )
            for one, off in zip(decided.heights, plane.residuals, strict=True)
        ),
        plane=plane_found(plane),
        tilt=TiltFound(
            value_mm=decided.tilt_mm, low_mm=decided.tilt_low_mm, high_mm=decided.tilt_high_mm
        ),
        verdict=decided.verdict,
        turns=tuple(_turns(decided, machine)),
        moved=tuple(map(_moved, decided.moved)),
        noticed=decided.noticed,
    )


def _turns(decided: Decided, machine: "Machine") -> Iterator[TurnFound]:
    for one in decided.turns:
        yield _turn(one, machine, cut=not decided.whole)


def _turn(turn: TurnDecided, machine: "Machine", *, cut: bool) -> TurnFound:
    from_below = any(one.seen_from == "below" for one in machine.screws if one.name == turn.screw)
    seen_from: SeenFrom = "below" if from_below else "above"
    return TurnFound(
        screw=turn.screw,
        raise_mm=turn.raise_mm,
        u_mm=turn.u_mm,
        turn_deg=turn.turn_deg,
        u_deg=turn.u_deg,
        part=part_of_a_turn(turn.turn_deg),
        direction=as_seen(turn.direction, seen_from),
        seen_from=seen_from,
        cut=cut,
    )


def _moved(moved: MovedDecided) -> MovedFound:
    return MovedFound(
        screw=moved.screw,
        expected_mm=moved.expected_mm,
        moved_mm=moved.moved_mm,
        u_mm=moved.u_mm,
        noticed=moved.noticed,
    )


def _raised(rounds: Sequence[RoundFound]) -> Mapping[str, float]:
    """How far turning raised the bed at each screw, by what was measured after it."""
    raised_mm: dict[str, float] = defaultdict(float)
    for one in rounds:
        for moved in one.moved:
            raised_mm[moved.screw] += moved.moved_mm
    return raised_mm
