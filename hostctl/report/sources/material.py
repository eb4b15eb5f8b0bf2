"""What an analysis works on, wherever it came from: blocks of readings in mm, and their context."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import chain
from typing import TYPE_CHECKING

from hostctl.config.study_kind import words_of
from hostctl.errors import DataError
from hostctl.metrology.basis.estimate import Readings
from hostctl.metrology.basis.reference import Reference

if TYPE_CHECKING:
    from hostctl.report.sources.tied import Footing, Tied
    from hostctl.store.looks import Seen


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Readings that share one zero, mm, in the order taken. Names are empty where not known.

    workshop: where they were taken, its machine included; empty where all come from one source.
    footing: the tie that makes them gaps; None where nothing does.
    part_of: the block whose part it is, where a tie that moved in its midst divides one.
    """

    method: str
    operator: str
    point: str
    values_mm: Readings
    workshop: str = ""
    footing: "Footing | None" = None
    part_of: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Goal:
    """What is good enough: at least `proportion` of settings within ± `within_mm`, so sure."""

    within_mm: float
    proportion: float = 0.95
    confidence: float = 0.95


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """Readings to be analysed.

    name: what to call it, as "run 2".  kind: of the study; empty for a file.
    reference: what the maths takes the readings to be relative to.  zero_known: whether they are
    distances from a true datum, so that a mean says how far the method is off.
    own_zeros: whether the datum was laid on the bed that is being set: a block's zero is then the
    height at which whoever came before left the screws, and no two blocks have it in common.
    tied: what makes the readings gaps: they are then deviations from the gap that each method is
    meant to set, positive where it is too wide; None where nothing ties them to the nozzle.
    resolution_from: where the resolution comes from, in words.  notes: what a reader must know.
    seen: of which runs on record, and how far they had come; none of a file.
    """

    name: str
    title: str
    kind: str
    machine: str
    reference: Reference
    zero_known: bool
    resolution_mm: float
    resolution_from: str
    blocks: tuple[Block, ...]
    goal: Goal | None
    notes: tuple[str, ...]
    own_zeros: bool = False
    tied: "Tied | None" = None
    seen: "tuple[Seen, ...]" = ()

    @property
    def counts_from(self) -> Reference | None:
        """What readings are relative to; None where a file does not say: then they are taken as
        they stand, each block about its own mean."""
        unsaid = not self.kind and self.reference == "datum" and not self.zero_known
        return None if unsaid else self.reference

    @property
    def nobody_set(self) -> bool:
        """Whether nothing was set by hand, so that the readings themselves are judged."""
        return not words_of(self.kind).people_set

    @property
    def readings(self) -> int:
        """How many readings there are."""
        return sum(len(block.values_mm) for block in self.blocks)


def goal_for(
    own: Goal | None,
    *,
    within_mm: float | None,
    proportion: float | None,
    confidence: float | None,
) -> Goal | None:
    """The study's own goal, changed where somebody says otherwise; None without a tolerance."""
    tolerance = within_mm or (own.within_mm if own else None)
    if tolerance is None:
        return None
    base = own or Goal(within_mm=tolerance)
    return Goal(
        within_mm=tolerance,
        proportion=proportion or base.proportion,
        confidence=confidence or base.confidence,
    )


def check_rig(rig: Material, machine: str) -> None:
    """Raises DataError for what can't be taken out as a rig: another machine's, or settings."""
    if rig.kind and not rig.nobody_set:
        what = (
            f"is a {rig.kind}, in which people set the gap: taken out, it would hide their spread"
        )
        raise DataError(rig.name, what, "Name a rig check; see: hostctl runs")
    if rig.machine and machine and rig.machine != machine:
        what = f"is of {rig.machine}, and the readings are of {machine}"
        raise DataError(rig.name, what, "Name a check of the same machine; see: hostctl runs")


def together(materials: Sequence[Material]) -> Material:
    """Several taken as one: their blocks side by side, each about its own mean.

    Runs of one machine are of one workshop; a file, which names no machine, is one by itself. What
    is said to be of a workshop already is of that one.
    Raises DataError where they can't be: another reference, another resolution, or a rig check
    among studies.
    """
    first, *others = materials
    for other in others:
        _check_alike(first, other)
    return _side_by_side(materials) if others else first


def _side_by_side(materials: Sequence[Material]) -> Material:
    return replace(
        materials[0],
        name=", ".join(material.name for material in materials),
        title="Taken together: " + "; ".join(material.title for material in materials),
        machine=materials[0].machine if len(_workshops(materials)) == 1 else "",
        zero_known=all(material.zero_known for material in materials),
        own_zeros=any(material.own_zeros for material in materials),
        tied=_tied_together(materials),
        blocks=tuple(chain.from_iterable(map(_of_workshop, materials))),
        seen=tuple(chain.from_iterable(material.seen for material in materials)),
        goal=next((material.goal for material in materials if material.goal), None),
        notes=tuple(chain.from_iterable(map(_named_notes, materials))),
    )


def _tied_together(materials: Sequence[Material]) -> "Tied | None":
    ties = [material.tied for material in materials if material.tied is not None]
    if not ties:
        return None
    from hostctl.report.sources.tied import side_by_side

    return side_by_side(ties)


def _workshops(materials: Sequence[Material]) -> set[str]:
    return {block.workshop for material in materials for block in _of_workshop(material)}


def _named_notes(material: Material) -> tuple[str, ...]:
    return tuple(f"{material.name}: {note}" for note in material.notes)


def _of_workshop(material: Material) -> tuple[Block, ...]:
    """Its blocks, with the workshop they come from: a machine, or a file that names none."""
    workshop = material.machine or material.name
    return tuple(replace(one, workshop=one.workshop or workshop) for one in material.blocks)


def _check_alike(first: Material, other: Material) -> None:
    if first.nobody_set != other.nobody_set and first.kind and other.kind:
        what = f"is a {other.kind}, but {first.name} a {first.kind}"
        raise DataError(other.name, what, "A rig check is named by: --rig RUN")
    _check_tied_alike(first, other)
    for what, mine, theirs in (
        ("what readings are relative to", first.reference, other.reference),
        ("the resolution in mm", first.resolution_mm, other.resolution_mm),
    ):
        if mine != theirs:
            what = f"{what} is {theirs}, but {mine} in {first.name}"
            raise DataError(other.name, what, "Analyse them one by one.")


def _check_tied_alike(first: Material, other: Material) -> None:
    if (first.tied is None) != (other.tied is None):
        tied, bare = (first, other) if first.tied is not None else (other, first)
        what = f"nothing ties its readings to the nozzle, but {tied.name} gives gaps"
        raise DataError(bare.name, what, "Analyse them one by one.")
    if first.tied is not None and other.tied is not None:
        from hostctl.report.sources.tied import disagreement

        if what := disagreement(first.tied, other.tied):
            raise DataError(other.name, f"{what} in {first.name}", "Analyse them one by one.")


def only(material: Material, method: str | None, operator: str | None) -> Material:
    """The blocks of one method, one operator. Raises DataError, with the names, for none."""
    for what, wanted, found in (
        ("method", method, {block.method for block in material.blocks}),
        ("operator", operator, {block.operator for block in material.blocks}),
    ):
        if wanted is not None and wanted not in found:
            raise DataError(
                material.name,
                f"no {what} is called '{wanted}'",
                f"There is: {', '.join(sorted(name or '(none)' for name in found))}.",
            )
    blocks = tuple(
        block
        for block in material.blocks
        if method in (None, block.method) and operator in (None, block.operator)
    )
    if not blocks:
        raise DataError(
            material.name, f"no reading of {method} by {operator}", "Name one of them only."
        )
    return replace(material, blocks=blocks)
