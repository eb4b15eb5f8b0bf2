"""The first screen: the question, the answer, a count that anyone understands, one figure."""

from collections.abc import Iterator, Sequence

from hostctl.config.study_kind import words_of
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.result.judgement import MethodResult, Verdict
from hostctl.report.analysis.told.answer import answer, not_the_gap
from hostctl.report.analysis.told.compared import differing
from hostctl.report.analysis.told.described import each_alone, readings_figure
from hostctl.report.analysis.told.words import Words, centre, listed, rig_in, what_counts
from hostctl.report.document.blocks import Block, Paragraph, Role
from hostctl.report.sources.material import Goal
from hostctl.report.whole.done import CarriedOut
from hostctl.report.whole.result import CountSeen, Report

SIMULATED = (
    "Simulated: a program stood in for printer, bed and indicator, and what was read is invented."
)
MOST_PROVEN = 3
MOST_NAMES = 4
"""Of methods, or of hands, that a sentence names."""


def first_screen(report: Report) -> Iterator[Block]:
    """What anyone should see, whoever reads no further."""
    analysis = report.analysis
    yield Paragraph(text=question(analysis), role=Role.QUESTION)
    if is_simulated(report):
        yield Paragraph(text=SIMULATED, role=Role.CAUTION)
    weightiest, *others = answer(analysis, "what follows")
    whence = tuple(not_the_gap(analysis))
    yield Paragraph(text=weightiest, role=Role.ANSWER)
    yield from (Paragraph(text=says) for says in _told_apart(analysis))
    yield from (Paragraph(text=says) for says in _counted(report))
    yield from (Paragraph(text=says, role=Role.ANSWER) for says in whence)
    yield readings_figure(analysis)
    rest = (says for says in others if says not in whence)
    yield from (Paragraph(text=says, role=Role.ANSWER) for says in rest)


def is_simulated(report: CarriedOut) -> bool:
    """Whether a program stood in for some machine."""
    return any(run.planned is not None and run.planned.simulated for run in report.conduct)


def _told_apart(analysis: Analysis) -> Iterator[str]:
    """Which scatter less than others beyond chance, as far as a screen has room."""
    proven = list(differing(analysis.compared)) if analysis.compared is not None else []
    yield from proven[:MOST_PROVEN]
    if len(proven) > MOST_PROVEN:
        yield f"{len(proven) - MOST_PROVEN} more such differences are told below."


def question(analysis: Analysis) -> str:
    """In plain words, made of methods, hands and tolerance."""
    source, goal = analysis.source, analysis.goal
    words = words_of(source.kind)
    if words.people_set:
        return _of_settings(analysis.results, goal)
    what = f"{words.readings[0].lower()}{words.readings[1:]}"
    if goal is None:
        return f"How widely do {what} scatter?"
    return f"Do {what} repeat to within ±{goal.within_mm:g} mm?"


def _of_settings(results: Sequence[MethodResult], goal: Goal | None) -> str:
    methods = list(dict.fromkeys(result.method for result in results))
    hands = list(dict.fromkeys(result.operator for result in results if result.operator))
    whose = f", in the hands of {_named(hands, 'people')}" if hands else ""
    if goal is None:
        return f"How widely do settings by {_named(methods, 'methods')} scatter{whose}?"
    if len(methods) > 1:
        which = _named(methods, "methods", "or")
        return f"Which of {which} {_does('sets', 'repeats', results, goal)}{whose}?"
    does = f"does {methods[0]} {_does('set', 'repeat', results, goal)}"
    if len(hands) > 1:
        return f"In whose hands, {_named(hands, 'people', 'or')}, {does}?"
    return f"{does[0].upper()}{does[1:]}{whose}?"


def _does(sets: str, repeats: str, results: Sequence[MethodResult], goal: Goal) -> str:
    """From a datum it is the gap that is judged, from an average no more than its repeating."""
    if all(result.is_from_known_gap for result in results):
        return f"{sets} the gap to within ±{goal.within_mm:g} mm of {centre(results)}"
    return f"{repeats} a setting to within ±{goal.within_mm:g} mm"


def _reach(analysis: Analysis) -> str:
    assert analysis.goal is not None
    return f"within ±{analysis.goal.within_mm:g} mm of {centre(analysis.results)}"


def _named(names: Sequence[str], many: str, last: str = "and") -> str:
    return listed(names, last) if len(names) <= MOST_NAMES else f"{len(names)} {many}"


def _counted(report: Report) -> Iterator[str]:
    """How many lay within; without a tolerance how far they reached."""
    analysis = report.analysis
    if analysis.goal is not None and report.counts and not each_alone(analysis):
        yield (
            f"{_counts(report.counts, analysis)}: that describes these trials and promises nothing."
            f"{_unlike_verdicts(analysis)}"
        )
    elif analysis.goal is None:
        yield from _ranges(analysis)


def _unlike_verdicts(analysis: Analysis) -> str:
    """Why so many of so many within need not meet."""
    verdicts = [one.verdict for one in analysis.results if isinstance(one.verdict, Verdict)]
    if not verdicts:
        return ""
    out = ", the rig taken out" if all(verdict.rig_out for verdict in verdicts) else ""
    return f" A verdict is of settings to come{out}."


def _counts(counts: Sequence[CountSeen], analysis: Analysis) -> str:
    assert analysis.goal is not None
    first, *others = counts
    lay = f"lay {_reach(analysis)}{rig_in(analysis)}"
    says = f"{_of(first)} {what_counts(analysis)}{_by(first.method, analysis)} {lay}"
    if len(others) < MOST_NAMES:
        return "".join([says, *(f", {_by_other(one)}" for one in others)])
    best = max(counts, key=lambda one: one.inside / one.of)
    worst = min(counts, key=lambda one: one.inside / one.of)
    return (
        f"Of {what_counts(analysis)} by {len(counts)} methods, from {_of(worst)} ({worst.method}) "
        f"to {_of(best)} ({best.method}) {lay}"
    )


def _of(count: CountSeen) -> str:
    return f"{count.inside} of {count.of}"


def _by_other(count: CountSeen) -> str:
    return f"{_of(count)} by {count.method}"


def _by(method: str, analysis: Analysis) -> str:
    return "" if analysis.source.nobody_set else f" by {method}"


def _ranges(analysis: Analysis) -> Iterator[str]:
    """From the lowest of a block to its highest: what a sheet of paper would be held against."""
    words = Words.of(analysis)
    several = [result for result in analysis.results if result.settings > 1]
    if not several:
        return
    widest = max(several, key=lambda result: result.range_mm)
    narrowest = min(several, key=lambda result: result.range_mm)
    reach = f"{words.mm(widest.range_mm)} mm"
    if len(several) == 1:
        yield (
            f"From lowest to highest, {widest.settings} {what_counts(analysis)} reached over "
            f"{reach}{_widest(widest)}: that describes these trials and promises nothing."
        )
    else:
        yield (
            f"From the lowest of a block to its highest, {what_counts(analysis)} reached over "
            f"{words.mm(narrowest.range_mm)} mm at the least ({narrowest.name}) and {reach} at the "
            f"most ({widest.name}): that describes these trials and promises nothing."
        )


def _widest(result: MethodResult) -> str:
    return " in the widest block" if result.blocks > 1 else ""
