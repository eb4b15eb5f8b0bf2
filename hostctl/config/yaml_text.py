"""YAML text to plain data, without the surprises of YAML 1.1.

Only what a reader of the file would expect is taken: `true`/`false` are the only booleans (`on`
stays text), a number is decimal (`0123` and `12:30:00` stay text), `1e-3` is a number, a date
stays text. A key given twice and a reference to another part of the file are refused.
"""

import os
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import yaml

from hostctl.errors import ConfigError

Key = str | int
MOST_BYTES = 1_000_000


class _PlainLoader(yaml.SafeLoader):
    """The safe loader, less what surprises."""

    def compose_node(self, parent: yaml.Node | None, index: int) -> yaml.Node | None:
        if self.check_event(yaml.AliasEvent):
            event = self.peek_event()  # type: ignore[no-untyped-call]  # its stub has no types
            mark = event.start_mark
            raise yaml.MarkedYAMLError(problem="a reference (*) is not taken", problem_mark=mark)
        return super().compose_node(parent, index)


_PlainLoader.yaml_implicit_resolvers = {}
for _tag, _pattern, _first in (
    ("bool", r"true|True|TRUE|false|False|FALSE", "tTfF"),
    ("null", r"~|null|Null|NULL|", ["~", "n", "N", ""]),
    ("int", r"[-+]?(0|[1-9][0-9]*)", "-+0123456789"),
    (
        "float",
        r"[-+]?((0|[1-9][0-9]*)(\.[0-9]*)?|\.[0-9]+)([eE][-+]?[0-9]+)?"
        r"|[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)",
        "-+0123456789.",
    ),
):
    _PlainLoader.add_implicit_resolver(
        f"tag:yaml.org,2002:{_tag}", re.compile(f"^(?:{_pattern})$"), list(_first)
    )


@dataclass(frozen=True, slots=True)
class Source:
    """The text of a file and what to call it in errors."""

    where: str
    text: str

    @classmethod
    def of(cls, path: Path) -> "Source":
        """Read the file. Raises ConfigError when it can't be read as text."""
        if _waits(path):
            raise ConfigError(str(path), "is no plain file", "Give the path of one.")
        try:
            with path.open("rb") as file:
                data = file.read(MOST_BYTES + 1)
        except OSError as cause:
            reason = (cause.strerror or str(cause)).lower()
            raise ConfigError(
                str(path), f"can't be read ({reason})", "Check the path and its permissions."
            ) from cause
        if len(data) > MOST_BYTES:
            raise ConfigError(
                str(path), "is over 1 MB", "Give a machine, study, budget or host file."
            )
        try:
            return cls(str(path), data.decode("utf-8"))
        except UnicodeDecodeError as cause:
            line = data.count(b"\n", 0, cause.start) + 1
            raise ConfigError(
                f"{path}:{line}", "is not UTF-8 text", "Save the file as UTF-8."
            ) from cause


def _waits(path: Path) -> bool:
    """Whether it is a device, socket or named pipe. A shell's own pipe has no path."""
    real = Path(os.path.realpath(path))
    return real.exists() and not (real.is_file() or real.is_dir())


@dataclass(frozen=True, slots=True)
class Document:
    """A file taken apart: its data, and where each key stands."""

    source: Source
    data: object
    mistakes: tuple[ConfigError, ...]  # keys given twice
    _root: yaml.Node

    def at(self, path: Sequence[Key]) -> str:
        """`file:line` of the key at `path`, or of the nearest part around it that is there."""
        node, line = self._root, self._root.start_mark.line
        for key in path:
            step = _step(node, key)
            if step is None:
                break
            node, line = step
        return f"{self.source.where}:{line + 1}"


def parse(source: Source) -> Document:
    """Take the text apart. Raises ConfigError when it is not YAML, or empty."""
    try:
        loader = _PlainLoader(source.text)
        root = loader.get_single_node()
        if root is None:
            raise ConfigError(source.where, "is empty", "Start from a shipped file.")
        data = loader.construct_document(root)
    except yaml.MarkedYAMLError as cause:
        raise _not_yaml(source, cause) from cause
    except RecursionError as cause:
        what = "is not YAML: its brackets are nested too deeply"
        raise ConfigError(source.where, what, "Compare it with a shipped file.") from cause
    except yaml.reader.ReaderError as cause:
        line = source.text.count("\n", 0, cause.position) + 1
        what = "is not YAML: it holds unreadable characters"
        raise ConfigError(f"{source.where}:{line}", what, "Save it as plain text.") from cause
    return Document(source, data, tuple(_given_twice(source, root)), root)


def with_changes(source: Source, changes: Mapping[tuple[str, ...], object]) -> Source:
    """The same file with some keys set otherwise, sections made where they are missing.

    Its comments are lost. Raises ConfigError as `parse` does, or where a section is none.
    """
    data = parse(source).data
    for path, value in changes.items():
        section = data
        for key in path[:-1]:
            if isinstance(section, dict) and section.get(key) is None:
                section[key] = {}
            section = section[key] if isinstance(section, dict) else None
        if not isinstance(section, dict):
            what = f"{'.'.join(path[:-1])}: is no section of keys"
            raise ConfigError(source.where, what, "Compare it with a shipped file.")
        section[path[-1]] = value
    return Source(source.where, yaml.safe_dump(data, sort_keys=False, allow_unicode=True))


_NOT_CLOSED = ("a bracket or quotation is not closed", "Close it.")
_NOT_IN_LINE = (
    "this line is indented otherwise than those it belongs to",
    "Let the keys of a section begin in the same column.",
)
_UNCLEAR = ("it can't be taken apart here", "Compare this line with a shipped file.")
_IN_OUR_WORDS = (
    ("'\\t'", ("a tab begins the line", "Indent with spaces, never tabs.")),
    ("cannot start any token", ("no value can begin like this", "Put it in quotes.")),
    (
        "mapping values are not allowed",
        ("a ':' too many, or a wrong indent", "Put the value in quotes, or line the keys up."),
    ),
    ("a reference (*)", ("a reference (*) is not taken", "Write out what it stands for.")),
    ("another document", ("a second document (---) begins here", "Keep one to a file.")),
    ("constructor for the tag", ("a tag (!) is not taken", "Leave it out, or put it in quotes.")),
    ("<stream end>", _NOT_CLOSED),
    ("expected <block end>", _NOT_IN_LINE),
    ("expected ':'", ("a key without its ':'", "Write 'key: value'.")),
    (
        "expected ',' or",
        ("a comma or a bracket is missing in a list", "Separate its parts by ','."),
    ),
    ("not allowed here", ("a '-' or '?' in the wrong place", "Line it up with the others.")),
    ("the node content", ("a value is missing, or a bracket too many", "Complete this line.")),
    ("escape", ("a '\\' in double quotes", "Use single quotes, or none.")),
    ("unhashable key", ("a bracket where a key should be", "Write 'key: value'.")),
    ("unexpected end of stream", _NOT_CLOSED),
)
"""A part of what the parser says, and how a person is told: what, and what next."""


def _not_yaml(source: Source, cause: yaml.MarkedYAMLError) -> ConfigError:
    mark = cause.problem_mark or cause.context_mark
    where = source.where if mark is None else f"{source.where}:{mark.line + 1}"
    problem = cause.problem or ""
    in_our_words = (said for part, said in _IN_OUR_WORDS if part in problem)
    what, next_step = next(in_our_words, _UNCLEAR)
    return ConfigError(where, f"is not YAML: {what}", next_step)


def _step(node: yaml.Node, key: Key) -> tuple[yaml.Node, int] | None:
    if isinstance(node, yaml.MappingNode):
        for name, value in node.value:
            if name.value == str(key):
                return value, name.start_mark.line
    if isinstance(node, yaml.SequenceNode) and isinstance(key, int) and key < len(node.value):
        item = node.value[key]
        return item, item.start_mark.line
    return None


def _given_twice(source: Source, node: yaml.Node) -> Iterator[ConfigError]:
    if isinstance(node, yaml.SequenceNode):
        for item in node.value:
            yield from _given_twice(source, item)
    if isinstance(node, yaml.MappingNode):
        seen: dict[str, int] = {}
        for name, value in node.value:
            line = name.start_mark.line + 1
            if name.value in seen:
                yield ConfigError(
                    f"{source.where}:{line}",
                    f"{name.value}: is given twice (first on line {seen[name.value]})",
                    "Keep one.",
                )
            seen.setdefault(name.value, line)
            yield from _given_twice(source, value)
