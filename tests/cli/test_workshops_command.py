"""Workshops held against each other by `hostctl analyse FILE FILE FILE`: published examples."""

import csv
import json
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

DATA = Path(__file__).parents[1] / "data" / "interlab"
COAL = json.loads((DATA / "sulfur_in_coal.json").read_text())["published"]
PENTOSANS = json.loads((DATA / "pentosans.json").read_text())["recomputed"]
Hostctl = Callable[..., subprocess.CompletedProcess[str]]


def files(folder: Path, example: str, column: str, level: str) -> list[str]:
    """One file a laboratory, as if each had sent its own."""
    with (DATA / example).open() as file:
        rows = [row for row in csv.DictReader(file) if row[column] == level]
    written: dict[str, list[str]] = {}
    for row in rows:
        path = str(folder / f"{row['laboratory']}.csv")
        written.setdefault(path, ["method,reading_mm"]).append(f"assay,{row['value']}")
    for path, lines in written.items():
        Path(path).write_text("\n".join(lines) + "\n")
    return list(written)


def between(hostctl: Hostctl, *words: str) -> list[Any]:
    """Read to 0.001, as some of the published figures are."""
    done = hostctl("analyse", *words, "--resolution", "0.001", "--json")
    assert done.returncode == 0, done.stderr
    found: list[Any] = json.loads(done.stdout)["workshops"]
    return found


@pytest.mark.parametrize("level", COAL)
def test_sulfur_in_coal(hostctl_here: Hostctl, tmp_path: Path, level: str):
    """ISO 5725-2:1994, annex B, first example (from memory): m, s_r and s_R to three decimals."""
    named = files(tmp_path, "sulfur_in_coal.csv", "level", level)
    (found,) = between(hostctl_here, *named, "--reference", "datum")
    over = found["reproducibility"]
    got = {
        "m": over["mean_mm"],
        "s_r": found["repeatability_mm"],
        "s_R": over["reproducibility_mm"],
    }
    assert got == pytest.approx(COAL[level], abs=5e-4)
    assert len(found["workshops"]) == 8
    assert found["k_limit"] is None, "laboratories have 3, 4 and 5 readings"


@pytest.mark.parametrize("material", PENTOSANS)
def test_pentosans(hostctl_here: Hostctl, tmp_path: Path, material: str):
    """ASTM E691's example, Mandel 1991, p. 6; h and k recomputed independently."""
    named = files(tmp_path, "pentosans.csv", "material", material)
    (found,) = between(hostctl_here, *named, "--reference", "datum")
    expected = PENTOSANS[material]
    assert found["repeatability_mm"] == pytest.approx(expected["s_r"], rel=1e-9)
    assert [one["h"] for one in found["workshops"]] == pytest.approx(expected["h"], abs=1e-9)
    assert [one["k"] for one in found["workshops"]] == pytest.approx(expected["k"], abs=1e-9)


def test_without_a_datum_spreads_are_compared_and_means_are_not(
    hostctl_here: Hostctl, tmp_path: Path
):
    named = files(tmp_path, "pentosans.csv", "material", "A")
    (found,) = between(hostctl_here, *named)
    assert {one["h"] for one in found["workshops"]} == {None}
    assert all(one["k"] is not None for one in found["workshops"])
    assert "one datum" in found["reproducibility"]["not_yet"]


def test_of_two_workshops_nothing_is_said(hostctl_here: Hostctl, tmp_path: Path):
    named = files(tmp_path, "pentosans.csv", "material", "A")
    assert between(hostctl_here, *named[:2]) == []
    assert between(hostctl_here, *named[:3]) != []
    said = hostctl_here("analyse", *named[:2], "--resolution", "0.001").stdout
    assert "Between workshops" not in said
