"""What a screw or a point is called: by where it lies, if nobody says otherwise."""

from hostctl.drafts.machine.known import Kind, Known, check_name, number, place_name, places
from hostctl.drafts.question import Question
from hostctl.drafts.study.answers import apart_from


def name_question(known: Known, kind: Kind, index: int, count: int, why: str) -> Question:
    """Of the one with this index, counted from 0, out of so many."""
    one, at = kind.removesuffix("s"), f"{kind}.{index}"
    named = [place.name for place in places(known, kind, index)]
    lies = place_name(known, number(known, f"{at}.x_mm"), number(known, f"{at}.y_mm"))
    suggested = apart_from(frozenset(named), lies)
    return Question(
        key=f"{at}.name",
        text=f"{one.capitalize()} {index + 1} of {count}: what is it called?",
        why=f"{why} By where it lies is best.",
        suggested=suggested,
        check=lambda value: check_name(value, suggested, named, f"Another {one}"),
    )
