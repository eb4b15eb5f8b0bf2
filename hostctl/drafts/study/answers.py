"""What the answers about a study come to: the same for its questions, its text and its title.

Answers are flat: `methods.2.name`, `tie.plate_mm`; a key is there once it is answered.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from hostctl.config.machine import Machine
from hostctl.config.parts.tie import GoesBy, TieBy
from hostctl.config.together import OFF_THE_BLOCK_MM, why_no_touch
from hostctl.drafts.question import Value, words_in

Answers = Mapping[str, Value]

PAPER, FEELERS, LIGHT, OWN, ENOUGH = "paper-slip", "feeler-gauge", "contact-light", "own", "none"
"""What may be answered to which method: one that is offered, one in own words, no more."""

MOST_METHODS = 8
USUAL_TARGET_MM = 0.10
LEAF_MM = 0.10


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftedMethod:
    """A method as it was answered. goes_by, meant_mm: where gaps are true; None: not said."""

    name: str
    instruction: str
    goes_by: GoesBy | None = None
    meant_mm: float | None = None
    remark: str = ""


def is_name(text: str) -> bool:
    """Whether it may be a name in a study file."""
    return re.fullmatch(r"[a-z0-9][a-z0-9-]{0,39}", text) is not None


def as_name(text: str) -> str:
    """The nearest name to a text, as it is suggested; empty where nothing is left of it."""
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:40].strip("-")


def apart_from(taken: frozenset[str], name: str) -> str:
    """The name, or with a number behind it the first that is not taken."""
    found, number = name, 2
    while found in taken:
        found = f"{name[: 40 - len(str(number)) - 1]}-{number}"
        number += 1
    return found


def text_of(answers: Answers, key: str) -> str:
    """A text that was answered."""
    return str(answers[key])


def number_of(answers: Answers, key: str) -> float:
    """A number that was answered."""
    value = answers[key]
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"'{key}' was answered with {value!r}, which is no number")
    return float(value)


def judges_gap(answers: Answers) -> bool:
    """Whether gaps are to be true."""
    return answers.get("judged") == "gap"


def judges_rig(answers: Answers) -> bool:
    """Whether it is a rig check, in which nothing is set."""
    return answers.get("judged") == "rig"


def by_probe(answers: Answers, machine: Machine) -> bool:
    """Whether the machine's own probe takes the readings."""
    if judges_gap(answers) or machine.probe is None:
        return False
    return machine.indicator is None or answers.get("gauge.kind") == "probe"


def resolution_mm(answers: Answers, machine: Machine) -> float:
    """One graduation, or a step of the probe's."""
    if by_probe(answers, machine) and machine.probe is not None:
        return machine.probe.resolution_mm
    return number_of(answers, "gauge.resolution_mm")


def operators_of(answers: Answers) -> list[str]:
    """Whose hands."""
    return words_in(text_of(answers, "operators"))


def points_of(answers: Answers) -> list[str]:
    """Where."""
    return words_in(text_of(answers, "points"))


def methods_of(answers: Answers) -> list[DraftedMethod]:
    """Those whose last question is answered."""
    return list(_methods(answers))


def _methods(answers: Answers) -> Iterator[DraftedMethod]:
    for number in range(1, MOST_METHODS + 1):
        at = f"methods.{number}"
        which = answers.get(at)
        if which in (None, ENOUGH):
            return
        if which != OWN:
            yield _offered(str(which), answers.get(f"{at}.leaf_mm"))
        elif f"{at}.instruction" in answers:
            goes_by = answers.get(f"{at}.goes_by")
            meant = answers.get(f"{at}.meant_mm")
            yield DraftedMethod(
                name=text_of(answers, f"{at}.name"),
                instruction=" ".join(text_of(answers, f"{at}.instruction").split()),
                goes_by=None if goes_by is None else GoesBy(str(goes_by)),
                meant_mm=float(meant) if isinstance(meant, int | float) else None,
            )


def _offered(which: str, leaf: Value) -> DraftedMethod:
    """A method in the words of the shipped studies."""
    if which == PAPER:
        return DraftedMethod(
            name=PAPER,
            instruction="Turn the screw until one sheet of paper slides under the nozzle with a "
            "light drag.",
            goes_by=GoesBy.PAPER,
        )
    if which == LIGHT:
        return DraftedMethod(
            name=LIGHT,
            instruction="Turn the screw until the light just comes on, clean nozzle tip against "
            "bare metal.",
            goes_by=GoesBy.CONTACT,
            remark="has its own battery: never wire it to the printer's electronics",
        )
    leaf_mm = float(leaf) if isinstance(leaf, int | float) else LEAF_MM
    return DraftedMethod(
        name=FEELERS,
        instruction=f"Turn the screw until the {leaf_mm:.2f} mm leaf slides under the nozzle with "
        "a light drag.",
        goes_by=GoesBy.FEELERS,
        meant_mm=leaf_mm,
    )


def settings_each(answers: Answers, trials: int) -> tuple[int, bool]:
    """Settings of one method in one pair of hands, and whether blocks' zeros are among them."""
    zeros = not judges_gap(answers)
    return len(points_of(answers)) * (trials + zeros), zeros


def ties_possible(machine: Machine) -> list[TieBy]:
    """The ways in which the nozzle can be tied to the indicator on this machine; none without."""
    if machine.indicator is None:
        return []
    ways = [TieBy.FEELERS]
    if why_no_touch(machine) is None and highest_plate_mm(machine) > 0:
        ways.insert(0, TieBy.TOUCH)
    if tallest_block_mm(machine) > 0:
        ways.append(TieBy.GAUGE_BLOCK)
    return ways


def highest_plate_mm(machine: Machine) -> float:
    """How high plate, clip and leads of a tie by touch may stand."""
    return min(20.0, machine.travel.z.to_mm - machine.clear_z_mm + machine.highest_point_mm)


def tallest_block_mm(machine: Machine) -> float:
    """The tallest gauge block that goes under the nozzle in a tie."""
    return machine.clear_z_mm - machine.set_z_mm - OFF_THE_BLOCK_MM
