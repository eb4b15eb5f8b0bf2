"""A study in a list: its title, how many trials, about how long. Cheap: nothing is planned."""

from dataclasses import dataclass

from hostctl.config.machine import Machine
from hostctl.config.study import Study
from hostctl.drafts.ahead.busy import busy
from hostctl.run.procedures.procedure import most_trials


@dataclass(frozen=True, slots=True, kw_only=True)
class StudySummary:
    """name, title: of the study. trials: without zeros, at most so many where it stops by a rule;
    None: its kind does not say. takes_s: about how long it takes, people's work included; None:
    without a machine, or not known.
    """

    name: str
    title: str
    trials: int | None
    takes_s: float | None


def study_summary(study: Study, machine: Machine | None) -> StudySummary:
    """machine: the one it would run on; None: nothing is said of time."""
    found = None if machine is None else busy(study, machine)
    return StudySummary(
        name=study.study,
        title=study.title,
        trials=most_trials(study),
        takes_s=None if found is None else found.machine_s + found.people_s,
    )
