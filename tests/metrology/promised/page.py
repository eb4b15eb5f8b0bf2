"""The page: what is promised, how it was simulated, every cell, and the worst of each kind."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from promised import means, ratios, settings, spreads
from promised.cells import COMPARED, ERRORS, LIMITS, SEARCHED, SEED, STUDIES, Cell, Rate, Row
from promised.laws import SIGMA, LawRow
from promised.studies import Place
from promised.widths import STUDIES as STUDIES_OF_WIDTH
from promised.widths import Width

PAGE = Path(__file__).parents[2] / "data" / "promises.md"

_HEAD = f"""# How well what is promised is kept

Written by `python tests/metrology/promises.py` (seed {SEED}, {STUDIES:,} studies a figure); not by
hand. Settings are normal, readings rounded to graduations; every sigma is in graduations, and n are
the values of a block: readings, with the block's own zero where they count from the first, and with
`previous` differences.

Promised: a 95 % interval leaves the truth out in at most 6 % of studies ("covers at least 94 %");
"meets", "does not meet" and "differ" are wrong in at most 5 %, of claims and ratios that are just
not so. Figures are percent of studies in which a statement is wrong. Anywhere: means uniform within
a graduation. Worst: at the worst of some places, searched with one seed ({SEARCHED:,} studies a
place) and judged with another; after "at", the place in graduations from the middle of one, of the
blocks in turn (of both samples, with a semicolon between). A figure fails, and is marked **so**,
that misses its limit by more than {ERRORS} simulation errors.

What is counted from: `datum`; the first setting, `bezel` turned until the dial shows 0, or its
reading `subtracted`; the setting before, `previous`.
"""


_LAWS = f"""## Settings that do not scatter normally

Nothing is promised outside the normal law; these are the rates. One block of n from a datum, sigma
{SIGMA:g} graduations, the mean anywhere. The claim is about the law's own mean and just not so.
Heaps are six deviations of the rest apart, and one in n is an outlier, six off. Noticed: the check
of the normal law doubts it (level 1 %, from 8 settings). Wrong: "meets", by the normal law alone,
and where with a doubt only the count may say it, which takes at least 99 settings.

| n | law | noticed | "meets" wrong, no check | with the check |
| --- | --- | --- | --- | --- |"""

_WIDTHS = f"""## Widths

Median width of the 95 % interval ({STUDIES_OF_WIDTH:,} studies, means anywhere) beside that of
the functions before these, on the same studies; of a ratio, log(high / low). Readings come in
steps and so do widths: a median is the mean of the middle fifth. Promised: at most 1.15 times as
wide, 1.3 with several blocks or the rig taken out, where the old interval covered 94 %. Where it
did not, by more than two simulation errors at the worst of anywhere, amid a graduation and at its
edge (of two readings, which say one number: at the worst of the sigmas too), nothing is promised,
and the row is marked "exempt". An open end counts as inf.

| interval | of | now | before | now / before | covered before |
| --- | --- | --- | --- | --- | --- |"""


@dataclass(frozen=True, slots=True)
class Part:
    """A table of the page."""

    name: str
    about: str
    heads: tuple[str, ...]
    cells: Sequence[Cell]


PARTS = [
    Part(
        "spread",
        "The spread of what was read: its interval, and the verdict without a rig check.",
        ("from", "blocks x n", "sigma"),
        spreads.CELLS,
    ),
    Part(
        "setting",
        "The setting's own spread, the rig taken out, from a datum. Where its sigma is 0, every "
        'claim is met, and "does not meet" is that a setting is told from the rig.',
        ("blocks x n", "sigma", "rig check", "its sigma"),
        settings.CELLS,
    ),
    Part(
        "ratio",
        "The ratio of two spreads, first over second, rig taken out where one is given (readings, "
        "sigma).",
        ("from", "blocks x n", "sigma", "ratio", "rig"),
        ratios.CELLS,
    ),
    Part(
        "mean",
        "The mean of one block from a datum.",
        ("n", "sigma"),
        means.MEANS,
    ),
    Part(
        "difference",
        "The difference of two means that are one and the same, one block each from a datum.",
        ("n", "sigma"),
        means.DIFFERENCES,
    ),
]


@dataclass(frozen=True, slots=True)
class Told:
    """All that the page tells. rows: by the part's name."""

    rows: Mapping[str, Sequence[Row]]
    laws: Sequence[LawRow] = ()
    widths: Sequence[Width] = ()

    @property
    def fails(self) -> bool:
        """Whether anything does."""
        rates = (rate for rows in self.rows.values() for row in rows for rate in row.rates)
        return any(rate.fails for rate in rates) or any(width.fails for width in self.widths)


def page(told: Told) -> str:
    """The whole text."""
    parts = [part for part in PARTS if part.name in told.rows]
    every = [row for part in parts for row in told.rows[part.name]]
    lines = [_HEAD, *_summary(every)]
    for part in parts:
        lines += ["", f"## {part.name.capitalize()}", "", part.about, ""]
        lines += table(part, told.rows[part.name])
    if told.laws:
        lines += ["", _LAWS, *(law_line(row) for row in told.laws)]
    if told.widths:
        lines += ["", _WIDTHS, *(width_line(width) for width in told.widths)]
    return "\n".join((*lines, ""))


def _summary(rows: Sequence[Row]) -> list[str]:
    rates = [(rate, row) for row in rows for rate in row.rates]
    failing = sum(any(rate.fails for rate in row.rates) for row in rows)
    compared, apart = sum(row.compared for row in rows), sum(row.apart for row in rows)
    lines = [
        f"{2 * len(rows)} cells, two in a row; failing rows: {failing}. All is worked out for many "
        f"studies at once; {COMPARED} studies of each row were also put to the functions that "
        f"`analyse` uses: of {compared:,} studies {apart} came out other.",
        "",
        "| wrong in the worst cell | promised at most | anywhere | at the worst place |",
        "| --- | --- | --- | --- |",
    ]
    for statement in LIMITS:
        of_it = [rate for rate, _ in rates if rate.statement == statement]
        if of_it:
            lines.append(
                f"| {statement} | {100 * LIMITS[statement]:g} "
                f"| {100 * max(rate.anywhere for rate in of_it):.2f} "
                f"| {100 * max(rate.worst for rate in of_it):.2f} |"
            )
    return lines


def table(part: Part, rows: Sequence[Row]) -> list[str]:
    """One part's."""
    statements = [name for name in LIMITS if any(_rate(row, name) for row in rows)]
    heads = [head for name in statements for head in (f"{name}, anywhere", "worst")]
    lines = [_line((*part.heads, *heads)), _line(["---"] * (len(part.heads) + len(heads)))]
    return lines + [line_of(row, statements) for row in rows]


def line_of(row: Row, statements: Sequence[str]) -> str:
    """One row's."""
    cells = list(row.label)
    for name in statements:
        rate = _rate(row, name)
        cells += _figures(rate) if rate else ["", ""]
    return _line(cells)


def law_line(row: LawRow) -> str:
    """One law at one size."""
    figures = (row.noticed, row.meets, row.with_rule)
    return _line((str(row.n), row.law, *(f"{100 * figure:.1f}" for figure in figures)))


def width_line(width: Width) -> str:
    """One interval's."""
    ratio = f"{width.ratio:.2f}"
    if width.exempt:
        ratio += ", exempt"
    return _line(
        (
            width.kind,
            ", ".join(width.label),
            f"{width.now:.3g}",
            f"{width.before:.3g}",
            f"**{ratio}**" if width.fails else ratio,
            f"{100 * width.covered:.1f}",
        )
    )


def _rate(row: Row, statement: str) -> Rate | None:
    return next((rate for rate in row.rates if rate.statement == statement), None)


def _figures(rate: Rate) -> list[str]:
    at = "; ".join(_place(place) for place in rate.places)
    anywhere, worst = f"{100 * rate.anywhere:.2f}", f"{100 * rate.worst:.2f} at {at}"
    return [
        f"**{figure}**" if rate.misses(share) else figure
        for figure, share in ((anywhere, rate.anywhere), (worst, rate.worst))
    ]


def _place(place: Place) -> str:
    return " ".join(f"{p:.2f}" for p in place or ())


def _line(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"
