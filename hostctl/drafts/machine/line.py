"""What the machine is called, where its cable is, and how fast they talk."""

from collections.abc import Collection, Iterator, Sequence

from hostctl.config.machine import Machine
from hostctl.drafts.machine.known import Known, apart_from, bounds, check_name
from hostctl.drafts.machine.words import meanings
from hostctl.drafts.question import Question, Unclear, Value, Way

OTHER = "other"
MOST_LETTERS = 300


def line_questions(
    known: Known, ports: Sequence[str], taken: Collection[str]
) -> Iterator[Question]:
    """Name, port and speed of the line."""
    yield _machine(taken)
    yield _which_port(ports) if ports and known.get("port") != "" else _typed_port()
    yield _baud()


def _machine(taken: Collection[str]) -> Question:
    suggested = apart_from(taken, "our-printer")
    return Question(
        key="machine",
        text="What is this printer to be called?",
        why="Its file and every record name it so. Lower-case letters, digits and hyphens.",
        suggested=suggested,
        check=lambda value: check_name(value, suggested, taken, "Another machine"),
    )


def _which_port(ports: Sequence[str]) -> Question:
    """An answer `other` is kept as an empty text, and the port then asked for."""
    named = [
        Way(word=str(number), text=name, value=name) for number, name in enumerate(ports, start=1)
    ]
    return Question(
        key="port",
        text="Which port is the printer on?",
        why="These are there now; none has been opened, because opening one can restart a board. "
        "Only the one you name is. Unsure? Pull the printer's cable: the one that goes is it.",
        kind="choice",
        ways=(*named, Way(word=OTHER, text="another one; its name is typed next", value="")),
        words=meanings("port"),
    )


def _typed_port() -> Question:
    return Question(
        key="port",
        text="What is the name of the printer's port?",
        why="Only the port you name is opened. `hostctl ports` lists those that are there; "
        "socket://host:port is one in the network, sim://workshop-220 a simulated printer.",
        words=meanings("port"),
        check=_check_port,
    )


def _check_port(value: Value) -> None:
    text = str(value)
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
        words=meanings("baud", "controller"),
    )
