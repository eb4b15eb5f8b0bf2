"""A levelling on record: its result, how it is told, and that others can work it out again."""

import asyncio
import contextlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from levelled_runs import SCREWS, keep_levelling
from stored_rows import NOON

from hostctl.cli.main import main
from hostctl.errors import DataError
from hostctl.report.document.as_text import as_text
from hostctl.report.document.blocks import Role
from hostctl.report.enclosed.sourced import sourced_run
from hostctl.report.kinds.levelling.document import LEVELLING
from hostctl.report.kinds.levelling.found.from_run import levelling_of
from hostctl.report.kinds.levelling.result import LevelResult
from hostctl.store.rows import NewEvent
from hostctl.store.store import Store

Said = Callable[..., str]


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("levelled") / "runs.sqlite"
    asyncio.run(keep_levelling(path))
    return path


@pytest.fixture(scope="module")
def result(database: Path) -> LevelResult:
    return levelling_of(sourced_run(database, 1))


@pytest.fixture
def said(database: Path, capsys: pytest.CaptureFixture[str]) -> Said:
    """What a command prints, or the error that it ends with."""

    def of(*words: str) -> str:
        with contextlib.suppress(SystemExit):
            main([*words, "--database", str(database)])
        told = capsys.readouterr()
        return told.out or told.err

    return of


def kept(tmp_path: Path, **how: Any) -> LevelResult:
    path = tmp_path / "other.sqlite"
    asyncio.run(keep_levelling(path, **how))
    return levelling_of(sourced_run(path, 1))


def test_heights_come_out_again_as_they_were_decided_by(result: LevelResult):
    assert result.notes == ()
    assert [one.number for one in result.rounds] == [1, 2, 3]
    assert result.last.verdict == "within-tolerance"


def test_a_decision_that_its_readings_do_not_give_is_said(tmp_path: Path):
    def other(data: dict[str, Any]) -> dict[str, Any]:
        first, *rest = data["heights"]
        return {**data, "heights": [{**first, "height_mm": first["height_mm"] + 0.002}, *rest]}

    told = kept(tmp_path, decide=other)
    assert len(told.notes) == 3
    assert "heights of round 1 differ" in told.notes[0]


def test_what_is_left_of_travel_is_the_files_less_what_the_bed_moved(result: LevelResult):
    for screw in result.screws:
        moved = sum(m.moved_mm for one in result.rounds for m in one.moved if m.screw == screw.name)
        assert screw.can_raise_mm == pytest.approx(4.0 - moved)
        assert screw.can_lower_mm == pytest.approx(4.0 + moved)


def test_a_screw_that_is_turned_from_below_is_told_the_other_way_round(result: LevelResult):
    """Raising it takes a clockwise turn, seen from above."""
    told = {turn.screw: turn for turn in result.rounds[0].turns}
    assert set(told) == set(SCREWS)
    back_left, front_left = told["back-left"], told["front-left"]
    assert back_left.raise_mm > 0.0
    assert front_left.raise_mm > 0.0
    assert (back_left.seen_from, back_left.direction) == ("below", "anticlockwise")
    assert (front_left.seen_from, front_left.direction) == ("above", "clockwise")


def test_the_answer_follows_the_interval(result: LevelResult):
    (first, _) = LEVELLING.document(result, False).said(Role.ANSWER)
    assert result.last.tilt.high_mm is not None
    assert result.within_mm is not None
    assert result.last.tilt.high_mm <= result.within_mm
    assert first.startswith("Yes: over what was measured it is tilted by 0.016 mm (95 %: ")


def test_after_two_rounds_it_is_not_level_and_the_map_has_the_turns(tmp_path: Path):
    told = kept(tmp_path, most_rounds=2)
    text = LEVELLING.text(told)
    assert "\n\nNo: over what was measured it is tilted by 0.112 mm (95 %: " in text
    assert "3 screws are to be turned" not in text
    assert "[B] front-right: 29° anticlockwise, about a twelfth of a turn" in text


def test_the_text_fits_a_terminal_but_for_its_tables(result: LevelResult):
    lines = as_text(LEVELLING.document(result, True)).split("\n")
    assert max(map(len, lines)) < 100


def test_its_data_are_as_the_schema_says(result: LevelResult):
    data = LEVELLING.data(result)
    jsonschema.Draft202012Validator(LEVELLING.schema()).validate(data)
    assert data == json.loads(json.dumps(data, allow_nan=False))


def test_a_report_of_it_gives_the_very_same_result_again(said: Said, tmp_path: Path):
    page = tmp_path / "levelled.html"
    assert str(page) in said("report", "1", "-o", str(page))
    assert json.loads(said("analyse", str(page), "--json")) == json.loads(
        said("analyse", "1", "--json")
    )
    text = page.read_text()
    assert "What can no screw mend?" in text
    assert "How was it done?" in text
    assert "blocks in random order" not in text


def test_show_and_analyse_and_report_tell_the_same(said: Said, tmp_path: Path):
    shown = said("show", "1")
    assert shown == said("analyse", "1")
    assert said("report", "1", "--json", "-o", str(tmp_path / "r.json"))
    told = json.loads((tmp_path / "r.json").read_text())
    assert told["question"] == "levelling"
    assert told["answer"].startswith("Yes: ")


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("analyse", "1", "--margin", "2"), "--margin is for settings"),
        (("analyse", "1", "--tolerance", "0.1"), "--tolerance is for settings"),
        (("report", "1", "--apart", "run"), "--apart is for settings"),
        (("report", "1", "--svg", "nothing", "-o", "{}/n.svg"), "There are: bed-map, convergence"),
    ],
)
def test_what_does_not_go_with_it_is_one_line(said: Said, tmp_path: Path, words, why: str):
    told = said(*(word.format(tmp_path) for word in words))
    assert why in told
    assert told.count("\n") == 1


def test_a_figure_stands_alone(said: Said, tmp_path: Path):
    said("report", "1", "--svg", "bed-map", "-o", str(tmp_path / "map.svg"))
    assert (tmp_path / "map.svg").read_text().startswith("<svg ")


def test_before_a_round_is_judged_there_is_nothing_to_tell(tmp_path: Path):
    with pytest.raises(DataError, match="no round of it was judged yet"):
        kept(tmp_path, decide=lambda _: {})


def test_a_run_that_ended_with_no_round_judged_says_why_and_what_to_do(tmp_path: Path):
    path = tmp_path / "unmet.sqlite"

    async def keep() -> None:
        await keep_levelling(path, most_rounds=1, decide=lambda _: {})
        async with Store.opened(path) as store:
            what = "Round 1: the plunger hung free at front-left. Turn it up by hand."
            data = json.dumps({"unmet": ["front-left"]})
            await store.add_event(NewEvent(run=1, at=NOON, kind="decided", text=what, data=data))

    asyncio.run(keep())
    with pytest.raises(DataError) as refused:
        levelling_of(sourced_run(path, 1))
    assert "could be judged. Round 1: the plunger hung free at front-left" in str(refused.value)
    assert "Turn it up by hand" in str(refused.value)
    assert "Carry the run on" not in str(refused.value)


@pytest.mark.parametrize("sign", [1, -1])
def test_heights_come_out_again_by_the_sign_that_the_round_was_judged_by(tmp_path: Path, sign: int):
    told = kept(tmp_path, decide=lambda data: {**data, "sign": sign})
    assert bool(told.notes) is (sign < 0)  # the readings are those of a number that grows


@pytest.mark.parametrize(("still", "how"), [(True, "until it was still"), (False, "not still")])
def test_how_long_a_warm_bed_was_waited_for(tmp_path: Path, still: bool, how: str):
    told = kept(tmp_path, still={"still": still, "waited_s": 1260.0, "drift_mm": -0.004})
    assert told.wait is not None
    assert (told.wait.waited_s, told.wait.bed_c, told.wait.still) == (1260.0, 55.0, still)
    text = LEVELLING.text(told)
    assert "The bed, at 55 °C, was waited for 21 min" in text
    assert how in text
    assert "Measured with the bed cold" not in text


def test_waits_for_a_bed_that_was_held_are_told_together(tmp_path: Path):
    still = {"still": True, "waited_s": 600.0, "drift_mm": 0.002}
    told = kept(tmp_path, still=still, waits=2)
    assert told.wait is not None
    assert told.wait.waited_s == 1200.0


def test_a_bed_that_was_not_met_everywhere_is_not_called_level(tmp_path: Path):
    def unmet(decided: dict[str, Any]) -> dict[str, Any]:
        last = decided["verdict"] == "within-tolerance"
        return decided | ({"verdict": "no-better"} if last else {})

    answer = LEVELLING.text(kept(tmp_path, decide=unmet)).split("\n\n")[1]
    assert answer.startswith("Where it was met, yes: ")


def test_a_wait_that_no_levelling_decides_is_refused(tmp_path: Path):
    with pytest.raises(DataError, match=r"still\.waited_s is missing"):
        kept(tmp_path, still={"still": True})


@pytest.mark.parametrize(
    "changes",
    [
        {"verdict": "perfect"},
        {"tilt_mm": "wide"},
        {"heights": [{"point": "nowhere"}]},
        {"turns": [{"screw": "front-left"}]},
        {"noticed": "one"},
        {"sign": "falls"},
    ],
)
def test_a_decision_that_no_levelling_makes_is_refused_in_one_line(tmp_path: Path, changes):
    with pytest.raises(DataError, match="what it decided can't be read"):
        kept(tmp_path, decide=lambda data: {**data, **changes})


def test_what_no_turn_mends_is_said_once_and_all_numbers_have_one_minus(result: LevelResult):
    text = LEVELLING.text(result)
    assert "Round 3. The bed moved \N{MINUS SIGN}0.139 mm there." in text
    assert "What is left is no tilt" not in text
    assert text.count("which no screw can mend") == 1
    assert " -0" not in text


def test_the_turns_say_where_they_rose_once_that_was_measured(result: LevelResult, tmp_path: Path):
    assert "rose, mm" in LEVELLING.text(result)
    assert "rose, mm" not in LEVELLING.text(kept(tmp_path, most_rounds=1))
