"""One method tried in several workshops, each with its own machine and hands."""

from dataclasses import dataclass

from hostctl.metrology.basis.estimate import NotYet


@dataclass(frozen=True, slots=True, kw_only=True)
class Workshop:
    """One workshop's settings. s_mm: their spread about their blocks' own means.

    k: Mandel's, its spread against all; None where nowhere settings vary.
    mean_mm, off_mm, h: its mean, how far above that of all settings, and Mandel's of it against
    all; None where means can't be held against each other.
    """

    name: str
    settings: int
    s_mm: float
    k: float | None
    mean_mm: float | None
    off_mm: float | None
    h: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reproducibility:
    """What lies between workshops. mean_mm: of all settings.  between_mm: the spread of workshops
    alone, floored at zero.  reproducibility_mm: of two settings in two workshops.
    limit_mm: by which such two differ only once in twenty."""

    mean_mm: float
    between_mm: float
    reproducibility_mm: float
    limit_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BetweenWorkshops:
    """Three workshops or more that tried one method, by ISO 5725-2.

    repeatability_mm: the spread of settings in one workshop, pooled.  repeatability_limit_mm: by
    which two settings in one workshop differ only once in twenty.
    reproducibility: only where all readings count from a true datum.
    k_limit, h_limit: what a workshop like the others exceeds once in a hundred; that of k None
    where workshops have unlike numbers of settings, that of h where there is no h.
    """

    method: str
    workshops: tuple[Workshop, ...]
    repeatability_mm: float
    repeatability_limit_mm: float
    reproducibility: Reproducibility | NotYet
    k_limit: float | None
    h_limit: float | None
