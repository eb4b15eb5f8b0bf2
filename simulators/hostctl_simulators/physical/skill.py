"""How well which hands set the gap by which method, the truth a study is out to find; and how well
hands turn a screw as they are asked.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from hostctl_simulators.bed.screws import Direction
from hostctl_simulators.chance import normal
from hostctl_simulators.physical.bench_faults import BenchFaults


@dataclass(frozen=True, slots=True, kw_only=True)
class Skill:
    """A setting leaves the gap at `gap_mm + bias_mm`, scattered normally by `sigma_mm`."""

    gap_mm: float  # what the method aims at
    bias_mm: float  # by how much this operator misses it, always
    sigma_mm: float


PRACTISED = "practised"
NEW = "new"

OPERATORS = {"volunteer-a": PRACTISED, "volunteer-b": NEW}

SKILLS = {
    ("paper-slip", PRACTISED): Skill(gap_mm=0.10, bias_mm=0.0, sigma_mm=0.012),
    ("paper-slip", NEW): Skill(gap_mm=0.10, bias_mm=-0.02, sigma_mm=0.030),
    ("feeler-gauge", PRACTISED): Skill(gap_mm=0.10, bias_mm=0.0, sigma_mm=0.010),
    ("feeler-gauge", NEW): Skill(gap_mm=0.10, bias_mm=0.008, sigma_mm=0.016),
    ("contact-light", PRACTISED): Skill(gap_mm=0.02, bias_mm=0.0, sigma_mm=0.005),
    ("contact-light", NEW): Skill(gap_mm=0.02, bias_mm=0.001, sigma_mm=0.006),
}

UNHEARD_OF = Skill(gap_mm=0.10, bias_mm=0.0, sigma_mm=0.020)


def skill_of(method: str, operator: str) -> Skill:
    """The skill of these hands with this method. An operator not on the list is new; a method
    not on the list is as good as `UNHEARD_OF` in all hands."""
    return SKILLS.get((method, OPERATORS.get(operator, NEW)), UNHEARD_OF)


@dataclass(frozen=True, slots=True, kw_only=True)
class Turned:
    """What is turned really."""

    screw: str
    degrees: float
    direction: Direction


class Turning:
    """How hands turn screws that they are told to turn: exactly, but for what goes wrong."""

    def __init__(self, faults: BenchFaults, seed: int) -> None:
        self.asked = 0
        self._faults = faults
        self._seed = seed

    def done(self, asked: Turned, screws: Sequence[str]) -> Turned:
        """What becomes of one turn that was asked for. screws: all there are."""
        self.asked += 1
        faults, which, direction = self._faults, self.asked, asked.direction
        screw = asked.screw
        uneven_deg = faults.turned_unevenly_deg * normal(self._seed, "turning", which)
        degrees = max(asked.degrees * (1 + faults.turned_too_far) + uneven_deg, 0.0)
        if which == faults.wrong_way_at_turn:
            direction = "anticlockwise" if direction == "clockwise" else "clockwise"
        if which == faults.wrong_screw_at_turn:
            screw = screws[(screws.index(screw) + 1) % len(screws)]
        if which == faults.no_turn_at_turn:
            degrees = 0.0
        return Turned(screw=screw, degrees=degrees, direction=direction)
