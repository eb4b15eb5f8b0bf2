"""What can be asked on the local socket: what each request holds, and why another is none."""

from dataclasses import dataclass
from typing import Annotated, Literal, get_args

from pydantic import Field, TypeAdapter

from hostctl.channels.taken import Fault, Misfit, Taken, taken_from

LARGEST = 2**63 - 1
"""The largest whole number the database holds."""


class Status(Taken):
    """How all machines stand."""

    ask: Literal["status"]


class Watch(Taken):
    """How all machines stand, now and at each change."""

    ask: Literal["watch"]


class Start(Taken):
    """Start a study, or go on with a run; taken only while somebody at the machine has armed it."""

    ask: Literal["start"]
    machine: str | None = None
    """One of the daemon's machines; may be left out where it has only one."""
    study: str | None = None
    """Its name, as in the daemon's folder."""
    resume: int | None = Field(default=None, ge=1, le=LARGEST)
    """The number of the run to go on with."""
    seed: int | None = Field(default=None, ge=0, le=LARGEST)
    """Of the random order; without it one is drawn."""


class Reply(Taken):
    """Answer the open prompt."""

    ask: Literal["answer"]
    machine: str | None = None
    """One of the daemon's machines; may be left out where it has only one."""
    text: str | None = None
    """`done`, `redo`, `skip`, `hold`, `end`, or what the indicator shows, as people type it."""
    prompt_id: str | None = None
    """Count only for this prompt; without it, for the one that is open."""


class Hold(Taken):
    """Hold the run of the machine that is named, or every run."""

    ask: Literal["hold"]
    machine: str | None = None
    """The one; left out: all of them."""


class Stop(Taken):
    """Halt the machine that is named, or all. Not an emergency stop: that is the mains switch."""

    ask: Literal["stop"]
    machine: str | None = None
    """The one; left out: all of them."""


class Arm(Taken):
    """Allow one start from afar, by the code that is shown at the machine."""

    ask: Literal["arm"]
    machine: str | None = None
    """One of the daemon's machines; may be left out where it has only one."""
    code: str | None = None
    """As it is shown there."""


class ShowCode(Taken):
    """Have the code shown at the machine."""

    ask: Literal["show-code"]
    machine: str | None = None
    """One of the daemon's machines; may be left out where it has only one."""


class Pair(Taken):
    """Let one more phone use the page."""

    ask: Literal["pair"]


class ForgetPhones(Taken):
    """Let no phone use the page that did so far."""

    ask: Literal["forget-phones"]


ToOne = Reply | Arm | ShowCode
AskedOnce = Status | Start | Reply | Hold | Stop | Arm | ShowCode | Pair | ForgetPhones
Request = Status | Watch | AskedOnce
REQUESTS = Annotated[Request, Field(discriminator="ask")]
_REQUESTS: TypeAdapter[Request] = TypeAdapter(REQUESTS)
_ASKS = [get_args(kind.model_fields["ask"].annotation)[0] for kind in get_args(Request)]


@dataclass(frozen=True, slots=True)
class Malformed:
    """Why a line is no request."""

    reason: str


def request_from(line: bytes) -> Request | Malformed:
    """The request in one line of JSON. Never raises: what can't be understood comes back as why."""
    asked = taken_from(line, _REQUESTS)
    return Malformed(_why(asked)) if isinstance(asked, Misfit) else asked


def _why(misfit: Misfit) -> str:
    match misfit.fault:
        case Fault.NOT_JSON | Fault.TOO_DEEP | Fault.NOT_AN_OBJECT:
            return "the request is not a JSON object"
        case Fault.NO_KIND:
            return f"ask must be one of: {', '.join(_ASKS)}"
        case Fault.UNKNOWN_KEY:
            return f"'{misfit.key}' is no key of {misfit.kind}"
        case _:
            return misfit.reason
