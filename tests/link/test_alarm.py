"""A timer that can be moved at no cost still rings once, at the right time."""

import asyncio
from collections.abc import Callable, Coroutine

import pytest
from jumping_loop import JumpingLoop, Stuck

from hostctl.link.alarm import Alarm


def rings(scenario: Callable[[Alarm], Coroutine[None, None, None]]) -> list[float]:
    """The times at which an alarm rang in the first hundred seconds of `scenario`."""
    rung: list[float] = []

    async def main() -> None:
        loop = asyncio.get_running_loop()
        alarm = Alarm(lambda: rung.append(loop.time()))
        await scenario(alarm)
        await asyncio.sleep(100 - loop.time())
        alarm.close()

    with asyncio.Runner(loop_factory=JumpingLoop) as runner:
        runner.run(main())
    return rung


async def set_once(alarm: Alarm) -> None:
    alarm.set(5)


async def moved_later(alarm: Alarm) -> None:
    alarm.set(5)
    await asyncio.sleep(3)
    alarm.set(27)


async def moved_earlier(alarm: Alarm) -> None:
    alarm.set(50)
    alarm.set(2)


async def cleared(alarm: Alarm) -> None:
    alarm.set(5)
    alarm.clear()


async def cleared_and_set_again(alarm: Alarm) -> None:
    alarm.set(5)
    alarm.clear()
    alarm.set(7)


async def set_again_after_ringing(alarm: Alarm) -> None:
    alarm.set(5)
    await asyncio.sleep(6)
    alarm.set(3)


@pytest.mark.parametrize(
    ("scenario", "rung"),
    [
        (set_once, [5]),
        (moved_later, [30]),
        (moved_earlier, [2]),
        (cleared, []),
        (cleared_and_set_again, [7]),
        (set_again_after_ringing, [5, 9]),
    ],
)
def test_it_rings_when_it_was_last_set_for(
    scenario: Callable[[Alarm], Coroutine[None, None, None]], rung: list[float]
) -> None:
    assert rings(scenario) == rung


def test_the_jumping_loop_names_a_deadlock() -> None:
    with asyncio.Runner(loop_factory=JumpingLoop) as runner:
        waiting = runner.get_loop().create_future()
        with pytest.raises(Stuck):
            runner.get_loop().run_until_complete(waiting)
        waiting.cancel()
