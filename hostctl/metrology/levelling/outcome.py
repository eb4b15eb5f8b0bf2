"""What turning did: the bed's movement between two rounds beside the advice.

A screw on its own is told by how the plane moved, on a plate taken as stiff (a soft one bends
besides, which is let be). Each likely mistake predicts a movement; the one that fits best is named
where the advised movement doesn't fit. Homing moves all heights alike from round to round, so that
a common shift alone says little unless it is large.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from itertools import permutations, product
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from hostctl.metrology.basis.distributions import f_quantile
from hostctl.metrology.levelling.advice import Advice, Screw
from hostctl.metrology.levelling.heights import Heights
from hostctl.metrology.levelling.plane import Part, doubt, plane_of
from hostctl.metrology.levelling.plate import pattern_jumped

Floats: TypeAlias = NDArray[np.float64]

_FALSE_ALARMS = 0.01  # of rounds turned as advised
_EACH_SCREW = 4.0  # what a mistake more has to gain in chi-square
_SHIFT = 3.0  # what a common shift has to gain
_FREE = 6.0  # what a mistake of any size has to gain
_LEFT = 12.0  # chi-square at most left by what is named surely: 99 % of 3 degrees of freedom
_SURE = 10.0  # by so much chi-square what is named has to be ahead of what would name otherwise


class Noticed(StrEnum):
    """What is said of a screw's turn."""

    NOTHING = ""
    SHORT = "short"
    FAR = "far"
    OTHER_WAY = "other-way"
    NOT_TURNED = "not-turned"
    INSTEAD = "instead-of"


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """How far the bed moved at one screw, up positive, beside what the advice expected.

    u_mm: standard uncertainty of their difference if turned as advised. instead_of: the screw whose
    turn this one got, with `Noticed.INSTEAD`.
    """

    screw: str
    expected_mm: float
    moved_mm: float
    u_mm: float
    noticed: Noticed
    instead_of: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What a round's turning did.

    jumped: the readings moved in a way that turning doesn't explain: all alike by more than homing
    does, or in a pattern that no screws make. shift_mm: the common part of what was not expected.
    sure: whether what was noticed of screws fits clearly better than any other mistake looked for;
    opposite screws, for one, tilt the bed alike.
    all_other_way: every screw that was turned went the other way, as when the machine file is
    wrong about which way raises the bed.
    """

    moved: tuple[Moved, ...]
    jumped: bool
    shift_mm: float
    sure: bool
    all_other_way: bool

    @property
    def as_advised(self) -> bool:
        """Whether nothing was noticed."""
        return not self.jumped and all(one.noticed is Noticed.NOTHING for one in self.moved)


@dataclass(frozen=True, slots=True)
class _Mistake:
    """What would explain a movement: how far screws were off, what is free, what is then said."""

    off: Floats
    said: tuple[tuple[Noticed, str], ...]
    cost: float
    free: Floats | None = None


def outcome(
    before: Heights, advice: Advice, after: Heights, *, homing_sd_mm: float = 0.05
) -> Outcome:
    """What the turns of `advice` did between the rounds before and after them.

    homing_sd_mm: by how much all heights shift alike between two homings, standard deviation.
    Raises ValueError where the rounds measured different points.
    """
    if before.names != after.names:
        raise ValueError("the two rounds measured different points")
    first, second = advice.plane, plane_of(after)
    arms = first.arms(*np.array([(t.screw.x_mm, t.screw.y_mm) for t in advice.turns]).T)
    raises = advice.raises_mm
    moved = arms @ (second.coefficients - first.coefficients)
    by_screws: Floats = np.asarray(np.linalg.pinv(arms), np.float64)
    parts = _parts(advice, by_screws, (*first.parts, *second.parts), homing_sd_mm)
    judge = _Judge.of(second.coefficients - first.coefficients - by_screws @ raises, parts)
    said = [(Noticed.NOTHING, "")] * len(raises)
    jumped = pattern_jumped(before, advice, after)
    sure = True
    if not judge.fits(np.zeros(3)):
        best, sure = _best_mistake(judge, by_screws, raises, [t.screw for t in advice.turns])
        jumped = jumped or best is None
        said = list(best.said) if best is not None else said
    rows = zip(advice.turns, moved.tolist(), arms, said, strict=True)
    return Outcome(
        moved=tuple(
            Moved(
                screw=turn.screw.name,
                expected_mm=turn.raise_mm,
                moved_mm=one,
                u_mm=doubt(arm, parts)[0],
                noticed=noticed,
                instead_of=instead,
            )
            for turn, one, arm, (noticed, instead) in rows
        ),
        jumped=jumped,
        shift_mm=float((moved - raises).mean()),
        sure=sure,
        all_other_way=_all_other_way(said, raises),
    )


@dataclass(frozen=True, slots=True)
class _Judge:
    """What moved beside the advice, as (height, slope x, slope y), and how well it is known."""

    beside: Floats
    precision: Floats
    parts: tuple[Part, ...]

    @classmethod
    def of(cls, beside: Floats, parts: tuple[Part, ...]) -> "_Judge":
        total: Floats = np.asarray(sum((matrix for matrix, _ in parts), np.zeros((3, 3))))
        scale = np.sqrt(np.maximum(np.diag(total), 1e-18))
        return cls(
            beside,
            np.linalg.pinv(total / np.outer(scale, scale), hermitian=True) / np.outer(scale, scale),
            parts,
        )

    def chi_square(self, explained: Floats) -> float:
        """How badly this explains it."""
        left = self.beside - explained
        return float(left @ self.precision @ left)

    def fits(self, explained: Floats, risk: float = _FALSE_ALARMS) -> bool:
        """Whether what is left is no more than its uncertainty."""
        left = self.precision @ (self.beside - explained)
        _, df = doubt(left, self.parts)
        return self.chi_square(explained) <= 3.0 * f_quantile(1.0 - risk, 3.0, min(df, 1e6))

    def amount(self, explained: Floats, direction: Floats) -> float:
        """How much of a free direction explains best what is left."""
        weight = self.precision @ direction
        return float(weight @ (self.beside - explained)) / float(weight @ direction)


def _parts(
    advice: Advice, by_screws: Floats, planes: tuple[Part, ...], homing_sd_mm: float
) -> tuple[Part, ...]:
    pitches = np.array([turn.screw.pitch_mm for turn in advice.turns])
    turning = by_screws @ advice.turning.covariance(advice.raises_mm, pitches) @ by_screws.T
    homing = np.diag([homing_sd_mm**2, 0.0, 0.0])
    return (*planes, (turning, math.inf), (homing, math.inf))


def _best_mistake(
    judge: _Judge, by_screws: Floats, raises: Floats, screws: list[Screw]
) -> tuple[_Mistake | None, bool]:
    """The mistake that explains best, dearer ones by more, and whether it is clearly the best.

    None where it is none of the screws' but a common shift.
    """
    tried = [_weighed(judge, by_screws, one, raises) for one in _mistakes(raises, screws)]
    least, best = min(tried, key=lambda one: one[0])
    level = np.array([1.0, 0.0, 0.0])
    shifted = judge.chi_square(level * judge.amount(np.zeros(3), level)) + _SHIFT
    if shifted < least:
        return None, True
    others = [cost for cost, one in tried if one.said != best.said]
    ahead = min([*others, shifted]) - least > _SURE
    return best, ahead and least - best.cost < _LEFT


def _weighed(
    judge: _Judge, by_screws: Floats, mistake: _Mistake, raises: Floats
) -> tuple[float, _Mistake]:
    """What a mistake costs, and the mistake in words."""
    explained = by_screws @ mistake.off
    amount = 0.0
    if mistake.free is not None:
        direction = by_screws @ mistake.free
        amount = judge.amount(explained, direction)
        explained = explained + amount * direction
    return judge.chi_square(explained) + mistake.cost, _named(mistake, amount, raises)


def _mistakes(raises: Floats, screws: list[Screw]) -> Iterator[_Mistake]:
    """All that is looked for: screws turned the other way, not at all, one for another, by far."""
    n, names = len(raises), [screw.name for screw in screws]
    turnable = [place for place, s in enumerate(screws) if s.can_raise_mm + s.can_lower_mm > 0.0]
    yield from _wrong_turns(raises)
    for j, k in permutations(turnable, 2):
        if raises[j] != 0.0:
            yield _instead(j, k, raises, names)
        if j < k and raises[j] != 0.0 != raises[k]:
            yield _swapped(j, k, raises, names)
    for one in np.eye(n)[turnable]:
        yield _Mistake(np.zeros(n), ((Noticed.NOTHING, ""),) * n, _FREE, one)


def _wrong_turns(raises: Floats) -> Iterator[_Mistake]:
    """Every choice of screws not turned or turned the other way; all of them alike costs as one."""
    turned = int(np.count_nonzero(raises))
    choices = [(0, 1, 2) if far != 0.0 else (0,) for far in raises]
    words = (Noticed.NOTHING, Noticed.NOT_TURNED, Noticed.OTHER_WAY)
    for states in product(*choices):
        wrong = len(raises) - states.count(0)
        alike = wrong == turned and len(set(states) - {0}) == 1
        if wrong:
            said = tuple((words[state], "") for state in states)
            yield _Mistake(-np.array(states) * raises, said, _EACH_SCREW * (1 if alike else wrong))


def _instead(j: int, k: int, raises: Floats, names: list[str]) -> _Mistake:
    off = np.zeros(len(raises))
    off[[j, k]] = -raises[j], raises[j]
    said = [(Noticed.NOTHING, "")] * len(raises)
    said[j], said[k] = (Noticed.NOT_TURNED, ""), (Noticed.INSTEAD, names[j])
    return _Mistake(off, tuple(said), _EACH_SCREW)


def _swapped(j: int, k: int, raises: Floats, names: list[str]) -> _Mistake:
    off = np.zeros(len(raises))
    off[[j, k]] = raises[k] - raises[j], raises[j] - raises[k]
    said = [(Noticed.NOTHING, "")] * len(raises)
    said[j], said[k] = (Noticed.INSTEAD, names[k]), (Noticed.INSTEAD, names[j])
    return _Mistake(off, tuple(said), _EACH_SCREW)


def _named(mistake: _Mistake, amount: float, raises: Floats) -> _Mistake:
    """A mistake of any size, in words."""
    if mistake.free is None:
        return mistake
    place = int(np.argmax(mistake.free))
    wanted = float(raises[place])
    share = 1.0 + amount / wanted if wanted else math.inf
    if share < -0.25:
        word = Noticed.OTHER_WAY
    elif share < 0.25:
        word = Noticed.NOT_TURNED
    else:
        word = Noticed.SHORT if share < 1.0 else Noticed.FAR
    said = list(mistake.said)
    said[place] = (word, "")
    return _Mistake(mistake.off, tuple(said), mistake.cost, mistake.free)


def _all_other_way(said: list[tuple[Noticed, str]], raises: Floats) -> bool:
    words = [word for (word, _), far in zip(said, raises, strict=True) if far != 0.0]
    return len(words) > 1 and set(words) == {Noticed.OTHER_WAY}
