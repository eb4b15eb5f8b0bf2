"""Numbers of a levelling that can hardly be: asked for again, and what they make of the bed."""

import pytest
from paper_bed import PaperLevelling, bed_built, level_study
from test_levelled_beds import bench_of, levelled, rounds, verdicts
from test_simulated_printer import Bench
from workshop import said

from hostctl.choices import FELL, GREW
from hostctl.deeds import PressPlunger, ReadIndicator, ZeroIndicator
from hostctl.news import Answer, Prompt, Word
from hostctl.run.record.answered import ASKED_AGAIN
from hostctl.run.steps.levelling.doubt import why_far


def asked_again(bench: Bench) -> list[Prompt]:
    return [prompt for prompt in bench.prompts if "one of the two is wrong" in prompt.text]


def test_an_absurd_free_number_is_told_at_the_next_reading_and_redo_takes_it_again():
    bench = bench_of(level_study())
    zeros: list[Prompt] = []

    def look(prompt: Prompt) -> None:
        if isinstance(prompt.deed, ZeroIndicator):
            zeros.append(prompt)
            if len(zeros) == 1:
                bench.desk.answer(said(prompt, Word.READING, -5.0))
        elif "one of the two is wrong" in prompt.text:
            bench.desk.answer(said(prompt, Word.REDO))

    bench.on_prompt = look
    levelled(bench)
    (doubted,) = asked_again(bench)
    assert "the number with the plunger hanging free (-5 mm)" in doubted.text
    assert "Redo takes the free one again" in doubted.text
    assert len(zeros) == 1 + len(rounds(bench))
    assert zeros[0].place is not None
    assert zeros[1].place is not None
    assert (zeros[1].place.block, zeros[1].place.attempt) == (1, 2)


def test_a_far_reading_is_asked_for_again_once_and_kept_if_it_is_so():
    bench = bench_of(level_study())
    met: list[Prompt] = []

    def look(prompt: Prompt) -> None:
        if isinstance(prompt.deed, ReadIndicator):
            met.append(prompt)
            if len(met) in (3, 4):
                bench.desk.answer(said(prompt, Word.READING, -5.0))

    bench.on_prompt = look
    bench.carry_out()
    (doubted,) = asked_again(bench)
    assert doubted is met[3]
    assert bench.store.kinds().count(ASKED_AGAIN) == 1
    kept = [one.kept.reading.value_mm for one in bench.store.counting]
    assert kept.count(-5.0) == 1


@pytest.mark.parametrize(
    ("value_mm", "free_mm", "far"),
    [
        (1.5, 0.0, False),
        (-1.5, 0.0, False),
        (0.0, 0.0, False),  # hangs free there too
        (4.0, 0.0, False),
        (4.01, 0.0, True),
        (-4.01, 0.0, True),
        (1.2, -5.0, True),
        (8.2, 7.0, False),
    ],
)
def test_far_is_further_than_2_5_mm_from_where_the_plunger_is_pressed_to(value_mm, free_mm, far):
    assert bool(why_far(level_study(), value_mm, free_mm)) is far


def test_a_bed_that_stands_too_high_by_its_numbers_names_the_free_one():
    levelling = PaperLevelling(bed_built(tilt_mm=1.0, bed_mm=2.6))
    assert "the number with the plunger hanging free, 3 mm, was wrong" in levelling.go()


@pytest.mark.parametrize("falls", [0, 1])
def test_a_wrong_answer_which_way_the_number_goes_ends_nothing(falls: int):
    bench = bench_of(level_study(), indicator_falls=falls)

    def look(prompt: Prompt) -> None:
        if isinstance(prompt.deed, PressPlunger):
            bench.desk.answer(
                Answer(
                    prompt_id=prompt.prompt_id,
                    word=Word.CHOSEN,
                    choice=GREW if falls else FELL,
                    channel="terminal",
                    given_at=prompt.opened_at,
                )
            )

    bench.on_prompt = look
    levelled(bench)
    assert verdicts(bench) == ["turn", "within-tolerance"]
    told = [event.text for event in bench.store.events if event.kind == "levelled"]
    assert "other than was said" in told[0]
