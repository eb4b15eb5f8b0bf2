"""The formulas of a budget with its own numbers in them, for a reader who wants to do it again."""

import math
from collections.abc import Iterable
from typing import assert_never

from hostctl.metrology.uncertainty import contributions as given
from hostctl.metrology.uncertainty.laws import (
    Arcsine,
    InexactUniform,
    Law,
    Normal,
    ScaledT,
    Triangular,
    Uniform,
)
from hostctl.report.budget.result import Contribution, UncertaintyBudget
from hostctl.report.document.blocks import Block, Heading, Items
from hostctl.report.document.significant import beside, significant, whole


def explanation(budget: UncertaintyBudget) -> tuple[Block, ...]:
    """Each contribution's u, then how they combine."""
    lines = tuple(
        f"{line.name}: {_formula(line)} = {significant(line.u, 3)}" for line in budget.contributions
    )
    return (
        Heading(text="Standard uncertainty u of each:", level=2),
        Items(items=lines, bulleted=False),
        Heading(text="Together:", level=2),
        Items(items=tuple(_together(budget)), bulleted=False),
    )


def _formula(line: Contribution) -> str:
    match line.given:
        case given.Resolution(step_mm=step, difference=True):
            return f"read twice, step/√6 = {step:g}/√6 (triangular; JCGM 100 F.2.2.1)"
        case given.Resolution(step_mm=step):
            return f"step/√12 = {step:g}/√12 (JCGM 100 F.2.2.1)"
        case given.IndicatorError(limit_mm=limit):
            return f"limit/√3 = {limit:g}/√3 (JCGM 100 4.3.7)"
        case given.TiltedStem(travel_mm=travel, tilt_deg=tilt):
            return (
                f"{travel:g} times the standard deviation of cos θ, θ uniform within ±{tilt:g}° "
                "(compare JCGM 100 F.2.4.4)"
            )
        case given.RigRepeatability() as rig:
            return _rig_formula(rig, line.from_run)
        case given.ThermalGrowth() as growth:
            return _thermal_formula(growth)
        case given.ContactForce(force_limit_n=force, stiffness_n_per_mm=stiffness):
            return f"(force/stiffness)/√3 = ({force:g}/{stiffness:g})/√3 (JCGM 100 4.3.7)"
        case given.Input(law=law):
            return f"{_law_formula(law)}{_doubt(line.relative_doubt)}"
        case never:
            assert_never(never)


def _rig_formula(rig: given.RigRepeatability, from_run: int | None) -> str:
    if from_run is None:
        sd, source = f"{rig.sd_mm:g}", f"as given on {rig.df:g} df"
    else:
        sd, source = significant(rig.sd_mm, 3), f"from run {from_run}, its rounding taken out"
    zero = " + 1" if rig.difference else ""
    root = f"√(1/{rig.readings}{zero})"
    scaled = f"s {root} = {sd} {root}" if rig.difference or rig.readings > 1 else sd
    return f"{scaled}, s {source} (JCGM 100 4.2.3)"


def _thermal_formula(growth: given.ThermalGrowth) -> str:
    return (
        "L √((α u(ΔT))² + (ΔT u(α))² + (u(α) u(ΔT))²) with "
        f"L = {growth.length_mm:g}, α = {growth.expansion_per_k:g}, ΔT = {growth.change_k:g}, "
        f"u(α) = {growth.expansion_limit_per_k:g}/√3, u(ΔT) = {growth.change_limit_k:g}/√3 "
        "(JCGM 100 5.1.2, exact for a product)"
    )


def _law_formula(law: Law) -> str:
    match law:
        case Normal(sd=sd) | ScaledT(scale=sd):
            return f"a standard deviation as given, {sd:g}"
        case Uniform(half_width=a):
            return f"a/√3 = {a:g}/√3 (JCGM 100 4.3.7)"
        case Triangular(half_width=a):
            return f"a/√6 = {a:g}/√6 (JCGM 100 4.3.9)"
        case Arcsine(half_width=a):
            return f"a/√2 = {a:g}/√2 (JCGM 101 6.4.6)"
        case InexactUniform(half_width=a, doubt=d):
            return f"√(a²/3 + d²/9), a = {a:g}, d = {d:g} (JCGM 101 6.4.3)"
        case _:
            raise AssertionError(f"a file gives no {type(law).__name__}")


def _doubt(relative_doubt: float | None) -> str:
    return "" if relative_doubt is None else f", df = 1/2 {relative_doubt:g}⁻² (G.4.2)"


def _together(budget: UncertaintyBudget) -> Iterable[str]:
    combined, unit = budget.propagation, budget.unit
    parts = [line for line in budget.contributions if line.contribution]
    if budget.model is not None:
        yield f"Measurand = {budget.model}; c u = half its change from x − u to x + u"
    squares = " + ".join(f"{significant(abs(line.contribution), 3)}²" for line in parts) or "0"
    pairs = " + 2 Σ c_i c_j u_i u_j r_ij" if budget.correlations else ""
    yield (
        f"u_c = √(Σ (c u)²{pairs}) = √({squares}{' + …' if pairs else ''}) = "
        f"{significant(combined.u, 3)} {unit} (JCGM 100 eq. 13)"
    )
    for pair in budget.correlations:
        yield f"r({pair.first}, {pair.second}) = {pair.r:g}"
    yield _degrees_of_freedom(budget, parts)
    chance = (1 + budget.confidence) / 2
    yield (
        f"k = t({chance:.4g}; {whole(combined.df_used)}) = "
        f"{combined.coverage_factor:.3f}, Student's t (JCGM 100 G.3.2)"
    )
    yield (
        f"U = k u_c = {combined.coverage_factor:.3f} × {significant(combined.u, 3)} = "
        f"{significant(combined.expanded, 3)} {unit}; value "
        f"{beside(combined.value, combined.expanded, digits=3)} {unit}"
    )


def _degrees_of_freedom(budget: UncertaintyBudget, parts: list[Contribution]) -> str:
    combined = budget.propagation
    finite = [line for line in parts if not math.isinf(line.df)]
    if not finite:
        return "ν_eff = ∞: each u is taken as exactly known"
    terms = " + ".join(
        f"{significant(abs(line.contribution), 3)}⁴/{line.df:.3g}" for line in finite
    )
    if budget.correlations:
        terms = "Σ u⁴/ν, correlated ones as one part on the fewest ν among them"
    return (
        f"ν_eff = u_c⁴ / ({terms}) = {combined.df:.1f}, used as {whole(combined.df_used)} "
        "(JCGM 100 eq. G.2b, G.4.1)"
    )
