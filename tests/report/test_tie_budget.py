"""The shipped budgets of a tie, worked by separate arithmetic."""

import math

import numpy as np
import pytest

from hostctl.config.budgets.budget import BudgetFile, budget_from
from hostctl.config.find import SHIPPED
from hostctl.config.load import check
from hostctl.config.study import Study
from hostctl.config.yaml_text import Source
from hostctl.metrology.uncertainty.monte_carlo import propagate
from hostctl.metrology.uncertainty.propagation import combine
from hostctl.report.budget.budget import work_out
from hostctl.report.budget.mapping import budget_of

# JCGM 100:2008 (from memory): limits +-a of a rectangle are a / sqrt 3 (4.3.7), of a triangle
# a / sqrt 6 (4.3.9), a step is step / sqrt 12 (F.2.2.1), the mean of n has s / sqrt n (4.2.3).
# The figures in millimetres are the example's own.
BEYOND = {
    "Z travel between the heights": 2 * 0.001 / math.sqrt(3),
    "microsteps": 0.005 / math.sqrt(6),
    "play of the Z axis": 0.002 / math.sqrt(3),
    "contact force": 0.1 / 80 / math.sqrt(3),
    "residue on the nozzle": 0.004 / math.sqrt(3),
    "thermal growth": 50 * math.sqrt((23.1e-6**2 + (1e-6) ** 2 / 3) * 1**2 / 3),
    "indicator's permissible error": 0.0025 / math.sqrt(3),
}
SHOWN = {
    "scatter of the touch": 0.003 / math.sqrt(5),
    "step of the touch": 0.01 / math.sqrt(12),
    "graduation": 0.01 / math.sqrt(12),
}


def file_of(name: str) -> BudgetFile:
    return budget_from(Source.of(SHIPPED / "budgets" / f"{name}.yaml"))


def together(parts: dict[str, float]) -> float:
    """JCGM 100:2008, 5.1.2, of a plain sum."""
    return math.sqrt(sum(u * u for u in parts.values()))


@pytest.mark.parametrize(
    ("name", "parts"),
    [("tie-beyond-touches", BEYOND), ("tie-by-touch", {**SHOWN, **BEYOND})],
)
def test_by_propagation_and_by_simulation_it_is_the_root_of_the_sum_of_squares(
    name: str, parts: dict[str, float]
):
    budget = budget_of(file_of(name), {})
    found = combine(budget)
    assert {line.name: abs(line.contribution) for line in found.lines} == pytest.approx(
        parts, rel=1e-3
    )
    assert found.u == pytest.approx(together(parts), rel=1e-3)
    drawn = propagate(budget, np.random.default_rng(1), most_trials=400_000)
    # scatter known from ten touches is Student's t, whose variance is 9 / 7 of its scale's
    wider = SHOWN["scatter of the touch"] ** 2 * 2 / 7 if name == "tie-by-touch" else 0.0
    assert drawn.u == pytest.approx(math.sqrt(together(parts) ** 2 + wider), rel=0.005)


def test_what_touches_show_is_not_in_what_a_study_takes():
    whole, beyond = (file_of(name).parts for name in ("tie-by-touch", "tie-beyond-touches"))
    assert [part for part in whole if part.name not in SHOWN] == beyond
    assert {part.name for part in whole} == {*SHOWN, *BEYOND}


def test_a_shipped_study_takes_the_figure_that_comes_out():
    study = check(Study, Source.of(SHIPPED / "studies" / "true-gap.yaml"))
    assert study.tie is not None
    stated = study.tie.beyond_mm
    result = work_out(file_of("tie-beyond-touches"), {}, seed=1, most_trials=200_000)
    assert stated == round(together(BEYOND), 3) == round(result.propagation.u, 3)
