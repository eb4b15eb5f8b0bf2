"""Text for a terminal that knows ASCII alone: each sign replaced by the nearest plain one."""

from collections.abc import Mapping
from typing import TextIO

_LIKE = {
    "±": "+/-",
    "−": "-",
    "–": "-",
    "—": "-",
    "━": "=",
    "┼": "+",
    "┌": "+",
    "┐": "+",
    "┘": "+",
    "é": "e",
    "Ä": "Ae",
    "Ö": "Oe",
    "Ü": "Ue",
    "ä": "ae",
    "ö": "oe",
    "ü": "ue",
    "ß": "ss",
    "µ": "u",
    "μ": "u",
    "″": '"',
    "⁻": "^-",
    "\N{COMBINING MACRON}": "_mean",
    "λ": "lambda",
    "▀": "#",
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
    "Ω": "ohm",
    "→": ">",
    "←": "<",
    "↑": "^",
    "↓": "v",
    "…": "...",
    "•": "*",
    "’": "'",
    "─": "-",
    "┄": ".",
    "│": "|",
    "┤": "|",
    "├": "|",
    "┊": ":",
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
    "◇": "x",
    "▪": "+",
    "○": "0",
    "■": "#",
    "□": "=",
    "▲": "A",
    "△": "^",
    "▽": "v",
    "░": ".",
    "▒": ":",
    "▓": "=",
    "▚": "/",
    "▞": "%",
    "▖": ",",
    "\N{REPLACEMENT CHARACTER}": "#",
}
_TABLE = str.maketrans(_LIKE)


def asked_for(environment: Mapping[str, str]) -> bool:
    """Whether the locale names a terminal that knows no UTF-8.

    Python takes the locale C for UTF-8 and says so in LC_CTYPE (PEP 538); a terminal doesn't.
    """
    if environment.get("PYTHONUTF8") == "1":
        return False
    by_python = environment.get("LC_CTYPE") in ("C.UTF-8", "C.utf8", "UTF-8")
    asked = ["LC_ALL", "LANG", "LC_CTYPE"] if by_python else ["LC_ALL", "LC_CTYPE", "LANG"]
    name = next((environment[key] for key in asked if environment.get(key)), "C.UTF-8")
    return name in ("C", "POSIX") or ("." in name and "utf" not in name.lower())


def in_ascii(text: str) -> str:
    """Each sign as the nearest plain one; `?` for what has none."""
    return text.translate(_TABLE).encode("ascii", "replace").decode("ascii")


def fit_for(stream: TextIO, text: str) -> str:
    """The text as it is where the stream can carry it, else in ASCII."""
    try:
        text.encode(stream.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return in_ascii(text)
    return text
