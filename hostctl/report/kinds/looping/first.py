"""The first screen of a loop: the question, the answer with its doubt, and its course."""

from collections.abc import Iterator

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.report.document.blocks import Block, Figure, Paragraph, Role
from hostctl.report.document.reasons import reason_words
from hostctl.report.figures.loops.loop_course import LoopCourse
from hostctl.report.figures.loops.marks import TouchColumn
from hostctl.report.kinds.looping.result import ColumnFound, DriftFound, LoopResult
from hostctl.report.kinds.looping.words import (
    lengths,
    share_words,
    signed_words,
    spread_words,
    time_words,
    touches_words,
)

HOUR_S = 3600.0
_SIDES = ("left", "right")


def first_screen(result: LoopResult) -> Iterator[Block]:
    """What anyone should see, whoever reads no further."""
    asked = f"How finely does the probe of {result.machine} repeat, and does it drift?"
    yield Paragraph(text=asked, role=Role.QUESTION)
    yield Paragraph(text=f"{_repeats(result)} {_drifts(result)}", role=Role.ANSWER)
    further = (_warm_up(result), _fails(result), why_over(result))
    yield Paragraph(text=" ".join(filter(None, further)), role=Role.ANSWER)
    yield course_figure(result)


def _repeats(result: LoopResult) -> str:
    spread = result.spread
    if spread is None:
        return (
            f"How finely it repeats can't be told: of {touches_words(result.touches)} no two are "
            "of one level."
        )
    how = f"{spread_words(spread, lengths(result))}, by {touches_words(spread.n)}"
    if isinstance(spread.value, NotYet):
        return f"Apart from drift a touch has {how}: {reason_words(spread.value.reason)}."
    without = result.spread_without
    if without is None:
        return f"Apart from drift a touch scatters by {how}."
    beyond = "touch" if len(result.course.beyond) == 1 else "touches"
    return (
        f"Apart from drift a touch scatters by {how}; without the {len(result.course.beyond):,} "
        f"{beyond} beyond control limits by {spread_words(without, lengths(result))}."
    )


def _drifts(result: LoopResult) -> str:
    if result.phases:
        return "As its bed was warmed and cooled in turn, drift is not judged."
    drift = result.drift
    if isinstance(drift.in_all, NotYet):
        return f"Whether it drifts can't be told: {reason_words(drift.in_all.reason)}."
    moved = _moved(drift, drift.in_all, result)
    if drift.shows:
        return f"It drifts: {moved}."
    if any(point.shows is not None for point in result.points):
        return f"No steady drift shows ({moved}), but the order of its touches does: see below."
    return f"No drift shows: {moved}."


def _moved(drift: DriftFound, in_all: Estimate, result: LoopResult) -> str:
    moved = signed_words(in_all, lengths(result))
    over = time_words(HOUR_S * drift.over_h)
    if drift.by == "within-stretches":
        return f"{moved} if it went on so for {over}, by what lies between homings and holds"
    return f"{moved} over {over}"


def _warm_up(result: LoopResult) -> str:
    found = result.warm_up
    where = f" at {result.warm_up_at}, the first point that it touched" if result.warm_up_at else ""
    if not where and result.warm_up_of < result.touches:
        where = f" by the {touches_words(result.warm_up_of)} before it homed anew or stood still"
    mm = lengths(result)
    match found:
        case None:
            return ""
        case NotYet():
            return f"How long to let it warm up can't be told{where}: {reason_words(found.reason)}."
    let_pass = f"a drift of up to {mm.mm(found.matters)} mm let pass"
    if not found.touches:
        return f"No warm-up shows{where} ({let_pass})."
    return (
        f"Wait {time_words(found.wait_s)} before touches count: so long it warmed up{where}, first "
        f"{mm.signed(found.drifted)} mm from where it settled ({let_pass}).{_settled(result)}"
    )


def _settled(result: LoopResult) -> str:
    """What drift is left then."""
    drift = result.settled
    if drift is None or isinstance(drift.in_all, NotYet):
        return ""
    moved = _moved(drift, drift.in_all, result)
    return (
        f" After that it still drifts: {moved}."
        if drift.shows
        else f" After that no drift shows: {moved}."
    )


def _fails(result: LoopResult) -> str:
    if not isinstance(result.failures, Estimate):
        return ""
    interval = result.failures.interval
    tries = f"of {result.failures.n:,}"
    if not result.failed:
        return f"No touch {tries} failed (95 %: at most {share_words(interval.high)} do)."
    share = share_words(result.failures.value)
    ends = f"{share_words(interval.low)} to {share_words(interval.high)}"
    return f"{touches_words(result.failed)} {tries} failed: {share} (95 %: {ends})."


def why_over(result: LoopResult) -> str:
    """Why the loop stopped, or that it didn't yet."""
    done = touches_words(result.touches)
    of = f"{done} of {result.planned:,}" if result.planned else done
    match result.stop:
        case "count":
            return f"It stopped when all touches were done, {result.touches:,} that count."
        case "known":
            return f"It stopped after {of}, its spread known well enough."
        case "time":
            return f"It stopped after {of}, having gone on for as long as it was to."
        case "left-cold":
            return f"It stopped after {of}, as somebody said that the bed stays cold."
        case "broken-off":
            why = result.end_reason.rstrip(".")
            return f"It was broken off after {of}{f': {why}' if why else ''}."
        case "goes-on":
            return f"It is not over: {of} by now."


def course_figure(result: LoopResult) -> Figure:
    """Touches in order of time."""
    course, mm = result.course, lengths(result)
    low = min(one.low_mm for one in course.columns)
    high = max(one.high_mm for one in course.columns)
    mean = "their mean" if len(result.points) == 1 else "each point's mean"
    says = (
        f"{touches_words(result.touches)} over {time_words(result.went_on_s)}, from "
        f"{mm.signed(low)} to {mm.signed(high)} mm about {mean}"
    )
    beyond = f"; beyond their control limits: {len(course.beyond)}" if course.beyond else ""
    return Figure(
        drawing=LoopCourse(
            columns=tuple(map(_column, course.columns)),
            touches=result.touches,
            sides=_SIDES if any(one.side for one in course.columns) else (),
            homed_before=() if result.homed_for_each else course.homed_before,
            halted_before=tuple(sorted({one.touch for one in course.halts})),
            beyond=tuple((one.touch, one.off_mm) for one in course.beyond),
            step_mm=result.resolution_mm,
            took=time_words(result.went_on_s),
            counted_from=mean,
        ),
        says=f"{says}{beyond}.",
        name="loop-course",
    )


def _column(one: ColumnFound) -> TouchColumn:
    return TouchColumn(
        first=one.first,
        last=one.last,
        side=int(one.side == "right"),
        count=one.count,
        low_mm=one.low_mm,
        mean_mm=one.mean_mm,
        high_mm=one.high_mm,
        lower_mm=one.lower_mm,
        upper_mm=one.upper_mm,
    )


def drift_way(drift: DriftFound) -> str:
    """What the line goes through, in words."""
    return {
        "touches": "through all touches",
        "within-stretches": "through touches between homings and holds",
        "from-stretch-to-stretch": "through the means between homings and holds",
    }[drift.by]
