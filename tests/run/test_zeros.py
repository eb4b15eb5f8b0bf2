"""Zeros of the indicator: whose they are, when they are lost, and that the head stood still."""

import asyncio

import pytest
from bench_files import machine_file
from jumping_loop import in_jumping_time
from small_printer import At
from workshop import Workshop, obliging, rig_check, said, study_file

from hostctl.config.machine import Indicator, Point
from hostctl.config.parts.gauge import Gauge
from hostctl.config.study import Cycle, Warmth
from hostctl.news import HoldBegan, Prompt, PromptKind, RunFinished, Word

TWO_POINTS = ["front-right", "back-left"]


def zeroed(shop: Workshop) -> list[tuple[int, int]]:
    """Where the indicator was turned to zero by hand: block and round."""
    places = [prompt.place for prompt in shop.prompts if prompt.kind is PromptKind.ZERO]
    return [(place.block, place.round) for place in places if place]


def kinds_at_zeros(shop: Workshop) -> list[str]:
    """How the zeros' readings were asked for, in order: to be turned to zero, or only read."""
    reads = (PromptKind.ZERO, PromptKind.READ)
    asked = [prompt for prompt in shop.prompts if prompt.kind in reads and prompt.place]
    return [prompt.kind.value for prompt in asked if prompt.place and prompt.place.trial == 0]


def typing_zeros(*zeros_mm: float):
    """Obliging, but types these where a zero is asked for."""
    values_mm, rest = iter(zeros_mm), obliging()

    def answer(prompt: Prompt):
        if prompt.kind is PromptKind.ZERO:
            return said(prompt, Word.READING, next(values_mm))
        return rest(prompt)

    return answer


def test_in_blocked_order_each_block_is_zeroed_by_hand():
    shop = Workshop(study_file(points=TWO_POINTS, trials=2))
    shop.carry_out(obliging())
    assert zeroed(shop) == [(1, 1), (2, 1)]


def test_in_blocked_order_each_block_is_zeroed_by_hand_on_its_gauge_block():
    study = study_file(points=TWO_POINTS, trials=2, reference="datum", gauge=Gauge(block_mm=4.0))
    shop = Workshop(study)
    shop.carry_out(obliging())
    assert zeroed(shop) == [(1, 1), (2, 1)]
    assert [prompt.text[:15] for prompt in shop.prompts if "gauge block" in prompt.text] == [
        "Lay the 4 mm ga",
        "Take the gauge ",
    ] * 2


def test_in_mixed_order_with_gauge_blocks_the_indicator_is_turned_once():
    """The second gauge block is only read: turning would move the first block's zero."""
    study = study_file(
        points=TWO_POINTS, trials=2, order="mixed", reference="datum", gauge=Gauge(block_mm=4.0)
    )
    shop = Workshop(study)
    assert shop.carry_out(obliging()).complete
    assert kinds_at_zeros(shop) == ["zero", "read"]


def test_in_mixed_order_the_indicator_is_turned_to_zero_again_once_after_homing_anew():
    shop = Workshop(study_file(points=TWO_POINTS, trials=3, order="mixed"))

    def unplugged_late(prompt: Prompt):
        if len(shop.store.readings) == 4 and not shop.told(HoldBegan):
            shop.printer.fail("unplugged")
            return None
        return obliging()(prompt)

    assert shop.carry_out(unplugged_late).complete
    assert kinds_at_zeros(shop) == ["zero", "read", "zero", "read"]


def test_the_zero_of_each_block_is_taken_at_the_reading_height_over_its_own_point():
    """Plunger 25 mm right of the nozzle: at (190, 30) and (30, 190), x and y told apart."""
    shop = Workshop(rig_check(points=TWO_POINTS, trials=1))
    shop.carry_out(obliging())
    seen = {one.place.point: one.reading.at for one in shop.store.readings if one.is_zero}
    assert {point: (at.x_mm, at.y_mm, at.z_mm) for point, at in seen.items()} == {
        "front-right": (165.0, 30.0, 5.0),
        "back-left": (5.0, 190.0, 5.0),
    }


def test_a_gauge_block_is_laid_where_the_plunger_is_over_the_point():
    """The head has gone there by both offsets before anybody is asked to lay it."""
    file = machine_file(
        points=[Point(name="front-right", x_mm=150, y_mm=40)],
        screws=[],
        indicator=Indicator(offset_x_mm=25, offset_y_mm=-8),
    )
    study = study_file(
        points=["front-right"], trials=1, reference="datum", gauge=Gauge(block_mm=4.0)
    )
    shop = Workshop(study, file=file)
    laid_at: list[At] = []

    def person(prompt: Prompt):
        if prompt.text.startswith("Lay the 4 mm"):
            laid_at.append(shop.printer.at)
        return obliging()(prompt)

    assert shop.carry_out(person).complete
    assert laid_at == [At(125.0, 48.0, 10.0)]
    assert {(one.reading.at.x_mm, one.reading.at.y_mm) for one in shop.store.readings} == {
        (125.0, 48.0)
    }


def test_with_previous_a_zero_typed_after_a_reading_must_be_zero():
    shop = Workshop(study_file(reference="previous", trials=2))
    assert shop.carry_out(typing_zeros(0.0, 0.03, -0.01, 0.0)).complete
    again = [prompt.text for prompt in shop.prompts if "turn it to zero" in prompt.text]
    assert len(again) == 2
    assert shop.store.kinds().count("zeroed") == 1
    assert len(shop.store.counting) == 2


def test_with_previous_a_typed_zero_is_as_good_as_done():
    shop = Workshop(study_file(reference="previous", trials=3))
    assert shop.carry_out(typing_zeros(0.0, 0.0, 0.0)).complete
    assert shop.asked().count("zero") == 3  # the block's own, then after trials 1 and 2


def test_with_previous_a_head_that_moved_since_its_reading_is_no_place_to_zero():
    shop = Workshop(study_file(reference="previous", trials=2))
    moved: list[str] = []

    def move_once(sent: str) -> None:
        if sent == "M114" and len(shop.store.readings) == 2 and not moved:
            moved.append(sent)
            shop.printer.at = At(5.0, 30.0, 5.5)  # somebody turned the spindle

    shop.printer.before = move_once
    zeros_before_the_hold: list[int] = []
    shop.on_news = lambda item: (
        zeros_before_the_hold.append(shop.asked().count("zero"))
        if isinstance(item, HoldBegan)
        else None
    )
    assert shop.carry_out(obliging()).complete
    assert "the head is at" in shop.told(HoldBegan)[0].reason
    assert zeros_before_the_hold == [1]


def test_with_previous_a_zero_that_homing_made_worthless_is_not_asked_for():
    shop = Workshop(study_file(reference="previous", trials=2))

    def unplugged(sent: str) -> None:
        if sent == "M114" and len(shop.store.readings) == 2 and not shop.told(HoldBegan):
            shop.printer.fail("unplugged")

    shop.printer.before = unplugged
    assert shop.carry_out(obliging()).complete
    assert zeroed(shop) == [(1, 1), (1, 2), (1, 2)]


def test_without_a_turn_away_too_the_zero_is_read_where_the_point_is():
    shop = Workshop(study_file(points=["back-left"], trials=1, cycle=Cycle(turn_away=None)))
    shop.carry_out(obliging())
    assert {(one.reading.at.x_mm, one.reading.at.y_mm) for one in shop.store.readings} == {
        (5.0, 190.0)
    }


# ------------------------------------------------------------------ before homing anew


def test_a_nozzle_that_is_hot_when_the_machine_is_back_keeps_it_from_homing():
    shop = Workshop(study_file(trials=1))
    homings_while_hot: list[str] = []

    def look(sent: str) -> None:
        if sent == "G28" and shop.printer.nozzle_c > 50:
            homings_while_hot.append(sent)

    def person(prompt: Prompt):
        if prompt.kind is PromptKind.SET and not shop.told(HoldBegan):
            shop.printer.nozzle_c = 90.0
            shop.printer.fail("unplugged")
            return None
        if len(shop.told(HoldBegan)) == 2:
            shop.printer.nozzle_c = 21.0
        return obliging()(prompt)

    shop.printer.before = look
    assert shop.carry_out(person).complete
    assert "nozzle is at 90 °C" in shop.told(HoldBegan)[1].reason
    assert homings_while_hot == []


# ------------------------------------------------------------------ heat in a hold


@pytest.mark.parametrize(("held_s", "cooled"), [(50.0, False), (70.0, True)])
def test_a_hold_cools_the_bed_after_a_minute_and_not_before(held_s: float, cooled: bool):
    shop = Workshop(rig_check(trials=1, warmth=Warmth(bed_c=50.0, soak_s=0.0)))
    held: list[Prompt] = []

    def person(prompt: Prompt):
        if prompt.text.startswith("The run is on hold."):
            held.append(prompt)
            return None
        return said(prompt, Word.HOLD) if len(shop.prompts) == 2 else obliging()(prompt)

    async def lift_after() -> None:
        while not held:  # noqa: ASYNC110 - nobody tells of what was asked
            await asyncio.sleep(1.0)
        await asyncio.sleep(held_s)
        shop.desk.answer(said(held[0]))

    async def both() -> RunFinished:
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(lift_after())
            return await shop.run(person)

    assert in_jumping_time(both()).complete
    assert ("heaters off" in shop.store.kinds()) == cooled
    assert shop.printer.commands.count("M140 S50") == 1 + cooled
