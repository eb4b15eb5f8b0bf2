"""The machine files of the tests, as objects."""

from hostctl.config.machine import (
    BedScrew,
    Indicator,
    Machine,
    Point,
    Probe,
    Span,
    Travel,
)

CORNERS = {"front-left": (30, 30), "front-right": (190, 30), "back-left": (30, 190)}


def machine_file(**changes: object) -> Machine:
    """A 220 x 220 mm bench machine with indicator and probe; clear height 10 mm."""
    given: dict[str, object] = {
        "machine": "bench",
        "port": "sim://bench",
        "travel": Travel(
            x=Span(from_mm=0, to_mm=220),
            y=Span(from_mm=0, to_mm=220),
            z=Span(from_mm=-2, to_mm=250),
        ),
        "points": [Point(name=name, x_mm=x, y_mm=y) for name, (x, y) in CORNERS.items()],
        "screws": [BedScrew(name=name, x_mm=x, y_mm=y) for name, (x, y) in CORNERS.items()],
        "indicator": Indicator(offset_x_mm=25.0),
        "probe": Probe(offset_y_mm=20.0),
        "park": Point(name="park", x_mm=0, y_mm=200),
        "dry_cycles": 0,
    }
    return Machine(**(given | changes))  # type: ignore[arg-type]  # a table of keywords
