"""Plans as text: the answer in a sentence, a small table, a curve, and how it was worked out."""

from collections.abc import Sequence

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.claims.claim import Centre, Claim
from hostctl.report.document.reasons import CENTRES, reason_words
from hostctl.report.document.significant import chance, percent
from hostctl.report.document.table import table
from hostctl.report.document.wrapped import wrapped
from hostctl.report.planning.curve import curve
from hostctl.report.planning.planning import (
    ClaimPlan,
    KnowPlan,
    RatioPlan,
)
from hostctl.report.planning.run import SpreadFound
from hostctl.report.sources.rig_check import RigChoice

CAUTIONS = (
    "Trials here are settings that count. With reference `first` a block's zero is one of them; "
    "with `previous` about half as many again are needed.",
    "All this takes settings as independent, normal and read finely. With a spread below one "
    "graduation a reading tells less, and more are needed.",
)


def know_text(plan: KnowPlan, seconds: float | None) -> str:
    """How many trials to know a spread."""
    within = f"±{chance(plan.within)}"
    answer = (
        f"{plan.n} trials tell a spread to within {within}: in {chance(plan.confidence)} of "
        f"studies s is that near to the true standard deviation{_taking(plan.n, seconds)}."
    )
    heads = ("trials", f"chance of {within}", "true spread from", "to", *_time_head(seconds))
    rows = [
        [
            _marked(found.n, plan.n),
            percent(point.chance),
            f"{found.low:.2f} s",
            f"{found.high:.2f} s",
            *_time_cell(found.n, seconds),
        ]
        for found, point in plan.rows
    ]
    how = (
        "Exact, from the chi-square law of s²/σ² for independent normal settings. 'True spread "
        f"from … to': the usual {chance(plan.confidence)} interval after that many trials. The "
        "doubt of s itself: JCGM 100:2008, table E.1 (52 % from 3 trials, 24 % from 10)."
    )
    drawn = curve(plan.curve, goal=plan.confidence, answer=plan.n, what="trials")
    return joined(answer, _table(heads, rows), drawn, how)


def ratio_text(plan: RatioPlan, seconds: float | None) -> str:
    """How many trials of each of two methods to see which spreads less."""
    answer = (
        f"{plan.n} trials of each method show it when one spreads {plan.ratio:g} times as widely "
        f"as the other, in {chance(plan.power)} of studies{_taking(2 * plan.n, seconds)}."
    )
    heads = (
        "trials of each",
        "chance to see it",
        "smallest ratio that shows",
        *_time_head(seconds),
    )
    rows = [
        [
            _marked(point.n, plan.n),
            percent(point.chance),
            f"{smallest:.2f}",
            *_time_cell(2 * point.n, seconds),
        ]
        for point, smallest in plan.rows
    ]
    how = (
        f"Power of the two-sided F test of two variances at a risk of {chance(plan.risk)}, equal "
        "numbers of each, independent normal settings. 'Smallest ratio that shows': of the "
        "standard deviations found. With several methods compared at once the risk is shared, "
        "and more trials are needed."
    )
    drawn = curve(plan.curve, goal=plan.power, answer=plan.n, what="trials of each")
    return joined(answer, _table(heads, rows), drawn, how)


def claim_text(plan: ClaimPlan, seconds: float | None) -> str:
    """How many trials to prove a claim about future settings."""
    if isinstance(plan.n, NotYet):
        return joined(
            f"No sensible number of trials proves it: {reason_words(plan.n.reason)}.",
            _claim_how(plan.claim),
        )
    truth = f"a standard deviation of {plan.sigma:g} mm"
    if plan.claim.centre is Centre.DATUM:
        truth = f"{truth} and a bias of {plan.bias:g} mm"
    answer = (
        f"{plan.n} trials prove that {_claimed(plan.claim)}, in {chance(plan.power)} of studies, "
        f"if the truth is {truth}{_taking(plan.n, seconds)}."
    )
    heads = ("trials", "chance to prove it", *_time_head(seconds))
    rows = [
        [_marked(point.n, plan.n), percent(point.chance), *_time_cell(point.n, seconds)]
        for point in plan.rows
    ]
    drawn = curve(plan.curve, goal=plan.power, answer=plan.n, what="trials")
    return joined(answer, _table(heads, rows), drawn, _claim_how(plan.claim))


def guessed_text(plans: Sequence[ClaimPlan], seconds: float | None) -> str:
    """How many trials prove a claim, for some guesses at the spread, the widest first."""
    claim = plans[0].claim
    middle = plans[len(plans) // 2]
    answer = (
        f"That depends on the spread: to prove that {_claimed(claim)} takes "
        f"{needed(middle.n)} trials if the true standard deviation is {middle.sigma:g} mm."
    )
    heads = ("true spread", "trials", *_time_head(seconds))
    rows = [
        [
            f"{plan.sigma:.3g} mm",
            needed(plan.n),
            *(_time_cell(plan.n, seconds) if isinstance(plan.n, int) else [""] * len(heads[2:])),
        ]
        for plan in plans
    ]
    how = (
        f"Trials that prove it in {chance(plans[0].power)} of studies; 'never': with such a "
        f"spread the claim is false. {_claim_how(claim)} Name your guess: --expected-sd."
    )
    return joined(answer, _table(heads, rows), how)


def run_text(
    run: int,
    found: Sequence[SpreadFound],
    claim: Claim,
    *,
    power: float,
    seconds: float | None,
    rig: RigChoice | None = None,
) -> str:
    """How many trials a new study would need, by what a run found. rig: its rig check."""
    known = [each.trials for each in found if isinstance(each.trials, int)]
    most = max(known, default=None)
    spreads = f"If the spreads are what run {run} found,"
    answer = (
        f"{spreads} no number of trials proves for any of these that {_claimed(claim)}."
        if most is None
        else f"{spreads} {most} trials of each prove that {_claimed(claim)}, wherever it is true, "
        f"in {chance(power)} of studies{_taking(most, seconds)}."
    )
    heads = ("method", "operator", "n", "s", "s at most", "trials", "if s at most")
    rows = [
        [
            each.method or "nothing adjusted",
            each.operator,
            str(each.n),
            "small" if each.sd_mm is None else f"{each.sd_mm:.4f}",
            f"{each.upper_mm:.4f}",
            needed(each.trials),
            needed(each.trials_at_upper),
        ]
        for each in found
    ]
    legend = (
        "All in mm. s: the spread found, rig included, rounding allowed for. 's at most': the "
        "upper end of its 95 % interval. The last two columns: trials needed were the truth s, "
        "and were it that upper end; 'never': with such a spread the claim is false. "
        f"Readings of run {run} do not count towards the new ones."
    )
    if rig is not None:
        taken_out = "Analyse takes the rig out of s, so fewer trials may do."
        legend = " ".join([legend, taken_out, rig.why, *rig.doubts])
    return joined(answer, table(heads, rows, right={2, 3, 4, 5, 6}), legend, _claim_how(claim))


def cautions_text() -> str:
    """What every plan takes for granted."""
    return "\n".join(wrapped(sentence, first="• ") for sentence in CAUTIONS)


def _claimed(claim: Claim) -> str:
    return (
        f"at least {chance(claim.content)} of settings lie within ±{claim.tolerance:g} mm of "
        f"{CENTRES[claim.centre]} ({chance(claim.confidence)} confidence)"
    )


def _claim_how(claim: Claim) -> str:
    if claim.centre is Centre.DATUM:
        return (
            "By a generalised pivotal quantity for mean and spread together (Liao, Lin and Iyer "
            "2005), its chances approximate; ISO 16269-6 for tolerance intervals in general."
        )
    return (
        "Exact for independent normal settings: one-sided chi-square limit of σ times the normal "
        "quantile, the limit of a tolerance interval with known mean (ISO 16269-6). About a "
        "datum (--bias) a bias counts too."
    )


def needed(trials: int | NotYet | None) -> str:
    """The number of trials as a cell of a table."""
    if trials is None:
        return ""
    if isinstance(trials, NotYet):
        return "never" if trials.needs_n is None else f"> {trials.needs_n}"
    return str(trials)


def _marked(n: int, answer: int) -> str:
    return f"→ {n}" if n == answer else str(n)


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    return table(heads, rows, right=range(len(heads)))


def _time_head(seconds: float | None) -> tuple[str, ...]:
    return () if seconds is None else ("time",)


def _time_cell(trials: int, seconds: float | None) -> tuple[str, ...]:
    return () if seconds is None else (duration(trials * seconds),)


def _taking(trials: int, seconds: float | None) -> str:
    return "" if seconds is None else f", about {duration(trials * seconds)} of work"


def duration(seconds: float) -> str:
    """Minutes, or hours and minutes; never less than a minute."""
    minutes = max(1, round(seconds / 60))
    return f"{minutes} min" if minutes < 100 else f"{minutes // 60} h {minutes % 60:02d} min"


def joined(*parts: str) -> str:
    """Paragraphs; those of more than one line are drawn already and stay as they are."""
    return "\n\n".join(part if "\n" in part else wrapped(part) for part in parts if part)
