"""The first verdict: what each method in each pair of hands repeats to, beside the rig itself."""

from collections.abc import Iterable, Sequence

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.report.analysis.cautions import cautions
from hostctl.report.analysis.first_figures import Figures, figures_of
from hostctl.report.document.table import table
from hostctl.report.document.wrapped import wrapped
from hostctl.report.sources.rig_check import RigChoice
from hostctl.report.sources.samples import reference_of, samples_of
from hostctl.store.rows import RunRecord, RunSummary

HEADS = ("method", "operator", "n", "mean", "s", "95 % of s", "range", "largest")
NUMBERS = frozenset(range(2, len(HEADS)))


def verdict_text(record: RunRecord, rig: RunRecord | None, choice: RigChoice | None = None) -> str:
    """The verdict of a run, as text. rig: the rig check to put beside it; choice: why that one."""
    reference = reference_of(record)
    figures = [figures_of(sample, reference) for sample in samples_of(record)]
    rig_figures = _rig_figures(rig)
    parts = [_title(record.summary)]
    if not figures:
        parts.append("No reading of it counts yet, so there is nothing to judge.")
        return "\n\n".join(parts)
    rows = [_row(each) for each in figures]
    if rig_figures is not None and rig is not None:
        rows.append(_row(rig_figures, name=f"rig, run {rig.summary.run}"))
    parts.append(table(HEADS, rows, right=NUMBERS))
    parts.append(wrapped(_legend(reference)))
    sentences = [*_answers(figures), *cautions(record, figures, rig_figures, choice)]
    parts.append("\n".join(wrapped(sentence, first="• ") for sentence in sentences))
    return "\n\n".join(parts)


def _rig_figures(rig: RunRecord | None) -> Figures | None:
    samples = samples_of(rig) if rig is not None else []
    return figures_of(samples[0], reference_of(rig)) if rig is not None and samples else None


def _title(run: RunSummary) -> str:
    return (
        f"Run {run.run}: {run.new.title}\n"
        f"{run.new.study} on {run.new.machine}, {run.new.started_at:%Y-%m-%d %H:%M} UTC"
    )


def _row(figures: Figures, name: str = "") -> list[str]:
    sample = figures.sample
    counted = figures.spread.n if isinstance(figures.spread, RoundedSpread) else None
    return [
        name or sample.method or "nothing adjusted",
        sample.operator,
        str(counted or len(sample.readings_mm)),
        f"{figures.mean_mm:+.4f}".replace("-", "\N{MINUS SIGN}"),
        *_spread_cells(figures.spread),
        f"{figures.range_mm:.4f}",
        f"{figures.largest_mm:.4f}",
    ]


def _spread_cells(spread: RoundedSpread | NotYet) -> tuple[str, str]:
    if isinstance(spread, NotYet):
        return "not yet", ""
    high = f"{spread.interval.high:.4f}"
    if isinstance(spread.quoted, NotYet):
        return "small", f"below {high}"
    return f"{spread.quoted.value:.4f}", f"{spread.interval.low:.4f}\N{EN DASH}{high}"


def _legend(reference: str) -> str:
    settings = {
        "first": "n counts settings: the readings, and each block's zero, which is one too; "
        "mean is that of the readings.",
        "previous": "Readings are differences of two settings; s is that of one setting.",
        "datum": "n counts readings, each from the datum.",
    }[reference]
    return (
        f"All in mm. {settings} s is the standard deviation, pooled over blocks, each about its "
        "own mean. range: of the widest block. largest: the farthest of a setting from its "
        "block's mean."
    )


def _answers(figures: Sequence[Figures]) -> Iterable[str]:
    for operator in dict.fromkeys(each.sample.operator for each in figures):
        mine = [each for each in figures if each.sample.operator == operator]
        ranked = sorted(
            (each for each in mine if each.reach_mm is not None),
            key=lambda each: each.reach_mm or 0,
        )
        if len(ranked) > 1:
            yield _ranking(operator, ranked)


def _ranking(operator: str, ranked: Sequence[Figures]) -> str:
    best, rest = ranked[0], ranked[1:]
    close = [each.sample.method for each in rest if _overlap(best, each)]
    sentence = (
        f"{_in_whose_hands(operator)}{best.sample.method} has the smallest spread: {_said(best)}; "
        + ", ".join(f"{each.sample.method} {_said(each)}" for each in rest)
        + "."
    )
    if close:
        return (
            f"{sentence} The intervals overlap, so this table does not tell it from {_and(close)}."
        )
    return f"{sentence} Its interval lies below the others': chance alone is an unlikely reason."


def _in_whose_hands(operator: str) -> str:
    return f"In the hands of {operator}, " if operator else ""


def _said(figures: Figures) -> str:
    spread = figures.spread
    if isinstance(spread, RoundedSpread) and not isinstance(spread.quoted, NotYet):
        return f"s = {spread.quoted.value:.4f} mm"
    return f"s below {figures.reach_mm or 0:.4f} mm"


def _overlap(one: Figures, other: Figures) -> bool:
    if isinstance(one.spread, NotYet) or isinstance(other.spread, NotYet):
        return True
    return one.spread.interval.high >= other.spread.interval.low


def _and(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
