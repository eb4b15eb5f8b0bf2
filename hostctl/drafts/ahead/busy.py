"""How many readings a study takes, and how long the machine and people are busy with them."""

from dataclasses import dataclass

from hostctl.config.machine import Machine
from hostctl.config.study import Study
from hostctl.config.study_kind import words_of
from hostctl.drafts.ahead.machine_time import Ways, homing_s, reading_s, setting_s
from hostctl.drafts.ahead.tie_time import tie_machine_s
from hostctl.run.procedures.procedure import most_trials
from hostctl.run.procedures.schedule import begins_with_zero

SETTING_S = 30.0
"""A person's time for a setting: the screw turned away and the gap set (our guess, no source)."""
READING_S = 10.0
"""A person's time for a reading off the indicator (our guess, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Busy:
    """What is done and how long it takes, s.

    trials: without zeros; at most so many where the study stops by a rule. zeros: one a block.
    ties: observations of the tie. machine_s: moving, settling and counting down. people_s: about,
    at half a minute a setting.
    """

    trials: int
    zeros: int
    ties: int
    machine_s: float
    people_s: float


def busy(study: Study, machine: Machine) -> Busy | None:
    """None where the study's kind does not say how much it takes."""
    trials = most_trials(study)
    if trials is None:
        return None
    words, ways = words_of(study.kind), Ways(machine, study)
    zeros, ties = zeros_of(study), ties_of(study)
    each_s = setting_s(ways) if words.people_set else reading_s(ways)
    hands_s = SETTING_S if words.people_set else 0.0
    typed_s = 0.0 if study.gauge.kind == "probe" else READING_S
    return Busy(
        trials=trials,
        zeros=zeros,
        ties=ties,
        machine_s=homing_s(ways) + (trials + zeros) * each_s + ties * tie_machine_s(ways),
        people_s=(trials + zeros) * (hands_s + typed_s),
    )


def zeros_of(study: Study) -> int:
    """How many blocks begin with a zero."""
    own_zero = study.gauge.kind == "probe"
    if not begins_with_zero(study, gauge_has_own_zero=own_zero):
        return 0
    return max(len(study.methods), 1) * max(len(study.operators), 1) * len(study.points)


def ties_of(study: Study) -> int:
    """How often the tie is observed between settings; 0 without one."""
    tie = study.tie
    if tie is None or study.kind == "tie":
        return 0
    points = len(tie.points or study.points)
    return points * (tie.times + (tie.checks + 1) * tie.check_times)
