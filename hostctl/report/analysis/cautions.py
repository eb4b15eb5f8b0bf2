"""What a reader of the first verdict must know before believing it, in plain words."""

from collections import Counter
from collections.abc import Iterable, Sequence

from hostctl.config.study_kind import words_of
from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.report.analysis.first_figures import Figures
from hostctl.report.document.reasons import reason_words
from hostctl.report.sources.failed_touches import failed_touches
from hostctl.report.sources.rig_check import RigChoice
from hostctl.store.rows import RunRecord

FEWEST_FOR_AN_ESTIMATE = 5  # 36 % uncertain below, JCGM 100:2008 table E.1
FEW = 10


def cautions(
    record: RunRecord,
    figures: Sequence[Figures],
    rig: Figures | None,
    choice: RigChoice | None = None,
) -> Iterable[str]:
    """Sentences, the weightiest first."""
    yield from _early(record)
    yield from _rig(record, figures, rig, choice)
    yield from _unknown(figures)
    yield from _few(figures)
    yield from _rounding(figures)
    yield from _reference(record)
    yield from _left_out(record)
    failed = failed_touches(record.events, len(record.readings))
    if failed is not None:
        yield failed


def _early(record: RunRecord) -> Iterable[str]:
    if not record.summary.complete:
        reason = record.summary.end_reason or "it has not ended"
        yield f"The run is not complete ({reason}): this is what was read so far."


def _rig(
    record: RunRecord, figures: Sequence[Figures], rig: Figures | None, choice: RigChoice | None
) -> Iterable[str]:
    kind = words_of(record.summary.new.kind)
    if kind.checks_rig:
        yield (
            "This is what the rig itself adds to every reading. No method can be judged finer. "
            "Run it again whenever the indicator or its mount was touched."
        )
        return
    if not kind.people_set:
        return
    machine = record.summary.new.machine
    if rig is None or rig.reach_mm is None:
        yield (
            f"No rig check of {machine} is on record, so what the rig adds is not known, and the "
            f"figures are of hand, method and rig together. Run: hostctl run rig-check --machine "
            f"{machine}"
        )
        return
    if choice is not None:
        yield from choice.doubts
    yield (
        f"The rig alone, nothing adjusted, gave s = {rig.reach_mm:.4f} mm. "
        "It is contained in every figure above: hand, method and rig together."
        if not _bounded(rig)
        else f"The rig alone, nothing adjusted, stays below s = {rig.reach_mm:.4f} mm."
    )
    if choice is not None:
        yield choice.why
    near = [_name(each) for each in figures if _near(each, rig)]
    if near:
        yield f"Not told apart from the rig itself: {'; '.join(near)}. The setting may be better."


def _near(figures: Figures, rig: Figures) -> bool:
    """Whether the lower end of the figure's interval is within the rig's."""
    if isinstance(figures.spread, NotYet) or isinstance(rig.spread, NotYet):
        return False
    return figures.spread.interval.low <= rig.spread.interval.high


def _bounded(figures: Figures) -> bool:
    return isinstance(figures.spread, RoundedSpread) and isinstance(figures.spread.quoted, NotYet)


def _unknown(figures: Sequence[Figures]) -> Iterable[str]:
    for each in figures:
        if isinstance(each.spread, NotYet):
            yield f"No spread for {_name(each)}: {reason_words(each.spread.reason)}."


def _few(figures: Sequence[Figures]) -> Iterable[str]:
    fewest = min(len(each.sample.readings_mm) for each in figures)
    so_many = _counted(fewest, "reading")
    if fewest < FEWEST_FOR_AN_ESTIMATE:
        yield (
            f"With {so_many} a standard deviation is hardly an estimate: the truth may be "
            "several times larger. Look at the interval, not at s."
        )
    elif fewest < FEW:
        yield (
            f"With {so_many} a standard deviation is uncertain by a quarter or more "
            "(JCGM 100, table E.1). Look at the interval, not at s alone."
        )


def _rounding(figures: Sequence[Figures]) -> Iterable[str]:
    bounded = [each for each in figures if _bounded(each)]
    for each in bounded:
        if isinstance(each.spread, RoundedSpread):
            yield f"{_name(each)}: {reason_words(each.spread.why)}."
    fine = [each for each in figures if each not in bounded and _below_graduation(each)]
    if fine:
        resolution = fine[0].sample.resolution_mm
        yield (
            f"Some spreads are below one graduation ({resolution:g} mm). Each reading is taken as "
            "anywhere within its graduation, so these intervals allow for the rounding."
        )


def _below_graduation(figures: Figures) -> bool:
    return figures.reach_mm is not None and figures.reach_mm < figures.sample.resolution_mm


def _reference(record: RunRecord) -> Iterable[str]:
    match record.summary.new.reference:
        case "first":
            yield (
                "Readings count from their block's own zero, which is a setting like the others. "
                "So they tell how settings scatter, not whether they are too high or too low."
            )
        case "previous":
            yield "Neighbouring differences share a setting; the interval allows for that."
        case _:
            return


def _left_out(record: RunRecord) -> Iterable[str]:
    void = [reading for reading in record.readings if reading.void is not None]
    zeros = Counter(reading.void for reading in void if reading.kept.is_zero)
    readings = Counter(reading.void for reading in void if not reading.kept.is_zero)
    if void:
        reasons = dict.fromkeys(reading.void for reading in void)
        listed = ", ".join(f"{_both(readings[why], zeros[why])} ({why})" for why in reasons)
        yield f"Left out, and kept on record: {listed}."
    skipped = sum(mark.mark == "skipped" for mark in record.marks)
    if skipped:
        yield f"Skipped trials: {skipped}."


def _both(readings: int, zeros: int) -> str:
    """`2 readings and their zero`."""
    if not readings or not zeros:
        return _counted(readings, "reading") if readings else _counted(zeros, "zero")
    whose = "its" if readings == 1 else "their"
    return (
        f"{_counted(readings, 'reading')} and {whose} {'zero' if zeros == 1 else f'{zeros} zeros'}"
    )


def _counted(number: int, thing: str) -> str:
    """`1 reading`, `2 readings`."""
    return f"{number} {thing}{'' if number == 1 else 's'}"


def _name(figures: Figures) -> str:
    sample = figures.sample
    if not sample.method:
        return "nothing adjusted"
    return f"{sample.method} by {sample.operator}" if sample.operator else sample.method
