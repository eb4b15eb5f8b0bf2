"""What the machine is called, where its cable is, and how fast they talk."""

from collections.abc import Collection, Iterator, Sequence

from hostctl.config.machine import Machine
from hostctl.drafts.machine.known import bounds, check_name
from hostctl.drafts.question import Question, Unclear, Value, Way
from hostctl.drafts.study.answers import apart_from
from hostctl.drafts.trade_words import meanings

MOST_LETTERS = 300


def line_questions(ports: Sequence[str], taken: Collection[str]) -> Iterator[Question]:
    """Name, port and speed of the line."""
    yield _machine(taken)
    yield _port(ports)
    yield _baud()


def _machine(taken: Collection[str]) -> Question:
    suggested = apart_from(frozenset(taken), "our-printer")
    return Question(
        key="machine",
        text="What is this printer to be called?",
        why="Its file and every record name it so. Lower-case letters, digits and hyphens.",
        suggested=suggested,
        check=lambda value: check_name(value, suggested, taken, "Another machine"),
    )


def _port(ports: Sequence[str]) -> Question:
    """Those that are there go by a number; any may be typed."""
    there = "None is there now: is the cable in, and the printer on? "
    if ports:
        there = (
            "Type the number of one that is there, or another name. Where there are several: pull "
            "the printer's cable, and see which one `hostctl ports` no longer lists. "
        )
    return Question(
        key="port",
        text="Which port is the printer on?",
        why=f"{there}Only the one you name is opened; opening it can restart the board. "
        "socket://host:port is one in the network.",
        ways=tuple(
            Way(word=str(number), text=name, value=name)
            for number, name in enumerate(ports, start=1)
        ),
        words=meanings("port"),
        check=_check_port,
    )


def _check_port(value: Value) -> None:
    text = str(value)
    if text.isdecimal():
        raise Unclear(f"{text[:40]} is the number of none that is there: type one, or a name.")
    if not text.isprintable() or len(text) > MOST_LETTERS:
        raise Unclear(f"A port's name has up to {MOST_LETTERS} letters that can be printed.")


def _baud() -> Question:
    least, most = bounds("baud")
    return Question(
        key="baud",
        text="How many bits a second go over the cable (baud)?",
        why="115200 or 250000 on most boards; the maker's manual says which. With a wrong one "
        "nothing is understood, and it is asked again.",
        kind="whole",
        least=least,
        most=most,
        suggested=str(Machine.model_fields["baud"].default),
        words=meanings("baud"),
    )
