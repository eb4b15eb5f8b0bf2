"""The course of a loop as a few lines of text: a dot for each mean, over a scale of heights from
each point's first touch."""

from hostctl.channels.view.beside import TraceView
from hostctl.report.document.significant import in_mm

HIGH = 5
LABEL = 10


def chart(trace: TraceView, resolution_mm: float | None, width: int, dot: str) -> list[str]:
    """Oldest left, newest right; empty where there is no room, or only one reading."""
    means = trace.means_mm
    if len(means) < 2 or width < LABEL + len(means) + 2:
        return []
    step_mm = resolution_mm or 0.001
    low_mm, high_mm = min(means), max(means)
    span_mm = max(high_mm - low_mm, (HIGH - 1) * step_mm)
    middle_mm = (low_mm + high_mm) / 2
    rows = [round((mean - middle_mm) / span_mm * (HIGH - 1) + (HIGH - 1) / 2) for mean in means]
    lines = [""]
    for level in reversed(range(HIGH)):
        at_mm = middle_mm + (level - (HIGH - 1) / 2) * span_mm / (HIGH - 1)
        named = in_mm(at_mm, step_mm) if level in (0, HIGH - 1) else ""
        dots = "".join(dot if row == level else " " for row in rows)
        lines.append(f"{named:>{LABEL - 1}} {dots}".rstrip())
    return [*lines, _said(trace, step_mm)]


def _said(trace: TraceView, step_mm: float) -> str:
    each = f"{trace.each:,} touches a dot" if trace.each > 1 else "a touch a dot"
    said = f"mm from its point's first, {each}"
    if trace.drift_mm is None:
        return said
    return f"{said}; last quarter less first: {in_mm(trace.drift_mm, step_mm)}"
