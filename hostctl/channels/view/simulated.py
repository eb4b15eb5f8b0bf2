"""What a simulated machine shows, in words."""

from hostctl.channels.view.view import PromptView
from hostctl.choices import DARK, LIT
from hostctl.news import Prompt
from hostctl.report.document.significant import in_mm


def simulated(prompt: Prompt | PromptView) -> str:
    """Its indicator, as it would be typed, or its lamp; empty at a real one: look there."""
    return _lamp(prompt) or _indicator(prompt)


def _lamp(prompt: Prompt | PromptView) -> str:
    if prompt.simulated_contact is None:
        return ""
    return f"Simulated lamp: {LIT if prompt.simulated_contact else DARK}"


def _indicator(prompt: Prompt | PromptView) -> str:
    value_mm, resolution_mm = prompt.simulated_indicator_mm, prompt.resolution_mm
    if value_mm is None:
        return ""
    if prompt.typed_in_graduations and resolution_mm:
        return f"Simulated indicator: {value_mm / resolution_mm:+.0f} graduations"
    return f"Simulated indicator: {in_mm(value_mm, resolution_mm)} mm"
