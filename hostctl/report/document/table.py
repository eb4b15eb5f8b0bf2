"""A table as plain text: columns as wide as they need, two spaces between."""

from collections.abc import Collection, Sequence


def table(
    heads: Sequence[str], rows: Sequence[Sequence[str]], *, right: Collection[int] = ()
) -> str:
    """Heads, a rule, and the rows; the columns in `right` are set flush right."""
    widths = [max(len(row[column]) for row in (heads, *rows)) for column in range(len(heads))]
    lines = [heads, ["─" * width for width in widths], *rows]
    return "\n".join(_line(line, widths, right) for line in lines)


def _line(cells: Sequence[str], widths: Sequence[int], right: Collection[int]) -> str:
    set_cells = [
        cell.rjust(width) if column in right else cell.ljust(width)
        for column, (cell, width) in enumerate(zip(cells, widths, strict=True))
    ]
    return "  ".join(set_cells).rstrip()
