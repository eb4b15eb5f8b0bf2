"""Simulated people: they are asked what a person is asked, and do it with their hands.

They go by the prompt's deed, not by its words. A setting is made with the skill of the operator
named (`skill.py`). A prompt is obeyed once: asked again under the same id, they repeat their
answer and keep their hands still.
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Annotated, Literal

from hostctl.choices import choices_of
from hostctl.deeds import (
    ClearAway,
    Deed,
    Direction,
    JoinByHand,
    JoinLamp,
    LayBlock,
    LayPlate,
    LiftHold,
    ReadIndicator,
    SendReading,
    SetGap,
    SetOnBlock,
    TakeBlock,
    TryBlade,
    TurnScrew,
    ZeroIndicator,
)
from hostctl.news import Prompt
from hostctl_simulators.chance import normal
from hostctl_simulators.people.feelers import Blades
from hostctl_simulators.people.gauge_block import GaugeBlock
from hostctl_simulators.people.hands import Hands
from hostctl_simulators.people.seen import seen
from hostctl_simulators.physical.skill import skill_of

FINE_ENOUGH_MM = 1e-6  # the remaining error of a setting, far below any skill
PITCH_MM = 0.7  # what a person takes a bed screw's pitch to be
MOST_TURNS = 40  # in steps towards a gap: each step overshoots or falls short where screws share

if TYPE_CHECKING:
    from pydantic import TypeAdapter


@cache
def _json_deeds() -> "TypeAdapter[Deed]":
    """What makes a deed of its JSON; loaded only where somebody asks in JSON lines."""
    from pydantic import Field, TypeAdapter

    return TypeAdapter(Annotated[Deed, Field(discriminator="do")])


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What a person hears: the prompt, whichever way it came."""

    prompt_id: str
    deed: Deed
    operator: str

    @classmethod
    def from_prompt(cls, prompt: Prompt) -> "Question":
        """From the record that travels in one process."""
        operator = prompt.place.operator if prompt.place else ""
        return cls(prompt_id=prompt.prompt_id, deed=prompt.deed, operator=operator)

    @classmethod
    def from_json(cls, line: dict[str, object]) -> "Question":
        """From a JSON line of `hostctl run … --jsonl`. Raises KeyError or ValueError."""
        return cls(
            prompt_id=str(line["prompt_id"]),
            deed=_json_deeds().validate_python(line["deed"]),
            operator=str(line.get("operator") or ""),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What the person answers. Neither a reading nor a choice: done; or nothing: the deed does."""

    prompt_id: str
    nothing: bool = False
    reading_mm: float | None = None
    choice: str | None = None


Slip = Callable[[Question, Said], Said]
"""What a person says instead of what is right."""


def no_slip(question: Question, said: Said) -> Said:
    """Nobody errs."""
    return said


class People:
    """All the operators of one printer."""

    def __init__(self, hands: Hands, seed: int | None = None) -> None:
        self._hands = hands
        self._seed = hands.seed if seed is None else seed
        self.blades = Blades(self._seed)
        self.block = GaugeBlock(self._seed)
        self.slip: Slip = no_slip  # may be set, to have them say what is wrong
        self._settings: Counter[str] = Counter()
        self._said: dict[str, Said] = {}

    def answer(self, question: Question) -> Said:
        """Do what is asked, and say so. Raises LookupError for what this printer does not have."""
        if question.prompt_id not in self._said:
            self._said[question.prompt_id] = self.slip(question, self._obey(question))
        return self._said[question.prompt_id]

    def _obey(self, question: Question) -> Said:
        reading_mm: float | None = None
        match question.deed:
            case TurnScrew(screw=screw, turn_deg=turn_deg, direction=direction):
                name = self._screw(screw)
                self._hands.turn_as_asked(name, turn_deg, direction or self._lowers(name))
            case SetGap(method=method):
                self._set_gap(method, question.operator)
            case LayBlock(thick_mm=thick_mm):
                self._hands.lay_block(thick_mm)
            case TakeBlock():
                self._hands.lay_block(0.0)
            case ZeroIndicator():
                self._hands.zero_indicator()
            case ReadIndicator():
                reading_mm = self._hands.read_indicator()
            case SendReading():
                self._hands.press_send()
                return Said(prompt_id=question.prompt_id, nothing=True)
            case TryBlade(which=which):
                reading_mm = self._blade_mm(which)
            case LiftHold():
                self._hands.move_door(False)
                self._hands.free_probe()
            case deed:
                self._obey_for_tie(deed)
        choice = seen(self._hands, question.deed) if choices_of(question.deed) else None
        return Said(prompt_id=question.prompt_id, reading_mm=reading_mm, choice=choice)

    def _obey_for_tie(self, deed: Deed) -> None:
        match deed:
            case LayPlate(thick_mm=thick_mm):
                self._hands.lay_under_nozzle(thick_mm)
                self._hands.clip_lead()
            case JoinByHand(joined=joined):
                self._hands.join_leads(joined)
            case JoinLamp():
                self._hands.join_leads(False)
            case SetOnBlock(thick_mm=thick_mm):
                self._turn_until(self.block.felt_mm(thick_mm))
                self._hands.lay_under_nozzle(self.block.high_mm(thick_mm))
            case ClearAway():
                self._hands.clear_away()
            case _:
                pass  # they look, and their hands stay still

    def _blade_mm(self, which: Literal["largest-in", "smallest-out"]) -> float:
        gap_mm = self._hands.gap_mm()
        if which == "largest-in":
            return self.blades.largest_in_mm(gap_mm)
        return self.blades.smallest_out_mm(gap_mm)

    def _screw(self, name: str) -> str:
        """The screw of that name, else the nearest."""
        return name if name in self._hands.screw_names() else self._hands.nearest_screw()

    def _lowers(self, screw: str) -> Direction:
        """Which way of turning lowers the bed there."""
        return "anticlockwise" if self._hands.raises_bed(screw) == "clockwise" else "clockwise"

    def _set_gap(self, method: str, operator: str) -> None:
        """Turn the screw until the gap is what this hand takes for right."""
        hand = f"{method} by {operator}"
        self._settings[hand] += 1
        skill = skill_of(method, operator)
        chance = normal(self._seed, hand, self._settings[hand])
        self._turn_until(skill.gap_mm + skill.bias_mm + skill.sigma_mm * chance)

    def _turn_until(self, wanted_mm: float) -> None:
        """Turn the nearest screw until the gap is this."""
        screw = self._hands.nearest_screw()
        raises, lowers = self._hands.raises_bed(screw), self._lowers(screw)
        for _ in range(MOST_TURNS):
            too_wide_mm = self._hands.gap_mm() - wanted_mm
            if abs(too_wide_mm) < FINE_ENOUGH_MM:
                return
            direction = raises if too_wide_mm > 0 else lowers
            self._hands.turn_screw(screw, abs(too_wide_mm) / PITCH_MM * 360, direction)
