"""The readings of a source that count, as `run_material` has them."""

from array import array

from hostctl.metrology.basis.estimate import Readings
from hostctl.report.enclosed.sourced import COUNTS, Rows
from hostctl.report.sources.run_material import counting_values
from hostctl.report.sources.tie_record import is_of_tie
from hostctl.store.columns import Columns


def columns_of(rows: Rows) -> Columns:
    """The same as columns of a run."""
    return Columns(
        value_mm=rows.value_mm,
        relative_mm=rows.relative_mm,
        group=rows.group,
        trial=rows.trial,
        is_zero=rows.is_zero,
        void=array("b", (void != COUNTS for void in rows.void)),
    )


def values_of(rows: Rows, *, with_ties: bool) -> list[tuple[int, Readings]]:
    """Each less its zero, with the place of their group."""
    found = counting_values(columns_of(rows))
    if with_ties:
        return found
    return [(at, values) for at, values in found if not is_of_tie(rows.groups[at])]
