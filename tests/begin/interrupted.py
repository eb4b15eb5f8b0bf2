"""One first hour at a pseudo-terminal that is interrupted once, and gone on with; what of it does
not hold.
"""

import tempfile
from collections.abc import Iterator
from pathlib import Path

from at_a_pty import Bench, Event, How, Meddling, Sat, bench_at
from begun import printer_of
from hostctl_simulators.board.board_states import State

from hostctl.begin.terminal import TOLD_TO_HALT
from hostctl.config.load import load_machine
from hostctl.errors import HostctlError

OUR_FAULTS = ("Traceback", "a fault of its own")
ENDS = {"ctrl-c": 130, "kill": -9}
REDONE = ("room.", "home.")
"""Measured anew where its step is: the head homes again before it."""


async def interrupted(
    seed: int, meddling: Meddling, until: str = "rig.now", url: str = ""
) -> tuple[str, list[str]]:
    """Where it was, and what does not hold. until: where they leave in the end; empty: nowhere."""
    with tempfile.TemporaryDirectory() as folder:
        async with bench_at(Path(folder), url or printer_of(seed)) as bench:
            first = await bench.sit(meddling=[meddling], until=until)
            failings = list(after(bench, first, meddling.how))
            last = first
            if meddling.how in ENDS:
                words = [bench.name] if bench.facts() else []
                last = await bench.sit(*words, until=until)
                again = set(first.facts_then) & set(last.asked)
                failings += [f"asked again: {key}" for key in again if not key.startswith(REDONE)]
            failings += in_the_end(bench, last)
            if failings:
                failings.append(last.shown[-400:])
            return first.meddled_at, failings


async def whole_way(bench: Bench) -> tuple[list[Event], list[str]]:
    """To the first verdict without an interruption: what was asked and done, what does not hold."""
    sat = await bench.sit()
    failings = list(in_the_end(bench, sat))
    if "Kept as run 2 in" not in sat.shown:
        failings.append("no verdict")
    if not sat.left_as_found:
        failings.append("the terminal is not left as it was found")
    if bench.kept_at.exists():
        failings.append("what was known is still kept")
    return sat.events, failings + ([sat.shown[-400:]] if failings else [])


def after(bench: Bench, sat: Sat, how: How) -> Iterator[str]:
    """What must hold as soon as the program has ended."""
    if not sat.meddled_at:
        yield "was never interrupted"
    yield from _our_faults(sat)
    wanted = ENDS.get(how, 0)
    if sat.exit_code != wanted:
        yield f"exit code {sat.exit_code}, not {wanted}"
    if how != "kill" and not sat.left_as_found:
        yield "the terminal is not left as it was found"
    if how == "ctrl-c":
        named = f" {bench.name}" if sat.facts_then else ""
        last = " ".join(sat.shown.split("\n")[-3:])
        if f"hostctl begin{named}" not in last:
            yield f"not told how to go on: {last!r}"
    halted = bench.printer.board.state is State.HALTED
    moved = sat.mid_motion and sat.meddled_at.startswith("moving")
    if how == "ctrl-c" and moved and not halted:
        yield "interrupted in a motion, and it went on"
    if halted and how == "ctrl-c" and TOLD_TO_HALT not in sat.text:
        yield "not told that it was told to halt"
    try:
        facts = bench.facts()
    except ValueError as why:
        yield f"the file of facts is not whole: {why}"
    else:
        lost = set(sat.facts_then) - set(facts)
        if how in ENDS and lost:
            yield f"lost: {sorted(lost)}"
    if how != "kill" and list(bench.folder.rglob("*.new")):
        yield "a file is left behind that is not in its place"


def in_the_end(bench: Bench, sat: Sat) -> Iterator[str]:
    yield from _our_faults(sat)
    yield from bench.failings
    if sat.exit_code != 0:
        yield f"in the end exit code {sat.exit_code}"
    for crash in bench.printer.world.crashes:
        yield f"mishap: {crash.what}, {crash.depth_mm:.2f} mm"
    if bench.printer.panel.targets_c() != (0.0, 0.0):
        yield f"heaters at {bench.printer.panel.targets_c()}"
    try:
        load_machine(bench.folder / f"{bench.name}.yaml")
    except HostctlError as why:
        yield f"its file: {why}"


def _our_faults(sat: Sat) -> Iterator[str]:
    for words in OUR_FAULTS:
        if words in sat.shown:
            yield f"shown: {words}"
