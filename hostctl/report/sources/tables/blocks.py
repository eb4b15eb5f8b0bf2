"""The rows of a table as blocks of readings, each counted from its own zero where one is listed."""

from collections.abc import Iterator, Sequence

from hostctl.metrology.basis.estimate import Readings
from hostctl.metrology.basis.reference import Reference
from hostctl.report.sources.material import Block
from hostctl.report.sources.tables.columns import printable
from hostctl.report.sources.tables.rows import Part, Rows

_MANY = 20_000  # readings from which arrays pay


def blocks_of(rows: Rows, reference: Reference, *, unnamed: str) -> Iterator[Block]:
    """The blocks that hold readings. unnamed: what a method without a name is called."""
    for names, part in rows.parts.items():
        method, operator, point, *_ = map(printable, names)
        if part.values:
            yield Block(
                method=method or unnamed,
                operator=operator,
                point=point,
                values_mm=_values(part, reference),
            )


def _values(part: Part, reference: Reference) -> Readings:
    values: Sequence[float] = part.values
    if reference != "previous" and part.zero is not None:
        zero = part.zero
        values = [round(value - zero, 9) for value in values]
    if len(values) > _MANY:
        import numpy as np

        return np.asarray(values, dtype=np.float64)
    return list(values)
