"""Simulated people who answer a program that asks in JSON lines (`hostctl run … --jsonl`)."""

import asyncio
import json
import sys
from collections.abc import Sequence

from hostctl_simulators.people.people import People, Question


async def answer_program(people: People, command: Sequence[str], *, show: bool = False) -> int:
    """Start `command`, answer each prompt it writes, and give its exit code.

    show: repeat what it writes on our own standard output.
    """
    process = await asyncio.create_subprocess_exec(
        *command, stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE, limit=1 << 20
    )
    assert process.stdin is not None
    assert process.stdout is not None
    while line := await process.stdout.readline():
        if show:
            sys.stdout.write(line.decode(errors="replace"))
            sys.stdout.flush()
        if (reply := reply_to(people, line)) is not None:
            process.stdin.write(reply)
    process.stdin.close()
    return await process.wait()


def reply_to(people: People, line: bytes) -> bytes | None:
    """The JSON line that answers `line`; None where it is no prompt,
    or what they did is the answer.

    Raises LookupError when the prompt asks for what this printer does not have.
    """
    try:
        heard = json.loads(line)
        if not isinstance(heard, dict) or heard.get("event") != "prompt":
            return None
        question = Question.from_json(heard)
    except (ValueError, KeyError):
        return None
    said = people.answer(question)
    if said.nothing:
        return None
    reply: dict[str, object] = {"prompt_id": said.prompt_id}
    if said.choice is not None:
        reply["choice"] = said.choice
    elif said.reading_mm is not None:
        reply["reading_mm"] = said.reading_mm
    else:
        reply["answer"] = "done"
    return json.dumps(reply).encode() + b"\n"
