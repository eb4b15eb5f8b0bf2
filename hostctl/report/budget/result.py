"""What is known of a reading, from all that makes it doubtful. Numbers in the budget's unit."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.uncertainty.contributions import Contribution as Given

Decision = Literal["accepted", "rejected", "cannot tell"]


class LawName(StrEnum):
    """The law that an error follows."""

    NORMAL = "normal"
    STUDENTS_T = "Student's t"
    UNIFORM = "uniform"
    TRIANGULAR = "triangular"
    ARCSINE = "arcsine"
    INEXACT = "inexact"
    COSINE = "cosine"
    PRODUCT = "product"


@dataclass(frozen=True, slots=True, kw_only=True)
class Contribution:
    """One line of the budget.

    df: how well u is known; infinite (null) where it is taken as exact. contribution: c u, with its
    sign. share: of the variance. unit: of value and u. given: what the file says of it, a rig's
    spread already taken from the run `from_run`. relative_doubt: the judgement that df comes from.
    """

    name: str
    law: LawName
    unit: str
    value: float
    u: float
    df: float
    sensitivity: float
    contribution: float
    share: float
    given: Given
    from_run: int | None
    relative_doubt: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Correlated:
    """Two contributions whose errors hang together."""

    first: str
    second: str
    r: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RigSpread:
    """What a rig check found, for a budget. bound: only an upper bound is known, and is taken.

    doubts: why it is a poor check for anything, as sentences.
    """

    run: int
    sd_mm: float
    df: float
    bound: bool
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Propagation:
    """By the law of propagation. df is unrounded; df_used is what the factor was taken at."""

    value: float
    u: float
    df: float
    df_used: float
    coverage_factor: float
    expanded: float
    interval: tuple[float, float]
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Simulation:
    """By drawing from the laws. interval: equal chances beyond either end.

    settled: whether value, u and interval were steady when the drawing ended. endless_tails: a law
    has such long tails that value and u never settle; the interval does.
    """

    value: float
    u: float
    interval: tuple[float, float]
    shortest: tuple[float, float]
    trials: int
    seed: int
    settled: bool
    endless_tails: bool
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LargestPart:
    """The contribution worth mending first."""

    name: str
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Conformity:
    """The measurand judged against limits (ISO 14253-1; JCGM 106, 8.3).

    lower, upper: what is accepted; None: no limit there. expanded: U = 2 u. guard: how far inside a
    limit the value must lie to be accepted, and how far beyond to be rejected.
    """

    decision: Decision
    lower: float | None
    upper: float | None
    expanded: float
    guard: float
    why: Reason


@dataclass(frozen=True, slots=True, kw_only=True)
class UncertaintyBudget:
    """A budget worked out both ways.

    measurand: what is to be known. unit: its unit, and that of all numbers named for no other.
    confidence: how often such intervals hold it.
    value_matters: whether the file gives the measurand itself, not merely corrections to a reading.
    model: the measurand as a formula of the contributions' names; None for a plain sum.
    contributions: all that makes it doubtful. correlations: which of them hang together.
    rig_checks: those whose spread is among them. difference: by how much the two methods' intervals
    part, at the end where they part more; allowed_difference: what JCGM 101, 8.1 allows for u to
    two digits; agrees: whether it is no more, or changes no digit of the answer.
    largest_part: where one is most of the variance. few_df: the uncertainty itself rests on few
    degrees of freedom. warnings: why propagation deserves doubt.
    conformity: whether the value keeps to the limits; None without any.
    """

    measurand: str
    unit: str
    confidence: float
    value_matters: bool
    model: str | None
    contributions: tuple[Contribution, ...]
    correlations: tuple[Correlated, ...]
    rig_checks: tuple[RigSpread, ...]
    propagation: Propagation
    simulation: Simulation
    difference: float
    allowed_difference: float
    agrees: bool
    largest_part: LargestPart | None
    few_df: bool
    warnings: tuple[Reason, ...]
    conformity: Conformity | None
