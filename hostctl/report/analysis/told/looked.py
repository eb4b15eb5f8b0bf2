"""Which look a verdict is, and what it spends of the risk, in sentences."""

from collections.abc import Iterator

from hostctl.report.analysis.result.judgement import Look
from hostctl.report.analysis.told.words import percent


def looked(look: Look, risk: float) -> Iterator[str]:
    """What a reader must know of it. risk: that a verdict is wrong, for all looks together."""
    if look.share > 0.0:
        spends = f"spends {_share(look.share)} of the {percent(risk)} risk of a wrong verdict"
        yield _of_file(look, spends) if look.recorded is None else _of_runs(look, spends)
    if look.too_late is not None:
        yield (
            f"--looks {look.too_late} comes too late: how often a claim will be judged counts only "
            "when it is said at the first look."
        )
    if look.unrecorded is not None:
        yield f"This look could not be recorded, and the next won't know of it: {look.unrecorded}."


def _of_runs(look: Look, spends: str) -> str:
    declared = "" if look.declared is None else f" of {look.declared} declared"
    says = f"This is look {look.number}{declared} at these readings, {look.recorded} on record, and"
    if look.left > 0.0:
        return f"{says} {spends}; looks after more trials share what is left."
    return f"{says} {spends}; nothing is left for a look after more trials."


def _of_file(look: Look, spends: str) -> str:
    if look.declared == 1:
        return f"This is the only look at this file, as declared, and {spends}."
    if look.declared is not None:
        return f"The claim is judged {look.declared} times in all, as declared; each look {spends}."
    return (
        f"Looks at a file are not recorded: this one counts as the first and {spends}. If it is "
        "the only one there will be, say --looks 1; if it is the first of N, --looks N at each."
    )


def _share(share: float) -> str:
    """As a fraction, where it is a plain one."""
    parts = round(1 / share)
    if abs(parts * share - 1) > 1e-6:
        return percent(share)
    return {1: "all", 2: "half"}.get(parts, f"1/{parts}")
