"""Large letters for a terminal: drawn five dots high, shown two dots to a character cell."""

_DRAWN = {
    "A": ".##. #..# #### #..# #..#",
    "B": "###. #..# ###. #..# ###.",
    "C": ".### #... #... #... .###",
    "D": "###. #..# #..# #..# ###.",
    "E": "#### #... ###. #... ####",
    "F": "#### #... ###. #... #...",
    "G": ".### #... #.## #..# .###",
    "H": "#..# #..# #### #..# #..#",
    "I": "# # # # #",
    "J": "...# ...# ...# #..# .##.",
    "K": "#..# #.#. ##.. #.#. #..#",
    "L": "#... #... #... #... ####",
    "M": "#...# ##.## #.#.# #...# #...#",
    "N": "#..# ##.# #.## #..# #..#",
    "O": ".##. #..# #..# #..# .##.",
    "P": "###. #..# ###. #... #...",
    "Q": ".##. #..# #..# #.## .###",
    "R": "###. #..# ###. #.#. #..#",
    "S": ".### #... .##. ...# ###.",
    "T": "##### ..#.. ..#.. ..#.. ..#..",
    "U": "#..# #..# #..# #..# .##.",
    "V": "#...# #...# .#.#. .#.#. ..#..",
    "W": "#...# #...# #.#.# ##.## #...#",
    "X": "#..# #..# .##. #..# #..#",
    "Y": "#...# .#.#. ..#.. ..#.. ..#..",
    "Z": "#### ...# .##. #... ####",
    "0": ".##. #..# #..# #..# .##.",
    "1": ".# ## .# .# .#",
    "2": "###. ...# .##. #... ####",
    "3": "###. ...# .##. ...# ###.",
    "4": "#..# #..# #### ...# ...#",
    "5": "#### #... ###. ...# ###.",
    "6": ".##. #... ###. #..# .##.",
    "7": "#### ...# ..#. .#.. .#..",
    "8": ".##. #..# .##. #..# .##.",
    "9": ".##. #..# .### ...# .##.",
    "+": "... .#. ### .#. ...",
    "-": "... ... ### ... ...",
    ".": ". . . . #",
    ":": ". # . # .",
    ",": ".. .. .. .# #.",
    "?": "###. ...# .##. .... .#..",
    "_": ".... .... .... .... ####",
    " ": ".. .. .. .. ..",
}
_CELLS = {"..": " ", "#.": "\u2580", ".#": "\u2584", "##": "\u2588"}
ROWS = 3


def large(text: str) -> list[str]:
    """The text in large letters, as ROWS lines of equal width. What can't be drawn is left out."""
    glyphs = [_DRAWN[letter].split() for letter in text.upper() if letter in _DRAWN]
    dots = [".".join(glyph[row] for glyph in glyphs) for row in range(5)]
    dots.append("." * len(dots[0]))
    pairs = zip(dots[0::2], dots[1::2], strict=True)
    return ["".join(_CELLS[a + b] for a, b in zip(*pair, strict=True)) for pair in pairs]


def large_in(text: str, width: int) -> list[str]:
    """The text large where it fits so many columns; else part by part, as large as each may be.

    `NOW: VOLUNTEER-B, PAPER SLIP`: person, then method; where a name needs the whole width, `NOW:`
    stands above it. A text with a letter that can't be drawn stays as it is: it may be a name.
    """
    parts = text.split(", ")
    return _large(text, width) or [line for part in parts for line in _but_now(part, width)]


def _large(text: str, width: int) -> list[str]:
    """Empty where it is too wide, or has a letter that can't be drawn."""
    lines = large(text) if set(text.upper()) <= set(_DRAWN) else []
    return lines if lines and len(lines[0]) <= width else []


def _but_now(part: str, width: int) -> list[str]:
    now, _, name = part.rpartition(": ")
    named = [f"{now}:", *_large(name, width)] if now else [part]
    return _large(part, width) or (named if len(named) > 1 else [part])
