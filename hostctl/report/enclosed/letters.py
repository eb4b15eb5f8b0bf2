"""Operators' names replaced by letters, in everything that is shared.

A is who appears first in the readings, then B, and so on: that is plain from the readings anyway.
In order of the alphabet, or of anything else worked out of the names, a letter would tell whoever
knows the names more than that. Who was there, or sees the list in the study's text, may still know
who is who: letters keep names from strangers and search engines, no secret from friends.

A name is replaced wherever it stands as a word, whatever its case, unless it is so short that it
may be a common word in another. In a part of a longer word it stays, since nothing tells it there.
"""

import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any
from unicodedata import normalize

from hostctl.errors import ConfigError
from hostctl.report.enclosed.enclosure import Enclosure
from hostctl.report.enclosed.sourced import Account, Sourced
from hostctl.report.sources.material import Material
from hostctl.report.sources.tied import Tied

_SHORT = 2  # letters up to which "Al" is a name and "al" is none
_ALPHABET = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


class Letters:
    """What each operator is called by. Made of the sources before they are analysed, so that what
    is found names letters too."""

    def __init__(self, sources: Iterable[Sourced]) -> None:
        names = dict.fromkeys(name for source in sources for name in _names_in(source) if name)
        self.letter_of: Mapping[str, str] = {name: _letter(at) for at, name in enumerate(names)}
        letter_of = self.letter_of.items()
        forms = {form: letter for name, letter in letter_of for form in _forms(name.strip())}
        forms.pop("", None)
        longest_first = sorted(forms, key=lambda form: (-len(form), form))
        self._letters = [forms[form] for form in longest_first]  # by the groups of the pattern
        self._pattern = re.compile("|".join(map(_as_word, longest_first))) if forms else None

    def text(self, text: str) -> str:
        """The same, with letters for names."""
        return self._pattern.sub(self._letter, text) if self._pattern is not None else text

    def plain(self, value: Any) -> Any:
        """The same of plain data; the keys of objects stay."""
        match value:
            case str():
                return self.text(value)
            case Mapping():
                return {key: self.plain(item) for key, item in value.items()}
            case list() | tuple():
                return [self.plain(item) for item in value]
        return value

    def sourced(self, source: Sourced) -> Sourced:
        """The same source."""
        account, groups = source.account, source.rows.groups
        return Sourced(
            material=self.material(source.material),
            account=self._account(account) if account is not None else None,
            rows=replace(
                source.rows,
                groups=tuple(
                    replace(
                        group,
                        method=self.text(group.method),
                        operator=self.operator(group.operator),
                        point=self.text(group.point),
                        workshop=self.text(group.workshop),
                    )
                    for group in groups
                ),
                voids=tuple(map(self.text, source.rows.voids)),
            ),
        )

    def operator(self, name: str) -> str:
        """An operator's letter."""
        return self.letter_of.get(name) or self.text(name)

    def material(self, material: Material) -> Material:
        return replace(
            material,
            name=self.text(material.name),
            title=self.text(material.title),
            machine=self.text(material.machine),
            resolution_from=self.text(material.resolution_from),
            notes=tuple(map(self.text, material.notes)),
            blocks=tuple(
                replace(
                    block,
                    method=self.text(block.method),
                    operator=self.operator(block.operator),
                    point=self.text(block.point),
                    workshop=self.text(block.workshop),
                )
                for block in material.blocks
            ),
            tied=self._tied(material.tied) if material.tied is not None else None,
        )

    def _tied(self, tied: Tied) -> Tied:
        """The same tie; methods and points may be called after people."""
        return replace(
            tied,
            wanted={self.text(method): wanted for method, wanted in tied.wanted.items()},
            observed=tuple(replace(one, point=self.text(one.point)) for one in tied.observed),
            checks=tuple(replace(one, point=self.text(one.point)) for one in tied.checks),
            constants=tuple(replace(one, point=self.text(one.point)) for one in tied.constants),
        )

    def _account(self, account: Account) -> Account:
        return replace(
            account,
            study=self.text(account.study),
            title=self.text(account.title),
            machine=self.text(account.machine),
            study_text=self.text(account.study_text),
            machine_text=self.text(account.machine_text),
            end_reason=self.text(account.end_reason),
            marks=tuple(replace(mark, reason=self.text(mark.reason)) for mark in account.marks),
            events=tuple(
                replace(event, text=self.text(event.text), data=self._data(event.data))
                for event in account.events
            ),
        )

    def _data(self, data: str) -> str:
        return json.dumps(self.plain(json.loads(data)))

    def _letter(self, found: re.Match[str]) -> str:
        return self.letter_of.get(found[0]) or self._letters[(found.lastindex or 1) - 1]


def with_letters(enclosure: Enclosure) -> Enclosure:
    """The same, each operator called by a letter wherever a text names one.

    In what was found names are replaced as they stand; an analysis sorts by them, so whoever can
    analyses what `Letters` makes of the sources instead.
    """
    rig, asked = enclosure.rig, enclosure.asked
    letters = Letters([*enclosure.sources, *([rig] if rig is not None else [])])
    return replace(
        enclosure,
        sources=tuple(map(letters.sourced, enclosure.sources)),
        rig=letters.sourced(rig) if rig is not None else None,
        asked=replace(
            asked,
            method=letters.text(asked.method) if asked.method is not None else None,
            operator=letters.operator(asked.operator) if asked.operator is not None else None,
        ),
        checks=tuple(replace(one, name=letters.text(one.name)) for one in enclosure.checks),
        found=letters.plain(enclosure.found),
        remarks=tuple(map(letters.text, enclosure.remarks)),
    )


def _names_in(source: Sourced) -> Iterator[str]:
    """Operators, as they appear; then whom the study's text or an event names besides."""
    groups = source.rows.groups
    yield from (groups[at].operator for at in dict.fromkeys(source.rows.group))
    yield from (block.operator for block in source.material.blocks)
    if source.account is not None:
        yield from _in_study(source.account)
        for event in source.account.events:
            yield from _in_data(json.loads(event.data))


def _in_study(account: Account) -> Iterator[str]:
    if "operators" not in account.study_text:
        return  # spares loading YAML
    from hostctl.config.yaml_text import Source, parse

    try:
        study = parse(Source(account.study, account.study_text)).data
    except ConfigError:
        return
    named = study.get("operators") if isinstance(study, dict) else None
    if isinstance(named, list):
        yield from (str(name) for name in named if isinstance(name, str | int))


def _in_data(data: object) -> Iterator[str]:
    if isinstance(data, Mapping):
        for key, value in data.items():
            if key == "operator" and isinstance(value, str):
                yield value
            yield from _in_data(value)
    elif isinstance(data, Sequence) and not isinstance(data, str):
        for value in data:
            yield from _in_data(value)


def _letter(at: int) -> str:
    """A to Z, then AA, AB and so on."""
    more, last = divmod(at, len(_ALPHABET))
    return (_letter(more - 1) if more else "") + _ALPHABET[last]


def _as_word(name: str) -> str:
    """A pattern of the name as a word by itself, however it is spaced; `_` parts words too."""
    spaced = r"\s+".join(map(re.escape, name.split()))
    case = "" if len(name) <= _SHORT else "i"
    return rf"((?{case}:(?<![^\W_]){spaced}(?![^\W_])))"


def _forms(name: str) -> Iterator[str]:
    """How a text may have it: accents as signs of their own or not, or spelled as codes."""
    yield name
    for composed in ("NFC", "NFD"):
        yield (form := normalize(composed, name))
        yield json.dumps(form)[1:-1]
