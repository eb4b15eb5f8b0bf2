"""What comes in from a broker, judged without one: each message wrong in one respect only."""

import asyncio
import json
from datetime import UTC, datetime, timedelta

import pytest
from a_deed import A_DEED
from a_place import A_PLACE
from halted_machine import HaltedMachine

from hostctl.channels.messages.arriving.reception import SHOWN_AT_LEAST_S, Reception, ShownPrompt
from hostctl.channels.messages.connection.access import new_probe
from hostctl.channels.messages.event_kind import EventKind
from hostctl.channels.messages.topics import Topics
from hostctl.news import Answer, AnswerRefused, HoldBegan, Prompt, PromptKind, RunStarted
from hostctl.run.station import NOT_TOLD, Station

NOW = datetime(2031, 5, 6, 7, 0, 0, tzinfo=UTC)
TOPICS = Topics("bench")
DONE = {"prompt_id": "1-1", "answer": "done"}
LATER_S = 1e8  # when messages come, s of the loop's clock; prompts were shown long before

pytestmark = pytest.mark.timeout(10)  # an answer that is not taken is waited for in vain


class AtTheBroker:
    """A station and its reception; what was refused, halted and told."""

    def __init__(self) -> None:
        self.station = Station("bench", now=lambda: NOW, studies=lambda: ["small", "other"])
        self.refused: list[str] = []
        self.halted: list[str] = []
        self.told: list[tuple[EventKind, str]] = []
        self.shown: ShownPrompt | None = None
        self.station.machine = HaltedMachine(self.halted.append)
        self.station.desk.on_refusal.add(self._note)
        self.reception = Reception(
            self.station,
            TOPICS,
            now=lambda: NOW,
            shown=lambda: self.shown,
            tell=lambda kind, text: self.told.append((kind, text)),
        )
        self._at_s = LATER_S

    def _note(self, refused: AnswerRefused) -> None:
        self.refused.append(refused.reason)

    def held(self) -> list[Answer]:
        """What holds or ends the run from now on; it moves."""
        held: list[Answer] = []
        self.station.desk.on_stop.add(held.append)
        self.station.desk.tell(
            RunStarted(run=1, study="small", machine="bench", trials_total=3, resumed=False)
        )
        return held

    async def asked(self, kind: PromptKind = PromptKind.SET) -> "asyncio.Task[Answer]":
        prompt = Prompt(
            prompt_id="1-1",
            deed=A_DEED[kind],
            text="Set the gap.",
            detail="",
            moves_next="",
            place=A_PLACE,
            opened_at=NOW - timedelta(seconds=30),
            resolution_mm=0.01 if kind is PromptKind.READ else None,
        )
        answer = asyncio.create_task(self.station.desk.ask(prompt))
        await asyncio.sleep(0)
        self.shown = ShownPrompt("1-1", since_s=0.0)
        return answer

    def hears(
        self, topic: str, said: object, *, retained: bool = False, kept: bool = False
    ) -> None:
        """One message, three seconds after the last: so refusals are all told."""
        self._at_s += 3.0
        payload = said.encode() if isinstance(said, str) else json.dumps(said).encode()
        self.reception.take(topic, payload, retained=retained, kept=kept, at_s=self._at_s)


@pytest.fixture
def at() -> AtTheBroker:
    return AtTheBroker()


@pytest.mark.parametrize("said", [DONE, "done", {"answer": "done"}, {"id": "m1"} | DONE])
async def test_what_is_right_in_every_respect_counts(at: AtTheBroker, said: object):
    answer = await at.asked()
    at.hears(TOPICS.answer, said)
    assert (await answer).word == "done"
    assert at.refused == []


@pytest.mark.parametrize(("retained", "kept"), [(True, False), (False, True), (True, True)])
@pytest.mark.parametrize("said", [DONE, "done"])
async def test_a_kept_answer_does_not_count_though_all_else_is_right(at, said, retained, kept):
    answer = await at.asked()
    at.hears(TOPICS.answer, said, retained=retained, kept=kept)
    assert not answer.done()
    assert "retained" in at.refused[0]
    answer.cancel()


@pytest.mark.parametrize(
    ("shown", "why"),
    [
        (None, "the prompt was not shown yet"),
        (ShownPrompt("1-0", since_s=0.0), "the prompt was not shown yet"),
        (
            ShownPrompt("1-1", since_s=LATER_S + 3.0 - SHOWN_AT_LEAST_S + 0.01),
            "it came too soon after the prompt to be meant for it",
        ),
    ],
)
async def test_a_plain_answer_to_a_prompt_that_nobody_can_have_read_does_not_count(at, shown, why):
    answer = await at.asked()
    at.shown = shown
    at.hears(TOPICS.answer, "done")
    assert not answer.done()
    assert at.refused == [why]
    at.shown = None
    at.hears(TOPICS.answer, DONE)  # one with the prompt's id need not have waited
    assert (await answer).prompt_id == "1-1"


async def test_a_plain_answer_counts_from_the_moment_that_the_prompt_could_be_read(at):
    answer = await at.asked()
    at.shown = ShownPrompt("1-1", since_s=LATER_S + 3.0 - SHOWN_AT_LEAST_S - 1e-6)
    at.hears(TOPICS.answer, "done")
    assert (await answer).word == "done"


@pytest.mark.parametrize("word", ["hold", "end"])
async def test_stopping_words_count_however_lately_the_prompt_was_shown(at, word):
    answer = await at.asked()
    at.shown = None
    at.hears(TOPICS.answer, word)
    assert (await answer).word == word


async def test_an_answer_with_an_id_counts_once_and_one_refused_may_come_again(at):
    answer = await at.asked(PromptKind.READ)
    at.hears(TOPICS.answer, {"id": "m1"} | DONE)  # a reading is asked for
    at.hears(TOPICS.answer, {"id": "m1", "prompt_id": "1-1", "reading_mm": 0.02})
    assert (await answer).reading_mm == 0.02
    at.hears(TOPICS.answer, {"id": "m1", "prompt_id": "1-1", "reading_mm": 0.02})
    assert at.refused[-1] == "it repeats a message that counted already"


NO_CHOICES = [
    DONE,
    "done",
    "lit",
    "dark",
    "d",
    "0.02",
    "chosen",
    {"answer": "lit"},
    {"answer": "chosen"},
    {"answer": "chosen", "choice": "lit", "prompt_id": "1-1"},
    {"choice": "lit", "prompt_id": "1-1"},
    {"choice": "dark"},
    {"reading_mm": 0.02, "prompt_id": "1-1"},
]


@pytest.mark.parametrize("said", NO_CHOICES, ids=str)
async def test_no_message_says_which_of_several_it_is(at, said):
    answer = await at.asked(PromptKind.CHOOSE)
    at.hears(TOPICS.answer, said)
    assert not answer.done()
    assert at.refused == ["say which it is at the terminal or on the phone page: dark, lit"]
    at.hears(TOPICS.answer, "hold")  # stopping works from anywhere
    assert (await answer).word == "hold"


# ------------------------------------------------------------------ commands


@pytest.mark.parametrize(
    "said",
    [
        {"id": "s1", "command": "start", "study": "small"},
        {"id": "s1", "command": "resume", "run": 4},
    ],
)
def test_a_start_that_comes_twice_starts_once_though_the_machine_is_armed_again(at, said):
    at.station.arm("button")
    at.hears(TOPICS.command, said)
    at.station.arm("button")
    at.hears(TOPICS.command, said)
    assert at.station.queued == 1
    assert at.refused == ["it repeats a message that counted already"]
    assert at.station.arming.armed is not None


def test_a_start_refused_for_want_of_arming_may_come_again_once_armed(at):
    said = {"id": "s1", "command": "start", "study": "small"}
    at.hears(TOPICS.command, said)
    at.station.arm("button")
    at.hears(TOPICS.command, said)
    assert at.station.queued == 1


def test_a_start_says_which_study_by_which_seed_and_a_resume_which_run(at):
    async def both() -> None:
        at.station.arm("button")
        at.hears(TOPICS.command, {"command": "start", "study": "other", "seed": 9})
        at.station.arm("button")
        at.hears(TOPICS.command, {"command": "resume", "run": 4})
        first, second = [await at.station.next_request() for _ in range(2)]
        assert (first.study, first.resume, first.seed) == ("other", None, 9)
        assert (second.study, second.resume, second.seed) == (None, 4, None)

    asyncio.run(both())
    assert [text for _, text in at.told] == [
        "Will start: other",
        "Will start: run 4, where it stopped",
    ]


def test_in_a_flood_nothing_starts_and_the_arming_stays(at):
    at.station.arm("button")
    for n in range(25):
        at.reception.take(TOPICS.event, b"x", retained=False, kept=False, at_s=LATER_S + n / 1000)
    at.reception.take(
        TOPICS.command,
        json.dumps({"command": "start", "study": "small"}).encode(),
        retained=False,
        kept=False,
        at_s=LATER_S + 1.0,
    )
    assert at.station.queued == 0
    assert at.station.arming.armed is not None


async def test_in_a_flood_a_plain_answer_does_not_count_and_one_with_the_prompts_id_does(at):
    answer = await at.asked()
    for n in range(25):
        at.reception.take(TOPICS.event, b"x", retained=False, kept=False, at_s=LATER_S + n / 1000)
    at.reception.take(TOPICS.answer, b"done", retained=False, kept=False, at_s=LATER_S + 1.0)
    await asyncio.sleep(0)
    assert not answer.done()
    at.reception.take(
        TOPICS.answer, json.dumps(DONE).encode(), retained=False, kept=False, at_s=LATER_S + 1.1
    )
    assert (await answer).word == "done"


@pytest.mark.parametrize("kept", [False, True])
@pytest.mark.parametrize("word", ["hold", "end"])
async def test_a_retained_hold_counts_while_it_is_fresh_and_never_once_it_was_kept(at, word, kept):
    answer = await at.asked()
    at.hears(TOPICS.answer, word, retained=True, kept=kept)
    await asyncio.sleep(0)
    assert answer.done() == (not kept)
    answer.cancel()


@pytest.mark.parametrize(("kept", "halts"), [(False, 1), (True, 0)])
def test_a_retained_stop_halts_while_it_is_fresh_and_never_once_it_was_kept(at, kept, halts):
    at.hears(TOPICS.command, "stop", retained=True, kept=kept)
    assert len(at.halted) == halts


@pytest.mark.parametrize("said", ["start small", {"command": "resume", "run": 4}])
@pytest.mark.parametrize("kept", [False, True])
def test_a_retained_start_starts_nothing_and_the_arming_stays(at, said, kept):
    at.station.arm("button")
    at.hears(TOPICS.command, said, retained=True, kept=kept)
    assert (at.station.queued, at.station.arming.armed is not None) == (0, True)
    assert "retained" in at.refused[0]


def test_a_stop_halts_and_another_within_a_second_is_refused(at):
    halted = []
    for later_s in (0.0, 0.9, 1.0):
        at.reception.take_urgent(TOPICS.stop, b"now", kept=False, at_s=LATER_S + later_s)
        halted.append(len(at.halted))
    assert halted == [1, 1, 2]
    assert at.refused == ["the machine was halted a moment ago"]
    assert [kind for kind, _ in at.told] == [EventKind.HALTED, EventKind.HALTED]


def test_a_stop_that_had_no_line_to_go_out_on_is_told_so(at):
    at.station.machine = HaltedMachine(at.halted.append, goes_out=False)
    at.hears(TOPICS.command, "stop")
    assert at.halted == ["messages"]
    assert at.told == [(EventKind.HALTED, f"STOP: {NOT_TOLD}")]


def test_a_stop_kept_by_the_broker_halts_nothing(at):
    at.reception.take_urgent(TOPICS.stop, b"stop", kept=True, at_s=LATER_S)
    assert at.halted == []
    assert "retained" in at.refused[0]


def test_an_empty_message_on_the_stop_topic_halts_nothing_and_is_told(at):
    at.reception.take_urgent(TOPICS.stop, b"", kept=False, at_s=LATER_S)
    assert at.halted == []
    assert at.refused == ["an empty message is no hold and no stop"]


def test_a_word_that_only_tries_the_access_halts_nothing(at):
    at.reception.take_urgent(TOPICS.stop, new_probe().encode(), kept=False, at_s=LATER_S)
    assert (at.halted, at.refused) == ([], [])
    at.reception.take_urgent(TOPICS.stop, new_probe().encode() + b"x", kept=False, at_s=LATER_S)
    assert at.halted == ["messages"]


def test_in_a_flood_on_the_stop_topic_even_what_is_no_stop_halts_lest_one_be_lost(at):
    for n in range(25):
        at.reception.take_urgent(TOPICS.stop, b"", kept=False, at_s=LATER_S + n / 1000)
    assert at.halted == ["messages"]


def test_a_stop_heard_late_halts_unless_something_has_halted_since(at):
    at.reception.take_missed(TOPICS.stop, LATER_S, LATER_S + 5.0)
    assert at.halted == ["messages"]
    at.reception.take_missed(TOPICS.stop, LATER_S + 5.5, LATER_S + 7.0)  # of about then
    assert at.halted == ["messages"]
    at.reception.take_missed(TOPICS.stop, LATER_S + 6.5, LATER_S + 8.0)  # another one
    assert at.halted == ["messages", "messages"]


def test_a_hold_heard_late_holds_unless_something_has_held_since(at):
    held = at.held()
    at.reception.take_urgent(TOPICS.hold, b"now", kept=False, at_s=LATER_S)
    at.reception.take_missed(TOPICS.hold, LATER_S + 0.5, LATER_S + 2.0)  # of about then
    assert len(held) == 1
    at.reception.take_missed(TOPICS.hold, LATER_S + 1.5, LATER_S + 3.0)  # another one
    assert len(held) == 2
    assert (at.halted, at.refused) == ([], [])


def test_a_hold_that_had_nothing_to_hold_is_refused_once_and_not_again_when_heard_late(at):
    at.reception.take_urgent(TOPICS.hold, b"now", kept=False, at_s=LATER_S)
    at.reception.take_missed(TOPICS.hold, LATER_S, LATER_S + 0.25)
    assert at.refused == ["no run is going on"]


@pytest.mark.parametrize(
    ("payload", "kept", "why"),
    [
        (b"hold", True, ["it is kept by the broker (retained), so it may be old; send it without"]),
        (b"", False, ["an empty message is no hold and no stop"]),
        (new_probe().encode(), False, []),
    ],
    ids=["kept", "empty", "our own look"],
)
def test_what_is_no_hold_on_the_hold_topic_holds_nothing(at, payload, kept, why):
    held = at.held()
    at.reception.take_urgent(TOPICS.hold, payload, kept=kept, at_s=LATER_S)
    assert (held, at.halted, at.refused) == ([], [], why)


def test_so_many_holds_that_a_stop_may_be_lost_among_them_halt_and_fewer_hold(at):
    held = at.held()
    for n in range(20):
        at.reception.take_urgent(TOPICS.hold, b"hold", kept=False, at_s=LATER_S + n / 1000)
    assert (len(held), at.halted) == (20, [])
    at.reception.take_urgent(TOPICS.hold, b"hold", kept=False, at_s=LATER_S + 0.9)
    assert (len(held), at.halted) == (20, ["messages"])


def test_a_stop_as_a_command_halts_too(at):
    at.hears(TOPICS.command, "stop")
    assert at.halted == ["messages"]


def test_a_hold_counts_while_a_run_moves_and_once_held_it_is_refused(at):
    held = at.held()
    at.hears(TOPICS.command, "hold")
    assert [answer.word for answer in held] == ["hold"]
    at.station.desk.tell(HoldBegan(reason="why not"))
    at.hears(TOPICS.command, "hold")
    assert len(held) == 1
    assert at.refused == ["the run is on hold already"]


def test_refusals_in_a_flood_are_told_five_at_once_and_the_rest_counted(at):
    for n in range(40):
        at.reception.take(TOPICS.event, b"x", retained=False, kept=False, at_s=LATER_S + n / 1000)
    assert len(at.refused) == 5
    at.reception.tell_of_untold(LATER_S + 10)
    assert at.refused[-1] == "35 more messages were refused"
