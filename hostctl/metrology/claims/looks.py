"""How often a claim is looked at as trials come in, and what share of its risk each look may spend.

Who looks again after more trials has one more chance to be told wrongly. Each look therefore spends
a share of the risk, and the shares of all looks add up to one at most (Bonferroni): however the
looks depend on each other, some verdict is wrong in at most the whole risk.

Where nobody said beforehand how many looks there will be, look k spends 1/(k(k+1)): a half, a
sixth, a twelfth and so on, which add up to 1 - 1/(k+1), so that there is something left for ever.
Where N were declared before the first, each spends 1/N, and there are no more.
"""

import math
from dataclasses import dataclass

_NOTHING = 1e-9  # of the risk: ten tenths are not quite one


@dataclass(frozen=True, slots=True, kw_only=True)
class Looks:
    """Which look this is.

    number: from 1.  declared: how many in all, said before the first; None where nobody did.
    spent: the share of the risk that earlier looks took.
    """

    number: int = 1
    declared: int | None = None
    spent: float = 0.0

    def __post_init__(self) -> None:
        declared_well = self.declared is None or self.declared >= 1
        if not (self.number >= 1 and declared_well and 0 <= self.spent < math.inf):
            raise ValueError("a look is numbered from 1, and at least 1 look may be declared")

    @property
    def share(self) -> float:
        """Of the risk, for this look: what the rule gives, and never more than is left; 0: none."""
        if self.declared is not None and self.number > self.declared:
            return 0.0
        wanted = 1 / (self.declared or self.number * (self.number + 1))
        left = 1 - self.spent
        return min(wanted, left) if left > _NOTHING else 0.0

    @property
    def next(self) -> "Looks":
        """The look after this one. Its share is 0 where there can't be one."""
        return Looks(number=self.number + 1, declared=self.declared, spent=self.spent + self.share)


FIRST_LOOK = Looks()
"""The first one, and nobody has said how many there will be."""

ONE_LOOK = Looks(declared=1)
"""The only one that there will ever be: it has the whole risk."""
