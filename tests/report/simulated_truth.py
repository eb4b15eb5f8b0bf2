"""Whole studies on the simulated printer, analysed, beside the truth the simulation was given.

The whole chain: schedule, link, simulated board and bed and people, gauge, store on disk, rows to
numbers, rig check taken out. Each seed is another bed, other hands and another order.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from hostctl_simulators import find_world, forget_printers

from hostctl.cli.session import Session, carry_out_session
from hostctl.config.yaml_text import Source
from hostctl.daemon.assembly.plan import machine_file, plan_from
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.metrology.spread.setting import Setting
from hostctl.report.analysis.analysis import Wish, analyse
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.sources.run_material import run_material

CYCLE = "cycle: {settle_s: 0, countdown_s: 0}"
RIG_CHECK = f"""\
study: rig-check
title: Rig check
kind: rig-check
points: [front-left]
trials: 20
{CYCLE.replace("}", ", turn_away: null}")}
"""
COMPARISON = f"""\
study: recovery
title: Two methods in two pairs of hands
kind: comparison
methods:
  - {{name: paper-slip, instruction: Set it.}}
  - {{name: contact-light, instruction: Set it.}}
operators: [volunteer-a, volunteer-b]
points: [front-left, back-right]
trials: TRIALS
{CYCLE}
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Recovered:
    """One method and operator of one simulated study. rig: the rig check itself."""

    seed: int
    name: str
    truth_mm: float
    low_mm: float
    high_mm: float
    value_mm: float | None

    @property
    def holds(self) -> bool:
        """Whether the truth lies inside the interval."""
        return self.low_mm <= self.truth_mm <= self.high_mm


def recovered(seed: int, folder: Path, trials: int = 5) -> Iterator[Recovered]:
    """Carry out a rig check and a comparison, analyse both, and set them beside the truth."""
    forget_printers()
    database = folder / f"{seed}.sqlite"
    check, study = (
        _carried_out(text, seed, database)
        for text in (RIG_CHECK, COMPARISON.replace("TRIALS", str(trials)))
    )
    truth = find_world(_url(seed)).truth
    rig = run_material(database, check)
    yield _of_rig(seed, analyse(rig, None, Wish()), truth.rig_sigma_mm)
    for result in analyse(run_material(database, study), rig, Wish()).results:
        if isinstance(result.setting, Setting):
            yield Recovered(
                seed=seed,
                name=result.name,
                truth_mm=truth.sigma_mm(result.method, result.operator),
                low_mm=result.setting.interval.low,
                high_mm=result.setting.interval.high,
                value_mm=result.setting.value,
            )
    forget_printers()


def _of_rig(seed: int, analysis: Analysis, truth_mm: float) -> Recovered:
    spread = analysis.results[0].spread
    assert isinstance(spread, RoundedSpread)
    interval = spread.interval
    return Recovered(
        seed=seed,
        name="rig",
        truth_mm=truth_mm,
        low_mm=interval.low,
        high_mm=interval.high,
        value_mm=None,
    )


def _url(seed: int) -> str:
    return f"sim://workshop-220?seed={seed}&speed=max"


def _carried_out(study: str, seed: int, database: Path) -> int:
    machine = machine_file("sim-220")
    text = machine.text.replace(_url(7), _url(seed))
    assert _url(seed) in text
    plan = plan_from(Source("study", study), Source(machine.where, text))
    people: dict[str, object] = {"url": plan.machine.port}
    session = Session(
        plan=plan, database=database, channels={"simulated-people": people}, seed=seed
    )
    return carry_out_session(session).run
