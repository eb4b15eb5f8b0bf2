"""What a report encloses: what was analysed, how it was asked, and what was found."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from hostctl.report.enclosed.sourced import Sourced
from hostctl.report.sources.looks import UNRECORDED, Looking
from hostctl.report.sources.material import Goal
from hostctl.report.trueness.aimed import Aim

MOST_READINGS = 1_200_000
"""In all sources of one report: a million, with zeros and what was done again."""

MOST_IN_PAGE = 100_000
"""Readings beyond which the data lie in a file beside the page."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """How it was analysed. goal: good enough, as it was judged.  margin: as in `Wish`.

    method, operator: theirs alone, None for all.  apart: what was held against each other.
    aim: the gap that was said to be wanted; None: none, or the study's own.
    look: the one that it was, so that whoever reckons again is given the same verdict.
    """

    goal: Goal | None = None
    margin: float = 1.5
    method: str | None = None
    operator: str | None = None
    apart: str | None = None
    aim: Aim | None = None
    look: Looking = UNRECORDED


@dataclass(frozen=True, slots=True, kw_only=True)
class RigCheck:
    """One rig check of the machine over time. sd_mm: None where it has no figure.

    mean_mm: about what its datum says is zero; None without a datum.
    """

    name: str
    at: datetime
    n: int
    sd_mm: float | None
    df: float | None
    resolution_mm: float
    mean_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Enclosure:
    """A report as data. program: that made it.  sources: in the order named.  rig: taken out.

    found: the analysis as plain data, what `--json` gives of it.
    remarks: what reading the file had to say of it; none of one just made.
    """

    program: str
    made_at: datetime
    sources: tuple[Sourced, ...]
    rig: Sourced | None
    asked: Asked
    checks: tuple[RigCheck, ...]
    found: Mapping[str, Any]
    remarks: tuple[str, ...] = ()

    @property
    def every_source(self) -> tuple[Sourced, ...]:
        """What was analysed, and after it the rig's check that was taken out."""
        return self.sources if self.rig is None else (*self.sources, self.rig)

    @property
    def readings(self) -> int:
        """On record in all sources, zeros and void ones included."""
        return sum(len(source.rows) for source in self.sources)
