"""`hostctl analyse` as a user has it: runs, files, JSON, errors and what is loaded for them."""

import json
import os
import random
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Mapping
from contextlib import closing
from pathlib import Path

import pytest

from hostctl.report.planning.run import past_run

Done = subprocess.CompletedProcess[str]
Hostctl = Callable[..., Done]
SEED = 20_251_128
PROGRAM = """
import sys
from hostctl.cli.main import main
assert main(sys.argv[1:]) == 0
print("LOADED", *sys.modules)
"""


@pytest.fixture
def thirty(tmp_path: Path) -> str:
    return written(tmp_path / "thirty.csv", 30, 0.012)


@pytest.fixture
def rig(tmp_path: Path) -> str:
    return written(tmp_path / "rig.csv", 20, 0.005)


def written(path: Path, n: int, sigma_mm: float) -> str:
    chance = random.Random(SEED)
    lines = [f"{round(chance.gauss(0.0, sigma_mm), 2):.2f}" for _ in range(n)]
    path.write_text("reading_mm\n" + "\n".join(lines) + "\n")
    return str(path)


CHECK = """\
study: rig-check
title: Rig check
kind: rig-check
points: [front-left]
trials: 8
cycle: {settle_s: 0, countdown_s: 0, turn_away: null}
"""
STUDY = """\
study: small
title: A small study
kind: comparison
methods:
  - {name: paper-slip, instruction: Turn the screw until the paper drags.}
operators: [volunteer-a]
points: [front-left]
trials: 6
cycle: {settle_s: 0, countdown_s: 0}
tolerance: {within_mm: 0.06}
"""


@pytest.fixture(scope="module")
def workshop(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """The environment of a database with a rig check as run 1, and as run 2 a study."""
    folder = tmp_path_factory.mktemp("workshop")
    env = {**os.environ, "HOSTCTL_DATABASE": str(folder / "kept.sqlite"), "PYTHONUTF8": "1"}
    for name, text in (("check.yaml", CHECK), ("study.yaml", STUDY)):
        (folder / name).write_text(text)
        words = ("run", name, "--machine", "sim-220", "--simulated-people")
        subprocess.run(
            [sys.executable, "-m", "hostctl", *words],
            cwd=folder,
            env=env,
            check=True,
            capture_output=True,
        )
    return env


@pytest.fixture
def recorded(workshop: dict[str, str], own_env: dict[str, str], hostctl_here: Hostctl) -> Hostctl:
    """`hostctl` on that database."""
    own_env["HOSTCTL_DATABASE"] = workshop["HOSTCTL_DATABASE"]
    return hostctl_here


@pytest.mark.slow
def test_a_run_is_judged_by_its_studys_tolerance_beside_the_latest_rig_check(recorded: Hostctl):
    said = " ".join(recorded("analyse", "2").stdout.split())
    assert "Repeatability only: settings by paper-slip in the hands of volunteer-a spread" in said
    assert "With the rig taken out (run 1, s" in said
    assert "at least 95 % of settings within ±0.06 mm of their own average, with 95 %" in said


@pytest.mark.slow
def test_a_run_and_its_own_export_come_to_the_same(recorded: Hostctl, tmp_path: Path):
    exported = recorded("export", "2", "--csv")
    (tmp_path / "two.csv").write_text(exported.stdout)
    runs, files = (
        json.loads(recorded("analyse", source, "--rig", "1", "--json").stdout)["results"]
        for source in ("2", "two.csv")
    )
    assert files[0]["spread"] == runs[0]["spread"]
    assert files[0]["setting"] == runs[0]["setting"]


@pytest.mark.slow
@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["1", "--rig", "2"], 8, "run 2: is a comparison, in which people set the gap"),
        (["2", "--rig", "2"], 2, "2 can't be the study and its own rig check"),
        (["2", "1"], 8, "run 1: is a rig-check, but run 2 a comparison. A rig check is named by"),
        (["99999999999999999999"], 8, "can't be read (no such file or directory)"),
    ],
)
def test_only_a_rig_check_is_taken_out(recorded: Hostctl, words: list[str], code: int, said: str):
    done = recorded("analyse", *words)
    assert done.returncode == code, done.stderr
    assert said in done.stderr


def test_a_role_has_one_column(hostctl_here: Hostctl, thirty: str):
    words = ("--column", "reading=paper", "--column", "reading=light")
    done = hostctl_here("analyse", thirty, *words)
    assert (done.returncode, "gives one role two columns" in done.stderr) == (2, True)


def test_of_several_methods_with_one_spread_only_that_is_told(hostctl_here: Hostctl, tmp_path):
    (tmp_path / "two.csv").write_text("method,reading_mm\na,0.01\nb,0.02\nb,0.04\n")
    said = hostctl_here("analyse", str(tmp_path / "two.csv")).stdout
    assert said.startswith("Only that of b is known: s = ")


def test_means_are_compared_where_a_file_is_said_to_count_from_a_datum(
    hostctl_here: Hostctl, tmp_path: Path
):
    rows = ["a,0.05", "b,0.01", "a,0.07", "b,0.00", "a,0.06", "b,0.02"]
    (tmp_path / "two.csv").write_text("\n".join(["method,reading_mm", *rows * 2]) + "\n")
    words = ("analyse", str(tmp_path / "two.csv"))
    said = hostctl_here(*words, "--reference", "datum").stdout
    assert "Mean settings compared, mm" in said
    assert " a sets higher than b by 0.0500 mm" in " ".join(said.split())
    assert "Mean settings" not in hostctl_here(*words).stdout


BLOCK = "gauge: {kind: typed, resolution_mm: 0.01, block_mm: 4.0}"
PROBE = "gauge: {kind: probe, resolution_mm: 0.0025}"


@pytest.mark.slow
@pytest.mark.parametrize(
    ("machine", "gauge", "common"), [("sim-220", BLOCK, False), ("sim-tri", PROBE, True)]
)
def test_a_block_that_lay_on_the_bed_being_set_is_no_datum_for_means(
    hostctl: Hostctl,
    hostctl_here: Hostctl,
    tmp_path: Path,
    machine: str,
    gauge: str,
    common: bool,
):
    """Each zero is then where the one before left the screws; a probe's own zero stays."""
    operators = "operators: [volunteer-a, volunteer-b]\n"
    text = STUDY.replace("operators: [volunteer-a]\n", operators)
    text = text.replace("[front-left]", "[front-left, front-right]")
    (tmp_path / "study.yaml").write_text(f"{text}reference: datum\n{gauge}\n")
    words = ("run", str(tmp_path / "study.yaml"), "--machine", machine, "--simulated-people")
    assert hostctl(*words).returncode == 0
    data = json.loads(hostctl_here("analyse", "1", "--json").stdout)
    assert data["source"]["zero_known"] is common
    assert past_run(tmp_path / "kept.sqlite", 1).zero_known is common
    assert bool(data["biases"]) is common
    assert ("not_yet" in data["results"][0]["off"]) is not common
    assert ("not_yet" in data["crossed"][0]["study"]) is not common
    said = " ".join(hostctl_here("analyse", "1").stdout.split())
    assert ("gauge block that lay on the bed" in said) is not common


@pytest.mark.slow
def test_another_machines_rig_check_is_not_taken_out(
    recorded: Hostctl, own_env: dict[str, str], tmp_path: Path
):
    copy = shutil.copy(own_env["HOSTCTL_DATABASE"], tmp_path / "two-machines.sqlite")
    with closing(sqlite3.connect(copy)) as database, database:
        for table, own, key in (("runs", "machine", "run"), ("readings", "run", "reading_id")):
            names = [row[1] for row in database.execute(f"PRAGMA table_info({table})")]
            new = {own: "'sim-tri'" if own == "machine" else "3", key: "3"}
            new |= {"reading_id": "reading_id + 1000"} if table == "readings" else {}
            values = ", ".join(new.get(name, name) for name in names)
            database.execute(f"INSERT INTO {table} SELECT {values} FROM {table} WHERE run = 1")
    own_env["HOSTCTL_DATABASE"] = str(copy)
    done = recorded("analyse", "2", "--rig", "3")
    assert done.returncode == 8, done.stderr
    assert "run 3: is of sim-tri, and the readings are of sim-220" in done.stderr


def test_a_rig_check_is_not_taken_out_of_itself(recorded: Hostctl):
    said = " ".join(recorded("analyse", "1").stdout.split())
    assert said.startswith("Readings with nothing adjusted spread about")
    assert "rig taken out" not in said


def test_the_command_line_goes_before_the_studys_tolerance(recorded: Hostctl):
    goal = json.loads(
        recorded("analyse", "2", "--json", "--tolerance", "0,2", "--proportion", "0.9").stdout
    )["goal"]
    assert goal == {"within_mm": 0.2, "proportion": 0.9, "confidence": 0.95}


def test_files_can_be_compared(hostctl_here: Hostctl, thirty: str, rig: str):
    said = hostctl_here("analyse", thirty, rig).stdout
    assert "rig / thirty" in said


def test_what_holds_of_readings_and_rig_is_said_once(hostctl_here: Hostctl, thirty: str, rig: str):
    said = hostctl_here("analyse", thirty, "--rig", rig).stdout
    assert said.count("does not say what its readings count from") == 1


def test_a_runs_rig_check_taken_out_of_a_file_too_is_cautioned(recorded: Hostctl, thirty: str):
    beside = recorded("analyse", "2", thirty, "--reference", "first").stdout
    caution = "run 1 is taken out of thirty.csv as well as of run 2: right only where"
    assert caution in " ".join(beside.split())
    assert "as well as" not in recorded("analyse", "2").stdout


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["none.csv"], 8, "none.csv: can't be read (no such file or directory)"),
        (["9"], 7, "kept.sqlite"),
        ([], 2, "RUN|FILE is missing"),
        (["thirty.csv", "--tolerance", "-1"], 2, "-1 is not above 0"),
        (["thirty.csv", "--tolerance", "nan"], 2, "'nan' is not a number"),
        (["thirty.csv", "--margin", "1"], 2, "1 is not above 1"),
        (["thirty.csv", "--looks", "0"], 2, "'0' is no whole number from 1 to 1000"),
        (["thirty.csv", "--looks", "1" * 30], 2, "is no whole number from 1 to 1000"),
        (["thirty.csv", "--confidence", "95"], 2, "95 is not between 0.5 and 0.9999"),
        (["thirty.csv", "--proportion", "0.99999"], 2, "is not between 0.5 and 0.9999"),
        (["thirty.csv", "./thirty.csv"], 2, "./thirty.csv is given twice"),
        (["thirty.csv", "--column", "colour=red"], 2, "'colour=red' is not ROLE=NAME"),
        (["thirty.csv", "--method", "paper"], 8, "no method is called 'paper'"),
        (["thirty.csv", "--resolution", "0.02"], 8, "lies between two graduations of 0.02 mm"),
    ],
)
def test_what_is_wrong_is_said(
    hostctl_here: Hostctl, thirty: str, words: list[str], code: int, said: str
):
    done = hostctl_here("analyse", *words)
    assert done.returncode == code, done.stderr
    assert said in done.stderr
    assert "Traceback" not in done.stderr


def loaded(env: Mapping[str, str], folder: Path, *words: str) -> set[str]:
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, "analyse", *words],
        capture_output=True,
        text=True,
        env=dict(env),
        cwd=folder,
        check=True,
    )
    return set(done.stdout.rpartition("LOADED")[2].split())


@pytest.mark.parametrize("more", [[], ["--explain"], ["--json"]])
def test_thirty_readings_of_a_file_load_nothing_heavy(
    own_env: Mapping[str, str], tmp_path: Path, thirty: str, rig: str, more: list[str]
):
    modules = loaded(own_env, tmp_path, thirty, "--rig", rig, "--tolerance", "0.05", *more)
    assert not modules & {"numpy", "scipy", "pydantic", "yaml", "sqlite3", "asyncio"}


def test_a_run_of_one_method_loads_neither_numpy_nor_pydantic(
    own_env: Mapping[str, str], tmp_path: Path, recorded: Hostctl
):
    assert not loaded(own_env, tmp_path, "2") & {"numpy", "scipy", "pydantic", "asyncio"}


def test_a_comparison_never_loads_scipy(
    own_env: Mapping[str, str], tmp_path: Path, thirty: str, rig: str
):
    assert not loaded(own_env, tmp_path, thirty, rig) & {"scipy", "pydantic"}


@pytest.mark.slow
def test_many_readings_are_no_trouble(hostctl_here: Hostctl, tmp_path: Path):
    """200,000 here, that the test is quick; the benchmark has a million."""
    many = written(tmp_path / "many.csv", 200_000, 0.012)
    done = hostctl_here("analyse", many, "--tolerance", "0.05", "--json")
    result = json.loads(done.stdout)["results"][0]
    interval = result["spread"]["interval"]
    assert interval["low"] < 0.012 < interval["high"] < 0.0121


LATER = CHECK.replace("trials: 8", "trials: 3") + "warmth: {bed_c: 50, soak_s: 0}\n"


@pytest.mark.slow
def test_a_short_warm_check_made_later_is_passed_over_and_doubted_where_it_is_named(
    workshop: dict[str, str], own_env: dict[str, str], hostctl_here: Hostctl, tmp_path: Path
):
    shutil.copy(workshop["HOSTCTL_DATABASE"], own_env["HOSTCTL_DATABASE"])
    for name, text in (("study.yaml", STUDY), ("later.yaml", LATER)):
        (tmp_path / name).write_text(text)
        words = ("run", name, "--machine", "sim-220", "--simulated-people")
        assert hostctl_here(*words).returncode == 0
    for run in ("2", "3"):
        for command in ("analyse", "show"):
            said = " ".join(hostctl_here(command, run).stdout.split())
            why = "Rig check: run 1, the last one of sim-220 before"
            assert f"{why} run {run}." in said
            assert "As a rig check run 1 fits badly: it has only 8 readings." in said
    said = " ".join(hostctl_here("analyse", "2", "--rig", "4").stdout.split())
    assert "Rig check: run 4, as named." in said
    doubt = "As a rig check run 4 fits badly: it has only 3 readings; it was read on a bed of 5"
    assert doubt in said
    notes = json.loads(hostctl_here("analyse", "2", "--rig", "4", "--json").stdout)["rig"]["notes"]
    assert notes[0].startswith(doubt)


def test_a_plan_by_a_run_names_the_rig_check_that_analyse_would_take_out(recorded: Hostctl):
    said = " ".join(recorded("plan", "--run", "2").stdout.split())
    assert "s: the spread found, rig taken out" in said
    assert " Rig check: run 1, the" in said
    assert "As a rig check run 1 fits badly: it has only 8 readings." in said
    assert "Rig check" not in recorded("plan", "--run", "1", "--claim", "0.05").stdout
