"""The machine as far as it is known, for what checks each of its moves.

The indicator is not in it: how far its plunger hangs, and how low the nozzle may go, is told to the
envelope as it comes to be known.
"""

from hostctl.begin.facts import Facts
from hostctl.config.machine import BedScrew, Heat, Machine, Point, SeenFrom, Span, Travel, Turn

RISES_MM = 6.0
"""So far the head rises before it homes, and passes above all that is known to stand there."""

UNKNOWN = Span(from_mm=0.0, to_mm=1000.0)


def machine_so_far(facts: Facts) -> Machine:
    """For its envelope. Raises KeyError where less than name, port and speed of line is known."""
    travel = Travel(x=_span(facts, "x"), y=_span(facts, "y"), z=_span(facts, "z"))
    middle = Point(name="middle", x_mm=_middle(travel.x), y_mm=_middle(travel.y))
    dialect = facts.get("dialect")
    mains_bed = facts.get("heat.mains_bed")
    return Machine(
        machine=facts.text("machine"),
        port=facts.text("port"),
        baud=round(facts.number("baud")),
        dialect=dialect if isinstance(dialect, str) else None,
        travel=travel,
        lift_mm=RISES_MM,
        highest_point_mm=facts.number("highest_point_mm") if "highest_point_mm" in facts else 0.0,
        points=[middle],
        heat=Heat(mains_bed=mains_bed if isinstance(mains_bed, bool) else None),
        dry_cycles=0,
    )


def points_of(facts: Facts) -> list[Point]:
    """Where it is to be measured: over the screws, or at places of their own."""
    if facts.get("points.over_screws"):
        return [Point(name=s.name, x_mm=s.x_mm, y_mm=s.y_mm) for s in screws_of(facts)]
    return [
        Point(
            name=facts.text(f"{at}.name"),
            x_mm=facts.number(f"{at}.x_mm"),
            y_mm=facts.number(f"{at}.y_mm"),
        )
        for at in (f"points.{index}" for index in range(round(facts.number("points.count"))))
    ]


def screws_of(facts: Facts) -> list[BedScrew]:
    """The bed's screws; which way each is turned only where it was tried."""
    return [_screw(facts, index) for index in range(round(facts.number("screws.count")))]


def _screw(facts: Facts, index: int) -> BedScrew:
    at = f"screws.{index}"
    name = facts.text(f"{at}.name")
    raises = facts.get(f"found.raises.{name}")
    return BedScrew(
        name=name,
        x_mm=facts.number(f"{at}.x_mm"),
        y_mm=facts.number(f"{at}.y_mm"),
        pitch_mm=facts.number("screws.pitch_mm"),
        seen_from=SeenFrom(facts.text("screws.seen_from")),
        raises_bed=Turn(raises) if isinstance(raises, str) else Turn.CLOCKWISE,
    )


def _span(facts: Facts, axis: str) -> Span:
    if f"travel.{axis}.to_mm" not in facts:
        return UNKNOWN
    return Span(
        from_mm=facts.number(f"travel.{axis}.from_mm"), to_mm=facts.number(f"travel.{axis}.to_mm")
    )


def _middle(span: Span) -> float:
    return (span.from_mm + span.to_mm) / 2
