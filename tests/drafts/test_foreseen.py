"""What is foreseen of a study: its time against the simulated printer, what it shows against
published tables and the planning that judges by."""

import csv
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from answering import CONFIGS, answered, machine, saying
from paced import kept_busy_s
from scipy import stats

from hostctl.config.load import study_from
from hostctl.config.study import Study
from hostctl.config.yaml_text import Source
from hostctl.drafts.ahead.able import Plan, able
from hostctl.drafts.ahead.busy import busy
from hostctl.drafts.ahead.rig import RigKnown
from hostctl.drafts.foreseen import foreseen, told
from hostctl.drafts.study_file import study_drafted
from hostctl.drafts.study_summary import study_summary
from hostctl.drafts.study_summary import told as summary_told
from hostctl.metrology.claims.assumed import AssumedStudy, RigAssumed
from hostctl.metrology.claims.planning import proving, trials_to_prove
from hostctl.report.planning.planning import claim_about, plan_to_see

DATA = Path(__file__).parents[1] / "data"
TABLE = list(csv.DictReader((DATA / "trials_vs_confidence.csv").read_text().splitlines()))
RIG = RigKnown(run=1, sd_mm=0.004, upper_mm=0.0058, trials=20, df=20, resolution_mm=0.01)


def shipped(name: str) -> Study:
    return study_from(Source.of(CONFIGS / "studies" / f"{name}.yaml"))


def asked_for(of: str, **said: str) -> Study:
    keys = {key.replace("__", "."): text for key, text in said.items()}
    return study_drafted(answered(machine(of), saying(keys)), machine(of))


QUICK = {"points": "front-left", "trials": "4", "operators": "ann"}
STUDIES = {
    "three-methods": ("sim-220", shipped("three-methods").model_copy(update={"trials": 2})),
    "rig-check": ("sim-tri", shipped("rig-check")),
    "true-gap": ("sim-220", shipped("true-gap")),
    "feelers": ("sim-220", asked_for("sim-220", judged="gap", tie__by="feelers", **QUICK)),
    "block": ("sim-tri", asked_for("sim-tri", judged="gap", tie__by="gauge-block", **QUICK)),
    "by probe": ("sim-tri", asked_for("sim-tri", gauge__kind="probe", **QUICK)),
    "probe-loop": ("sim-tri", shipped("probe-loop").model_copy(update={"trials": 20})),
    "axis-test": ("sim-220", shipped("axis-test")),
}


SLOW = ("true-gap",)


@pytest.mark.parametrize(
    "name",
    [pytest.param(name, marks=[pytest.mark.slow] if name in SLOW else []) for name in STUDIES],
)
def test_the_machine_is_busy_for_as_long_as_the_simulated_printer_is(name: str):
    """At a printer's pace, by the clock of its own agenda, people answering at once."""
    of, study = STUDIES[name]
    found = busy(study, machine(of))
    assert found is not None
    assert found.machine_s == pytest.approx(kept_busy_s(study, machine(of)), rel=0.2)


def plan(**changes: object) -> Plan:
    given: dict[str, object] = {
        "methods": 2,
        "people": 1,
        "points": 1,
        "trials": 20,
        "zeros": False,
        "true_gap": False,
        "resolution_mm": 0.001,
        "within_mm": 0.05,
    }
    return Plan(**(given | changes))


@pytest.mark.parametrize("row", [row for row in TABLE if row["GUM_table_E1_percent"]])
def test_the_doubt_of_a_spread_is_that_of_the_guides_table(row: dict[str, str]):
    """JCGM 100:2008, table E.1."""
    found = able(plan(trials=int(row["n"])), None)
    assert round(100 * found.doubt) == int(row["GUM_table_E1_percent"])


@pytest.mark.parametrize(("people", "points", "pairs"), [(1, 1, 1), (2, 2, 6)])
def test_the_ratio_that_shows_is_that_for_which_planning_wants_so_many(
    people: int, points: int, pairs: int
):
    several = plan(methods=2 if pairs == 1 else 3, people=people, points=points, trials=10)
    ratio = able(several, None).method_ratio
    assert ratio is not None
    study = AssumedStudy(blocks=points, pairs=pairs)
    assert plan_to_see(ratio, 0.8, 0.05, study).trials == several.settings


def test_the_ratio_that_shows_is_so_by_scipy():
    """Oracle: the power of the two-sided F test, 19 each, is 80 % at about twice the spread."""
    ratio = able(plan(trials=19), None).method_ratio
    limit = stats.f.ppf(0.975, 18, 18)
    assert ratio is not None
    power = stats.f.sf(limit / ratio**2, 18, 18) + stats.f.sf(limit * ratio**2, 18, 18)
    assert power == pytest.approx(0.8, abs=0.003)
    assert ratio == pytest.approx(2.0, abs=0.05)


@pytest.mark.parametrize("datum", [False, True])
def test_the_spread_that_is_proven_is_that_for_which_planning_wants_so_many(datum: bool):
    proven_mm = able(plan(true_gap=datum), None).proven_mm
    assert proven_mm is not None
    claim = claim_about(0.05, proportion=0.95, confidence=0.95, datum=datum)
    assert trials_to_prove(claim, sigma=0.999 * proven_mm) == 20
    assert trials_to_prove(claim, sigma=1.03 * proven_mm) > 20


@pytest.mark.parametrize(("points", "rig"), [(1, None), (2, RIG)])
def test_the_spread_that_is_proven_is_so_by_the_rule_that_judges(points: int, rig: RigKnown | None):
    """Thousands of studies judged as analyse does: what is said of 80 % holds for 75 to 80."""
    study = plan(points=points, trials=20 // points, resolution_mm=0.01)
    proven_mm = able(study, rig).proven_mm
    assert proven_mm is not None
    claim = claim_about(0.05, proportion=0.95, confidence=0.95, datum=False)
    out = None if rig is None else RigAssumed(trials=20, sd=rig.spread_mm)
    chances = proving(
        claim, sigma=proven_mm, study=AssumedStudy(resolution=0.01, blocks=points, rig=out)
    )
    chances.look_about(20)
    assert 0.73 <= chances.chance(20) <= 0.82


def test_a_method_is_told_from_the_rig_in_four_of_five_studies():
    """20,000 studies drawn and judged by the F test: their share within four of its own standard
    deviations, 0.003 each."""
    spread_mm = able(plan(), RIG).told_from_rig_mm
    assert spread_mm is not None
    assert RIG.sd_mm is not None
    rng = np.random.default_rng(11)
    read = (RIG.sd_mm**2 + spread_mm**2) * rng.chisquare(19, 20_000) / 19
    rig = RIG.sd_mm**2 * rng.chisquare(RIG.df, 20_000) / RIG.df
    assert np.mean(read / rig > stats.f.ppf(0.975, 19, RIG.df)) == pytest.approx(0.8, abs=0.012)


def test_more_trials_show_more_and_a_rig_takes_some_of_it():
    few, many = able(plan(trials=5), None), able(plan(trials=20), None)
    assert few.method_ratio > many.method_ratio
    assert few.proven_mm < many.proven_mm
    assert able(plan(), RIG).proven_mm < many.proven_mm
    assert able(plan(within_mm=0.003, resolution_mm=0.01), None).proven_mm is None


def test_it_is_told_in_plain_sentences():
    said = told(foreseen(shipped("three-methods"), machine("sim-220"), RIG))
    assert said[0].startswith("60 settings and 12 zeros; the machine is busy for about 30 min,")
    assert "24 %" in told(foreseen(shipped("true-gap"), machine("sim-220")))[1]
    assert said[-1].endswith("told from the rig's where it is 0.0077 mm or more.")
    fine = shipped("three-methods").model_copy(
        update={
            "tolerance": shipped("three-methods").tolerance.model_copy(update={"within_mm": 0.005})
        }
    )
    assert any(
        "finer than the graduation" in line for line in told(foreseen(fine, machine("sim-220")))
    )


def test_what_a_rig_check_will_tell_is_in_the_guides_table():
    """JCGM 100:2008, table E.1: 16 % from 20; the zero is one more."""
    said = told(foreseen(shipped("rig-check"), machine("sim-220")))
    assert said[0] == (
        "20 readings and 1 zero; the machine is busy for about 5 min, your own work comes on top: "
        "about 4 min."
    )
    assert said[1].startswith("The rig's own spread comes out to about 16 %")


LIGHT = """
import sys
from answering import *
from hostctl.drafts.foreseen import foreseen
from hostctl.drafts.study_file import study_drafted
from hostctl.drafts.study_summary import study_summary
of = machine("sim-220")
study = study_drafted(answered(of, saying({"judged": "gap"})), of)
foreseen(study, of), study_summary(study, of)
sys.exit("numpy" in sys.modules)
"""


@pytest.mark.slow
def test_asking_and_foreseeing_load_no_numpy():
    """A daemon on a small computer does both."""
    here = Path(__file__).parent
    subprocess.run([sys.executable, "-c", LIGHT], check=True, cwd=here, timeout=60)


def test_a_list_of_studies_has_title_trials_and_time():
    found = study_summary(shipped("rig-check"), machine("sim-220"))
    assert (found.title, found.trials) == ("Rig check, nothing adjusted", 20)
    assert summary_told(found) == "20 trials, about 9 min"
    assert summary_told(study_summary(shipped("probe-loop"), None)) == "at most 300 trials"
