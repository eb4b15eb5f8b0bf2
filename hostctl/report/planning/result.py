"""How many trials it takes, as it is told. A part that was not asked for is None.

Where no number of trials would do, `trials` is None and `why_no_trials` says why.
"""

from dataclasses import dataclass

from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.claims.claim import Centre


@dataclass(frozen=True, slots=True, kw_only=True)
class Chance:
    """The chance of success with so many trials."""

    trials: int
    chance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class KnowRow:
    """With so many trials: the chance, and where the true spread lies, in units of s."""

    trials: int
    chance: float
    sigma_low: float
    sigma_high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Know:
    """Trials after which s lies within ± `within` (a share) of σ, with that confidence."""

    within: float
    confidence: float
    trials: int
    table: tuple[KnowRow, ...]
    curve: tuple[Chance, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SeeRow:
    """With so many trials of each method: the chance, and the smallest ratio of s that shows.

    smallest_ratio: None where rounding shows or a rig check is taken out, as it is no single one.
    """

    trials: int
    chance: float
    smallest_ratio: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumed:
    """What the study is taken to be.

    resolution_mm: what is read to; None: so finely that it doesn't matter. blocks: that share the
    trials. pairs: of methods compared, that share the risk. rig_sd_mm, rig_trials: of the rig
    check taken out; None without one. by_trial: chances come from simulated studies.
    """

    resolution_mm: float | None
    blocks: int
    pairs: int
    rig_sd_mm: float | None
    rig_trials: int | None
    by_trial: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class See:
    """Trials of each of two methods that show a true ratio of their spreads.

    risk: of all pairs together. expected_sd_mm: the smaller spread; None: any that is read finely.
    """

    ratio: float
    power: float
    risk: float
    expected_sd_mm: float | None
    assumed: Assumed
    trials: int
    table: tuple[SeeRow, ...]
    curve: tuple[Chance, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Prove:
    """Trials that prove a claim, were `sd_mm` and `bias_mm` the truth."""

    within_mm: float
    proportion: float
    confidence: float
    centre: Centre
    sd_mm: float
    bias_mm: float
    power: float
    assumed: Assumed
    trials: int | None
    why_no_trials: Reason | None
    table: tuple[Chance, ...]
    curve: tuple[Chance, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Guesses:
    """A claim for several guesses at the true spread, the widest first."""

    guesses: tuple[Prove, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadFound:
    """The spread of one method in one pair of hands, and the trials that would prove the claim.

    blocks: that it came from, and that the trials are shared by. rig_out: whether the rig is taken
    out of the figures. sd_mm: None where only the upper limit is known. trials: were the truth
    `sd_mm`, and were it `upper_mm`, the upper end of its interval.
    """

    method: str
    operator: str
    n: int
    blocks: int
    rig_out: bool
    sd_mm: float | None
    upper_mm: float
    bias_mm: float
    trials: int | None
    why_no_trials: Reason | None
    trials_at_upper: int | None
    why_no_trials_at_upper: Reason | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RigCheck:
    """The rig check by which an analysis judges a run. why: a sentence; doubts: sentences."""

    run: int
    why: str
    doubts: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ByRun:
    """What a run on record says for the next study.

    trials: of each, that prove the claim wherever it is true; None where it is nowhere. rig: what
    is taken out, as an analysis would. simulated: on a simulated printer, whose time is not told.
    """

    run: int
    resolution_mm: float
    within_mm: float
    proportion: float
    confidence: float
    centre: Centre
    power: float
    spreads: tuple[SpreadFound, ...]
    trials: int | None
    rig: RigCheck | None
    simulated: bool
    trial_seconds: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class KnowBrief:
    """Trials that know a spread to within a share."""

    within: float
    trials: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SeeBrief:
    """Trials of each method that show a ratio of spreads."""

    ratio: float
    trials: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ProveBrief:
    """Trials that prove a tolerance, for a spread in tolerances."""

    sd_in_tolerances: float
    trials: int | None
    why_no_trials: Reason | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Overview:
    """All three questions for common wishes, the cheapest first.

    usual_know, usual_see, usual_prove: those to start from. curve: of `usual_see`.
    """

    power: float
    confidence: float
    know: tuple[KnowBrief, ...]
    see: tuple[SeeBrief, ...]
    prove: tuple[ProveBrief, ...]
    usual_know: KnowBrief
    usual_see: SeeBrief
    usual_prove: ProveBrief
    curve: tuple[Chance, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The answers to what was asked.

    trial_seconds: how long a trial takes, s; None: not known. prove: trials that prove a claim,
    were the spread as expected, or for several guesses at it.
    """

    trial_seconds: float | None
    know: Know | None = None
    see: See | None = None
    prove: Prove | Guesses | None = None
    by_run: ByRun | None = None
    overview: Overview | None = None
