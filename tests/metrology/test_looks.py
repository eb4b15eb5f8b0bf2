"""Looks at readings that grow: what each may spend, and how often somebody who looks is misled."""

import math
from collections.abc import Callable, Iterator
from itertools import islice

import numpy as np
import pytest

from hostctl.metrology.claims.claim import Claim, SampleSpread
from hostctl.metrology.claims.decision import decide, reach
from hostctl.metrology.claims.looks import ONE_LOOK, Looks
from hostctl.metrology.claims.verdict import CannotTellYet

Z = 1.959963984540054  # normal quantile at 0.975 (any table)


def one_by_one(first: Looks) -> Iterator[Looks]:
    """The first look and all that follow it."""
    while first.share > 0:
        yield first
        first = first.next


def the_only_one_each_time(_: Looks) -> Iterator[Looks]:
    """Looks of which each is taken for the only one: what nobody should do."""
    while True:
        yield ONE_LOOK


def test_without_a_number_declared_the_shares_are_a_half_a_sixth_a_twelfth():
    shares = [look.share for look in islice(one_by_one(Looks()), 3)]
    assert shares == pytest.approx([1 / 2, 1 / 6, 1 / 12])


def test_however_long_one_goes_on_the_shares_never_exceed_the_risk():
    """1/2 + 1/6 + ... + 1/(k(k+1)) = 1 - 1/(k+1), by telescoping."""
    shares = [look.share for look in islice(one_by_one(Looks()), 1000)]
    assert sum(shares) == pytest.approx(1 - 1 / 1001)


@pytest.mark.parametrize("declared", [1, 3, 7, 10])
def test_declared_looks_spend_alike_and_then_there_is_none(declared):
    looks = list(one_by_one(Looks(declared=declared)))
    assert [look.share for look in looks] == pytest.approx([1 / declared] * declared)


def test_no_look_spends_what_earlier_ones_took():
    assert Looks(number=2, spent=0.9).share == pytest.approx(0.1)
    assert Looks(number=2, spent=1.0).share == 0.0


def test_more_trials_are_foretold_for_the_look_after_them():
    """It has less of the risk, so they are more than the same look would need."""
    spread = SampleSpread(sd=0.02, df=9, n=10)
    now, later = (
        decide(Claim(tolerance=0.05, looks=looks), spread)
        for looks in (Looks(number=2, declared=3), Looks(number=1))
    )  # next shares: a third, a sixth
    assert isinstance(now, CannotTellYet)
    assert isinstance(later, CannotTellYet)
    assert now.further_trials is not None
    assert later.further_trials is not None
    assert now.further_trials < later.further_trials


def test_where_no_look_is_left_no_trials_are_advised():
    found = decide(Claim(tolerance=0.05, looks=ONE_LOOK), SampleSpread(sd=0.02, df=9, n=10))
    assert isinstance(found, CannotTellYet)
    assert found.further_trials is None


def wrong_at(ns: range, looks: Iterator[Looks], *, met: bool) -> float:
    """How often somebody who looks after so many trials is told wrongly, the truth on the limit.

    met: told that it meets, or else that it does not.
    """
    rng = np.random.default_rng(3)
    squares = np.cumsum(rng.standard_normal((40_000, ns[-1])) ** 2, axis=1, dtype=np.float64)
    wrong = np.zeros(len(squares), dtype=bool)
    for n, look in zip(ns, looks, strict=False):
        band = reach(Claim(tolerance=Z, looks=look), SampleSpread(sd=1, df=n, n=n + 1))
        s = np.sqrt(squares[:, n - 1] / n)
        wrong |= s * band.high <= Z if met else s * band.low > Z
    return float(wrong.mean())


@pytest.mark.parametrize("met", [True, False])
@pytest.mark.parametrize(
    ("ns", "rule", "first", "least", "most"),
    [
        (range(10, 201, 10), one_by_one, Looks(), 0.02, 0.05),
        (range(10, 31, 10), one_by_one, Looks(), 0.02, 0.05),
        (range(10, 31, 10), one_by_one, Looks(declared=3), 0.02, 0.05),
        (range(10, 31, 10), the_only_one_each_time, ONE_LOOK, 0.075, 1.0),
    ],
)
def test_who_looks_again_and_again_is_misled_in_at_most_one_study_of_twenty(
    ns: range,
    rule: Callable[[Looks], Iterator[Looks]],
    first: Looks,
    least: float,
    most: float,
    met: bool,
):
    """A margin of 3.5 simulation errors; the last case shows what is at stake."""
    found, error = wrong_at(ns, rule(first), met=met), math.sqrt(0.05 * 0.95 / 40_000)
    assert least <= found <= most + 3.5 * error
