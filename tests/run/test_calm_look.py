"""While a prompt is open hands may be in: heat is looked at calmly, held and said at once."""

import asyncio

from jumping_loop import in_jumping_time
from workshop import Workshop, obliging, rig_check, said, study_file

from hostctl.config.study import Warmth
from hostctl.news import HoldBegan, Prompt, PromptKind, PromptOpened


def waiting_at(shop: Workshop, kind: PromptKind, seconds: float):
    """Obliging, but thinks for so long about the first prompt of this kind."""
    thought: list[Prompt] = []

    async def answer_later(prompt: Prompt) -> None:
        await asyncio.sleep(seconds)
        shop.desk.answer(obliging()(prompt) or said(prompt))

    def person(prompt: Prompt):
        if prompt.kind is kind and not thought:
            thought.append(prompt)
            shop.later = asyncio.get_running_loop().create_task(answer_later(prompt))
            return None
        return obliging()(prompt)

    return person


def test_a_nozzle_heated_by_somebody_else_is_held_within_seconds_and_switched_off():
    shop = Workshop(study_file(trials=1))
    opened_s: list[float] = []
    held_s: list[float] = []

    def look(item: object) -> None:
        now_s = asyncio.get_running_loop().time()
        if isinstance(item, PromptOpened) and item.prompt.kind is PromptKind.SET and not opened_s:
            opened_s.append(now_s)
            shop.printer.nozzle_target_c = 200.0
        if isinstance(item, HoldBegan):
            held_s.append(now_s)

    shop.on_news = look
    assert shop.carry_out(waiting_at(shop, PromptKind.SET, 60.0)).complete
    (held,) = shop.told(HoldBegan)
    assert "somebody else heated the nozzle to 200 °C" in held.reason
    assert held_s[0] - opened_s[0] < 6.0
    assert shop.printer.nozzle_target_c == 0.0
    assert held.taken_anew == 0  # the position was never lost


def test_heat_that_stays_is_told_once_a_hold_and_again_once_it_is_lifted_too_early():
    shop = Workshop(study_file(trials=1))
    lifted: list[Prompt] = []

    async def lift_in_a_minute(prompt: Prompt) -> None:
        await asyncio.sleep(60.0)
        if len(lifted) == 2:
            shop.printer.nozzle_c = 21.0
        shop.desk.answer(said(prompt))

    def person(prompt: Prompt):
        if prompt.text.startswith("The run is on hold"):
            lifted.append(prompt)
            shop.later = asyncio.get_running_loop().create_task(lift_in_a_minute(prompt))
            return None
        if prompt.kind is PromptKind.SET and len(lifted) < 2:
            shop.printer.nozzle_c = 80.0
            return None
        return obliging()(prompt)

    assert shop.carry_out(person).complete
    assert ["nozzle is at 80 °C" in held.reason for held in shop.told(HoldBegan)] == [True, True]


def test_a_bed_that_the_study_warms_holds_nothing():
    shop = Workshop(rig_check(trials=1, warmth=Warmth(bed_c=50.0, soak_s=0.0)))
    assert shop.carry_out(waiting_at(shop, PromptKind.READ, 60.0)).complete
    assert shop.told(HoldBegan) == []
    assert shop.printer.commands.count("M105") > 10


def test_a_line_that_is_down_is_not_asked():
    shop = Workshop(study_file(trials=1))
    went: list[Prompt] = []

    def person(prompt: Prompt):
        if prompt.kind is PromptKind.SET and not went:
            went.append(prompt)
            shop.printer.fail("unplugged")
            return None
        return obliging()(prompt)

    async def both():
        return await shop.run(person)

    assert in_jumping_time(both()).complete
    assert len(shop.told(HoldBegan)) == 1


def test_each_prompt_has_one_look_of_its_own():
    shop = Workshop(study_file(trials=1))
    left: list[str] = []

    def look(item: object) -> None:
        if isinstance(item, PromptOpened):
            names = [task.get_name() for task in asyncio.all_tasks()]
            left.append(str(names.count("calm look at the heat")))

    shop.on_news = look
    assert shop.carry_out(waiting_at(shop, PromptKind.READ, 12.0)).complete
    assert set(left) == {"1"}
