"""What these trials were like, the rig in them: every setting as a dot, how many lay within the
tolerance, the rig's share.

A description, which promises nothing of future settings.
"""

from collections.abc import Iterator, Mapping, Sequence

from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.report.analysis.result.judgement import Inside, Judgement, MethodResult
from hostctl.report.analysis.result.rows import RowSeen, ValueSeen
from hostctl.report.analysis.told.words import (
    EACH_BLOCK,
    Words,
    centre,
    contradicted,
    rig_in,
    verdict_cell,
    what_counts,
)
from hostctl.report.document.blocks import Block, Column, Figure, Paragraph, Table
from hostctl.report.figures.dot_rows import DotRows
from hostctl.report.figures.dots.row import DotRow, Dots

_PROMISE = "that describes these trials and promises nothing"
_REST = "hand and method together make the rest"
_OF_ONE = {
    "their own average": "the average",
    "each method's own average": "the average of its row",
    EACH_BLOCK: "its block's own average",
}


def readings_figure(judgement: Judgement) -> Figure:
    """Every setting as a dot, about what the tolerance is measured from; with a tie by its gap."""
    within_mm = judgement.goal.within_mm if judgement.goal and _is_counted(judgement) else None
    rows, step_mm = tuple(_dot_rows(judgement)), max(row.step_mm for row in judgement.rows)
    if judgement.tie is not None and judgement.trueness:
        from hostctl.report.trueness.figure import true_gap_figure

        return true_gap_figure(
            rows,
            judgement.trueness,
            judgement.tie,
            step_mm=step_mm,
            within_mm=within_mm,
            words=Words.of(judgement),
        )
    drawing = DotRows(
        rows=rows, step_mm=step_mm, within_mm=within_mm, counted_from=counted_from(judgement)
    )
    return Figure(drawing=drawing, says=_seen(judgement, within_mm), name="readings")


def counted_from(judgement: Judgement) -> str:
    """Where the distance of one setting is measured from."""
    whence = centre(judgement.results)
    return _OF_ONE.get(whence, whence)


def each_alone(judgement: Judgement) -> bool:
    """Whether every block has one setting and no datum, so that each is its own average."""
    return not any(
        isinstance(result.spread, RoundedSpread) or result.is_from_known_gap
        for result in judgement.results
    )


def _is_counted(judgement: Judgement) -> bool:
    """Whether it is known how many lie within."""
    return any(result.inside is not None for result in judgement.results)


def _dot_rows(judgement: Judgement) -> Iterator[DotRow]:
    results, method = judgement.results, None
    for row in judgement.rows:
        result = results[row.result]
        head = result.method if result.operator and result.method != method else ""
        method = result.method
        yield DotRow(
            label=result.operator or result.method,
            note=_note(row, result),
            dots=tuple(dots for one in row.values for dots in _dots(one)),
            average_mm=result.mean_mm if result.is_from_known_gap else None,
            head=head,
        )


def _dots(seen: ValueSeen) -> Iterator[Dots]:
    """Those that are doubted apart from the others."""
    for count, doubted in ((seen.count - seen.doubted, False), (seen.doubted, True)):
        if count:
            yield Dots(value_mm=seen.from_mm, count=count, outside=seen.outside, doubted=doubted)


def _note(row: RowSeen, result: MethodResult) -> str:
    within = "" if result.inside is None else f"{result.inside.inside} of {result.inside.of} within"
    n = f"n = {row.settings}"
    verdict = verdict_cell(result)
    return f"{within or n}: {verdict}" if verdict else within or n


def _seen(judgement: Judgement, within_mm: float | None) -> str:
    """What the dots show: who lies outside, or who lies farthest out."""
    what = "difference" if judgement.source.reference == "previous" else what_counts(judgement)[:-1]
    rig = f"{rig_in(judgement)}," if rig_in(judgement) else ""
    each = f"Each {what}{rig} by its distance from "
    each += f"{counted_from(judgement)}{_binned(judgement.rows)}"
    if each_alone(judgement):
        return f"{each}: with one in each block, each is its own average."
    if within_mm is None:
        return f"{each}: the wider a row, the worse it repeats."
    outside = {row.result: row.outside for row in judgement.rows}
    total, of = sum(outside.values()), sum(row.settings for row in judgement.rows)
    band = f"the band of ±{within_mm:g} mm"
    if not total:
        all_lie = f"All {of} lie" if of > 1 else "It lies"
        return f"{each}. {all_lie} within {band}.{contradicted(judgement)}"
    lie = "lies" if total == 1 else "lie"
    whose = _whose_most(outside, judgement)
    return f"{each}. {total} of {of} {lie} outside {band}{whose}.{contradicted(judgement)}"


def _whose_most(outside: Mapping[int, int], judgement: Judgement) -> str:
    """Whose most of them are; nothing where there is a single one to name."""
    if len(outside) < 2:
        return ""
    most = max(outside, key=outside.__getitem__)
    name, total = judgement.results[most].name, sum(outside.values())
    if outside[most] == total:
        return f", all of {name}" if total > 1 else f", of {name}"
    return f", {outside[most]} of them of {name}"


def _binned(rows: Sequence[RowSeen]) -> str:
    """Where several values share a place, it is said."""
    steps = [row.step_mm for row in rows if row.merged]
    return f", to the nearest {max(steps):g} mm" if steps else ""


def described(judgement: Judgement) -> Iterator[Block]:
    """Of one method a sentence, of several a table; nothing where nothing is known."""
    results, within = judgement.results, _within(judgement)
    inside = within is not None and any(result.inside for result in results)
    shared = any(result.rig_share is not None for result in results)
    if not (inside or shared):
        return
    if len(results) == 1:
        yield Paragraph(text=" ".join(_of_one(results[0], within if inside else None)))
        return
    yield _table(results, inside=inside, shared=shared)
    says = []
    if inside:
        says.append(f"within: {within}; {_PROMISE}.")
    if shared:
        says.append(f"rig's share: about, of the variance of what was read; {_REST}.")
    yield Paragraph(text=" ".join(says))


def _within(judgement: Judgement) -> str | None:
    """What was counted, and where."""
    if judgement.goal is None:
        return None
    about = f"±{judgement.goal.within_mm:g} mm of {centre(judgement.results)}"
    return f"{what_counts(judgement)} within {about}{rig_in(judgement)}"


def _of_one(result: MethodResult, within: str | None) -> Iterator[str]:
    if within is not None and result.inside is not None:
        yield f"{_count(result.inside)} {within}: {_PROMISE}."
    if result.rig_share is not None:
        share = _share(result.rig_share)
        yield f"Of the variance of what was read, the rig makes about {share}; {_REST}."


def _table(results: tuple[MethodResult, ...], *, inside: bool, shared: bool) -> Table:
    heads = (["within"] if inside else []) + (["rig's share"] if shared else [])
    names = (Column(head="method"), Column(head="operator"))
    rows = [
        (
            result.method,
            result.operator,
            *([_count(result.inside) if result.inside else ""] if inside else []),
            *([_share(result.rig_share)] if shared else []),
        )
        for result in results
    ]
    numbers = (Column(head=head, is_number=True) for head in heads)
    return Table(columns=(*names, *numbers), rows=tuple(rows))


def _count(found: Inside) -> str:
    return f"{found.inside} of {found.of}"


def _share(share: float | None) -> str:
    return "not known" if share is None else f"{100.0 * share:.0f} %"
