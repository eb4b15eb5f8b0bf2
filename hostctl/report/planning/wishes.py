"""What somebody wishes to know before anybody turns a screw."""

from dataclasses import dataclass

PROPORTION, CONFIDENCE, POWER = 0.95, 0.95, 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What is asked; None: not asked, or left to be taken from elsewhere.

    know_within: a share of the true spread. see_ratio: of two spreads. within_mm: the claim to be
    proven, were the truth `expected_sd_mm` and `bias_mm` from a datum. proportion, confidence: of
    the claim; power: chance of success.
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
