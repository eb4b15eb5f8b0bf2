"""`hostctl axis`: a table of positions, held against what was published of it."""

import json
from pathlib import Path
from typing import Any

import pytest

from hostctl.cli.main import main

DATA = Path(__file__).parent.parent / "data"
SLIT = json.loads((DATA / "iso230_2_slit_axis.json").read_text())
BY_HAND = json.loads((DATA / "iso230_2_constructed.json").read_text())


def table(case: dict[str, Any], path: Path, *, head: str = "target_mm,side,run,reached_mm") -> Path:
    rows = [
        f"{target},{side},{run},{reached}"
        for side in ("up", "down")
        for target, row in zip(case["targets"], case[side], strict=True)
        for run, reached in enumerate(row, 1)
    ]
    path.write_text("\n".join([head, *rows]) + "\n")
    return path


def told(path: Path, capsys: pytest.CaptureFixture[str], *options: str) -> dict[str, Any]:
    assert main(["axis", str(path), "--json", *options]) == 0
    return json.loads(capsys.readouterr().out)


def figures(result: dict[str, Any]) -> dict[str, Any]:
    """Under the names of the data files."""
    targets, accuracy = result["targets"], result["accuracy"]
    return {
        "mean_up": [one["up"]["mean_mm"] for one in targets],
        "mean_down": [one["down"]["mean_mm"] for one in targets],
        "s_up": [one["up"]["sd_mm"] for one in targets],
        "s_down": [one["down"]["sd_mm"] for one in targets],
        "B_i": [one["reversal_mm"] for one in targets],
        "mean_bi": [one["mean_mm"] for one in targets],
        "R_i": [one["repeatability_mm"] for one in targets],
        "B": result["reversal"]["value_mm"],
        "B_mean": result["mean_reversal_mm"],
        "R_up": result["repeatability_up"]["value_mm"],
        "R_down": result["repeatability_down"]["value_mm"],
        "R": result["repeatability"]["value_mm"],
        "E_up": accuracy["systematic_up_mm"],
        "E_down": accuracy["systematic_down_mm"],
        "E": accuracy["systematic_mm"],
        "M": accuracy["mean_deviation_mm"],
        "A_up": accuracy["accuracy_up_mm"],
        "A_down": accuracy["accuracy_down_mm"],
        "A": accuracy["accuracy_mm"],
    }


def test_every_number_of_the_public_acceptance_report(tmp_path, capsys):
    """Printed to 1e-5 mm, some from means already rounded. Two that the report works out otherwise
    than the standard, and what the standard gives, stand in the file under `discrepancies`."""
    found = figures(told(table(SLIT, tmp_path / "slit.csv"), capsys, "--calibrated-u", "0.001"))
    for name, published in SLIT["expected_published"].items():
        assert found[name] == pytest.approx(published, abs=2e-5), name
    assert found["R"] == pytest.approx(0.00835, abs=1e-5)
    assert found["E"] == pytest.approx(0.01599, abs=1e-5)


def test_the_case_worked_by_hand(tmp_path, capsys):
    found = figures(told(table(BY_HAND, tmp_path / "c.csv"), capsys, "--calibrated-u", "0.001"))
    for name, exact in BY_HAND["exact"].items():
        assert found[name] == pytest.approx(exact, abs=1e-8), name


def test_accuracy_is_not_said_of_what_is_not_calibrated(tmp_path, capsys):
    path = table(SLIT, tmp_path / "slit.csv")
    result = told(path, capsys)
    assert result["accuracy"] is None
    assert any("not calibrated" in one for one in result["cautions"])
    assert main(["axis", str(path)]) == 0
    rows = [line for line in capsys.readouterr().out.splitlines() if line.startswith("A accuracy")]
    assert [line.count("not said") for line in rows] == [3]


def test_every_line_fits_a_terminal(tmp_path, capsys):
    assert main(["axis", str(table(SLIT, tmp_path / "slit.csv")), "--explain"]) == 0
    assert max(map(len, capsys.readouterr().out.splitlines())) <= 79


def test_units_may_be_named(tmp_path, capsys):
    in_um = {
        **SLIT,
        "up": [[round(1000 * one, 2) for one in row] for row in SLIT["up"]],
        "down": [[round(1000 * one, 2) for one in row] for row in SLIT["down"]],
    }
    path = table(in_um, tmp_path / "um.csv", head="target_mm,side,run,reached_um")
    plain = told(table(SLIT, tmp_path / "mm.csv"), capsys)
    assert told(path, capsys)["reversal"]["value_mm"] == pytest.approx(
        plain["reversal"]["value_mm"], abs=1e-9
    )


def test_from_one_side_alone(tmp_path, capsys):
    path = table({**SLIT, "down": [[]] * 5}, tmp_path / "up.csv")
    result = told(path, capsys)
    assert result["reversal"] is result["repeatability_down"] is None
    assert result["repeatability_up"]["value_mm"] == pytest.approx(0.0075, abs=1e-5)


def test_readings_all_alike_are_within_the_rounding(tmp_path, capsys):
    case = {"targets": [0.0, 1.0], "up": [["0.01"] * 5, ["1.01"] * 5]}
    path = table({**case, "down": case["up"]}, tmp_path / "alike.csv")
    assert main(["axis", str(path)]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "within the rounding, up to" in out
    assert told(path, capsys)["repeatability"]["interval"]["high"] > 0.01


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "is empty"),
        ("target_mm,reached_mm\n1,1.1\n", "has no column for side"),
        ("target_mm,side,reached_mm\n", "holds no position"),
        ("target_mm,side,reached_mm\n1,left,1.1\n", "'left' is neither up nor down"),
        ("target_mm,side,reached_mm\n1,up,much\n", "reached: 'much' is not a number"),
        ("target_mm,side,reached_mm\n1,up,1.1\n1,up,1.1\n2,up,2\n", "target 2 mm has 1"),
        ("target_mm,side,run,reached_mm\n1,up,1,1.1\n1,up,1,1.1\n", "stands twice in one run"),
        ("target_mm,side,reached_mm\n1,up,1.1\n1,up,1.1\n", "2 targets or more"),
        ("target_mm,side,reached_mm\n1,up,1.1\n2,up,2\n", "at least 2"),
    ],
)
def test_what_is_wrong_with_a_table_is_said_in_one_line(text, why, tmp_path, capsys):
    path = tmp_path / "t.csv"
    path.write_text(text)
    assert main(["axis", str(path)]) != 0
    err = capsys.readouterr().err
    assert why in err
    assert err.count("\n") == 1


def test_an_uncertainty_is_above_0(tmp_path, capsys):
    path = table(SLIT, tmp_path / "slit.csv")
    assert main(["axis", str(path), "--calibrated-u", "0"]) != 0
    assert "--calibrated-u 0 is not above 0" in capsys.readouterr().err


def test_a_position_typed_wrongly_is_named_and_stays(tmp_path, capsys):
    up = [list(row) for row in SLIT["up"]]
    up[2][1] = float(up[2][1]) + 1.0
    path = table({**SLIT, "up": up}, tmp_path / "typed.csv")
    result = told(path, capsys)
    (far,) = result["far"]
    assert (far["target_mm"], far["coming_from"], far["run"]) == (SLIT["targets"][2], "below", 2)
    assert far["off_mm"] == pytest.approx(1.0, abs=0.01)
    assert result["repeatability"]["value_mm"] > 1.0
    assert any("Was it typed or read wrongly?" in one for one in result["cautions"])
    assert result["moved_less_mm"] is None
    assert told(table(SLIT, tmp_path / "right.csv"), capsys)["far"] == []
