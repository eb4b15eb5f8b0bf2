"""Who is asked by name, how prompts grow short, and what each of them keeps saying."""

from itertools import pairwise

import pytest
from workshop import Workshop, obliging, rig_check, said, study_file

from hostctl.channels.view.few_words import without_hands
from hostctl.channels.view.seen import view_of_run
from hostctl.config.study import Method, Warmth
from hostctl.deeds import ChangeHands, TurnScrew
from hostctl.news import Answer, HoldBegan, Prompt, PromptOpened, Word
from hostctl.run.wording import CLEAR_HANDS

METHODS = [
    Method(name="paper-slip", instruction="Slide the paper. Then leave it."),
    Method(name="feeler-gauge", instruction="Slide the leaf."),
]
TWO = {"methods": METHODS, "operators": ["volunteer-a", "volunteer-b"], "trials": 2}


def hands(prompt: Prompt) -> tuple[str, str]:
    assert prompt.place is not None
    return prompt.place.operator, prompt.place.method


def test_a_change_of_person_or_method_is_asked_for_before_anything_of_theirs_the_head_up():
    shop = Workshop(study_file(**TWO))
    heights: list[float] = []

    def look(news: object) -> None:
        if isinstance(news, PromptOpened) and isinstance(news.prompt.deed, ChangeHands):
            heights.append(shop.printer.at.z)

    shop.on_news = look
    assert shop.carry_out(obliging()).complete
    of_trials = [prompt for prompt in shop.prompts if prompt.place]
    assert isinstance(of_trials[0].deed, ChangeHands)
    for before, prompt in pairwise(of_trials):
        assert isinstance(prompt.deed, ChangeHands) == (hands(before) != hands(prompt))
    asked = [prompt for prompt in of_trials if isinstance(prompt.deed, ChangeHands)]
    assert [(each.deed.operator, each.deed.method) for each in asked] == [*map(hands, asked)]
    assert not any(each.may_redo or each.may_skip or each.new_hands for each in asked)
    paper = next(each for each in asked if hands(each)[1] == "paper-slip")
    assert "In short: Slide the paper." in paper.detail
    assert "leave it" not in paper.detail
    assert set(heights) == {shop.file.clear_z_mm}
    assert shop.printer.offences == []


def test_in_mixed_order_the_first_question_of_a_trial_says_whose_it_is_and_nothing_more_is_asked():
    shop = Workshop(study_file(**TWO, order="mixed"))
    headlines: list[str] = []
    shop.on_news = lambda _: headlines.append(view_of_run(shop.desk.course).headline)
    assert shop.carry_out(obliging()).complete
    of_trials = [prompt for prompt in shop.prompts if prompt.place]
    assert not any(isinstance(prompt.deed, ChangeHands) for prompt in of_trials)
    assert of_trials[0].new_hands
    for before, prompt in pairwise(of_trials):
        assert prompt.new_hands == (hands(before) != hands(prompt))
    assert "NOW: VOLUNTEER-B, FEELER GAUGE" in headlines


@pytest.mark.parametrize("study", [study_file(trials=1), rig_check(trials=1)])
def test_where_nothing_changes_nobody_is_asked_by_name(study):
    shop = Workshop(study)
    shop.carry_out(obliging())
    assert not any(isinstance(each.deed, ChangeHands) or each.new_hands for each in shop.prompts)


def test_whoever_holds_before_coming_is_asked_again_and_whoever_came_is_not():
    shop = Workshop(study_file(**TWO))
    held: list[Prompt] = []
    oblige = obliging()

    def answer(prompt: Prompt) -> Answer | None:
        is_turn = isinstance(prompt.deed, TurnScrew)
        if (is_turn and len(held) == 1) or (isinstance(prompt.deed, ChangeHands) and not held):
            held.append(prompt)
            return said(prompt, Word.HOLD)
        return oblige(prompt)

    assert shop.carry_out(answer).complete
    assert len(shop.told(HoldBegan)) == 2
    changes = [each for each in shop.prompts if isinstance(each.deed, ChangeHands)]
    assert len(changes) == 1 + 4
    assert hands(changes[0]) == hands(changes[1])


def test_prompts_grow_short_once_a_person_did_a_block_and_keep_every_caution():
    study = study_file(**TWO, warmth=Warmth(bed_c=60.0, soak_s=0))
    shop = Workshop(study)
    assert shop.carry_out(obliging()).complete
    firsts: dict[str, int] = {}
    for prompt in shop.prompts:
        if prompt.moves_next:
            assert prompt.hands_out == f"The bed is at 60 °C: don't touch it. {CLEAR_HANDS}"
            assert prompt.detail.endswith(prompt.hands_out)
        if isinstance(prompt.deed, TurnScrew):
            assert prompt.place is not None
            first = firsts.setdefault(prompt.place.operator, prompt.place.block)
            assert ("lowers the bed" in without_hands(prompt)) == (prompt.place.block == first)
    assert len(firsts) == 2
