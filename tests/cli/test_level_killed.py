"""`hostctl level` killed at a printer that goes on: nothing is lost and no turn asked for twice."""

import json
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from signal import SIGKILL

import pytest
from hostctl_simulators.people.hands import RemoteHands
from hostctl_simulators.people.people import People
from hostctl_simulators.people.process import reply_to

from hostctl.config.find import SHIPPED
from hostctl.store.reading import read_record
from hostctl.store.rows import LEVELLED

READINGS = 9
TILTED = ("--fault", "tilt_mm=0.8", "--fault", "bed_mm=-0.6")
Line = dict[str, object]


@pytest.fixture
def printer(tmp_path: Path) -> Iterator[tuple[Path, RemoteHands]]:
    """On a pseudo-terminal of its own, and hands at it; it outlives every program."""
    port, sock = tmp_path / "port", tmp_path / "hands"
    words = ["printer", "workshop-220", "--pty", str(port), "--hands", str(sock), *TILTED]
    command = [sys.executable, "-m", "hostctl_simulators", *words]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        process.stdout.readline()
        hands = RemoteHands(sock)
        yield port, hands
        hands.close()
        process.terminate()
        told, _ = process.communicate()
    assert json.loads(told)["crashes"] == []


def files(folder: Path, port: Path) -> tuple[str, str]:
    """A study and a machine that lose little time."""
    study, machine = folder / "soon.yaml", folder / "mine.yaml"
    text = (SHIPPED / "studies" / "level.yaml").read_text()
    text = text.replace("settle_s: 3.0", "settle_s: 0.0")
    study.write_text(text.replace("countdown_s: 3", "countdown_s: 1"))
    lines = (SHIPPED / "machines" / "sim-220.yaml").read_text().splitlines()
    swap = {"port:": f"port: {port}", "dry_cycles:": "dry_cycles: 0"}
    machine.write_text("\n".join(swap.get(line.split(" ")[0], line) for line in lines))
    return str(study), str(machine)


class Levelled:
    """What one program told, and how it ended."""

    def __init__(self, env: Mapping[str, str], people: People, *words: str) -> None:
        self.lines: list[Line] = []
        self._people = people
        self._process = subprocess.Popen(
            [sys.executable, "-m", "hostctl", *words, "--jsonl"],
            env=dict(env),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )

    def go(self, until: Callable[[Line], bool] = lambda line: False) -> int:
        """Answered until it ends, or killed at this line before it is answered."""
        process = self._process
        assert process.stdin is not None
        assert process.stdout is not None
        for raw in process.stdout:
            self.lines.append(json.loads(raw))
            if until(self.lines[-1]):
                process.kill()
                break
            if (reply := reply_to(self._people, raw)) is not None:
                process.stdin.write(reply)
                process.stdin.flush()
        process.communicate()
        return process.returncode


def does(line: Line) -> str:
    deed = line.get("deed")
    return str(deed["do"]) if line.get("event") == "prompt" and isinstance(deed, dict) else ""


def nth(deed: str, number: int) -> Callable[[Line], bool]:
    """At the prompt of this kind and number."""
    met = 0

    def is_it(line: Line) -> bool:
        nonlocal met
        met += does(line) == deed
        return met == number

    return is_it


@pytest.mark.slow
def test_killed_at_a_turn_and_in_mid_measuring_it_goes_on_and_the_bed_is_level_in_the_end(
    own_env: Mapping[str, str], tmp_path: Path, printer: tuple[Path, RemoteHands]
):
    port, hands = printer
    study, machine = files(tmp_path, port)
    going = [Levelled(own_env, People(hands), "level", study, "--machine", machine)]
    assert going[-1].go(nth("turn-screw", 2)) == -SIGKILL
    going.append(Levelled(own_env, People(hands), "resume", "1"))
    assert going[-1].go(nth("read-indicator", 5)) == -SIGKILL
    going.append(Levelled(own_env, People(hands), "resume", "1"))
    assert going[-1].go() == 0
    lines = [line for each in going for line in each.lines]
    record = read_record(Path(own_env["HOSTCTL_DATABASE"]), 1)
    assert record.summary.complete
    told = {line["reading_id"] for line in lines if line.get("event") == "reading"}
    assert len(told) >= 2 * READINGS
    assert told <= {one.reading_id for one in record.readings}
    turned = [(line["block"], line["trial"]) for line in lines if does(line) == "turn-screw"]
    assert len(turned) == len(set(turned))
    decided = [json.loads(event.data) for event in record.events if event.kind == LEVELLED]
    assert "measured anew" in " ".join(decided[1]["noticed"])
    assert decided[-1]["verdict"] in ("within-tolerance", "within-rig")
    off_mm = [one["height_mm"] for one in decided[-1]["heights"]]
    assert max(off_mm) - min(off_mm) < 0.06
