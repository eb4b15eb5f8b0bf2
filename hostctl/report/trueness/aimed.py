"""Readings of which somebody says now what gap was wanted."""

from dataclasses import dataclass, replace

from hostctl.errors import DataError
from hostctl.report.sources.material import Block, Material
from hostctl.report.sources.tied import Footing, Tied, counted_from


@dataclass(frozen=True, slots=True, kw_only=True)
class Aim:
    """What gap was wanted, mm; None: as the study has it.

    margin_mm: a mean no further off is on target; None: as the study has it, or not stated.
    tie_u_mm: standard uncertainty of where the gap of a file's readings is 0; None: taken as exact.
    """

    target_mm: float | None
    margin_mm: float | None = None
    tie_u_mm: float | None = None


def aimed(material: Material, aim: Aim | None) -> Material:
    """The same, held against this gap, by whatever method.

    Raises DataError where its readings are no gaps, or have a tie of their own.
    """
    if aim is None:
        return material
    if material.tied is None:
        return _tied_as_given(material, aim)
    if material.nobody_set:
        what = "is of ties alone: nobody set a gap in it"
        raise DataError(material.name, what, "Leave out the target.")
    if aim.tie_u_mm is not None and material.tied.by:
        what = "has a tie of its own, which says how well its gaps are known"
        raise DataError(material.name, what, "Leave out what was said of it.")
    return _held_against(material, material.tied, aim)


def _held_against(material: Material, tied: Tied, aim: Aim) -> Material:
    """Another gap wanted, of every method, or another margin."""
    if aim.margin_mm is not None:
        tied = replace(tied, margin_mm=aim.margin_mm)
    if aim.target_mm is None:
        return replace(material, tied=tied)
    blocks = (_less(one, aim.target_mm - tied.meant_mm(one.method)) for one in material.blocks)
    wanted = {name: replace(one, meant_mm=aim.target_mm) for name, one in tied.wanted.items()}
    return replace(
        material,
        tied=replace(tied, target_mm=aim.target_mm, wanted=wanted),
        blocks=tuple(blocks),
    )


def _tied_as_given(material: Material, aim: Aim) -> Material:
    """Readings of a file that are gaps as they stand."""
    if aim.target_mm is None and not material.kind:
        raise DataError(material.name, "does not say what gap was wanted", "Say it: --target MM.")
    if material.kind or material.counts_from != "datum" or aim.target_mm is None:
        what = "its readings are no gaps in mm: nothing ties them to the nozzle"
        raise DataError(material.name, what, "Leave out the target.")
    from hostctl.metrology.trueness.given import given_constant

    u_mm = aim.tie_u_mm or 0.0
    footing = Footing(constant=given_constant(u_mm))
    blocks = (_less(block, aim.target_mm) for block in material.blocks)
    return replace(
        material,
        tied=Tied(
            by="",
            target_mm=aim.target_mm,
            margin_mm=aim.margin_mm,
            wanted={},
            beyond_mm=u_mm,
        ),
        blocks=tuple(replace(block, footing=footing) for block in blocks),
    )


def _less(block: Block, length_mm: float) -> Block:
    return replace(block, values_mm=counted_from(-length_mm, block.values_mm, -1.0))
