"""What is asked on the local socket, checked by its models before anybody looks at it."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lines_of_json import any_bytes, objects

from hostctl.daemon.socket.requests import (
    LARGEST,
    REQUESTS,
    Hold,
    Malformed,
    Reply,
    Start,
    Status,
    request_from,
)
from hostctl.reference.keys import sections_of

ASKS = [
    *("status", "watch", "start", "answer", "hold", "stop"),
    *("arm", "show-code", "pair", "forget-phones"),
]
KEYS = ["ask", "machine", "study", "resume", "seed", "text", "prompt_id", "code"]


@pytest.mark.parametrize(
    ("line", "request_"),
    [
        (b'{"ask":"status"}', Status(ask="status")),
        (b'\xef\xbb\xbf{"ask":"status"}\r\n', Status(ask="status")),
        (b'{"ask":"hold","machine":null}', Hold(ask="hold")),
        (b'{"ask":"start","study":"x","seed":0}', Start(ask="start", study="x", seed=0)),
        (b'{"ask":"start","resume":9223372036854775807}', Start(ask="start", resume=LARGEST)),
        (b'{"ask":"answer","text":"0,02"}', Reply(ask="answer", text="0,02")),
    ],
)
def test_a_request_is_taken(line: bytes, request_: object):
    assert request_from(line) == request_


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        (b"{}", f"ask must be one of: {', '.join(ASKS)}"),
        (b'{"ask":["status"]}', "ask must be one of"),
        (b'{"ask":null}', "ask must be one of"),
        (b'{"ask":"home"}', "ask must be one of"),
        (b'{"ask":"status","study":"x"}', "'study' is no key of status"),
        (b'{"ask":"status","a\\nb":"x"}', "'a?b' is no key of status"),
        (b'{"ask":"start","resume":"3"}', "resume is not a whole number"),
        (b'{"ask":"start","resume":true}', "resume is not a whole number"),
        (b'{"ask":"start","resume":3.0}', "resume is not a whole number"),
        (b'{"ask":"start","resume":0}', "resume must be at least 1"),
        (b'{"ask":"start","seed":-1}', "seed must be at least 0"),
        (b'{"ask":"start","seed":9223372036854775808}', f"seed must be at most {LARGEST}"),
        (b'{"ask":"start","resume":' + b"9" * 4000 + b"}", f"resume must be at most {LARGEST}"),
        (b'{"ask":"start","resume":' + b"9" * 9000 + b"}", "the request is not a JSON object"),
        (b'{"ask":"answer","text":0.02}', "text is not text"),
        (b'{"ask":"arm","code":1234}', "code is not text"),
        (b'{"ask":"stop","machine":"\\ud800"}', "the request is not a JSON object"),
        (b"", "the request is not a JSON object"),
        (b"[]", "the request is not a JSON object"),
        (b'"status"', "the request is not a JSON object"),
        (b"[" * 9000, "the request is not a JSON object"),
    ],
)
def test_what_is_no_request_says_why(line: bytes, reason: str):
    said = request_from(line)
    assert isinstance(said, Malformed)
    assert said.reason.startswith(reason)


@pytest.mark.parametrize("ask", ASKS)
def test_each_thing_can_be_asked_in_a_word(ask: str):
    assert not isinstance(request_from(json.dumps({"ask": ask}).encode()), Malformed)


def test_each_request_and_its_keys_are_told():
    told = sections_of(REQUESTS, "taken")
    assert [each.label for each in told] == [f"`ask` `{ask}`" for ask in ASKS]
    assert all(each.says and all(key.says for key in each.keys) for each in told)


@given(line=any_bytes() | objects(KEYS, ASKS))
def test_any_line_is_a_request_or_is_refused_in_one_line(line: bytes):
    said = request_from(line)
    if isinstance(said, Malformed):
        assert said.reason.isprintable()
        assert len(said.reason) < 200
    else:
        assert said.ask in ASKS


@given(resume=st.integers(), seed=st.integers())
def test_a_number_is_taken_where_the_database_holds_it(resume: int, seed: int):
    said = request_from(json.dumps({"ask": "start", "resume": resume, "seed": seed}).encode())
    held = 1 <= resume <= LARGEST and 0 <= seed <= LARGEST
    assert isinstance(said, Start) == held
