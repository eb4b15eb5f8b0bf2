"""Whatever was told to have been taken is on the disk, however soon the daemon dies after it."""

import json
import signal

import pytest
from daemon_process import Daemon, Json

from hostctl.store.reading import read_record
from hostctl.store.rows import RunRecord

KILLS = 3


def answer(daemon: Daemon, text: str) -> Json:
    """Answer what is asked now; gives the prompt, once the answer was said to be taken."""
    prompt = daemon.until("bench", lambda found: found["prompt"])["prompt"]
    assert isinstance(prompt, dict)
    daemon.ask("answer", machine="bench", text=text, prompt_id=prompt["prompt_id"])
    return prompt


def answer_up_to_reading(daemon: Daemon, reading: str) -> Json:
    """Gives the prompt of the reading, which is taken but was not proven yet."""
    while answer_kind(daemon) != "read":
        answer(daemon, "done")
    return answer(daemon, reading)


def answer_kind(daemon: Daemon) -> object:
    prompt = daemon.until("bench", lambda found: found["prompt"])["prompt"]
    assert isinstance(prompt, dict)
    return prompt["kind"]


def answered(record: RunRecord) -> dict[str, dict[str, object]]:
    """What was answered, by the prompt's id; each once."""
    kept = [json.loads(event.data) for event in record.events if event.kind == "answered"]
    by_id = {one["prompt_id"]: one for one in kept}
    assert len(by_id) == len(kept)
    return by_id


@pytest.mark.slow
@pytest.mark.timeout(180)
def test_a_reading_told_as_taken_survives_a_kill_at_once_and_is_told_on_resuming(daemon: Daemon):
    daemon.start()
    daemon.start_run("bench", study="small")
    for number in range(KILLS):
        typed = f"0.0{number + 1}"
        prompt = answer_up_to_reading(daemon, typed)
        daemon.end(signal.SIGKILL)

        kept = answered(read_record(daemon.database, 1))[str(prompt["prompt_id"])]
        assert kept["reading_mm"] == float(typed)
        daemon.start()
        daemon.start_run("bench", resume=1)
        asked = daemon.until("bench", lambda found: found["prompt"])["prompt"]
        assert isinstance(asked, dict)
        assert f"{typed} mm" in str(asked["detail"])  # what became of it
