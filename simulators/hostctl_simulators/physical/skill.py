"""How well which hands set the gap by which method: the truth a study is out to find."""

from dataclasses import dataclass


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
