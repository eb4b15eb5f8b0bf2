"""Tables of heights for tests: published and constructed sets."""

import csv
import json
from pathlib import Path
from typing import Any

DATA = Path(__file__).parents[2] / "data"
CONSTRUCTED = json.loads((DATA / "flatness_constructed.json").read_text())["cases"]
MOODY = json.loads((DATA / "flatness_moody.json").read_text())["recomputed"]
TURNS = json.loads((DATA / "levelling_turns.json").read_text())["cases"]


def table(tmp_path: Path, rows: Any, head: str = "x_mm,y_mm,height_mm") -> Path:
    path = tmp_path / "heights.csv"
    lines = [head, *(",".join(map(str, row)) for row in rows)]
    path.write_text("\n".join(lines) + "\n")
    return path


def moody_rows() -> list[tuple[float, float, str]]:
    """Moody 1955: the seven lines that agree; heights in 1e-5 inch."""
    rows = csv.DictReader((DATA / "flatness_moody_heights.csv").read_text().splitlines())
    found = {
        (
            round(float(row["x_grid"]) * 4, 6),
            round(float(row["y_grid"]) * 4, 6),
        ): f"{float(row['height_1e-5_inch']) * 1e-5:.12f}"
        for row in rows
        if row["line"] != "E_W"
    }
    return [(x, y, z) for (x, y), z in found.items()]
