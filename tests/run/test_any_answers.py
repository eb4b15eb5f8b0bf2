"""Whatever answers arrive, in whatever order: no motion without a fresh answer that counted."""

import asyncio
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from workshop import EPOCH, Workshop, rig_check, said, study_file

from hostctl.news import Answer, Prompt, PromptClosed, PromptKind, PromptOpened, Word
from hostctl.run.desk import STOPPING, Accepted

ATTEMPTS = 6

scribbles = st.builds(
    Answer,
    prompt_id=st.sampled_from([None, "", "1-1-0", "open", "last", "first"]),
    word=st.sampled_from(list(Word)),
    reading_mm=st.sampled_from([None, 0.0, 0.02, 0.015, 7.0, float("nan"), float("inf")]),
    channel=st.sampled_from(["terminal", "phone", "button"]),
    given_at=st.just(EPOCH),
    given_s=st.sampled_from([None, -1.0, 1e6]),
)


class Crowd:
    """Several channels at once: scribbles first, then one sensible answer to get on with it."""

    def __init__(self, shop: Workshop, scribbled: list[list[Answer]]) -> None:
        self.shop = shop
        self.scribbled = list(scribbled)
        self.known: list[str] = []
        self.accepted: list[str] = []

    def __call__(self, prompt: Prompt) -> Answer | None:
        self.known.append(prompt.prompt_id)
        for scribble in self.scribbled.pop(0) if self.scribbled else []:
            self._hand_in(scribble, prompt)
        if self.shop.desk.open_prompt != prompt:
            return None
        reads = prompt.kind is PromptKind.READ
        return said(prompt, Word.READING, 0.01) if reads else said(prompt)

    def _hand_in(self, scribble: Answer, prompt: Prompt) -> None:
        ids = {"open": prompt.prompt_id, "last": self.known[-1], "first": self.known[0]}
        prompt_id = ids.get(scribble.prompt_id or "", scribble.prompt_id)
        answer = Answer(
            prompt_id=prompt_id,
            word=scribble.word,
            reading_mm=scribble.reading_mm,
            channel=scribble.channel,
            given_at=scribble.given_at,
            given_s=scribble.given_s,
        )
        still_open = self.shop.desk.open_prompt == prompt and not self.accepted_for(prompt)
        if isinstance(self.shop.desk.answer(answer), Accepted) and answer.word not in STOPPING:
            self.accepted.append(prompt.prompt_id)
            fresh = answer.prompt_id == prompt.prompt_id
            pressed_after = answer.prompt_id is None and answer.given_s == 1e6
            assert still_open
            assert fresh or pressed_after

    def accepted_for(self, prompt: Prompt) -> bool:
        return prompt.prompt_id in self.accepted


@pytest.mark.slow
@settings(max_examples=60)
@given(
    scribbled=st.lists(st.lists(scribbles, max_size=4), max_size=ATTEMPTS),
    check=st.booleans(),
)
def test_nothing_moves_without_a_fresh_answer_that_counted(scribbled, check):
    shop = Workshop(rig_check(trials=2) if check else study_file(trials=2))
    moved_while_open: list[str] = []

    def look(command: str) -> None:
        if command.startswith(("G1", "G28", "G30")) and shop.desk.open_prompt is not None:
            moved_while_open.append(command)

    shop.printer.before = look
    finished = shop.carry_out(Crowd(shop, scribbled))
    assert moved_while_open == []
    assert shop.printer.offences == []
    opened, closed = shop.told(PromptOpened), shop.told(PromptClosed)
    assert [item.prompt.prompt_id for item in opened] == [item.prompt_id for item in closed]
    assert all(item.because.startswith("answered on ") for item in closed)
    if finished.complete:
        places = [(one.kept.place.block, one.kept.place.trial) for one in shop.store.counting]
        skipped = [(mark.block, mark.trial) for mark in shop.store.marks if mark.mark == "skipped"]
        assert sorted(places + skipped) == [(1, 1), (1, 2)]
    assert all(
        one.kept.reading.value_mm == one.kept.reading.value_mm for one in shop.store.counting
    )


@pytest.mark.slow
@settings(max_examples=15)
@given(pressed=st.lists(st.integers(-5, 0), min_size=1, max_size=5))
def test_a_button_pressed_before_the_prompt_was_shown_never_counts(pressed):
    shop = Workshop(study_file(trials=1))
    moves_at_start: list[int] = []

    def person(prompt: Prompt) -> Answer | None:
        for seconds in pressed:
            early = Answer(
                prompt_id=None,
                word=Word.DONE,
                channel="button",
                given_at=prompt.opened_at + timedelta(days=1),
                given_s=asyncio.get_running_loop().time() + seconds,
            )
            assert not isinstance(shop.desk.answer(early), Accepted)
        moves_at_start.append(len(shop.printer.moves))
        reads = prompt.kind is PromptKind.READ
        return said(prompt, Word.READING, 0.01) if reads else said(prompt)

    assert shop.carry_out(person).complete
    assert moves_at_start[0] == 0
