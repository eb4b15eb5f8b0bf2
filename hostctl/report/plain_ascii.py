"""Text for a terminal that knows ASCII alone: each sign replaced by the nearest plain one."""

from typing import TextIO

_LIKE = {
    "±": "+/-",
    "−": "-",
    "–": "-",
    "×": "x",
    "·": "*",
    "√": "sqrt",
    "²": "^2",
    "⁴": "^4",
    "σ": "sigma",
    "ν": "nu",
    "α": "alpha",
    "θ": "theta",
    "Δ": "d",
    "δ": "delta",
    "Σ": "sum ",
    "χ": "chi",
    "∞": "inf",
    "≤": "<=",
    "≥": ">=",
    "°": "deg",
    "→": ">",
    "…": "...",
    "•": "*",
    "’": "'",
    "─": "-",
    "┄": ".",
    "│": "|",
    "┤": "|",
    "└": "+",
    "┴": "+",
    "▁": "_",
    "▂": "_",
    "▃": ".",
    "▄": ".",
    "▅": ":",
    "▆": ":",
    "▇": "#",
    "█": "#",
    "●": "o",
    "◆": "X",
    "▪": "+",
}
_TABLE = str.maketrans(_LIKE)


def fit_for(stream: TextIO, text: str) -> str:
    """The text as it is where the stream can carry it, else in ASCII."""
    try:
        text.encode(stream.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return text.translate(_TABLE).encode("ascii", "replace").decode("ascii")
    return text
