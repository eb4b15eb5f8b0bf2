"""A command's words to its file: loaded only now, parsed, and carried out."""

import re
from argparse import ArgumentParser, Namespace
from collections.abc import Mapping
from difflib import get_close_matches
from importlib import import_module
from typing import NoReturn, Protocol, cast

from hostctl.errors import UsageError

_BELOW_ZERO = re.compile(r"-(\d*)[.,](\d*)")
_BELOW_ZERO_AND_MORE = re.compile(r"-[.,]?\d.*\D.*")


class Command(Protocol):
    """What each command's file has."""

    EXAMPLE: str

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Declare the options."""

    def act(self, args: Namespace) -> int:
        """Do it. Gives the exit code; raises HostctlError."""


class OneLineParser(ArgumentParser):
    """Says what is wrong with a command line in one line."""

    def error(self, message: str) -> NoReturn:
        """Raises UsageError."""
        raise UsageError(self.prog, message, f"See: {self.prog} --help")


def carry_out(name: str, words: list[str], commands: Mapping[str, str]) -> int:
    """Carry out the command called `name`. Raises UsageError when there is none."""
    if name not in commands:
        near = get_close_matches(name, commands, n=1)
        hint = f"Did you mean '{near[0]}'?" if near else "See: hostctl --help"
        raise UsageError("hostctl", f"no command is called '{name}'", hint)
    command = cast(Command, import_module(f"hostctl.cli.{name}"))
    parser = OneLineParser(
        prog=f"hostctl {name}",
        description=commands[name],
        epilog=f"Example: {command.EXAMPLE}",
        allow_abbrev=False,
    )
    command.add_arguments(parser)
    return command.act(parser.parse_args([_as_number(word) for word in words]))


def _as_number(word: str) -> str:
    """`-0,02` as `-0.02`, `-0.02mm` with a true minus: else they would be taken for options."""
    found = _BELOW_ZERO.fullmatch(word)
    if found is not None and any(found.groups()):
        return f"-{found[1] or 0}.{found[2] or 0}"
    return f"\N{MINUS SIGN}{word[1:]}" if _BELOW_ZERO_AND_MORE.fullmatch(word) else word
