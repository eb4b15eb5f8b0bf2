"""What a run on record says for the next plan: each spread found, and how long a trial takes."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from statistics import fmean, median

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.claims.claim import Centre, Claim
from hostctl.metrology.claims.planning import trials_to_prove
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.report.analysis.first_figures import Figures, figures_of
from hostctl.report.sources.datum import is_zero_known
from hostctl.report.sources.samples import reference_of, samples_of
from hostctl.store.rows import RunRecord, StoredReading

LEAST_TRIAL_S = 1.0  # below: a simulated printer, whose time says nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadFound:
    """The spread of one method in one pair of hands, and the trials that would prove the claim.

    sd_mm: None where only the upper limit is known. trials: were the truth sd_mm, and were it at
    the upper limit; NotYet where no number would do.
    """

    method: str
    operator: str
    n: int
    sd_mm: float | None
    upper_mm: float
    bias_mm: float
    trials: int | NotYet | None
    trials_at_upper: int | NotYet


def zero_is_known(record: RunRecord) -> bool:
    """Whether bias counts in the next plan too."""
    zeros_read = any(reading.kept.is_zero for reading in record.readings)
    return is_zero_known(record.summary.new, zeros_read=zeros_read)


def spreads_found(record: RunRecord, claim: Claim, power: float) -> list[SpreadFound]:
    """One for each method and operator of which a spread is known."""
    every = (figures_of(sample, reference_of(record)) for sample in samples_of(record))
    return [
        _found(figures, figures.spread, claim, power)
        for figures in every
        if isinstance(figures.spread, RoundedSpread)
    ]


def _found(figures: Figures, spread: RoundedSpread, claim: Claim, power: float) -> SpreadFound:
    means = [fmean(block) for block in figures.sample.blocks]  # the farthest decides a claim
    bias = max(means, key=abs) if claim.centre is Centre.DATUM else 0.0
    sd = None if isinstance(spread.quoted, NotYet) else spread.quoted.value
    upper = spread.interval.high
    return SpreadFound(
        method=figures.sample.method,
        operator=figures.sample.operator,
        n=spread.n,
        sd_mm=sd,
        upper_mm=upper,
        bias_mm=bias,
        trials=None if sd is None else trials_to_prove(claim, sigma=sd, bias=bias, power=power),
        trials_at_upper=trials_to_prove(claim, sigma=upper, bias=bias, power=power),
    )


def seconds_per_trial(record: RunRecord) -> float | None:
    """The median time from one reading of a block to the next; None where it is not to be known."""
    gaps = list(_gaps(record.readings))
    typical = median(gaps) if gaps else 0.0
    return typical if typical >= LEAST_TRIAL_S else None


def _gaps(readings: Iterable[StoredReading]) -> Iterable[float]:
    for one, other in pairwise(readings):
        here, there = one.kept.place, other.kept.place
        if (here.block, here.round) == (there.block, there.round):
            yield (other.kept.reading.taken_at - one.kept.reading.taken_at).total_seconds()
