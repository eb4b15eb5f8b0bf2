"""What takes far longer than usual is said, and asked after: nobody stares at a silent screen."""

import asyncio
from itertools import pairwise

from test_simulated_printer import Bench, comparison, file_for

from hostctl.news import Moving, News


class Listening(Bench):
    """Notes when anything at all was told."""

    def __init__(self, *given: object) -> None:
        super().__init__(*given)
        self.told: list[tuple[float, News]] = []

    async def _look(self) -> None:
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(super()._look())
            async with self.desk.listening() as news:
                async for item in news:
                    self.told.append((asyncio.get_running_loop().time(), item))


def number_of(code: str) -> int:
    """Which command of a run it is, counted from 1."""
    bench = Bench(comparison(trials=1), file_for("workshop-220", dialect="old"))
    bench.carry_out()
    texts = [one.text for one in bench.printer.board.obeyed]
    return 1 + next(at for at, text in enumerate(texts) if text.startswith(code))


def test_a_homing_whose_answer_is_lost_is_told_and_found_out():
    lost = {"lost_ok_at_command": number_of("G28"), "speed": "real"}
    bench = Listening(comparison(trials=1), file_for("workshop-220", dialect="old", **lost))
    assert bench.carry_out().complete
    assert bench.holds == []
    late = [item.what for _, item in bench.told if isinstance(item, Moving)]
    assert any("Waiting for the end of homing (G28) for 60 s" in what for what in late)
    times_s = [at_s for at_s, _ in bench.told]
    silences_s = [after - before for before, after in pairwise(times_s)]
    assert max(silences_s) < 65
    assert bench.printer.world.crashes == []
