"""What somebody wishes to know before anybody turns a screw."""

from dataclasses import dataclass

PROPORTION, CONFIDENCE, POWER = 0.95, 0.95, 0.8
RESOLUTION_MM, RIG_TRIALS = 0.01, 20
"""Of a dial indicator, as studies take it; and of the rig check that is shipped."""

LIMITS = {
    "know_within": (0.01, 0.99),
    "see_ratio": (0.001, 1000.0),
    "within_mm": (1e-6, 1000.0),
    "expected_sd_mm": (1e-6, 1000.0),
    "bias_mm": (-1000.0, 1000.0),
    "proportion": (0.501, 0.9999),
    "confidence": (0.501, 0.9999),
    "power": (0.05, 0.9999),
    "trial_seconds": (0.001, 1e6),
    "resolution_mm": (1e-6, 10.0),
    "rig_sd_mm": (1e-6, 1000.0),
    "rig_trials": (2, 1000),
    "blocks": (1, 1000),
    "pairs": (1, 1000),
}
"""What each wish may be, both ends included."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What is asked; None: not asked, or left to be taken from elsewhere.

    know_within: a share of the true spread. see_ratio: of two spreads. within_mm: the claim to be
    proven, were the truth `expected_sd_mm` and `bias_mm` from a datum. proportion, confidence: of
    the claim; power: chance of success. expected_sd_mm: with see_ratio the smaller spread.
    resolution_mm: what is read to. rig_sd_mm, rig_trials: of a rig check that is taken out.
    blocks: that the trials are shared by, each with a zero of its own. pairs: compared at once.
    """

    know_within: float | None = None
    see_ratio: float | None = None
    within_mm: float | None = None
    expected_sd_mm: float | None = None
    bias_mm: float | None = None
    proportion: float | None = None
    confidence: float | None = None
    power: float = POWER
    trial_seconds: float | None = None
    resolution_mm: float = RESOLUTION_MM
    rig_sd_mm: float | None = None
    rig_trials: int = RIG_TRIALS
    blocks: int = 1
    pairs: int = 1
