"""One cycle as a path from the side: how high the nozzle is, and how far from its point."""

from collections.abc import Iterator
from math import hypot

from hostctl.config.machine import Indicator, Machine, Probe
from hostctl.config.study import Study
from hostctl.config.study_kind import words_of
from hostctl.report.whole.result import PathStop

_PROBE = "probe"


def path_of(study: Study, machine: Machine) -> tuple[PathStop, ...]:
    """From clear height to clear height. Empty where the machine has no such gauge."""
    tool = machine.probe if study.gauge.kind == _PROBE else machine.indicator
    if tool is None:
        return ()
    return tuple(_stops(study, machine, tool))


def _stops(study: Study, machine: Machine, tool: Indicator | Probe) -> Iterator[PathStop]:
    clear_mm, beside_mm = machine.clear_z_mm, hypot(tool.offset_x_mm, tool.offset_y_mm)
    words = words_of(study.kind)
    if words.people_set:
        yield _stop(0.0, clear_mm, "over the point")
        yield _stop(0.0, machine.set_z_mm, "a person sets the gap")
        yield _stop(0.0, clear_mm, "")
    elif not words.asks_nobody:
        yield _stop(0.0, clear_mm, "away from where it reads")
    if isinstance(tool, Probe):
        yield from _touched(study, clear_mm, beside_mm)
    else:
        yield _stop(beside_mm, clear_mm, "plunger over the point")
        yield _stop(beside_mm, tool.reading_z_mm, "the plunger rests on the bed: the reading")
        yield _stop(beside_mm, clear_mm, "")


def _touched(study: Study, clear_mm: float, beside_mm: float) -> Iterator[PathStop]:
    """By the machine's own probe; where nobody is asked it stays low between touches."""
    alone = words_of(study.kind).asks_nobody
    high_mm = study.cycle.probe_lift_mm if alone else clear_mm
    yield _stop(beside_mm, high_mm, "probe over the point")
    yield _stop(beside_mm, 0.0, "the probe touches the bed: the reading")
    yield _stop(beside_mm, high_mm, "")


def _stop(sideways_mm: float, z_mm: float, what: str) -> PathStop:
    return PathStop(sideways_mm=sideways_mm, z_mm=z_mm, what=what)
