"""What these trials were like, the rig in them: how many lay within the tolerance, the rig's share.

A description, which promises nothing of future settings.
"""

from collections.abc import Iterator

from hostctl.report.analysis.result.judgement import Inside, Judgement, MethodResult
from hostctl.report.analysis.told.words import centre
from hostctl.report.document.blocks import Block, Column, Paragraph, Table

_PROMISE = "that describes these trials and promises nothing"
_REST = "hand and method together make the rest"


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
    what = "settings" if judgement.source.reference == "first" else "readings"
    rig = "" if judgement.source.nobody_set else ", rig included"
    return f"{what} within ±{judgement.goal.within_mm:g} mm of {centre(judgement.results)}{rig}"


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
