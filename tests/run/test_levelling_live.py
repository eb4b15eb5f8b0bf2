"""A levelling on the simulated printer with nobody at it: the number is seen to move."""

import asyncio
from collections import defaultdict
from collections.abc import Callable
from datetime import timedelta
from itertools import pairwise
from pathlib import Path
from urllib.parse import urlencode

import pytest
from hostctl_simulators.readout.typing_cable import TypingCable
from paper_bed import level_study
from test_gauges_in_a_run import on_a_line
from test_levelled_beds import TILTED, bench_of, levelled
from test_simulated_printer import Bench

from hostctl.choices import GREW
from hostctl.config.parts.gauge import Gauge
from hostctl.deeds import PressPlunger, SendReading, TurnScrew
from hostctl.news import Answer, LiveReading, Prompt, PromptOpened, Word
from hostctl.run.desk import Desk

READINGS = 9
LOOKS_S = 3.0
"""So long the user looks at a prompt before answering it."""


class User:
    """Answers on a terminal what the printer's own hands have done; keeps what was shown live."""

    name = "user"

    def __init__(self, bench: Bench, press: Callable[[], object] = lambda: None) -> None:
        """press: of the button that sends a reading."""
        self._press = press
        self.targets_mm: dict[str, float | None] = {}
        self.shown_mm: dict[str, list[float]] = defaultdict(list)
        bench.people = self

    async def serve(self, desk: Desk) -> None:
        async with desk.listening() as news:
            async for item in news:
                if isinstance(item, LiveReading):
                    self.shown_mm[item.prompt_id].append(item.present_mm)
                    self.targets_mm[item.prompt_id] = item.target_mm
                if isinstance(item, PromptOpened):
                    self._look_at(item.prompt, desk)

    def _look_at(self, prompt: Prompt, desk: Desk) -> None:
        later = asyncio.get_running_loop().call_later
        if isinstance(prompt.deed, SendReading):
            later(LOOKS_S, self._press)
            return
        if isinstance(prompt.deed, TurnScrew):
            for number in range(1, 6):
                later(number * LOOKS_S / 6, self._press)
        later(LOOKS_S, desk.answer, answer_to(prompt))


def answer_to(prompt: Prompt) -> Answer:
    presses = isinstance(prompt.deed, PressPlunger)
    return Answer(
        prompt_id=prompt.prompt_id,
        word=Word.CHOSEN if presses else Word.DONE,
        choice=GREW if presses else None,
        channel="terminal",
        given_at=prompt.opened_at + timedelta(seconds=LOOKS_S),
    )


def test_the_live_number_goes_to_its_target_as_the_screw_is_turned():
    line = on_a_line(faults=f"&{urlencode(TILTED)}").model_copy(update={"plausible_mm": 6.0})
    bench = bench_of(level_study(gauge=line))
    user = User(bench)
    levelled(bench)
    went_to_their_targets(bench, user)
    assert len(bench.store.counting) == READINGS * 2


def test_each_press_of_a_typing_indicators_button_is_shown_live_and_kept_by_readings_alone(
    tmp_path: Path,
):
    device = str(tmp_path / "cable")
    gauge = Gauge(kind="typing-indicator", resolution_mm=0.001, device=device, plausible_mm=6.0)
    bench = bench_of(level_study(gauge=gauge))
    cable = TypingCable(bench.printer.world, Path(device))
    user = User(bench, cable.press)
    levelled(bench)
    went_to_their_targets(bench, user)
    assert len(bench.store.counting) == READINGS * 2
    assert bench.holds == []


def went_to_their_targets(bench: Bench, user: User) -> None:
    """Away from where they stood, by steps in one direction, to what was said."""
    asked = [p.prompt_id for p in bench.prompts if isinstance(p.deed, TurnScrew)]
    assert len(asked) == 4
    for prompt_id in asked:
        shown_mm, target_mm = user.shown_mm[prompt_id], user.targets_mm[prompt_id]
        steps_mm = [after - before for before, after in pairwise(shown_mm) if after != before]
        assert len(steps_mm) >= 3
        assert min(steps_mm) > 0 or max(steps_mm) < 0
        assert shown_mm[-1] == pytest.approx(target_mm, abs=0.02)
