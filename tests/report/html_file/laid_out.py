"""Whole reports as pages, of readings made up for what is hard to lay out."""

import random
from array import array
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from math import nan

from enclosing import enclosure_of
from reported import report_from

from hostctl.report.analysis.analysis import Wish, analyse
from hostctl.report.enclosed.sourced import Sourced, sourced_material
from hostctl.report.enclosed.writing import enclosed_json, metas_of, script_of, sealed
from hostctl.report.html_file.every_reading import every_reading
from hostctl.report.html_file.page import page
from hostctl.report.sources.material import Block, Goal, Material, together
from hostctl.report.whole.document import REPORT

HOSTILE = (
    "</script><script>document.title='taken'</script><img src=x onerror=alert(1)>\u202egnorw\x07"
)
LONG = "the-light-that-was-soldered-by-the-committee-of-the-tool-library-one-winter-evening"
RIGHT_TO_LEFT = "דיו על נייר"


def source(blocks: Sequence[Block], name: str = "readings.csv") -> Sourced:
    """These blocks, each about its own zero, as if from a file."""
    return sourced_material(
        Material(
            name=name,
            title="Which way of setting the gap can volunteers trust?",
            kind="comparison",
            machine="bench-two",
            reference="first",
            zero_known=True,
            resolution_mm=0.01,
            resolution_from="named in the file",
            blocks=tuple(blocks),
            goal=Goal(within_mm=0.05),
            notes=(),
        )
    )


def drawn(sigma_mm: Mapping[str, float], hands: Sequence[str], n: int, blocks: int = 1) -> Sourced:
    """So many readings of each method, in each pair of hands and block."""
    chance = random.Random(20_261_128)
    return source(
        [
            Block(
                method=method,
                operator=operator,
                point=f"point {1 + number}",
                values_mm=[round(chance.gauss(0.0, sigma), 2) for _ in range(n)],
            )
            for method, sigma in sigma_mm.items()
            for operator in hands
            for number in range(blocks)
        ]
    )


def with_history(sourced: Sourced) -> Sourced:
    """The same as if recorded: its first reading a zero, its third void, with times and heat."""
    count = len(sourced.rows)
    rows = replace(
        sourced.rows,
        is_zero=array("b", [1] + [0] * (count - 1)),
        attempt=array("i", [1, 1, 1] + [2] * (count - 3)),
        void=array("i", [-1, -1, 0] + [-1] * (count - 3)),
        voids=(f"redo was said, {HOSTILE}",),
        taken_at_ms=array("q", (1_795_900_000_000 + 23_456 * at for at in range(count))),
        nozzle_c=array("d", [nan] + [21.04] * (count - 1)),
    )
    return replace(sourced, rows=rows)


def page_of(*sources: Sourced, rig: Sourced | None = None) -> str:
    """The report of these, as the command writes it."""
    enclosure = enclosure_of(sources, rig)
    material = together([one.material for one in sources])
    analysis = analyse(material, rig.material if rig else None, Wish(goal=material.goal))
    document = REPORT.document(report_from(sources, rig, material, analysis), True)
    text = enclosed_json(enclosure)
    return sealed(
        page(
            document,
            head=metas_of(text),
            readings=every_reading(enclosure.every_source),
            foot=script_of(text),
        )
    )


def _alike() -> str:
    slip = Block(method="slip", operator="", point="", values_mm=[0.0] * 12)
    return page_of(source([slip]))


def _eight() -> str:
    names = [HOSTILE, LONG, RIGHT_TO_LEFT, *(f"method {number}" for number in range(5))]
    sigmas = {name: 0.005 + 0.004 * place for place, name in enumerate(names)}
    return page_of(with_history(drawn(sigmas, ("volunteer-a", HOSTILE), 6)))


PAGES: Mapping[str, Callable[[], str]] = {
    "one reading": lambda: page_of(drawn({"slip": 0.02}, ("",), 1)),
    "all alike, one pair of hands": _alike,
    "100 readings of 2 methods": lambda: page_of(
        with_history(drawn({"slip": 0.02, "light": 0.008}, ("volunteer-a", "volunteer-b"), 25))
    ),
    "8 methods, hostile and long names": _eight,
}


def many(count: int) -> Sourced:
    """So many readings, of two methods in two pairs of hands."""
    return drawn({"slip": 0.02, "light": 0.008}, ("volunteer-a", "volunteer-b"), count // 40, 10)
