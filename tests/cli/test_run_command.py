"""Whole runs from the command line, against the simulator."""

import csv
import json
import re
import resource
import shlex
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest

from hostctl.config.find import SHIPPED
from hostctl.run.holds.holding import BED_MAY_HEAT
from hostctl.store.reading import list_runs, read_record
from hostctl.store.rows import NewRun
from hostctl.store.store import Store

Done = subprocess.CompletedProcess[str]
Hostctl = Callable[..., Done]
MachineAt = Callable[[str], str]


def kept_values(database: Path, run: int) -> list[tuple[str, int, float]]:
    return [
        (reading.kept.place.point, reading.kept.place.trial, reading.kept.reading.value_mm)
        for reading in read_record(database, run).readings
    ]


def events_of(database: Path, run: int) -> list[str]:
    return [event.kind for event in read_record(database, run).events]


@pytest.fixture
def database(own_env: Mapping[str, str]) -> Path:
    return Path(own_env["HOSTCTL_DATABASE"])


def test_a_study_runs_to_its_end_and_says_what_came_out(
    hostctl: Hostctl, small_study: str, database: Path
):
    done = hostctl("run", small_study, "--machine", "sim-220", "--simulated-people", "--seed", "5")
    assert done.returncode == 0, done.stderr
    assert "paper-slip" in done.stdout
    assert f"Kept as run 1 in {database}" in done.stdout
    rig_check = "hostctl run rig-check --machine sim-220 --simulated-people"
    assert done.stdout.endswith(
        "Next, the rig by itself, to be taken out of what is read:\n"
        f"  {rig_check}\nAlso, as one file to show to others: hostctl report 1\n"
    )
    (run,) = list_runs(database)
    assert (run.complete, run.new.seed, run.readings) == (True, 5, 3)  # a zero and two trials


@pytest.mark.slow
def test_the_same_seeds_give_the_same_readings(hostctl: Hostctl, small_study: str, database: Path):
    words = ("run", small_study, "--machine", "sim-220", "--simulated-people", "--seed", "5")
    hostctl(*words)
    hostctl(*words)
    assert kept_values(database, 1) == kept_values(database, 2)


@pytest.mark.slow
def test_json_lines_tell_of_every_prompt_and_reading(hostctl: Hostctl, small_study: str):
    done = hostctl("run", small_study, "--machine", "sim-220", "--simulated-people", "--jsonl")
    events = [json.loads(line) for line in done.stdout.splitlines()]
    kinds = [event["event"] for event in events]
    assert kinds[0] == "started"
    assert kinds.count("reading") == 3
    assert {event["kind"] for event in events if event["event"] == "prompt"} >= {"confirm", "set"}
    assert events[-1] == {
        "event": "finished",
        "run": 1,
        "complete": True,
        "reason": "all trials are done",
    }


def scripted_run(study: str, machine: str, env: Mapping[str, str]) -> subprocess.Popen[str]:
    """`hostctl run` for a script that answers."""
    return subprocess.Popen(
        [sys.executable, "-m", "hostctl", "run", study, "--machine", machine, "--jsonl"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=env,
    )


@pytest.mark.slow
def test_a_run_that_was_ended_goes_on_where_it_stopped(
    hostctl: Hostctl, small_study: str, own_env: Mapping[str, str], database: Path
):
    with scripted_run(small_study, "sim-220", own_env) as script:
        assert script.stdin is not None
        assert script.stdout is not None
        assert script.stderr is not None
        assert json.loads(script.stdout.readline())["event"] == "started"
        script.stdin.write('{"answer":"end"}\n')
        script.stdin.close()
        assert json.loads(script.stdout.readlines()[-1])["complete"] is False
        assert "Go on with: hostctl resume 1" in script.stderr.read()
        assert script.wait() == 9
    assert not list_runs(database)[0].complete
    done = hostctl("resume", "1", "--simulated-people")
    assert done.returncode == 0, done.stderr
    (run,) = list_runs(database)
    assert run.complete
    again = hostctl("resume", "1", "--simulated-people")
    assert again.returncode == 2
    assert again.stderr == "run 1: it is complete. See: hostctl show 1\n"


@contextmanager
def simulated_run(
    study: str, machine: str, env: Mapping[str, str]
) -> Iterator[subprocess.Popen[str]]:
    """`hostctl run` with simulated people, once it has begun its run."""
    command = [sys.executable, "-m", "hostctl", "run", study, "--machine", machine]
    with subprocess.Popen(
        [*command, "--simulated-people"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=env,
    ) as process:
        assert process.stdout is not None
        assert process.stdout.readline().startswith("Run 1: small")
        yield process


@pytest.mark.slow
def test_an_interrupt_leaves_the_run_resumable(
    hostctl: Hostctl,
    small_study: str,
    machine_at: MachineAt,
    own_env: Mapping[str, str],
    database: Path,
):
    machine = machine_at("sim://workshop-220?seed=7&speed=20")
    with simulated_run(small_study, machine, own_env) as process:
        assert process.stderr is not None
        assert process.stdout is not None
        first = process.stdout.read(1)  # of a line that more readings would be added to
        process.send_signal(signal.SIGINT)
        said = process.stderr.read()
        assert said == "Interrupted. What was read is kept. Go on with: hostctl resume 1\n"
        assert (first + process.stdout.read()).endswith("\n")
        assert process.wait() == 130
    (run,) = list_runs(database)
    assert not run.complete
    assert run.end_reason.startswith("the program was stopped")


@pytest.mark.slow
def test_a_machine_that_goes_away_while_it_is_only_asked_begins_no_run(
    hostctl: Hostctl, small_study: str, machine_at: MachineAt, database: Path
):
    machine = machine_at("sim://workshop-220?seed=7&unplug_at_command=6&replug_after_s=inf")
    ended = hostctl("run", small_study, "--machine", machine, "--simulated-people")
    assert ended.returncode == 5
    assert "the cable was pulled (during 'M114'). Plug it in again" in ended.stderr
    assert list_runs(database) == []


@pytest.mark.slow
def test_a_hang_up_leaves_the_run_resumable_too(
    small_study: str, machine_at: MachineAt, own_env: Mapping[str, str], database: Path
):
    machine = machine_at("sim://workshop-220?seed=7&speed=20")
    with simulated_run(small_study, machine, own_env) as process:
        assert process.stderr is not None
        process.send_signal(signal.SIGTERM)
        assert "it was told to stop (SIGTERM)" in process.stderr.read()
        assert process.wait() == 9
    assert not list_runs(database)[0].complete


@pytest.mark.slow
def test_whoever_stops_it_is_told_of_a_bed_that_could_not_be_switched_off(
    small_study: str, machine_at: MachineAt, own_env: Mapping[str, str]
):
    with Path(small_study).open("a") as study:
        study.write("warmth: {bed_c: 40, soak_s: 0}\n")
    machine = machine_at("sim://workshop-220?seed=7&unplug_at_command=80&replug_after_s=inf")
    with scripted_run(small_study, machine, own_env) as script:
        assert script.stdin is not None
        assert script.stdout is not None
        assert script.stderr is not None
        events = map(json.loads, script.stdout)
        prompt = next(event for event in events if event["event"] == "prompt")
        script.stdin.write(json.dumps({"prompt_id": prompt["prompt_id"], "answer": "done"}) + "\n")
        script.stdin.flush()
        hold = next(event for event in events if event["event"] == "hold")
        assert hold["reason"].endswith(BED_MAY_HEAT)
        script.send_signal(signal.SIGINT)
        assert script.stderr.readline() == f"{BED_MAY_HEAT}\n"
        assert script.wait() == 130


@pytest.fixture
def printer_on_a_pty(tmp_path: Path) -> Iterator[tuple[Path, Path]]:
    """A simulated printer in a process of its own: its port, and where people reach it."""
    port, hands = tmp_path / "printer", tmp_path / "hands"
    with subprocess.Popen(
        [
            sys.executable,
            "-m",
            "hostctl_simulators",
            "printer",
            "workshop-220",
            "--seed",
            "7",
            "--pty",
            str(port),
            "--hands",
            str(hands),
        ],
        stdout=subprocess.PIPE,
        text=True,
    ) as printer:
        assert printer.stdout is not None
        printer.stdout.readline()
        yield port, hands
        printer.terminate()
        printer.stdout.read()


@pytest.mark.slow
def test_a_pseudo_terminal_and_the_simulator_give_the_same_readings(
    hostctl: Hostctl,
    small_study: str,
    study_for_real: str,
    machine_at: MachineAt,
    printer_on_a_pty: tuple[Path, Path],
    own_env: Mapping[str, str],
    database: Path,
):
    port, hands = printer_on_a_pty
    run = [
        sys.executable,
        "-m",
        "hostctl",
        "run",
        study_for_real,
        "--machine",
        machine_at(str(port)),
        "--seed",
        "5",
        "--jsonl",
    ]
    over_pty = subprocess.run(
        [
            sys.executable,
            "-m",
            "hostctl_simulators",
            "people",
            "--hands",
            str(hands),
            "--quiet",
            "--",
            *run,
        ],
        capture_output=True,
        text=True,
        env=own_env,
        check=False,
    )
    assert over_pty.returncode == 0, over_pty.stderr
    in_process = hostctl(
        "run", small_study, "--machine", "sim-220", "--seed", "5", "--simulated-people"
    )
    assert in_process.returncode == 0, in_process.stderr
    assert events_of(database, 1) == events_of(database, 2)  # no hold, which would begin anew
    assert kept_values(database, 1) == kept_values(database, 2)


def cpu_of_children_s() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


@pytest.mark.slow
def test_the_demo_ends_with_a_verdict_within_its_minute(hostctl: Hostctl, database: Path):
    began_s = cpu_of_children_s()
    done = hostctl("demo")
    assert done.returncode == 0, done.stderr
    assert cpu_of_children_s() - began_s < 60  # it never waits; it takes about a tenth of that
    assert not database.exists()
    apart = database.with_name("demo.sqlite")
    assert [run.new.study for run in list_runs(apart)] == ["rig-check", "three-methods"]
    assert re.search(r"contact-light\s+volunteer-a\s+12 ", done.stdout)
    assert re.search(r"rig, run 1\s+21 ", done.stdout)
    assert f"Kept as runs 1 and 2 in {apart}" in done.stdout
    [report] = re.findall(r"^The report, .*: (.+\.html)$", done.stdout, re.MULTILINE)
    assert Path(report).parent == apart.with_name("demo-reports")
    assert Path(report).read_text().startswith("<!doctype html>")
    [words] = re.findall(r"^  hostctl (analyse 2 --database .+)$", done.stdout, re.MULTILINE)
    one = ("--method", "paper-slip", "--operator", "volunteer-a")
    told = hostctl(*shlex.split(words), *one).stdout
    assert shown_in_readme("What a run proves", 1) - set(told.splitlines()) == set()


def shown_in_readme(title: str, nth: int) -> set[str]:
    """The lines of a section's nth block, but for the command."""
    readme = (SHIPPED.parent / "README.md").read_text()
    block = readme.split(f"\n## {title}\n")[1].split("\n## ")[0].split("```")[2 * nth - 1]
    lines = {line for line in block.splitlines() if line and not line.startswith("$ ")}
    assert len(lines) > 5
    return lines


@pytest.mark.slow
def test_a_run_is_exported_for_other_programs(
    hostctl: Hostctl, small_study: str, database: Path, tmp_path: Path
):
    hostctl("run", small_study, "--machine", "sim-220", "--simulated-people", "--seed", "5")
    table = hostctl("export", "1", "--csv").stdout
    values = [float(row["value_mm"]) for row in csv.DictReader(table.splitlines())]
    assert values == [value for _, _, value in kept_values(database, 1)]
    assert hostctl("export", "1", "--json", "-o", "run.json").returncode == 0
    whole = json.loads((tmp_path / "run.json").read_text())
    assert len(whole["readings"]) == len(values)
    there = hostctl("export", "1", "--csv", "-o", "run.json")
    assert (there.returncode, there.stderr) == (
        1,
        "run.json: is there already. Name another file, or move it away first.\n",
    )
    assert hostctl("export", "99", "--csv", "-o", "none.csv").returncode == 7
    assert hostctl("export", "1", "--csv", "-o", "none.csv").returncode == 0
    assert hostctl("export", "1", "--csv", "-o", "/dev/null").returncode == 0
    refused = hostctl("export", "1", "--csv", "-o", "nowhere/run.csv")
    assert refused.returncode == 1
    assert refused.stderr.startswith("nowhere/run.csv: can't be written (no such file or direct")


@pytest.mark.slow
def test_failed_touches_of_a_probe_are_a_result(hostctl: Hostctl, tmp_path: Path, database: Path):
    shipped = (SHIPPED / "machines" / "sim-tri.yaml").read_text().split("\n")
    port = "port: sim://workshop-tri?probe_fails=0.2&dialect=classic"
    text = "\n".join(port if line.startswith("port:") else line for line in shipped)
    machine, study = tmp_path / "tri.yaml", tmp_path / "touches.yaml"
    machine.write_text(text)
    loop = (SHIPPED / "studies" / "probe-loop.yaml").read_text()
    study.write_text(re.sub(r"(?m)^trials:.*$", "trials: 10", loop))
    done = hostctl("run", str(study), "--machine", str(machine), "--simulated-people")
    assert done.returncode == 0, done.stderr
    record = read_record(database, 1)
    failed = sum(event.kind == "touch failed" for event in record.events)
    assert failed > 0
    said = f"{failed} touches of {failed + len(record.readings)} failed ("
    assert said in " ".join(hostctl("show", "1").stdout.split())
    assert said in " ".join(hostctl("analyse", "1").stdout.split())


@pytest.mark.slow
async def test_a_run_begun_under_wider_limits_says_what_to_change(hostctl: Hostctl, database: Path):
    """Kept files are never changed: a machine file that was in order once may be so no more."""
    machine = (SHIPPED / "machines" / "sim-220.yaml").read_text()
    text = machine.replace("sideways_mm_s: 50.0", "sideways_mm_s: 150.0")
    assert text != machine
    run = NewRun(
        study="rig-check",
        title="",
        kind="rig-check",
        machine="sim-220",
        reference="first",
        study_text=(SHIPPED / "studies" / "rig-check.yaml").read_text(),
        machine_text=text,
        seed=1,
        started_at=datetime(2026, 1, 2, tzinfo=UTC),
        program="hostctl 0.0.1",
    )
    async with Store.opened(database) as store:
        await store.add_run(run)
    done = hostctl("resume", "1", "--jsonl")
    assert done.returncode == 3
    line = text[: text.index("sideways_mm_s: 150")].count("\n") + 1
    assert f"machine of run 1:{line}: as kept by hostctl 0.0.1 on 2026-01-02" in done.stderr
    assert "speeds.sideways_mm_s" in done.stderr
    assert "Run 1 can't be gone on with; its readings stay (hostctl show 1)." in done.stderr
