"""`hostctl begin` in a process of its own at a pseudo-terminal; the printer's cable is one too.

Many more machines and interruptions: `python tests/begin/begin_on_a_pty.py 40`.
"""

from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from at_a_pty import Bench, Meddling, bench_at
from interrupted import REDONE, after, in_the_end, whole_way

from hostctl.begin.terminal import TOLD_TO_HALT

OLD = "sim://stranger?seed=13"
"""Of the classic family, position reports without blanks, anticlockwise screws."""
TERSE = "sim://stranger?seed=29"
"""Anticlockwise screws, travel from -5 and 4 mm."""
PLAIN = {"NO_COLOR": "1", "TERM": "dumb", "LANG": "C", "LC_ALL": "C"}
COLUMNS = 80


@pytest.mark.slow
async def test_an_unknown_printer_to_the_first_verdict(tmp_path: Path) -> None:
    async with bench_at(tmp_path, OLD) as bench:
        _, failings = await whole_way(bench)
    assert failings == []


@pytest.mark.slow
async def test_where_there_is_nothing_but_plain_letters_a_machine_file_comes_of_it() -> None:
    with TemporaryDirectory() as folder:  # of a name that is short enough to be typed on a line
        async with bench_at(Path(folder), TERSE) as bench:
            sat = await bench.sit(environment=PLAIN, until="rig.now")
            assert list(in_the_end(bench, sat)) == []
    assert sat.shown.isascii()
    assert "\x1b" not in sat.shown
    wide = [line for line in sat.shown.split("\n") if len(line) > COLUMNS]
    assert [line for line in wide if "hostctl begin" not in line] == []  # which is to be pasted


@pytest.mark.slow
async def test_interrupted_again_and_again_it_goes_on_where_it_was(tmp_path: Path) -> None:
    """Each sitting with what happens in it; the last ends with the file."""
    async with bench_at(tmp_path, TERSE) as bench:
        await _interrupted(bench, Meddling(1, "ctrl-c", "asked screws.1.name"))
        await _interrupted(bench, Meddling(1, "kill", "moving The head rises, then"))
        await _interrupted(bench, Meddling(2, "ctrl-c", "moving The head goes 0.5 mm down"))
        rest = [
            Meddling(1, "x", "moving The head rises, brings the plunger over the mark"),
            Meddling(1, "unplug", "moving The head goes down slowly"),
            Meddling(1, "elsewhere", "asked cycle.next"),
        ]
        sat = await bench.sit(bench.name, meddling=rest, until="rig.now")
        assert list(after(bench, sat, "unplug")) == []
        assert list(in_the_end(bench, sat)) == []
        assert TOLD_TO_HALT in sat.text
        assert "the port has gone" in sat.text
        assert bench.facts()["port"] == str(bench.cable.link)


async def _interrupted(bench: Bench, meddling: Meddling) -> None:
    known = bench.facts()
    sat = await bench.sit(*([bench.name] if known else []), meddling=[meddling])
    assert list(after(bench, sat, meddling.how)) == []
    assert set(known) & {key for key in sat.asked if not key.startswith(REDONE)} == set()
