"""What a study to come is taken to be, so that a plan goes by the rule that will judge it."""

import math
from collections.abc import Callable
from dataclasses import dataclass

from hostctl.metrology.basis.reference import Reference
from hostctl.metrology.basis.root_finding import fewest
from hostctl.metrology.rounded.evidence import SpreadEvidence

FINE = 2.0
"""The spread, in graduations, from which readings are as good as points in every formula."""

COARSE = 0.4
"""Below this limit of a spread, in graduations, it is the rounding that stands in the way."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RigAssumed:
    """A rig check yet to be made: its trials, and the rig's spread in the unit of the settings'."""

    trials: int
    sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AssumedStudy:
    """Trials in equal blocks, each with a zero of its own; what is counted is settings.

    resolution: a graduation, in the unit of the spreads; 0: so fine that it doesn't matter.
    pairs: of spreads compared, which share the risk.  rig: the check that will be taken out, to
    be made or at hand; None: none will be.
    """

    resolution: float = 0.0
    blocks: int = 1
    pairs: int = 1
    reference: Reference = "first"
    rig: RigAssumed | SpreadEvidence | None = None

    @property
    def rig_sd(self) -> float:
        """The rig's share in every reading."""
        if isinstance(self.rig, RigAssumed):
            return self.rig.sd
        return self.rig.figure if self.rig is not None else 0.0

    def total(self, sigma: float) -> float:
        """What settings with this spread are read as, rig included."""
        return math.hypot(sigma, self.rig_sd)

    def read_as(self, sigma: float) -> float:
        """The same with, as far as it shows, rounding (W. F. Sheppard, Proc. London Math. Soc. 29,
        1898)."""
        return math.hypot(self.total(sigma), self.resolution / math.sqrt(12.0))

    def is_fine(self, sigma: float) -> bool:
        """Whether readings of settings with this spread are as good as points."""
        return self.reference != "previous" and self.total(sigma) >= FINE * self.resolution

    def least(self) -> int:
        """The fewest trials that give a spread: two in each block."""
        return 2 * self.blocks

    def whole(self, trials: int) -> int:
        """As many of these as make whole blocks, two in each at the least."""
        return max(trials - trials % self.blocks, self.least())

    def fewest(self, enough: Callable[[int], bool], most: int) -> int:
        """The fewest trials that do, in whole blocks. Raises NotEnough where `most` don't."""
        return self.blocks * fewest(
            lambda each: enough(self.blocks * each), least=2, most=most // self.blocks
        )


READ_FINELY = AssumedStudy()
