"""Whether a reading of a levelling can be so, or else the one with the plunger hanging free."""

from hostctl.config.grid import level_of
from hostctl.config.study import Study

FAR_MM = 2.5
"""Further than this a bed seldom lies from z = 0 (choice ours)."""


def why_far(
    study: Study, value_mm: float, free_mm: float, *, sent: bool = False, first: bool = False
) -> str:
    """Why a reading is asked for again; empty where it is not far.

    free_mm: what the indicator showed with its plunger hanging free. Its number may grow or fall as
    the plunger is pressed in. sent: by a cable, not typed. first: it came right after that one.
    """
    far = far_from_pressed(study, value_mm, free_mm)
    again = "press again" if sent else "type it once more"
    last = "the free one" if first else "the last one"
    return f"{far} Look again; {again} if it is so. Redo takes {last} again." if far else ""


def far_from_pressed(study: Study, value_mm: float, free_mm: float) -> str:
    """The same alone that it is far, and what may be wrong."""
    level = level_of(study)
    if level is None or study.gauge.kind == "probe":
        return ""
    moved_mm = abs(value_mm - free_mm)
    if abs(moved_mm - level.press_mm) <= FAR_MM + 1e-9:
        return ""
    return (
        f"{value_mm:g} mm is {moved_mm:.4g} mm from the number with the plunger hanging free "
        f"({free_mm:g} mm), where about {level.press_mm:g} mm is likely: one of the two is wrong, "
        "or the bed lies far off."
    )
