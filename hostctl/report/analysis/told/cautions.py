"""What a reader must know before believing it."""

from collections.abc import Iterator

from hostctl.config.study_kind import words_of
from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.report.analysis.result.judgement import Judgement, Look, MethodResult, Verdict
from hostctl.report.analysis.told.normal_law import doubts
from hostctl.report.analysis.told.words import EACH_BLOCK, Words, listed, p_value, percent
from hostctl.report.document.reasons import reason_words
from hostctl.report.sources.material import Goal
from hostctl.report.trueness.result import RISK


def cautions(judgement: Judgement) -> Iterator[str]:
    """Plain words, the weightiest first."""
    yield from judgement.source.notes
    yield from _tie(judgement)
    yield from _rig(judgement)
    yield from doubts(judgement)
    yield from _dependent(judgement)
    yield from _apart(judgement)
    yield from _few(judgement)
    yield from _rounding(judgement)
    yield from _reference(judgement)
    if judgement.goal is not None:
        yield from _each_its_own(judgement, judgement.goal)
    if judgement.look is not None:
        risk = 1.0 - judgement.goal.confidence if judgement.goal else RISK
        yield from _looked(judgement.look, risk)


def _tie(judgement: Judgement) -> Iterator[str]:
    """Loaded only where there is one."""
    if judgement.tie is not None:
        from hostctl.report.trueness.cautions import cautions as of_tie

        claimed = judgement.goal is not None
        about_it = [one for one in judgement.results if claimed and one.measured_from == "target"]
        yield from of_tie(
            judgement.trueness,
            judgement.tie,
            blocks_judged=max((one.blocks for one in about_it), default=0),
        )


def _rig(judgement: Judgement) -> Iterator[str]:
    if words_of(judgement.source.kind).checks_rig:
        yield (
            "This is what the rig itself adds to every reading. From a study it is taken out; but "
            "a method much finer than the rig can't be told from it. Run it again whenever the "
            "indicator or its mount was touched."
        )
    if judgement.rig is not None:
        yield from judgement.rig.notes
        yield from _like_the_rig(judgement)
    elif judgement.rig_wanted:
        machine = judgement.source.machine
        run = f" Run: hostctl run rig-check --machine {machine}" if machine else " Name one: --rig"
        yield (
            "There is no rig check to take out, so every figure is of hand, method and rig "
            f"together, and nothing can be found not to meet a tolerance.{run}"
        )


def _like_the_rig(judgement: Judgement) -> Iterator[str]:
    """Of a single one the answer says it."""
    if len(judgement.results) < 2:
        return
    for why in (Why.RIG_MORE_THAN_STUDY, Why.SETTING_WITHIN_RIG):
        of = [result.name for result in judgement.results if _rig_says(result) is why]
        if of:
            yield f"{listed(of)}: {reason_words(Reason(why))}."
    near = [
        result.name for result in judgement.results if _rig_says(result) is Why.SETTING_LIKE_RIG
    ]
    if near:
        yield f"Not told apart from the rig itself: {listed(near)}. The setting may be better."


def _rig_says(result: MethodResult) -> object:
    setting = result.setting
    return (setting.reason if isinstance(setting, NotYet) else setting.says).code


def _dependent(judgement: Judgement) -> Iterator[str]:
    for result in judgement.results:
        if result.order_shows:
            seen = "shows" if len(result.order_shows) == 1 else "show"
            yield (
                f"{result.name}: {listed(result.order_shows)} {seen} in the order of settings. "
                "Every interval and verdict here supposes that they are independent of each other."
            )


def _apart(judgement: Judgement) -> Iterator[str]:
    words = Words.of(judgement)
    for result in judgement.results:
        if (apart := result.blocks_apart) is not None:
            yield (
                f"{result.name}: block means lie between {words.signed(apart.lowest)} and "
                f"{words.signed(apart.highest)} mm, farther apart than scatter within blocks "
                f"explains ({p_value(apart.test.p_value)}). s, ± and verdict leave that out, as "
                f"they are about {EACH_BLOCK}: settings of all blocks together spread more widely."
            )


def _few(judgement: Judgement) -> Iterator[str]:
    few = judgement.few
    if few is not None and few.hardly_an_estimate:
        yield (
            f"With {few.settings} settings a standard deviation is hardly an estimate: the truth "
            "may be several times larger. Look at the interval, not at s."
        )
    elif few is not None:
        yield (
            f"With {few.settings} settings a standard deviation is uncertain by a quarter or more. "
            "Look at the interval, not at s alone."
        )
    for result in judgement.results:
        if isinstance(result.spread, NotYet):
            yield f"No spread for {result.name}: {reason_words(result.spread.reason)}."


def _rounding(judgement: Judgement) -> Iterator[str]:
    for result in judgement.results:
        if isinstance(result.spread, RoundedSpread) and isinstance(result.spread.quoted, NotYet):
            yield f"{result.name}: {reason_words(result.spread.why)}."
    source = judgement.source
    fine = [result.name for result in judgement.results if result.below_graduation]
    yield (
        f"Read to {source.resolution_mm:.6g} mm ({source.resolution_from}); each reading is "
        "taken as anywhere within that."
        + (f" Below one graduation: {listed(fine)}; the intervals allow for it." if fine else "")
    )


def _reference(judgement: Judgement) -> Iterator[str]:
    source = judgement.source
    match source.reference:
        case "first":
            yield (
                "Readings count from their block's own zero, which is a setting like the others. "
                "They tell how settings scatter, not whether they are too high or too low."
            )
        case "previous":
            yield (
                "Readings are differences of two settings: s is theirs over the square root of "
                "two, and neighbours share a setting, which the interval allows for. They tell how "
                "settings scatter, not whether they are too high or too low."
            )
        case "datum" if judgement.trueness:
            return
        case "datum" if source.zero_known:
            several = any(result.blocks > 1 for result in judgement.results)
            worst = ", and the claim has to hold in each block: the worst one decides"
            yield (
                "Readings count from a datum, so being off it counts in the verdict too"
                f"{worst if several else ''}."
            )
        case "datum" if source.own_zeros:
            yield (
                "Each block's zero was read on a gauge block that lay on the bed, at the height at "
                "which the screws had been left. Readings tell how settings scatter, not whether "
                "they are too high or too low, nor which method sets higher."
            )
        case _:
            return


def _each_its_own(judgement: Judgement, goal: Goal) -> Iterator[str]:
    verdicts = sum(isinstance(result.verdict, Verdict) for result in judgement.results)
    if verdicts > 1:
        yield (
            f"Each verdict's risk of being wrong, at most {percent(1.0 - goal.confidence)}, is its "
            f"own: that some one of {verdicts} is wrong is likelier."
        )


def _looked(look: Look, risk: float) -> Iterator[str]:
    """What a reader must know of it. risk: that a verdict is wrong, for all looks together."""
    if look.share > 0.0:
        spends = f"spends {_share(look.share)} of the {percent(risk)} risk of a wrong verdict"
        yield _of_file(look, spends) if look.recorded is None else _of_runs(look, spends)
    if look.too_late is not None:
        yield (
            f"--looks {look.too_late} comes too late: how often a claim will be judged counts only "
            "when it is said at the first look."
        )
    if look.unrecorded is not None:
        yield f"This look could not be recorded, and the next won't know of it: {look.unrecorded}."


def _of_runs(look: Look, spends: str) -> str:
    declared = "" if look.declared is None else f" of {look.declared} declared"
    says = f"This is look {look.number}{declared} at these readings, {look.recorded} on record, and"
    if look.left > 0.0:
        return f"{says} {spends}; looks after more trials share what is left."
    return f"{says} {spends}; nothing is left for a look after more trials."


def _of_file(look: Look, spends: str) -> str:
    if look.declared == 1:
        return f"This is the only look at this file, as declared, and {spends}."
    if look.declared is not None:
        return f"The claim is judged {look.declared} times in all, as declared; each look {spends}."
    return (
        f"Looks at a file are not recorded: this one counts as the first and {spends}. If it is "
        "the only one there will be, say --looks 1; if it is the first of N, --looks N at each."
    )


def _share(share: float) -> str:
    """As a fraction, where it is a plain one."""
    parts = round(1 / share)
    if abs(parts * share - 1) > 1e-6:
        return percent(share)
    return {1: "all", 2: "half"}.get(parts, f"1/{parts}")
