"""All three questions of planning at a glance, for somebody who has not asked one yet."""

from collections.abc import Sequence
from itertools import zip_longest

from hostctl.report.document.significant import chance
from hostctl.report.document.table import table
from hostctl.report.planning.curve import curve
from hostctl.report.planning.planning import overview_plans
from hostctl.report.planning.text import joined, needed


def overview_text(power: float, confidence: float) -> str:
    """All three questions in three small tables."""
    know, see, prove = overview_plans(power, confidence)
    answer = (
        f"To start from: {see[3].n} trials of each method show a spread twice another's, "
        f"{know[4].n} know one to within ±20 %, and {needed(prove[3].n)} prove a tolerance of ±T "
        f"where the spread is {prove[3].sigma:g} T."
    )
    columns = (
        table(
            ("know it within", "trials"),
            [[f"±{chance(p.within)}", str(p.n)] for p in know],
            right={1},
        ),
        table(("see a ratio of", "of each"), [[f"{p.ratio:g}", str(p.n)] for p in see], right={1}),
        table(
            ("prove ±T, if s is", "trials"),
            [[f"{p.sigma:g} T", needed(p.n)] for p in prove],
            right={1},
        ),
    )
    twice = see[3]
    drawn = curve(twice.curve, goal=power, answer=twice.n, what="trials of each")
    how = (
        f"Know: s within so much of the true spread in {chance(confidence)} of studies "
        f"(chi-square). See: two-sided F test at {chance(1 - confidence)}, seen in "
        f"{chance(power)} of studies. Prove: at least 95 % of settings within ±T of the method's "
        f"own mean at {chance(confidence)} confidence, proven in {chance(power)} of studies."
    )
    ask = (
        "Ask closer: hostctl plan --know-within 20 · --see-ratio 1.5 · --claim 0.05 "
        "--expected-sd 0.015 · --run 2 (takes tolerance, spreads and time from a run)"
    )
    title = f"Chance to see a spread {twice.ratio:g} times another's:"
    return joined(answer, _beside(columns), f"{title}\n{drawn}", how, ask)


def _beside(blocks: Sequence[str]) -> str:
    """Blocks of text side by side."""
    lines = [block.splitlines() for block in blocks]
    widths = [max(map(len, block)) for block in lines]
    rows = zip_longest(*lines, fillvalue="")
    return "\n".join(
        "    ".join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    )
