"""The channel `simulated-people`, found by its name, at a real desk."""

import asyncio
from datetime import UTC, datetime

import pytest
from hostctl_simulators import find_world, forget_printers
from hostctl_simulators.physical.spot import Spot

from hostctl.deeds import Deed, ReadIndicator, TurnScrew, ZeroIndicator
from hostctl.errors import ConfigError
from hostctl.news import Prompt, Word
from hostctl.run.channel import CHANNELS
from hostctl.run.desk import Desk

URL = "sim://workshop-220?seed=7"


@pytest.fixture(autouse=True)
def fresh_printers() -> None:
    forget_printers()


def prompt(number: int, deed: Deed) -> Prompt:
    return Prompt(
        prompt_id=f"p{number}",
        deed=deed,
        text="Do it.",
        detail="",
        moves_next="",
        place=None,
        opened_at=datetime.now(UTC),
        resolution_mm=0.01,
    )


async def test_the_people_at_a_printer_answer_each_prompt_of_its_desk():
    desk = Desk()
    world = find_world(URL)
    world.move_head(Spot(x_mm=165, y_mm=30, z_mm=5))
    channel = CHANNELS.find("simulated-people")({"url": URL})
    async with asyncio.TaskGroup() as group:
        serving = group.create_task(channel.serve(desk))
        zeroed = await desk.ask(prompt(1, ZeroIndicator()))
        turn = TurnScrew(screw="front-right", turn_deg=36, direction="clockwise")
        turned = await desk.ask(prompt(2, turn))
        read = await desk.ask(prompt(3, ReadIndicator()))
        serving.cancel()
    assert (zeroed.word, turned.word) == (Word.DONE, Word.DONE)
    assert (read.word, read.reading_mm) == (Word.READING, 0.07)


@pytest.mark.parametrize(
    "settings",
    [{}, {"url": "sim://nobody"}, {"url": URL, "seed": "x"}, {"url": URL, "pause_s": "x"}],
)
def test_wrong_settings_are_refused(settings):
    with pytest.raises(ConfigError):
        CHANNELS.find("simulated-people")(settings)
