"""A round judged: its heights, tilt, turns, and what the last turns did."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

from hostctl.config.parts.level import Level
from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.levelling.advice import Advice, Keep, Screw, advise, with_fixed_corner
from hostctl.metrology.levelling.heights import Heights, heights_of
from hostctl.metrology.levelling.outcome import Outcome, outcome
from hostctl.metrology.levelling.plane import plane_of
from hostctl.metrology.levelling.standing import Standing, Verdict, stand
from hostctl.metrology.levelling.twist import twist_of
from hostctl.run.procedures.levelling.made import Turned, made_mm, turned_in
from hostctl.run.procedures.levelling.reach import Reach
from hostctl.run.procedures.levelling.reading import FEWEST_POINTS, Read, read_of
from hostctl.run.procedures.levelling.rounds import Rounds
from hostctl.run.procedures.levelling.turns import Turn, asked_alone, levelled, turns_of
from hostctl.run.procedures.procedure import SoFar

if TYPE_CHECKING:
    from hostctl.config.machine import BedScrew, Point

LEAST_RAISE_MM = 0.02
"""What is left of `raise_mm`, or strains a plate, below this is let be (choice ours)."""
TWO = 2
"""So few screws carry a bed on a corner that is fixed."""
_FINE = (Verdict.WITHIN_TOLERANCE, Verdict.WITHIN_RIG)
Place: TypeAlias = "Point | BedScrew"
Floats: TypeAlias = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """One round. verdict: as the heights have it, but for what only the run knows.

    largest_mm: no screw may move the bed by more, so that none can be turned into harm.  left_mm:
    what is still wanted of raising the whole bed.  turned: whether all its turns were made, with
    nothing between them and the next round.  asked: the turns that were made before it so.
    turns: of the rounds before it.  made_mm: by how much they have raised each support.
    strain_mm: what of that lies on no plane.
    """

    number: int
    read: Read
    heights: Heights
    advice: Advice
    outcome: Outcome | None
    standing: Standing
    verdict: Verdict
    largest_mm: float
    left_mm: float
    turned: bool
    asked: tuple[Turn, ...]
    turns: tuple[Turned, ...]
    made_mm: Floats
    strain_mm: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Judging:
    """Judges the rounds of one levelling. screws: those that it turns. points: where it reads."""

    level: Level
    screws: "Sequence[BedScrew]"
    points: "Mapping[str, Point]"
    places: "Mapping[str, Place]"
    rounds: Rounds
    reach: Reach

    def judged(self, number: int, so_far: SoFar) -> Iterator[Judged]:
        """Every round up to this one, each in the light of those before it.

        Raises NotEnough where too few points were met.
        """
        before: Judged | None = None
        for each in range(1, number + 1):
            before = self._judge(each, before, so_far)
            yield before

    def _judge(self, number: int, before: Judged | None, so_far: SoFar) -> Judged:
        read = read_of(number, self.rounds, self.reach, so_far)
        heights = self._heights(read, before)
        largest_mm = self._largest_mm(heights)
        turns = self._turns_before(before, so_far)
        made = made_mm(turns, heights, self.supports)
        strain_mm = self._strain_mm(heights, made)
        left_mm = self._raise_left_mm(before, heights, made)
        advice = asked_alone(
            advise(
                heights,
                self._with_travel(made),
                keep=self._keep(),
                raise_mm=left_mm,
                undo_mm=-strain_mm,
                largest_mm=max(largest_mm, 0.0),
            )
        )
        same = before is not None and before.read.names == read.names
        did = self._outcome(before, read, heights) if before and before.turned else None
        standing = stand(
            heights,
            advice,
            within_mm=self.level.within_mm,
            before=before.standing if before and same and did else None,
            outcome=did,
        )
        verdict = _verdict(standing, advice, did, max(abs(left_mm), *np.abs(strain_mm)))
        return Judged(
            number=number,
            read=read,
            heights=heights,
            advice=advice,
            outcome=did,
            standing=standing,
            verdict=_where_met(read, verdict),
            largest_mm=largest_mm,
            left_mm=left_mm,
            turned=self._was_turned(number, so_far),
            asked=self._asked_before(before, so_far) if did else (),
            turns=turns,
            made_mm=made,
            strain_mm=strain_mm,
        )

    def _heights(self, read: Read, before: Judged | None) -> Heights:
        if not read.enough:
            raise NotEnough(Reason(Why.TOO_FEW_POINTS, given=len(read.names)))
        sound = before is not None and before.heights.jump is None
        return heights_of(
            read.names,
            [self.points[name].x_mm for name in read.names],
            [self.points[name].y_mm for name in read.names],
            read.passes,
            closing=read.closing_mm,
            resolution_mm=read.resolution_mm,
            known=before.heights.scatter if before and sound else None,
        )

    def _outcome(self, before: Judged, read: Read, heights: Heights) -> Outcome | None:
        """What its turns did; by fewer points only that all went the other way."""
        if before.read.names == read.names:
            return outcome(before.heights, before.advice, heights)
        both = [name for name in before.read.names if name in read.names]
        try:
            first = self._heights(before.read.over(both), before)
            then = self._heights(read.over(both), before)
            did = outcome(first, replace(before.advice, plane=plane_of(first)), then)
        except NotEnough:
            return None
        is_back = did.all_other_way or _moved_back(did)
        return replace(did, all_other_way=True, jumped=False) if is_back else None

    def _largest_mm(self, heights: Heights) -> float:
        """How far each screw may move the bed: all of them the wrong way, where it reaches most,
        under the gauge and under the nozzle beside it."""
        over_x = np.append(heights.x_mm, heights.x_mm - self.reach.gauge_x_mm)
        over_y = np.append(heights.y_mm, heights.y_mm - self.reach.gauge_y_mm)
        plane = plane_of(heights)
        arms = plane.arms(over_x, over_y)
        by_screws = np.linalg.pinv(self._arms(heights))[:, : len(self.screws)]
        reaches = max(float(np.abs(arms @ by_screws).sum(axis=1).max()), 1.0)
        over_plane = heights.height_mm - arms[: len(heights.names)] @ plane.coefficients
        highest_mm = float((arms @ plane.coefficients).max() + over_plane.max())
        return (self.reach.highest_mm - highest_mm) / reaches

    @property
    def supports(self) -> "list[Place]":
        """What carries the plate: the screws, and with two of them the corner that is kept."""
        two = len(self.screws) == TWO and self.level.keep is not None
        fixed = [self.places[self.level.keep]] if two and self.level.keep else []
        return [*self.screws, *fixed]

    def _with_travel(self, made: Floats) -> list[Screw]:
        """The screws, with what turning has left of their travel, and a fixed corner."""
        turned = zip(self.screws, made.tolist(), strict=False)
        screws = [_screw(screw, by_mm) for screw, by_mm in turned]
        return with_fixed_corner(screws, self._keep(), self.level.keep or "")

    def _keep(self) -> Keep:
        if self.level.keep is None:
            return "mean"
        place = self.places[self.level.keep]
        return place.x_mm, place.y_mm

    # ------------------------------------------------------------ what earlier rounds did

    def _was_turned(self, number: int, so_far: SoFar) -> bool:
        told = levelled(so_far.decisions)
        if len(told) < number or told[number - 1].data["verdict"] != Verdict.TURN:
            return False
        turns = len(turns_of(told[number - 1]))
        return self.rounds.is_turned(number, turns, so_far)

    def _asked_before(self, before: Judged | None, so_far: SoFar) -> tuple[Turn, ...]:
        told = levelled(so_far.decisions)
        return tuple(turns_of(told[before.number - 1])) if before else ()

    def _turns_before(self, before: Judged | None, so_far: SoFar) -> tuple[Turned, ...]:
        """Of all rounds before, one each."""
        if before is None:
            return ()
        number, heights = before.number, before.heights
        last = turned_in(number, heights, self.supports, self.rounds, so_far)
        return (*before.turns, last)

    def _strain_mm(self, heights: Heights, made: Floats) -> Floats:
        """What of these raises lies on no plane, where it is worth a turn."""
        strain_mm = twist_of(self._arms(heights), made)
        return strain_mm if np.abs(strain_mm).max() >= LEAST_RAISE_MM else np.zeros(len(made))

    def _arms(self, heights: Heights) -> Floats:
        """Of the plane, where it is carried."""
        xs, ys = [one.x_mm for one in self.supports], [one.y_mm for one in self.supports]
        return plane_of(heights).arms(xs, ys)

    def _raise_left_mm(self, before: Judged | None, heights: Heights, made: Floats) -> float:
        """What is still wanted of raising the whole bed; turns broken off raised it too."""
        if before is None:
            return self.level.raise_mm
        if before.turned:
            return before.left_mm * (1.0 - before.advice.share)
        keep = self._keep()
        kept = np.array([1.0, 0.0, 0.0]) if keep == "mean" else plane_of(heights).arms(*keep)[0]
        last_mm = made - before.made_mm
        return before.left_mm - float(kept @ np.linalg.pinv(self._arms(heights)) @ last_mm)


def _screw(screw: "BedScrew", moved_mm: float) -> Screw:
    up, down = screw.can_raise_mm, screw.can_lower_mm
    return Screw(
        name=screw.name,
        x_mm=screw.x_mm,
        y_mm=screw.y_mm,
        pitch_mm=screw.pitch_mm,
        can_raise_mm=math.inf if up is None else max(up - moved_mm, 0.0),
        can_lower_mm=math.inf if down is None else max(down + moved_mm, 0.0),
    )


def _verdict(standing: Standing, advice: Advice, did: Outcome | None, besides_mm: float) -> Verdict:
    """As it stands; but the whole bed may be wanted higher, or not be turned safely at all.

    besides_mm: the most that a screw is to be turned for other than levelling.
    """
    verdict = standing.verdict
    if verdict is Verdict.TURN and _all_other_way(did):
        return Verdict.NO_BETTER
    if verdict in _FINE and besides_mm >= LEAST_RAISE_MM and advice.reachable:
        verdict = Verdict.TURN
    turned = any(turn.turn_deg for turn in advice.turns)
    if verdict is Verdict.WITHIN_RIG or (verdict is Verdict.TURN and not turned):
        return Verdict.OUT_OF_TRAVEL if _is_held_back(standing, advice) else Verdict.WITHIN_RIG
    return verdict


def _where_met(read: Read, verdict: Verdict) -> Verdict:
    """A bed is not called level that was not met everywhere: a soft plate may hang down there."""
    return Verdict.NO_BETTER if read.unmet and verdict in _FINE else verdict


def _moved_back(did: Outcome) -> bool:
    """Whether the bed moved the other way at all screws, by a quarter at least: a soft plate, met
    at fewer points, moves otherwise than a stiff one."""
    turned = [one for one in did.moved if one.expected_mm]
    back = [-one.moved_mm / one.expected_mm >= 0.25 for one in turned]
    return len(back) >= FEWEST_POINTS and all(back)


def _all_other_way(did: Outcome | None) -> bool:
    return did is not None and did.all_other_way


def _is_held_back(standing: Standing, advice: Advice) -> bool:
    """Whether there is a tilt to mend, but next to nothing of it may be turned safely."""
    tilt = standing.tilt
    return not advice.whole and tilt.low_mm > 0 and advice.error_mm < tilt.value_mm
