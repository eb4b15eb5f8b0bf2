"""The tables of an analysis: what was read, and the settings themselves with their verdicts."""

from collections.abc import Iterator

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.report.analysis.result.judgement import Judgement, MethodResult, Verdict
from hostctl.report.analysis.told.described import described
from hostctl.report.analysis.told.words import (
    EACH_BLOCK,
    NORMALLY,
    Words,
    centre,
    contradicted,
    percent,
    verdict_cell,
)
from hostctl.report.document.blocks import Block, Column, Heading, Paragraph, Table

_NAMES = (Column(head="method"), Column(head="operator"))


def what_was_read(judgement: Judgement) -> Iterator[Block]:
    """Rig included: n, blocks, s with its interval, range; and what these columns are."""
    yield Heading(text=f"What was read, mm ({read_about(judgement)})")
    yield read_table(judgement)
    yield Paragraph(text=read_legend(judgement))
    yield from described(judgement)


def read_about(judgement: Judgement) -> str:
    """What is in the figures as read, and about what they are."""
    nobody_set = judgement.source.nobody_set
    parts = "nothing set by hand" if nobody_set else "hand, method and rig together"
    several = any(result.blocks > 1 for result in judgement.results)
    return f"{parts}, about {EACH_BLOCK if several else 'its own average'}"


def settings_themselves(judgement: Judgement) -> Iterator[Block]:
    """The rig taken out where it can be, the reach, the verdict; nothing where there is neither."""
    if judgement.rig is None and judgement.goal is None:
        return
    whence = f"± from {centre(judgement.results)}" if judgement.goal else ""
    if judgement.rig is None:
        included = "rig included, " if judgement.rig_wanted else ""
        yield Heading(text=f"Held against the tolerance, mm ({included}{whence})")
    else:
        yield Heading(text=f"The settings themselves, mm{f' ({whence})' if whence else ''}")
    yield setting_table(judgement)
    yield Paragraph(text=setting_legend(judgement))


def read_table(judgement: Judgement) -> Table:
    """n, blocks, s with its interval and range of each; of the rig below them."""
    words, has_off = Words.of(judgement), _has_off(judgement)
    heads = ["n", "blocks", "s", "95 % of s", "range"] + (["off by"] if has_off else [])
    rows = [_read_row(result, words, has_off=has_off) for result in judgement.results]
    if judgement.rig is not None:
        spread = judgement.rig.spread
        cells = [f"rig, {judgement.rig.name}", "", str(spread.n), str(spread.blocks)]
        rows.append([*cells, *_spread_cells(spread, words), *[""] * (2 if has_off else 1)])
    return Table(
        columns=(*_NAMES, *(Column(head=head, is_number=True) for head in heads)),
        rows=tuple(map(tuple, rows)),
    )


def setting_table(judgement: Judgement) -> Table:
    """The setting's own s where a rig is taken out, the reach and the verdict where there is a
    tolerance."""
    words, goal = Words.of(judgement), judgement.goal
    heads = ["s alone", "95 % of s"] if judgement.rig else []
    heads += [f"{percent(goal.proportion)} in ±"] if goal else []
    rows = [_setting_row(judgement, result, words) for result in judgement.results]
    numbers = (Column(head=head, is_number=True) for head in heads)
    verdict = (Column(head="verdict"),) if goal else ()
    return Table(columns=(*_NAMES, *numbers, *verdict), rows=tuple(map(tuple, rows)))


def _has_off(judgement: Judgement) -> bool:
    """With a tie that is said where it is said how far off they are."""
    if judgement.tie is not None:
        return False
    return any(isinstance(result.off, Estimate) for result in judgement.results)


def read_legend(judgement: Judgement) -> str:
    """What the columns of the one are."""
    n = {
        "first": "n counts settings: the readings, and each block's zero, which is one too.",
        "previous": "n counts settings, s is that of one; the readings are differences of two.",
    }.get(judgement.source.reference or "", "n counts readings.")
    off = " off by: mean less datum, 95 % within the ±." if _has_off(judgement) else ""
    return (
        f"{n} s is pooled over blocks, each about its own mean; range is the widest block's.{off}"
    )


def setting_legend(judgement: Judgement) -> str:
    """What those of the other are."""
    goal = judgement.goal
    alone = "s alone: of the setting, the rig taken out as variances. " if judgement.rig else ""
    if goal is None:
        return alone.rstrip()
    share, sure = percent(goal.proportion), percent(goal.confidence)
    about = centre(judgement.results)
    return (
        f"{alone}{share} in ±: the half-width of the band that holds {share} of settings about "
        f"{about}, with {sure} confidence. meets: {NORMALLY}. +N: about so many further trials "
        f"would probably decide.{contradicted(judgement)}"
    )


def _read_row(result: MethodResult, words: Words, *, has_off: bool) -> list[str]:
    row = [result.method, result.operator, str(result.settings), str(result.blocks)]
    row += [*_spread_cells(result.spread, words), words.mm(result.range_mm)]
    if has_off:
        row.append(words.with_reach(result.off) if isinstance(result.off, Estimate) else "")
    return row


def _spread_cells(spread: RoundedSpread | NotYet, words: Words) -> tuple[str, str]:
    if isinstance(spread, NotYet):
        return "not yet", ""
    value = words.mm(spread.quoted.value) if isinstance(spread.quoted, Estimate) else "small"
    return value, words.range(spread.interval)


def _setting_row(judgement: Judgement, result: MethodResult, words: Words) -> list[str]:
    row = [result.method, result.operator]
    if isinstance(result.setting, NotYet):
        row += ["not known", ""] if judgement.rig else []
    else:
        value = result.setting.value
        row += ["small" if value is None else words.mm(value), words.range(result.setting.interval)]
    if judgement.goal is not None:
        verdict = result.verdict
        reach = ""
        if isinstance(verdict, Verdict) and verdict.decided_by == "normal law":
            reach = words.mm(verdict.half_width.high)
        row += [reach, verdict_cell(result)]
    return row
