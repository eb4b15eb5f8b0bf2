"""What goes out and what comes in: the same on every broker and protocol."""

import json
import sqlite3
from dataclasses import replace

import pytest
from at_the_station import (
    AtTheStation,
    Phone,
    a_reading,
    phone_at,
    place,
    prompt,
    running,
    until,
)
from jsonschema import Draft202012Validator

from hostctl.channels.messages.schemas import schema_text
from hostctl.news import (
    CountdownTicked,
    HoldBegan,
    HoldLifted,
    PromptKind,
    RunFinished,
    TrialMarked,
    Word,
)
from hostctl.run.record.report import ReportStanding, RunReport


async def shown(at: AtTheStation, phone: Phone, what):
    asked = at.ask(what)
    await until(phone.shows(what.prompt_id))
    return asked


async def test_who_subscribes_later_sees_online_state_and_prompt_at_once(at, settings, phone):
    await shown(at, phone, prompt("1-1"))
    async with phone_at(settings.port) as later:
        await until(lambda: len({topic for topic, _, kept in later.seen if kept}) == 3)
        assert set(later.plain("online")) == {b"online"}
        assert later.said("state")[-1]["standing"] == "asking"
        assert later.said("prompt")[-1]["prompt_id"] == "1-1"


@pytest.mark.parametrize(
    ("kind", "answers"),
    [
        (PromptKind.SET, ["done", "redo", "skip"]),
        (PromptKind.ZERO, ["done", "reading_mm", "redo"]),
        (PromptKind.READ, ["reading_mm", "redo", "skip"]),
    ],
)
async def test_a_prompt_says_what_would_be_taken(at, phone, kind, answers):
    await shown(at, phone, prompt("1-1", kind))
    assert phone.said("prompt")[-1]["answers"] == answers


@pytest.mark.parametrize(
    ("kind", "payload", "word", "value_mm"),
    [
        (PromptKind.SET, {"answer": "done"}, Word.DONE, None),
        (PromptKind.SET, {"answer": "redo"}, Word.REDO, None),
        (PromptKind.SET, {"answer": "hold"}, Word.HOLD, None),
        (PromptKind.READ, {"reading_mm": -0.02}, Word.READING, -0.02),
        (PromptKind.READ, {"reading_mm": 1}, Word.READING, 1.0),
    ],
)
async def test_an_answer_with_the_prompts_id_counts_at_once(
    at, phone, kind, payload, word, value_mm
):
    asked = await shown(at, phone, prompt("1-1", kind))
    await phone.answer({"prompt_id": "1-1", "id": "mine", **payload})
    answer = await asked
    assert (answer.word, answer.reading_mm, answer.prompt_id) == (word, value_mm, "1-1")


async def test_what_went_out_is_told_in_order_and_each_has_an_id(at, phone):
    await until(lambda: "connected" in [event["event"] for event in phone.said("event")])
    at.tell(running(), CountdownTicked(seconds_left=2, what="The head lifts."))
    at.tell(TrialMarked(place=place(), mark="skipped", reason="asked for"))
    at.tell(HoldBegan(reason="the line went quiet"), HoldLifted(channel="page"))
    at.tell(RunFinished(run=1, complete=True, reason="all trials are taken"))
    await until(lambda: "finished" in [event["event"] for event in phone.said("event")])
    events = phone.said("event")
    assert [event["event"] for event in events][-5:] == [
        "started",
        "marked",
        "hold",
        "hold-lifted",
        "finished",
    ]
    assert {event["run"] for event in events[-5:]} == {1}
    assert len({event["id"] for event in events}) == len(events)


async def test_a_countdown_is_in_the_state(at, phone):
    at.tell(running(), CountdownTicked(seconds_left=2, what="The head lifts."))
    await until(lambda: phone.said("state")[-1:] and phone.said("state")[-1]["seconds_left"] == 2)
    assert phone.said("state")[-1]["what"] == "Stand clear: The head lifts."


async def test_that_it_stands_still_by_a_stop_is_in_the_state(at, phone):
    at.tell(running(), HoldBegan(reason="asked for"))
    await until(lambda: phone.said("state")[-1:] and phone.said("state")[-1]["what"] == "asked for")
    assert phone.said("state")[-1]["stopped"] is False
    at.tell(HoldLifted(channel="page"), HoldBegan(reason="asked for", stopped=True))
    await until(lambda: phone.said("state")[-1]["stopped"])
    assert phone.said("state")[-1]["standing"] == "halted"


async def test_that_a_stop_did_not_reach_the_machine_is_in_the_state(at, phone):
    at.tell(running(), HoldBegan(reason="why", stopped=True, not_told=True))
    await until(lambda: phone.said("state")[-1:] and phone.said("state")[-1]["not_told"])
    at.tell(HoldLifted(channel="page"))
    await until(lambda: not phone.said("state")[-1]["not_told"])


async def test_heat_and_a_job_of_the_machines_own_are_in_the_state(at, phone):
    at.station.reachable, at.station.heat = True, "bed 38 °C, aims at 40 °C"
    at.station.changed()
    await until(lambda: phone.said("state")[-1:] and phone.said("state")[-1]["heat"])
    assert phone.said("state")[-1]["heat"] == "bed 38 °C, aims at 40 °C"
    at.station.heat, at.station.own_job = "", "It runs a job of its own."
    at.station.changed()
    await until(lambda: phone.said("state")[-1]["standing"] == "own job")
    told = phone.said("state")[-1]
    assert (told["what"], told["heat"]) == ("It runs a job of its own.", "")


async def test_a_report_is_told_with_its_name_and_what_was_found(at, phone):
    offered = RunReport(run=1, study="rig-check", complete=True)
    at.station.offer_report(offered)
    at.station.ask_report(1)
    answer = "The rig's readings scatter with a standard deviation of 0.004 mm."
    made = replace(offered, standing=ReportStanding.MADE, file_name="r.html", answer=answer)
    at.station.tell_report(made)
    await until(lambda: "report" in kinds(phone))
    (told,) = [event for event in phone.said("event") if event["event"] == "report"]
    Draft202012Validator(json.loads(schema_text("event"))).validate(told)
    assert (told["text"], told["run"]) == (f"Report of run 1, r.html: {answer}", 1)
    assert (told["report"]["file_name"], told["report"]["answer"]) == ("r.html", answer)
    await until(lambda: (phone.said("state")[-1]["view"]["report"] or {}).get("answer") == answer)
    at.station.tell_report(replace(offered, standing=ReportStanding.FAILED, why="no room"))
    await until(lambda: kinds(phone).count("report") == 2)
    assert phone.said("event")[-1]["text"] == "The report of run 1 could not be made: no room"
    assert phone.said("event")[-1]["report"]["answer"] == ""


def kinds(phone) -> list[str]:
    return [event["event"] for event in phone.said("event")]


async def test_a_reading_comes_once_and_leaves_the_disk(at, phone, tmp_path):
    await at.keep(a_reading(0.02))
    await until(lambda: phone.said("reading"))
    told = phone.said("reading")
    assert [(one["value_mm"], one["trial"], one["id"]) for one in told] == [
        (0.02, 2, "workshop-220-reading-1")
    ]
    await until(lambda: at.outbox.waiting == 0)
    with sqlite3.connect(tmp_path / "hostctl.sqlite") as database:
        assert database.execute("SELECT count(*) FROM outbox").fetchone() == (0,)
    database.close()


async def test_a_message_too_wild_to_be_json_is_still_answered_with_an_event(at, phone):
    await phone.answer("{" * 3000)
    await until(lambda: phone.refusals())
    assert phone.refusals() == ["Not taken: it is not JSON, or nested too deep"]
    assert json.dumps(phone.said("event")[-1])


async def test_our_end_is_told_and_nothing_is_asked_any_more(at, phone):
    await shown(at, phone, prompt("1-1"))
    at.serving.cancel()
    await until(lambda: phone.plain("online")[-1:] == [b"offline"])
    assert phone.said("prompt")[-1]["prompt_id"] is None
