"""How many trials prove a claim about future settings, as parts of a document."""

from hostctl.metrology.claims.claim import Centre
from hostctl.report.document.blocks import Column, Paragraph, Part, Role, Table
from hostctl.report.document.reasons import reason_words
from hostctl.report.document.significant import chance, percent
from hostctl.report.planning.result import ByRun, Guesses, Prove, SpreadFound
from hostctl.report.planning.words import (
    claim_how,
    claimed,
    curve_figure,
    marked,
    needed,
    number_columns,
    taken_for_granted,
    taking,
    time_cell,
    time_head,
)

_TITLE = "To prove a claim"


def prove_part(prove: Prove, seconds: float | None) -> Part:
    """For a spread that was named. seconds: how long a trial takes."""
    granted = taken_for_granted(prove.assumed, prove.sd_mm)
    how = Paragraph(text=f"{claim_how(prove)} {granted}")
    if prove.why_no_trials is not None:
        words = f"No sensible number of trials proves it: {reason_words(prove.why_no_trials)}."
        return Part(title=_TITLE, blocks=(Paragraph(text=words, role=Role.ANSWER), how))
    trials = prove.trials or 0
    truth = f"a standard deviation of {prove.sd_mm:g} mm"
    if prove.centre is Centre.DATUM:
        truth = f"{truth} and a bias of {prove.bias_mm:g} mm"
    answer = (
        f"{trials} trials prove that {claimed(prove)}, in {chance(prove.power)} of studies, if "
        f"the truth is {truth}{taking(trials, seconds)}."
    )
    rows = tuple(
        (
            marked(point.trials, trials),
            percent(point.chance),
            *time_cell(point.trials, seconds),
        )
        for point in prove.table
    )
    heads = number_columns("trials", "chance to prove it", *time_head(seconds))
    return Part(
        title=_TITLE,
        blocks=(
            Paragraph(text=answer, role=Role.ANSWER),
            Table(columns=heads, rows=rows),
            curve_figure(prove.curve, goal=prove.power, answer=trials, counted="trials"),
            how,
        ),
    )


def guesses_part(guesses: Guesses, seconds: float | None) -> Part:
    """For some guesses at the spread."""
    middle = guesses.guesses[len(guesses.guesses) // 2]
    answer = (
        f"That depends on the spread: to prove that {claimed(middle)} takes "
        f"{needed(middle.trials, middle.why_no_trials)} trials if the true standard deviation is "
        f"{middle.sd_mm:g} mm."
    )
    rows = tuple(
        (
            f"{guess.sd_mm:.3g} mm",
            needed(guess.trials, guess.why_no_trials),
            *time_cell(guess.trials, seconds),
        )
        for guess in guesses.guesses
    )
    how = (
        f"Trials that prove it in {chance(middle.power)} of studies; 'never': with such a spread "
        f"the claim is false. {claim_how(middle)} {taken_for_granted(middle.assumed, None)} Name "
        "your guess: --expected-sd."
    )
    return Part(
        title=_TITLE,
        blocks=(
            Paragraph(text=answer, role=Role.ANSWER),
            Table(columns=number_columns("true spread", "trials", *time_head(seconds)), rows=rows),
            Paragraph(text=how),
        ),
    )


def by_run_part(by_run: ByRun) -> Part:
    """For the spreads that a run found."""
    return Part(
        title=f"By what run {by_run.run} found",
        blocks=(
            Paragraph(text=_by_run_answer(by_run), role=Role.ANSWER),
            Table(
                columns=(
                    Column(head="method"),
                    Column(head="operator"),
                    *number_columns("n", "s", "s at most", "trials", "if s at most"),
                ),
                rows=tuple(map(_row, by_run.spreads)),
            ),
            Paragraph(text=_legend(by_run)),
            Paragraph(text=claim_how(by_run)),
        ),
    )


def _by_run_answer(by_run: ByRun) -> str:
    spreads = f"If the spreads are what run {by_run.run} found,"
    if by_run.trials is None:
        return f"{spreads} no number of trials proves for any of these that {claimed(by_run)}."
    return (
        f"{spreads} {by_run.trials} trials of each prove that {claimed(by_run)}, wherever it is "
        f"true, in {chance(by_run.power)} of studies{taking(by_run.trials, by_run.trial_seconds)}."
    )


def _row(found: SpreadFound) -> tuple[str, ...]:
    return (
        found.method or "nothing adjusted",
        found.operator,
        str(found.n),
        "small" if found.sd_mm is None else f"{found.sd_mm:.4f}",
        f"{found.upper_mm:.4f}",
        needed(found.trials, found.why_no_trials),
        needed(found.trials_at_upper, found.why_no_trials_at_upper),
    )


def _legend(by_run: ByRun) -> str:
    out = [found.rig_out for found in by_run.spreads]
    rig = "rig taken out" if all(out) else "rig taken out where it can be" if any(out) else "rig in"
    legend = (
        f"All in mm. s: the spread found, {rig}, rounding allowed for. 's at most': the "
        "upper end of its 95 % interval. The last two columns: trials needed were the truth s, "
        "and were it that upper end; 'never': with such a spread the claim is false. "
        f"Taken for granted: readings to {by_run.resolution_mm:g} mm, as many blocks as then. "
        f"Readings of run {by_run.run} do not count towards the new ones."
    )
    if by_run.simulated and by_run.trial_seconds is None:
        legend += (
            f" Run {by_run.run} was made on a simulated printer, whose time says nothing of a real "
            "one: --trial-seconds adds it."
        )
    if by_run.rig is None:
        return legend
    if not all(out):
        legend += " Analyse takes the rig out of s, so fewer trials may do."
    return " ".join([legend, by_run.rig.why, *by_run.rig.doubts])
