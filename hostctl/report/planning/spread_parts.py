"""How many trials to know a spread, and to see that one spreads less, as parts of a document."""

from hostctl.report.document.blocks import Paragraph, Part, Role, Table
from hostctl.report.document.significant import chance, percent
from hostctl.report.planning.result import Know, See
from hostctl.report.planning.words import (
    curve_figure,
    marked,
    number_columns,
    ratio_how,
    taken_for_granted,
    taking,
    time_cell,
    time_head,
)


def know_part(know: Know, seconds: float | None) -> Part:
    """How many trials to know a spread. seconds: how long a trial takes."""
    within = f"±{chance(know.within)}"
    answer = (
        f"{know.trials} trials tell a spread to within {within}: in {chance(know.confidence)} of "
        f"studies s is that near to the true standard deviation{taking(know.trials, seconds)}."
    )
    heads = ("trials", f"chance of {within}", "true spread from", "to", *time_head(seconds))
    rows = tuple(
        (
            marked(row.trials, know.trials),
            percent(row.chance),
            f"{row.sigma_low:.2f} s",
            f"{row.sigma_high:.2f} s",
            *time_cell(row.trials, seconds),
        )
        for row in know.table
    )
    how = (
        "Exact, from the chi-square law of s²/σ² for independent normal settings, read finely. "
        f"'True spread from … to': the usual {chance(know.confidence)} interval after that many "
        "trials. The doubt of s itself: JCGM 100:2008, table E.1 (52 % from 3 trials, 24 % from "
        "10)."
    )
    return Part(
        title="To know a spread",
        blocks=(
            Paragraph(text=answer, role=Role.ANSWER),
            Table(columns=number_columns(*heads), rows=rows),
            curve_figure(know.curve, goal=know.confidence, answer=know.trials, counted="trials"),
            Paragraph(text=how),
        ),
    )


def see_part(see: See, seconds: float | None) -> Part:
    """How many trials of each of two methods to see which spreads less."""
    smaller = "" if see.expected_sd_mm is None else f" ({see.expected_sd_mm:g} mm for the smaller)"
    answer = (
        f"{see.trials} trials of each method show it when one spreads {see.ratio:g} times as "
        f"widely as the other{smaller}, in {chance(see.power)} of "
        f"studies{taking(2 * see.trials, seconds, _whose(see))}."
    )
    shows = all(row.smallest_ratio is not None for row in see.table)
    heads = (
        "trials of each",
        "chance to see it",
        *(("smallest ratio of s",) if shows else ()),
        *time_head(seconds, _whose(see)),
    )
    rows = tuple(
        (
            marked(row.trials, see.trials),
            percent(row.chance),
            *(() if row.smallest_ratio is None else (f"{row.smallest_ratio:.2f}",)),
            *time_cell(2 * row.trials, seconds),
        )
        for row in see.table
    )
    how = ratio_how(see)
    if shows:
        how += (
            " 'Smallest ratio of s': of the standard deviations found, from which they are said to "
            "differ; about half of studies find less than the true ratio."
        )
    how += f" {taken_for_granted(see.assumed, see.expected_sd_mm)}"
    if see.assumed.pairs == 1:
        how += " With several methods compared (--pairs) the risk is shared: more are needed."
    return Part(
        title="To see that one spreads less",
        blocks=(
            Paragraph(text=answer, role=Role.ANSWER),
            Table(columns=number_columns(*heads), rows=rows),
            curve_figure(see.curve, goal=see.power, answer=see.trials, counted="trials of each"),
            Paragraph(text=how),
        ),
    )


def _whose(see: See) -> str:
    """Whose work the time is, where more than two methods may be meant."""
    return "" if see.assumed.pairs == 1 else "for two"
