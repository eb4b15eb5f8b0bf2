"""Any number of touches in the same memory, each of them on the disk.

Ten thousand, as they were measured: HOSTCTL_LOOP_TOUCHES=10000 (see DEVELOPERS.md).
"""

import asyncio
import gc
import os
import sqlite3
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import pytest
from loop_bench import arm_file, looping
from test_simulated_printer import Bench

from hostctl.news import News, ReadingKept
from hostctl.store.store import Store

TOUCHES = int(os.environ.get("HOSTCTL_LOOP_TOUCHES", "500"))
EARLY = max(200, TOUCHES // 5)  # before, caches still fill
MOST_GROWN_KIB = min(64.0, 0.08 * (TOUCHES - EARLY))
"""As little for each touch of few as 64 KiB is for each of a thousand."""


def held_at(touches: set[int], held_b: list[int]) -> Callable[[News], None]:
    """Notes how much memory is held once so many were kept."""
    kept = 0

    def look(item: News) -> None:
        nonlocal kept
        if isinstance(item, ReadingKept):
            kept += 1
            if kept in touches:
                held_b.append(sum(each.size for each in ours()))

    return look


def ours() -> list[tracemalloc.Statistic]:
    """What is held, but for what the simulated printer keeps for its tests, as every order."""
    theirs = tracemalloc.Filter(inclusive=False, filename_pattern="*/hostctl_simulators/*")
    gc.collect()
    return tracemalloc.take_snapshot().filter_traces((theirs,)).statistics("lineno")


@pytest.mark.slow
@pytest.mark.timeout(1200)
def test_any_number_of_touches_takes_the_same_memory_and_each_is_stored(tmp_path: Path):
    study = looping({"control_limit": True, "longest_s": 1e6}, trials=TOUCHES)
    bench = Bench(study, arm_file())
    held_b: list[int] = []
    bench.on_news = held_at({EARLY, TOUCHES}, held_b)

    async def run() -> None:
        async with Store.opened(tmp_path / "runs.sqlite") as store:
            bench.store = store
            assert (await bench._run(None)).complete

    tracemalloc.start()
    try:
        asyncio.run(run())
    finally:
        tracemalloc.stop()
    with sqlite3.connect(tmp_path / "runs.sqlite") as connection:
        stored = connection.execute(
            "SELECT count(*), count(DISTINCT trial), max(trial) FROM readings"
        ).fetchone()
    assert stored == (TOUCHES, TOUCHES, TOUCHES)
    early_b, late_b = held_b
    assert (late_b - early_b) / 1024 < MOST_GROWN_KIB
