"""Runs, weeks or machines held apart, where taken together they would be pooled.

Whose hands, or where nobody is named which method, then says of what they are as well: whatever
compares hands by one method, or methods side by side, so compares runs, weeks or machines.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Final, Literal, get_args

from hostctl.config.study_kind import words_of
from hostctl.errors import DataError
from hostctl.report.sources.material import Block, Material, only, together

By = Literal["run", "week", "machine"]
WAYS: Final = get_args(By)

_NOTE = (
    "Held apart by {by}: hands of one name count as different ones in different {by}s, and what "
    "they differ by may lie in the rig, the bed or the day as well."
)


def apart(
    materials: Sequence[Material],
    by: By,
    began: Sequence[datetime | None],
    *,
    method: str | None = None,
    operator: str | None = None,
) -> Material:
    """Several as one, as `together` has it, named by their run, by the week in which each began
    (ISO 8601), or by their machine. A file is a run of its own.

    began: when each began to be read; None of a file.  method, operator: as in `only`.
    Raises DataError as those two do, and where it is not known what to name one by.
    """
    only(together(materials), method, operator)
    labelled = [
        replace(material, blocks=blocks)
        for material, at in zip(materials, began, strict=True)
        if (blocks := tuple(_blocks(material, _label(material, by, at), method, operator)))
    ]
    found = together(labelled)
    return replace(
        found,
        title=f"Held apart by {by}: " + "; ".join(material.title for material in labelled),
        notes=(*found.notes, _NOTE.format(by=by)),
    )


def _blocks(
    material: Material, label: str, method: str | None, operator: str | None
) -> Iterator[Block]:
    for block in material.blocks:
        if method in (None, block.method) and operator in (None, block.operator):
            yield _labelled(block, label, material)


def _labelled(block: Block, label: str, material: Material) -> Block:
    if block.operator:
        return replace(block, operator=f"{block.operator} {label}")
    method = block.method or words_of(material.kind).nobody_sets
    return replace(block, method=f"{method} {label}" if method else label)


def _label(material: Material, by: By, began: datetime | None) -> str:
    if by == "run":
        return f"in {material.name}"
    if by == "week" and began is not None:
        year, week, _ = began.isocalendar()
        return f"in week {year}-{week:02d}"
    if by == "machine" and material.machine:
        return f"on {material.machine}"
    raise DataError(
        material.name, f"it does not say its {by}", "Hold it apart by run, or leave it out."
    )
