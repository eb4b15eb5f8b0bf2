"""Results whose documents are kept as text, page and Markdown in `documents/`.

Write them anew on purpose, and read what changed:
PYTHONPATH=tests:tests/store python tests/report/told_cases.py
"""

import asyncio
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import cache, partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from gap_runs import GapRun, Hand, keep_gap_runs
from levelled_runs import MACHINE as MACHINE_TEXT
from levelled_runs import keep_levelling
from loop_runs import Truth, loop_on_record, study_text

from hostctl.config.budgets.budget import budget_from
from hostctl.config.load import machine_from
from hostctl.config.yaml_text import Source
from hostctl.metrology.claims.looks import Looks
from hostctl.report.analysis.analysis import Wish, analyse
from hostctl.report.analysis.document import ANALYSIS
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.budget.budget import work_out
from hostctl.report.budget.document import BUDGET
from hostctl.report.budget.result import RigSpread, UncertaintyBudget
from hostctl.report.document.as_html import as_html
from hostctl.report.document.as_markdown import as_markdown
from hostctl.report.document.as_text import as_text
from hostctl.report.document.blocks import Document
from hostctl.report.document.question import Question
from hostctl.report.enclosed.sourced import sourced_run
from hostctl.report.history.document import HISTORY
from hostctl.report.history.history import history_of_checks, history_of_values
from hostctl.report.history.result import Check, History, Point
from hostctl.report.kinds.levelling.document import LEVELLING
from hostctl.report.kinds.levelling.found.from_run import levelling_of
from hostctl.report.kinds.levelling.found.from_table import levelling_of_table
from hostctl.report.kinds.levelling.result import LevelResult
from hostctl.report.kinds.looping.document import LOOPING
from hostctl.report.planning.document import PLAN
from hostctl.report.planning.plan import plan
from hostctl.report.planning.result import Plan
from hostctl.report.planning.run import PastRun
from hostctl.report.planning.wishes import Wishes
from hostctl.report.sources.looks import UNRECORDED, Looking
from hostctl.report.sources.material import Block, Goal, Material, together
from hostctl.report.sources.rig_check import RigChoice
from hostctl.report.sources.run_material import run_material
from hostctl.report.trueness.aimed import Aim, aimed

THRICE = Looking(looks=Looks(number=2, declared=3, spent=1 / 3), earlier=1)
TWO_POINTS = "front-left, back-left"
FOLDER = Path(__file__).parent / "documents"
LAYOUTS: Mapping[str, Callable[[Document], str]] = {
    "txt": as_text,
    "html": as_html,
    "md": as_markdown,
}
SPREADS_MM = (0.0060, 0.0055, 0.0063, 0.0058, 0.0061, 0.0057)
STUDY_MM = {
    ("light", "helper-1"): (
        (0.01, 0.03, 0.01, 0.02, 0.02, 0.02),
        (0.0, 0.0, 0.0, -0.01, -0.01, 0.0),
    ),
    ("light", "helper-2"): (
        (0.02, 0.01, 0.01, 0.01, 0.02, 0.0),
        (0.0, -0.01, -0.02, -0.03, -0.01, -0.01),
    ),
    ("slip", "helper-1"): (
        (-0.01, 0.0, -0.03, -0.03, -0.02, 0.01),
        (0.0, -0.01, 0.04, 0.02, -0.01, 0.0),
    ),
    ("slip", "helper-2"): (
        (0.12, -0.04, 0.06, 0.02, 0.08, -0.05),
        (-0.14, -0.06, -0.06, 0.04, -0.04, 0.09),
    ),
}
EVERY_KIND = """\
measurand: height
confidence: 0.99
model: step + indicator + stem + rig + warmth + force + play - other / 3
contributions:
  - resolution: {step_mm: 0.01, name: step}
  - indicator_error: {limit_mm: 0.003, name: indicator}
  - tilted_stem: {travel_mm: 5, tilt_deg: 4, name: stem}
  - rig_repeatability: {from_run: 4, readings: 2, difference: true, name: rig}
  - thermal_growth: {length_mm: 50, expansion_per_k: 2e-5, change_limit_k: 1, name: warmth}
  - contact_force: {force_limit_n: 0.2, stiffness_n_per_mm: 80, name: force}
  - other: {name: play, uniform: 0.002, relative_doubt: 0.25}
  - other: {name: other, inexact_uniform: {half_width: 0.003, doubt: 0.001}, unit: K}
correlations:
  - {between: [warmth, force], r: 0.3}
"""
ONE_LARGE = """\
measurand: gap
contributions:
  - other: {name: large, uniform: 0.02}
  - other: {name: small, normal: 0.001, df: 4, value: 0.1}
"""
JUDGED = """\
measurand: gap
limits: {lower: 0.15, upper: 0.25}
contributions:
  - other: {name: mean, normal: 0.006, value: 0.21}
"""
RIG = RigSpread(run=4, sd_mm=0.0039, df=9, bound=True, doubts=("As a rig check run 4 fits badly.",))


def checks(spreads_mm: tuple[float, ...], *, has_datum: bool) -> list[Check]:
    """One a week, read to 0.001 mm; with a datum their means rise slowly."""
    start = datetime(2026, 1, 5, tzinfo=UTC)
    return [
        Check(
            name=f"run {number}",
            at=start + timedelta(weeks=number - 1),
            n=21,
            sd_mm=sd_mm,
            df=20,
            resolution_mm=0.001,
            mean_mm=0.001 * (number % 3) if has_datum else None,
        )
        for number, sd_mm in enumerate(spreads_mm, 1)
    ]


def rig_over_time(
    spreads_mm: tuple[float, ...], *, has_datum: bool = False, baseline: int | None = None
) -> History:
    """A history of such checks, one more having been broken off."""
    kept = checks(spreads_mm, has_datum=has_datum)
    return history_of_checks("the rig of bench", kept, ["run 99"], baseline=baseline)


def values_kept() -> History:
    """Heights somebody wrote down without dates."""
    points = [
        Point(name=f"check {number}", when="", value=value)
        for number, value in enumerate((0.1, 0.12, 0.09, 0.11, 0.1, 0.3), 1)
    ]
    return history_of_values("what kept.csv follows", points, baseline=None)


def past_run() -> PastRun:
    """Two methods in two pairs of hands, one of them read alike throughout."""
    values = {
        ("contact-light", "volunteer-a"): (0.0, 0.01, 0.01, 0.0, -0.01, 0.01, 0.0, 0.02),
        ("contact-light", "volunteer-b"): (0.02, 0.02, 0.02, 0.02, 0.02, 0.02, 0.02, 0.02),
        ("paper-slip", "volunteer-a"): (0.03, -0.04, 0.0, 0.02, -0.02, 0.05, -0.03, 0.01),
    }
    material = Material(
        name="run 2",
        title="Three ways",
        kind="comparison",
        machine="bench",
        reference="datum",
        zero_known=True,
        resolution_mm=0.01,
        resolution_from="recorded with each reading",
        blocks=tuple(
            Block(method=method, operator=operator, point="front-left", values_mm=list(read_mm))
            for (method, operator), read_mm in values.items()
        ),
        goal=None,
        notes=(),
    )
    rig = RigChoice(run=1, why="Rig check: run 1, the last one of bench before run 2.", doubts=())
    return PastRun(
        run=2,
        material=material,
        goal=Goal(within_mm=0.05),
        zero_known=True,
        trial_seconds=45.0,
        rig=rig,
    )


def asked(**wishes: Any) -> Plan:
    """The plan for such wishes."""
    return plan(Wishes(**wishes))


def worked(text: str) -> UncertaintyBudget:
    """A budget file's text worked out, few trials drawn."""
    file = budget_from(Source("budget.yaml", text))
    return work_out(file, {4: RIG} if "from_run" in text else {}, seed=1, most_trials=50_000)


def study(**changes: Any) -> Material:
    """Two methods in two pairs of hands at two points, one zero a block, read to 0.01 mm."""
    known = {
        "name": "run 2",
        "title": "Two ways · small on bench, 2026-11-28 10:00 UTC",
        "kind": "comparison",
        "machine": "bench",
        "reference": "first",
        "zero_known": False,
        "resolution_mm": 0.01,
        "resolution_from": "recorded with each reading",
        "blocks": tuple(_blocks(STUDY_MM)),
        "goal": Goal(within_mm=0.05),
        "notes": ("Trials skipped: 1.",),
    }
    return Material(**known | changes)


def _blocks(values_mm: Mapping[tuple[str, str], tuple[tuple[float, ...], ...]]) -> list[Block]:
    return [
        Block(method=method, operator=operator, point=point, values_mm=list(read_mm))
        for (method, operator), blocks in values_mm.items()
        for point, read_mm in zip(("front-left", "back-right"), blocks, strict=False)
    ]


def rig_check() -> Material:
    """Ten readings with nothing adjusted."""
    values = {("rig-check", ""): ((0.0, 0.01, 0.0, -0.01, 0.0, 0.01, 0.0, 0.0, 0.01, -0.01),)}
    return study(
        name="run 1",
        title="Rig check · rig-check on bench, 2026-11-28 09:00 UTC",
        kind="rig-check",
        blocks=tuple(_blocks(values)),
        goal=None,
        notes=("Rig check: run 1, the last one of bench before run 2.",),
    )


def analysed(material: Material, rig: Material | None = None, **wish: Any) -> Analysis:
    """The analysis of a study; the first look at it, where nothing else is said."""
    return analyse(material, rig, Wish(**{"look": Looking(earlier=0)} | wish))


def from_a_datum() -> Analysis:
    """The same readings, as heights from one datum: means and a gauge study too."""
    return analysed(study(reference="datum", zero_known=True), rig_check(), look=THRICE)


def one_method(*blocks: tuple[float, ...], **changes: Any) -> Analysis:
    """A single method, nobody's hands named, no rig check; differences of two settings."""
    values = {("paper-slip", ""): blocks}
    known = {"reference": "previous", "blocks": tuple(_blocks(values))}
    return analysed(study(**known | changes))


def ring(**changes: Any) -> Material:
    """Four machines, one file each: paper scatters more on the last, and sets higher there."""
    slip = {
        "bench": (0.01, 0.03, -0.01, 0.02, 0.0, 0.02),
        "attic": (0.0, 0.02, 0.01, 0.03, 0.01, -0.01),
        "library": (0.02, 0.0, 0.01, -0.02, 0.01, 0.0),
        "school": (0.12, 0.05, 0.14, 0.02, 0.17, 0.1),
    }
    return together(
        [
            study(
                name=f"{machine}.csv",
                title=f"Paper on {machine}",
                machine=machine,
                blocks=tuple(_blocks({("slip", "helper"): (read_mm,)})),
                notes=(),
                **changes,
            )
            for machine, read_mm in slip.items()
        ]
    )


PAPER = Hand(method="slip", mean_mm=0.131)
FEELER = Hand(method="leaf", mean_mm=0.102, sd_mm=0.005)
LIGHT = Hand(method="light", mean_mm=0.108, sd_mm=0.004)
GOES_BY = {"leaf": "feelers", "light": "contact"}
WAYS = GapRun(
    hands=(PAPER, FEELER, LIGHT),
    goes_by=GOES_BY,
    margin_mm=0.02,
    step_mm=0.005,
    beyond_mm=0.002,
    trials=12,
    checked_after=(18,),
)
MOVED = replace(
    WAYS, hands=(PAPER,), trials=16, checked_after=(8,), moves_mm={5: 0.04}, said_to_move=(1,)
)


def tied(of: GapRun, **wish: Any) -> Analysis:
    """A run whose readings are gaps, with a rig check that has no scatter to speak of."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "gaps.sqlite"
        keep_gap_runs(path, of)
        material = run_material(path, 1)
    return analysed(material, None if of.kind == "tie" else rig_check(), **wish)


def gaps_of_a_file() -> Analysis:
    """Gaps measured elsewhere, their zero known to 0.006 mm."""
    read_mm = (0.14, 0.13, 0.15, 0.14, 0.12, 0.14, 0.13, 0.14, 0.15, 0.13)
    blocks = tuple(_blocks({("paper-slip", ""): (read_mm,)}))
    material = study(name="gaps.csv", title="gaps.csv", kind="", machine="", goal=None, notes=())
    material = replace(material, reference="datum", zero_known=True, blocks=blocks)
    return analysed(aimed(material, Aim(target_mm=0.1, margin_mm=0.05, tie_u_mm=0.006)))


def levelled(**how: Any) -> LevelResult:
    with TemporaryDirectory() as folder:
        database = Path(folder) / "runs.sqlite"
        asyncio.run(keep_levelling(database, **how))
        return levelling_of(sourced_run(database, 1))


def heights_of_a_table(*rows: str) -> LevelResult:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "heights.csv"
        path.write_text("\n".join(["x_mm,y_mm,height_mm", *rows]))
        machine = machine_from(Source("machine", MACHINE_TEXT))
        return levelling_of_table(path, machine, within_mm=0.05)


Case = tuple[Question[Any], Callable[[], Any]]
CASES: Mapping[str, Case] = {
    "analysis-comparison": (ANALYSIS, lambda: analysed(study(), rig_check())),
    "analysis-from-a-datum": (ANALYSIS, from_a_datum),
    "analysis-rig-check": (ANALYSIS, lambda: analysed(rig_check())),
    "analysis-one-method": (ANALYSIS, partial(one_method, (0.01, -0.02, 0.03, -0.03, 0.02, -0.01))),
    "analysis-alike": (ANALYSIS, partial(one_method, (0.0,) * 9, goal=None, reference="first")),
    "analysis-no-spread": (ANALYSIS, partial(one_method, (0.01,), reference="datum")),
    "analysis-far-off": (
        ANALYSIS,
        partial(one_method, (0.0, 0.01, -0.01, 0.0, 0.02, 0.01, 0.0, 0.3, -0.01, 0.01)),
    ),
    "analysis-two-heaps": (
        ANALYSIS,
        partial(one_method, (0.0, 0.06, 0.01, -0.01, 0.07, 0.0, 0.01, 0.06) * 2, reference="datum"),
    ),
    "analysis-workshops": (ANALYSIS, lambda: analysed(ring(), look=UNRECORDED)),
    "analysis-workshops-from-a-datum": (
        ANALYSIS,
        lambda: analysed(ring(reference="datum", zero_known=True)),
    ),
    "analysis-tied": (ANALYSIS, partial(tied, WAYS)),
    "analysis-tied-one-method": (ANALYSIS, partial(tied, replace(WAYS, hands=(PAPER,)))),
    "analysis-tied-no-margin": (
        ANALYSIS,
        partial(tied, replace(WAYS, hands=(PAPER, FEELER), margin_mm=None, tolerance_mm=None)),
    ),
    "analysis-tied-by-feelers": (
        ANALYSIS,
        partial(tied, replace(WAYS, hands=(FEELER,), by="feelers", trials=10)),
    ),
    "analysis-tie-moved": (ANALYSIS, partial(tied, MOVED)),
    "analysis-tie-alone": (
        ANALYSIS,
        partial(tied, replace(WAYS, kind="tie", hands=(), times=20, tolerance_mm=None)),
    ),
    "analysis-gaps-of-a-file": (ANALYSIS, gaps_of_a_file),
    "plan-overview": (PLAN, asked),
    "plan-all-parts": (
        PLAN,
        partial(
            asked,
            know_within=0.2,
            see_ratio=2,
            within_mm=0.05,
            expected_sd_mm=0.015,
            bias_mm=0.01,
            trial_seconds=90,
        ),
    ),
    "plan-guesses": (PLAN, partial(asked, within_mm=0.05, trial_seconds=60)),
    "plan-never": (PLAN, partial(asked, within_mm=0.05, expected_sd_mm=0.03)),
    "plan-too-near": (PLAN, partial(asked, within_mm=0.05, expected_sd_mm=0.0255)),
    "plan-by-run": (PLAN, lambda: plan(Wishes(), past_run())),
    "budget-every-kind": (BUDGET, partial(worked, EVERY_KIND)),
    "budget-one-large": (BUDGET, partial(worked, ONE_LARGE)),
    "budget-judged": (BUDGET, partial(worked, JUDGED)),
    "levelling-done": (LEVELLING, levelled),
    "levelling-on-the-way": (LEVELLING, partial(levelled, most_rounds=2)),
    "levelling-warm": (
        LEVELLING,
        partial(levelled, still={"still": False, "waited_s": 3600.0, "drift_mm": 0.013}),
    ),
    "levelling-of-a-table": (
        LEVELLING,
        partial(heights_of_a_table, "30,30,0", "190,30,0.5", "30,190,-0.2", "190,190,0.33"),
    ),
    "levelling-of-three-points": (
        LEVELLING,
        partial(heights_of_a_table, "30,30,0", "190,30,0.5", "30,190,-0.2"),
    ),
    "history-steady": (HISTORY, partial(rig_over_time, SPREADS_MM, has_datum=True)),
    "history-loose": (
        HISTORY,
        partial(rig_over_time, (*SPREADS_MM * 4, 0.013, 0.014), baseline=12),
    ),
    "history-one-check": (HISTORY, partial(rig_over_time, SPREADS_MM[:1])),
    "history-few-checks": (HISTORY, partial(rig_over_time, SPREADS_MM[:3])),
    "history-alike": (HISTORY, partial(rig_over_time, (0.0, 0.0, 0.0))),
    "history-values": (HISTORY, values_kept),
    "probe-loop-night": (
        LOOPING,
        partial(
            loop_on_record,
            study_text(trials=900, loop="{known_to: 0.1}"),
            Truth(warm_up_mm=-0.02, jumps={700: 0.05}, drift_mm_per_h=0.002),
        ),
    ),
    "probe-loop-sides": (
        LOOPING,
        partial(
            loop_on_record,
            study_text(trials=150, points=TWO_POINTS, loop="{sides: true, home_every: 20}"),
            Truth(side_mm=0.004, homing_mm=0.003, fails=(5, 9)),
        ),
    ),
    "probe-loop-known": (
        LOOPING,
        partial(loop_on_record, study_text(trials=900, loop="{known_to: 0.2}"), Truth()),
    ),
    "probe-loop-heated": (
        LOOPING,
        partial(
            loop_on_record,
            study_text(
                trials=240,
                loop="{heat: {bed_c: 50, warm_touches: 40, cool_touches: 40, cycles: 3}}",
            ),
            Truth(per_k_mm=-0.0005, rise_k=28.0),
        ),
    ),
    "probe-loop-before-loops": (
        LOOPING,
        partial(loop_on_record, study_text(trials=20, points=TWO_POINTS, loop=None), Truth()),
    ),
    "probe-loop-alike": (
        LOOPING,
        partial(loop_on_record, study_text(trials=40), Truth(sigma_mm=0.0001)),
    ),
    "probe-loop-one-touch": (
        LOOPING,
        partial(loop_on_record, study_text(trials=20), Truth(), most=1),
    ),
}


@cache
def found(name: str) -> Any:
    """The case's result."""
    return CASES[name][1]()


def told(name: str, layout: str) -> str:
    """The case's document, laid out, with its formulas where there are any."""
    return LAYOUTS[layout](CASES[name][0].document(found(name), True)).rstrip("\n") + "\n"


def write_all() -> None:
    """Write every document to its file."""
    FOLDER.mkdir(exist_ok=True)
    for name in CASES:
        for layout in LAYOUTS:
            (FOLDER / f"{name}.{layout}").write_text(told(name, layout))


if __name__ == "__main__":
    write_all()
