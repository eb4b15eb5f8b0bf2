"""Writes tests/data/true_gap_whole_chain.md:

PYTHONPATH=tests:tests/store python tests/report/tied_promises.py

Five minutes on two cores.
"""

import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import sqrt
from multiprocessing import Pool
from pathlib import Path
from tempfile import TemporaryDirectory

from tied_studies import MARGIN_MM, SPOILED, TiedStudy, Told, told

from hostctl.metrology.basis.estimate import Estimate

PAGE = Path(__file__).parents[1] / "data" / "true_gap_whole_chain.md"
STUDIES, AT_ONCE = 500, 50
ERRORS = 3.5
LIMITS = {
    "interval": 0.06,
    "on target": 0.05,
    "off target": 0.05,
    "correction": 0.05,
    "false alarm": 0.05,
    "not noticed": 0.05,
    "not marked": 0.0,
}
SPOILED_MM = {"touch": 0.03, "feelers": 0.085, "gauge-block": 0.03}
CELLS = (
    *(TiedStudy(by=by) for by in SPOILED_MM),
    TiedStudy(rig_mm=0.01),
    TiedStudy(touch_mm=0.0005, rig_mm=0.0005, sd_mm=0.003),
    TiedStudy(guides_mm=0.02, trials=4),
    TiedStudy(by="gauge-block", guides_mm=0.02, trials=4),
    TiedStudy(drift_mm=0.004),
    *(TiedStudy(spoiled=how, spoiled_mm=SPOILED_MM["touch"]) for how in SPOILED),
    TiedStudy(by="feelers", spoiled=SPOILED[0], spoiled_mm=SPOILED_MM["feelers"]),
    TiedStudy(by="gauge-block", spoiled=SPOILED[1], spoiled_mm=SPOILED_MM["gauge-block"]),
)
_HEAD = f"""# How well the whole chain keeps what is said of the true gap

Written by `PYTHONPATH=tests:tests/store python tests/report/tied_promises.py`, {STUDIES:,} studies
a row; not by hand.
A study is carried out by the run's own procedure on a bench whose truth is known: ties, checks on
the way and at the end, new ties where a check says so. What it keeps is written to a database, read
again and analysed. 8 settings with a bias anywhere within 0.1 mm either way, read to 0.01 mm; of a
tie 5 observations, of a check 3. By touch steps are 0.01 mm; blades come every 0.05 mm and are
wrong by up to 0.004 mm, the block by up to 0.0005 mm, felt to 0.003 and 0.008 mm, all as stated;
what repeating can't show has a standard deviation of 0.004 mm, as stated.

What is promised and how it is judged is in `trueness.md`; the margin is {MARGIN_MM:g} mm. A false
alarm is one check's. Of ties spoiled on purpose by more than twice the limit, while the settings
before the first check are made: how many that check does not notice; and in how many of those
noticed anything else is marked than all settings since the last good check, or any is missing.
Figures are percent. What misses its limit by more than {ERRORS} simulation errors is marked **so**.

Scatter, in micrometres: of where contact is met, of every reading (the rig's), of settings.
"""
_HEADS = ("tie", "with", "contact", "rig", "settings", *LIMITS)


@dataclass(frozen=True, slots=True)
class Row:
    """wrong: of how many, in how many."""

    of: TiedStudy
    wrong: dict[str, tuple[int, int]]

    def misses(self, statement: str) -> bool:
        """Whether it is over its limit by more than chance makes it."""
        many, wrong = self.wrong[statement]
        limit = LIMITS[statement]
        return bool(many) and wrong / many > limit + ERRORS * sqrt(limit * (1 - limit) / many)

    @property
    def fails(self) -> bool:
        """Whether any does."""
        return any(map(self.misses, self.wrong))

    @property
    def line(self) -> str:
        """As in the table."""
        of = self.of
        scatters = (f"{1000 * mm:g}" for mm in (of.touch_mm, of.rig_mm, of.sd_mm))
        return _line((of.by, _with(of), *scatters, *(self._figure(name) for name in LIMITS)))

    def _figure(self, statement: str) -> str:
        many, wrong = self.wrong[statement]
        if not many:
            return ""
        text = f"{100 * wrong / many:.1f}"
        return f"**{text}**" if self.misses(statement) else text


def _with(of: TiedStudy) -> str:
    if of.spoiled:
        return f"{of.spoiled} by {of.spoiled_mm:g} mm"
    if of.guides_mm is not None:
        return f"2 points, guides ±{of.guides_mm:g} mm"
    return f"drift of {of.drift_mm:g} mm" if of.drift_mm else ""


def wrong_in(of: TiedStudy, study: Told) -> Iterator[tuple[str, bool]]:
    """Each statement, and whether it is wrong."""
    on, narrow, wide = (
        study.found(study.mean_mm + away * 1.000001) for away in (0.0, MARGIN_MM, -MARGIN_MM)
    )
    assert isinstance(on.off, Estimate)
    assert isinstance(on.correction, Estimate)
    yield "interval", 0.0 not in on.off.interval
    yield "correction", 0.0 not in on.correction.interval
    yield "off target", on.standing == "off target"
    yield "on target", "on target" in (narrow.standing, wide.standing)
    if not of.spoiled:
        yield from (("false alarm", bool(check["moved"])) for check in study.checked)
        return
    first = study.checked[0]
    if of.spoiled_mm > 2.0 * first["limit_mm"]:
        yield "not noticed", not first["moved"]
    if first["moved"]:
        yield "not marked", not _is_marked(of, study, on.doubted)


def _is_marked(of: TiedStudy, study: Told, doubted: int) -> bool:
    """Whether all settings before the first check are, which noticed, and all settings count."""
    listed = [len(check["doubted"]) for check in study.checked if check["moved"]]
    counted = sum(len(block.values_mm) for block in study.material.blocks)
    return (listed[0], sum(listed), counted) == (study.settings_at_first_check, doubted, of.trials)


def judged(of: TiedStudy, studies: int = STUDIES) -> Row:
    """As many studies of it."""
    wrong = {name: [0, 0] for name in LIMITS}
    for seed in range(-(-studies // AT_ONCE)):
        with TemporaryDirectory() as folder:
            for study in told(of, min(AT_ONCE, studies), Path(folder), seed):
                for name, is_wrong in wrong_in(of, study):
                    wrong[name][0] += 1
                    wrong[name][1] += is_wrong
    return Row(of, {name: (many, count) for name, (many, count) in wrong.items()})


def page(rows: Sequence[Row]) -> str:
    """The whole text."""
    failing = sum(row.fails for row in rows)
    table = [_line(_HEADS), _line(["---"] * len(_HEADS)), *(row.line for row in rows)]
    return "\n".join((_HEAD, f"{len(rows)} rows; failing: {failing}.", "", *table, ""))


def _line(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"


def main() -> int:
    """The command. Exit code 1: a row fails."""
    with Pool(2) as pool:
        rows = pool.map(judged, CELLS, chunksize=1)
    PAGE.write_text(page(rows), encoding="utf-8")
    return int(any(row.fails for row in rows))


if __name__ == "__main__":
    sys.exit(main())
