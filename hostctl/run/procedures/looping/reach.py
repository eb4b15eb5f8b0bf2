"""How many levels share the risk of a loop's looks, and whether its count lets them end it."""

from typing import TYPE_CHECKING

from hostctl.run.procedures.looping.stream import confidence_of_each

if TYPE_CHECKING:
    from hostctl.config.study import Study


def levels_of(study: "Study") -> int:
    """Points, each from so many sides."""
    return len(study.points) * _sides(study)


def trials_needed(study: "Study") -> int | None:
    """`trials` by which a spread may come to be known to `known_to`; None: it has as many, or
    does not ask.
    """
    from hostctl.metrology.looping.known_spread import may_be_known, touches_needed

    loop, sides = study.loop, _sides(study)
    if loop is None or loop.known_to is None:
        return None
    confidence, touches = confidence_of_each(levels_of(study)), study.trials // sides
    if touches >= 2 and may_be_known(touches, loop.known_to, confidence):
        return None
    return sides * touches_needed(loop.known_to, confidence)


def _sides(study: "Study") -> int:
    return 2 if study.loop is not None and study.loop.sides else 1
