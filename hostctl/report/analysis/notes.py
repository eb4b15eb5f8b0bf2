"""What a reader must know before believing an analysis, and how it was worked out."""

from collections.abc import Iterator

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.basis.significance import Significance
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.metrology.spread.setting import Setting
from hostctl.report.analysis.analysis import Analysis
from hostctl.report.analysis.judgement import Judged
from hostctl.report.analysis.words import counted, listed
from hostctl.report.document.reasons import reason_words

FEWEST_FOR_AN_ESTIMATE, FEW = 5, 10  # 36 % and 24 % uncertain, JCGM 100:2008 table E.1


def cautions(analysis: Analysis) -> Iterator[str]:
    """Plain words, the weightiest first."""
    yield from analysis.material.notes
    if analysis.rig is not None:
        yield from analysis.rig.notes
    if analysis.rig is None and analysis.rig_wanted:
        machine = analysis.material.machine
        run = f" Run: hostctl run rig-check --machine {machine}" if machine else " Name one: --rig"
        yield (
            "There is no rig check to take out, so every figure is of hand, method and rig "
            f"together, and nothing can be found not to meet a tolerance.{run}"
        )
    yield from _few(analysis)
    yield from _rounding(analysis)
    yield from _reference(analysis)
    if analysis.goal is not None:
        yield _looks(analysis)


def _few(analysis: Analysis) -> Iterator[str]:
    spreads = [r.spread for r in analysis.results if isinstance(r.spread, RoundedSpread)]
    fewest = min((spread.n for spread in spreads), default=0)
    if 0 < fewest < FEWEST_FOR_AN_ESTIMATE:
        yield (
            f"With {fewest} settings a standard deviation is hardly an estimate: the truth may be "
            "several times larger. Look at the interval, not at s."
        )
    elif 0 < fewest < FEW:
        yield (
            f"With {fewest} settings a standard deviation is uncertain by a quarter or more. Look "
            "at the interval, not at s alone."
        )
    for result in analysis.results:
        if isinstance(result.spread, NotYet):
            yield f"No spread for {result.name}: {reason_words(result.spread.reason)}."


def _rounding(analysis: Analysis) -> Iterator[str]:
    material = analysis.material
    for result in analysis.results:
        if isinstance(result.spread, RoundedSpread) and isinstance(result.spread.quoted, NotYet):
            yield f"{result.name}: {reason_words(result.spread.why)}."
    fine = [
        result.name
        for result in analysis.results
        if isinstance(result.spread, RoundedSpread)
        and isinstance(result.spread.quoted, Estimate)
        and result.spread.quoted.value < material.resolution_mm
    ]
    yield (
        f"Read to {material.resolution_mm:.6g} mm ({material.resolution_from}); each reading is "
        "taken as anywhere within that."
        + (f" Below one graduation: {listed(fine)}; the intervals allow for it." if fine else "")
    )


def _reference(analysis: Analysis) -> Iterator[str]:
    match analysis.material.reference:
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
        case "datum" if analysis.material.zero_known:
            several = any(len(result.blocks) > 1 for result in analysis.results)
            worst = ", and the claim has to hold in each block: the worst one decides"
            yield (
                "Readings count from a datum, so being off it counts in the verdict too"
                f"{worst if several else ''}."
            )
        case "datum" if analysis.material.own_zeros:
            yield (
                "Each block's zero was read on a gauge block that lay on the bed, at the height at "
                "which the screws had been left. Readings tell how settings scatter, not whether "
                "they are too high or too low, nor which method sets higher."
            )
        case _:
            return


def _looks(analysis: Analysis) -> str:
    if analysis.looks > 1:
        return (
            f"The claim is judged {analysis.looks} times in all, as declared, and the risk shared "
            "out between them."
        )
    return (
        "The verdict holds for one look at the readings. If it will be judged again after more "
        "trials, say at the first look how often in all (--looks N): three looks undeclared can "
        "double the risk of calling a bad method good."
    )


def how(analysis: Analysis) -> Iterator[str]:
    """What each kind of figure is, and whose method it is."""
    results = analysis.results
    spreads = [result.spread for result in results if isinstance(result.spread, RoundedSpread)]
    figures = [(one.blocks, one.quoted) for one in spreads if isinstance(one.quoted, Estimate)]
    if figures:
        _, most = max(figures, key=lambda pair: pair[0])  # what several blocks add is said
        yield f"s and its interval: {most.how}. {most.source}."
    if len(figures) < len(spreads):
        yield (
            "s below a bound: the spread at which readings on so few graduations become too "
            "unlikely, by the same likelihood; calibrated to n."
        )
    setting = next((r.setting for r in results if isinstance(r.setting, Setting)), None)
    if setting is not None:
        yield f"Rig out: {setting.how}. {setting.source}."
    if any(isinstance(result.judged, Judged) for result in results):
        yield (
            "Verdict: the half-width that holds the share asked for, from one-sided limits of the "
            "setting's standard deviation. ISO 16269-6 (exact factors), NIST/SEMATECH 7.2.6.3."
        )
    yield from _how_compared(analysis)
    yield from _how_biased(analysis)
    if analysis.oddities:
        yield (
            "Outliers: generalised extreme deviates within blocks (Rosner 1983; Grubbs 1969). "
            "Drift: Mann-Kendall over blocks (Hirsch, Slack and Smith 1982). Warm-up: first trials "
            "against random orders (Good 2005; Besag and Clifford 1991). Risk of a false alarm: "
            f"5 % for each kind, over {counted(len(analysis.oddities), 'sample')} together."
        )
    if any(not isinstance(crossed.study, NotYet) for crossed in analysis.crossed):
        yield (
            "Gauge study: Measurement Systems Analysis, 4th ed., III B; intervals by Burdick, "
            "Borror and Montgomery 2005."
        )


def _how_compared(analysis: Analysis) -> Iterator[str]:
    found = analysis.compared
    if found is None:
        return
    tests = [pair.test for pair in found.pairs if isinstance(pair.test, Significance)]
    if tests:
        yield (
            f"Comparisons: {_what(tests[0])} ({tests[0].source}), adjusted by Holm 1979. Ratios: F "
            "interval on the degrees of freedom that the rounded readings are worth (ISO 2854). As "
            "good: two one-sided tests (Schuirmann 1987)."
        )
    if isinstance(found.test, Significance):
        yield f"Hands and methods: {_what(found.test)} ({found.test.source}); Zou and Donner 2008."


def _how_biased(analysis: Analysis) -> Iterator[str]:
    tests = [bias.found.test for bias in analysis.biases if not isinstance(bias.found, NotYet)]
    whose = dict.fromkeys(f"{test.how} ({test.source})" for test in tests)
    if whose:
        high = "" if analysis.goal is None else " As high: two one-sided t tests (Schuirmann 1987)."
        yield f"Means: {listed(list(whose))}, adjusted by Holm 1979.{high}"


def _what(test: Significance) -> str:
    """The kind of test; how many shuffles it took differs from pair to pair."""
    return test.how.partition(",")[0]
