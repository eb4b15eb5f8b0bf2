"""Reports of runs that were tied to the nozzle: read again they give the very same, whoever wrote
them."""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from gap_runs import GapRun, Hand, keep_gap_runs

from hostctl.cli.main import main
from hostctl.errors import DataError
from hostctl.report.enclosed.reading import enclosed_of
from hostctl.report.enclosed.writing import data_sha256

TWO = (
    Hand(method="paper-slip", mean_mm=0.13, operator="Ada"),
    Hand(method="feeler-gauge", mean_mm=0.1, operator="Ben"),
)
HELD = GapRun(hands=TWO, goes_by={"feeler-gauge": "feelers"}, checked_after=(10,))
MOVED = GapRun(
    hands=TWO,
    trials=12,
    checked_after=(8, 16),
    moves_mm={11: 0.03},
    said_to_move=(2,),
    grows_pressed=False,
    seed=3,
)
TIES_ALONE = GapRun(kind="tie", hands=(), checked_after=())


@pytest.fixture
def database(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "gaps.sqlite"
    keep_gap_runs(path, HELD, MOVED)
    monkeypatch.setenv("HOSTCTL_DATABASE", str(path))
    return path


def report(folder: Path, *asked: str) -> Path:
    path = folder / "report.html"
    assert main(["report", *asked, "-o", str(path)]) == 0
    return path


def enclosed(page: Path) -> dict[str, Any]:
    found = re.search(r'id="enclosed">(.*?)</script>', page.read_text(), re.S)
    assert found
    return json.loads(found[1])


def analysed(capsys: pytest.CaptureFixture[str], *asked: str) -> dict[str, Any]:
    capsys.readouterr()
    assert main(["analyse", *asked, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


@pytest.mark.parametrize("run", ["1", "2"])
@pytest.mark.parametrize("asked", [(), ("--target", "0.12", "--on-target", "0.05")])
def test_a_report_read_again_gives_the_very_same_tie_and_trueness(
    run: str,
    asked: tuple[str, ...],
    tmp_path: Path,
    database: Path,
    capsys: pytest.CaptureFixture[str],
):
    page = report(tmp_path, run, *asked)
    then, now = enclosed(page)["found"], analysed(capsys, str(page))
    assert now["tie"] is not None
    assert now["trueness"] == then["trueness"]
    assert now == then


def test_letters_stand_for_people_and_change_nothing_else(
    tmp_path: Path, database: Path, capsys: pytest.CaptureFixture[str]
):
    named = analysed(capsys, "2")
    page = report(tmp_path, "2", "--letters")
    lettered = analysed(capsys, str(page))
    assert "Ada" not in page.read_text()
    assert lettered["tie"]["points"] == named["tie"]["points"]
    by_method = {one["method"]: one["mean_gap"] for one in named["trueness"]}
    assert {one["method"]: one["mean_gap"] for one in lettered["trueness"]} == by_method


def test_a_file_held_against_a_gap_is_held_against_it_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    table = tmp_path / "gaps.csv"
    rows = "".join(f"slip,{0.1 + 0.01 * (k % 3):.2f}\n" for k in range(12))
    table.write_text(f"method,gap mm\n{rows}")
    asked = ("--target", "0.1", "--on-target", "0.03", "--tie-doubt", "0.002")
    page = report(tmp_path, str(table), *asked)
    assert enclosed(page)["sources"][0]["rows"]["value_mm"][0] == 0.1  # as it stands there
    assert analysed(capsys, str(page)) == enclosed(page)["found"]


def test_reports_with_ties_of_their_own_are_taken_together_each_by_its_own(
    tmp_path: Path, database: Path, capsys: pytest.CaptureFixture[str]
):
    one, other = tmp_path / "one.html", tmp_path / "other.html"
    for run, page in (("1", one), ("2", other)):
        assert main(["report", run, "-o", str(page)]) == 0
    parts = (
        analysed(capsys, str(one))["tie"]["points"],
        analysed(capsys, str(other))["tie"]["points"],
    )
    assert analysed(capsys, str(one), str(other))["tie"]["points"] == [*parts[0], *parts[1]]


def test_a_report_says_how_it_was_tied_and_marks_what_is_doubted(tmp_path: Path, database: Path):
    path = report(tmp_path, "2")
    page, events = path.read_text(), enclosed(path)["sources"][0]["account"]["events"]
    doubted = [spot for one in events for spot in one["data"].get("doubted", [])]
    assert "Did the tie hold?" in page
    _, readings = page.split('<section id="readings"')
    marked = re.findall("<td[^>]*>since the last good check of the tie</td>", readings)
    assert len(marked) == len(doubted) > 0
    assert "Those of method tie are readings of the tie" in page


# ------------------------------------------------------------ a stranger's file

Alter = Callable[[dict[str, Any]], None]


def event(data: dict[str, Any], kind: str) -> dict[str, Any]:
    events = data["sources"][0]["account"]["events"]
    return next(one for one in events if one["kind"] == kind)["data"]


def study(key: str, value: object) -> Alter:
    def alter(data: dict[str, Any]) -> None:
        account = data["sources"][0]["account"]
        text = json.loads(account["study_text"])
        if "." in key:
            above, below = key.split(".")
            text[above][below] = value
        else:
            text[key] = value
        account["study_text"] = json.dumps(text)

    return alter


def said(kind: str, key: str, value: object) -> Alter:
    def alter(data: dict[str, Any]) -> None:
        event(data, kind)[key] = value

    return alter


def without(kind: str, key: str) -> Alter:
    return lambda data: event(data, kind).pop(key)


def untied(data: dict[str, Any]) -> None:
    data["sources"][0]["rows"]["tie_resolution_mm"].pop()


HOSTILE: dict[str, tuple[Alter, str]] = {
    "no height": (without("tie contact", "open_z_mm"), "open_z_mm is missing"),
    "a huge height": (said("tie contact", "plunger_z_mm", 1e300), "plunger_z_mm is not from"),
    "a height in words": (said("tie contact", "set_z_mm", "high"), "set_z_mm is not a number"),
    "contact above": (said("tie contact", "closed_z_mm", 9.0), "closed_z_mm lies above"),
    "between": (said("tie contact", "between_low_mm", 9.0), "between_low_mm lies above"),
    "no sign": (without("plunger's sign", "grows_pressed"), "grows_pressed is missing"),
    "sign of 1": (said("plunger's sign", "grows_pressed", 1), "grows_pressed is not true or false"),
    "no block": (without("tie checked", "block"), "block is missing"),
    "moved?": (said("tie checked", "moved", "yes"), "moved is not true or false"),
    "no target": (study("target_mm", "wide"), "target_mm is not a number"),
    "no method": (study("methods", [1]), "methods[0] is not an object"),
    "beyond": (study("tie.beyond_mm", -1), "beyond_mm is not from"),
    "by": (study("tie.by", 7), "by is not a text"),
    "fewer": (untied, "tie_resolution_mm is not as long"),
}


@pytest.fixture(scope="module")
def page_of_run(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("hostile")
    path = folder / "gaps.sqlite"
    keep_gap_runs(path, MOVED)
    page = folder / "report.html"
    assert main(["report", "1", "--database", str(path), "-o", str(page)]) == 0
    return page


def altered(page: Path, folder: Path, alter: Alter) -> Path:
    """The page with other data, and with their hash."""
    text, data = page.read_text(), enclosed(page)
    alter(data)
    then = re.search(r'id="enclosed">(.*?)</script>', text, re.S)
    assert then
    now = json.dumps(data)
    path = folder / "altered.html"
    path.write_text(text.replace(then[1], now).replace(data_sha256(then[1]), data_sha256(now)))
    return path


@pytest.mark.parametrize("case", HOSTILE)
def test_what_is_not_as_it_should_be_is_named_by_its_place(
    case: str, page_of_run: Path, tmp_path: Path
):
    alter, says = HOSTILE[case]
    with pytest.raises(DataError) as refused:
        enclosed_of(altered(page_of_run, tmp_path, alter))
    assert says in refused.value.what
    assert "sources[0]" in refused.value.what


@pytest.mark.parametrize(
    "spots",
    [1, [[1, 1, 1]], [["1", 1, 1, 1]], [1], None],
    ids=["one", "short", "text", "flat", "no"],
)
def test_places_that_are_no_places_are_refused(spots: object, page_of_run: Path, tmp_path: Path):
    def alter(data: dict[str, Any]) -> None:
        checks = [
            one["data"]
            for one in data["sources"][0]["account"]["events"]
            if one["kind"] == "tie checked"
        ]
        next(one for one in checks if one["moved"])["doubted"] = spots

    with pytest.raises(DataError, match="doubted is no list of block, round, trial and attempt"):
        enclosed_of(altered(page_of_run, tmp_path, alter))


def test_places_after_the_last_move_are_not_doubted(page_of_run: Path, tmp_path: Path):
    def alter(data: dict[str, Any]) -> None:
        event(data, "tie checked")  # there are some
        for one in data["sources"][0]["account"]["events"]:
            if one["kind"] == "tie checked" and one["data"]["moved"]:
                one["data"]["doubted"] = [[2, 1, 12, 1], [77, 1, 1, 1]]

    tied = enclosed_of(altered(page_of_run, tmp_path, alter)).sources[0].material.tied
    assert tied is not None
