"""The daemon driven as a user drives it: commands, keys beside the machine, signals."""

import os
import re
import signal
import stat
from pathlib import Path

import pytest
from daemon_process import Daemon
from kept_port import kept_port

from hostctl.errors import DaemonError
from hostctl.store.reading import list_runs, read_record

pytestmark = pytest.mark.slow


def kept(database: Path, run: int) -> list[tuple[int, int, float]]:
    return [
        (reading.kept.place.round, reading.kept.place.trial, reading.kept.reading.value_mm)
        for reading in read_record(database, run).readings
    ]


def test_a_start_is_refused_until_somebody_at_the_machine_arms_it(daemon: Daemon):
    daemon.start()
    daemon.until("bench", lambda found: found["standing"] == "resting")
    refused = daemon.cli("start", "small")
    assert refused.returncode == 11
    assert "until someone at the machine arms it. There: Enter on its keys" in refused.stderr
    daemon.type_keys("bench", "")
    daemon.until("bench", lambda found: found["armed"])
    taken = daemon.cli("start", "small")
    assert taken.returncode == 0, taken.stderr
    assert "mains switch" in taken.stdout
    daemon.until("bench", lambda found: found["run"])
    assert daemon.machine("bench")["armed"] is None


def test_a_study_in_the_daemon_gives_what_it_gives_in_the_terminal(daemon: Daemon):
    daemon.write_host("bench", simulated_people="true")
    daemon.start()
    daemon.start_run("bench", study="small")
    daemon.until("bench", lambda found: "is complete" in str(found["notice"]))
    machine, study = (
        str(daemon.folder / name) for name in ("machines/bench.yaml", "studies/small.yaml")
    )
    beside = daemon.cli("run", study, "--machine", machine, "--simulated-people")
    assert "machine 'bench' is recorded into it by another program already" in beside.stderr
    daemon.end()  # one machine is recorded by one program at a time
    daemon.cli("run", study, "--machine", machine, "--simulated-people")
    assert len(kept(daemon.database, 1)) == 4  # a zero and three trials
    assert kept(daemon.database, 1) == kept(daemon.database, 2)


def test_a_run_is_answered_turn_by_turn_from_the_command_line(daemon: Daemon):
    daemon.start()
    daemon.start_run("bench", study="small")
    daemon.until("bench", lambda found: found["prompt"])
    early = daemon.cli("answer", "0.02")
    assert "no reading is asked for" in early.stderr or "only just appeared" in early.stderr
    assert daemon.cli("answer", "done", "--prompt", "1-1-abc").returncode == 11
    asked = daemon.answer_all("bench", readings=3)
    assert len(asked) == len(set(asked))
    found = daemon.until("bench", lambda found: "is complete" in str(found["notice"]))
    assert found["standing"] == "resting"
    assert [value for _, trial, value in kept(daemon.database, 1) if trial] == [0.02] * 3


def test_what_is_meant_for_one_of_several_machines_has_to_name_it(daemon: Daemon):
    daemon.write_machine("bank", "/dev/serial/by-id/not-there")
    daemon.write_host("bench", "bank")
    daemon.start()
    unnamed, unknown = daemon.cli("answer", "done"), daemon.cli("arm", "--show", "--machine", "x")
    assert "it has several machines. Say which: --machine bench or bank." in unnamed.stderr
    assert "no machine is called 'x' here. Say which: --machine bench or bank" in unknown.stderr


def test_a_faulty_machine_touches_no_other(daemon: Daemon):
    daemon.write_machine("faulty", "sim://workshop-220?seed=9&unplug_at_command=100")
    daemon.write_machine("absent", "/dev/serial/by-id/not-there")
    daemon.write_host("bench", "faulty", "absent", simulated_people="true")
    daemon.write_study(40, "long")
    daemon.start()
    daemon.start_run("bench", study="long")
    daemon.start_run("faulty", study="small")
    daemon.until("faulty", lambda _: "event=hold machine=faulty" in daemon.log)
    assert "there is no such port" in str(daemon.machine("absent")["why_no_line"])
    daemon.until("bench", lambda found: "is complete" in str(found["notice"]))
    run = next(run for run in list_runs(daemon.database) if run.new.machine == "bench")
    assert len(kept(daemon.database, run.run)) == 41
    assert "event=hold machine=bench" not in daemon.log


def test_a_run_that_was_told_to_stop_is_offered_again_and_goes_on(daemon: Daemon):
    daemon.start()
    daemon.start_run("bench", study="small")
    daemon.answer_all("bench", readings=1)
    daemon.until("bench", lambda found: found["readings_mm"])
    assert daemon.end(signal.SIGTERM) == 0
    (run,) = list_runs(daemon.database)
    assert (run.complete, run.end_reason.split(";")[0]) == (False, "the program was stopped")
    daemon.start()
    notice = str(daemon.machine("bench")["notice"])
    assert notice == "Run 1 ended early: hostctl start --resume 1"
    assert daemon.machine("bench")["run"] is None
    daemon.start_run("bench", resume=1)
    daemon.answer_all("bench", readings=3)  # the block is begun again: its zero was lost
    daemon.until("bench", lambda found: "is complete" in str(found["notice"]))
    assert list_runs(daemon.database)[0].complete


def test_a_killed_daemon_loses_nothing_acknowledged_and_resumes_on_a_word(daemon: Daemon):
    daemon.start()
    daemon.start_run("bench", study="small")
    daemon.answer_all("bench", readings=2)
    acknowledged = daemon.until("bench", lambda found: len(found["readings_mm"]) == 2)
    daemon.end(signal.SIGKILL)
    assert acknowledged["readings_mm"] == [v for _, trial, v in kept(daemon.database, 1) if trial]
    daemon.start()  # its socket was left behind and is taken over
    assert daemon.machine("bench")["notice"] == "Run 1 was interrupted: hostctl start --resume 1"
    daemon.until("bench", lambda found: found["standing"] == "resting")
    assert daemon.machine("bench")["run"] is None
    daemon.start_run("bench", resume=1)
    daemon.answer_all("bench", readings=3)
    daemon.until("bench", lambda found: "is complete" in str(found["notice"]))
    spots = [(place, trial) for place, trial, _ in kept(daemon.database, 1)]
    assert len(spots) == len(set(spots))


def test_a_complete_run_and_another_machines_run_are_not_resumed(daemon: Daemon):
    daemon.write_machine("other", "sim://workshop-220?seed=8")
    daemon.write_host("bench", "other", simulated_people="true")
    daemon.start()
    daemon.start_run("bench", study="small")
    daemon.until("bench", lambda found: "is complete" in str(found["notice"]))
    assert "it is complete" in daemon.cli("start", "--resume", "1").stderr
    assert (
        "it is of machine 'bench'"
        in daemon.cli("start", "--resume", "1", "--machine", "other").stderr
    )
    assert "holds no run 77" in daemon.cli("start", "--resume", "77").stderr


def test_the_directory_is_read_again_where_safe(daemon: Daemon):
    daemon.start()
    daemon.until("bench", lambda found: found["standing"] == "resting")
    daemon.write_study(2, "another")
    daemon.write_machine("bench", "sim://workshop-220?seed=11")
    daemon.write_host("bench", simulated_people="true")
    assert daemon.process is not None
    daemon.process.send_signal(signal.SIGHUP)
    daemon.told("READY=1")
    assert daemon.machine("bench")["studies"] == ["another", "small"]
    assert "event=restart-needed changed=simulated_people" in daemon.log
    (daemon.folder / "studies" / "another.yaml").write_text("study: another\ntrails: 3\n")
    daemon.process.send_signal(signal.SIGHUP)
    daemon.told("READY=1")
    assert daemon.machine("bench")["studies"] == ["another", "small"]
    assert "Did you mean 'trials'?" in daemon.log
    daemon.write_study(2, "another")
    daemon.write_host("bench")  # as it was at the start
    daemon.process.send_signal(signal.SIGHUP)
    daemon.told("READY=1")
    assert daemon.log.count("event=restart-needed") == 1
    daemon.until("bench", lambda _: daemon.log.count("event=reached") == 2)  # its new file


def test_a_stop_that_reaches_no_machine_fails_and_says_what_to_do(daemon: Daemon):
    daemon.write_machine("bench", "/dev/ttyNowhere")
    daemon.start()
    done = daemon.cli("stop")
    assert done.returncode == DaemonError.exit_code
    assert "Told to halt" not in done.stdout
    assert "bench: not told to halt, its line is down. If it goes on, switch" in done.stderr


def test_hold_and_stop_work_without_arming_and_stop_halts_until_it_is_connected_anew(
    daemon: Daemon,
):
    daemon.start()
    daemon.start_run("bench", study="small")
    daemon.until("bench", lambda found: found["prompt"])
    assert "Holding: bench" in daemon.cli("hold").stdout
    daemon.until("bench", lambda found: found["standing"] == "holding")
    said = daemon.cli("stop").stdout
    assert "The emergency stop is its mains switch" in said
    assert "Told to halt at once: bench" in daemon.cli("stop").stdout  # though it is halted already
    found = daemon.until("bench", lambda found: found["stopped"] and found["prompt"])
    assert (found["standing"], found["halted"]) == ("halted", found["hold"])
    assert "STOP was given on command line" in str(found["hold"])
    shown = daemon.cli("status").stdout
    assert "bench: STOPPED" in shown
    assert "confirm (DONE): it connects and homes" in " ".join(shown.split())
    assert "event=machine-stopped" in daemon.log
    assert "event=machine-not-told" not in daemon.log
    prompt = found["prompt"]
    assert isinstance(prompt, dict)
    daemon.ask("answer", text="done", prompt_id=prompt["prompt_id"])  # it connects, and homes
    found = daemon.until("bench", lambda found: found["prompt"] and not found["stopped"])
    assert found["hold"] == ""
    daemon.ask("answer", text="end")
    daemon.until("bench", lambda found: found["standing"] == "resting")
    daemon.cli("stop")
    halted = daemon.machine("bench")
    assert (halted["standing"], halted["headline"]) == ("halted", "halted")
    assert "STOP was given on command line" in daemon.cli("status").stdout
    again = daemon.until("bench", lambda found: found["standing"] != "halted")
    assert (again["standing"], again["halted"]) == ("resting", "")
    assert str(again["notice"]).startswith("STOP was given on command line; the machine is conn")


def test_no_statistics_library_is_loaded_after_a_whole_run(daemon: Daemon):
    daemon.write_host("bench", simulated_people="true")
    daemon.start()
    daemon.start_run("bench", study="small")
    daemon.until("bench", lambda found: "is complete" in str(found["notice"]))
    assert daemon.process is not None
    maps = Path(f"/proc/{daemon.process.pid}/maps").read_text()
    assert ".so" in maps
    assert not re.search("numpy|scipy|matplotlib|gpiod|aiohttp|paho", maps)


def test_the_watchdog_hears_of_a_living_daemon(daemon: Daemon):
    daemon.start(WATCHDOG_USEC="1000000")
    daemon.told("WATCHDOG=1")
    daemon.told("WATCHDOG=1")
    assert daemon.end() == 0
    daemon.told("STOPPING=1")


def test_the_socket_lets_in_owner_and_group_alone(daemon: Daemon):
    daemon.start()
    assert stat.S_IMODE(daemon.socket.stat().st_mode) == 0o660
    daemon.end()
    assert not daemon.socket.exists()


def test_a_second_daemon_is_refused(daemon: Daemon):
    daemon.start()
    second = daemon.cli("serve", "--config", str(daemon.folder))
    assert second.returncode == 11
    assert "a daemon listens here already" in second.stderr


def test_every_mistake_of_the_directory_is_said_at_once(daemon: Daemon):
    daemon.write_host("bench", "bank", arm_for_s=5)
    (daemon.folder / "studies" / "small.yaml").write_text("study: small\n")
    refused = daemon.cli("serve", "--config", str(daemon.folder))
    assert refused.returncode == 3
    assert "arm_for_s: must be at least 10" in refused.stderr
    assert "title is missing" in refused.stderr


def test_commands_without_a_daemon_say_how_to_start_one(daemon: Daemon):
    for words in (["status"], ["stop"], ["pair"]):
        refused = daemon.cli(*words)
        assert refused.returncode == 11
        assert "no daemon listens here" in refused.stderr


def test_pairing_is_refused_where_there_is_no_page(daemon: Daemon):
    daemon.start()
    assert "no phone page is set up" in daemon.cli("pair").stderr
    assert "no phone page is set up" in daemon.cli("pair", "--forget-phones").stderr


def test_phones_are_forgotten_on_request(daemon: Daemon):
    daemon.write_host("bench", page=f"{{listen: 0.0.0.0, port: {kept_port()}}}")
    daemon.start()
    assert "serves once" in daemon.cli("pair").stdout
    assert "No phone is paired any more" in daemon.cli("pair", "--forget-phones").stdout
    assert "event=phones-forgotten" in daemon.log


def test_the_room_code_is_shown_at_the_machine_and_never_in_the_log(daemon: Daemon):
    screen, terminal = os.openpty()  # the computer's own screen, beside the machine
    daemon.start(terminal=terminal)
    daemon.until("bench", lambda found: found["standing"] == "resting")
    said = daemon.cli("arm", "--show").stdout
    assert "on that machine's own screen, for three minutes" in said
    assert "and on the terminal in which the daemon runs" in said
    assert "Enter on its keys arms it too" in said
    shown = ""
    while not (code := re.search(r"Room code of bench: (\d{4})\r?\n", shown)):
        shown += os.read(screen, 4096).decode()
    assert daemon.cli("arm", "x").returncode == 11
    assert daemon.cli("arm", code[1]).stdout == "bench is armed for one start.\n"
    armed = daemon.machine("bench")["armed"]
    assert isinstance(armed, dict)
    assert armed["by"] == "command line"
    events = [line for line in shown.splitlines() if "event=" in line]
    assert events
    assert not any(code[1] in event.partition("level=")[2] for event in events)
    os.close(terminal)
    os.close(screen)


def test_a_daemon_without_a_terminal_says_where_the_room_code_is_and_what_else_arms(daemon: Daemon):
    (daemon.folder / "host.yaml").write_text("machines: [bench]\n")
    daemon.start()
    daemon.until("bench", lambda found: found["standing"] == "resting")
    said = daemon.cli("arm", "--show").stdout
    assert "no terminal to show it on, and no log holds it" in said
    assert "name it under\n'keys:' in host.yaml" in said
    assert "button" not in said
    daemon.until("bench", lambda _: "event=room-code-shown machine=bench\n" in daemon.log)
    assert "Room code of" not in daemon.log
    unarmed = daemon.cli("start", "small")
    assert "the code it shows after: hostctl arm --show" in unarmed.stderr
    assert "button" not in unarmed.stderr


def test_a_terminal_without_blocks_gets_the_code_as_text_alone(daemon: Daemon):
    daemon.write_host("bench", page=f"{{listen: 0.0.0.0, port: {kept_port()}}}")
    daemon.start()
    assert "\N{FULL BLOCK}" in daemon.cli("pair").stdout
    daemon.env |= {"PYTHONUTF8": "0", "PYTHONIOENCODING": "ascii"}
    said = daemon.cli("pair").stdout
    assert said.startswith("  Point the phone's camera at it, or open http")
    assert "and type" in said
    assert "#" not in said
