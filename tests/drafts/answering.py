"""Somebody who answers the questions of a study: as suggested, as told, or at random."""

import math
from collections.abc import Callable, Mapping
from pathlib import Path
from random import Random

from hostctl.config.load import load_machine
from hostctl.config.machine import Machine
from hostctl.drafts.question import Question, Value, understood
from hostctl.drafts.study_questions import next_question

CONFIGS = Path(__file__).parents[2] / "configs"
MOST_QUESTIONS = 60
_WORDS = ("true", "null", "On", "feel: it", "#1", "- light", "'quoted'", '"so"', "übrig", "1e3")


def machine(name: str) -> Machine:
    """One that is shipped."""
    return load_machine(CONFIGS / "machines" / f"{name}.yaml")


def answered(
    of: Machine, say: Callable[[Question], str], *, taken: frozenset[str] = frozenset()
) -> dict[str, Value]:
    """All questions, each answered by what `say` types."""
    answers: dict[str, Value] = {}
    for _ in range(MOST_QUESTIONS):
        question = next_question(answers, of, taken=taken)
        if question is None:
            return answers
        answers[question.key] = understood(question, say(question))
    raise AssertionError(f"asked {MOST_QUESTIONS} times and no end: {answers}")


def saying(said: Mapping[str, str]) -> Callable[[Question], str]:
    """As told, by key, and else as suggested."""
    return lambda question: said.get(question.key, "")


def at_random(seed: int) -> Callable[[Question], str]:
    """Anything that a question takes, odd texts among it."""
    chance = Random(seed)
    return lambda question: _anything(question, chance)


def _anything(question: Question, chance: Random) -> str:
    if question.kind == "choice":
        return chance.choice(question.ways).word
    if question.kind == "several":
        count = chance.randint(1, len(question.ways))
        return " ".join(way.word for way in chance.sample(question.ways, count))
    if question.kind in ("number", "whole"):
        return _number(question, chance)
    key = question.key.rpartition(".")[2]
    if key == "operators":
        return ", ".join(f"{chance.choice('abx019')}-{n}" for n in range(chance.randint(1, 4)))
    if key in ("name", "study"):
        return f"{chance.choice(['true', 'on', '7', 'null', 'way'])}-{question.key[8:9] or 's'}"
    length = chance.choice([1, 4, 12])
    return " ".join(chance.choice(_WORDS) for _ in range(length))[:119]


def _number(question: Question, chance: Random) -> str:
    least, most = max(question.least, 0.0), min(question.most, 1e3)
    if chance.random() < 0.2:
        return f"{chance.choice([least, most])!r}"
    if question.kind == "whole":
        return str(chance.randint(math.ceil(least), math.floor(most)))
    if chance.random() < 0.4 and question.suggested:
        return question.suggested
    return repr(least + (most - least) * chance.random())
