"""How it stands with the report of a run that is over."""

from dataclasses import dataclass
from enum import StrEnum

OUTCOME_ENDING = ".outcome.json"
"""What a report comes to in short lies beside it, under its name with this ending."""


class ReportStanding(StrEnum):
    """How far a report is."""

    NOT_MADE = "not made"
    """It can be asked for."""
    BEING_MADE = "being made"
    """It was asked for."""
    MADE = "made"
    """It can be opened and kept."""
    FAILED = "failed"
    """It could not be made; it can be asked for again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunReport:
    """The report of one run."""

    run: int
    """The run's number."""
    study: str
    """What was carried out."""
    complete: bool
    """Whether all trials are done; else its verdict is a look, which spends some of the risk."""
    standing: ReportStanding = ReportStanding.NOT_MADE
    """How far the report is."""
    file_name: str = ""
    """Its file, in the folder `reports` beside the database; empty: it is not made."""
    answer: str = ""
    """What was found, in a sentence or a few."""
    why: str = ""
    """Why it could not be made."""
