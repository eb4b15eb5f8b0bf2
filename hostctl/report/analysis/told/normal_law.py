"""Whether settings scatter normally, in sentences; and what the check of it notices."""

from collections.abc import Iterator, Sequence

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.oddities.normal_law import Departure, NormalLaw
from hostctl.metrology.oddities.normal_law_limits import NOTICED
from hostctl.report.analysis.result.judgement import Judgement, MethodResult
from hostctl.report.analysis.told.words import listed, percent
from hostctl.report.document.reasons import reason_words
from hostctl.report.document.significant import MINUS

_LOOKS: dict[Departure, str] = {
    "lopsided": "they reach farther to one side",
    "heavy tails": "a few lie far out",
    "two heaps": "they lie in two heaps",
}
_SPOKEN_OF = 12  # settings for which the rates are said


def doubts(judgement: Judgement) -> Iterator[str]:
    """Each method whose readings don't look normal, and what follows."""
    for result in judgement.results:
        if isinstance(result.law, NormalLaw) and result.law.doubted:
            looks = listed([_LOOKS[one] for one in result.law.departures])
            yield (
                f"{result.name}: settings do not scatter normally; {looks}. Every interval here "
                "supposes that they do, so only a count may say that a tolerance is met, or not."
            )


def untold(judgement: Judgement) -> Iterator[str]:
    """The methods of which it can't be told, and why."""
    by_reason: dict[str, list[str]] = {}
    for result in judgement.results:
        if isinstance(result.law, NotYet):
            by_reason.setdefault(reason_words(result.law.reason), []).append(result.name)
    for why, names in by_reason.items():
        yield f"Whether settings scatter normally can't be told of {listed(names)}: {why}."


def law_explained(result: MethodResult) -> str:
    """The check with this method's numbers in it."""
    law = result.law
    if isinstance(law, NotYet):
        return f"normal law: supposed and not checked, as {reason_words(law.reason)}"
    skewness, kurtosis = (f"{z:+.2f}".replace("-", MINUS) for z in (law.skewness, law.kurtosis))
    heaps = f"{law.within_heaps:.2f} (from {law.least_within_heaps:.2f})"
    return (
        f"normal law: skewness {skewness} (within ±{law.most_skewness:.2f}), kurtosis "
        f"{kurtosis} (up to {law.most_kurtosis:.2f}), both 0 ± 1 if normal; share of scatter left "
        f"within two heaps {heaps}: "
        + (f"doubted ({', '.join(law.departures)})" if law.doubted else "not doubted")
    )


def how_checked(results: Sequence[MethodResult]) -> Iterator[tuple[str, str]]:
    """What the check is and how often it notices what; and its source."""
    law = next((one.law for one in results if isinstance(one.law, NormalLaw)), None)
    if law is None:
        return
    seen = {name: percent(round(share, 2)) for name, share in NOTICED[_SPOKEN_OF].items()}
    says = (
        f"Normal law: skewness, kurtosis, two heaps, within blocks. Normal settings "
        f"are doubted in at most {percent(law.level)} of studies. Not doubted is not proven: of "
        f"{_SPOKEN_OF} settings, heavy tails (Student's t, 5 degrees of freedom) are noticed in "
        f"about {seen['t5']} of studies, an exponential law in {seen['exponential']}, two heaps "
        f"six deviations apart in {seen['two heaps']}, a setting six deviations off in "
        f"{seen['one outlier']}."
    )
    yield says, law.source
