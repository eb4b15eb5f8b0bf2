"""`kill -9` at any instant loses nothing that was acknowledged."""

import random
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

SEED, KILLS = 20310506, 24
CHILD = Path(__file__).with_name("recording_child.py")


def kill_while_recording(database: Path, first_trial: int, chance: random.Random) -> dict[int, int]:
    """Kill a recording process at a random instant; the readings it acknowledged, id to trial."""
    command = [sys.executable, str(CHILD), str(database), str(first_trial)]
    with subprocess.Popen(command, stdout=subprocess.PIPE) as child:
        assert child.stdout is not None
        lines = [child.stdout.readline() for _ in range(chance.randrange(1, 60))]
        time.sleep(chance.uniform(0, 0.004))  # to fall anywhere within a commit
        child.kill()
        lines += child.stdout.readlines()
    return {int(reading_id): int(trial) for reading_id, trial in map(bytes.split, lines)}


@pytest.mark.slow
def test_killed_at_any_instant_the_store_keeps_all_it_acknowledged(database: Path) -> None:
    chance = random.Random(SEED)
    acknowledged: dict[int, int] = {}
    for number in range(KILLS):
        acknowledged |= kill_while_recording(database, 10_000 * number, chance)
        with closing(sqlite3.connect(database)) as connection:
            assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            stored = dict(connection.execute("SELECT reading_id, trial FROM readings"))
        assert acknowledged.items() <= stored.items(), f"seed {SEED}, kill {number}"
    assert len(acknowledged) > KILLS
