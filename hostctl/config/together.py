"""A study held against the machine it is to run on."""

from collections.abc import Iterator

from hostctl.config.grid import level_misfits
from hostctl.config.load import FileMistakes, nearest
from hostctl.config.machine import Machine
from hostctl.config.parts.axis import NEAREST_MM, AxisTest
from hostctl.config.parts.gauge import Gauge
from hostctl.config.parts.loop import Loop
from hostctl.config.parts.tie import Tie, TieBy
from hostctl.config.study import Reference, Study, Warmth
from hostctl.config.study_kind import words_of
from hostctl.config.yaml_text import Key, Source, parse
from hostctl.errors import ConfigError

OFF_THE_BLOCK_MM = 2.0
"""So far, at least, the nozzle lifts off a tie's gauge block (choice ours)."""
PLUNGER_GAUGES = ("typed", "serial-indicator", "typing-indicator")
SENDS_NOTHING = ("typed", "probe")
NEEDED_BY = {
    "serial-indicator": ("port", "Give the indicator's own serial port."),
    "typing-indicator": ("device", "Give the cable's own name under /dev/input/by-id."),
}
"""Keys that a kind of gauge can't do without, and what to do where one is missing."""


def check_together(study: Study, machine: Machine, source: Source) -> None:
    """Raises FileMistakes when the study can't run on this machine; `source` is the study's."""
    misfits = list(_misfits(study, machine))
    if misfits:
        document = parse(source)
        raise FileMistakes(
            ConfigError(document.at(path), what, next_step) for path, what, next_step in misfits
        )


def fits(study: Study, machine: Machine) -> bool:
    """Whether the study can run on this machine."""
    return next(_misfits(study, machine), None) is None


Misfit = tuple[tuple[Key, ...], str, str]


def _misfits(study: Study, machine: Machine) -> Iterator[Misfit]:
    points = [point.name for point in machine.points]
    for index, name in enumerate(study.points):
        if name not in points:
            what = f"points: machine '{machine.machine}' has no point '{name}'"
            yield ("points", index), what, nearest(name, points)
    yield from _gauge_misfits("gauge", study.gauge, machine)
    if study.second_gauge is not None:
        yield from _gauge_misfits("second_gauge", study.second_gauge, machine)
    yield from _second_misfits(study)
    yield from level_misfits(study, machine)
    if study.axis is not None:
        yield from _axis_misfits(study.axis, machine)
    yield from _block_misfits(study, machine)
    if study.tie is not None:
        yield from _tie_misfits(study.tie, machine)
    if study.loop is not None:
        yield from _loop_misfits(study.loop, study, machine)
    if study.warmth is not None:
        yield from _warmth_misfits(study, study.warmth, machine)
    if study.cycle.countdown_s == 0 and not machine.simulated:
        what = "cycle.countdown_s: is 0, which only a simulated machine takes"
        yield ("cycle", "countdown_s"), what, "Give at least 1."


def _warmth_misfits(study: Study, warmth: Warmth, machine: Machine) -> Iterator[Misfit]:
    if words_of(study.kind).asks_nobody:
        what = "warmth: heaters are off where nobody is asked"
        yield ("warmth",), what, "Take it out; 'loop: {heat: ...}' warms and cools, and asks."
    if warmth.bed_c > machine.heat.hottest_bed_c:
        hottest = f"{machine.heat.hottest_bed_c:g}"
        what = f"warmth.bed_c: is above the {hottest} °C machine '{machine.machine}' allows"
        yield ("warmth", "bed_c"), what, f"Give {hottest} or less."


def _gauge_misfits(key: str, gauge: Gauge, machine: Machine) -> Iterator[Misfit]:
    """key: "gauge" or "second_gauge"."""
    kind = gauge.kind
    if kind == "probe" and machine.probe is None:
        what = f"{key}.kind: machine '{machine.machine}' has no probe"
        yield (key, "kind"), what, "Add 'probe:' to the machine file, or take another gauge."
    if kind in PLUNGER_GAUGES and machine.indicator is None:
        what = f"{key}.kind: machine '{machine.machine}' has no indicator"
        yield (key, "kind"), what, "Add 'indicator:' to the machine file (its offset, height)."
    needed, advice = NEEDED_BY.get(kind, ("", ""))
    if needed and getattr(gauge, needed) is None:
        yield (key,), f"{key}.{needed} is missing", advice
    if "line" in gauge.model_fields_set and kind in SENDS_NOTHING:
        what = f"{key}.line: goes with an indicator that sends, and kind {kind} does not"
        yield (key, "line"), what, "Leave it out, or take 'kind: serial-indicator'."
    if gauge.port is not None and gauge.port == machine.port:
        what = f"{key}.port: is the port of machine '{machine.machine}' itself"
        yield (key, "port"), what, "Give the indicator's own serial port."


def _second_misfits(study: Study) -> Iterator[Misfit]:
    """Two gauges at one point: each has a way of its own to be read."""
    one, other = study.gauge, study.second_gauge
    if other is None:
        return
    for key in ("port", "device"):
        if getattr(one, key) is not None and getattr(one, key) == getattr(other, key):
            what = f"second_gauge.{key}: is that of the first gauge too"
            yield ("second_gauge", key), what, f"Give the second gauge's own {key}."


def _axis_misfits(axis: AxisTest, machine: Machine) -> Iterator[Misfit]:
    """Each target within the plunger's travel, and the nozzle well off the bed."""
    indicator = machine.indicator
    if indicator is None:
        return  # said already
    below_mm = axis.overrun_mm if axis.both_sides else 0.0
    lowest_mm = indicator.reading_z_mm - (indicator.travel_mm - indicator.pre_load_mm)
    for index, target_mm in enumerate(axis.targets_mm):
        at = ("axis", "targets_mm", index)
        z_mm = indicator.reading_z_mm + target_mm
        said = f"axis.targets_mm: {target_mm:g} mm"
        if target_mm >= indicator.pre_load_mm:
            what = f"{said} is where the plunger of machine '{machine.machine}' hangs free"
            yield at, what, f"Give heights below its pre_load_mm, {indicator.pre_load_mm:g} mm."
        elif z_mm - below_mm < NEAREST_MM:
            what = f"{said} brings the nozzle within {NEAREST_MM:g} mm of the bed"
            least_mm = NEAREST_MM + below_mm - indicator.reading_z_mm
            yield at, what, f"Give heights from {least_mm:g} mm up, which has room for overrun_mm."
        elif z_mm - below_mm < max(lowest_mm, machine.travel.z.from_mm):
            least_mm = max(lowest_mm, machine.travel.z.from_mm) + below_mm - indicator.reading_z_mm
            what = f"{said} is further than plunger or axis of machine '{machine.machine}' go"
            yield at, what, f"Give heights from {least_mm:g} mm up, which has room for overrun_mm."


def _tie_misfits(tie: Tie, machine: Machine) -> Iterator[Misfit]:
    points = [point.name for point in machine.points]
    for index, name in enumerate(tie.points or []):
        if name not in points:
            what = f"tie.points: machine '{machine.machine}' has no point '{name}'"
            yield ("tie", "points", index), what, nearest(name, points)
    if tie.by is TieBy.GAUGE_BLOCK:
        yield from _tall_block(tie, machine)
    if tie.by is not TieBy.TOUCH:
        return
    if (refused := why_no_touch(machine)) is not None:
        what, advice = refused
        yield ("tie", "by"), f"tie.by: touch is refused, as {what}", advice
    higher_mm = max(tie.stands_mm - machine.highest_point_mm, 0.0)
    if machine.clear_z_mm + higher_mm not in machine.travel.z:
        what = f"tie.stands_mm: {tie.stands_mm:g} mm is more than the head can clear on machine"
        advice = "Take a plate and clip that stand lower."
        yield ("tie", "stands_mm"), f"{what} '{machine.machine}'", advice


def _tall_block(tie: Tie, machine: Machine) -> Iterator[Misfit]:
    """The head comes down onto it from the clear height, and lifts off it again."""
    room_mm = machine.clear_z_mm - machine.set_z_mm - OFF_THE_BLOCK_MM
    if tie.block_mm is not None and tie.block_mm > room_mm:
        what = f"tie.block_mm: {tie.block_mm:g} mm does not go under the nozzle of machine"
        advice = f"Take one up to {room_mm:g} mm, or raise its lift_mm."
        yield ("tie", "block_mm"), f"{what} '{machine.machine}' at its clear height", advice


def why_no_touch(machine: Machine) -> tuple[str, str] | None:
    """Why its nozzle may not be wired, and what to do; None: it may."""
    name, mains_bed = f"machine '{machine.machine}'", machine.heat.mains_bed
    if mains_bed:
        what = f"the bed of {name} is heated by mains voltage"
        return what, "No nozzle is wired at this machine: tie by feelers or by a gauge block."
    if mains_bed is None:
        what = f"{name} does not say that its bed is not heated by mains voltage"
        advice = "See the maker's manual; then 'heat: {mains_bed: false}', or a tie by feelers."
        return what, advice
    return None


def _block_misfits(study: Study, machine: Machine) -> Iterator[Misfit]:
    """A gauge block goes under a plunger that hangs free at the clear height."""
    tip, block_mm, at = machine.indicator, study.gauge.block_mm, ("gauge", "block_mm")
    on_block = study.reference is Reference.DATUM and words_of(study.kind).takes_zeros
    if not on_block or study.gauge.kind not in PLUNGER_GAUGES or tip is None:
        return
    room_mm = machine.clear_z_mm - tip.reading_z_mm - tip.pre_load_mm
    if block_mm == 0:
        what = "gauge.block_mm: is missing, and reference datum is read on a gauge block"
        yield at, what, "Give the height of your block."
    elif block_mm >= room_mm:
        what = f"gauge.block_mm: {block_mm:g} mm does not go under the plunger of machine"
        advice = f"Take one below {room_mm:g} mm, or raise its lift_mm."
        yield at, f"{what} '{machine.machine}' at its clear height", advice


def _loop_misfits(loop: Loop, study: Study, machine: Machine) -> Iterator[Misfit]:
    yield from _missing_outputs(loop, machine)
    if loop.sides:
        yield from _no_room(loop, study, machine)
    heat = loop.heat
    if heat is not None and heat.bed_c > machine.heat.hottest_bed_c:
        hottest = f"{machine.heat.hottest_bed_c:g}"
        what = f"loop.heat.bed_c: is above the {hottest} °C machine '{machine.machine}' allows"
        yield ("loop", "heat", "bed_c"), what, f"Give {hottest} or less."


def _missing_outputs(loop: Loop, machine: Machine) -> Iterator[Misfit]:
    known = [output.name for output in machine.outputs]
    for key in ("probe_out", "probe_in"):
        name = getattr(loop, key)
        if name is not None and name not in known:
            what = f"loop.{key}: machine '{machine.machine}' has no output '{name}'"
            advice = nearest(name, known) if known else "List it under 'outputs:' in its file."
            yield ("loop", key), what, advice


def _no_room(loop: Loop, study: Study, machine: Machine) -> Iterator[Misfit]:
    """The head begins beside the point, on either side, its probe over the point's line."""
    offset_mm = machine.probe.offset_x_mm if machine.probe else 0.0
    for index, point in enumerate(study.points):
        at = next((each for each in machine.points if each.name == point), None)
        if at is None:
            continue
        for side_mm in (-loop.side_mm, loop.side_mm):
            if at.x_mm - offset_mm + side_mm not in machine.travel.x:
                side = "left" if side_mm < 0 else "right"
                what = f"points: '{point}' has no {loop.side_mm:g} mm beside it on the {side}"
                yield ("points", index), what, "Leave it out, or give a smaller 'loop.side_mm'."
                break
