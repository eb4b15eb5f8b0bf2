"""The bench as a small program: somebody types what hands do at a simulated machine."""

import argparse
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from textwrap import fill
from typing import cast, get_args

from hostctl_simulators.bed.screws import Direction
from hostctl_simulators.people.bench import Side, Tip
from hostctl_simulators.people.remote_bench import RemoteBench

WIDTH = 79


class NotUnderstood(ValueError):
    """What was typed is no command: says what would be."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Command:
    """One thing to do or look at."""

    typed: str
    """As it is typed; what is in capitals is filled in."""
    told: str
    does: Callable[[RemoteBench, Sequence[str]], str]

    @property
    def words(self) -> list[str]:
        """What it begins with."""
        return [word for word in self.typed.split() if not word.isupper()]

    @property
    def fills(self) -> int:
        """How many words more it takes."""
        return sum(word.isupper() for word in self.typed.split())


def done_at(bench: RemoteBench, typed: str) -> str:
    """Do what is typed; gives what is then seen. Raises NotUnderstood, LookupError, OSError."""
    words = typed.lower().split()
    if words in (["help"], ["?"]):
        return help_text()
    for command in COMMANDS:
        begins, more = words[: len(command.words)], words[len(command.words) :]
        if begins == command.words and len(more) == command.fills:
            seen = command.does(bench, more).splitlines()
            return "\n".join(fill(line, WIDTH, subsequent_indent="  ") for line in seen)
    raise NotUnderstood(f"'{typed.strip()}' is no command here; type help")


def help_text() -> str:
    """Every command, a line each."""
    wide = max(len(command.typed) for command in COMMANDS)
    lines = [f"  {command.typed:<{wide}}  {command.told}" for command in COMMANDS]
    return "\n".join(["What hands and eyes can do at the simulated machine:", *lines, LEAVE])


LEAVE = "Ctrl-D leaves; the machine stays as it is."


def talk_at_bench(bench: RemoteBench, tell: Callable[[str], None]) -> int:
    """Take commands until the input ends; gives the exit code."""
    tell("You stand at the simulated machine. Type help for what hands can do, look to look.")
    while True:
        try:
            typed = input("hands> ")
        except EOFError:
            return 0
        if typed.strip():
            try:
                tell(done_at(bench, typed))
            except (NotUnderstood, LookupError) as cause:
                tell(_plain(cause))


def told_once(bench: RemoteBench, words: Sequence[str], tell: Callable[[str], None]) -> int:
    """One command; gives the exit code."""
    try:
        tell(done_at(bench, " ".join(words)))
    except (NotUnderstood, LookupError) as cause:
        tell(_plain(cause))
        return 1
    return 0


def add_bench(kinds: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Its arguments."""
    bench = kinds.add_parser(
        "bench",
        help="hands and eyes at a simulated printer, typed",
        epilog=help_text(),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    bench.add_argument("--hands", required=True, metavar="PATH", help="the printer's socket")
    bench.add_argument("words", nargs="*", metavar="COMMAND", help="one command; none: asks")


# ------------------------------------------------------------ the commands


def _look(bench: RemoteBench, words: Sequence[str]) -> str:
    right_mm, back_mm = bench.stands_mm()
    lines = [
        f"The head stands {right_mm:.0f} mm right and {back_mm:.0f} mm back of where it homes, "
        f"its nozzle {bench.nozzle_above_bed_mm():.1f} mm above the bed (ruler)."
    ]
    if bench.mounted():
        lines.append(
            f"The indicator shows {bench.shows():+.2f} mm. Its tip hangs "
            f"{bench.tip_below_nozzle_mm():.1f} mm below the nozzle and is "
            f"{bench.tip_above_bed_mm():.1f} mm above the bed (ruler)."
        )
    else:
        lines.append("The indicator lies beside the machine.")
    return "\n".join(lines)


def _room(bench: RemoteBench, words: Sequence[str]) -> str:
    rooms = (
        f"{side}: {bench.room_mm(side):.1f} mm of room beside the bare head; the indicator sticks "
        f"out {bench.sticks_out_mm(side):.1f} mm"
        for side in get_args(Side)
    )
    under = {
        "bed": "the bed",
        "nothing": "nothing, it hangs free beside the bed",
        "other": "something is in its way",
    }[bench.under_plunger()]
    return "\n".join([*rooms, f"under the plunger, the nozzle at z 0: {under}"])


def _manual(bench: RemoteBench, words: Sequence[str]) -> str:
    machine = bench.described()
    axes = zip("xyz", machine["from_mm"], machine["to_mm"], strict=True)
    travel = ", ".join(f"{axis} {low:g} to {high:g} mm" for axis, low, high in axes)
    screws = (f"  {s['name']}: x {s['x_mm']:g}, y {s['y_mm']:g} mm" for s in machine["screws"])
    lines = [
        f"{machine['name']}: {machine['baud']} bits/s",
        f"travel: {travel}",
        f"clips and the like stand {machine['highest_point_mm']:g} mm above the bed",
        f"bed heated by mains: {'yes' if machine['mains_bed'] else 'no'}",
        f"bed screws, turned from {machine['seen_from']}, {machine['pitch_mm']:g} mm a turn:",
        *screws,
        f"indicator: shows {machine['resolution_mm']:g} mm, travel {machine['travel_mm']:g} mm",
        f"its plunger, by ruler: {machine['rough_right_mm']:g} mm right of the nozzle, "
        f"{machine['rough_back_mm']:g} mm behind it (minus: left, in front)",
    ]
    return "\n".join(lines)


def _mount(bench: RemoteBench, words: Sequence[str]) -> str:
    bench.mount_indicator()
    return "The indicator is on the head."


def _fix_closer(bench: RemoteBench, words: Sequence[str]) -> str:
    bench.fix_closer()
    return "Its mount is changed: it sticks out less."


def _take_off(bench: RemoteBench, words: Sequence[str]) -> str:
    bench.take_indicator_off()
    return "The indicator lies beside the machine."


def _read(bench: RemoteBench, words: Sequence[str]) -> str:
    return f"The indicator shows {bench.shows():+.2f} mm."


def _zero(bench: RemoteBench, words: Sequence[str]) -> str:
    bench.zero_indicator()
    return _read(bench, words)


def _press(bench: RemoteBench, words: Sequence[str]) -> str:
    more = "more" if bench.press_plunger() > 0 else "less"
    return f"As the plunger is pressed in by hand, the number becomes {more}. It springs back."


def _turn(bench: RemoteBench, words: Sequence[str]) -> str:
    screw, degrees, direction = words
    if screw not in (names := bench.screw_names()):
        raise NotUnderstood(f"no screw is called '{screw}'; there are {', '.join(names)}")
    if direction not in get_args(Direction):
        raise NotUnderstood("a screw is turned clockwise or anticlockwise, seen from above")
    bench.turn_screw(screw, _number(degrees), cast(Direction, direction))
    shows = f" {_read(bench, ())}" if bench.mounted() else ""
    return f"Turned {screw} {_number(degrees):g} degrees {direction}, seen from above.{shows}"


def _bed_down(bench: RemoteBench, words: Sequence[str]) -> str:
    bench.turn_all_screws(_number(words[0]), "down")
    return "Each screw is turned so far that way by which the bed goes down."


def _bed_up(bench: RemoteBench, words: Sequence[str]) -> str:
    bench.turn_all_screws(_number(words[0]), "up")
    return "Each screw is turned so far that way by which the bed goes up."


def _under(bench: RemoteBench, words: Sequence[str]) -> str:
    thick_mm = _number(words[0])
    goes = "goes" if bench.goes_under(thick_mm) else "does not go"
    return f"A stack {thick_mm:g} mm thick {goes} under the nozzle."


def _mark(bench: RemoteBench, words: Sequence[str]) -> str:
    bench.make_mark()
    return "A cross is on the tape, right under the nozzle."


def _mark_from(bench: RemoteBench, words: Sequence[str]) -> str:
    if words[0] not in get_args(Tip):
        raise NotUnderstood("the mark is seen from the nozzle or from the plunger")
    right_mm, back_mm = bench.mark_from(cast(Tip, words[0]))
    return (
        f"Seen from the {words[0]}'s tip the mark lies {right_mm:+.1f} mm to the right (minus: "
        f"left) and {back_mm:+.1f} mm behind it (minus: in front)."
    )


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise NotUnderstood(f"'{text}' is no number") from None


def _plain(cause: Exception) -> str:
    return str(cause.args[0] if cause.args else cause)


COMMANDS = (
    Command(typed="look", told="where the head stands; indicator, ruler", does=_look),
    Command(typed="manual", told="what manual and ruler say of it", does=_manual),
    Command(typed="room", told="the room around the head where it is", does=_room),
    Command(typed="mount", told="fix the indicator to the head", does=_mount),
    Command(
        typed="fix closer",
        told="have it stick out less beyond the head",
        does=_fix_closer,
    ),
    Command(typed="take off", told="take it off", does=_take_off),
    Command(typed="read", told="the number on the indicator", does=_read),
    Command(typed="zero", told="bring the indicator to zero", does=_zero),
    Command(typed="press", told="press the plunger in: more or less?", does=_press),
    Command(typed="under MM", told="does a stack so thick go under the nozzle?", does=_under),
    Command(typed="mark", told="mark the bed right under the nozzle", does=_mark),
    Command(typed="mark from TIP", told="where it lies, from nozzle or plunger", does=_mark_from),
    Command(
        typed="turn SCREW DEGREES DIRECTION",
        told="front-left 90 clockwise, seen from above",
        does=_turn,
    ),
    Command(typed="bed down DEGREES", told="turn each screw, the bed goes down", does=_bed_down),
    Command(typed="bed up DEGREES", told="turn each screw, the bed goes up", does=_bed_up),
)
