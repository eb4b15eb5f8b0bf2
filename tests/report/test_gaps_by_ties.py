"""A run with reference `gap`: its readings as gaps, the tie behind them, what is said of them."""

from dataclasses import replace
from pathlib import Path
from random import Random
from statistics import fmean

import numpy as np
import pytest
from gap_runs import GapRun, Hand, keep_gap_runs

from hostctl.config.parts.tie import PRINCIPLE
from hostctl.errors import DataError
from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.claims.looks import Looks
from hostctl.report.analysis.analysis import Wish, analyse
from hostctl.report.analysis.document import ANALYSIS
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.result.judgement import Verdict
from hostctl.report.document.reasons import Withheld
from hostctl.report.sources import gaps
from hostctl.report.sources.looks import Looking
from hostctl.report.sources.material import Block, Goal, Material, together
from hostctl.report.sources.run_material import run_material
from hostctl.report.trueness.aimed import Aim, aimed
from hostctl.report.trueness.result import Trueness

ONE_LOOK = Wish(look=Looking(looks=Looks(declared=1)))
PAPER = Hand(method="paper-slip", mean_mm=0.113)
LIGHT = Hand(method="contact-light", mean_mm=0.101, sd_mm=0.004)
BOTH = GapRun(hands=(PAPER, LIGHT), goes_by={"contact-light": "contact"})
FINE = GapRun(step_mm=0.0025, resolution_mm=0.001, touch_sd_mm=0.001, beyond_mm=0.001)


@pytest.fixture
def kept(tmp_path: Path):  # type: ignore[no-untyped-def]
    """The material of runs, kept in a database of their own."""

    def keep(*runs: GapRun) -> list[Material]:
        path = tmp_path / "gaps.sqlite"
        keep_gap_runs(path, *runs)
        return [run_material(path, number) for number in range(1, len(runs) + 1)]

    return keep


def found(material: Material, wish: Wish = ONE_LOOK) -> Analysis:
    return analyse(material, None, replace(wish, goal=wish.goal or material.goal))


def table(values: list[float], resolution_mm: float = 0.001) -> Material:
    """As a file has them that is said to hold gaps."""
    return Material(
        name="gaps.csv",
        title="gaps.csv",
        kind="",
        machine="",
        reference="datum",
        zero_known=True,
        resolution_mm=resolution_mm,
        resolution_from="as given",
        blocks=(Block(method="paper", operator="", point="", values_mm=values),),
        goal=None,
        notes=(),
    )


def test_readings_are_gaps_less_the_one_meant_and_ties_are_no_settings(kept) -> None:  # type: ignore[no-untyped-def]
    run = replace(FINE, meant_mm={"paper-slip": 0.12})
    (material,) = kept(run)
    assert [block.method for block in material.blocks] == ["paper-slip"]
    rng_mm = material.blocks[0].values_mm
    footing = material.blocks[0].footing
    assert footing is not None
    # the true constant is known here; what is off is the tie's own error, within its interval
    assert run.constant_mm in footing.constant.interval
    off_mm = footing.constant.value - run.constant_mm
    assert fmean(rng_mm) - off_mm == pytest.approx(0.113 - 0.12, abs=4 * 0.008 / 10**0.5)
    assert material.tied is not None
    assert material.tied.meant_mm("paper-slip") == 0.12
    assert material.zero_known


def test_the_sign_of_the_indicator_is_read_from_the_record(kept) -> None:  # type: ignore[no-untyped-def]
    one, other = kept(FINE, replace(FINE, grows_pressed=False))
    assert one.blocks[0].values_mm == other.blocks[0].values_mm


def test_the_constant_worked_again_by_hand(kept) -> None:  # type: ignore[no-untyped-def]
    """C = set z - reading z + plunger z + s r - z of contact, between its two heights."""
    (material,) = kept(FINE)
    tied = material.tied
    assert tied is not None
    for one in tied.observed:
        # one step and one graduation wide, and about the truth
        assert one.high_mm - one.low_mm == pytest.approx(0.0025 + 0.001)
        assert abs(0.5 * (one.low_mm + one.high_mm) - FINE.constant_mm) < 0.006
    assert len(tied.observed) == FINE.times + FINE.check_times


def test_an_interval_against_draws_of_mean_and_tie() -> None:
    """Student's t of the mean and a normal error of the tie, drawn apart: JCGM 101, 5.9."""
    rng = Random(7)
    values = [round(rng.gauss(0.115, 0.012), 3) for _ in range(12)]
    analysis = found(aimed(table(values), Aim(target_mm=0.1, tie_u_mm=0.004)))
    (trueness,) = analysis.trueness
    assert isinstance(trueness.mean_gap, Estimate)
    draws = np.random.default_rng(3)
    mean, sd = np.mean(values), np.std(values, ddof=1)
    drawn = mean + sd / np.sqrt(12) * draws.standard_t(11, 400_000)
    drawn = drawn + draws.normal(0.0, 0.004, 400_000)
    low, high = np.quantile(drawn, [0.025, 0.975])
    assert trueness.mean_gap.value == pytest.approx(mean, abs=1e-9)
    assert trueness.mean_gap.low == pytest.approx(low, abs=2e-4)
    assert trueness.mean_gap.high == pytest.approx(high, abs=2e-4)
    assert isinstance(trueness.off, Estimate)
    assert trueness.off.value == pytest.approx(mean - 0.1, abs=1e-9)
    assert isinstance(trueness.correction, Estimate)
    assert trueness.correction.value == -trueness.off.value
    assert trueness.correction.low == -trueness.off.high
    assert trueness.tie_share == pytest.approx(
        0.004**2 / (0.004**2 + sd**2 / 12 * (2.201 / 1.960) ** 2), rel=0.05
    )  # quantiles of t (11) and normal: any handbook's table


@pytest.mark.parametrize(
    ("mean_mm", "margin_mm", "standing", "why"),
    [
        (0.102, 0.02, "on target", None),
        (0.140, 0.02, "off target", None),
        (0.118, 0.02, "cannot tell", Withheld.BEYOND_MARGIN),
        (0.102, None, "cannot tell", Withheld.NO_MARGIN),
        (0.140, None, "off target", None),
    ],
)
def test_standing(mean_mm: float, margin_mm: float | None, standing: str, why: object) -> None:
    values = [round(mean_mm + off, 3) for off in (-0.01, -0.005, 0.0, 0.0, 0.005, 0.01)]
    wide = [round(mean_mm + off, 3) for off in (-0.04, -0.02, 0.0, 0.0, 0.02, 0.04)]
    material = table(wide if why is Withheld.BEYOND_MARGIN else values)
    (trueness,) = found(aimed(material, Aim(target_mm=0.1, margin_mm=margin_mm))).trueness
    assert trueness.standing == standing
    assert (trueness.why.code if trueness.why else None) is why


def test_a_method_that_goes_by_what_the_tie_goes_by_is_not_judged_by_it(kept) -> None:  # type: ignore[no-untyped-def]
    (material,) = kept(BOTH)
    analysis = found(material)
    by_name = {one.method: one for one in analysis.trueness}
    light = by_name["contact-light"]
    assert light.standing == "cannot tell"
    assert light.why is not None
    assert light.why.code is Withheld.SAME_PRINCIPLE
    results = {one.method: one for one in analysis.results}
    assert results["contact-light"].measured_from == "own average"
    assert results["paper-slip"].measured_from == "target"
    assert "goes by the method's own" in " ".join(ANALYSIS.text(analysis).split())


def test_principles_are_those_of_the_study_file() -> None:
    for by, goes_by in PRINCIPLE.items():
        assert gaps._is_independent(goes_by.value, by.value) is False
        assert gaps._is_independent("paper", by.value) is True
    assert gaps._is_independent(None, "touch") is None


def test_without_a_sign_there_is_no_gap_and_it_says_so(kept) -> None:  # type: ignore[no-untyped-def]
    (material,) = kept(replace(FINE, grows_pressed=None))
    assert material.tied is None
    assert not material.zero_known
    says = ANALYSIS.text(found(material))
    assert says.startswith("Repeatability only: settings by paper-slip")
    assert "nobody said which way the number goes" in " ".join(says.split())


def test_too_few_touches_are_no_tie(kept) -> None:  # type: ignore[no-untyped-def]
    (material,) = kept(replace(FINE, times=1, check_times=0))
    assert material.tied is None
    assert "observations of the tie at p that count: 1" in material.notes[0]


def test_what_was_read_while_the_tie_moved_is_marked_and_known_less_well(kept) -> None:  # type: ignore[no-untyped-def]
    moved = replace(
        FINE, trials=12, checked_after=(6,), moves_mm={3: 0.031}, said_to_move=(1,), seed=5
    )
    (material,) = kept(moved)
    assert sum(len(block.values_mm) for block in material.blocks) == 12
    footings = [block.footing for block in material.blocks]
    assert [footing.doubted for footing in footings if footing] == [True, False]
    tied = material.tied
    assert tied is not None
    old, new = tied.constants
    assert moved.constant_mm in old.known.interval
    assert moved.constant_mm + 0.031 in new.known.interval
    hull = footings[0].constant.interval if footings[0] else None
    assert hull is not None
    assert hull.low <= old.known.interval.low
    assert hull.high >= new.known.interval.high
    (trueness,) = found(material).trueness
    assert trueness.doubted == 6
    assert isinstance(trueness.mean_gap, Estimate)
    assert 0.113 in trueness.mean_gap.interval
    says = " ".join(ANALYSIS.text(found(material)).split())
    assert "6 readings since the last good one may rest on the old tie" in says


def test_a_bed_of_another_temperature_makes_the_tie_stale(kept) -> None:  # type: ignore[no-untyped-def]
    (material,) = kept(replace(FINE, settings_bed_c=30.0))
    (trueness,) = found(material).trueness
    assert trueness.standing == "cannot tell"
    assert trueness.why is not None
    assert trueness.why.code is Withheld.TIE_STALE


def test_what_a_common_tie_has_wrong_is_in_no_difference(kept) -> None:  # type: ignore[no-untyped-def]
    hands = (PAPER, Hand(method="feeler-gauge", mean_mm=0.101))
    sure, doubtful = kept(replace(FINE, hands=hands), replace(FINE, hands=hands, beyond_mm=0.05))
    one, other = (found(material).biases[0].found for material in (sure, doubtful))
    assert not isinstance(one, NotYet)
    assert not isinstance(other, NotYet)
    assert one.judged.interval == other.judged.interval


def test_ties_of_several_runs_do_not_drop_out(kept) -> None:  # type: ignore[no-untyped-def]
    feelers = Hand(method="feeler-gauge", mean_mm=0.101)
    first, second = kept(
        replace(FINE, beyond_mm=0.02), replace(FINE, hands=(feelers,), beyond_mm=0.02)
    )
    pair = found(together([first, second])).biases[0].found
    assert not isinstance(pair, NotYet)
    assert pair.judged.interval.high - pair.judged.interval.low > 2 * 1.96 * 0.02


def test_a_point_without_a_tie_has_the_guides_in_its_doubt(kept) -> None:  # type: ignore[no-untyped-def]
    there = replace(PAPER, point="q")
    here, away, unknown = kept(
        FINE, replace(FINE, hands=(there,), guides_mm=0.03), replace(FINE, hands=(there,))
    )
    one, other = found(here).trueness[0].off, found(away).trueness[0].off
    assert isinstance(one, Estimate)
    assert isinstance(other, Estimate)
    assert other.high - other.low > one.high - one.low + 0.03
    assert unknown.tied is None
    assert "no tie was made at q" in unknown.notes[0]


def test_the_ties_doubt_counts_in_the_claim() -> None:
    rng = Random(2)
    values = [round(rng.gauss(0.1, 0.008), 3) for _ in range(40)]
    wish = replace(ONE_LOOK, goal=Goal(within_mm=0.03))
    verdicts = []
    for u_mm in (0.0005, 0.02):
        aim = Aim(target_mm=0.1, tie_u_mm=u_mm)
        material = replace(aimed(table(values), aim), notes=())
        verdicts.append(found(material, wish).results[0].verdict)
    sure, doubtful = verdicts
    assert isinstance(sure, Verdict)
    assert isinstance(doubtful, Verdict)
    assert sure.verdict == "meets" or "rig" in str(sure.why)
    assert doubtful.verdict == "cannot tell yet"
    assert doubtful.half_width.high > sure.half_width.high + 0.02


def test_a_later_look_goes_by_less_of_the_risk() -> None:
    material = aimed(table([0.11, 0.12, 0.115, 0.118, 0.112]), Aim(target_mm=0.1))
    widths = []
    for looks in (Looks(declared=1), Looks(), Looks(number=2, spent=0.5)):
        (trueness,) = found(material, Wish(look=Looking(looks=looks))).trueness
        assert trueness.judged_by is not None
        widths.append(trueness.judged_by.high - trueness.judged_by.low)
    assert widths == sorted(widths)
    assert widths[0] < widths[1] < widths[2]
    (spent,) = found(material, Wish(look=Looking(looks=Looks(number=3, declared=2)))).trueness
    assert spent.why is not None
    assert spent.why.code is Withheld.NO_RISK_LEFT


def test_runs_that_wanted_other_gaps_are_not_taken_as_one(kept) -> None:  # type: ignore[no-untyped-def]
    first, second = kept(FINE, replace(FINE, target_mm=0.2))
    with pytest.raises(DataError, match=r"the gap wanted is 0\.2 mm, but 0\.1 mm in run 1"):
        together([first, second])
    with pytest.raises(DataError, match="nothing ties its readings"):
        together([first, table([0.1, 0.11])])


def test_readings_that_are_no_gaps_have_no_target() -> None:
    with pytest.raises(DataError, match="no gaps in mm"):
        aimed(replace(table([0.1, 0.2]), zero_known=False), Aim(target_mm=0.1))


def test_another_gap_may_be_asked_for_of_a_run(kept) -> None:  # type: ignore[no-untyped-def]
    (material,) = kept(FINE)
    before, after = (
        found(one).trueness[0] for one in (material, aimed(material, Aim(target_mm=0.11)))
    )
    assert _gap(after) == pytest.approx(_gap(before), abs=1e-9)
    assert after.meant_mm == 0.11
    with pytest.raises(DataError, match="has a tie of its own"):
        aimed(material, Aim(target_mm=0.11, tie_u_mm=0.01))


def _gap(trueness: Trueness) -> float:
    assert isinstance(trueness.mean_gap, Estimate)
    return trueness.mean_gap.value


def test_a_study_of_ties_tells_how_the_constant_scatters(kept) -> None:  # type: ignore[no-untyped-def]
    run = replace(FINE, kind="tie", hands=(), times=30, check_times=0, tolerance_mm=None)
    (material,) = kept(run)
    analysis = found(material)
    assert analysis.trueness == ()
    assert analysis.tie is not None
    (result,) = analysis.results
    assert result.readings == 30
    assert result.spread is not None
    assert "The tie, by touch, mm" in ANALYSIS.text(analysis)
