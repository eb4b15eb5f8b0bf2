"""Workshops held against each other, in words and as a table."""

from collections.abc import Iterator

from hostctl.metrology.basis.estimate import NotYet
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.result.workshops import BetweenWorkshops, Workshop
from hostctl.report.analysis.told.words import Words, listed
from hostctl.report.document.blocks import Block, Column, Heading, Items, Paragraph, Table
from hostctl.report.document.reasons import reason_words
from hostctl.report.document.significant import MINUS

FEWEST = 3  # workshops; h is at most (p - 1)/sqrt(p), 1.155 then


def between_workshops(analysis: Analysis) -> Iterator[Block]:
    """Each method that three workshops or more have tried."""
    yield Heading(text="Between workshops, mm")
    yield from workshops_compared(analysis)


def workshops_compared(analysis: Analysis) -> Iterator[Block]:
    """What they have in common, each one's figures, and who stands out."""
    words = Words.of(analysis)
    for found in analysis.workshops:
        yield Paragraph(text=f"{found.method}: {_answer(found, words)}")
        yield _table(found, words)
        if notes := tuple(_notes(found, words)):
            yield Items(items=notes)
    yield Items(
        items=(
            "A workshop is its machine, rig and hands together, taken to scatter alike in it; the "
            "rig is not taken out here. s: about each block's own mean. k: a workshop's s against "
            "that of all; h: its mean against that of all. Rounding is not allowed for. "
            "ISO 5725-2, 7.3.1 and 7.4.",
        ),
    )


def _answer(found: BetweenWorkshops, words: Words) -> str:
    out = [workshop.name for workshop in _scattering(found)]
    more = f", but oftener in {listed(out)}, out of line by k" if out else ""
    within = (
        f"pooled over workshops, two settings in one differ by more than "
        f"{words.mm(found.repeatability_limit_mm)} mm only once in twenty (repeatability s_r = "
        f"{words.mm(found.repeatability_mm)} mm){more}"
    )
    between = found.reproducibility
    if isinstance(between, NotYet):
        return f"{within}. Means are not compared: {reason_words(between.reason)}."
    return (
        f"{within}; two in two workshops by more than {words.mm(between.limit_mm)} mm "
        f"(reproducibility s_R = {words.mm(between.reproducibility_mm)} mm, of which between "
        f"workshops s_L = {words.mm(between.between_mm)} mm). Mean of all: "
        f"{words.signed(between.mean_mm)} mm."
    )


def _table(found: BetweenWorkshops, words: Words) -> Table:
    with_means = not isinstance(found.reproducibility, NotYet)
    heads = ["settings", "s", "k", *(["mean", "h"] if with_means else [])]
    return Table(
        columns=(
            Column(head="workshop"),
            *(Column(head=head, is_number=True) for head in heads),
        ),
        rows=tuple(_row(workshop, words, with_means=with_means) for workshop in found.workshops),
    )


def _row(workshop: Workshop, words: Words, *, with_means: bool) -> tuple[str, ...]:
    row = [workshop.name, str(workshop.settings), words.mm(workshop.s_mm), _figure(workshop.k)]
    if with_means and workshop.mean_mm is not None:
        row += [words.signed(workshop.mean_mm), _figure(workshop.h)]
    return tuple(row)


def _figure(value: float | None) -> str:
    return "" if value is None else f"{value:.2f}".replace("-", MINUS)


def _notes(found: BetweenWorkshops, words: Words) -> Iterator[str]:
    """Who stands out, and by how much; a limit that can't be had is said."""
    if found.k_limit is not None:
        yield _said([_scatter(w) for w in _scattering(found)], "k", found.k_limit, "scatter")
    elif any(workshop.k is not None for workshop in found.workshops):
        yield "k has no limit here: workshops have unlike numbers of settings."
    if found.h_limit is not None:
        out = [w for w in found.workshops if w.h is not None and abs(w.h) > found.h_limit]
        yield _said([_mean(w, words) for w in out], "h", found.h_limit, "mean")
        if len(found.workshops) == FEWEST:
            yield "Of three workshops no h passes 1.15, so that h can hardly show one of them."


def _scattering(found: BetweenWorkshops) -> list[Workshop]:
    """The workshops that scatter more than the others."""
    limit = found.k_limit
    return [w for w in found.workshops if limit and w.k is not None and w.k > limit]


def _scatter(workshop: Workshop) -> str:
    return f"{workshop.name} (s is {_figure(workshop.k)} times that of all)"


def _mean(workshop: Workshop, words: Words) -> str:
    off_mm = workshop.off_mm or 0.0
    side = "above" if off_mm > 0.0 else "below"
    return f"{workshop.name} ({words.mm(abs(off_mm))} mm {side} the mean of all)"


def _said(out: list[str], name: str, limit: float, what: str) -> str:
    once = (
        f"{name} beyond {limit:.2f} comes once in a hundred of a workshop like the others, if "
        "settings scatter normally"
    )
    if not out:
        return f"None stands out by its {what}: {once}."
    return f"Out of line by {what}: {listed(out)}; {once}. Look for the cause before dropping any."
