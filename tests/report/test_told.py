"""What is told of a result, as text, page and Markdown, and as data that fit their schema."""

import json
from dataclasses import replace
from typing import Any

import jsonschema
import numpy as np
import pytest
from told_cases import CASES, FOLDER, LAYOUTS, checks, found, past_run, told

from hostctl.report.document.question import Question
from hostctl.report.history.document import HISTORY
from hostctl.report.history.history import history_of_checks
from hostctl.report.planning.document import PLAN
from hostctl.report.planning.plan import plan
from hostctl.report.planning.wishes import Wishes
from hostctl.report.schemas import FOLDER as SCHEMAS
from hostctl.report.schemas import QUESTIONS, schema_text

VALIDATORS = {
    question.name: jsonschema.Draft202012Validator(question.schema()) for question in QUESTIONS
}


def fits(question: Question[Any], result: object) -> None:
    """As another program gets it: strict JSON, which its schema describes."""
    data = json.loads(json.dumps(question.data(result), allow_nan=False))
    VALIDATORS[question.name].validate(data)
    assert data["answer"].endswith(".")


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("name", CASES)
def test_a_document_is_told_as_it_was(name: str, layout: str):
    """Changed on purpose? `told_cases.py` says how the files are written anew."""
    assert told(name, layout) == (FOLDER / f"{name}.{layout}").read_text()


def test_no_document_is_kept_that_nobody_tells():
    assert {path.name for path in FOLDER.iterdir()} == {
        f"{name}.{layout}" for name in CASES for layout in LAYOUTS
    }


@pytest.mark.parametrize("name", CASES)
def test_the_text_of_a_document_fits_a_terminal(name: str):
    assert max(map(len, told(name, "txt").splitlines())) <= 80


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question.name)
def test_the_schema_that_is_shipped_is_the_results(question: Question[Any]):
    assert (SCHEMAS / f"{question.name}.json").read_text() == schema_text(question)
    jsonschema.Draft202012Validator.check_schema(question.schema())


def test_no_schema_is_shipped_that_no_question_has():
    assert {path.stem for path in SCHEMAS.iterdir()} == {question.name for question in QUESTIONS}


@pytest.mark.parametrize("name", CASES)
def test_the_data_of_a_document_fit_its_schema(name: str):
    fits(CASES[name][0], found(name))


@pytest.mark.parametrize("seed", range(40))
def test_the_data_of_any_history_fit_its_schema(seed: int):
    chance = np.random.default_rng(seed)
    spreads_mm = 0.006 * np.sqrt(chance.chisquare(4, int(chance.integers(1, 70))) / 4)
    kept = checks(tuple(map(float, spreads_mm)), has_datum=bool(seed % 2))
    fits(HISTORY, history_of_checks("the rig", kept, [], baseline=None if seed % 3 else 2))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(16))
def test_the_data_of_any_plan_fit_its_schema(seed: int):
    chance = np.random.default_rng(seed)
    wishes = Wishes(
        know_within=float(chance.uniform(0.05, 0.9)) if seed % 2 else None,
        see_ratio=float(chance.uniform(1.2, 5)) if seed % 3 else None,
        within_mm=0.05 if seed % 5 else None,
        expected_sd_mm=float(chance.uniform(0.005, 0.03)) if seed % 4 else None,
        bias_mm=float(chance.uniform(-0.02, 0.02)) if seed % 8 == 1 else None,
    )
    fits(PLAN, plan(wishes, past_run() if seed % 7 == 0 else None))


def test_a_spread_of_which_only_a_bound_is_known_has_trials_for_the_bound_alone():
    by_run = plan(Wishes(within_mm=0.02), past_run()).by_run
    assert by_run is not None
    alike = next(found for found in by_run.spreads if found.operator == "volunteer-b")
    assert (alike.sd_mm, alike.trials, alike.why_no_trials) == (None, None, None)


def test_what_takes_no_number_of_trials_says_why_and_the_others_do_not():
    by_run = plan(Wishes(within_mm=0.05), past_run()).by_run
    assert by_run is not None
    for each in by_run.spreads:
        assert (each.trials_at_upper is None) == (each.why_no_trials_at_upper is not None)
    assert by_run.trials == max(each.trials or 0 for each in by_run.spreads)


def test_a_time_that_is_named_counts_before_the_runs_own():
    found = plan(Wishes(trial_seconds=10), past_run())
    assert found.by_run is not None
    assert found.trial_seconds == found.by_run.trial_seconds == 10


def test_the_studys_tolerance_counts_where_no_other_is_named():
    named, own = (plan(wishes, past_run()).by_run for wishes in (Wishes(within_mm=0.1), Wishes()))
    assert named is not None
    assert own is not None
    assert (named.within_mm, own.within_mm) == (0.1, 0.05)


def test_a_run_that_shows_no_spread_can_still_bring_its_time():
    past = replace(past_run(), material=None)
    found = plan(Wishes(within_mm=0.05, expected_sd_mm=0.01), past)
    assert found.trial_seconds == 45
    assert found.by_run is None
