"""Verdicts about a datum: how far off a mean of rounded readings may be counts too."""

import math
from functools import cache

import numpy as np
import pytest

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.claims.looks import ONE_LOOK
from hostctl.metrology.claims.tolerance import half_width_holding
from hostctl.report.analysis.claim import Evidence, verdict_of
from hostctl.report.analysis.result.judgement import Verdict
from hostctl.report.sources.material import Block, Goal
from hostctl.report.sources.sample import Sample, evidence_of

Rows = tuple[tuple[float, ...], ...]


def verdict(blocks: Rows, within: float, off: Estimate) -> Verdict:
    """Of readings in graduations."""
    sample = Sample(
        method="paper",
        operator="a",
        blocks=tuple(
            Block(method="paper", operator="a", point="p", values_mm=list(block))
            for block in blocks
        ),
        reference="datum",
        resolution_mm=1.0,
    )
    evidence = Evidence(
        sample=sample,
        total=evidence_of(sample),
        rig=None,
        setting=NotYet(reason=Reason(Why.NO_RIG_CHECK)),
    )
    return verdict_of(evidence, Goal(within_mm=within), ONE_LOOK, off, itself_judged=True)


@pytest.fixture(scope="module")
def off() -> Estimate:
    from hostctl.metrology.spread.mean import mean_against_datum

    found = mean_against_datum([[1.0, 2.0]], resolution=1.0, reference="datum", least_sigma=0.0)
    assert isinstance(found, Estimate)
    return found


def test_alike_readings_may_be_half_a_graduation_farther_off(off: Estimate) -> None:
    """The mean may be 3.5 graduations off, and settings scatter about that."""
    alike: Rows = ((3.0,) * 60,)
    assert verdict(alike, 3.41, off).verdict == "cannot tell yet"
    assert verdict(alike, 4.2, off).verdict == "meets"
    assert verdict(alike, 2.4, off).verdict == "does not meet"
    assert verdict(alike, 2.6, off).verdict == "cannot tell yet"


@pytest.mark.parametrize(
    ("blocks", "n", "sigma", "mean"),
    [(1, 4, 0.4, 3.45), (1, 20, 0.3, 3.3), (1, 60, 0.2, 3.45), (3, 5, 0.2, 3.4)],
)
def test_either_verdict_is_wrong_as_seldom_as_promised(
    off: Estimate, blocks: int, n: int, sigma: float, mean: float
) -> None:
    rng = np.random.default_rng(31)
    true = half_width_holding(0.95, mean, sigma)

    @cache
    def word(rows: Rows, share: float) -> str:
        return verdict(rows, true * share, off).verdict

    studies = [
        tuple(tuple(sorted(row)) for row in study)
        for study in np.rint(mean + sigma * rng.normal(size=(200, blocks, n))).tolist()
    ]
    most = 0.05 + 3.0 * math.sqrt(0.05 * 0.95 / 200)
    for wrong, share in (("meets", 0.999), ("does not meet", 1.001)):
        assert sum(word(rows, share) == wrong for rows in studies) / 200 <= most
