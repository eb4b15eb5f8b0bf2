"""Studies drawn at random, small ones, in all the ways in which readings can come."""

from dataclasses import dataclass
from random import Random

from hostctl.metrology.basis.reference import Reference
from hostctl.metrology.claims.looks import Looks
from hostctl.report.sources.looks import Looking
from hostctl.report.sources.material import Block, Goal, Material

LOOKINGS = (
    Looking(),
    Looking(looks=Looks(declared=3)),
    Looking(looks=Looks(number=2, spent=0.5), earlier=1, again=True),
    Looking(looks=Looks(number=2, declared=1, spent=1.0), earlier=1, too_late=2),
)

REFERENCES: tuple[Reference, ...] = ("first", "previous", "datum")
KINDS = ("comparison", "comparison", "comparison", "rig-check", "probe-loop", "")
RESOLUTIONS_MM = (0.01, 0.001, 0.0254, 0.02)
COUNTS = (1, 2, 4, 6, 10)  # of readings in a block
SIGMAS = (0.0, 0.2, 0.7, 1.5, 4.0)  # in graduations; 0: all alike


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """Some readings, the rig check to take out, and which look at them this is."""

    material: Material
    rig: Material | None
    look: Looking
    margin: float


def random_study(seed: int) -> Study:
    """The study of this seed; the same one whenever asked for."""
    chance = Random(seed)
    kind = chance.choice(KINDS)
    resolution_mm = chance.choice(RESOLUTIONS_MM)
    reference = chance.choice(REFERENCES)
    material = _material(
        f"study {seed}",
        kind,
        reference,
        resolution_mm,
        _blocks(chance, kind, resolution_mm),
        chance,
    )
    return Study(
        material=material,
        rig=_rig(chance, resolution_mm),
        look=chance.choice(LOOKINGS),
        margin=chance.choice((1.5, 3.0)),
    )


def _material(
    name: str,
    kind: str,
    reference: Reference,
    resolution_mm: float,
    blocks: tuple[Block, ...],
    chance: Random,
) -> Material:
    datum = reference == "datum"
    own_zeros = datum and kind == "comparison" and chance.random() < 0.3
    tolerance_mm = chance.choice((None, 2.0, 5.0, 20.0))
    return Material(
        name=name,
        title=f"Some readings · {name} on bench",
        kind=kind,
        machine=chance.choice(("bench", "")),
        reference=reference,
        zero_known=datum and not own_zeros and kind != "probe-loop",
        own_zeros=own_zeros,
        resolution_mm=resolution_mm,
        resolution_from="drawn",
        blocks=blocks,
        goal=None if tolerance_mm is None else Goal(within_mm=tolerance_mm * resolution_mm),
        notes=chance.choice(((), ("Trials skipped: 2.",))),
    )


def _blocks(chance: Random, kind: str, resolution_mm: float) -> tuple[Block, ...]:
    nobody = kind in ("rig-check", "probe-loop")
    methods = ("",) if nobody else ("slip", "light", "gauge")[: chance.randint(1, 3)]
    operators = ("",) if nobody else ("volunteer-a", "volunteer-b")[: chance.randint(1, 2)]
    points = ("left", "right")[: chance.randint(1, 2)]
    counts = chance.choice((COUNTS, COUNTS, (3,), (6,)))
    return tuple(
        Block(
            method=method,
            operator=operator,
            point=point,
            values_mm=_values(chance, chance.choice(counts), resolution_mm),
        )
        for method in methods
        for operator in operators
        for point in points
        for _ in range(chance.choice((1, 1, 2)))
    )


def _values(chance: Random, count: int, resolution_mm: float) -> list[float]:
    """Now and then one that is no whole number of graduations."""
    centre, sigma = chance.uniform(-3.0, 3.0), chance.choice(SIGMAS)
    off_grid = 0.3 if chance.random() < 0.02 else 0.0
    return [resolution_mm * (round(chance.gauss(centre, sigma)) + off_grid) for _ in range(count)]


def _rig(chance: Random, resolution_mm: float) -> Material | None:
    sigma = chance.choice((None, 0.0, 0.4, 1.0, 6.0))
    if sigma is None:
        return None
    values = [resolution_mm * round(chance.gauss(0.0, sigma)) for _ in range(12)]
    block = Block(method="rig-check", operator="", point="left", values_mm=values)
    return Material(
        name="rig",
        title="rig",
        kind="rig-check",
        machine="bench",
        reference="first",
        zero_known=False,
        resolution_mm=resolution_mm,
        resolution_from="drawn",
        blocks=(block,),
        goal=None,
        notes=("Rig check: the only one.",),
    )
