"""What a document names that can be held against the program: commands, paths."""

import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[1]
_FENCED = re.compile(r"^```\n(.*?)^```", re.MULTILINE | re.DOTALL)
_INDENTED = re.compile(r"^    (\S.*)$", re.MULTILINE)
_SPAN = re.compile(r"`([^`]+)`")
_COMMAND = re.compile(r"(?:\$ |.*&& \.venv/bin/|.*/bin/)?hostctl((?: [^\n]+)?)")
_PATH = re.compile(
    r"(?<![\w/.-])((?:[\w-]+/)*[\w-]+\.(?:yaml|conf|sh|rules|service|md|lock))(?!\w)"
)
_FOLDER = re.compile(r"(?<![\w/.-])((?:configs|tests|simulators)/[\w/.-]*)")
_LINK = re.compile(r"\]\(([^)#]+)\)")
_STAND_FOR = {"RUN": "1", "PART": "machine", "CODE": "2804", "STUDY": "rig-check", "M": "sim-220"}
_FOUND_IN = (ROOT, ROOT / "configs", ROOT / "configs" / "broker")
_THE_READERS_OWN = {"my-printer.yaml", "my-study.yaml", "my-configs/host.yaml", "NAME.yaml"}


def commands_in(text: str) -> Iterator[list[str]]:
    """The words after `hostctl` of each command line, with something for each placeholder."""
    without_blocks = _FENCED.sub("", text)
    lines = [line for block in _FENCED.findall(text) for line in block.splitlines()]
    lines += _INDENTED.findall(without_blocks)
    lines += [" ".join(span.split()) for span in _SPAN.findall(without_blocks)]
    for line in lines:
        if found := _COMMAND.fullmatch(line.strip(" \\")):
            yield [_STAND_FOR.get(word, word) for word in found[1].split()]


def paths_missing(text: str) -> set[str]:
    """Every path of ours that is named and is not there."""
    named = {*_PATH.findall(text), *_FOLDER.findall(text), *_LINK.findall(text)}
    ours = {path for path in named - _THE_READERS_OWN if "://" not in path}
    return {path for path in ours if not any((place / path).exists() for place in _FOUND_IN)}
