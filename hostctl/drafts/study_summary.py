"""A study in a list: its title, how many trials, about how long. Cheap: nothing is planned."""

from dataclasses import dataclass

from hostctl.config.machine import Machine
from hostctl.config.study import Study
from hostctl.drafts.ahead.busy import busy, stops_by_a_rule
from hostctl.drafts.told import counted, told_time
from hostctl.run.procedures.procedure import most_trials


@dataclass(frozen=True, slots=True, kw_only=True)
class StudySummary:
    """name, title: of the study. trials: without zeros; None: its kind does not say. at_most:
    whether it may stop sooner, by a rule. machine_s, people_s: about how long the machine is busy,
    and people beside it; None: without a machine, or not known.
    """

    name: str
    title: str
    trials: int | None
    at_most: bool
    machine_s: float | None
    people_s: float | None


def study_summary(study: Study, machine: Machine | None) -> StudySummary:
    """machine: the one it would run on; None: nothing is said of time."""
    found = None if machine is None else busy(study, machine)
    return StudySummary(
        name=study.study,
        title=study.title,
        trials=most_trials(study),
        at_most=stops_by_a_rule(study),
        machine_s=None if found is None else found.machine_s,
        people_s=None if found is None else found.people_s,
    )


def told(summary: StudySummary) -> str:
    """In a few words, without the title: `60 trials, about 1 h 15 min`."""
    parts = []
    if summary.trials is not None:
        most = "at most " if summary.at_most else ""
        parts.append(f"{most}{counted(summary.trials, 'trial')}")
    if summary.machine_s is not None:
        parts.append(f"about {told_time(summary.machine_s + (summary.people_s or 0.0))}")
    return ", ".join(parts)
