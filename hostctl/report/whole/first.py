"""The first screen: the question, the answer, a count that anyone understands, one figure."""

from collections.abc import Iterator, Mapping, Sequence

from hostctl.config.study_kind import words_of
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.result.judgement import MethodResult
from hostctl.report.analysis.told.answer import answer, not_the_gap
from hostctl.report.analysis.told.words import (
    EACH_BLOCK,
    Words,
    centre,
    listed,
    verdict_cell,
)
from hostctl.report.document.blocks import Block, Figure, Paragraph, Role
from hostctl.report.figures.dot_rows import DotRow, DotRows, Dots
from hostctl.report.sources.material import Goal
from hostctl.report.whole.result import CountSeen, Report, RowSeen

MOST_NAMES = 4
"""Of methods, or of hands, that a sentence names."""


def first_screen(report: Report) -> Iterator[Block]:
    """What anyone should see, whoever reads no further."""
    analysis = report.analysis
    yield Paragraph(text=question(analysis), role=Role.QUESTION)
    weightiest, *others = answer(analysis, "what follows")
    whence = tuple(not_the_gap(analysis))
    yield Paragraph(text=weightiest, role=Role.ANSWER)
    yield from (Paragraph(text=says) for says in _counted(report))
    yield from (Paragraph(text=says, role=Role.ANSWER) for says in whence)
    yield readings_figure(report)
    rest = (says for says in others if says not in whence)
    yield from (Paragraph(text=says, role=Role.ANSWER) for says in rest)


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
    if all(result.measured_from == "datum" for result in results):
        return f"{sets} the gap to within ±{goal.within_mm:g} mm of the datum"
    return f"{repeats} a setting to within ±{goal.within_mm:g} mm"


def _reach(analysis: Analysis) -> str:
    assert analysis.goal is not None
    return f"within ±{analysis.goal.within_mm:g} mm of {centre(analysis.results)}"


def _named(names: Sequence[str], many: str, last: str = "and") -> str:
    return listed(names, last) if len(names) <= MOST_NAMES else f"{len(names)} {many}"


def _counted(report: Report) -> Iterator[str]:
    """How many lay within; without a tolerance how far they reached."""
    analysis = report.analysis
    if analysis.goal is not None and report.counts and not _each_alone(analysis):
        yield (
            f"{_counts(report.counts, analysis)}: that describes these trials and promises nothing."
        )
    elif analysis.goal is None:
        yield from _ranges(analysis)


def _counts(counts: Sequence[CountSeen], analysis: Analysis) -> str:
    assert analysis.goal is not None
    first, *others = counts
    lay = f"lay {_reach(analysis)}{_rig_in(analysis)}"
    says = f"{_of(first)} {_what(analysis)}{_by(first.method, analysis)} {lay}"
    if len(others) < MOST_NAMES:
        return "".join([says, *(f", {_by_other(one)}" for one in others)])
    best = max(counts, key=lambda one: one.inside / one.of)
    worst = min(counts, key=lambda one: one.inside / one.of)
    return (
        f"Of {_what(analysis)} by {len(counts)} methods, from {_of(worst)} ({worst.method}) to "
        f"{_of(best)} ({best.method}) {lay}"
    )


def _of(count: CountSeen) -> str:
    return f"{count.inside} of {count.of}"


def _by_other(count: CountSeen) -> str:
    return f"{_of(count)} by {count.method}"


def _by(method: str, analysis: Analysis) -> str:
    return "" if analysis.source.nobody_set else f" by {method}"


def _what(analysis: Analysis) -> str:
    return "settings" if analysis.source.reference == "first" else "readings"


def _rig_in(analysis: Analysis) -> str:
    return "" if analysis.source.nobody_set else ", rig included"


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
            f"From lowest to highest, {widest.settings} {_what(analysis)} reached over {reach}"
            f"{_widest(widest)}: that describes these trials and promises nothing."
        )
    else:
        yield (
            f"From the lowest of a block to its highest, {_what(analysis)} reached over "
            f"{words.mm(narrowest.range_mm)} mm at the least ({narrowest.name}) and {reach} at the "
            f"most ({widest.name}): that describes these trials and promises nothing."
        )


def _widest(result: MethodResult) -> str:
    return " in the widest block" if result.blocks > 1 else ""


def readings_figure(report: Report) -> Figure:
    """Every setting as a dot, about what the tolerance is measured from."""
    analysis = report.analysis
    within_mm = analysis.goal.within_mm if analysis.goal and report.counts else None
    drawing = DotRows(
        rows=tuple(_dot_rows(report)),
        step_mm=max(row.step_mm for row in report.rows),
        within_mm=within_mm,
        counted_from=counted_from(analysis),
    )
    return Figure(drawing=drawing, says=_seen(report, within_mm), name="readings")


def counted_from(analysis: Analysis) -> str:
    """Where the distance of one setting is measured from."""
    whence = centre(analysis.results)
    return _OF_ONE.get(whence, whence)


_OF_ONE = {
    "their own average": "the average",
    "each method's own average": "the average of its row",
    EACH_BLOCK: "its block's own average",
}


def _each_alone(analysis: Analysis) -> bool:
    """Whether every block has one setting and no datum, so that each is its own average."""
    return not any(
        isinstance(result.spread, RoundedSpread) or result.measured_from == "datum"
        for result in analysis.results
    )


def _dot_rows(report: Report) -> Iterator[DotRow]:
    results, method = report.analysis.results, None
    for row in report.rows:
        result = results[row.result]
        head = result.method if result.operator and result.method != method else ""
        method = result.method
        yield DotRow(
            label=result.operator or result.method,
            note=_note(row, result),
            dots=tuple(
                Dots(value_mm=one.from_mm, count=one.count, outside=one.outside)
                for one in row.values
            ),
            average_mm=result.mean_mm if result.measured_from == "datum" else None,
            head=head,
        )


def _note(row: RowSeen, result: MethodResult) -> str:
    within = "" if result.inside is None else f"{result.inside.inside} of {result.inside.of} within"
    n = f"n = {sum(one.count for one in row.values)}"
    verdict = verdict_cell(result)
    return f"{within or n}: {verdict}" if verdict else within or n


def _seen(report: Report, within_mm: float | None) -> str:
    """What the dots show: who lies outside, or who lies farthest out."""
    analysis = report.analysis
    what = "difference" if analysis.source.reference == "previous" else _what(analysis)[:-1]
    each = f"Each dot is a {what}{_rig_in(analysis)}, by its distance from "
    each += f"{counted_from(analysis)}{_binned(report.rows)}"
    if _each_alone(analysis):
        return f"{each}: with one in each block, each is its own average."
    if within_mm is None:
        return f"{each}: the wider a row, the worse it repeats."
    outside = {
        row.result: sum(one.count for one in row.values if one.outside) for row in report.rows
    }
    total, of = sum(outside.values()), sum(one.of for one in report.counts)
    band = f"the band of ±{within_mm:g} mm"
    if not total:
        return f"{each}. None of {of} lies outside {band}."
    lie = "lies" if total == 1 else "lie"
    return f"{each}. {total} of {of} {lie} outside {band}{_whose_most(outside, analysis)}."


def _whose_most(outside: Mapping[int, int], analysis: Analysis) -> str:
    """Whose most of them are; nothing where there is a single one to name."""
    if len(outside) < 2:
        return ""
    most = max(outside, key=outside.__getitem__)
    name, total = analysis.results[most].name, sum(outside.values())
    if outside[most] == total:
        return f", all of {name}" if total > 1 else f", of {name}"
    return f", {outside[most]} of them of {name}"


def _binned(rows: Sequence[RowSeen]) -> str:
    """Where several values share a place, it is said."""
    steps = [row.step_mm for row in rows if row.merged]
    return f", to the nearest {max(steps):g} mm" if steps else ""
