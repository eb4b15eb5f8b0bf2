"""A reading as a person types it: `0.02`, `-0,01 mm`, or `2` where whole graduations are typed."""

import re

from hostctl.channels.view.view import PromptView
from hostctl.news import Prompt
from hostctl.report.document.significant import in_mm

_NUMBER = re.compile(r"([-+]?(?:\d{1,3}(?:[.,]\d{0,6})?|[.,]\d{1,6}))(?: ?(mm))?", re.ASCII)
MINUS_SIGNS = str.maketrans({"\N{MINUS SIGN}": "-", "\N{EN DASH}": "-"})


def reading_mm(text: str, prompt: Prompt | PromptView) -> float | None:
    """What was typed, in mm; None when it is not a number. Decimal commas are understood.

    Where the prompt says that graduations are typed, a number without its unit counts
    graduations of its resolution.
    """
    found = _NUMBER.fullmatch(text.strip().translate(MINUS_SIGNS))
    if found is None:
        return None
    number, unit = found.groups()
    value = float(number.replace(",", "."))
    if prompt.typed_in_graduations and prompt.resolution_mm is not None and not unit:
        return rounded_mm(value * prompt.resolution_mm)
    return value


def simulated_indicator(prompt: Prompt | PromptView) -> str:
    """What a simulated machine's indicator shows, as it would be typed; empty at a real one."""
    value_mm, resolution_mm = prompt.simulated_indicator_mm, prompt.resolution_mm
    if value_mm is None:
        return ""
    if prompt.typed_in_graduations and resolution_mm:
        return f"Simulated indicator: {value_mm / resolution_mm:+.0f} graduations"
    return f"Simulated indicator: {in_mm(value_mm, resolution_mm)} mm"


def rounded_mm(value_mm: float) -> float:
    """The value to a tenth of a nanometre: 3 x 0.01 is 0.03 again."""
    return round(value_mm, 7)
