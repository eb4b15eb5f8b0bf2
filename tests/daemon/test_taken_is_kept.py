"""Whatever was told to have been taken is on the disk, however soon the daemon dies after it."""

import json
import resource
import signal
from pathlib import Path

import pytest
from daemon_process import Daemon, Json

from hostctl.errors import DaemonError
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


def refused(daemon: Daemon, text: str) -> str:
    """Why an answer to what is asked now was not taken."""
    prompt = daemon.until("bench", lambda found: found["prompt"])["prompt"]
    assert isinstance(prompt, dict)
    with pytest.raises(DaemonError) as error:
        daemon.ask("answer", machine="bench", text=text, prompt_id=prompt["prompt_id"])
    return str(error.value)


def to_the_second_reading(daemon: Daemon) -> None:
    daemon.start()
    daemon.start_run("bench", study="small")
    answer_up_to_reading(daemon, "0.03")
    while answer_kind(daemon) != "read":
        answer(daemon, "done")


@pytest.mark.slow
@pytest.mark.timeout(120)
def test_with_its_folder_moved_the_run_holds_and_goes_on_once_it_is_put_back(
    daemon: Daemon, tmp_path: Path
):
    (tmp_path / "kept").mkdir()
    daemon.database = tmp_path / "kept" / "hostctl.sqlite"
    daemon.env["HOSTCTL_DATABASE"] = str(daemon.database)
    to_the_second_reading(daemon)
    (tmp_path / "kept").rename(tmp_path / "moved")

    assert "moved or removed" in refused(daemon, "0.04")
    held = daemon.until("bench", lambda found: found["standing"] == "holding")
    assert "Put it back and go on" in str(held["hold"])
    refused(daemon, "done")  # as long as it is away
    (tmp_path / "moved").rename(tmp_path / "kept")
    answer(daemon, "done")
    answer_up_to_reading(daemon, "0.05")
    daemon.until("bench", lambda found: found["prompt"])
    values_mm = [one.kept.reading.value_mm for one in read_record(daemon.database, 1).readings]
    assert values_mm == [0.0, 0.03, 0.05]
    assert daemon.end() == 0


@pytest.mark.slow
@pytest.mark.timeout(120)
def test_with_its_disk_failing_the_run_holds_and_loses_nothing(daemon: Daemon):
    """No file may grow beyond a size, all at once: as on a disk that is out of order."""
    to_the_second_reading(daemon)
    assert daemon.process is not None
    before = resource.prlimit(daemon.process.pid, resource.RLIMIT_FSIZE, (4096, -1))

    assert "the disk does not answer" in refused(daemon, "0.04")
    held = daemon.until("bench", lambda found: found["standing"] == "holding")
    assert "not recorded: give it again" in str(held["hold"])
    resource.prlimit(daemon.process.pid, resource.RLIMIT_FSIZE, before)
    answer(daemon, "done")
    answer_up_to_reading(daemon, "0.05")
    daemon.until("bench", lambda found: found["prompt"])
    values_mm = [one.kept.reading.value_mm for one in read_record(daemon.database, 1).readings]
    assert values_mm == [0.0, 0.03, 0.05]


@pytest.mark.slow
@pytest.mark.timeout(120)
def test_beside_a_daemon_its_machine_is_recorded_by_nobody_else_but_others_are(
    daemon: Daemon, tmp_path: Path
):
    daemon.start()
    (tmp_path / "other").mkdir()
    runtime = daemon.runtime / "other"
    runtime.mkdir()
    second = Daemon(tmp_path / "other", runtime)
    second.env["HOSTCTL_DATABASE"] = str(daemon.database)
    second.write_machine("bench", "sim://workshop-220?seed=8")
    second.write_machine("mill", "sim://workshop-220?seed=9")
    second.write_host("bench")
    refused = second.cli("serve", "--config", str(second.folder))
    assert refused.returncode == 7
    assert "machine 'bench' is recorded into it by another program" in refused.stderr

    machine = second.folder / "machines" / "bench.yaml"
    run = ("run", "three-methods", "--machine", str(machine), "--jsonl")
    refused = daemon.cli(*run)
    assert (refused.returncode, "'hostctl start'" in refused.stderr) == (7, True)

    second.write_host("mill")
    second.start()
    assert "event=database-shared also_recording=bench" in second.log
    assert (second.end(), daemon.end()) == (0, 0)
    second.close()
