"""`hostctl level HEIGHTS.csv`: what is published, through the command."""

import json
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pytest
from height_tables import MOODY, TURNS, moody_rows, table

from hostctl.cli.main import main
from hostctl.report.kinds.levelling.document import LEVELLING

SCREWS = (
    "screws: [{{name: a, x_mm: {0}, y_mm: {1}, pitch_mm: {6}}}, "
    "{{name: b, x_mm: {2}, y_mm: {3}, pitch_mm: {6}}}, "
    "{{name: c, x_mm: {4}, y_mm: {5}, pitch_mm: {6}, seen_from: below}}]"
)
SPAN = "{from_mm: 0, to_mm: 220}"


@pytest.fixture
def said(capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    def of(*words: str) -> str:
        assert not main(["level", *words])
        return capsys.readouterr().out

    return of


def test_moodys_plate(said: Callable[..., str], tmp_path: Path):
    """J. C. Moody, The Tool Engineer, October 1955; flatness as recomputed in its JSON."""
    heights = table(tmp_path, moody_rows(), "x (in),y (in),height (in)")
    data = json.loads(said(str(heights), "--json"))
    jsonschema.Draft202012Validator(LEVELLING.schema()).validate(data)
    zone_um = data["warp"]["minimum_zone_mm"] * 1000
    assert zone_um == pytest.approx(MOODY["minimum_zone_flatness_um_linprog"], abs=1e-6)
    assert "Apart from its tilt the surface is 0.0042 mm out of flat" in data["answer"]


def test_turns_with_a_machine_file(said: Callable[..., str], tmp_path: Path):
    """Plain algebra (levelling_turns.json, constructed); the last screw is turned from below."""
    case = next(one for one in TURNS if len(one["knobs"]) == 3)
    level, slope_x, slope_y = case["plane"]
    heights = table(tmp_path, [(x, y, level + slope_x * x + slope_y * y) for x, y in case["knobs"]])
    machine = tmp_path / "bench.yaml"
    flat = [end for knob in case["knobs"] for end in knob]
    machine.write_text(
        f"machine: bench\nport: sim://workshop-220\ntravel: {{x: {SPAN}, y: {SPAN}, z: {SPAN}}}\n"
        "points: [{name: middle, x_mm: 110, y_mm: 110}]\n"
        f"{SCREWS.format(*flat, case['pitch'])}\n"
    )
    on = (str(heights), "--machine", str(machine), "--within", "0.05", "--keep", "a")
    turns = json.loads(said(*on, "--json"))["rounds"][0]["turns"]
    degrees = [abs(one) for one in case["exact_degrees"]]
    assert [one["turn_deg"] for one in turns] == pytest.approx(degrees, abs=0.05)
    text = said(*on)
    assert "b: 7° anticlockwise\n" in text
    assert "c: 266° clockwise, seen from below, three quarters of a turn less 4°\n" in text
    assert text.startswith("Is the bed of bench level to within 0.05 mm?\n\nAs measured, no: ")
