"""`hostctl reference [PART]`: what files, messages, results and exit codes hold, key by key."""

from argparse import ArgumentParser, Namespace
from collections.abc import Iterator
from difflib import get_close_matches
from importlib.resources import files

from hostctl.config.find import REFERENCE
from hostctl.errors import ConfigError, UsageError

EXAMPLE = "hostctl reference machine"
QUESTIONS = (
    "analysis",
    "axis",
    "budget",
    "gauges",
    "history",
    "levelling",
    "probe-loop",
    "plan",
    "report",
)
"""Those that have a schema; `report/schemas.py`, which knows them too, loads all that they need."""


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    either = parser.add_mutually_exclusive_group()
    either.add_argument(
        "part", nargs="?", metavar="PART", help="which part; without it, all are listed"
    )
    either.add_argument(
        "--schema", choices=QUESTIONS, help="instead, the JSON Schema of what its --json gives"
    )


def act(args: Namespace) -> int:
    """Print a part, a schema, or which parts there are. Raises UsageError, ConfigError."""
    if args.schema:
        print((files("hostctl.report") / "schemas" / f"{args.schema}.json").read_text(), end="")
        return 0
    parts = {file.stem: file for file in sorted(REFERENCE.glob("*.md"))}
    if not parts:
        raise ConfigError(str(REFERENCE), "the reference is not here", "Install the package anew.")
    if args.part is None:
        for name, file in parts.items():
            title, *_ = file.read_text().splitlines()
            print(f"{name:<12} {title.removeprefix('# ')}")
        print("\nOne of them: hostctl reference PART · of a command: hostctl COMMAND --help")
        return 0
    if args.part not in parts:
        near = get_close_matches(args.part.lower(), parts, n=1)
        hint = f"Did you mean '{near[0]}'?" if near else f"Known: {', '.join(parts)}."
        raise UsageError("hostctl reference", f"no part is called '{args.part}'", hint)
    print("\n".join(for_a_terminal(parts[args.part].read_text())))
    return 0


def for_a_terminal(text: str) -> Iterator[str]:
    """A part's lines without the marks that only a page of the web needs."""
    for line in text.splitlines():
        if line.startswith("<!--"):
            continue
        marks, _, title = line.partition(" ")
        if marks and not marks.strip("#"):
            yield title
            yield ("━" if marks == "#" else "─") * len(title)
        else:
            yield line.replace("**", "")
