"""Figures of every kind over random data, names among them that try to be something else."""

from itertools import accumulate
from math import inf

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

from hostctl.report.figures.axis.deviations import Band, DeviationRow, Deviations
from hostctl.report.figures.bed.bed_map import BedMap
from hostctl.report.figures.bed.convergence import Convergence, TiltRow
from hostctl.report.figures.bed.plan import Outline, ScrewSpot, Spot
from hostctl.report.figures.cycle_path import CyclePath, Stop
from hostctl.report.figures.dot_rows import DotRows
from hostctl.report.figures.dots.row import DotRow, Dots
from hostctl.report.figures.gap.gaps import GapRow, MeanBar
from hostctl.report.figures.gap.true_gap import TrueGap
from hostctl.report.figures.history_chart import HistoryChart, Level
from hostctl.report.figures.interval_chart import IntervalChart, IntervalRow, Mark
from hostctl.report.figures.loops.loop_course import LoopCourse
from hostctl.report.figures.loops.marks import TouchColumn
from hostctl.report.figures.order_chart import OrderChart, Placed, Stretch
from hostctl.report.figures.planning_curve import PlanningCurve
from hostctl.report.figures.share_bars import ShareBar, ShareBars

STEP_MM = 0.01
LEISURELY = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
NASTY = (
    "paper slip",
    "",
    "</text><script>alert(1)</script>",
    'a" onload="x & <b>',
    "\u202eright to left\u202c",
    "bell \x07 and escape \x1b[31m",
    "שיטת הנייר על המיטה",
    "Wide MMMMWWWW@@@@ " * 3,
    "by the long-serving volunteer with the feeler gauge, set 12",
    "漢字" * 20,
)
names = st.sampled_from(NASTY) | st.text(max_size=60)
mm = st.integers(-400, 400).map(lambda k: k * STEP_MM) | st.floats(-5, 5).map(lambda v: round(v, 5))
counts = st.integers(1, 9) | st.integers(1, 1_000_000)


@st.composite
def dot_rows(draw: st.DrawFn) -> DotRows:
    within = draw(st.none() | st.sampled_from([0.01, 0.03, 0.05, 1.0]))

    def dots(value_mm: float) -> Dots:
        outside = within is not None and abs(value_mm) > within
        return Dots(value_mm=value_mm, count=draw(counts), outside=outside)

    rows = []
    for _ in range(draw(st.integers(1, 4) | st.just(24))):
        values = draw(st.lists(mm, min_size=1, max_size=8, unique=True))
        rows.append(
            DotRow(
                label=draw(names),
                note=draw(names),
                dots=tuple(map(dots, sorted(values))),
                zero=0.0 in values and draw(st.booleans()),
                average_mm=draw(st.none() | mm),
                head=draw(st.just("") | names),
            )
        )
    return DotRows(rows=tuple(rows), step_mm=STEP_MM, within_mm=within, counted_from=draw(names))


@st.composite
def true_gaps(draw: st.DrawFn) -> TrueGap:
    within = draw(st.none() | st.sampled_from([0.01, 0.05, 1.0]))
    phase_mm = draw(st.sampled_from([0.0, 0.0037, 0.005]))
    gaps = st.integers(-20, 40).map(lambda k: round(k * STEP_MM + phase_mm, 6)) | mm
    far = st.floats(0, 3.0) | st.just(inf)

    def row() -> GapRow:
        meant = draw(st.sampled_from([0.1, 0.1, 0.2]))
        dots = tuple(
            Dots(
                value_mm=value,
                count=draw(counts),
                outside=within is not None and abs(value - meant) > within,
                doubted=draw(st.booleans()),
            )
            for value in sorted(draw(st.lists(gaps, min_size=1, max_size=8, unique=True)))
        )
        head = draw(st.just("") | names)
        readings = DotRow(label=draw(names), note=draw(names), dots=dots, head=head)
        return GapRow(readings=readings, meant_mm=meant, mean=draw(st.none() | bars()))

    @st.composite
    def bars(draw: st.DrawFn) -> MeanBar:
        value, below, above, part = draw(st.tuples(mm, far, far, st.floats(0, 1)))
        low, high = value - below, value + above
        ties = (value - part * min(below, 9.0), value + part * min(above, 9.0))
        return MeanBar(value=value, low=low, high=high, tie_low=ties[0], tie_high=ties[1])

    reach = draw(st.none() | st.sampled_from([0.0, 0.004, 0.02, 5.0]))
    return TrueGap(
        rows=tuple(row() for _ in range(draw(st.integers(1, 4) | st.just(14)))),
        step_mm=STEP_MM,
        target_mm=0.1,
        margin_mm=draw(st.none() | st.sampled_from([0.01, 0.02, 0.3])),
        within_mm=within,
        tie=None if reach is None else (0.1 - reach, 0.1 + reach),
    )


@st.composite
def interval_charts(draw: st.DrawFn) -> IntervalChart:
    along = draw(st.sampled_from(["size", "difference", "ratio"]))
    lowest = {"size": 0.0, "difference": -9.0, "ratio": 1e-4}[along]
    value = st.floats(lowest, 9.0) | st.sampled_from([1.0, 0.012, 4000.0])

    def row() -> IntervalRow:
        low, middle, high = sorted(draw(st.tuples(value, value, value)))
        return IntervalRow(
            label=draw(names),
            value=draw(st.sampled_from([middle, None])),
            low=draw(st.sampled_from([low, None])),
            high=draw(st.sampled_from([high, None])),
            says=draw(names),
            head=draw(st.just("") | names),
            lesser=draw(st.booleans()),
        )

    low, high = {"size": (None, 0.02), "difference": (-0.01, 0.01), "ratio": (2 / 3, 1.5)}[along]
    against = Mark(low=low, high=high, label=draw(names))
    return IntervalChart(
        rows=tuple(row() for _ in range(draw(st.integers(1, 6)))),
        along=along,
        unit="" if along == "ratio" else "mm",
        against=draw(st.sampled_from([against, None])),
    )


@st.composite
def order_charts(draw: st.DrawFn) -> OrderChart:
    kinds = draw(st.lists(names, min_size=1, max_size=8))
    many = draw(st.booleans())
    settings = tuple(
        Placed(
            place=place,
            value_mm=value,
            kind=draw(st.integers(0, len(kinds) - 1)),
            count=draw(counts) if many else 1,
        )
        for place, value in enumerate(draw(st.lists(mm, min_size=1, max_size=30)), 1)
    )
    lengths = draw(st.lists(st.integers(1, 10), max_size=5))
    ends = list(accumulate(lengths))
    stretches = tuple(
        Stretch(first=last - length + 1, last=last, label=draw(names))
        for last, length in zip(ends, lengths, strict=True)
    )
    return OrderChart(
        kinds=tuple(kinds),
        settings=settings,
        stretches=stretches,
        step_mm=STEP_MM,
        within_mm=draw(st.none() | st.just(0.03)),
        counted_from=draw(names),
        foot=draw(names),
    )


@st.composite
def share_bars(draw: st.DrawFn) -> ShareBars:
    parts = draw(st.lists(names, min_size=1, max_size=7))

    def bar() -> ShareBar:
        weights = draw(st.lists(st.integers(0, 50), min_size=len(parts), max_size=len(parts)))
        total = sum(weights) or 1
        return ShareBar(label=draw(names), shares=tuple(weight / total for weight in weights))

    return ShareBars(parts=tuple(parts), bars=tuple(bar() for _ in range(draw(st.integers(1, 4)))))


@st.composite
def cycle_paths(draw: st.DrawFn) -> CyclePath:
    stops = st.builds(
        Stop,
        sideways_mm=st.sampled_from([0.0, 42.0, -15.5]),
        z_mm=st.sampled_from([0.0, 0.1, 2.0, 10.0]) | st.floats(0, 80),
        label=names,
    )
    return CyclePath(stops=tuple(draw(st.lists(stops, min_size=2, max_size=9))))


@st.composite
def history_charts(draw: st.DrawFn) -> HistoryChart:
    values = draw(st.lists(st.floats(-0.05, 0.05), min_size=1, max_size=60))
    levels = st.builds(Level, value=st.floats(-0.05, 0.05), label=names, is_limit=st.booleans())
    return HistoryChart(
        first=draw(names),
        last=draw(names),
        values=tuple(values),
        averages=tuple(values) if draw(st.booleans()) else (),
        wild=tuple(sorted(draw(st.sets(st.integers(0, len(values) - 1))))),
        levels=tuple(draw(st.lists(levels, max_size=3))),
    )


@st.composite
def planning_curves(draw: st.DrawFn) -> PlanningCurve:
    chances = sorted(draw(st.lists(st.floats(0, 1), min_size=1, max_size=57)))
    first = draw(st.integers(2, 400))
    return PlanningCurve(
        trials=tuple(range(first, first + len(chances))),
        chances=tuple(chances),
        goal=draw(st.sampled_from([0.5, 0.8, 0.9, 0.95, 0.999])),
        answer=draw(st.integers(2, 500)),
        counted=draw(names),
    )


@st.composite
def bed_maps(draw: st.DrawFn) -> BedMap:
    along = st.sampled_from([0.0, 30.0, 110.0, 190.0, 220.0]) | st.floats(0, 220)
    aside = st.sampled_from([-50.0, 0.0, 30.0, 190.0, 270.0])
    spot = st.builds(Spot, name=names, x_mm=along, y_mm=along, height_mm=mm)
    turn = st.sampled_from([0.0, 45.0, -300.0, 800.0]) | st.floats(-720, 720)
    screw = st.builds(ScrewSpot, name=names, x_mm=aside, y_mm=aside, turn_deg=turn, words=names)
    edge = Outline(left_mm=0.0, right_mm=220.0, front_mm=0.0, back_mm=220.0)
    return BedMap(
        spots=tuple(draw(st.lists(spot, min_size=1, max_size=30))),
        screws=tuple(draw(st.lists(screw, max_size=6))),
        outline=draw(st.sampled_from([None, edge])),
        about=draw(names),
        step_mm=draw(st.sampled_from([0.01, 0.001])),
        from_below=draw(st.booleans()),
    )


@st.composite
def convergences(draw: st.DrawFn) -> Convergence:
    rows = []
    for _ in range(draw(st.integers(1, 8))):
        tilt_mm = draw(st.sampled_from([0.0, 1e-4, 0.05]) | st.floats(0, 4))
        half_mm = draw(st.floats(0, 1))
        rows.append(
            TiltRow(
                label=draw(names),
                tilt_mm=tilt_mm,
                low_mm=max(tilt_mm - half_mm, 0.0),
                high_mm=tilt_mm + half_mm,
                says=draw(names),
            )
        )
    return Convergence(
        rows=tuple(rows),
        within_mm=draw(st.sampled_from([0.01, 0.05, 0.5])),
        rig_mm=draw(st.none() | st.floats(0, 1)),
    )


@st.composite
def deviations(draw: st.DrawFn) -> Deviations:
    def band() -> Band:
        mean_mm, half_mm = draw(mm), draw(st.just(0.0) | st.floats(0, 1))
        return Band(mean_mm=mean_mm, low_mm=mean_mm - half_mm, high_mm=mean_mm + half_mm)

    sides = draw(st.sampled_from([(True, True), (True, False), (False, True)]))
    rows = tuple(
        DeviationRow(
            label=draw(names),
            up=band() if sides[0] else None,
            down=band() if sides[1] else None,
            says=draw(names),
        )
        for _ in range(draw(st.integers(2, 12)))
    )
    return Deviations(rows=rows, step_mm=draw(st.sampled_from([0.01, 1e-5])), about=draw(names))


@st.composite
def loop_courses(draw: st.DrawFn) -> LoopCourse:
    sides = draw(st.sampled_from([(), ("left", "right")]))
    together = draw(st.sampled_from([1, 1, 14, 170]))
    some = draw(st.integers(1, 60))
    columns = []
    for place in range(some):
        for side in range(max(len(sides), 1)):
            low, mean, high = sorted(draw(st.tuples(mm, mm, mm)))
            limited = draw(st.booleans())
            columns.append(
                TouchColumn(
                    first=place * together + 1,
                    last=(place + 1) * together,
                    side=side,
                    count=together,
                    low_mm=low if together > 1 else mean,
                    mean_mm=mean,
                    high_mm=high if together > 1 else mean,
                    lower_mm=low - 0.1 if limited else None,
                    upper_mm=high + 0.1 if limited else None,
                )
            )
    touch = st.integers(1, some * together)
    return LoopCourse(
        columns=tuple(columns),
        touches=some * together,
        sides=sides,
        homed_before=tuple(draw(st.lists(touch, max_size=40))),
        halted_before=tuple(draw(st.lists(touch | st.just(some * together + 1), max_size=3))),
        beyond=tuple(draw(st.lists(st.tuples(touch, mm), max_size=3))),
        step_mm=STEP_MM,
        took=draw(names),
        counted_from=draw(names),
    )


KINDS = (
    deviations,
    bed_maps,
    convergences,
    dot_rows,
    interval_charts,
    loop_courses,
    order_charts,
    share_bars,
    cycle_paths,
    history_charts,
    planning_curves,
    true_gaps,
)
