"""Discovery: off by default; on, a hub finds the prompt, the buttons and a number field."""

import json

import pytest
from at_the_station import MACHINE, TREE, phone_at, prompt, station_served, until
from pydantic import ValidationError

from hostctl.channels.messages.arriving.incoming import NotUnderstood, answer_in
from hostctl.channels.messages.discovery import TABLE, announcements
from hostctl.channels.messages.topics import Topics
from hostctl.config.host import Messages
from hostctl.news import PromptKind, Word

PREFIX = Messages(broker="localhost").discovery_prefix
COMMON = {"unique_id", "device", "availability_topic", "qos", "name", "origin"}
NEEDS = {  # common practice: the convention's own pages, by way of our notes on them
    "sensor": {"state_topic", "value_template"},
    "button": {"command_topic", "payload_press"},
    "number": {"command_topic", "state_topic", "min", "max", "step", "mode"},
}


def configs() -> list[tuple[str, dict[str, object]]]:
    return [
        (topic, json.loads(text)) for topic, text in announcements(Topics(MACHINE), PREFIX).items()
    ]


@pytest.mark.parametrize(("topic", "config"), configs(), ids=lambda value: str(value)[:60])
def test_each_thing_is_announced_with_what_the_convention_needs(topic, config):
    prefix, component, node, key, last = topic.split("/")
    assert (prefix, node, last) == (PREFIX, f"hostctl_{MACHINE}", "config")
    assert set(config) >= COMMON | NEEDS[component]
    assert config["unique_id"] == f"hostctl_{MACHINE}_{key}"


def test_ids_are_unique_and_buttons_press_what_the_program_takes():
    assert len({shown.key for shown in TABLE}) == len(TABLE)
    presses = [
        (config["command_topic"], str(config["payload_press"]).encode())
        for _, config in configs()
        if "payload_press" in config
    ]
    urgent = [(f"{TREE}/hold", b"hold"), (f"{TREE}/stop", b"stop")]  # where no flood is ahead
    assert presses[-2:] == urgent
    assert len(presses) == 5
    assert {topic for topic, _ in presses[:-2]} == {f"{TREE}/answer"}
    understood = [answer_in(payload, None) for _, payload in presses[:-2]]
    assert not any(isinstance(one, NotUnderstood) for one in understood)


@pytest.mark.broker
async def test_nothing_is_announced_unless_asked_for(broker, tmp_path):
    settings = Messages(broker="127.0.0.1", port=broker.port)
    async with phone_at(broker.port) as phone, station_served(tmp_path, settings):
        await phone.client.subscribe(f"{PREFIX}/#", qos=1)
        await until(lambda: bool(phone.said("event")))
        assert not [topic for topic, _, _ in phone.seen if topic.startswith(PREFIX)]


@pytest.mark.broker
@pytest.mark.slow
@pytest.mark.parametrize("prefix", [PREFIX, "workshop/hub"])
async def test_a_hub_is_told_again_when_it_starts_and_its_buttons_answer(broker, tmp_path, prefix):
    settings = Messages(
        broker="127.0.0.1", port=broker.port, discovery=True, discovery_prefix=prefix
    )
    async with phone_at(broker.port) as hub, station_served(tmp_path, settings) as at:
        await hub.client.subscribe(f"{prefix}/+/+/+/config", qos=1)

        def found() -> list[str]:
            return [topic for topic, _, kept in hub.seen if topic.startswith(prefix) and not kept]

        await until(lambda: bool(hub.said("event")) and bool(hub.said("prompt")))
        hub.seen.clear()
        await hub.client.publish(f"{prefix}/status", "online", qos=1)
        await until(lambda: set(found()) == set(announcements(Topics(MACHINE), prefix)))
        asked = at.ask(prompt("1-1", PromptKind.READ))
        await until(hub.shows("1-1"))
        number = '{"reading_mm": 0.03}'  # as its field words it
        answer = await hub.answer_until_it_counts(number, asked)
        assert (answer.word, answer.reading_mm) == (Word.READING, 0.03)


@pytest.mark.parametrize("prefix", ["", "/hub", "hub/", "hub/#", "+", "a b", "a//b"])
def test_a_prefix_that_is_no_topic_is_refused(prefix: str):
    with pytest.raises(ValidationError, match="discovery_prefix"):
        Messages(broker="localhost", discovery_prefix=prefix)
