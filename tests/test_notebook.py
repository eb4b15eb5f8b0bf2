"""The questions asked from Python: what holds readings is understood; answers show themselves."""

import doctest
import json
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from house import loaded_by

import hostctl
from hostctl.config.find import REFERENCE
from hostctl.errors import DataError, HostctlError, UsageError
from hostctl.metrology.basis.estimate import Estimate
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.notebook import questions
from hostctl.report.sources.material import Goal, goal_for
from hostctl.report.sources.tables.given import Given, given_material

READINGS = [0.02, -0.03, 0.05, 0.01, 0.00, 0.02, -0.01, 0.03]
METHODS = ["paper-slip"] * 4 + ["contact-light"] * 4


class Frame:
    """What a data frame has that is asked for: names of columns, and columns by name."""

    def __init__(self, **columns: list[object]) -> None:
        self.columns = list(columns)
        self._by_name = columns

    def __getitem__(self, name: str) -> list[object]:
        return self._by_name[name]


class Batch(Frame):
    """Another make calls the names so, and `columns` is something else."""

    def __init__(self, **columns: list[object]) -> None:
        super().__init__(**columns)
        self.column_names = list(columns)


def record_array() -> object:
    rows = list(zip(METHODS, READINGS, strict=True))
    return np.array(rows, dtype=[("method", "U20"), ("reading", "f8")])


@pytest.mark.parametrize(
    "table",
    [
        {"method": METHODS, "reading": READINGS},
        {"method": np.array(METHODS), "reading_um": np.array(READINGS) * 1000},
        {"Method": METHODS, "Gap (mm)": [f"{value:.2f}" for value in READINGS]},
        Frame(method=list(METHODS), reading=list(READINGS)),
        Batch(method=list(METHODS), reading=list(READINGS)),
        record_array(),
    ],
    ids=["mapping", "arrays in um", "texts", "frame", "batch", "record array"],
)
def test_columns_by_name_are_understood_however_they_come(table: Given):
    found = hostctl.analyse(table, resolution_mm=0.01)
    assert {one.method: one.readings for one in found.result.results} == {
        "contact-light": 4,
        "paper-slip": 4,
    }
    assert (
        found.to_dict()
        == hostctl.analyse({"method": METHODS, "reading": READINGS}, resolution_mm=0.01).to_dict()
    )


@pytest.mark.parametrize("readings", [READINGS, tuple(READINGS), np.array(READINGS)])
def test_numbers_alone_are_one_block(readings: Given):
    result = hostctl.analyse(readings, resolution_mm=0.01).result.results[0]
    assert (result.method, result.blocks, result.readings) == ("readings", 1, 8)


def test_it_says_what_the_file_of_the_same_readings_says(tmp_path: Path):
    path = tmp_path / "readings.csv"
    rows = [f"{m};{r:.2f}" for m, r in zip(METHODS, READINGS, strict=True)]
    path.write_text("\n".join(["method;reading (mm)", *rows]))
    command = [sys.executable, "-m", "hostctl", "analyse", str(path), "--json"]
    words = ["--tolerance", "0.05", "--resolution", "0.01"]
    done = subprocess.run([*command, *words], capture_output=True, text=True, check=True)
    from_python = hostctl.analyse(
        {"method": METHODS, "reading": READINGS}, resolution_mm=0.01, tolerance_mm=0.05
    ).to_dict()
    told = json.loads(done.stdout)
    assert hostctl.analyse(path, resolution_mm=0.01, tolerance_mm=0.05).to_dict() == told
    assert told["answer"] == from_python["answer"]
    assert told["results"] == from_python["results"]
    assert told["compared"] == from_python["compared"]


def test_the_spread_of_a_certified_file_is_the_certified_one():
    """NIST StRD, univariate: Mavro, in tests/data/strd_univariate with its source.

    The likelihood takes the readings as rounded, the certified figure does not: 2 % for 50 of them.
    """
    data = Path(__file__).parent / "data/strd_univariate"
    values = [float(line) for line in (data / "Mavro.csv").read_text().split() if line[0].isdigit()]
    mavro = json.loads((data / "certified.json").read_text())["cases"]["Mavro"]
    sd = float(mavro["certified"]["sd_n_minus_1"])
    spread = hostctl.analyse(values, resolution_mm=0.00001).result.results[0].spread
    assert isinstance(spread, RoundedSpread)
    assert isinstance(spread.quoted, Estimate)
    assert len(values) == mavro["n"] == 50
    assert spread.quoted.value == pytest.approx(sd, rel=0.02)


def test_a_zero_that_is_listed_is_counted_from_and_a_void_reading_left_out():
    found = hostctl.analyse(
        {
            "reading": [0.10, 0.12, 0.09, 9.99, 0.11],
            "is_zero": [True, False, False, False, False],
            "void": ["", "", "", "yes", None],
        },
        resolution_mm=0.01,
    ).result
    assert found.source.reference == "first"
    assert found.results[0].readings == 3
    assert any("void" in note for note in found.source.notes)


def test_a_rig_may_be_given_beside():
    without = hostctl.analyse(READINGS, resolution_mm=0.01)
    rig = [0.0, 0.01, 0.0, -0.01, 0.0, 0.01, 0.0, 0.0, 0.01, 0.0]
    with_rig = hostctl.analyse(READINGS, resolution_mm=0.01, rig=rig)
    assert without.result.rig is None
    assert with_rig.result.rig is not None


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        (lambda: hostctl.analyse(READINGS), "resolution_mm=0.01"),
        (lambda: hostctl.analyse([], resolution_mm=0.01), "no reading"),
        (lambda: hostctl.analyse(2), "open_database"),  # type: ignore[arg-type]
        (lambda: hostctl.analyse("no-such.csv"), "no-such.csv"),
        (lambda: hostctl.analyse(READINGS, resolution_mm=0.0), "resolution"),
        (lambda: hostctl.analyse(READINGS, resolution_mm=float("nan")), "resolution"),
        (lambda: hostctl.analyse([0.011, 0.02], resolution_mm=0.01), "between two graduations"),
        (lambda: hostctl.analyse([0.01, float("nan")], resolution_mm=0.01), "nan"),
        (
            lambda: hostctl.analyse({"reading": [0.1], "method": []}, resolution_mm=0.01),
            "differ in length",
        ),
        (lambda: hostctl.analyse({"speed": [1], "heat": [2]}, resolution_mm=0.01), "no column"),
        (lambda: hostctl.analyse(READINGS, resolution_mm=0.01, method="x"), "no method"),
        (lambda: hostctl.analyse(READINGS, resolution_mm=0.01, tolerance_mm=-1.0), "-1"),
        (lambda: hostctl.plan(know_within=20), "from 0.01 to 0.99"),
        (lambda: hostctl.plan(tolerance_mm=-0.05, expected_sd_mm=0.01), "tolerance_mm"),
        (lambda: hostctl.plan(see_ratio=1.0), "see_ratio"),
        (lambda: hostctl.budget("no-such-budget"), "no-such-budget"),
        (lambda: hostctl.history([]), "no value"),
        (lambda: hostctl.open_database("/nowhere/at.all").runs, "/nowhere"),
    ],
)
def test_what_cannot_be_answered_is_said_in_one_line(ask: Callable[[], object], says: str):
    with pytest.raises(HostctlError) as error:
        ask()
    assert says in str(error.value)
    assert len(str(error.value).splitlines()) <= 2  # a bad row, and what to do


FOUND = {
    "analysis": lambda: hostctl.analyse(READINGS, resolution_mm=0.01, tolerance_mm=0.05),
    "plan": lambda: hostctl.plan(know_within=0.2),
    "budget": lambda: hostctl.budget("indicator-on-head"),
    "history": lambda: hostctl.history({date(2026, 1, k): 0.006 + k / 5000 for k in range(1, 9)}),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", FOUND)
def test_each_answer_shows_itself_and_fits_its_schema(name: str):
    found = FOUND[name]()
    data = json.loads(json.dumps(found.to_dict(), allow_nan=False))
    jsonschema.validate(data, found.question.schema())
    assert data["question"] == name
    assert found._repr_html_().startswith("<section>")
    assert found.to_markdown().startswith("## ")
    assert str(found) == found.to_text()
    assert len(found.to_text(explained=True)) >= len(found.to_text())


def run_the_demo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, *options: str) -> list[str]:
    """Into a database of its own; gives the words that begin a command."""
    monkeypatch.setenv("HOSTCTL_DATABASE", str(tmp_path / "demo.sqlite"))
    words = [sys.executable, "-m", "hostctl"]
    subprocess.run([*words, "demo", *options], check=True, capture_output=True)
    return words


@pytest.mark.slow
def test_a_database_is_opened_and_its_runs_analysed_as_the_command_does(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    words = run_the_demo(tmp_path, monkeypatch, "--seed", "3")
    database = hostctl.open_database()
    assert [run.summary.new.kind for run in database.runs] == ["rig-check", "comparison"]
    run = database.run(2)
    assert len(run.readings) == run.summary.readings
    done = subprocess.run([*words, "analyse", "2", "--json"], check=True, capture_output=True)
    assert hostctl.analyse(run).to_dict() == json.loads(done.stdout)
    with pytest.raises(DataError, match="people set the gap"):
        hostctl.analyse(READINGS, resolution_mm=0.01, rig=run)
    again = hostctl.analyse(run, rig=database.run(1)).result
    assert again.rig is not None
    assert hostctl.plan(run=run).to_dict()["question"] == "plan"
    with pytest.raises(DataError, match="run 9"):
        database.run(9)
    with pytest.raises((DataError, UsageError)):
        hostctl.history(database, machine="nobody")
    assert hostctl.history(database).to_dict()["question"] == "history"


OWN = Goal(within_mm=0.05, proportion=0.9, confidence=0.8)


@pytest.mark.parametrize(
    ("own", "said", "goal"),
    [
        (None, {}, None),
        (None, {"proportion": 0.9}, None),
        (None, {"within_mm": 0.1}, Goal(within_mm=0.1, proportion=0.95, confidence=0.95)),
        (OWN, {}, OWN),
        (OWN, {"within_mm": 0.1}, replace(OWN, within_mm=0.1)),
        (OWN, {"proportion": 0.99}, replace(OWN, proportion=0.99)),
        (OWN, {"confidence": 0.99}, replace(OWN, confidence=0.99)),
    ],
)
def test_what_is_left_out_of_a_goal_is_the_studys_own(
    own: Goal | None, said: dict[str, float], goal: Goal | None
):
    nothing = {"within_mm": None, "proportion": None, "confidence": None}
    assert goal_for(own, **nothing | said) == goal


def test_from_python_a_runs_own_goal_counts_as_it_does_for_the_command(
    monkeypatch: pytest.MonkeyPatch,
):
    run = questions.Run(database=Path("x.sqlite"), summary=None)  # type: ignore[arg-type]
    kept = replace(given_material(READINGS, resolution_mm=0.01), goal=OWN)
    monkeypatch.setattr(questions, "_material", lambda *_: kept)
    monkeypatch.setattr(questions, "_rig", lambda *_: None)
    assert hostctl.analyse(run).result.goal == OWN
    assert hostctl.analyse(run, tolerance_mm=0.1).result.goal == replace(OWN, within_mm=0.1)


def test_importing_loads_next_to_nothing():
    assert [name for name in loaded_by("import hostctl") if name.startswith("hostctl.")] == []


def test_there_is_no_other_name():
    with pytest.raises(AttributeError, match="no attribute 'analyze'"):
        _ = hostctl.analyze  # type: ignore[attr-defined]
    assert sorted(hostctl.__all__) == ["analyse", "budget", "history", "open_database", "plan"]


def test_what_its_documentation_shows_is_what_comes():
    failed, tried = doctest.testmod(questions)
    assert tried > 8
    assert failed == 0


@pytest.mark.slow
def test_what_the_reference_shows_is_what_comes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    run_the_demo(tmp_path, monkeypatch)
    failed, tried = doctest.testfile(
        str(REFERENCE / "python.md"),
        module_relative=False,
        optionflags=doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE,
    )
    assert tried > 12
    assert failed == 0
