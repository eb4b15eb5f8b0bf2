"""How many readings a study takes, and how long the machine and people are busy with them."""

from dataclasses import dataclass

from hostctl.config.machine import Machine
from hostctl.config.study import Study
from hostctl.config.study_kind import words_of
from hostctl.drafts.ahead.kind_time import each_s, laid_s, tie_s
from hostctl.drafts.ahead.machine_time import Ways, homing_s
from hostctl.run.procedures.procedure import most_trials
from hostctl.run.procedures.schedule import begins_with_zero

SETTING_S = 30.0
"""A person's time for a setting: the screw turned away and the gap set (our guess, no source)."""
READING_S = 10.0
"""A person's time for a reading off the indicator (our guess, no source)."""
TIE_S = 60.0
"""A person's time for an observation of a tie (our guess, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Busy:
    """What is done and how long it takes, s.

    trials: without zeros. at_most: whether the study stops by a rule, perhaps sooner. zeros: one a
    block.
    ties: observations of the tie. machine_s: moving, settling and counting down. people_s: about,
    at half a minute a setting.
    """

    trials: int
    at_most: bool
    zeros: int
    ties: int
    machine_s: float
    people_s: float


def busy(study: Study, machine: Machine) -> Busy | None:
    """None where the study's kind does not say how much it takes."""
    trials, ways = most_trials(study), Ways(machine=machine, study=study, by_probe=_by_probe(study))
    each = each_s(ways)
    if trials is None or each is None:
        return None
    zeros, ties = zeros_of(study), ties_of(study)
    hands_s = SETTING_S if words_of(study.kind).people_set else 0.0
    typed_s = 0.0 if _by_probe(study) else READING_S
    machine_s = homing_s(ways) + (trials + zeros) * each + ties * tie_s(ways)
    return Busy(
        trials=trials,
        at_most=stops_by_a_rule(study),
        zeros=zeros,
        ties=ties,
        machine_s=machine_s + rounds_of_ties(study) * laid_s(ways),
        people_s=(trials + zeros) * (hands_s + typed_s) + ties * TIE_S,
    )


def _by_probe(study: Study) -> bool:
    return study.gauge.kind == "probe"


def stops_by_a_rule(study: Study) -> bool:
    """Whether its trials are the most there can be, and it may end sooner."""
    known_to = study.loop.known_to if study.loop is not None else None
    return study.kind == "level" or known_to is not None


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


def rounds_of_ties(study: Study) -> int:
    """How often a tie's point is laid out anew: for the tie, and for each check."""
    tie = study.tie
    if tie is None:
        return 0
    points = len(tie.points or study.points)
    return points if study.kind == "tie" else points * (tie.checks + 2)
