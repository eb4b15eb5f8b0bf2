"""Budget files: every mistake in one go, each with file, line, key and next step."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import pytest
from pydantic import BaseModel

from hostctl.config.budgets.budget import BudgetFile, budget_from
from hostctl.config.budgets.contributions import Resolution
from hostctl.config.budgets.formula import formula_from
from hostctl.config.find import REFERENCE, SHIPPED
from hostctl.config.yaml_text import Source
from hostctl.errors import ConfigError

EXAMPLE = SHIPPED / "budgets" / "indicator-on-head.yaml"
HEAD = "measurand: height\ncontributions:\n"
GOOD = "  - resolution: {step_mm: 0.01}\n"


def mistakes_in(text: str) -> list[str]:
    with pytest.raises(ConfigError) as caught:
        budget_from(Source("b.yaml", text))
    return str(caught.value).splitlines()


def test_the_shipped_example_holds_one_of_each_kind():
    kinds = {type(part).__name__ for part in budget_from(Source.of(EXAMPLE)).parts}
    assert len(kinds) == 7


def test_a_budget_is_its_contributions_with_plain_defaults():
    budget = budget_from(Source("b.yaml", HEAD + GOOD))
    assert budget.parts == [Resolution(step_mm=0.01)]
    assert (budget.unit, budget.confidence, budget.formula) == ("mm", 0.95, None)


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        ("resolution: {step_um: 10}", "step_um is no key here. Did you mean 'step_mm'?"),
        ("resolution: {step_mm: -0.01}", "step_mm: must be above 0 (got -0.01)"),
        ("resolution: {step_mm: 0}", "step_mm: must be above 0 (got 0)"),
        ("resolution: {step_mm: .nan}", "step_mm: must be a finite number (got NaN)"),
        ("resolution: {step_mm: .inf}", "step_mm: must be a finite number (got Infinity)"),
        ("resolution: {step_mm: 0.01 mm}", 'step_mm: must be a number (got "0.01 mm")'),
        ("resolutoin: {step_mm: 0.01}", "resolutoin is no key here. Did you mean 'resolution'?"),
        ("rig_repeatability: {sd_mm: 0.01}", "needs either from_run, or sd_mm and df"),
        ("rig_repeatability: {from_run: 2, df: 3}", "needs either from_run, or sd_mm and df"),
        ("tilted_stem: {travel_mm: 1, tilt_deg: 90}", "tilt_deg: must be at most 45 (got 90)"),
        ("other: {name: play}", "needs exactly one law: normal, uniform"),
        ("other: {name: play, uniform: 1, normal: 1}", "needs exactly one law"),
        ("other: {name: p, uniform: 1, df: 3, relative_doubt: 0.1}", "df or relative_doubt, not"),
        ("other: {name: p, inexact_uniform: {half_width: 1, doubt: 2}}", "doubt must not be above"),
        ("{}", "must hold exactly one kind of contribution"),
    ],
)
def test_a_mistake_is_named_with_its_line(entry: str, said: str):
    found = mistakes_in(f"{HEAD}{GOOD}  - {entry}\n")
    assert all(line.startswith("b.yaml:4: contributions.2") for line in found)
    assert said in found[-1]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (HEAD + GOOD + GOOD, "b.yaml:4: contributions.2: another one is called 'resolution' too"),
        ("unit: um\n" + HEAD + GOOD, "b.yaml:4: contributions.1: resolution is in mm, the budget"),
        (
            HEAD + GOOD + "correlations:\n  - {between: [resolution, paly], r: 0.1}\n",
            "b.yaml:5: correlations.1: no contribution is called 'paly'",
        ),
        (
            HEAD + GOOD + "correlations:\n  - {between: [resolution, resolution], r: 0.1}\n",
            "b.yaml:5: correlations.1: is between one and itself",
        ),
        ("model: resolutoin\n" + HEAD + GOOD, "b.yaml:1: model: no contribution is called"),
        ("model: resolution +\n" + HEAD + GOOD, "b.yaml:1: model: is no formula"),
        (
            "model: resolution\n" + HEAD + GOOD + "  - other: {name: play, uniform: 1}\n",
            "b.yaml:5: contributions.2: the model has no 'play'",
        ),
        (
            "model: a\n" + HEAD + "  - other: {name: a, uniform: 1, sensitivity: 2}\n",
            "b.yaml:4: contributions.1: a sensitivity is given, and a model too",
        ),
    ],
)
def test_parts_that_do_not_fit_each_other_are_named_with_their_line(text: str, said: str):
    assert any(line.startswith(said) for line in mistakes_in(text))


def test_a_formula_knows_its_names():
    assert formula_from("lS + 2*d - sqrt(x**2)").names == {"lS", "d", "x"}


@pytest.mark.parametrize(
    "text",
    [
        "__import__('os')",
        "a.b",
        "a[0]",
        "(lambda: 1)()",
        "a if b else c",
        "open(a)",
        "sqrt(a, b)",
        "a @ b",
        "True",
        "'a'",
        "a == b",
        "",
        "(" * 400,
        "a+" * 300 + "a",
    ],
)
def test_a_formula_is_arithmetic_and_nothing_else(text: str):
    with pytest.raises(ValueError, match=r"takes numbers|is no formula|at most 500"):
        formula_from(text)


def test_a_budget_that_is_not_there_is_told_as_such(tmp_path: Path):
    with pytest.raises(ConfigError, match="can't be read"):
        budget_from(Source.of(tmp_path / "none.yaml"))


def keys_of(model: type[BaseModel]) -> set[str]:
    keys = set(model.model_fields)
    for field in model.model_fields.values():
        for section in sections_in(field.annotation):
            keys |= keys_of(section)
    return keys


def sections_in(annotation: object) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for part in get_args(annotation):
        yield from sections_in(part)


@pytest.mark.parametrize("key", sorted(keys_of(BudgetFile)))
def test_each_key_is_in_the_reference_and_in_the_example(key: str):
    assert f"- `{key}` (" in (REFERENCE / "budget.md").read_text()
    assert re.search(rf"\b{key}\b:|`{key}", EXAMPLE.read_text())


VALUED = HEAD + "  - other: {name: mean, normal: 0.006, value: 0.21}\n"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (HEAD + GOOD + "limits: {upper: 0.3}\n", "limits: the file gives no value to be judged"),
        (VALUED + "limits: {}\n", "limits: neither is given"),
        (VALUED + "limits: {lower: 0.3, upper: 0.2}\n", "0.3 is not below the upper limit, 0.2"),
        (VALUED + "limits: {lower: .inf}\n", "limits.lower"),
    ],
)
def test_limits_that_judge_nothing_are_refused(text: str, said: str):
    assert any(said in mistake for mistake in mistakes_in(text))


def test_one_limit_is_enough():
    budget = budget_from(Source("b.yaml", VALUED + "limits: {upper: 0.3}\n"))
    assert budget.limits is not None
    assert (budget.limits.lower, budget.limits.upper) == (None, 0.3)
