"""Figures and short phrases of an analysis, the same wherever they are said."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.rounded.rounding import Pattern, RoundedSpread
from hostctl.metrology.spread.setting import Setting
from hostctl.report.analysis.result.judgement import Judgement, MethodResult, Verdict
from hostctl.report.document.reasons import Withheld, reason_words
from hostctl.report.document.significant import Lengths
from hostctl.report.sources.material import Goal

if TYPE_CHECKING:
    from hostctl.report.analysis.result.comparison import Varied

NORMALLY = "if settings scatter normally and independently"
EACH_BLOCK: Final = "each block's own average"
CONTRADICTED = "*"  # beside a verdict that supposes what the order of settings contradicts
_ALIKE: Mapping[Pattern, str] = {
    "alike": "readings all alike",
    "neighbours": "readings on two neighbouring graduations",
}


@dataclass(frozen=True, slots=True)
class Words(Lengths):
    """Lengths and spreads in mm."""

    @classmethod
    def of(cls, judgement: Judgement) -> "Words":
        """As the readings' resolution asks."""
        return cls.read_to(judgement.source.resolution_mm)

    def spread(self, spread: RoundedSpread) -> str:
        """A spread in a sentence, with its interval or as the bound it is."""
        if isinstance(spread.quoted, Estimate):
            return f"s = {self.mm(spread.quoted.value)} mm (95 %: {self.span(spread.interval)})"
        return f"s below {self.mm(spread.interval.high)} mm (95 %, {_ALIKE[spread.pattern]})"

    def setting(self, setting: Setting) -> str:
        """The setting alone in a sentence."""
        if setting.value is None:
            return f"s below {self.mm(setting.interval.high)} mm"
        figure = f"s = {self.mm(setting.value)} mm (95 %: {self.span(setting.interval)})"
        return figure if setting.distinguishable else f"{figure}, not distinguishable from the rig"


def within(goal: Goal, results: Sequence[MethodResult]) -> str:
    """The claim: "at least 95 % of settings within ±0.05 mm of the datum, with 95 % confidence"."""
    return (
        f"at least {percent(goal.proportion)} of settings within ±{goal.within_mm:g} mm of "
        f"{centre(results)}, with {percent(goal.confidence)} confidence"
    )


def centre(results: Sequence[MethodResult]) -> str:
    """From where the ± of the claim is measured."""
    true = [result.measured_from for result in results if result.is_from_known_gap]
    if not true:
        return _own_average(results)
    own = [result.name for result in results if not result.is_from_known_gap]
    return f"the {true[0]} ({listed(own)}: of its own average)" if own else f"the {true[0]}"


def _own_average(results: Sequence[MethodResult]) -> str:
    if any(result.blocks > 1 for result in results):
        return EACH_BLOCK
    return "their own average" if len(results) == 1 else "each method's own average"


def what_counts(judgement: Judgement) -> str:
    """What is counted: a zero that is a setting like the others makes readings settings."""
    return "settings" if judgement.source.reference == "first" else "readings"


def rig_in(judgement: Judgement) -> str:
    """What follows a count of readings that the rig has a part in."""
    return "" if judgement.source.nobody_set else ", rig included"


def supposed(result: MethodResult) -> str:
    """What a verdict supposes of settings, and what of that their order contradicts."""
    verdict, shows = result.verdict, result.order_shows
    match verdict:
        case Verdict(verdict="meets", decided_by="normal law"):
            supposes = NORMALLY
        case Verdict(verdict="cannot tell yet"):
            supposes = "even if settings scatter independently"
        case _:
            supposes = "if settings scatter independently"
    if shows:
        contradict = "contradicts" if len(shows) == 1 else "contradict"
        return f", {supposes}, which {listed(shows)} {contradict}"
    return f", {supposes}" if supposes == NORMALLY else ""


def percent(share: float) -> str:
    """A share in per cent."""
    return f"{100 * share:.4g} %"


def more_trials(further_trials: int | None, why_none: Reason | None = None) -> str:
    """How many further trials would probably decide, or why none."""
    if further_trials is None:
        if why_none is not None:
            return reason_words(why_none)
        return "no sensible number of trials would probably decide"
    trials = "trial" if further_trials == 1 else "trials"
    return f"about {further_trials} more {trials} would probably decide"


def verdict_cell(result: MethodResult) -> str:
    """The verdict in a table, with the trials still wanted; marked where order contradicts it."""
    mark = f" {CONTRADICTED}" if result.order_shows and isinstance(result.verdict, Verdict) else ""
    return f"{_verdict(result.verdict)}{mark}"


def contradicted(judgement: Judgement) -> str:
    """What the mark at a verdict says; empty where none has it."""
    if not any(isinstance(one.verdict, Verdict) and one.order_shows for one in judgement.results):
        return ""
    return f" {CONTRADICTED}: settings are not independent, as every verdict supposes."


def _verdict(verdict: Verdict | NotYet | None) -> str:
    match verdict:
        case None:
            return ""
        case Verdict(verdict="cannot tell yet", further_trials=int(more)):
            return f"cannot tell (+{more})"
        case Verdict(verdict="meets" | "does not meet" as word):
            return word
        case NotYet(reason=Reason(code=Withheld.LOOKS_SPENT)):
            return "no verdict"
        case Verdict() | NotYet():
            return "cannot tell"


def counted(number: int, one: str, many: str = "") -> str:
    """A count with its noun."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def listed(names: Sequence[str], last: str = "and") -> str:
    """Names with commas and an "and"."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} {last} {names[-1]}"


def p_cell(p: float) -> str:
    """A p value in a table; never as zero."""
    return "<0.001" if p < 0.001 else f"{p:.3f}"


def whose(varied: "Varied", fixed: str) -> str:
    """What the two of a comparison share: whose hands, or which method."""
    if varied == "method":
        return f"in the hands of {fixed}" if fixed else "side by side"
    return f"by {fixed}"


def p_value(p: float) -> str:
    """A p value to two figures; never as zero."""
    return "p < 0.001" if p < 0.001 else f"p = {p:.2g}"
