"""The chance of a verdict by trial: thousands of simulated studies judged as a real one will be.

Formulas are exact for readings as points. Where rounding shows, or a rig check of few trials is
taken out, studies are drawn, rounded and judged by the same tails (`ManyStudies`), each at a mean
anywhere within a graduation. The seed is fixed and a longer study begins with the trials of a
shorter one, so chances rise with the trials; between the lengths tried a formula, set right by
trial on either side, leads from one to the next.
"""

import math
from bisect import insort
from collections.abc import Callable
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from hostctl.metrology.basis.confidence_box import Quantiles, thinned
from hostctl.metrology.basis.distributions import normal_cdf, probit
from hostctl.metrology.claims.assumed import AssumedStudy, RigAssumed
from hostctl.metrology.rounded.evidence import FINEST, SpreadEvidence
from hostctl.metrology.rounded.law.many_tails import ManyStudies
from hostctl.metrology.rounded.rounding import spread_evidence

Floats = NDArray[np.float64]

LONGEST = 2000
"""Trials of a study that is tried; beyond, the formula leads on."""

_SEED = 1
_STUDIES, _FEWER = 4000, 2000  # where a study costs one tail, or many
_READINGS = 2_000_000  # at most, of all studies together
_RIGS, _RIG_DRAWS = 25, 1001
_RUNGS = (0.25, 0.55, 1.6)
_MOST_TRIES = 6
_CLOSE = 0.03  # of the power
_HOPEFUL = 0.4  # of the power: a chance from which the formula leads on
_FINEST_STEP = 0.1  # of readings as good as points, in standard deviations
_EVERY = 3  # of the quantiles of a rig's box
_MESH, _FINER = 11, 10


class SetRight:
    """A formula for the chance with so many trials, set right where it was tried."""

    by_trial = True

    def __init__(
        self, formula: Callable[[int], float], trial: Callable[[int], float], study: AssumedStudy
    ) -> None:
        self._formula = formula
        self._trial = trial
        self._study = study
        self._shifts: list[tuple[float, float, float]] = []

    def chance(self, n: int) -> float:
        """With so many trials; rising by whole blocks."""
        n = self._study.whole(n)
        x, known = math.log(n), self._shifts
        shift = float(np.interp(x, [at for at, _, _ in known], [by for _, by, _ in known]))
        most = min((chance for at, _, chance in known if at >= x), default=1.0)
        return min(normal_cdf(_probit(self._formula(n)) + shift), most)

    def fewest(self, power: float, most: int) -> int:
        """Trials that reach the power, in whole blocks. Raises NotEnough where `most` don't."""
        guess = self._fewest(self._formula, power, most)
        while self._try(guess) and self.chance(guess) < _HOPEFUL * power and guess < LONGEST:
            guess = math.ceil(1.5 * guess)
        for _ in range(_MOST_TRIES):
            found = self._fewest(self.chance, power, most)
            if not self._try(found) and not self._try_before(found, power):
                break
        return self._fewest(self.chance, power, most)

    def _try_before(self, n: int, power: float) -> bool:
        """Where n is more than enough, halfway to the next shorter one tried."""
        shorter = [round(math.exp(at)) for at, _, _ in self._shifts if at < math.log(n) - 1e-9]
        if self.chance(n) < power + _CLOSE or not shorter:
            return False
        return self._try((n + shorter[-1]) // 2)

    def look_about(self, n: int) -> None:
        """Try shorter and longer studies too, for a table or a curve about n."""
        for rung in _RUNGS:
            self._try(round(rung * n))

    def _fewest(self, chance: Callable[[int], float], power: float, most: int) -> int:
        return self._study.fewest(lambda n: chance(n) >= power, most)

    def _try(self, n: int) -> bool:
        """Whether it was not yet known."""
        n = self._study.whole(min(n, LONGEST))
        x = math.log(n)
        if any(at == x for at, _, _ in self._shifts):
            return False
        chance = self._trial(n)
        insort(self._shifts, (x, _probit(chance) - _probit(self._formula(n)), chance))
        return True


class Proven:
    """How often n trials prove that the setting's spread is at most `limit`, were it `sigma`."""

    def __init__(self, study: AssumedStudy, *, limit: float, sigma: float, risk: float) -> None:
        self._study = study
        self._risk = risk
        self._step = study.resolution or _FINEST_STEP * study.total(sigma)
        if study.reference == "previous":  # what is read is differences
            self._step /= math.sqrt(2.0)
        self._limit = limit / self._step
        self._total = study.total(sigma) / self._step

    def chance(self, n: int) -> float:
        """With so many trials, in whole blocks."""
        studies = _studies(self._study, n, self._total, many=not self._rigs, stream=0)
        if not self._rigs:
            return float((studies.tails(self._limit)[0] <= self._risk).mean())
        logs = self._mesh(n)
        narrow = np.array([studies.tails(math.exp(x))[0] for x in logs])
        proven = [self._averages(rig, logs) @ narrow <= self._risk for rig in self._rigs]
        return float(np.mean(proven))

    @cached_property
    def _rigs(self) -> list[Quantiles]:
        """What rig checks may say, in steps: each as likely as another."""
        rig = self._study.rig
        if rig is None:
            return []
        checks = [rig] if isinstance(rig, SpreadEvidence) else _rig_checks(rig, self._step)
        scale = self._step if isinstance(rig, SpreadEvidence) else 1.0
        return [
            Quantiles(tuple(value / scale for value in check.box.lower.values)) for check in checks
        ]

    def _sigmas(self, rig: Quantiles) -> list[tuple[float, float]]:
        return [(math.hypot(self._limit, value), w) for value, w in thinned(rig, _EVERY)]

    def _mesh(self, n: int) -> Floats:
        most = max(sigma for rig in self._rigs for sigma, _ in self._sigmas(rig))
        low, high = math.log(self._limit), math.log(most) + 1e-6
        count = math.ceil((high - low) * math.sqrt(2.0 * n) / 0.6) + 1
        return np.linspace(low, high, min(max(count, 4), 24))

    def _averages(self, rig: Quantiles, logs: Floats) -> Floats:
        """How much each sigma of the mesh counts in a mean over the rig."""
        found = np.zeros(len(logs))
        for sigma, weight in self._sigmas(rig):
            place = (math.log(sigma) - logs[0]) / (logs[1] - logs[0])
            below = min(int(place), len(logs) - 2)
            found[below] += weight * (below + 1 - place)
            found[below + 1] += weight * (place - below)
        return found


class Seen:
    """How often two spreads are said to differ after n trials of each, were they these."""

    def __init__(self, study: AssumedStudy, *, first: float, second: float, risk: float) -> None:
        self._study = study
        self._risk = risk
        step = study.resolution or _FINEST_STEP * study.total(min(first, second))
        self._totals = study.total(first) / step, study.total(second) / step

    def chance(self, n: int) -> float:
        """With so many trials, in whole blocks."""
        both = [
            _studies(self._study, n, total, many=False, stream=stream)
            for stream, total in enumerate(self._totals)
        ]
        logs = self._mesh(n)
        (narrow, wide), (other_narrow, other_wide) = (_finer(studies, logs) for studies in both)
        tail = np.minimum(_chance_above(narrow, other_wide), _chance_above(other_narrow, wide))
        return float((2.0 * self._study.pairs * tail < self._risk).mean())

    def _mesh(self, n: int) -> Floats:
        doubt = 1.0 / math.sqrt(2.0 * max(n - self._study.blocks, 1))
        low, high = math.log(min(self._totals)), math.log(max(self._totals))
        return np.linspace(max(low - 4.5 * doubt, math.log(FINEST)), high + 6.0 * doubt, _MESH)


def _studies(study: AssumedStudy, n: int, total: float, *, many: bool, stream: int) -> ManyStudies:
    """Studies of n trials with a spread of `total` steps, each mean anywhere within one."""
    count = max(min(_STUDIES if many else _FEWER, _READINGS // n), 500)
    shape = (count, study.blocks)
    places = np.random.default_rng([_SEED, stream, 0]).uniform(-0.5, 0.5, shape)
    each = n // study.blocks + (study.reference == "previous")
    drawn = np.random.default_rng([_SEED, stream, 1]).standard_normal((each, *shape))
    if study.reference == "previous":
        drawn, places = np.diff(drawn, axis=0) / math.sqrt(2.0), np.zeros(shape)
    read = np.rint(np.moveaxis(total * drawn, 0, -1) + places[..., None])
    return ManyStudies(read.astype(np.int64), study.reference)


def _rig_checks(rig: RigAssumed, step: float) -> list[SpreadEvidence]:
    """Checks as they may turn out, from the closest to the widest, each as likely as another."""
    rng = np.random.default_rng([_SEED, 2])
    places = rng.uniform(-0.5, 0.5, (_RIG_DRAWS, 1))
    read = np.rint(rig.sd / step * rng.standard_normal((_RIG_DRAWS, rig.trials)) + places)
    order = np.argsort(read.var(axis=1), kind="stable")
    chosen = ((np.arange(_RIGS) + 0.5) * _RIG_DRAWS / _RIGS).astype(int)
    return [spread_evidence([values], resolution=1.0) for values in read[order[chosen]].tolist()]


def _finer(studies: ManyStudies, logs: Floats) -> tuple[Floats, Floats]:
    """Both tails by sigma and study: straight on the normal scale between the mesh's sigmas."""
    found = np.array([studies.tails(math.exp(x)) for x in logs])
    narrow = np.minimum.accumulate(found[:, 0], axis=0)
    wide = np.maximum.accumulate(found[:, 1], axis=0)
    return _filled(narrow), _filled(wide)


def _filled(chances: Floats) -> Floats:
    places = np.interp(chances, _CHANCES, _PLACES)
    pieces = [
        low + (high - low) * share / _FINER
        for low, high in pairwise(places)
        for share in range(_FINER)
    ]
    return np.asarray(np.interp(np.array([*pieces, places[-1]]), _PLACES, _CHANCES))


def _chance_above(narrow: Floats, wide: Floats) -> Floats:
    """That the one is above the other, drawn from its upper and the other's lower limits."""
    steps = np.diff(wide, axis=0)
    between = (0.5 * (narrow[1:] + narrow[:-1]) * steps).sum(axis=0)
    return np.asarray(wide[0] + between + (1.0 - wide[-1]) * narrow[-1])


def _probit(chance: float) -> float:
    return probit(chance, least=1e-6)


_PLACES = np.linspace(-7.0, 7.0, 2801)
_CHANCES = np.array([normal_cdf(z) for z in _PLACES.tolist()])
