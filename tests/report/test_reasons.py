"""The words for reasons: every code has them, and they speak of its own numbers alone."""

from string import Formatter

import pytest

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.claims.claim import Centre
from hostctl.metrology.oddities.warm_up import WarmUp
from hostctl.report.analysis.told.odd import warm_up_words
from hostctl.report.document.reasons import (
    CENTRES,
    WORDS,
    Withheld,
    error_words,
    reason_words,
)

CODES = [*Why, *Withheld]


@pytest.mark.parametrize("code", CODES)
def test_a_codes_words_hold_its_numbers_and_no_others(code):
    named = {name for _, name, _, _ in Formatter().parse(WORDS[code]) if name is not None}
    assert named == set(code.numbers)


def test_no_code_and_no_words_are_there_twice():
    assert len({str(code) for code in CODES}) == len(CODES) == len(WORDS)


@pytest.mark.parametrize("words", WORDS.values())
def test_words_are_part_of_a_sentence(words):
    assert words == words.strip()
    assert not words.endswith(".")


def test_every_centre_has_words():
    assert set(CENTRES) == set(Centre)


def test_a_reason_takes_the_numbers_of_its_code_alone():
    with pytest.raises(TypeError, match="most"):
        Reason(Why.MORE_THAN)
    with pytest.raises(TypeError, match="least"):
        Reason(Why.MORE_THAN, most=3, least=1)


@pytest.mark.parametrize(("blocks", "where"), [(1, "the datum at"), (3, "the datum in the worst")])
def test_a_verdict_says_what_it_is_counted_from(blocks, where):
    why = Reason(
        Why.REACH_WITHIN,
        **{"share": 0.95, "confidence": 0.95, "high": 0.0412, "tolerance": 0.05, "unit": "mm"},
        centre=Centre.DATUM,
        blocks=blocks,
    )
    assert f"within ±0.0412 mm of {where}" in reason_words(why)


def test_a_reason_may_lie_behind_another():
    found = Reason(Why.NO_RIG_CHECK)
    assert reason_words(Reason(Withheld.RIG_NOT_KNOWN, found=found)).startswith(
        "there is no rig check to take out, but that is setting and rig"
    )


def test_an_error_says_its_reason_or_what_it_says_itself():
    assert (
        error_words(NotEnough(Reason(Why.MORE_THAN, most=2000)))
        == "more than 2,000 would be needed"
    )
    assert error_words(ValueError("above 0")) == "above 0"


@pytest.mark.parametrize(
    ("trials", "said"),
    [
        (0, "no warm-up seen in 25 trials"),
        (1, "warm-up: the first trial of 25 differ from the rest in level"),
        (4, "warm-up: the first 4 trials of 25 differ from the rest in level"),
    ],
)
def test_a_warm_up_is_said(trials, said):
    assert warm_up_words(WarmUp(trials=trials, differs_in="level", p_value=0.01, n=25)) == said
