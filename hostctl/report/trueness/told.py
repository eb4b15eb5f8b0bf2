"""How far off methods set the gap, in words: sentences for one, a table for several."""

from collections.abc import Iterator, Sequence

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.report.document.blocks import Block, Column, Heading, Items, Paragraph, Table
from hostctl.report.document.reasons import reason_words
from hostctl.report.document.significant import Lengths, percent, stated_mm
from hostctl.report.trueness.result import TieFound, Trueness


def gap_left(found: Trueness, tie: TieFound, words: Lengths, subject: str) -> Iterator[str]:
    """Sentences on one method in one pair of hands. subject: as "Settings by paper-slip"."""
    if isinstance(found.mean_gap, NotYet):
        yield f"{subject}: how far off they are cannot be told, as {_why(found)}."
        return
    gap = found.mean_gap
    yield (
        f"{subject} leave a mean gap of {words.mm(gap.value)} mm "
        f"(95 %: {words.span(gap.interval)}), {_off(found, words)}: {_standing(found)}."
    )
    if (advice := _advice(found, words)) is not None:
        yield advice
    yield _gap_of_the_tie(tie)


def gaps_left(all_found: Sequence[Trueness], tie: TieFound, words: Lengths) -> Iterator[str]:
    """The same of several: which are on target, which off it, and by how much."""
    on = [found.name for found in all_found if found.standing == "on target"]
    off = [f"{found.name} ({_short(found, words)})" for found in _off_target(all_found)]
    open_yet = [found.name for found in all_found if found.standing == "cannot tell"]
    said = "; ".join(
        f"{word}: {', '.join(names)}"
        for word, names in (("on target", on), ("off target", off), ("cannot tell", open_yet))
        if names
    )
    yield f"Held against {_wanted(all_found, tie)} — {said}."
    yield _gap_of_the_tie(tie)


def how_far_off(all_found: Sequence[Trueness], tie: TieFound, words: Lengths) -> Iterator[Block]:
    """The table, and what its columns are; then the tie behind it."""
    if all_found:
        yield Heading(text="How far off, mm")
        yield _table(all_found, words)
        yield Paragraph(text=_legend(all_found))
    if len(all_found) > 1 and (items := (*_advised(all_found, words), *_open_reasons(all_found))):
        yield Items(items=items)
    yield from _tie(tie, words, has_settings=bool(all_found))


def _off(found: Trueness, words: Lengths) -> str:
    """`0.0130 mm wider than the 0.1 mm wanted`."""
    assert isinstance(found.off, Estimate)
    value = found.off.value
    meant = f"the {stated_mm(found.meant_mm)} mm wanted"
    if round(value, words.decimals) == 0.0:
        return f"just {meant}"
    return f"{words.mm(abs(value))} mm {'wider' if value > 0.0 else 'narrower'} than {meant}"


def _standing(found: Trueness) -> str:
    if found.standing == "on target":
        return f"on target, shown to be within {found.margin_mm:g} mm of it"
    if found.standing == "off target":
        return "off target"
    return f"cannot tell whether that is on target, as {_why(found)}"


def _why(found: Trueness) -> str:
    assert found.why is not None  # there is one wherever nothing can be told
    return reason_words(found.why)


def _advice(found: Trueness, words: Lengths) -> str | None:
    """What would put it right, where it is shown to be off."""
    if found.standing != "off target" or not isinstance(found.correction, Estimate):
        return None
    return f"To put it right, aim {_aim(found.correction, words)}."


def _aim(correction: Estimate, words: Lengths) -> str:
    """`0.0130 mm narrower (95 %: 0.0050 to 0.0210)`."""
    value, interval = correction.value, correction.interval
    how = "wider" if value > 0.0 else "narrower"
    ends = sorted((interval.low, interval.high), key=abs)
    if interval.low < 0.0 < interval.high:
        return f"{words.mm(abs(value))} mm {how}"
    near, far = (words.mm(abs(end)) for end in ends)
    return f"{words.mm(abs(value))} mm {how} (95 %: {near} to {far})"


def _short(found: Trueness, words: Lengths) -> str:
    assert isinstance(found.off, Estimate)
    how = "too wide" if found.off.value > 0.0 else "too narrow"
    return f"{words.mm(abs(found.off.value))} mm {how}"


def _off_target(all_found: Sequence[Trueness]) -> Iterator[Trueness]:
    return (found for found in all_found if found.standing == "off target")


def _wanted(all_found: Sequence[Trueness], tie: TieFound) -> str:
    if all(found.meant_mm == tie.target_mm for found in all_found):
        return f"the {stated_mm(tie.target_mm)} mm wanted"
    return "the gap that each is meant to set"


def _gap_of_the_tie(tie: TieFound) -> str:
    if not tie.by:
        return "It is the gap as the file has it."
    return "It is the gap at the tie's temperature, cold; a hot nozzle and bed change it."


def _table(all_found: Sequence[Trueness], words: Lengths) -> Table:
    """meant: a column only where methods are meant to set several gaps."""
    several = len({found.meant_mm for found in all_found}) > 1
    heads = (*(("meant",) if several else ()), "mean gap", "95 %", "off by", "s")
    return Table(
        columns=(
            Column(head="method"),
            Column(head="operator"),
            *(Column(head=head, is_number=True) for head in heads),
            Column(head="target"),
        ),
        rows=tuple(_row(found, words, several=several) for found in all_found),
    )


def _row(found: Trueness, words: Lengths, *, several: bool) -> tuple[str, ...]:
    row = [found.method, found.operator, *([stated_mm(found.meant_mm)] if several else [])]
    if isinstance(found.mean_gap, Estimate) and isinstance(found.off, Estimate):
        row += [words.mm(found.mean_gap.value), words.from_to(found.mean_gap.interval)]
        row.append(words.signed(found.off.value))
    else:
        row += ["not yet", "", ""]
    return (*row, _precision(found, words), found.standing.removesuffix(" target"))


def _precision(found: Trueness, words: Lengths) -> str:
    """Its figure, or what it is below."""
    if found.precision_mm is not None:
        return words.mm(found.precision_mm)
    below_mm = found.precision_below_mm
    return "" if below_mm is None else f"<{words.mm(below_mm)}"


def _legend(all_found: Sequence[Trueness]) -> str:
    meant = {found.meant_mm for found in all_found}
    one = f"the {stated_mm(next(iter(meant)))} mm wanted" if len(meant) == 1 else "the one meant"
    margins = sorted({found.margin_mm for found in all_found if found.margin_mm is not None})
    on = "".join(f" on: shown to be within {stated_mm(margin)} mm of it." for margin in margins)
    return (
        f"Accuracy is both: off by, the trueness, how far the mean gap is from {one} (+: too "
        "wide), and s, the precision, how settings scatter about their mean (ISO 5725-1). 95 %: "
        f"where the mean gap may lie, with rounding, rig and tie.{on} off: shown not to be it."
        f"{_of_shares(all_found)}"
    )


def _of_shares(all_found: Sequence[Trueness]) -> str:
    """How much of the doubt is the tie's."""
    shares = [found.tie_share for found in all_found if found.tie_share]
    if not shares:
        return ""
    least, most = percent(min(shares)), percent(max(shares))
    share = most if least == most else f"{least.removesuffix(' %')} to {most}"
    each = "the mean gap" if len(all_found) == 1 else "a mean gap"
    return f" Of the variance of {each} the tie makes {share}; more trials don't make that smaller."


def _advised(all_found: Sequence[Trueness], words: Lengths) -> Iterator[str]:
    """What would put each right that is shown to be off."""
    for found in all_found:
        if (advice := _advice(found, words)) is not None:
            yield f"{found.name}: {advice[0].lower()}{advice[1:]}"


def _open_reasons(all_found: Sequence[Trueness]) -> Iterator[str]:
    """Each once, with whose it is."""
    whose: dict[str, list[str]] = {}
    for found in all_found:
        if found.why is not None:
            whose.setdefault(reason_words(found.why), []).append(found.name)
    for why, names in whose.items():
        yield f"Cannot tell, as {why}: {', '.join(names)}."


def _tie(tie: TieFound, words: Lengths, *, has_settings: bool) -> Iterator[Block]:
    if not tie.by:
        known = "exactly, as nobody said otherwise"
        if tie.beyond_mm:
            known = f"with a standard uncertainty of {tie.beyond_mm:g} mm, as was said"
        yield Paragraph(text=f"Readings are taken as gaps, their zero known {known}.")
        return
    yield Heading(text=f"The tie, by {tie.by.replace('-', ' ')}, mm")
    yield Table(
        columns=(
            Column(head="point"),
            Column(head="observed", is_number=True),
            Column(head="gap at reading 0", is_number=True),
            Column(head="95 %", is_number=True),
        ),
        rows=tuple(
            (
                f"{one.point}{', anew' if one.part > 1 else ''}",
                str(one.observed),
                words.mm(one.constant.value),
                words.span(one.constant.interval),
            )
            for one in tie.points
        ),
    )
    unchecked = ("It was not checked.",) if has_settings and not tie.checks else ()
    yield Items(items=(*_of_tie(tie, words), *unchecked))


def _of_tie(tie: TieFound, words: Lengths) -> Iterator[str]:
    """What is in its interval, and what its checks found."""
    beside = f"±{tie.slack_mm:g} mm for what lay under the nozzle, " if tie.slack_mm else ""
    yield (
        f"In the interval: step, rounding and scatter of the observations, {beside}and "
        f"{tie.beyond_mm:g} mm, the standard uncertainty that repeating can't show."
    )
    if tie.guides_mm is not None:
        yield f"At a point without a tie ±{tie.guides_mm:g} mm is allowed for the guides."
    for check in tie.checks:
        than, says = ("more than", "it had moved") if check.moved else ("within", "it held")
        yield (
            f"Checked at {check.point} after {check.at_trial} settings: it differed by "
            f"{words.signed(check.shift_mm)} mm, {than} the ±{words.mm(check.limit_mm)} mm that "
            f"chance makes: {says}."
        )
