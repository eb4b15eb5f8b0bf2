"""All three questions of planning at a glance, for somebody who has not asked one yet."""

from hostctl.report.document.blocks import Beside, Column, Paragraph, Part, Role, Table
from hostctl.report.document.significant import chance
from hostctl.report.planning.result import Overview
from hostctl.report.planning.words import curve_figure, needed


def overview_part(found: Overview) -> Part:
    """Three small tables and a curve."""
    usual = found.usual_see
    return Part(
        title="At a glance",
        blocks=(
            Paragraph(text=_answer(found), role=Role.ANSWER),
            Beside(tables=(_know(found), _see(found), _prove(found))),
            curve_figure(
                found.curve,
                goal=found.power,
                answer=usual.trials,
                counted="trials of each",
                caption=f"Chance to see a spread {usual.ratio:g} times another's:",
            ),
            Paragraph(text=_how(found)),
            Paragraph(
                text="Ask closer: hostctl plan --know-within 20 · --see-ratio 1.5 · --claim 0.05 "
                "--expected-sd 0.015 · --run 2 (takes tolerance, spreads and time from a run)"
            ),
        ),
    )


def _answer(found: Overview) -> str:
    know, see, prove = found.usual_know, found.usual_see, found.usual_prove
    return (
        f"To start from: {see.trials} trials of each method show a spread twice another's, "
        f"{know.trials} know one to within ±{chance(know.within)}, and "
        f"{needed(prove.trials, prove.why_no_trials)} prove a tolerance of ±T where the spread is "
        f"{prove.sd_in_tolerances:g} T."
    )


def _know(found: Overview) -> Table:
    rows = tuple((f"±{chance(one.within)}", str(one.trials)) for one in found.know)
    return _small("know it within", "trials", rows)


def _see(found: Overview) -> Table:
    rows = tuple((f"{one.ratio:g}", str(one.trials)) for one in found.see)
    return _small("see a ratio of", "of each", rows)


def _prove(found: Overview) -> Table:
    rows = tuple(
        (f"{one.sd_in_tolerances:g} T", needed(one.trials, one.why_no_trials))
        for one in found.prove
    )
    return _small("prove ±T, if s is", "trials", rows)


def _small(wish: str, trials: str, rows: tuple[tuple[str, str], ...]) -> Table:
    return Table(columns=(Column(head=wish), Column(head=trials, is_number=True)), rows=rows)


def _how(found: Overview) -> str:
    sure = chance(found.confidence)
    return (
        f"Know: s within so much of the true spread in {sure} of studies (chi-square). See: "
        f"two-sided F test at {chance(1 - found.confidence)}, seen in {chance(found.power)} of "
        "studies. Prove: at least 95 % of settings within ±T of each block's own mean at "
        f"{sure} confidence, proven in {chance(found.power)} of studies."
    )
