"""Studies of the true gap, and somebody at the small printer who obeys the deeds of a tie."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any

from bench_files import machine_file
from small_printer import SmallPrinter
from workshop import Workshop, said, study_file

from hostctl.choices import DARK, GREW, LIT, SLACK, WITHIN
from hostctl.config.machine import Heat
from hostctl.config.parts.gauge import Gauge
from hostctl.config.parts.tie import Tie
from hostctl.config.study import Method
from hostctl.deeds import (
    JoinByHand,
    JoinLamp,
    LiftHold,
    MeterLeads,
    PressPlunger,
    ReadIndicator,
    TryBlade,
    WatchLamp,
    WatchLeads,
)
from hostctl.news import Answer, Prompt, Word

BLADES_MM = (0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
MOST_HOLDS = 4
SAFE_HEAT = Heat(mains_bed=False)


def tie(**changes: object) -> Tie:
    """By touch, by lamp, on a plate; two observations, no check on the way."""
    given: dict[str, object] = {
        "by": "touch",
        "contact": "lamp",
        "beyond_mm": 0.004,
        "plate_mm": 0.5,
        "times": 2,
        "checks": 0,
        "check_times": 2,
    }
    return Tie.model_validate(given | changes, strict=False)


def true_gap(tied: Tie | None = None, **changes: object) -> Any:
    """A small comparison about the true gap."""
    paper = Method.model_validate(
        {"name": "paper-slip", "instruction": "Slide the paper.", "goes_by": "paper"}, strict=False
    )
    given: dict[str, object] = {
        "reference": "gap",
        "target_mm": 0.1,
        "methods": [paper],
        "tie": tied or tie(),
        "gauge": Gauge(plausible_mm=3.0),
    }
    return study_file(**(given | changes))


def chosen(prompt: Prompt, choice: str) -> Answer:
    """One of what a prompt may be answered."""
    return Answer(
        prompt_id=prompt.prompt_id,
        word=Word.CHOSEN,
        choice=choice,
        channel="terminal",
        given_at=prompt.opened_at + timedelta(seconds=1),
    )


@dataclass
class AtTheBench:
    """Hands and eyes. The plate's top is at `top_mm`; the plunger shows how far it is pressed in.

    `on_prompt` may answer in their place, where it gives an answer.
    """

    printer: SmallPrinter
    top_mm: float = 0.43
    bed_mm: float = -0.1
    zero_mm: float = 0.0
    plate_in: bool = False
    joined: bool = False
    grows: bool = True
    on_prompt: Callable[[Prompt], Answer | None] = lambda prompt: None
    lamp: Callable[[bool], bool] = lambda closed: closed
    deeds: list[str] = field(default_factory=list)

    def __call__(self, prompt: Prompt) -> Answer | None:
        self.deeds.append(prompt.deed.do)
        self.plate_in = (self.plate_in or prompt.deed.do == "lay-plate") and (
            prompt.deed.do != "clear-away"
        )
        answer = self.on_prompt(prompt)
        return answer if answer is not None else self._obey(prompt)

    @property
    def closed(self) -> bool:
        """Whether nozzle and plate touch, or were joined."""
        touches = self.plate_in and self.printer.at.z <= self.top_mm + 1e-9
        return self.lamp(self.joined or touches)

    def _obey(self, prompt: Prompt) -> Answer:
        match prompt.deed:
            case LiftHold() if self.deeds.count("lift-hold") > MOST_HOLDS:
                return said(prompt, Word.END)
            case PressPlunger():
                return chosen(prompt, GREW if self.grows else "fell")
            case MeterLeads():
                return chosen(prompt, WITHIN)
            case WatchLeads():
                return chosen(prompt, SLACK)
            case TryBlade(which=which):
                return said(prompt, Word.READING, self._blade(which))
            case JoinByHand(joined=joined, by_eye=by_eye):
                self.joined = joined
                return chosen(prompt, LIT if self.closed else DARK) if by_eye else said(prompt)
            case JoinLamp(by_eye=by_eye):
                self.joined = False  # the free lead is kept away
                return chosen(prompt, LIT if self.closed else DARK) if by_eye else said(prompt)
            case WatchLamp():
                return chosen(prompt, LIT if self.closed else DARK)
            case ReadIndicator():
                return said(prompt, Word.READING, self._shown())
            case _:
                return said(prompt)

    def _blade(self, which: str) -> float:
        gap_mm = self.printer.at.z - (self.top_mm if self.plate_in else self.bed_mm)
        under = [blade for blade in BLADES_MM if blade <= gap_mm]
        over = [blade for blade in BLADES_MM if blade > gap_mm]
        if which == "largest-in":
            return max(under, default=0.0)
        return min(over, default=max(BLADES_MM))

    def _shown(self) -> float:
        surface_mm = self.top_mm if self.plate_in else self.bed_mm
        pressed_mm = 5.5 - (self.printer.at.z - surface_mm)
        return round((pressed_mm if self.grows else -pressed_mm) - self.zero_mm, 2)


def at_work(study: Any = None, **bench: Any) -> tuple[Workshop, AtTheBench]:
    """A workshop whose bed is not on the mains, and somebody in it."""
    shop = Workshop(study or true_gap(), file=machine_file(heat=SAFE_HEAT))
    return shop, AtTheBench(shop.printer, **bench)
