"""A levelling as its run, or a report of it, has it: readings, decisions and both files' texts."""

import json
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from hostctl.config.grid import level_of, level_points
from hostctl.config.load import machine_from, study_from
from hostctl.config.parts.level import HANGS_MM
from hostctl.config.yaml_text import Source
from hostctl.deeds import SeenFrom
from hostctl.errors import DataError, HostctlError
from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.levelling.plane import Floats, Quantity
from hostctl.report.document.reasons import error_words
from hostctl.report.enclosed.parts import Part, Unfit
from hostctl.report.enclosed.sourced import Sourced
from hostctl.report.kinds.levelling.found.decided import (
    Decided,
    MovedDecided,
    TurnDecided,
    rounds_decided,
)
from hostctl.report.kinds.levelling.found.from_machine import screws_of, travel_of
from hostctl.report.kinds.levelling.found.readings import Read, heights_again
from hostctl.report.kinds.levelling.found.sums import (
    Measured,
    heights_found,
    plane_found,
    rig_of,
    warp_of,
)
from hostctl.report.kinds.levelling.result import (
    LevelResult,
    MovedFound,
    RoundFound,
    TiltFound,
    TurnFound,
    WaitFound,
)
from hostctl.report.kinds.levelling.turn_words import as_seen
from hostctl.store.rows import PLUNGER_SIGN
from hostctl.turns import part_of_a_turn

DECIDED = "decided"
MEAN = "mean"

if TYPE_CHECKING:
    from hostctl.config.machine import Machine
    from hostctl.config.study import Study
    from hostctl.report.enclosed.sourced import Account

_NEXT_STEP = "Read it with the version of hostctl that it was made with."
_ALIKE_MM = 1e-4  # what is decided and what comes now may differ by, as computers do
_DIFFERS = (
    "Worked out again from its readings, the heights of round {} differ from what was decided by "
    "then. What is shown here is what comes now; the turns are those of then."
)
_MOST_TEXT = 200_000  # letters of a file: whoever sends a report chose them


def levelling_of(source: Sourced) -> LevelResult:
    """What the run found, round by round. Raises DataError where no round was judged yet."""
    name, account = source.material.name, source.account
    decided = tuple(rounds_decided(account.events, name)) if account is not None else ()
    if account is None or not decided:
        raise _not_judged(account, name)
    study, machine = _files(account, name)
    try:
        return _result(source, account, decided, study, machine)
    except Unfit as why:
        raise DataError(name, f"what it decided can't be read: {why}", _NEXT_STEP) from why
    except NotEnough as why:
        raise DataError(name, error_words(why), "Level again with other points.") from why


def _not_judged(account: "Account | None", name: str) -> DataError:
    """Why there is nothing to tell: what ended the run, where that is known."""
    ended = _ended_by(account) if account is not None else []
    if not ended:
        return DataError(name, "no round of it was judged yet", "Carry the run on first.")
    what, _, next_step = ended[-1].partition(". ")
    return DataError(name, f"no round of it could be judged. {what}", next_step)


def _ended_by(account: "Account") -> list[str]:
    """Rounds that were measured and could not be judged, each with why."""
    decided = [event for event in account.events if event.kind == DECIDED]
    told = [(event.text, json.loads(event.data)) for event in decided]
    return [text for text, data in told if isinstance(data, dict) and "unmet" in data]


def _files(account: "Account", name: str) -> "tuple[Study, Machine]":
    """As they were kept with the run. Raises DataError."""
    if max(len(account.study_text), len(account.machine_text)) > _MOST_TEXT:
        raise DataError(name, "its study and machine file are too long to be such", _NEXT_STEP)
    try:
        study = study_from(Source("study", account.study_text))
        machine = machine_from(Source("machine", account.machine_text))
    except HostctlError as why:
        what = "its study and machine file can't be read by this version"
        raise DataError(name, what, _NEXT_STEP) from why
    return study, machine


def _result(
    source: Sourced,
    account: "Account",
    decided: Sequence[Decided],
    study: "Study",
    machine: "Machine",
) -> LevelResult:
    level = level_of(study)
    measured = list(heights_again(decided, source, _read(account, study)))
    rounds = tuple(_round(one, of, machine) for one, of in zip(decided, measured, strict=True))
    differs = [one.number for one, of in zip(decided, measured, strict=True) if _differs(one, of)]
    return LevelResult(
        name=source.material.name,
        title=source.material.title,
        machine=account.machine,
        within_mm=level.within_mm if level is not None else None,
        resolution_mm=source.material.resolution_mm,
        repeats=study.trials,
        rounds=rounds,
        warp=warp_of(measured[-1]),
        rig_mm=rig_of(measured[-1]),
        screws=screws_of(machine, _raised(rounds)),
        travel=travel_of(machine),
        kept=decided[-1].kept,
        wait=_wait(account, study),
        complete=account.complete,
        notes=(
            *_ended_by(account),
            *(_DIFFERS.format(one) for one in differs),
            *source.material.notes,
        ),
    )


def _read(account: "Account", study: "Study") -> Read:
    """How its rounds were read: an indicator's number may fall as the plunger is pressed in."""
    by_probe = study.gauge.kind == "probe"
    signs = [event for event in account.events if event.kind == PLUNGER_SIGN]
    falls = bool(signs) and json.loads(signs[-1].data).get("grows_pressed") is False
    return Read(
        points=level_points(study),
        passes=study.trials,
        sign=-1 if falls and not by_probe else 1,
        hangs_mm=None if by_probe else HANGS_MM,
    )


def _wait(account: "Account", study: "Study") -> WaitFound | None:
    """What was decided of the waits for a warm bed, all together; how it came to rest is of the
    last. Raises Unfit for what no run decides.
    """
    waits = list(_waits(account))
    if study.warmth is None or not waits:
        return None
    return WaitFound(
        waited_s=sum(wait.number("waited_s", low=0.0) for wait in waits),
        bed_c=study.warmth.bed_c,
        still=waits[-1].flag("still"),
        drift_mm=waits[-1].number("drift_mm"),
    )


def _waits(account: "Account") -> Iterator[Part]:
    for event in account.events:
        if event.kind == DECIDED:
            told = Part(json.loads(event.data), DECIDED)
            if "still" in told.data:
                yield told.part("still")


def _differs(decided: Decided, of: Measured) -> bool:
    """Whether what was decided then is not what its readings give now."""
    now = {one.point: one.height_mm for one in heights_found(of)}
    return any(abs(now[one.point] - one.height_mm) > _ALIKE_MM for one in decided.heights)


def _round(decided: Decided, of: Measured, machine: "Machine") -> RoundFound:
    return RoundFound(
        number=decided.number,
        at=decided.at,
        heights=heights_found(of),
        plane=plane_found(of),
        tilt=TiltFound(
            value_mm=decided.tilt_mm, low_mm=decided.tilt_low_mm, high_mm=decided.tilt_high_mm
        ),
        verdict=decided.verdict,
        turns=tuple(_turns(decided, of, machine)),
        moved=tuple(map(_moved, decided.moved)),
        noticed=decided.noticed,
    )


def _turns(decided: Decided, of: Measured, machine: "Machine") -> Iterator[TurnFound]:
    places = {one.name: (one.x_mm, one.y_mm) for one in machine.points}
    places |= {one.name: (one.x_mm, one.y_mm) for one in machine.screws}
    kept = _arm(of, places, decided.kept)
    for one in decided.turns:
        told = of.plane.told(kept - _arm(of, places, one.screw))
        yield _turn(one, told.df, machine, cut=not decided.whole)


def _arm(of: Measured, places: Mapping[str, tuple[float, float]], name: str) -> Floats:
    """The plane's height there as a combination of its coefficients. Raises Unfit."""
    if name == MEAN:
        return np.array([1.0, 0.0, 0.0])
    if name not in places:
        raise Unfit(f"no screw or point is called '{name}'")
    return np.asarray(of.plane.arms(*places[name])[0])


def _turn(turn: TurnDecided, df: float, machine: "Machine", *, cut: bool) -> TurnFound:
    from_below = any(one.seen_from == "below" for one in machine.screws if one.name == turn.screw)
    seen_from: SeenFrom = "below" if from_below else "above"
    half_mm = Quantity(value=turn.raise_mm, u=turn.u_mm, df=df).half()
    half_deg = Quantity(value=turn.turn_deg, u=turn.u_deg, df=df).half()
    return TurnFound(
        screw=turn.screw,
        raise_mm=turn.raise_mm,
        u_mm=turn.u_mm,
        df=df,
        low_mm=turn.raise_mm - half_mm,
        high_mm=turn.raise_mm + half_mm,
        turn_deg=turn.turn_deg,
        u_deg=turn.u_deg,
        half_deg=half_deg,
        stays="" if turn.turn_deg > 0 else "hardly any",
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


def _raised(rounds: Sequence[RoundFound]) -> Mapping[str, float] | None:
    """How far turning raised the bed at each screw, by what was measured after it; None where some
    turns were made that no round tells the outcome of."""
    raised_mm: dict[str, float] = defaultdict(float)
    for before, after in pairwise(rounds):
        if any(turn.turn_deg for turn in before.turns) and not after.moved:
            return None
        for moved in after.moved:
            raised_mm[moved.screw] += moved.moved_mm
    return raised_mm
