"""Keys as the lines of a list: readable as they stand, in a terminal of 80 columns."""

import textwrap
from collections.abc import Iterator, Sequence

from hostctl.reference.keys import Key, Section

WIDTH = 78


def lines_of(sections: Sequence[Section]) -> str:
    """Every key of a section, those of the sections in it below theirs; several: each by turn."""
    seen: dict[type, str] = {}
    if len(sections) == 1:
        return "\n".join(_keys(sections[0], 0, seen))
    return "\n".join(line for each in sections for line in _choice(each, 0, seen))


def bullet(text: str, depth: int = 0) -> str:
    """An entry of a list."""
    indent = "  " * depth
    return textwrap.fill(
        text,
        WIDTH,
        initial_indent=f"{indent}- ",
        subsequent_indent=f"{indent}  ",
        break_on_hyphens=False,
        break_long_words=False,
    )


def _keys(section: Section, depth: int, seen: dict[type, str]) -> Iterator[str]:
    """seen: the kinds of section whose keys were told already, and where."""
    for key in section.keys:
        yield from _entry(key, depth, seen)


def _choice(section: Section, depth: int, seen: dict[type, str]) -> Iterator[str]:
    yield bullet(f"with {section.label}: {section.says}", depth)
    yield from _keys(section, depth + 1, seen)


def _entry(key: Key, depth: int, seen: dict[type, str]) -> Iterator[str]:
    before = seen.get(key.sections[0].kind) if key.sections else None
    same = f" Its keys are those of `{before}`." if before else ""
    yield bullet(f"`{key.name}` ({key.facts}): {key.says}{same}", depth)
    for word, meaning in key.words.items():
        yield bullet(f"`{word}`: {meaning}", depth + 1)
    if key.sections and not before:
        seen[key.sections[0].kind] = key.name
        if len(key.sections) == 1:
            yield from _keys(key.sections[0], depth + 1, seen)
        else:
            for each in key.sections:
                yield from _choice(each, depth + 1, seen)
