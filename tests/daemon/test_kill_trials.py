"""A few of the kill trials; all of them: `python tests/benchmarks/kill_trials.py`."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))

from kill_trials import trials  # by the path set above

KILLS, SEED = 10, 5


@pytest.mark.slow
@pytest.mark.broker
@pytest.mark.timeout(300)
async def test_killed_while_people_answer_on_every_channel_nothing_acknowledged_is_lost(
    tmp_path: Path,
):
    counted = await trials(tmp_path, KILLS, SEED, lambda _: None)
    assert counted["kills"] == KILLS
    assert 0 < counted["acknowledged"] <= counted["on the disk"]
    for channel in ("phone page", "command line", "messages", "json-lines", "terminal"):
        assert counted[f"given on {channel}"]
