"""`hostctl begin` at a real pseudo-terminal: `python tests/begin/begin_on_a_pty.py 40`.

Each simulated printer is begun at a terminal of its own, through to the first verdict; then anew
for each of some interruptions, drawn over all that was asked, moved and prompted. Writes its
section of tests/data/begin.md; the exit code is 1 where anything fails.
"""

import argparse
import asyncio
import sys
import tempfile
from collections import defaultdict
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from time import monotonic
from typing import get_args

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent), str(HERE.parents[1] / "simulators")]

from at_a_pty import Event, How, Meddling, bench_at  # noqa: E402
from begun import printer_of  # noqa: E402
from hostctl_simulators.simulated_printer import Description  # noqa: E402
from interrupted import interrupted, whole_way  # noqa: E402

TABLE = HERE.parent / "data/begin.md"
SECTION = "# At a real pseudo-terminal"
PARTS = ("by questions", "at the machine", "rig check", "study by questions", "study's run")
HOWS: tuple[How, ...] = get_args(How)


@dataclass(slots=True, kw_only=True)
class Hour:
    """One first hour, interrupted or not."""

    seed: int
    dialect: str
    what: str = "none"
    """How it was interrupted."""
    part: str = "whole way"
    while_: str = ""
    events: int = 0
    failings: list[str] = field(default_factory=list)


def hours_of(seed: int, count: int) -> list[Hour]:
    """Of one machine."""
    dialect = Description.parse(printer_of(seed)).dialect or "probing"
    whole = Hour(seed=seed, dialect=dialect)
    events: list[Event] = []
    try:
        events, whole.failings = asyncio.run(_whole(seed))
    except AssertionError as why:
        whole.failings = [str(why)]
    whole.events = len(events)
    return [whole, *(_one(seed, dialect, events, each) for each in drawn(seed, events, count))]


async def _whole(seed: int) -> tuple[list[Event], list[str]]:
    with tempfile.TemporaryDirectory() as folder:
        async with bench_at(Path(folder), printer_of(seed)) as bench:
            return await whole_way(bench)


def _one(seed: int, dialect: str, events: Sequence[Event], meddling: Meddling) -> Hour:
    part = part_of(events, meddling.at)
    hour = Hour(seed=seed, dialect=dialect, what=meddling.how, part=part)
    hour.while_ = events[meddling.at - 1]["event"]
    until = {"rig check": "judged", "study by questions": "study_run.now", "study's run": ""}
    try:
        where, hour.failings = asyncio.run(interrupted(seed, meddling, until.get(part, "rig.now")))
        if hour.failings:
            hour.failings.insert(0, f"at {where}")
    except AssertionError as why:
        hour.failings = [str(why)]
    hour.events = meddling.at
    return hour


def drawn(seed: int, events: Sequence[Event], count: int) -> Iterator[Meddling]:
    """Drawn by part and kind first, so that the many steps down do not take all."""
    chance = Random(f"{seed}/at a terminal")
    places: dict[tuple[str, str], list[int]] = defaultdict(list)
    for at, event in enumerate(events, 1):
        if event["event"] in ("asked", "moving", "counting", "prompt"):
            places[part_of(events, at), event["event"]].append(at)
    kinds = sorted(places)
    for kind in chance.sample(kinds, min(count, len(kinds))):
        yield Meddling(chance.choice(places[kind]), chance.choice(_hows(*kind)))


def _hows(part: str, event: str) -> list[How]:
    """A run's machine file names the port: who gave it another name corrects it there."""
    out: list[How] = [] if event in ("moving", "prompt") else ["x"]
    out += [] if part == "at the machine" else ["elsewhere"]
    return [how for how in HOWS if how not in out]


def part_of(events: Sequence[Event], at: int) -> str:
    """Which of PARTS it lies in."""
    keys = [event.get("key") for event in events[:at]]
    for key, part in (
        ("study_run.now", "study's run"),
        ("judged", "study by questions"),
        ("rig.now", "rig check"),
        ("bare.indicator_off", "at the machine"),
    ):
        if key in keys:
            return part
    return "by questions"


def main(arguments: Sequence[str] | None = None) -> int:
    """Carry them out; gives the exit code."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("machines", type=int)
    parser.add_argument("--interruptions", type=int, default=4, help="of each machine")
    parser.add_argument("--first", type=int, default=0, help="the first seed")
    parser.add_argument("--at-once", type=int, default=2, help="processes")
    asked = parser.parse_args(arguments)
    begun_s, hours = monotonic(), list[Hour]()
    seeds = range(asked.first, asked.first + asked.machines)
    with ProcessPoolExecutor(asked.at_once) as workers:
        for of_one in workers.map(hours_of, seeds, [asked.interruptions] * len(seeds)):
            hours += of_one
            for hour in of_one:
                if hour.failings:
                    print(hour, flush=True)  # whoever waits for it
    script = "python tests/begin/begin_on_a_pty.py"
    command = f"{script} {asked.machines} --interruptions {asked.interruptions}"
    before = TABLE.read_text().partition(f"\n{SECTION}")[0] if TABLE.exists() else ""
    TABLE.write_text(f"{before}\n{section(command, hours)}" if before else section(command, hours))
    failed = sum(bool(hour.failings) for hour in hours)
    print(f"{len(hours)} first hours, {failed} failed, {monotonic() - begun_s:.0f} s")
    return 1 if failed else 0


def section(command: str, hours: Sequence[Hour]) -> str:
    """What is kept of them."""
    failed = [hour for hour in hours if hour.failings]
    lines = [
        SECTION,
        "",
        f"Written by `{command}`; not by hand. The program runs in a process of its own at a "
        "pseudo-terminal of 80 by 24, answers are typed, and the printer's cable is a "
        "pseudo-terminal too. Each machine goes the whole way once; then anew for each "
        "interruption: Ctrl-C, the process killed, the cable pulled and plugged in again (also "
        "elsewhere: under another name), key x. After it the same command goes on.",
        "",
        "Must hold: the exit code as documented, no fault of the program's own, one line on how to "
        "go on, the terminal as it was found, the file of facts whole and nothing lost of it, no "
        "question of what is known asked again, no mishap, heaters off, and in the end all that "
        f"holds without an interruption. Failed: {len(failed)} of {len(hours)}.",
        "",
        "| interrupted by | in | while | first hours | failed |",
        "| --- | --- | --- | --- | --- |",
    ]
    rows: dict[tuple[str, str, str], list[Hour]] = defaultdict(list)
    for hour in hours:
        rows[hour.what, hour.part, hour.while_ or hour.dialect].append(hour)
    order = {part: at for at, part in enumerate(("whole way", *PARTS))}
    for what, part, while_ in sorted(rows, key=lambda row: (order[row[1]], row)):
        of_row = rows[what, part, while_]
        bad = sum(bool(hour.failings) for hour in of_row)
        lines.append(f"| {what} | {part} | {while_} | {len(of_row)} | {bad} |")
    if failed:
        lines += ["", "What failed:", ""]
        lines += [f"- {h.seed}, {h.what}, event {h.events}: {h.failings[:2]}" for h in failed[:40]]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    sys.exit(main())
