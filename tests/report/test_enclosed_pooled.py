"""Reports analysed by the command: alone, as they were asked; several, as an experiment between
workshops that gives the published figures."""

import csv
import json
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from enclosing import enclosure_of, enclosure_of_runs, of_workshop, written
from kept_runs import a_run, keep, run_like
from told_cases import study

from hostctl.cli.main import main
from hostctl.metrology.claims.looks import Looks
from hostctl.report.enclosed.enclosure import Enclosure
from hostctl.report.enclosed.pooled import pooled
from hostctl.report.enclosed.reading import enclosed_of
from hostctl.report.sources.looks import Looking
from hostctl.report.sources.material import Block

DATA = Path(__file__).parents[1] / "data" / "interlab"
Capture = pytest.CaptureFixture[str]
ONE, OTHER, THIRD = (
    (0.01, 0.02, -0.01, 0.03, 0.0),
    (0.03, 0.0, 0.02, 0.05, 0.04),
    (0.0, -0.02, 0.01, -0.03, 0.0),
)
RIG = (0.0, 0.01, 0.0, -0.01, 0.01, 0.0, 0.0, 0.01)


def analysed(capture: Capture, *words: str | Path) -> dict[str, Any]:
    assert main(["analyse", "--json", *map(str, words)]) == 0
    found: dict[str, Any] = json.loads(capture.readouterr().out)
    return found


def report(folder: Path, name: str, machine: str, values_mm: Sequence[float], **changes: object):
    made = enclosure_of([of_workshop(machine, values_mm, **changes)])
    return written(folder / f"{name}.html", made)


def published(name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((DATA / f"{name}.json").read_text())
    return found


def reports_of(folder: Path, table: str, column: str, level: str, *, unit: float) -> list[Path]:
    """Each laboratory of one level as a report of its own. unit: of the last digit."""
    by_laboratory: dict[str, list[float]] = defaultdict(list)
    with (DATA / table).open(newline="") as file:
        for row in csv.DictReader(file):
            if row[column] == level:
                by_laboratory[row["laboratory"]].append(float(row["value"]))
    return [
        report(folder, name, f"laboratory {name}", values, resolution_mm=unit, goal=None)
        for name, values in by_laboratory.items()
    ]


@pytest.mark.parametrize("level", ["1", "3", "4"])
def test_sulfur_in_coal_gives_the_published_precision(capsys: Capture, tmp_path: Path, level: str):
    """ISO 5725-2:1994, annex B, first example: unlike numbers of settings. From memory."""
    files = reports_of(tmp_path, "sulfur_in_coal.csv", "level", level, unit=0.01)
    (found,) = analysed(capsys, *files)["workshops"]
    told = published("sulfur_in_coal")
    between, known = found["reproducibility"], told["recomputed"][level]
    assert len(found["workshops"]) == 8
    assert between["mean_mm"] == pytest.approx(told["published"][level]["m"], abs=0.0015)
    assert round(found["repeatability_mm"], 3) == told["published"][level]["s_r"]
    assert round(between["reproducibility_mm"], 3) == told["published"][level]["s_R"]
    assert found["repeatability_mm"] == pytest.approx(known["s_r"], rel=1e-9)
    assert between["between_mm"] == pytest.approx(known["s_L"], rel=1e-9)


@pytest.mark.parametrize("material", ["A", "E", "I"])
def test_pentosans_gives_the_precision_with_h_and_k(capsys: Capture, tmp_path: Path, material: str):
    """ASTM E691 example (pentosans in pulp), figures recomputed from the public readings."""
    files = reports_of(tmp_path, "pentosans.csv", "material", material, unit=0.01)
    (found,) = analysed(capsys, *files)["workshops"]
    known = published("pentosans")["recomputed"][material]
    assert found["repeatability_mm"] == pytest.approx(known["s_r"], rel=1e-9)
    between = found["reproducibility"]
    assert between["reproducibility_mm"] == pytest.approx(known["s_R"], rel=1e-9)
    shops = found["workshops"]
    assert [one["h"] for one in shops] == pytest.approx(known["h"], rel=1e-9)
    assert [one["k"] for one in shops] == pytest.approx(known["k"], rel=1e-9)


def test_who_differs_is_said_with_by_how_much(capsys: Capture, tmp_path: Path):
    files = reports_of(tmp_path, "pentosans.csv", "material", "A", unit=0.01)
    assert main(["analyse", *map(str, files)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "Out of line by mean: laboratory 7 (0.234" in said
    assert "mm below the mean of all); h beyond" in said


@pytest.fixture
def database(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A rig check as run 1, a study as run 2."""
    path = tmp_path / "kept.sqlite"
    monkeypatch.setenv("HOSTCTL_DATABASE", str(path))
    block = Block(method="", operator="", point="p", values_mm=RIG)
    check = replace(run_like(study()), new=a_run("rig-check"), blocks=(block,), with_zeros=True)
    keep(path, check, run_like(study()))
    return path


@pytest.fixture
def made(database: Path) -> Enclosure:
    return enclosure_of_runs(database, 2)


def test_a_report_comes_to_what_its_run_comes_to(capsys: Capture, tmp_path: Path, made: Enclosure):
    path = written(tmp_path / "a.html", made)
    again = analysed(capsys, path)
    assert again == made.found
    assert again["rig"]["name"] == "run 1"
    assert analysed(capsys, "2") == made.found  # the same look: nothing was recorded meanwhile
    assert analysed(capsys, path) == made.found


def test_a_report_asked_otherwise_is_another_question(
    capsys: Capture, tmp_path: Path, made: Enclosure
):
    path = written(tmp_path / "a.html", replace(made, found={**made.found, "unit": "inch"}))
    found = analysed(capsys, path, "--tolerance", "0.3", "--margin", "2")
    assert found["goal"]["within_mm"] == 0.3
    assert found["compared"]["margin"] == 2
    assert not any("Worked out again" in note for note in found["source"]["notes"])


def test_the_look_is_the_reports_own(capsys: Capture, tmp_path: Path, made: Enclosure):
    looking = Looking(looks=Looks(number=3, spent=2 / 3), earlier=2)
    asked = replace(made.asked, look=looking)
    found = analysed(capsys, written(tmp_path / "a.html", replace(made, asked=asked)))
    assert (found["look"]["number"], found["look"]["share"]) == (3, pytest.approx(1 / 12))
    later = analysed(capsys, tmp_path / "a.html", "--looks", "5")
    assert (later["look"]["number"], later["look"]["too_late"]) == (3, 5)


def test_differences_are_named(capsys: Capture, tmp_path: Path, made: Enclosure):
    results = [dict(one) for one in made.found["results"]]
    results[0]["readings"] = 7
    found = {**made.found, "results": results, "unit": "inch", "old": 1}
    del found["few"]
    path = written(tmp_path / "a.html", replace(made, found=found, program="hostctl 0.0.9"))
    (note, *_) = analysed(capsys, path)["source"]["notes"]
    assert "4 of what the report says differ (hostctl 0.0.9 then, hostctl" in note
    assert "unit 'inch' then, 'mm' now" in note
    assert f"results[0].readings 7 then, {made.found['results'][0]['readings']} now" in note
    assert "few absent then" in note
    assert "old 1 then, absent now" in note


def test_many_differences_are_named_in_a_few_words(
    capsys: Capture, tmp_path: Path, made: Enclosure
):
    changed = {f"key {k}": "long " * 1000 for k in range(500)}
    path = written(tmp_path / "a.html", replace(made, found={**made.found, **changed}))
    (note, *_) = analysed(capsys, path)["source"]["notes"]
    assert "500 of what the report says differ" in note
    assert "and 495 more" in note
    assert len(note) < 1000


def test_a_figure_is_the_same_within_what_computers_differ_by(
    capsys: Capture, tmp_path: Path, made: Enclosure
):
    goal = {**made.found["goal"], "within_mm": made.found["goal"]["within_mm"] * (1 + 1e-9)}
    path = written(tmp_path / "a.html", replace(made, found={**made.found, "goal": goal}))
    assert analysed(capsys, path) == made.found


def test_a_changed_text_is_said_of_its_file(capsys: Capture, tmp_path: Path, made: Enclosure):
    path = written(tmp_path / "a.html", made)
    path.write_text(path.read_text().replace("What was found.", "Nothing."))
    (note, *_) = analysed(capsys, path)["source"]["notes"]
    assert note.startswith(f"{path}: The page is not as it was made")


def test_two_workshops_give_no_precision_and_three_do(capsys: Capture, tmp_path: Path):
    two = [report(tmp_path, "a", "north", ONE), report(tmp_path, "b", "south", OTHER)]
    assert analysed(capsys, *two)["workshops"] == []
    (found,) = analysed(capsys, *two, report(tmp_path, "c", "east", THIRD))["workshops"]
    assert [one["name"] for one in found["workshops"]] == ["north", "south", "east"]


def test_machines_called_alike_are_told_apart_by_their_files(capsys: Capture, tmp_path: Path):
    files = [
        report(tmp_path, n, "bench", v) for n, v in zip("abc", (ONE, OTHER, THIRD), strict=True)
    ]
    found = analysed(capsys, *files)
    (between,) = found["workshops"]
    names = [one["name"] for one in between["workshops"]]
    assert names == ["bench (a.html)", "bench (b.html)", "bench (c.html)"]
    assert any("names its machine bench too" in note for note in found["source"]["notes"])


def with_rig(made: Enclosure, values_mm: Sequence[float]) -> Enclosure:
    block = Block(method="", operator="", point="p", values_mm=list(values_mm))
    rig = of_workshop("bench", values_mm, kind="rig-check", blocks=(block,), goal=None)
    return replace(made, rig=rig)


def of_bench(folder: Path, name: str, values_mm: Sequence[float], rig_mm: Sequence[float]) -> Path:
    made = enclosure_of([of_workshop("bench", values_mm)])
    return written(folder / f"{name}.html", with_rig(made, rig_mm))


def test_one_rig_check_in_two_reports_shows_that_the_machine_is_one(
    capsys: Capture, tmp_path: Path
):
    files = [of_bench(tmp_path, n, v, RIG) for n, v in zip("abc", (ONE, OTHER, THIRD), strict=True)]
    found = analysed(capsys, *files)
    assert found["workshops"] == []
    assert found["rig"]["name"] == "readings"
    files[2] = of_bench(tmp_path, "c", THIRD, [*RIG, 0.0])
    found = analysed(capsys, *files)
    assert found["rig"] is None
    assert "each with a rig of its own, so none is taken out" in found["source"]["notes"][0]
    assert found["workshops"] == []  # a and b are one, c another
    files.append(of_bench(tmp_path, "d", [0.01, 0.0, 0.04], RIG[1:]))
    (between,) = analysed(capsys, *files)["workshops"]
    names = [one["name"] for one in between["workshops"]]
    assert names == ["bench (a.html)", "bench (c.html)", "bench (d.html)"]


def test_a_rig_that_is_named_is_taken_out_of_all(capsys: Capture, tmp_path: Path):
    files = [of_bench(tmp_path, n, v, [*v, *RIG]) for n, v in zip("ab", (ONE, OTHER), strict=True)]
    check = of_workshop("bench", RIG, kind="rig-check", goal=None)
    rig = written(tmp_path / "rig.html", enclosure_of([check]))
    assert analysed(capsys, *files)["rig"] is None
    assert analysed(capsys, *files, "--rig", rig)["rig"]["name"] == "readings"


def test_the_same_readings_are_not_counted_twice(capsys: Capture, tmp_path: Path, made: Enclosure):
    first = written(tmp_path / "a.html", made)
    second = written(tmp_path / "b.html", made)
    for words in ([first, second], [first, "2"], ["2", first]):
        assert main(["analyse", *map(str, words)]) == 8
        assert "holds the same readings as" in capsys.readouterr().err


def test_runs_files_and_reports_go_together(capsys: Capture, tmp_path: Path, database: Path):
    values = [[0.0, 0.03, -0.02, 0.05, 0.01], [0.02, -0.01, 0.0, 0.04]]
    (tmp_path / "c.csv").write_text(
        "method,reading_mm,zero\n" + "".join(f"slip,{v:.2f},0\n" for v in (0.01, 0.03, -0.02))
    )
    blocks = tuple(
        Block(method="slip", operator="helper-1", point="p", values_mm=one) for one in values
    )
    source = of_workshop("north", ONE, blocks=blocks, reference="first", zero_known=False)
    path = written(tmp_path / "north.html", enclosure_of([source]))
    found = analysed(capsys, "2", path, tmp_path / "c.csv", "--reference", "first")
    assert found["rig"] is None
    assert {one["name"] for one in found["workshops"][-1]["workshops"]} == {
        "bench",
        "north",
        "c.csv",
    }


def test_looks_at_reports_together_come_after_their_own(capsys: Capture, tmp_path: Path):
    files = [report(tmp_path, n, n, v) for n, v in zip("abc", (ONE, OTHER, THIRD), strict=True)]
    look = analysed(capsys, *files)["look"]
    assert (look["number"], look["recorded"]) == (4, 4)
    assert look["share"] == pytest.approx(1 / 20)


def test_a_report_of_reports_comes_to_the_same_again(capsys: Capture, tmp_path: Path):
    files = [
        report(tmp_path, n, "bench", v, goal=None)
        for n, v in zip("abc", (ONE, OTHER, THIRD), strict=True)
    ]
    first = analysed(capsys, *files)
    reports = {str(path): enclosed_of(path) for path in files}
    sources = [source for of_one in pooled(reports, []).values() for source in of_one]
    whole = replace(enclosure_of(sources), found=first)
    assert analysed(capsys, written(tmp_path / "all.html", whole)) == first
