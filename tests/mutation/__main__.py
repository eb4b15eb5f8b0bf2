"""Do the tests see small alterations of the code? `python tests/mutation --help` says more."""

import argparse
import random
import signal
import sys
import time
from pathlib import Path

from alterations import Alteration, alterations
from copied_tree import CopiedTree
from rooms import PACKAGE, ROOMS, Room, tests_first
from tally import Tally, judged_by_hand

JUDGED = Path(__file__).with_name("judged.txt")


def main() -> int:
    """The command. Exit code 0: nothing survived; 1: something did; 2: it could not begin."""
    asked = arguments().parse_args()
    for ending in (signal.SIGINT, signal.SIGTERM):  # in the background the first is ignored
        signal.signal(ending, signal.default_int_handler)
    judged = judged_by_hand(JUDGED.read_text(encoding="utf-8"))
    tallies = [Tally(name, judged) for name in asked.rooms]
    try:
        with CopiedTree() as tree:
            rooms = [ROOMS[name] for name in asked.rooms]
            made = [chosen(room, asked.sample, asked.seed, asked.at) for room in rooms]
            for room, of_room, tally in zip(rooms, made, tallies, strict=True):
                run(tree, tuple(asked.tests or room.tests), of_room, tally)
    except KeyboardInterrupt:
        print("\nInterrupted; so far:", file=sys.stderr)
    except RuntimeError as cause:
        print(f"mutation: {cause}", file=sys.stderr)
        return 2
    print(f"\nseed {asked.seed}, sample {asked.sample or 'all'} a room\n")
    print(Tally.heading(), *tallies, sep="\n")
    survivors = [line for tally in tallies for line in tally.survivors()]
    print("", *survivors, sep="\n")
    return 1 if survivors else 0


def arguments() -> argparse.ArgumentParser:
    """What can be asked."""
    parser = argparse.ArgumentParser(
        prog="python tests/mutation",
        description="Alters the package one place at a time, in a copy of the tree, and runs the "
        "tests of the room on it. Ctrl-C ends it and shows what was found so far.",
    )
    parser.add_argument("--rooms", nargs="+", choices=ROOMS, default=list(ROOMS), metavar="ROOM")
    parser.add_argument("--sample", type=int, default=40, help="a room; 0: every alteration")
    parser.add_argument("--seed", type=int, default=1, help="which alterations the sample takes")
    parser.add_argument("--tests", nargs="+", help="these rather than the room's own")
    parser.add_argument(
        "--at", action="append", default=[], metavar="FILE[:LINE]", help="only here; no sample"
    )
    return parser


def chosen(room: Room, sample: int, seed: int, at: list[str]) -> list[Alteration]:
    """The alterations to be tried, in the order of the sources."""
    every = [
        one
        for path in room.sources()
        for one in alterations(path.relative_to(PACKAGE).as_posix(), path.read_text("utf-8"))
    ]
    if at:
        return [one for one in every if {one.file, f"{one.file}:{one.line}"} & set(at)]
    if not 0 < sample < len(every):
        return every
    numbers = sorted(random.Random(seed).sample(range(len(every)), sample))
    return [every[number] for number in numbers]


def run(tree: CopiedTree, tests: tuple[str, ...], made: list[Alteration], tally: Tally) -> None:
    """Try them all."""
    began_s = time.monotonic()
    tree.test_unaltered(tests)
    for done, one in enumerate(made):
        left = (time.monotonic() - began_s) / (done or 1) * (len(made) - done)
        progress(f"{tally.room} {done} of {len(made)}, about {left / 60:.0f} min left; {tally.now}")
        if not tally.is_judged(one):
            caught = tree.catches(one, tests_first(one.file, tests))
            tally.note(one, caught=caught)
            if not caught:
                progress(f"survived: {one.file}:{one.line}: {one.was} => {one.becomes}\n")
    progress("")


def progress(text: str) -> None:
    """One line on the error stream, over the last one where that is a terminal."""
    if sys.stderr.isatty():
        print(f"\r\x1b[K{text}", end="", file=sys.stderr, flush=True)
    elif text:
        print(text, file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main())
