"""The JSON Schemas match the types, and what really goes out and comes in matches the schemas."""

import json
from datetime import UTC, datetime, timedelta

import pytest
from at_the_station import MACHINE, a_reading, place, prompt, running
from jsonschema import Draft202012Validator, ValidationError

from hostctl.channels.messages.arriving.incoming import NotUnderstood, answer_in, command_in
from hostctl.channels.messages.event_kind import EventKind
from hostctl.channels.messages.outgoing import Outgoing, kept_news
from hostctl.channels.messages.payloads import BY_TOPIC
from hostctl.channels.messages.schemas import FOLDER, schema_text
from hostctl.channels.messages.topics import Topics
from hostctl.news import (
    AnswerRefused,
    CountdownTicked,
    HoldBegan,
    HoldLifted,
    PromptKind,
    RunFinished,
    TrialMarked,
)
from hostctl.run.station import Station
from hostctl.store.rows import StoredReading

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def schema(topic: str) -> Draft202012Validator:
    return Draft202012Validator(json.loads((FOLDER / f"{topic}.json").read_text()))


@pytest.fixture
def station() -> Station:
    return Station(MACHINE, now=lambda: NOON, studies=lambda: ["rig-check"])


@pytest.fixture
def outgoing(station: Station) -> Outgoing:
    return Outgoing(station, Topics(MACHINE), now=lambda: NOON)


@pytest.mark.parametrize("topic", sorted(BY_TOPIC))
def test_the_schema_in_the_file_is_the_one_the_types_make(topic):
    assert (FOLDER / f"{topic}.json").read_text() == schema_text(topic)
    Draft202012Validator.check_schema(json.loads(schema_text(topic)))


def test_there_is_no_schema_without_a_topic():
    assert {path.stem for path in FOLDER.iterdir()} == set(BY_TOPIC)


NEWS = [
    running(),
    HoldBegan(reason="asked for"),
    HoldLifted(channel="page"),
    TrialMarked(place=place(), mark="void", reason="bumped"),
    AnswerRefused(prompt_id="1-1", channel="page", reason="too late"),
    RunFinished(run=1, complete=False, reason="asked to end"),
]


@pytest.mark.parametrize("news", NEWS, ids=lambda news: type(news).__name__)
def test_real_events_match_their_schema(outgoing, news):
    message = outgoing.after(news)
    assert message is not None
    schema("event").validate(json.loads(message.payload))


def test_a_real_reading_matches_its_schema(outgoing):
    stored = StoredReading(
        reading_id=1, stored_at=NOON, kept=a_reading(0.02), void=None, relative_mm=0.01
    )
    schema("reading").validate(json.loads(outgoing.reading(kept_news(stored)).payload))


@pytest.mark.parametrize("kind", list(PromptKind))
async def test_real_prompts_and_states_match_their_schemas(station, outgoing, kind):
    for news in (running(), CountdownTicked(seconds_left=2, what="The head lifts.")):
        station.desk.tell(news)
        outgoing.after(news)
    schema("prompt").validate(json.loads(outgoing.prompt()))
    asked = station.desk.ask(prompt("1-1", kind))
    asked.send(None)  # as far as it goes: the prompt is open
    station.arming.arm(by="button", for_s=60)
    schema("prompt").validate(json.loads(outgoing.prompt()))
    schema("state").validate(json.loads(outgoing.state()))
    assert json.loads(outgoing.state())["armed_until"] == "2026-11-25T12:01:00Z"
    asked.close()


ANSWERS = [
    ({"answer": "done"}, True),
    ({"answer": "end", "prompt_id": "1-1", "id": "x"}, True),
    ({"reading_mm": -0.02, "prompt_id": "1-1"}, True),
    ({"reading_mm": 0}, True),
    ({"reading_mm": "0.02"}, False),
    ({"reading_mm": 2e6}, False),
    ({"answer": "reading"}, False),
    ({"answer": "done", "reading_mm": 1.0}, False),
    ({"answer": "done", "id": ""}, False),
    ({"answer": "done", "id": "x" * 65}, False),
    ({"answer": "done", "more": 1}, False),
    ({}, False),
]


@pytest.mark.parametrize(("payload", "taken"), ANSWERS, ids=str)
def test_schema_and_program_take_the_same_answers(payload, taken):
    assert schema("answer").is_valid(payload) is taken
    understood = answer_in(json.dumps(payload).encode(), None)
    assert (not isinstance(understood, NotUnderstood)) is taken


COMMANDS = [
    ({"command": "start", "study": "rig-check"}, True),
    ({"command": "start", "study": "rig-check", "seed": 7, "id": "x"}, True),
    ({"command": "resume", "run": 3}, True),
    ({"command": "hold"}, True),
    ({"command": "stop", "because": "smoke"}, True),
    ({"command": "start"}, False),
    ({"command": "start", "study": ""}, False),
    ({"command": "start", "study": "rig-check", "seed": -1}, False),
    ({"command": "resume", "run": 0}, False),
    ({"command": "resume", "run": "3"}, False),
    ({"command": "resume", "run": "\uff13"}, False),
    ({"command": "start", "study": "rig-check", "seed": "7"}, False),
    ({"command": "jump"}, False),
    ({}, False),
]


@pytest.mark.parametrize(("payload", "taken"), COMMANDS, ids=str)
def test_schema_and_program_take_the_same_commands(payload, taken):
    assert schema("command").is_valid(payload) is taken
    understood = command_in(json.dumps(payload).encode())
    assert (not isinstance(understood, NotUnderstood)) is taken


def test_a_wrong_payload_would_be_found(outgoing):
    payload = json.loads(outgoing.event(EventKind.HOLD, "On hold").payload)
    with pytest.raises(ValidationError):
        schema("event").validate({**payload, "event": "party"})


def test_times_go_out_in_utc(outgoing):
    assert json.loads(outgoing.event(EventKind.HOLD, "On hold").payload)["at"].endswith("Z")
    assert timedelta(0) == NOON.utcoffset()
