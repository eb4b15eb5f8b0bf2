"""The answer first: one or two sentences that a doubter can check against the table below them."""

from collections.abc import Iterator, Sequence
from typing import assert_never

from hostctl.config.study_kind import words_of
from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.claims.verdict import CannotTellYet, DoesNotMeet, Meets
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.metrology.spread.setting import Setting
from hostctl.report.analysis.analysis import Analysis
from hostctl.report.analysis.judgement import Judged, Result, verdict_word
from hostctl.report.analysis.words import (
    Words,
    counted,
    listed,
    more_trials,
    percent,
    settings_of_result,
    within,
)
from hostctl.report.document.reasons import reason_words


def answer(analysis: Analysis) -> Iterator[str]:
    """Sentences, the weightiest first."""
    words = Words.of(analysis)
    if len(analysis.results) == 1:
        yield _of_one(analysis, analysis.results[0], words)
        return
    if analysis.goal is not None:
        yield from _by_verdict(analysis)
    ranked = [result for result in analysis.results if isinstance(result.spread, RoundedSpread)]
    if ranked:
        yield _ranking(ranked, words)


def _of_one(analysis: Analysis, result: Result, words: Words) -> str:
    what = _subject(analysis, result)
    if isinstance(result.spread, NotYet):
        why = reason_words(result.spread.reason)
        return f"{what}: nothing can be said of their spread yet, as {why}."
    n = "settings" if analysis.material.reference != "datum" else "readings"
    blocks = counted(result.spread.blocks, "block")
    parts = [
        f"{what} spread with {words.spread(result.spread)} over {result.spread.n} {n} in {blocks}."
    ]
    if isinstance(result.setting, Setting) and analysis.rig is not None:
        parts.append(
            f"With the rig taken out ({analysis.rig.name}, {_figure(analysis.rig.spread, words)}), "
            f"the setting itself has {words.setting(result.setting)}."
        )
    elif analysis.rig_wanted and isinstance(result.setting, NotYet):
        parts.append(f"That is setting and rig together: {reason_words(result.setting.reason)}.")
    if isinstance(result.off, Estimate):
        parts.append(
            f"On average they are off by {words.signed(result.off.value)} mm "
            f"({words.signed(result.off.low)} to {words.signed(result.off.high)})."
        )
    if analysis.goal is not None:
        parts.append(_verdict(analysis, result, words))
    return " ".join(parts)


def _subject(analysis: Analysis, result: Result) -> str:
    hands = f" in the hands of {result.operator}" if result.operator else ""
    return words_of(analysis.material.kind).readings or f"Settings by {result.method}{hands}"


def _verdict(analysis: Analysis, result: Result, words: Words) -> str:
    claim, judged = f"The claim, {within(analysis)}: ", result.judged
    if not isinstance(judged, Judged):
        return f"{claim}cannot tell yet."
    share, reach = percent(judged.claim.content), judged.reach
    share += " in each block" if judged.worst else ""
    low, high = f"±{words.mm(reach.low)} mm", f"±{words.mm(reach.high)} mm"
    between = f"from {low} to {high}" if reach.low > 0.0 else f"up to {high}"
    match judged.verdict:
        case Meets():
            return f"{claim}meets, as {share} surely lie within {high}."
        case DoesNotMeet():
            return f"{claim}does not meet, as it surely takes {low} to hold {share}."
        case CannotTellYet() if not judged.rig_out and judged.claim.tolerance < reach.low:
            return (
                f"{claim}cannot tell yet. With the rig in it, it takes at least {low} to hold "
                f"{share}, and how much of that is the rig's is not known."
            )
        case CannotTellYet() as open_yet:
            return (
                f"{claim}cannot tell yet. What holds {share} may be anything {between}; "
                f"{more_trials(open_yet)}."
            )
        case never:
            assert_never(never)


def _by_verdict(analysis: Analysis) -> Iterator[str]:
    groups: dict[str, list[str]] = {"meets": [], "does not meet": [], "cannot tell yet": []}
    for result in analysis.results:
        judged = result.judged
        more = ""
        if isinstance(judged, Judged) and isinstance(judged.verdict, CannotTellYet):
            further = judged.verdict.further_trials
            more = f" (+{further} trials)" if further else ""
        groups[verdict_word(judged)].append(f"{result.name}{more}")
    said = "; ".join(f"{word}: {listed(names)}" for word, names in groups.items() if names)
    claim = within(analysis)
    yield f"{claim[0].upper()}{claim[1:]} — {said}."


def _ranking(results: Sequence[Result], words: Words) -> str:
    ranked = sorted(results, key=_reach)
    best, worst = ranked[0], ranked[-1]
    if best is worst:
        return f"Only that of {best.name} is known: {_short(best, words)}."
    return (
        f"The smallest spread is that of {best.name}, {_short(best, words)}; "
        f"the largest that of {worst.name}, {_short(worst, words)}."
    )


def _figure(spread: RoundedSpread, words: Words) -> str:
    """s without its interval, which the table has."""
    if isinstance(spread.quoted, Estimate):
        return f"s = {words.mm(spread.quoted.value)} mm"
    return f"s below {words.mm(spread.interval.high)} mm"


def _reach(result: Result) -> float:
    assert isinstance(result.spread, RoundedSpread)
    quoted = result.spread.quoted
    return quoted.value if isinstance(quoted, Estimate) else result.spread.interval.high


def _short(result: Result, words: Words) -> str:
    assert isinstance(result.spread, RoundedSpread)
    return f"{words.spread(result.spread)[:-1]}; {settings_of_result(result)} settings)"
