"""The program starts fast: checked by what is loaded, not by a stopwatch."""

import subprocess
import sys
from collections.abc import Callable, Mapping

import pytest

from hostctl.cli.main import COMMANDS

Hostctl = Callable[..., "subprocess.CompletedProcess[str]"]
HEAVY = {"numpy", "scipy", "pydantic", "yaml", "aiohttp", "aiomqtt", "serial", "matplotlib"}
PROGRAM = """
import sys
from hostctl.cli.main import main
try:
    main(sys.argv[1:])
except SystemExit:
    pass
print("LOADED", *sys.modules)
"""


def modules_after(env: Mapping[str, str], *words: str) -> set[str]:
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, *words],
        capture_output=True,
        text=True,
        env=env,
        check=True,
    )
    return set(done.stdout.rpartition("LOADED")[2].split())


def test_help_loads_next_to_nothing(own_env: Mapping[str, str]):
    bare = subprocess.run(
        [sys.executable, "-c", "import sys; print(*sys.modules)"],
        capture_output=True,
        text=True,
        check=True,
    )
    ours = modules_after(own_env, "--help") - set(bare.stdout.split())
    assert ours <= {"hostctl", "hostctl.cli", "hostctl.cli.main"}


@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_the_help_of_a_command_loads_nothing_heavy(command: str, own_env: Mapping[str, str]):
    assert not modules_after(own_env, command, "--help") & HEAVY


@pytest.mark.slow
@pytest.mark.parametrize("words", [["runs"], ["show", "1"], ["show", "1", "--readings"]])
def test_looking_at_what_is_kept_loads_nothing_heavy(
    words: list[str], hostctl: Hostctl, own_env: Mapping[str, str], small_study: str
):
    recorded = hostctl("run", small_study, "--machine", "sim-220", "--simulated-people")
    assert recorded.returncode == 0
    assert not modules_after(own_env, *words) & HEAVY


@pytest.mark.parametrize("words", [["status"], ["hold"], ["stop"], ["answer", "done"]])
def test_asking_the_daemon_loads_nothing_heavy(words: list[str], own_env: Mapping[str, str]):
    assert not modules_after(own_env, *words) & HEAVY


@pytest.mark.slow
@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_each_command_says_what_it_does_with_an_example(command: str, hostctl: Hostctl):
    said = hostctl(command, "--help").stdout
    assert " ".join(COMMANDS[command].split()) in " ".join(said.split())
    assert f"Example: hostctl {command}" in said


def test_the_overview_names_every_command(hostctl: Hostctl):
    said = hostctl("--help").stdout
    assert all(f"  {command} " in said for command in COMMANDS)


def test_it_knows_its_version(hostctl: Hostctl):
    assert hostctl("--version").stdout.startswith("hostctl ")
