"""Newcomers at unknown machines, each wrong once: `python tests/begin/begin_trials.py 500`.

Each machine is begun without a slip first, then with one wrong answer at a time, at questions drawn
so that every key is had at many machines. Writes tests/data/begin.md; the exit code is 1 where
anything fails.
"""

import argparse
import sys
from collections import defaultdict
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from random import Random

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent), str(HERE.parents[1] / "simulators")]

from begun import HEIGHT_MM, NEAREST_MM, OFFSET_MM, Begun, begun  # noqa: E402
from slips import Slip  # noqa: E402

TABLE = HERE.parent / "data/begin.md"
OTHER_SECTION = "# At a real pseudo-terminal"
"""Of `begin_on_a_pty.py`: kept."""
MOST_NAMED = 40


@dataclass(slots=True)
class Row:
    """All trials whose slip was at questions of one key."""

    trials: int = 0
    failed: int = 0
    nearest_mm: float = float("inf")
    height_mm: float = 0.0
    offset_mm: float = 0.0
    questions: int = 0

    def add(self, one: Begun) -> None:
        """One trial more."""
        self.trials += 1
        self.failed += bool(one.failings)
        self.nearest_mm = min(self.nearest_mm, one.nearest_mm)
        self.questions = max(self.questions, len(one.asked))
        if not one.fault:
            self.height_mm = max(self.height_mm, abs(one.height_off_mm))
            self.offset_mm = max(self.offset_mm, one.offset_off_mm)


def slips_for(right: Begun, count: int) -> Iterator[Slip]:
    """Drawn by key first: a key that is asked fifty times is no likelier than one asked once."""
    chance = Random(f"{right.seed}/slips")
    places: dict[str, list[int]] = defaultdict(list)
    for at, key in enumerate(right.asked, 1):
        places[kind_of(key)].append(at)
    for key in chance.sample(sorted(places), min(count, len(places))):
        at = chance.choice(places[key])
        yield Slip(at=at, how=chance.choice(right.ways[at - 1]), which=chance.randrange(60))


def kind_of(key: str) -> str:
    """`screws.N.x_mm`, not one for each screw."""
    return ".".join("N" if part.isdigit() else part for part in key.split("."))


def trials_of(seed: int, count: int) -> list[Begun]:
    """One machine: right, then with each slip."""
    right = begun(seed)
    found = [right, *(begun(seed, slip) for slip in slips_for(right, count))]
    return [replace(one, ways=[], heard=[] if not one.failings else one.heard) for one in found]


def main(arguments: Sequence[str] | None = None) -> int:
    """Carry them out; gives the exit code."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("machines", type=int)
    parser.add_argument("--slips", type=int, default=7, help="wrong answers a machine")
    parser.add_argument("--first", type=int, default=0, help="the first seed")
    parser.add_argument("--at-once", type=int, default=2, help="processes")
    asked = parser.parse_args(arguments)
    rows: dict[str, Row] = defaultdict(Row)
    failed: list[Begun] = []
    seeds = range(asked.first, asked.first + asked.machines)
    with ProcessPoolExecutor(asked.at_once) as workers:
        for of_one in workers.map(trials_of, seeds, [asked.slips] * len(seeds)):
            for one in of_one:
                rows[kind_of(one.slipped_at) or "(none)"].add(one)
                if one.failings:
                    failed.append(one)
                    print(told(one), flush=True)  # whoever waits for it
    _, sign, others = (
        TABLE.read_text().partition(f"\n{OTHER_SECTION}") if TABLE.exists() else ("",) * 3
    )
    TABLE.write_text(table(rows, asked.machines, failed) + sign + others)
    print(f"{sum(row.trials for row in rows.values())} trials, {len(failed)} failed")
    return 1 if failed else 0


def told(one: Begun) -> str:
    """One that failed."""
    slip = f"{one.slip.how} ({one.slip.which})" if one.slip else "no slip"
    at = one.slip.at if one.slip else 0
    return f"- {one.seed}, question {at} {one.slipped_at}, {slip}: {'; '.join(one.failings)}"


def table(rows: dict[str, Row], machines: int, failed: Sequence[Begun]) -> str:
    """The page."""
    whole = sum(row.trials for row in rows.values())
    lines = [
        "# How well the first hour holds, whoever is led through it",
        "",
        f"Written by `python tests/begin/begin_trials.py {machines}`; not by hand. {machines:,} "
        f"simulated printers that nobody knows, {whole:,} first hours: each dialect, travel that "
        "begins below 0 or above, either thread and odd ones, a plunger 3 to 9 mm below the "
        "nozzle on either side, numbers that rise and fall, beds tilted up to 1 mm; each fifth "
        "finds z by the bed with a probe of its own. The one who is "
        "led answers wrongly once, at a question of the kind in the first column: another number, "
        "the other way, done without having done it, a screw turned the other way, called off, "
        "stopped, back, or left and taken up again.",
        "",
        f"Must hold: no mishap, the nozzle never nearer to the bed than {NEAREST_MM:g} mm, the end "
        f"reached, the reading height right to {HEIGHT_MM:g} mm (a tenth of the pre-load), the "
        f"plunger's place to {OFFSET_MM:g} mm, every screw's direction right, the file passes "
        f"`check`. Failed: {len(failed)} of {whole:,}.",
        "",
        "| wrong at | trials | failed | nozzle nearest, mm | height off by up to, mm | "
        "plunger off by up to, mm | most questions |",
        "| --- | --- | --- | --- | --- | --- | --- |",
        *(
            f"| {key} | {row.trials} | {row.failed} | {row.nearest_mm:.2f} | {row.height_mm:.3f} | "
            f"{row.offset_mm:.2f} | {row.questions} |"
            for key, row in sorted(rows.items())
        ),
    ]
    if failed:
        lines += ["", "What failed:", "", *(told(one) for one in failed[:MOST_NAMED])]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    sys.exit(main())
