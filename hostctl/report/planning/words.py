"""Words and cells that several parts of a plan share."""

from collections.abc import Sequence

from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.claims.claim import Centre
from hostctl.report.document.blocks import Column, Figure
from hostctl.report.document.reasons import CENTRES
from hostctl.report.document.significant import chance
from hostctl.report.figures.planning_curve import PlanningCurve
from hostctl.report.planning.result import Assumed, ByRun, Chance, Prove, See


def needed(trials: int | None, why_none: Reason | None = None) -> str:
    """The number of trials as a cell of a table; empty where neither is known."""
    if trials is not None:
        return str(trials)
    if why_none is None:
        return ""
    return f"> {why_none.numbers['most']}" if "most" in why_none.numbers else "never"


def marked(trials: int, answer: int | None) -> str:
    """The number of trials as a cell, with an arrow where it is the answer."""
    return f"→ {trials}" if trials == answer else str(trials)


def number_columns(*heads: str) -> tuple[Column, ...]:
    """Columns of numbers, where each cell says its own unit."""
    return tuple(Column(head=head, is_number=True) for head in heads)


def time_head(seconds: float | None, whose: str = "") -> tuple[str, ...]:
    """The head of the column of times, if there is one. whose: methods, where it isn't all."""
    return () if seconds is None else (f"time {whose}".rstrip(),)


def time_cell(trials: int | None, seconds: float | None) -> tuple[str, ...]:
    """The cell below it."""
    if seconds is None:
        return ()
    return ("",) if trials is None else (duration(trials * seconds),)


def taking(trials: int, seconds: float | None, whose: str = "") -> str:
    """How much work it is, as the end of a sentence. whose: methods, where it isn't all."""
    if seconds is None:
        return ""
    return f", about {duration(trials * seconds)} of work {whose}".rstrip()


def duration(seconds: float) -> str:
    """Minutes, or hours and minutes; never less than a minute."""
    minutes = max(1, round(seconds / 60))
    return f"{minutes} min" if minutes < 100 else f"{minutes // 60} h {minutes % 60:02d} min"


def claimed(claim: Prove | ByRun) -> str:
    """What is to be proven, as part of a sentence."""
    return (
        f"at least {chance(claim.proportion)} of settings lie within ±{claim.within_mm:g} mm of "
        f"{CENTRES[claim.centre]} ({chance(claim.confidence)} confidence)"
    )


def claim_how(claim: Prove | ByRun) -> str:
    """By which method, with its source."""
    if claim.centre is Centre.DATUM:
        return (
            "By a generalised pivotal quantity for mean and spread together (Liao, Lin and Iyer "
            "2005), its chances approximate: as if read finely, and no rig taken out; ISO 16269-6 "
            "for tolerance intervals in general."
        )
    limit = (
        "one-sided limit of σ times the normal quantile, the limit of a tolerance interval with "
        "known mean (ISO 16269-6). About a datum (--bias) a bias counts too."
    )
    by_trial = isinstance(claim, ByRun) or claim.assumed.by_trial
    return f"{_BY_TRIAL if by_trial else _EXACT}: {limit}"


_EXACT = "Exact for independent normal settings, by chi-square"
_BY_TRIAL = "By thousands of simulated studies, each judged as analyse judges"


def ratio_how(see: See) -> str:
    """By which method two spreads are compared."""
    risk = chance(see.risk)
    power = f"Power of the two-sided F test of two variances at a risk of {risk}"
    if see.assumed.by_trial:
        power = f"{_BY_TRIAL} at a risk of {risk}"
    return f"{power}, equal numbers of each, independent normal settings."


def taken_for_granted(assumed: Assumed, sd_mm: float | None) -> str:
    """What the study is taken to be. sd_mm: the spread supposed, if one is."""
    said = []
    if assumed.resolution_mm is not None:
        said.append(f"readings to {assumed.resolution_mm:g} mm (--resolution)")
    elif sd_mm is None:
        said.append(
            "a smaller spread of two graduations or more (--expected-sd says which it is; below, "
            "more trials are needed)"
        )
    if assumed.rig_sd_mm is not None:
        said.append(
            f"a rig check of {assumed.rig_trials} trials and a rig of {assumed.rig_sd_mm:g} mm, "
            "taken out"
        )
    elif assumed.resolution_mm is not None:
        said.append("the rig in the spread, none taken out (--rig-sd)")
    if assumed.blocks > 1:
        said.append(f"{assumed.blocks} blocks that share the trials, each with its own zero")
    else:
        said.append("one block")
    if assumed.pairs > 1:
        said.append(
            f"{assumed.pairs} pairs compared, which share the risk (k methods have k(k-1)/2 pairs)"
        )
    return f"Taken for granted: {'; '.join(said)}."


def curve_figure(
    curve: Sequence[Chance], *, goal: float, answer: int, counted: str, caption: str = ""
) -> Figure:
    """The curve; where it has no caption, the sentence before it says what it shows."""
    drawing = PlanningCurve(
        trials=tuple(point.trials for point in curve),
        chances=tuple(point.chance for point in curve),
        goal=goal,
        answer=answer,
        counted=counted,
    )
    says = caption or f"The chance rises with the trials and reaches {chance(goal)} at {answer}."
    return Figure(drawing=drawing, says=says, name="chances", captioned=bool(caption))
