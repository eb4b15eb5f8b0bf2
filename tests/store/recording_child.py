"""Records readings until it is killed, four in flight, and prints each once it is acknowledged.

Started by test_killing.py: recording_child.py DATABASE FIRST_TRIAL
"""

import asyncio
import os
import sys
from itertools import count
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parents[1]), str(HERE.parent)]

from stored_rows import A_RUN, reading_at  # noqa: E402  after the path to it

from hostctl.store.store import Store  # noqa: E402

IN_FLIGHT = 4


async def record(store: Store, trials: "count[int]") -> None:
    for trial in trials:
        stored = await store.add_reading(reading_at(trial=trial))
        os.write(1, b"%d %d\n" % (stored.reading_id, trial))


async def main(database: Path, first_trial: int) -> None:
    async with Store.opened(database) as store:
        if not await store.runs():
            await store.add_run(A_RUN)
        trials = count(first_trial)
        async with asyncio.TaskGroup() as group:
            for _ in range(IN_FLIGHT):
                group.create_task(record(store, trials))


asyncio.run(main(Path(sys.argv[1]), int(sys.argv[2])))
