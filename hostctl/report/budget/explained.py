"""The formulas of a budget with its own numbers in them, for a reader who wants to do it again."""

import math
from collections.abc import Iterable
from typing import assert_never

from hostctl.config import contributions as given
from hostctl.metrology.uncertainty.propagation import BudgetLine
from hostctl.report.budget.budget import WorkedOut
from hostctl.report.document.significant import beside, significant, whole
from hostctl.report.document.wrapped import wrapped


def explanation(worked: WorkedOut) -> str:
    """Each contribution's u, then how they combine."""
    lines = [
        wrapped(f"{line.name}: {_formula(part, worked)} = {significant(line.u, 3)}", first="  ")
        for part, line in zip(worked.file.parts, worked.combined.lines, strict=True)
    ]
    together = [wrapped(sentence, first="  ") for sentence in _together(worked)]
    return "\n".join(["Standard uncertainty u of each:", *lines, "", "Together:", *together])


def _formula(part: given.Part, worked: WorkedOut) -> str:
    match part:
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
        case given.RigRepeatability():
            return _rig_formula(part, worked)
        case given.ThermalGrowth():
            return _thermal_formula(part)
        case given.ContactForce(force_limit_n=force, stiffness_n_per_mm=stiffness):
            return f"(force/stiffness)/√3 = ({force:g}/{stiffness:g})/√3 (JCGM 100 4.3.7)"
        case given.Other():
            return _law_formula(part)
        case never:
            assert_never(never)


def _rig_formula(part: given.RigRepeatability, worked: WorkedOut) -> str:
    if part.from_run is None:
        sd, source = f"{part.sd_mm:g}", f"as given on {part.df:g} df"
    else:
        sd = significant(worked.rigs[part.from_run].sd_mm, 3)
        source = f"from run {part.from_run}, its rounding taken out"
    zero = " + 1" if part.difference else ""
    root = f"√(1/{part.readings}{zero})"
    scaled = f"s {root} = {sd} {root}" if part.difference or part.readings > 1 else sd
    return f"{scaled}, s {source} (JCGM 100 4.2.3)"


def _thermal_formula(part: given.ThermalGrowth) -> str:
    return (
        "L √((α u(ΔT))² + (ΔT u(α))² + (u(α) u(ΔT))²) with "
        f"L = {part.length_mm:g}, α = {part.expansion_per_k:g}, ΔT = {part.change_k:g}, "
        f"u(α) = {part.expansion_limit_per_k:g}/√3, u(ΔT) = {part.change_limit_k:g}/√3 "
        "(JCGM 100 5.1.2, exact for a product)"
    )


def _law_formula(part: given.Other) -> str:
    doubt = (
        f", df = 1/2 {part.relative_doubt:g}⁻² (G.4.2)" if part.relative_doubt is not None else ""
    )
    if part.normal is not None:
        return f"a standard deviation as given, {part.normal:g}{doubt}"
    if part.inexact_uniform is not None:
        a, d = part.inexact_uniform.half_width, part.inexact_uniform.doubt
        return f"√(a²/3 + d²/9), a = {a:g}, d = {d:g} (JCGM 101 6.4.3){doubt}"
    for root, half_width, clause in (
        (3, part.uniform, "JCGM 100 4.3.7"),
        (6, part.triangular, "JCGM 100 4.3.9"),
        (2, part.arcsine, "JCGM 101 6.4.6"),
    ):
        if half_width is not None:
            return f"a/√{root} = {half_width:g}/√{root} ({clause}){doubt}"
    raise AssertionError("a contribution that was checked has a law")


def _together(worked: WorkedOut) -> Iterable[str]:
    combined, unit = worked.combined, worked.file.unit
    parts = [line for line in combined.lines if line.contribution]
    if worked.file.model is not None:
        yield f"Measurand = {worked.file.model}; c u = half its change from x − u to x + u"
    squares = " + ".join(f"{significant(abs(line.contribution), 3)}²" for line in parts) or "0"
    pairs = " + 2 Σ c_i c_j u_i u_j r_ij" if worked.file.correlations else ""
    yield (
        f"u_c = √(Σ (c u)²{pairs}) = √({squares}{' + …' if pairs else ''}) = "
        f"{significant(combined.u, 3)} {unit} (JCGM 100 eq. 13)"
    )
    for pair in worked.file.correlations:
        yield f"r({pair.between[0]}, {pair.between[1]}) = {pair.r:g}"
    yield _degrees_of_freedom(worked, parts)
    chance = (1 + combined.confidence) / 2
    yield (
        f"k = t({chance:.4g}; {whole(combined.df_used)}) = "
        f"{combined.coverage_factor:.3f}, Student's t (JCGM 100 G.3.2)"
    )
    yield (
        f"U = k u_c = {combined.coverage_factor:.3f} × {significant(combined.u, 3)} = "
        f"{significant(combined.expanded, 3)} {unit}; value "
        f"{beside(combined.value, combined.expanded, digits=3)} {unit}"
    )


def _degrees_of_freedom(worked: WorkedOut, parts: list[BudgetLine]) -> str:
    combined = worked.combined
    finite = [line for line in parts if not math.isinf(line.df)]
    if not finite:
        return "ν_eff = ∞: each u is taken as exactly known"
    terms = " + ".join(
        f"{significant(abs(line.contribution), 3)}⁴/{line.df:.3g}" for line in finite
    )
    if worked.file.correlations:
        terms = "Σ u⁴/ν, correlated ones as one part on the fewest ν among them"
    return (
        f"ν_eff = u_c⁴ / ({terms}) = {combined.df:.1f}, used as {whole(combined.df_used)} "
        "(JCGM 100 eq. G.2b, G.4.1)"
    )
