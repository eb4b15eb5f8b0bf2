"""The answer first: one or two sentences that a doubter can check against the table below them."""

from collections import defaultdict
from collections.abc import Iterator
from typing import assert_never

from hostctl.config.study_kind import words_of
from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.metrology.spread.setting import Setting
from hostctl.report.analysis.result.judgement import (
    Judgement,
    MeasuredFrom,
    MethodResult,
    Verdict,
)
from hostctl.report.analysis.told.words import (
    EACH_BLOCK,
    NORMALLY,
    Words,
    counted,
    listed,
    more_trials,
    percent,
    supposed,
    within,
)
from hostctl.report.document.reasons import Withheld, reason_words
from hostctl.report.sources.material import Goal

REPEATABILITY_ONLY = "Repeatability only: "
"""What an answer begins with where people set and nothing says how far off."""
FURTHER = "the further tables of hostctl analyse"


def answer(judgement: Judgement, further: str = FURTHER) -> Iterator[str]:
    """Sentences, the weightiest first. further: where the rest is told."""
    words = Words.of(judgement)
    if len(judgement.results) == 1:
        yield _begun(judgement, _of_one(judgement, judgement.results[0], words))
        yield from not_the_gap(judgement)
        return
    if judgement.tie is not None and judgement.trueness:
        from hostctl.report.trueness.told import gaps_left

        yield " ".join(gaps_left(judgement.trueness, judgement.tie, words))
    if judgement.goal is not None:
        yield _begun(judgement, _by_verdict(judgement, judgement.goal))
        yield from _unnumbered(judgement)
    yield from not_the_gap(judgement)
    if judgement.smallest is not None and judgement.largest is not None:
        best, worst = judgement.results[judgement.smallest], judgement.results[judgement.largest]
        rests = "" if judgement.goal is None else ", and what verdicts rest on,"
        yield _ranking(best, worst, words, f"{rests} is told by {further}")


def not_the_gap(judgement: Judgement) -> Iterator[str]:
    """What a tolerance about an average leaves open; how to name a target where one is meant."""
    centres = {one.measured_from for one in judgement.results if not one.is_from_known_gap}
    if judgement.goal is None or not centres:
        return
    says = f"{_where_from(judgement)}, the ± says nothing about the true gap."
    if EACH_BLOCK in centres:
        says = (
            f"{_where_from(judgement, EACH_BLOCK)}, the ± says nothing about the true gap, nor "
            "about how far blocks lie apart."
        )
    if judgement.target_wanted:
        says += (
            " These readings all lie farther from 0 than the tolerance, as gaps do: if a certain "
            "gap is wanted, say --target."
        )
    yield says


def _where_from(judgement: Judgement, average: str = "an average") -> str:
    """Of which methods, where others are measured from the gap wanted."""
    others = [one.name for one in judgement.results if not one.is_from_known_gap]
    of = "" if len(others) == len(judgement.results) else f" for {listed(others)}"
    return f"Measured from {average}{of}"


def _begun(judgement: Judgement, answer: str) -> str:
    """The answer, with what it leaves open said first, where people set and nothing says how far
    off: that it is repeatability only."""
    if judgement.source.zero_known or judgement.source.nobody_set:
        return answer
    return f"{REPEATABILITY_ONLY}{answer[0].lower()}{answer[1:]}"


def _of_one(judgement: Judgement, result: MethodResult, words: Words) -> str:
    what = _subject(judgement, result)
    if judgement.tie is None or not judgement.trueness:
        return _spread_of_one(judgement, result, words, what)
    from hostctl.report.trueness.told import gap_left

    gap = gap_left(judgement.trueness[0], judgement.tie, words, what)
    return " ".join([*gap, _spread_of_one(judgement, result, words, "They")])


def _spread_of_one(judgement: Judgement, result: MethodResult, words: Words, what: str) -> str:
    if isinstance(result.spread, NotYet):
        why = reason_words(result.spread.reason)
        return f"{what}: nothing can be said of their spread yet, as {why}."
    n = "settings" if judgement.source.reference in ("first", "previous") else "readings"
    blocks = counted(result.spread.blocks, "block")
    average = EACH_BLOCK if result.blocks > 1 else "their own average"
    parts = [
        f"{what} spread about {average} with {words.spread(result.spread)} "
        f"over {result.spread.n} {n} in {blocks}."
    ]
    parts += _alone(judgement, result, words)
    if isinstance(result.off, Estimate) and not judgement.trueness:
        parts.append(
            f"On average they are off by {words.signed(result.off.value)} mm "
            f"({words.signed(result.off.low)} to {words.signed(result.off.high)})."
        )
    if judgement.goal is not None:
        parts.append(_claim(judgement.goal, result, words))
    return " ".join(parts)


def _subject(judgement: Judgement, result: MethodResult) -> str:
    hands = f" in the hands of {result.operator}" if result.operator else ""
    return words_of(judgement.source.kind).readings or f"Settings by {result.method}{hands}"


def _alone(judgement: Judgement, result: MethodResult, words: Words) -> Iterator[str]:
    rig = judgement.rig
    if isinstance(result.setting, Setting) and not result.setting.rig_out:
        yield f"Of the setting itself: {reason_words(result.setting.says)}."
    elif isinstance(result.setting, Setting) and rig is not None:
        yield (
            f"With the rig taken out ({rig.name}, {short_figure(rig.spread, words)}), "
            f"the setting itself has {words.setting(result.setting)}."
        )
    elif judgement.rig_wanted and isinstance(result.setting, NotYet):
        yield f"That is setting and rig together: {reason_words(result.setting.reason)}."


def _claim(goal: Goal, result: MethodResult, words: Words) -> str:
    claim, verdict = f"The claim, {within(goal, [result])}: ", result.verdict
    if isinstance(verdict, NotYet):
        return f"{claim}no verdict, as {reason_words(verdict.reason)}."
    assert verdict is not None  # there is a goal
    said = f"{claim}{verdict.verdict}{supposed(result)}"
    if verdict.decided_by == "count":
        return f"{said}; {reason_words(verdict.why)}."
    about: dict[MeasuredFrom, str] = {
        "datum": "the datum",
        "target": "the target",
        "own average": "their own mean",
        EACH_BLOCK: "each block's own mean",
    }
    return f"{said}{_because(goal, verdict, about[result.measured_from], words)}"


def _because(goal: Goal, verdict: Verdict, about: str, words: Words) -> str:
    share, reach = percent(goal.proportion), verdict.half_width
    each = " in each block" if verdict.worst_block else ""
    band = f"the band that holds {share} of settings about {about}{each}"
    limit = f"your limit of ±{goal.within_mm:g} mm"
    low, high = f"±{words.mm(reach.low)} mm", f"±{words.mm(reach.high)} mm"
    match verdict.verdict:
        case "meets":
            return f": {band} is at most {high}; {limit} reaches that far."
        case "does not meet":
            return f", as {band} is at least {low}; {limit} does not reach that far."
        case "cannot tell yet" if verdict.beyond_with_rig:
            return (
                f". With the rig in it, {band} is at least {low}; {limit} does not reach that "
                "far, but how much of the band is the rig's is not known."
            )
        case "cannot tell yet":
            between = f"between {low} and {high}" if reach.low > 0.0 else f"at most {high}"
            lies = "lies between" if reach.low > 0.0 else "is narrower"
            more = more_trials(verdict.further_trials, verdict.why_no_trials)
            more = f"{more[0].upper()}{more[1:]}"
            return f", as {band} is {between}; {limit} {lies}. {more}."
        case never:
            assert_never(never)


def _by_verdict(judgement: Judgement, goal: Goal) -> str:
    groups: dict[str, list[str]] = {"meets": [], "does not meet": [], "cannot tell yet": []}
    for result in judgement.results:
        if isinstance(result.verdict, Verdict):
            groups[result.verdict.verdict].append(f"{result.name}{_marks(result, result.verdict)}")
        else:
            groups["cannot tell yet"].append(result.name)
    said = "; ".join(
        f"{word}{f', {NORMALLY}' if word == 'meets' else ''}: {listed(names)}"
        for word, names in groups.items()
        if names
    )
    claim = within(goal, judgement.results)
    if judgement.look is not None and judgement.look.share <= 0.0:
        refused = Reason(Withheld.LOOKS_SPENT, number=judgement.look.number)
        return f"{claim[0].upper()}{claim[1:]} — no verdict, as {reason_words(refused)}."
    return f"{claim[0].upper()}{claim[1:]} — {said}."


def _unnumbered(judgement: Judgement) -> Iterator[str]:
    """Why verdicts that can't be told yet name no number of further trials."""
    names: defaultdict[str, list[str]] = defaultdict(list)
    for result in judgement.results:
        if (why := _why_no_number(result.verdict)) is not None:
            names[reason_words(why)].append(result.name)
    for words, those in names.items():
        yield f"No number of further trials is named for {listed(those)}: {words}."


def _why_no_number(verdict: Verdict | NotYet | None) -> Reason | None:
    """None where one is named, or none is wanted; spent looks are said of all at once."""
    match verdict:
        case Verdict(beyond_with_rig=True):
            return Reason(Why.RIG_CHECK_DECIDES)
        case Verdict(verdict="cannot tell yet", further_trials=None):
            return verdict.why_no_trials or verdict.why
        case NotYet(reason=reason) if reason.code is not Withheld.LOOKS_SPENT:
            return reason
        case _:
            return None


def _marks(result: MethodResult, verdict: Verdict) -> str:
    marks = [f"+{verdict.further_trials} trials"] if verdict.further_trials else []
    if result.order_shows:
        marks.append(f"not independent: {listed(result.order_shows)}")
    return f" ({', '.join(marks)})" if marks else ""


def _ranking(best: MethodResult, worst: MethodResult, words: Words, told: str) -> str:
    """Of figures alone. told: what else it takes more to see, and where that is."""
    if best is worst:
        return f"Only that of {best.name} is known: {_short(best, words)}."
    return (
        f"The smallest spread found is that of {best.name}, {_short(best, words)}; "
        f"the largest that of {worst.name}, {_short(worst, words)}. Whether they differ beyond "
        f"chance{told}."
    )


def short_figure(spread: RoundedSpread, words: Words) -> str:
    """s without its interval, which the table has."""
    if isinstance(spread.quoted, Estimate):
        return f"s = {words.mm(spread.quoted.value)} mm"
    return f"s below {words.mm(spread.interval.high)} mm"


def _short(result: MethodResult, words: Words) -> str:
    assert isinstance(result.spread, RoundedSpread)
    return f"{words.spread(result.spread)[:-1]}; {result.settings} settings)"
