"""Somebody who has never done it, at a simulated machine: answers each question from what hands
and eyes find there, and may once answer wrongly.
"""

import re
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from random import Random

from hostctl_simulators.people.bench import Bench, Side
from hostctl_simulators.physical.world import World
from slips import How, Slip, numbers_instead, ways_to_err

from hostctl.begin.talk import BackAsked, LeaveAsked, NotNow
from hostctl.drafts.question import Question, Unclear, Value, understood

MOVED_MM = 0.02  # less an eye does not take for moved
NEAR_END_MM = 10.0
OVER_MM = 1.0  # so near it is over the mark
MOST_QUESTIONS = 1500
MOST_TRIES = 4
TROUBLES = 2  # after so many they doubt what they said before
TURN = re.compile(r"Turn the (\S+) screw (back: )?a quarter turn \(90°\) (\w+), seen from (\w+)")
TURN_UP = re.compile(r"(\S+) (clockwise|anticlockwise), seen from (above|below)")


class NoEnd(AssertionError):
    """They were asked far too often."""


class Newcomer:
    """Implements `Talk`. What a slip asks for is done at its question, once."""

    def __init__(self, world: World, port: str, slip: Slip | None = None) -> None:
        self.asked: list[str] = []
        self.heard: list[str] = []
        self.slipped_at = ""
        self.turns_low = 0  # the bed, by what they believe they turned
        self.ways: list[list[How]] = []
        self._world = world
        self._bench = Bench(world)
        self._machine = self._bench.described()
        self._port = port
        self._slip = slip
        self._chance = Random(f"{world.seed}/newcomer")
        self._free_mm = 0.0
        self._screws: dict[str, str] = {}  # by what they called them
        self._troubles = 0
        self._goes_back_to = ""
        self._calls_off = self._stops = False
        self._did, self._other_way = True, False

    # ------------------------------------------------------------ the talk

    async def say(self, text: str) -> None:
        self.heard.append(text)
        if "another way" in text or "another side" in text:
            self._bench.take_indicator_off()
            self._bench.fix_closer()

    async def title(self, text: str) -> None:
        self.heard.append(f"# {text}")

    async def ask(self, question: Question) -> Value:
        self._note(question)
        slip = self._slip_due()
        for _ in range(MOST_TRIES):
            said = self._wrong(question, slip) if slip else self._right(question)
            slip = None
            try:
                value = understood(question, said)
            except Unclear as why:
                self.heard.append(f"  {question.key}: {said!r}: {why}")
                continue
            self.heard.append(f"  {question.key}: {said!r}")
            self._remember(question, value)
            return value
        if self._is_fact(self.slipped_at):
            self._goes_back_to = self.slipped_at
            raise BackAsked
        raise NoEnd(f"no answer to {question.key} will do: {self.heard[-1]}")

    async def ask_to_move(self, question: Question, moves: str) -> Value:
        return await self.ask(question)

    async def countdown(self, what: str, seconds: int) -> None:
        if self._calls_off:
            self._calls_off = False
            raise NotNow

    @asynccontextmanager
    async def moving(self, what: str, stop: Callable[[], None]) -> AsyncIterator[None]:
        if self._stops:
            self._stops = False
            stop()
        yield

    # ------------------------------------------------------------ right and wrong

    def _note(self, question: Question) -> None:
        self.asked.append(question.key)
        self.ways.append(ways_to_err(question))
        if len(self.asked) > MOST_QUESTIONS:
            raise NoEnd(f"asked {MOST_QUESTIONS} times, at last {question.key}")
        if self._goes_back_to == question.key:
            self._goes_back_to = ""
        if self._goes_back_to and question.key != "lead.once_more":
            raise BackAsked
        if question.key == "lead.once_more":
            self._troubles += bool(self.slipped_at)
            if self._troubles > TROUBLES and self._is_fact(self.slipped_at):
                self._troubles, self._goes_back_to = 0, self.slipped_at
            if self._goes_back_to:
                raise BackAsked

    def _remember(self, question: Question, value: Value) -> None:
        if question.key.startswith("screws.") and question.key.endswith(".name"):
            screw = self._machine["screws"][int(question.key.split(".")[1])]
            self._screws[str(value)] = screw["name"]

    @staticmethod
    def _is_fact(key: str) -> bool:
        return key.split(".")[0] in FACTS

    def _slip_due(self) -> Slip | None:
        due = self._slip
        if due is None or len(self.asked) != due.at:
            return None
        self._slip, self.slipped_at = None, self.asked[-1]
        return due

    def _wrong(self, question: Question, slip: Slip) -> str:
        """What they say instead. Raises BackAsked, LeaveAsked."""
        match slip.how:
            case "back":
                raise BackAsked
            case "leaves":
                raise LeaveAsked
            case "calls off":
                self._calls_off = True
            case "stops":
                self._stops = True
            case "wrongly":
                self._other_way = True
                said = self._right(question)
                self._other_way = False
                return said
            case "not done":
                return self._not_done(question)
        if question.kind in ("number", "whole"):
            right = self._right(question)
            try:
                return numbers_instead(float(right or question.suggested), slip.which)
            except ValueError:
                return right
        if question.kind == "choice" and len(question.ways) > 1:
            right = self._right(question) or question.suggested
            others = [way.word for way in question.ways if not way.word.startswith(right)]
            return others[slip.which % len(others)]
        if question.kind == "text":
            return "something-else"
        return self._right(question)

    def _not_done(self, question: Question) -> str:
        if len(question.ways) == 1:
            return question.ways[0].word
        self._did = False
        return self._right(question)

    def _right(self, question: Question) -> str:
        """From hands, eyes, manual and ruler."""
        for begins, answers in ANSWERS:
            if question.key.startswith(begins):
                return answers(self, question)
        if question.kind == "choice" and len(question.ways) == 1:
            return question.ways[0].word
        raise AssertionError(f"a newcomer knows nothing of '{question.key}': {question.text}")

    # ------------------------------------------------------------ what they know

    def _travel(self, question: Question) -> str:
        _, axis, end = question.key.split(".")
        ends = self._machine["from_mm" if end == "from_mm" else "to_mm"]
        return f"{ends['xyz'.index(axis)]:g}"

    def _screw(self, question: Question) -> str:
        _, index, what = question.key.split(".")
        if int(index) >= len(self._machine["screws"]):
            self._goes_back_to = "screws.count"
            raise BackAsked
        screw = self._machine["screws"][int(index)]
        if what == "name":
            return question.suggested or screw["name"]
        return f"{screw['x_mm'] if what == 'x_mm' else screw['y_mm']:g}"

    def _point(self, question: Question) -> str:
        """As suggested; where nothing is, something that they said before can't be."""
        if question.key == "points.over_screws":
            return "no" if "reach" in question.why else "yes"
        if not question.suggested and self._is_fact(self.slipped_at):
            self._goes_back_to = self.slipped_at
            raise BackAsked
        return ""

    def _sticks(self, question: Question) -> str:
        side = question.key.removeprefix("sticks.").removesuffix("_mm")
        sticks_mm = self._bench.sticks_out_mm(_side(side))
        told = "if nothing does, type 1" in self.heard[-1]
        return f"{1.0 if told else sticks_mm:g}"

    # ------------------------------------------------------------ what they see and do

    def _indicator_off(self, question: Question) -> str:
        self._bench.take_indicator_off()
        return "done"

    def _bed_down(self, question: Question) -> str:
        if self.turns_low < 1:
            self._bench.turn_all_screws(360, "up" if self._other_way else "down")
            self.turns_low += 1
        return "done"

    def _bed_up(self, question: Question) -> str:
        """Each screw as they are told."""
        for name, direction, seen in TURN_UP.findall(question.why):
            self._turn(name, 360 * self.turns_low, direction, seen)
        self.turns_low = 2 * self.turns_low if self._other_way else 0
        return "done"

    def _as_it_is(self, question: Question) -> str:
        return "no" if self.turns_low else "yes"

    def _homed_well(self, question: Question) -> str:
        return "yes"

    def _at_its_ends(self) -> bool:
        at = (self._world.head.x_mm, self._world.head.y_mm)
        ends = self._machine["from_mm"]
        return all(abs(where - end) < NEAR_END_MM for where, end in zip(at, ends, strict=False))

    def _room(self, question: Question) -> str:
        if question.key == "room.below":
            return self._bench.under_plunger()
        side = question.key.removeprefix("room.").removesuffix("_mm")
        return f"{self._bench.room_mm(_side(side)):g}"

    def _mount(self, question: Question) -> str:
        if not self._bench.mounted():
            self._bench.mount_indicator()
            self._world.turn_bezel(round(self._chance.uniform(-0.5, 0.5), 2))
        return "done"

    def _fits(self, question: Question) -> str:
        self._mount(question)
        sides: tuple[Side, ...] = ("left", "right", "front", "back")
        roomy = all(
            self._bench.room_mm(side) - self._bench.sticks_out_mm(side) >= 3
            for side in sides
            if self._bench.sticks_out_mm(side) > 0.5
        )
        return "yes" if roomy and self._bench.under_plunger() != "other" else "no"

    def _hangs(self, question: Question) -> str:
        self._mount(question)
        return f"{self._bench.tip_below_nozzle_mm():g}"

    def _tip_above_bed(self, question: Question) -> str:
        self._mount(question)
        return f"{self._bench.tip_above_bed_mm():g}"

    def _still_on(self, question: Question) -> str:
        return "yes" if self._bench.mounted() else "no"

    def _goes_under(self, question: Question) -> str:
        return f"{self._thickest_under():g}"

    def _does_not(self, question: Question) -> str:
        return f"{self._thickest_under() + 0.5:g}"

    def _thickest_under(self) -> float:
        """In half millimetres."""
        halves = 0
        while self._bench.goes_under((halves + 1) / 2):
            halves += 1
        return halves / 2

    def _free(self, question: Question) -> str:
        self._free_mm = self._bench.shows()
        return f"{self._free_mm:.2f}"

    def _moved(self, question: Question) -> str:
        hardly = "so it has hardly moved" in self.heard[-1]
        moved = abs(self._bench.shows() - self._free_mm) >= MOVED_MM
        return "moved" if moved and not hardly else "down"

    def _shows(self, question: Question) -> str:
        return f"{self._bench.shows():.2f}"

    def _mark(self, question: Question) -> str:
        self._bench.make_mark()
        return "done"

    def _mark_from(self, question: Question) -> str:
        right_mm, back_mm = self._seen_from("plunger")
        return f"{right_mm if question.key == 'mark.right_mm' else back_mm:g}"

    def _over_mark(self, question: Question) -> str:
        right_mm, back_mm = self._seen_from("plunger" if "plunger" in question.key else "nozzle")
        return "yes" if max(abs(right_mm), abs(back_mm)) <= OVER_MM else "no"

    def _seen_from(self, tip: str) -> tuple[float, float]:
        """Raises BackAsked where there is no mark: it was forgotten."""
        try:
            return self._bench.mark_from("plunger" if tip == "plunger" else "nozzle")
        except LookupError:
            raise BackAsked from None

    def _quarter_turn(self, question: Question) -> str:
        odd = sum("if the plunger is not near it, go back" in told for told in self.heard[-8:])
        if odd > 1 and self._is_fact(self.slipped_at):
            self._goes_back_to = self.slipped_at
            raise BackAsked
        found = TURN.search(question.text)
        assert found is not None, question.text
        name, _, direction, seen = found.groups()
        before_mm = self._bench.shows()
        if self._did:
            self._turn(name, 90, direction, seen)
        self._did = True
        more_mm = self._bench.shows() - before_mm
        return "same" if abs(more_mm) < MOVED_MM else "up" if more_mm > 0 else "down"

    def screw_called(self, called: str) -> str:
        """The screw that they gave this name."""
        return self._screws.get(called, called)

    def _turn(self, called: str, degrees: float, direction: str, seen: str) -> None:
        clockwise = ((direction == "clockwise") == (seen == "above")) != self._other_way
        name = self.screw_called(called)
        self._world.turn_screw(name, degrees, "clockwise" if clockwise else "anticlockwise")


def _side(text: str) -> Side:
    sides: dict[str, Side] = {each: each for each in ("left", "right", "front", "back")}  # type: ignore[misc]
    return sides[text]


FACTS = {
    "machine", "port", "baud", "dialect", "travel", "highest_point_mm", "heat", "screws",
    "indicator", "sticks", "points",
}  # fmt: skip

ANSWERS: tuple[tuple[str, Callable[[Newcomer, Question], str]], ...] = (
    ("lead.once_more", lambda self, _: "again"),
    ("machine", lambda self, _: self._machine["name"]),
    ("port", lambda self, _: self._port),
    ("baud", lambda self, _: f"{self._machine['baud']}"),
    ("dialect", lambda self, _: "learn"),
    ("travel.", Newcomer._travel),
    ("highest_point_mm", lambda self, _: f"{self._machine['highest_point_mm']:g}"),
    ("heat.mains_bed", lambda self, _: "no"),
    ("screws.count", lambda self, _: f"{len(self._machine['screws'])}"),
    ("screws.seen_from", lambda self, _: self._machine["seen_from"]),
    ("screws.pitch_mm", lambda self, _: f"{self._machine['pitch_mm']:g}"),
    ("screws.", Newcomer._screw),
    ("indicator.resolution_mm", lambda self, _: f"{self._machine['resolution_mm']:g}"),
    ("indicator.travel_mm", lambda self, _: f"{self._machine['travel_mm']:g}"),
    ("indicator.rough_x_mm", lambda self, _: f"{self._machine['rough_right_mm']:g}"),
    ("indicator.rough_y_mm", lambda self, _: f"{self._machine['rough_back_mm']:g}"),
    ("sticks.", Newcomer._sticks),
    ("points.", Newcomer._point),
    ("bare.indicator_off", Newcomer._indicator_off),
    ("bare.bed_down", Newcomer._bed_down),
    ("bare.homed_well", Newcomer._homed_well),
    ("mounted.homed_well", Newcomer._homed_well),
    ("home.stands", lambda self, _: "there" if self._at_its_ends() else "came"),
    ("home.x_end", lambda self, _: "left"),
    ("home.same_ends", lambda self, _: "yes" if self._at_its_ends() else "no"),
    ("home.y_end", lambda self, _: "front"),
    ("room.", Newcomer._room),
    ("mount.on", Newcomer._mount),
    ("mount.fits", Newcomer._fits),
    ("mount.hangs_mm", Newcomer._hangs),
    ("mount.tip_above_bed_mm", Newcomer._tip_above_bed),
    ("ready.still_on", Newcomer._still_on),
    ("contact.goes_under_mm", Newcomer._goes_under),
    ("contact.does_not_mm", Newcomer._does_not),
    ("contact.free_mm", Newcomer._free),
    ("contact.moved", Newcomer._moved),
    ("contact.shows", Newcomer._shows),
    ("cycle.shows", Newcomer._shows),
    ("mark.made", Newcomer._mark),
    ("mark.right_mm", Newcomer._mark_from),
    ("mark.back_mm", Newcomer._mark_from),
    ("mark.", Newcomer._over_mark),
    ("turn.first", Newcomer._quarter_turn),
    ("turn.back", Newcomer._quarter_turn),
    ("height.bed_up", Newcomer._bed_up),
    ("height.as_it_is", Newcomer._as_it_is),
)
