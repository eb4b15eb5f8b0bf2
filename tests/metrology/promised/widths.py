"""How wide intervals are beside those of before, which covered less, and nothing at places.

What was before is kept in tests/data/widths_before.json; with a checkout of commit a06ce2c it is
made again by

    python tests/metrology/promises.py --before CHECKOUT
"""

import json
import math
import os
import subprocess
import sys
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from multiprocessing import Pool
from pathlib import Path
from statistics import fmean
from typing import Any, TypeAlias

import numpy as np

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.comparison.spread_ratio import spread_ratio
from hostctl.metrology.rounded.rounding import spread_from
from hostctl.metrology.spread.setting import setting_of
from promised.cells import SEED
from promised.ratios import RatioCell
from promised.settings import SettingCell
from promised.spreads import SpreadCell
from promised.studies import Graduations, Place, Shape

BEFORE = Path(__file__).parents[2] / "data" / "widths_before.json"
STUDIES, AT_PLACES = 1_200, 1_000
PLACES: tuple[Place, ...] = ((0.0,), (0.4999,))

WidthCell: TypeAlias = SpreadCell | SettingCell | RatioCell


@dataclass(frozen=True, slots=True)
class Width:
    """The middle of high less low, or for a ratio of their log; covered: before, at the worst of
    anywhere and PLACES. most: what the first may be over the second."""

    kind: str
    label: tuple[str, ...]
    now: float
    before: float
    covered: float
    most: float

    @property
    def exempt(self) -> bool:
        """Whether that of before covered less than 94 % by more than two simulation errors."""
        return self.covered < 0.94 - 2.0 * math.sqrt(0.06 * 0.94 / AT_PLACES)

    @property
    def ratio(self) -> float:
        """1 where both are open."""
        if math.isinf(self.before):
            return 1.0
        return self.now / self.before if self.before > 0.0 else math.inf

    @property
    def fails(self) -> bool:
        """Wider than it may be, in the digits that are shown."""
        return not self.exempt and round(self.ratio, 2) > self.most


def cells() -> list[WidthCell]:
    """Fewer than are judged."""
    sigmas, few = (0.3, 0.5, 1.0, 2.0, 5.0), (0.3, 1.0, 3.0)
    found: list[WidthCell] = [
        SpreadCell(Shape(n), sigma) for n in (2, 3, 4, 6, 10, 20, 50, 100) for sigma in sigmas
    ]
    shapes = [Shape(2, 6), Shape(4, 3), Shape(6, 2), Shape(5, 4)]
    shapes += [Shape(12, 1, "bezel"), Shape(4, 3, "bezel"), Shape(12, 1, "previous")]
    found += [SpreadCell(shape, sigma) for shape in shapes for sigma in few]
    found += [
        SettingCell(shape, sigma, 12, share * sigma)
        for shape in (Shape(6), Shape(12), Shape(30), Shape(4, 3))
        for sigma in (0.7, 2.0)
        for share in (0.3, 1.0)
    ]
    pairs = [(Shape(6), Shape(12)), (Shape(20), Shape(20)), (Shape(4, 3), Shape(4, 3))]
    found += [RatioCell(one, two, sigma, 1.0) for one, two in pairs for sigma in few]
    return found


def kind_of(cell: WidthCell) -> str:
    """As `before` calls it."""
    match cell:
        case SpreadCell():
            return "spread"
        case SettingCell():
            return "setting"
        case RatioCell():
            return "ratio"


def most_of(cell: WidthCell) -> float:
    """What is allowed."""
    match cell:
        case SpreadCell(shape=shape):
            return 1.15 if shape.blocks == 1 else 1.3
        case SettingCell():
            return 1.3
        case RatioCell(first=first):
            return 1.15 if first.blocks == 1 else 1.3


def samples_of(cell: WidthCell, place: Place, studies: int) -> list[tuple[Shape, Graduations]]:
    """The seeded studies: the sample, and the rig check or what is compared with."""
    name = f"{kind_of(cell)}|{'|'.join(cell.label)}|{place}"
    rng = np.random.default_rng([SEED, 3, zlib.crc32(name.encode())])
    match cell:
        case SpreadCell():
            drawn = [(cell.shape, cell.sigma)]
        case SettingCell():
            both = math.hypot(cell.sigma, cell.rig_sigma)
            drawn = [(cell.shape, both), (Shape(cell.rig_size), cell.rig_sigma)]
        case RatioCell():
            drawn = [(cell.first, cell.sigma), (cell.second, cell.sigma)]
    return [(shape, shape.read(rng, sigma, [place] * studies)) for shape, sigma in drawn]


def widths() -> list[Width]:
    """All of them, two at a time."""
    with Pool(2) as pool:
        return [one for found in pool.map(widths_of, [[c] for c in cells()], 1) for one in found]


def widths_of(some: Sequence[WidthCell]) -> list[Width]:
    """Beside what is kept of before."""
    before = json.loads(BEFORE.read_text(encoding="utf-8"))
    return [
        Width(
            kind=kind_of(cell),
            label=cell.label,
            now=middle_now(cell),
            before=math.inf if kept["width"] is None else kept["width"],
            covered=min(before[_key(alike)]["covered"] for alike in _at_one_with(cell)),
            most=most_of(cell),
        )
        for cell in some
        for kept in (before[_key(cell)],)
    ]


def _at_one_with(cell: WidthCell) -> list[WidthCell]:
    """The cells in which an interval shows whether it is too narrow to cover: its own, but of two
    readings, which say one number, those of any sigma."""
    if not isinstance(cell, SpreadCell) or cell.shape != Shape(2):
        return [cell]
    return [one for one in cells() if isinstance(one, SpreadCell) and one.shape == cell.shape]


def middle(found: Sequence[float]) -> float:
    """The median, as the mean of the middle fifth: readings come in steps, and so do widths."""
    few = len(found) // 5
    return fmean(sorted(found)[2 * few : len(found) - 2 * few])


def middle_now(cell: WidthCell) -> float:
    """By the functions that `analyse` uses."""
    samples = samples_of(cell, None, STUDIES)

    @cache
    def width(key: str) -> float:
        evidences = [
            shape.evidence(np.array(one))
            for (shape, _), one in zip(samples, json.loads(key), strict=True)
        ]
        match cell:
            case SpreadCell():
                interval = spread_from(evidences[0], 0.95).interval
            case SettingCell():
                setting = setting_of(*evidences)
                if isinstance(setting, NotYet):
                    return math.inf
                interval = setting.interval
            case RatioCell():
                interval = spread_ratio(*evidences).interval
        return _width(cell, interval.low, interval.high)

    return middle(
        [width(json.dumps([read[i].tolist() for _, read in samples])) for i in range(STUDIES)]
    )


def write_before(checkout: str) -> None:
    """Their middle, and how often the truth was covered, by the functions of that checkout."""
    found = {}
    with Pool(2) as pool:
        every = pool.starmap(_before, [(cell, checkout) for cell in cells()], chunksize=1)
    for cell, kept in zip(cells(), every, strict=True):
        found[_key(cell)] = kept
    lines = ",\n".join(f"{json.dumps(key)}: {json.dumps(kept)}" for key, kept in found.items())
    BEFORE.write_text(f"{{\n{lines}\n}}\n", encoding="utf-8")


def _before(cell: WidthCell, checkout: str) -> dict[str, float | None]:
    by_place = [
        _intervals_before(cell, place, STUDIES if place is None else AT_PLACES, checkout)
        for place in (None, *PLACES)
    ]
    truth = 1.0 if isinstance(cell, RatioCell) else cell.sigma
    covered = min(
        sum(one is not None and one[0] <= truth <= one[1] for one in found) / len(found)
        for found in by_place
    )
    width = middle([math.inf if one is None else _width(cell, *one) for one in by_place[0]])
    return {"width": None if math.isinf(width) else width, "covered": covered}


def _intervals_before(
    cell: WidthCell, place: Place, studies: int, checkout: str
) -> list[list[float] | None]:
    samples = samples_of(cell, place, studies)
    asked = [
        {
            "kind": kind_of(cell),
            "samples": [_in_order(shape, read[i]) for shape, read in samples],
            "reference": samples[0][0].reference,
        }
        for i in range(studies)
    ]
    done = subprocess.run(
        [sys.executable, Path(__file__).with_name("before.py")],
        input=json.dumps(asked),
        env={**os.environ, "PYTHONPATH": checkout},
        capture_output=True,
        text=True,
        check=True,
    )
    return list(json.loads(done.stdout))


def _in_order(shape: Shape, one: "np.ndarray[Any, Any]") -> list[list[float]]:
    """Blocks sorted, so that like studies are worked out once."""
    return sorted(sorted(block) for block in shape.blocks_of(one))


def _width(cell: WidthCell, low: float, high: float) -> float:
    if not isinstance(cell, RatioCell):
        return high - low
    return math.log(high / low) if low > 0.0 and math.isfinite(high) else math.inf


def _key(cell: WidthCell) -> str:
    return " | ".join((kind_of(cell), *cell.label))
