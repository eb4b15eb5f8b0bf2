"""The clock on the wall is set back while a prompt is open: what is said to it still counts."""

from dataclasses import replace
from datetime import timedelta

from at_the_station import AtTheStation, Phone, prompt, running, until

from hostctl.news import Word


async def test_a_plain_answer_counts_though_its_prompt_was_opened_in_what_is_now_the_future(
    at: AtTheStation, phone: Phone
):
    at.tell(running())
    opened = prompt("1-1")
    asked = at.ask(replace(opened, opened_at=opened.opened_at + timedelta(days=2)))
    await until(phone.shows("1-1"))
    answer = await phone.answer_until_it_counts(b"done", asked)
    assert (answer.word, answer.channel) == (Word.DONE, "messages")
