"""A reading as a person types it: `0.02`, `-0,01 mm`, or `2` where whole graduations are typed."""

import re

from hostctl.channels.view.view import PromptView
from hostctl.deeds import TryBlade
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


def wanted_number(prompt: Prompt | PromptView) -> str:
    """What a prompt for a reading asks for, as the end of a sentence."""
    blade = isinstance(prompt.deed, TryBlade)
    return "how thick the blade is" if blade else "what the indicator shows"


def like(prompt: Prompt | PromptView) -> str:
    """Two of the numbers that it may be, as they are typed; a blade's have no sign."""
    if prompt.typed_in_graduations:
        return "2 or -1 graduations"
    step = prompt.resolution_mm or 0.01
    if isinstance(prompt.deed, TryBlade):
        thin, thick = (in_mm(10 * count * step, step).lstrip("+") for count in (1, 2))
        return f"{thin} or {thick} mm"
    return f"{in_mm(2 * step, step)} or {in_mm(-step, step)} mm".replace("\N{MINUS SIGN}", "-")


def rounded_mm(value_mm: float) -> float:
    """The value to a tenth of a nanometre: 3 x 0.01 is 0.03 again."""
    return round(value_mm, 7)
