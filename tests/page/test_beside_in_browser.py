"""What the page draws beside the prompt, in the real Chromium: turn, live number, map and chart."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace

import pytest
from chromium import Chromium, Phone
from page_bench import Bench, place, served

from hostctl.deeds import TurnScrew
from hostctl.news import DecisionKept, LiveReading, PromptKind, RunStarted
from hostctl.store.rows import LEVELLED

pytestmark = [pytest.mark.browser, pytest.mark.slow]

SIZES = [(320, 568), (390, 844), (1280, 800)]
NARROW = "document.documentElement.scrollWidth <= innerWidth"
HEIGHTS = [("front-left", 30, 30, 0.12), ("front-right", 190, 30, -0.08), ("back", 110, 190, -0.04)]
LEVELLING = {
    "round": 2,
    "verdict": "turn",
    "tilt_mm": 0.231,
    "tilt_low_mm": 0.21,
    "tilt_high_mm": 0.252,
    "heights": [
        {"point": name, "x_mm": x, "y_mm": y, "height_mm": height, "u_mm": 0.003}
        for name, x, y, height in HEIGHTS
    ],
    "turns": [],
    "noticed": [],
}


@asynccontextmanager
async def phone_at(chromium: Chromium, wide: int, high: int) -> AsyncIterator[tuple[Bench, Phone]]:
    async with served() as bench, chromium.phones() as phones:
        phone = await phones.open(bench.url, wide=wide, high=high)
        await phone.until("document.body.dataset.line === 'live'")
        yield bench, phone


def asked_to_turn(bench: Bench, deed: TurnScrew) -> "asyncio.Task[object]":
    """The task, and the prompt on the phones."""
    bench.begin()
    at = place(method="level", operator="")
    return asyncio.create_task(bench.ask(PromptKind.CONFIRM, "Turn it.", deed=deed, place=at))


@pytest.mark.parametrize(("wide", "high"), SIZES)
async def test_the_number_that_moves_stands_beside_the_one_to_be_seen(
    chromium: Chromium, wide: int, high: int
):
    deed = TurnScrew(screw="front-left", turn_deg=450.0, direction="clockwise", target_mm=-0.03)
    async with phone_at(chromium, wide, high) as (bench, phone):
        turning = asked_to_turn(bench, deed)
        await phone.shows("Turn it.")
        assert not await phone.look("document.querySelector('#live').checkVisibility()")
        for present_mm in (0.31, 0.12):
            bench.station.desk.tell(
                LiveReading(
                    prompt_id="3-1-a", target_mm=-0.03, present_mm=present_mm, resolution_mm=0.01
                )
            )
        await phone.until("document.querySelector('#live-now').innerText === '+0.12'")
        assert await phone.text_of("#live-target") == "−0.03"
        assert "1 × 360° + 90°" in str(await phone.look("document.body.textContent"))
        assert await phone.look(NARROW)
        assert not phone.complaints()
        turning.cancel()


async def test_from_below_the_arrow_goes_the_way_that_is_seen_there(chromium: Chromium):
    deed = TurnScrew(screw="back", turn_deg=90.0, direction="clockwise", seen_from="below")
    async with phone_at(chromium, 390, 844) as (bench, phone):
        turning = asked_to_turn(bench, deed)
        await phone.shows("Turn it.")
        drawn = "document.querySelector('svg.turning').getAttribute('aria-label')"
        await phone.until(f"{drawn} === 'back screw seen from below: turn it 90° anticlockwise'")
        turning.cancel()


@pytest.mark.parametrize(("wide", "high"), SIZES)
async def test_the_bed_is_drawn_as_it_was_measured(chromium: Chromium, wide: int, high: int):
    async with phone_at(chromium, wide, high) as (bench, phone):
        bench.begin()
        bench.station.desk.tell(DecisionKept(kind=LEVELLED, what="Round 2.", data=LEVELLING))
        await phone.until("document.querySelectorAll('.map circle').length === 3")
        assert "the plane tilts by 0.231 mm (95 %: 0.210 to 0.252)" in await phone.text_of(
            "#bed-says"
        )
        shown = await phone.look("document.querySelector('.map').textContent")
        assert all(figure in str(shown) for figure in ("+0.120", "−0.080", "−0.040", "front"))
        assert await phone.look("document.querySelectorAll('.map .high').length") == 1
        assert await phone.look(NARROW)
        assert not phone.complaints()


async def test_a_loop_is_drawn_in_order_with_its_drift(chromium: Chromium):
    async with phone_at(chromium, 390, 844) as (bench, phone):
        begun = RunStarted(
            run=3, study="night", machine=bench.station.name, trials_total=500, resumed=False
        )
        bench.station.desk.tell(replace(begun, asks_nobody=True))
        for trial in range(1, 33):
            bench.keep(0.01 * (trial // 8), trial)
        await phone.until("document.querySelectorAll('#dots circle').length === 32")
        said = await phone.text_of("#readings-whose")
        assert "each a touch, in mm from its point's first" in said
        assert "Last quarter less first: +0.03 mm" in said
        assert not phone.complaints()
