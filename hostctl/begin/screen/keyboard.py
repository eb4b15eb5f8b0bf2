"""Bytes from a terminal to what was typed and what was pasted.

A terminal that was asked to puts a mark before and after what is pasted. Marks, the codes of cursor
keys and signs of several bytes may come in pieces.
"""

import codecs
import re
from collections.abc import Iterator
from dataclasses import dataclass

from hostctl.channels.terminal.pasted import BEGINS, ENDS

_PASTE_BEGINS, _PASTE_ENDS = BEGINS.decode(), ENDS.decode()
_CODE = re.compile(r"\x1b(?:\[[0-?]*[ -/]*[@-~]|O.)")
_UNFINISHED = re.compile(r"\x1b(?:\[[0-?]*[ -/]*|O)?\Z")
STOP_KEYS = frozenset("xX")


@dataclass(frozen=True, slots=True)
class Piece:
    """Some text in the order in which it came; `\\n` ends a line."""

    text: str
    pasted: bool = False
    over: bool = False
    """The paste ends here."""


class Keyboard:
    """What of a mark or a sign has come so far, and whether a paste goes on."""

    def __init__(self) -> None:
        self._signs = codecs.getincrementaldecoder("utf-8")(errors="ignore")
        self._kept = ""
        self._pasting = False

    def forget(self) -> None:
        """What was on its way was thrown away; so may the end of a paste have been."""
        self._signs.reset()
        self._kept, self._pasting = "", False

    def pieces(self, data: bytes) -> Iterator[Piece]:
        """What came, cursor keys and the like left out."""
        text = self._kept + self._signs.decode(data).replace("\r", "\n")
        unfinished = _UNFINISHED.search(text)
        self._kept = unfinished[0] if unfinished else ""
        text = text.removesuffix(self._kept) if self._kept else text
        begun = 0
        for code in _CODE.finditer(text):
            yield from self._plain(text[begun : code.start()])
            begun = code.end()
            if code[0] == _PASTE_BEGINS:
                self._pasting = True
            elif code[0] == _PASTE_ENDS:
                self._pasting = False
                yield Piece("", pasted=True, over=True)
        yield from self._plain(text[begun:])

    def _plain(self, text: str) -> Iterator[Piece]:
        """The escape key by itself means nothing."""
        if text := text.replace("\x1b", ""):
            yield Piece(text, pasted=self._pasting)

    def stops(self, data: bytes) -> bool:
        """Whether key x was pressed; pasted it counts too, for stopping always does."""
        return any(STOP_KEYS.intersection(piece.text) for piece in self.pieces(data))
