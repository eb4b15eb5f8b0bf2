"""Simulated people: they are asked what a person is asked, and do with their hands what it says.

They read the prompt's words. A turn is taken from the text: a number of degrees and `clockwise` or
`anticlockwise`; a gauge block is laid and taken as it says. A setting is made with the skill of
the operator named (`skill.py`). A prompt is obeyed once: asked again under the same id, they
repeat their answer and keep their hands still.
"""

import re
from collections import Counter
from dataclasses import dataclass
from typing import cast

from hostctl.records import Prompt, PromptKind
from hostctl_simulators.bed import Direction
from hostctl_simulators.chance import normal
from hostctl_simulators.hands import Hands
from hostctl_simulators.skill import skill_of

FINE_ENOUGH_MM = 1e-6  # the remaining error of a setting, far below any skill
PITCH_MM = 0.7  # what a person takes a bed screw's pitch to be
MOST_TURNS = 40  # in steps towards a gap: each step overshoots or falls short where screws share
_TURN = re.compile(
    r"(\d+(?:\.\d+)?)\s*(?:degrees?|deg|°)[^.\d]{0,40}?(counter-?clockwise|anti-?clockwise|clockwise)",
    re.IGNORECASE,
)
_LAY_BLOCK = re.compile(r"lay the (?:(\d+(?:\.\d+)?) mm )?gauge block", re.IGNORECASE)
_TAKE_BLOCK = re.compile(r"take the gauge block", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What a person hears: the prompt, whichever way it came."""

    prompt_id: str
    kind: PromptKind
    text: str
    method: str
    operator: str
    point: str

    @classmethod
    def from_prompt(cls, prompt: Prompt) -> "Question":
        """From the record that travels in one process."""
        place = prompt.place
        return cls(
            prompt_id=prompt.prompt_id,
            kind=prompt.kind,
            text=f"{prompt.text} {prompt.detail}",
            method=place.method if place else "",
            operator=place.operator if place else "",
            point=place.point if place else "",
        )

    @classmethod
    def from_json(cls, line: dict[str, object]) -> "Question":
        """From a JSON line of `hostctl run … --jsonl`. Raises KeyError or ValueError."""
        return cls(
            prompt_id=str(line["prompt_id"]),
            kind=PromptKind(str(line["kind"])),
            text=f"{line['text']} {line.get('detail') or ''}",
            method=str(line.get("method") or ""),
            operator=str(line.get("operator") or ""),
            point=str(line.get("point") or ""),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What the person answers. `reading_mm` None: done."""

    prompt_id: str
    reading_mm: float | None = None


class People:
    """All the operators of one printer."""

    def __init__(self, hands: Hands, seed: int | None = None) -> None:
        self._hands = hands
        self._seed = hands.seed if seed is None else seed
        self._settings: Counter[str] = Counter()
        self._said: dict[str, Said] = {}

    def answer(self, question: Question) -> Said:
        """Do what is asked, and say so. Raises LookupError for what this printer does not have."""
        if question.prompt_id not in self._said:
            self._said[question.prompt_id] = self._obey(question)
        return self._said[question.prompt_id]

    def _obey(self, question: Question) -> Said:
        reading_mm: float | None = None
        match question.kind:
            case PromptKind.CONFIRM:
                self._turn_as_told(question)
                self._handle_block(question)
            case PromptKind.SET:
                self._turn_as_told(question)
                self._set_gap(question)
            case PromptKind.ZERO:
                self._hands.zero_indicator()
            case PromptKind.READ:
                reading_mm = self._hands.read_indicator()
        return Said(prompt_id=question.prompt_id, reading_mm=reading_mm)

    def _turn_as_told(self, question: Question) -> None:
        for degrees, way in _TURN.findall(question.text):
            direction = "clockwise" if way.lower() == "clockwise" else "anticlockwise"
            screw = self._screw(question)
            self._hands.turn_screw(screw, float(degrees), cast(Direction, direction))

    def _handle_block(self, question: Question) -> None:
        if found := _LAY_BLOCK.search(question.text):
            self._hands.lay_block(float(found[1] or 0.0))
        elif _TAKE_BLOCK.search(question.text):
            self._hands.lay_block(0.0)

    def _screw(self, question: Question) -> str:
        """The screw named in the text, else the one at the point, else the nearest."""
        names = sorted(self._hands.screw_names(), key=len, reverse=True)
        for name in names:
            if re.search(rf"(?<![\w-]){re.escape(name)}(?![\w-])", question.text, re.IGNORECASE):
                return name
        return question.point if question.point in names else self._hands.nearest_screw()

    def _set_gap(self, question: Question) -> None:
        """Turn the screw until the gap is what this hand takes for right."""
        hand = f"{question.method} by {question.operator}"
        self._settings[hand] += 1
        skill = skill_of(question.method, question.operator)
        chance = normal(self._seed, hand, self._settings[hand])
        wanted_mm = skill.gap_mm + skill.bias_mm + skill.sigma_mm * chance
        screw = self._hands.nearest_screw()
        for _ in range(MOST_TURNS):
            too_wide_mm = self._hands.gap_mm() - wanted_mm
            if abs(too_wide_mm) < FINE_ENOUGH_MM:
                return
            direction: Direction = "clockwise" if too_wide_mm > 0 else "anticlockwise"
            self._hands.turn_screw(screw, abs(too_wide_mm) / PITCH_MM * 360, direction)
