"""One next step: a command that can be pasted as it stands, and why."""

import shlex
import sys
from argparse import Namespace
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from hostctl.store.file.location import database_path

MOST = 2
COLUMNS = 80
_LEADS = ("Next", "Also")


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """why: in a few words, as they stand between `Next, ` and the command.  words: after `hostctl`,
    each as a program is given it."""

    why: str
    words: tuple[str, ...]

    @property
    def command(self) -> str:
        """As a shell takes it."""
        return " ".join(("hostctl", *map(_quoted, self.words)))


def said(steps: Sequence[Step]) -> str:
    """At most two of them; a command that does not fit beside its reason stands below it."""
    return "\n".join(_line(lead, step) for lead, step in zip(_LEADS, steps[:MOST], strict=False))


def for_people() -> bool:
    """Whether people read what is printed, and no file or program."""
    return sys.stdout.isatty() and sys.stderr.isatty()


def say_beside(steps: Sequence[Step], *, quiet: bool = False) -> None:
    """Say them to people only, and never among results. quiet: say nothing."""
    if steps and not quiet and for_people():
        sys.stdout.flush()  # what they follow comes first
        print(f"\n{said(steps)}", file=sys.stderr)


def explained(name: str, args: Namespace) -> Iterator[Step]:
    """The command of that name once more, with its formulas, unless they were asked for."""
    if not args.explain:
        words = (name, *args.words, "--explain")
        yield Step(why="with the formulas, and these numbers in them", words=words)


def naming(database: Path) -> tuple[str, ...]:
    """The option that names this database, where commands would not find it by themselves."""
    return () if database == database_path() else ("--database", str(database))


def _line(lead: str, step: Step) -> str:
    why = f"{lead}, {step.why}:"
    beside = f"{why} {step.command}"
    return beside if len(beside) <= COLUMNS else f"{why}\n  {step.command}"


def _quoted(word: str) -> str:
    """A path below the home folder is written short, as the shell takes it too."""
    home = f"{Path.home()}/"
    if word.startswith(home) and shlex.quote(word) == word:
        return f"~/{word.removeprefix(home)}"
    return shlex.quote(word)
