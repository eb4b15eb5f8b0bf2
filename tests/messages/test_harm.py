"""Whatever comes in, however often: nothing counts that should not, and each refusal says why."""

import json

import pytest
from at_the_station import (
    TREE,
    AtTheStation,
    Phone,
    phone_at,
    prompt,
    running,
    station_served,
    until,
)
from halted_machine import HaltedMachine
from real_broker import RealBroker

from hostctl.channels.messages.arriving import reception
from hostctl.config.host import Messages
from hostctl.news import HoldBegan, PromptKind, Word

pytestmark = pytest.mark.broker


@pytest.fixture
def settings(broker: RealBroker) -> Messages:
    """One real broker is enough here."""
    return Messages(broker="127.0.0.1", port=broker.port)


async def shown(at: AtTheStation, phone: Phone, kind=PromptKind.SET, **more):
    asked = at.ask(prompt("1-1", kind, **more))
    await until(phone.shows("1-1"))
    return asked


DEEP = '{"answer":' * 900 + "1" + "}" * 900


@pytest.mark.parametrize(
    ("payload", "why"),
    [
        ({"prompt_id": "0-9", "answer": "done"}, "it belongs to another prompt"),
        ({"prompt_id": "1-1", "answer": "maybe"}, "answer: Input should be 'done'"),
        ({"prompt_id": "1-1", "answer": "done", "go": 1}, "the key 'go' is unknown here"),
        ({"prompt_id": "1-1"}, "the key"),
        ({"prompt_id": 1, "answer": "done"}, "prompt_id: Input should be a valid string"),
        ({"prompt_id": "1-1", "reading_mm": 0.02}, "no reading is asked for now"),
        ('{"prompt_id": "1-1", "reading_mm": NaN}', "reading_mm: Input should be a finite"),
        ('{"prompt_id": "1-1", "reading_mm": -Infinity}', "reading_mm: Input should be a finite"),
        ('{"prompt_id": "1-1", "reading_mm": 1e999}', "reading_mm: Input should be a finite"),
        ('{"prompt_id": "1-1", "reading_mm": "0.02"}', "reading_mm: Input should be a valid"),
        ('{"prompt_id": "1-1", "reading_mm": true}', "reading_mm: Input should be a valid"),
        (DEEP[:4096], "it is not JSON, or nested too deep"),
        ("[" * 4096, "it is no answer"),
        ("nan", "it is no answer"),
        ("1e5", "it is no answer"),
        ("\uff10.\uff10\uff12", "it is no answer"),  # fullwidth digits
        ("\u0660.\u0660\u0662", "it is no answer"),  # Arabic-Indic digits
        ('{"prompt_id": "1-1", "reading_mm": \uff10}', "it is not JSON"),
        ("", "it is no answer"),
        (b"\xff\xfe\x00done", "it is not UTF-8 text"),
        (b'{"answer":"d\xc3\x28"}', "it is not UTF-8 text"),
        (b"x" * 1_000_000, "it is longer than 4096 bytes"),
    ],
)
async def test_what_is_no_answer_moves_nothing_and_says_why(at, phone, payload, why):
    asked = await shown(at, phone)
    await phone.answer(payload)
    await until(lambda: phone.refusals())
    assert phone.refusals()[0].startswith(f"Not taken: {why}")
    assert not asked.done()


@pytest.mark.parametrize("name", ["answers", "answer/now", "command/start", "Answer"])
async def test_a_wrong_topic_is_told(at, phone, name):
    asked = await shown(at, phone)
    await phone.send(name, {"prompt_id": "1-1", "answer": "done"})
    await until(lambda: phone.refusals())
    assert phone.refusals() == [f"Not taken: nobody reads the topic {TREE}/{name}"]
    assert not asked.done()


@pytest.mark.parametrize("payload", ["done", {"prompt_id": "1-1", "answer": "done"}, "hold"])
async def test_a_retained_answer_never_counts(broker, settings, tmp_path, payload):
    async with phone_at(broker.port) as phone:
        await phone.answer(payload, retain=True)
        async with station_served(tmp_path, settings) as at:
            at.station.desk.on_stop.add(lambda answer: pytest.fail("a retained word stopped a run"))
            asked = at.ask(prompt("1-1"))
            await until(lambda: phone.refusals())
            assert "kept by the broker" in phone.refusals()[0]
            assert not asked.done()


async def test_a_repeated_message_counts_once(at, phone):
    said = {"prompt_id": "1-1", "answer": "done", "id": "tap-1"}
    asked = await shown(at, phone)
    await phone.answer(said)
    await asked
    again = at.ask(prompt("1-2"))
    await until(phone.shows("1-2"))
    await phone.answer(said)
    await phone.answer({"prompt_id": "1-1", "answer": "done"})
    await until(lambda: len(phone.refusals()) == 2)
    assert phone.refusals() == [
        "Not taken: it repeats a message that counted already",
        "Not taken: it belongs to another prompt",
    ]
    assert not again.done()


# ------------------------------------------------------------ plain payloads: no id


@pytest.mark.parametrize(
    ("kind", "graduations", "payload", "word", "value_mm"),
    [
        (PromptKind.SET, False, "done", Word.DONE, None),
        (PromptKind.SET, False, " Done\n", Word.DONE, None),
        (PromptKind.READ, False, "0.02", Word.READING, 0.02),
        (PromptKind.READ, False, "-0,015", Word.READING, -0.015),
        (PromptKind.READ, True, "3", Word.READING, 0.03),
        (PromptKind.READ, True, {"reading_mm": 0.03}, Word.READING, 0.03),
    ],
)
@pytest.mark.slow
async def test_a_plain_answer_counts_once_the_prompt_was_shown_a_moment(
    at, phone, kind, graduations, payload, word, value_mm
):
    asked = await shown(at, phone, kind, graduations=graduations)
    answer = await phone.answer_until_it_counts(payload, asked)
    assert (answer.word, answer.reading_mm, answer.prompt_id) == (word, value_mm, None)


async def test_a_plain_answer_right_after_the_prompt_is_not_meant_for_it(at, phone, monkeypatch):
    monkeypatch.setattr(reception, "SHOWN_AT_LEAST_S", 3600)  # however slow this computer is
    asked = await shown(at, phone)
    await phone.answer("done")
    await until(lambda: phone.refusals())
    assert "too soon" in phone.refusals()[0]
    assert not asked.done()


async def test_hold_and_end_count_at_any_time(at, phone):
    stopped = []
    at.station.desk.on_stop.add(stopped.append)
    at.tell(running())
    await phone.answer("hold")
    await until(lambda: [answer.word for answer in stopped] == [Word.HOLD])
    at.tell(HoldBegan(reason="asked for"))
    await phone.command("hold")
    await until(lambda: phone.refusals() == ["Not taken: the run is on hold already"])
    await phone.answer({"answer": "end"})
    await until(lambda: [answer.word for answer in stopped] == [Word.HOLD, Word.END])


# ------------------------------------------------------------ commands


@pytest.mark.parametrize(
    ("payload", "why"),
    [
        ("go", "it is no command; known are start, resume, hold and stop"),
        ("start", "it is no command"),
        ({"command": "jump"}, "Input tag 'jump'"),
        ({"command": "start"}, "the key 'study' is missing"),
        ({"command": "start", "study": "rig-check", "seed": -1}, "seed: "),
        ({"command": "start", "study": "x"}, "no study is called 'x'"),
        ("start rig-check", "starting from afar is off until someone at the machine arms it"),
        ({"command": "resume", "run": 1}, "starting from afar is off"),
    ],
)
async def test_a_command_that_is_none_or_not_allowed_says_why(at, phone, payload, why):
    await phone.command(payload)
    await until(lambda: phone.refusals())
    assert why in phone.refusals()[0]
    assert at.station.queued == 0


@pytest.mark.parametrize(
    "payload", ["start rig-check", {"command": "start", "study": "rig-check", "seed": 7}]
)
async def test_a_start_from_afar_uses_up_the_arming(at, phone, payload):
    at.station.arm("button")
    await phone.command(payload)
    await phone.command(payload)
    await until(lambda: phone.refusals())
    request = await at.station.next_request()
    assert (request.study, request.channel) == ("rig-check", "messages")
    assert (at.station.queued, at.station.arming.armed) == (0, None)


@pytest.mark.parametrize("protocol", ["3.1.1", "5"])
async def test_a_start_that_the_broker_kept_starts_nothing(broker, phone, tmp_path, protocol):
    settings = Messages(broker="127.0.0.1", port=broker.port, protocol=protocol)
    await phone.command("start rig-check", retain=True)
    async with station_served(tmp_path, settings) as at:
        at.station.arm("button")
        await until(lambda: bool(phone.said("event")))
        await phone.send("stray", "")  # what was kept came before this, if at all
        await until(lambda: "nobody reads the topic" in " ".join(phone.refusals()))
        assert at.station.queued == 0
        assert at.station.arming.armed is not None


@pytest.mark.parametrize(("protocol", "counts"), [("3.1.1", True), ("5", False)])
@pytest.mark.parametrize(
    ("name", "payload"),
    [("command", "start rig-check"), ("answer", {"prompt_id": "1-1", "answer": "done"})],
)
async def test_a_fresh_message_that_is_to_be_kept_counts_once_at_most(
    broker, phone, tmp_path, protocol, counts, name, payload
):
    """MQTT 3.1.1, 3.3.1.3: to those who are there it comes without the flag, so nobody can tell.

    MQTT 5, 3.8.3.1, Retain As Published: we ask for the flag, and refuse. Both from memory.
    """
    settings = Messages(broker="127.0.0.1", port=broker.port, protocol=protocol)
    async with station_served(tmp_path, settings) as at:
        at.station.arm("button")
        asked = at.ask(prompt("1-1"))
        await until(phone.shows("1-1"))
        await phone.send(name, payload, retain=True)
        await until(lambda: asked.done() or at.station.queued > 0 or phone.refusals() != [])
        assert (asked.done() or at.station.queued > 0) is counts
        at.serving.cancel()
        await until(lambda: phone.plain("online")[-1:] == [b"offline"])
        at.station.arm("button")
        again = at.ask(prompt("1-1")) if asked.done() else asked
        phone.seen.clear()
        await at.serve_again()
        await until(phone.shows("1-1"))
        await phone.send("stray", "")  # refused once all that came before it is judged
        await until(lambda: "nobody reads the topic" in " ".join(phone.refusals()))
        assert at.station.queued == (counts and name == "command")
        assert not again.done()


@pytest.mark.parametrize("protocol", ["3.1.1", "5"])
@pytest.mark.parametrize(("name", "payload"), [("command", "hold"), ("answer", "hold")])
async def test_a_fresh_hold_counts_though_it_is_to_be_kept(
    broker, phone, tmp_path, protocol, name, payload
):
    settings = Messages(broker="127.0.0.1", port=broker.port, protocol=protocol)
    async with station_served(tmp_path, settings) as at:
        stopped = []
        at.station.desk.on_stop.add(stopped.append)
        at.tell(running())
        await until(lambda: bool(phone.said("event")))
        await phone.send(name, payload, retain=True)
        await until(lambda: [answer.word for answer in stopped] == [Word.HOLD])


@pytest.mark.parametrize("payload", ["stop", {"command": "stop"}, {"command": "stop", "x": [1]}])
async def test_a_stop_halts_at_once_whatever_else_it_says(at, phone, payload):
    halts = []
    at.station.machine = HaltedMachine(halts.append)
    await phone.command(payload)
    await until(lambda: halts == ["messages"])
    await until(lambda: "halted" in [event["event"] for event in phone.said("event")])


async def test_deaf_to_its_own_echo(at, phone):
    """All we publish comes back to us; none of it may be taken for a word of somebody's."""
    await shown(at, phone)
    await until(lambda: at.outbox.waiting == 0)
    assert phone.refusals() == []
    assert json.dumps(phone.said("state"))
