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


_IN_OUR_WORDS = (
    (r"the following arguments are required: (.*)", r"\1 is missing"),
    (r"one of the arguments (\S+) (\S+) is required", r"\1 or \2 is missing"),
    (r"argument (\S+): not allowed with argument (\S+)", r"\2 and \1 exclude each other"),
    (r"argument (\S+): expected .*argument.*", r"\1 lacks its value"),
    (r"argument (\S+): ignored explicit argument .*", r"\1 takes no value"),
    (r"argument (\S+): invalid choice: (.*) \(choose from (.*)\)", r"\1 can't be \2, only \3"),
    (r"argument (\S+): (.*)", r"\1: \2"),
)
"""What argparse says, and how a person is told."""
_TOO_MANY = "unrecognized arguments: "


class OneLineParser(ArgumentParser):
    """Says what is wrong with a command line in one line."""

    def error(self, message: str) -> NoReturn:
        """Raises UsageError."""
        what, next_step = message, f"See: {self.prog} --help"
        for pattern, words in _IN_OUR_WORDS:
            if found := re.fullmatch(pattern, message, re.DOTALL):
                what = found.expand(words)
                break
        if message.startswith(_TOO_MANY):
            what, near = self._too_many(message.removeprefix(_TOO_MANY).split(" ")[0])
            next_step = f"Did you mean '{near}'?" if near else next_step
        raise UsageError(self.prog, what, next_step)

    def _too_many(self, word: str) -> tuple[str, str | None]:
        """What to say of a word that has no place, and the option it may have been meant for."""
        if not word.startswith("-"):
            return f"'{word}' is one word too many", None
        option = word.partition("=")[0]
        near = get_close_matches(option, self._option_string_actions, n=1)
        return f"there is no option '{option}'", near[0] if near else None


def carry_out(name: str, words: list[str], commands: Mapping[str, str]) -> int:
    """Carry out the command called `name`. Raises UsageError as `understood` does."""
    command, args = understood(name, words, commands)
    return command.act(args)


def understood(
    name: str, words: list[str], commands: Mapping[str, str]
) -> tuple[Command, Namespace]:
    """The command called `name`, and what it is asked for. Raises UsageError where that is none."""
    if name not in commands:
        near = get_close_matches(name.lower(), commands, n=1)
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
    args = parser.parse_args([_as_number(word) for word in words])
    args.words = tuple(words)  # as they were given, for whoever names the same once more
    return command, args


def _as_number(word: str) -> str:
    """`-0,02` as `-0.02`, `-0.02mm` with a true minus: else they would be taken for options."""
    found = _BELOW_ZERO.fullmatch(word)
    if found is not None and any(found.groups()):
        return f"-{found[1] or 0}.{found[2] or 0}"
    return f"\N{MINUS SIGN}{word[1:]}" if _BELOW_ZERO_AND_MORE.fullmatch(word) else word
