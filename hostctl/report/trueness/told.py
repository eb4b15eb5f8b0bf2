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
    if isinstance(found.off, NotYet):
        yield (
            f"{subject} leave a mean gap of {words.mm(gap.value)} mm by this tie (95 %: "
            f"{words.span(gap.interval)}); how far off that is cannot be told, as {_why(found)}."
        )
        yield _gap_of_the_tie(tie)
        return
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


def how_far_off(
    all_found: Sequence[Trueness], tie: TieFound, words: Lengths, *, rig_out: bool
) -> Iterator[Block]:
    """The table, what its columns are, and what would put each right; then the tie behind it.
    rig_out: whether a rig was to be taken out of the precision beside it."""
    if all_found:
        alone = "s alone" if rig_out else "s"
        meant = _meant_by_all(all_found)
        yield Heading(text=f"How far off{f' {meant}' if meant else ''}, mm")
        yield _table(all_found, words, alone)
        yield Paragraph(text=_legend(all_found, alone))
        if items := (*_advised(all_found, words), *_open_reasons(all_found)):
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
        return f"off target{_maybe_within(found)}"
    return f"cannot tell whether that is on target, as {_why(found)}"


def _maybe_within(found: Trueness) -> str:
    """What is not settled of a mean that is shown not to be the one meant: whether by more than
    the margin."""
    if found.margin_mm is None or found.judged_by is None:
        return ""
    low, high = found.judged_by.low, found.judged_by.high
    if low >= found.margin_mm or high <= -found.margin_mm:
        return ""
    return f", though by more than {found.margin_mm:g} mm or less is not settled"


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
    if round(correction.value, words.decimals) == 0.0:
        by = "as now"
    else:
        by = f"{words.mm(abs(correction.value))} mm {_which_way(correction.value)}"
    near, far = sorted((correction.low, correction.high), key=abs)
    says = words.mm(abs(near)), words.mm(abs(far))
    if near * far < 0.0:
        return f"{by} (95 %: {says[0]} {_which_way(near)} to {says[1]} {_which_way(far)})"
    return f"{by} (95 %: {says[0]} to {says[1]})"


def _which_way(correction_mm: float) -> str:
    return "wider" if correction_mm > 0.0 else "narrower"


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


def _meant_by_all(all_found: Sequence[Trueness]) -> str:
    """`the 0.10 mm wanted`; empty where methods are meant to set several gaps."""
    first, *others = {found.meant_mm for found in all_found}
    return "" if others else f"the {stated_mm(first)} mm wanted"


def _table(all_found: Sequence[Trueness], words: Lengths, alone: str) -> Table:
    """How it stands is the third column: on a narrow page the last ones are out of sight."""
    return Table(
        columns=(
            *(Column(head=head) for head in ("method", "operator", "target")),
            *(Column(head=head, is_number=True) for head in ("gap", "95 %", "off by", alone)),
        ),
        rows=tuple(_row(found, words) for found in all_found),
    )


def _row(found: Trueness, words: Lengths) -> tuple[str, ...]:
    gap, off = found.mean_gap, found.off
    said = ("not yet", "")
    if isinstance(gap, Estimate):
        said = words.mm(gap.value), words.from_to(gap.interval)
    return (
        found.method,
        found.operator,
        found.standing.removesuffix(" target"),
        *said,
        words.signed(off.value) if isinstance(off, Estimate) else "",
        _precision(found, words),
    )


def _precision(found: Trueness, words: Lengths) -> str:
    """Its figure, or what it is below."""
    if found.precision_mm is not None:
        return words.mm(found.precision_mm)
    below_mm = found.precision_below_mm
    return "" if below_mm is None else f"<{words.mm(below_mm)}"


def _legend(all_found: Sequence[Trueness], alone: str) -> str:
    one = _meant_by_all(all_found) or "the one meant"
    margins = sorted({found.margin_mm for found in all_found if found.margin_mm is not None})
    on = "".join(f" on: shown to be within {stated_mm(margin)} mm of it." for margin in margins)
    out = ", the rig taken out where it can be" if alone != "s" else ""
    return (
        f"gap: the mean. Accuracy is both: off by, the trueness, how far that is from {one} (+: "
        f"too wide), and {alone}, the precision, how settings scatter about their mean{out} (ISO "
        f"5725-1). 95 %: where the mean gap may lie, with rounding, rig and tie.{on} off: shown "
        f"not to be it.{_of_points(all_found)}{_of_shares(all_found)}"
    )


def _of_points(all_found: Sequence[Trueness]) -> str:
    """What a mean over several points is of."""
    if all(found.points == 1 for found in all_found):
        return ""
    return (
        " Of several points it is the mean over these points that is told; where they truly "
        "differ, no single one need have it."
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
    """What would put each right that is known well enough to say how far off it is."""
    several = not _meant_by_all(all_found)
    for found in all_found:
        if isinstance(found.correction, Estimate):
            meant = f", meant to set {stated_mm(found.meant_mm)} mm" if several else ""
            unsettled = _maybe_within(found) if found.standing == "off target" else ""
            aim = _aim(found.correction, words)
            yield f"To put {found.name} right{meant}: aim {aim}{_as_standing(unsettled)}."


def _as_standing(unsettled: str) -> str:
    return f"; off target{unsettled}" if unsettled else ""


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
