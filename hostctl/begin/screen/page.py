"""A question as lines of text, none wider than the terminal: read from top to bottom, once."""

import textwrap
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from hostctl.channels.terminal.draw import Look
from hostctl.drafts.question import Question
from hostctl.report.document.plain_ascii import in_ascii

BARE = Look(act="", clear="", held="", strong="", faint="", off="")
ALWAYS = {
    "?": "what the words mean",
    "back": "the answer before this one again",
    "leave": "go on another time; all is kept",
}
HANDS_OUT = "Take your hands out of the machine first."
IN_SHORT = "Emergency stop: the mains switch; key x tells it to halt."
_WIDEST, _NARROWEST = 100, 20


@dataclass(frozen=True, slots=True)
class Paper:
    """How wide lines may be, and what sets words off. columns: 0 where it is not known."""

    look: Look
    columns: int

    def wrapped(self, text: str, tone: str = "", *, first: str = "", indent: str = "") -> list[str]:
        """A paragraph. first: set before it; indent: before its other lines."""
        text = harmless(text)
        text = in_ascii(text) if self.look.ascii_alone else text
        width = min(_WIDEST, max(_NARROWEST, (self.columns or 80) - 1))
        lines = textwrap.wrap(
            f"{first}{text}",
            width,
            subsequent_indent=indent,
            break_on_hyphens=False,
        )
        off = self.look.off if tone else ""
        return [f"{tone}{line}{off}" for line in lines]

    def as_is(self, text: str) -> list[str]:
        """Line by line; what is too wide goes on below, as far in as it began."""
        lines = []
        for line in text.split("\n"):
            indent = line[: len(line) - len(line.lstrip(" "))]
            lines += self.wrapped(line.lstrip(" "), first=indent, indent=indent) or [""]
        return lines

    def listed(self, entries: Mapping[str, str]) -> list[str]:
        """A word a line, and behind it what it means."""
        longest = max((len(word) for word in entries), default=0)
        lines = []
        for word, text in entries.items():
            named = f"  {word:<{longest}}  "
            lines += self.wrapped(text, first=named, indent=" " * len(named))
        return lines


def harmless(text: str) -> str:
    """What a terminal would take for an order is made visible: a controller may say anything."""
    blank = ((" " if sign.isspace() else sign) for sign in text)
    return "".join(sign if sign.isprintable() else "\N{REPLACEMENT CHARACTER}" for sign in blank)


def whole_page(question: Question, paper: Paper, new_words: Iterable[str] = ()) -> list[str]:
    """What is asked, why, what the machine said, and what may be answered.

    new_words: those in it that were in no question before.
    """
    look = paper.look
    lines = ["", *paper.wrapped(question.text, look.strong)]
    lines += paper.wrapped(question.why, look.faint)
    lines += _read(question, paper)
    lines += paper.listed({way.word: way.text for way in question.ways})
    if words := ", ".join(new_words):
        lines += paper.wrapped(f"? says what this means: {words}", look.faint)
    return lines


def same_again(question: Question, paper: Paper) -> list[str]:
    """Of a question that has just been asked as a whole."""
    return ["", *paper.wrapped(question.text, paper.look.strong), *_read(question, paper)]


def meanings(question: Question, paper: Paper) -> list[str]:
    """What the words mean, and what may always be answered."""
    lines = paper.listed(question.words or {})
    return [*lines, *paper.wrapped("At any question:"), *paper.listed(ALWAYS)]


def before_motion(moves: str, paper: Paper, *, again: bool) -> list[str]:
    """Stands directly above the answer, hands last. again: in one line, as the person knows it."""
    clear = paper.look.clear
    what = f"Moves next: {sentence(moves)}"
    if again:
        return paper.wrapped(f"{what} Mains switch at hand. Hands out first.", clear)
    return [
        *paper.wrapped(IN_SHORT),
        *paper.wrapped(what, clear),
        *paper.wrapped(HANDS_OUT, clear),
    ]


def prompt(question: Question, *, again: bool = False) -> str:
    """What stands before the answer. again: with the words to choose from."""
    unit = f"{question.unit} " if question.unit else ""
    suggested = f"[{question.suggested}] " if question.suggested else ""
    words = ", ".join(way.word for way in question.ways) if again else ""
    return harmless(f"{words}{' ' if words else ''}{suggested}{unit}> ")


def sentence(text: str) -> str:
    """Ends with a stop."""
    return text if text.endswith((".", "!", "?")) else f"{text}."


def _read(question: Question, paper: Paper) -> list[str]:
    if not question.read:
        return []
    return paper.wrapped(f"The controller says: {question.read} (shown, not taken)")
