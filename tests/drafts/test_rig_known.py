"""What a rig check makes known, and what that means: by a published table, scipy and readings."""

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from kept_runs import KeptRun, a_run, keep
from scipy import stats

from hostctl.drafts.ahead.able import FINEST_SURE_TO, finest_tolerance_mm
from hostctl.drafts.ahead.rig import RigKnown
from hostctl.drafts.rig_known import rig_known, what_it_means
from hostctl.metrology.claims.assumed import AssumedStudy, RigAssumed
from hostctl.metrology.claims.planning import proving
from hostctl.report.planning.planning import claim_about
from hostctl.report.sources.material import Block

DATA = Path(__file__).parents[1] / "data"
TABLE = list(csv.DictReader((DATA / "trials_vs_confidence.csv").read_text().splitlines()))
VALUES_MM = tuple(np.random.default_rng(3).normal(0.0, 0.02, 20).round(2))
RIG = RigKnown(run=4, sd_mm=0.004, upper_mm=0.0058, trials=20, df=20, resolution_mm=0.001)


def rig_check(values_mm: tuple[float, ...] = VALUES_MM, **changes: object) -> KeptRun:
    block = Block(method="rig-check", operator="", point="p", values_mm=list(values_mm))
    given: dict[str, object] = {"new": a_run("rig-check"), "blocks": [block]}
    return KeptRun(**(given | changes))


def test_the_last_whole_check_of_the_machine_counts(tmp_path: Path):
    """Its interval is that of 21 settings, the zero being one (chi-square, scipy); rounding to half
    a spread is allowed for, which moves it by a few per cent."""
    path = tmp_path / "kept.sqlite"
    other = replace(a_run("rig-check"), machine="other")
    keep(
        path,
        rig_check(),
        rig_check(complete=False),
        rig_check(new=other),
        rig_check(values_mm=(0.0,), complete=True),
    )
    rig = rig_known(path, "bench")
    assert rig is not None
    assert rig.run == 1
    found = float(np.std([0.0, *VALUES_MM], ddof=1))
    assert (rig.trials, rig.df, rig.resolution_mm) == (20, 20, 0.01)
    assert rig.sd_mm == pytest.approx(found, rel=0.05)
    assert rig.upper_mm == pytest.approx(found * (20 / stats.chi2.ppf(0.025, 20)) ** 0.5, rel=0.05)


def test_without_a_check_nothing_is_known(tmp_path: Path):
    path = tmp_path / "kept.sqlite"
    keep(path, rig_check(complete=False))
    assert rig_known(path, "bench") is None
    assert rig_known(path, "other") is None


def test_a_rig_that_the_graduation_hides_is_known_by_its_limit(tmp_path: Path):
    path = tmp_path / "kept.sqlite"
    keep(path, rig_check((0.0,) * 20))
    rig = rig_known(path, "bench")
    assert rig is not None
    assert rig.sd_mm is None
    assert 0 < rig.upper_mm < 0.01
    said = what_it_means(rig, 0.01)
    assert "hidden by the graduation" in said[0]
    assert any("take an indicator" in line for line in said)


@pytest.mark.parametrize("row", TABLE)
def test_what_a_rig_hides_is_what_its_limit_leaves(row: dict[str, str]):
    """Limits of σ from n readings: chi-square multipliers beside JCGM 100, table E.1."""
    times, trials = float(row["sigma_over_s_high95"]), int(row["n"])
    rig = RigKnown(
        run=1, sd_mm=0.01, upper_mm=0.01 * times, trials=trials, df=trials - 1, resolution_mm=0.001
    )
    assert rig.hides_below_mm**2 == pytest.approx(0.01**2 * (times**2 - 1))


def test_the_finest_tolerance_is_that_which_four_of_five_studies_prove():
    """Oracle: scipy. 20 settings of a method that adds nothing are proven within ±T where the upper
    limit of their spread, times the normal quantile, is at most T. A first look spends half of the
    risk."""
    read_mm = (RIG.spread_mm**2 + RIG.resolution_mm**2 / 12) ** 0.5
    limit = stats.norm.ppf(0.975) * (19 / stats.chi2.ppf(0.025, 19)) ** 0.5
    four_of_five = read_mm * (stats.chi2.ppf(0.8, 19) / 19) ** 0.5
    assert finest_tolerance_mm(RIG) == pytest.approx(limit * four_of_five, rel=1e-6)


@pytest.mark.parametrize("graduations", [0.1, 0.4, 4.0])
def test_the_finest_tolerance_is_right_to_its_factor_by_the_rule_that_judges(graduations: float):
    """Thousands of studies judged as analyse does, the rig taken out where it would be."""
    sd_mm = 0.01 * graduations
    rig = replace(RIG, sd_mm=sd_mm, upper_mm=1.5 * sd_mm, resolution_mm=0.01)
    study = AssumedStudy(resolution=0.01, rig=RigAssumed(trials=20, sd=sd_mm))

    def proven(within_mm: float) -> float:
        claim = claim_about(within_mm, proportion=0.95, confidence=0.95, datum=False)
        chances = proving(claim, sigma=sd_mm / 50, study=study)
        chances.look_about(20)
        return chances.chance(20)

    finest_mm = finest_tolerance_mm(rig)
    assert proven(FINEST_SURE_TO * finest_mm) > 0.8 > proven(finest_mm / FINEST_SURE_TO)


def test_a_short_check_is_better_than_none_and_said_to_be_short(tmp_path: Path):
    path = tmp_path / "kept.sqlite"
    keep(path, rig_check((0.0, 0.02, -0.01, 0.03)))
    rig = rig_known(path, "bench")
    assert rig is not None
    assert what_it_means(rig)[1].startswith("4 readings say little")


def test_each_sentence_follows_the_figures():
    finest_mm = finest_tolerance_mm(RIG)
    can, hardly, can_not = (what_it_means(RIG, by * finest_mm) for by in (1.26, 1.1, 0.79))
    assert "can be judged" in can[2]
    assert "about the finest that it can judge" in hardly[2]
    assert "too fine for it" in can_not[2]
    assert "below 0.0042 mm can't be told from the rig" in can[1]
    assert len(can) == 3
    assert any("Look for play" in line for line in can_not)
    assert f"about ±{finest_mm:.3f} mm" in what_it_means(RIG)[-1]
