"""The rig check that readings are judged by, as material: the one that was named, or fits best."""

from dataclasses import replace
from pathlib import Path

from hostctl.errors import DataError
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.report.sources.material import Material
from hostctl.report.sources.rig_check import RigChoice, named_rig_check, rig_check_for
from hostctl.report.sources.run_material import run_material
from hostctl.report.sources.spread import spread_of


def rig_for(path: Path, run: int) -> Material | None:
    """The rig check of this database that fits a run best; None without one that has a spread.

    Raises StoreError.
    """
    choice = rig_check_for(path, run)
    rig = None if choice is None else run_material(path, choice.run)
    if choice is None or rig is None or spread_of(rig.blocks, rig) is None:
        return None
    return _noted(rig, choice)


def named_rig(path: Path, check: int, rig: Material, run: int | None) -> Material:
    """A check of this database that somebody named, with its doubts. run: what it is to judge.

    Raises StoreError.
    """
    return _noted(rig, named_rig_check(path, check, run))


def run_spread(database: Path, run: int) -> tuple[RoundedSpread, Material] | None:
    """Of all that a run has read, as a rig check's, with what it is of; None where it can't say.

    Raises StoreError.
    """
    try:
        material = run_material(database, run)
    except DataError:
        return None
    spread = spread_of(material.blocks, material)
    return None if spread is None else (spread, material)


def _noted(rig: Material, choice: RigChoice) -> Material:
    """With why it was chosen, where it fits badly, and its own notes."""
    own = (f"{rig.name}: {note}" for note in rig.notes)
    return replace(rig, notes=(*choice.doubts, choice.why, *own))
