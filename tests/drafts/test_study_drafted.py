"""Studies made of answers: whatever is answered the file is a good one, and says what was meant."""

import json
from collections.abc import Callable

import pytest
from answering import CONFIGS, answered, at_random, machine, saying

from hostctl.config.any_file import any_file_from
from hostctl.config.load import study_from
from hostctl.config.machine import Heat, Machine
from hostctl.config.study import Study
from hostctl.config.yaml_text import Source
from hostctl.drafts.question import Question, Unclear, Value, understood
from hostctl.drafts.study_file import study_drafted, study_text
from hostctl.drafts.study_questions import next_question, why_no_study
from hostctl.drafts.yaml_lines import WIDEST

BY_MACHINE = {name: machine(name) for name in ("sim-220", "sim-tri", "workshop-220")}
ODD = {
    "mains": BY_MACHINE["sim-220"].model_copy(update={"heat": Heat(mains_bed=True)}),
    "probe alone": BY_MACHINE["sim-tri"].model_copy(update={"indicator": None}),
}
MACHINES = BY_MACHINE | ODD


@pytest.mark.parametrize("seed", range(30))
@pytest.mark.parametrize("name", MACHINES)
def test_whatever_is_answered_the_file_passes_check(name: str, seed: int):
    of = MACHINES[name]
    answers = answered(of, at_random(seed))
    study = study_drafted(json.loads(json.dumps(answers)), of)
    text = study_text(answers, of)
    assert isinstance(any_file_from(Source("drafted.yaml", text)), Study)
    assert all(len(line) <= WIDEST for line in text.splitlines())
    assert study.title == " ".join(str(answers["title"]).split())
    assert (study.study, study.trials) == (answers["study"], answers["trials"])
    assert ", ".join(study.points) == answers["points"]
    said = [answers[key] for key in answers if key.endswith(".instruction")]
    assert {" ".join(str(each).split()) for each in said} <= {
        method.instruction for method in study.methods
    }


def shipped(name: str) -> Study:
    return study_from(Source.of(CONFIGS / "studies" / f"{name}.yaml"))


THREE_METHODS = {"methods.3": "contact-light", "study": "three-methods"}
RIG_CHECK = {"judged": "rig", "study": "rig-check"}
TRUE_GAP = {
    "judged": "gap",
    "points": "front-left",
    "tie.by": "touch",
    "trials": "10",
    "study": "true-gap",
}


@pytest.mark.parametrize(
    ("name", "said"),
    [("three-methods", THREE_METHODS), ("true-gap", TRUE_GAP), ("rig-check", RIG_CHECK)],
)
def test_the_shipped_studies_come_out_of_the_questions(name: str, said: dict[str, str]):
    titled = said | {"title": shipped(name).title}
    of = MACHINES["sim-220"]
    assert study_drafted(answered(of, saying(titled)), of) == shipped(name)


def asked(of: Machine, **said: str) -> dict[str, Question]:
    """Each question by its key, the others answered as suggested."""
    found: dict[str, Question] = {}

    def say(question: Question) -> str:
        found[question.key] = question
        return said.get(question.key.replace(".", "_"), "")

    answered(of, say)
    return found


def test_only_what_the_machine_can_do_is_asked_for():
    judged = asked(MACHINES["probe alone"])["judged"].ways
    assert [way.word for way in judged] == ["spread", "rig"]
    assert "gauge.kind" in asked(MACHINES["sim-tri"])
    assert "gauge.kind" not in asked(MACHINES["sim-220"])
    ties = asked(MACHINES["mains"], judged="gap")["tie.by"].ways
    assert [way.word for way in ties] == ["feelers", "gauge-block"]
    methods = asked(MACHINES["mains"])["methods.1"]
    assert "contact-light" not in [way.word for way in methods.ways]
    assert "heated by mains voltage" in methods.why


def test_a_tie_is_suggested_by_which_no_method_goes():
    gap = {"judged": "gap", "methods_1": "contact-light", "methods_2": "none"}
    assert asked(MACHINES["sim-220"], **gap)["tie.by"].suggested == "feelers"
    gap["methods_1"] = "feeler-gauge"
    assert asked(MACHINES["sim-220"], **gap)["tie.by"].suggested == "touch"


def test_a_machine_that_nothing_reads_gets_no_study():
    bare = MACHINES["sim-tri"].model_copy(update={"indicator": None, "probe": None})
    assert "takes a reading" in (why_no_study(bare) or "")
    assert why_no_study(MACHINES["sim-tri"]) is None


WRONG = {
    "judged": ("both", "Type one of: spread, gap, rig."),
    "methods.1": ("pap er", "Type one of: paper-slip"),
    "operators": ("Ann, Ben", "like ann."),
    "points": ("front", "Type one of"),
    "gauge.resolution_mm": ("fine", "is no number"),
    "tolerance.within_mm": ("0", "is not from"),
    "trials": ("2.5", "no whole number"),
    "title": ("x" * 121, "120 are the most"),
    "study": ("taken", "take taken-2, say"),
}


@pytest.mark.parametrize("key", WRONG)
def test_a_wrong_answer_is_told_in_one_line_what_to_do_instead(key: str):
    question = asked(MACHINES["sim-220"])[key]
    if key == "study":
        rest: dict[str, Value] = dict(answered(MACHINES["sim-220"], saying({})))
        del rest["study"]
        again = next_question(rest, MACHINES["sim-220"], taken=frozenset({"taken"}))
        assert again is not None
        question = again
    wrong, says = WRONG[key]
    with pytest.raises(Unclear, match=says) as told:
        understood(question, wrong)
    assert "\n" not in str(told.value)


def test_a_name_that_is_taken_is_not_suggested():
    of = MACHINES["sim-220"]
    name = str(answered(of, saying({}))["study"])
    again = answered(of, saying({}), taken=frozenset({name, f"{name}-2"}))
    assert again["study"] == f"{name}-3"


def test_each_question_is_a_sentence_with_a_reason_and_every_key_is_asked_once():
    seen: set[str] = set()
    for seed in range(25):
        say, keys = at_random(seed), []

        def heard(question: Question, say: Callable[[Question], str] = say) -> str:
            assert question.text.endswith("?")
            assert question.why.endswith(".")
            if question.suggested:
                understood(question, "")
            assert question.kind not in ("choice", "several") or question.ways
            keys.append(question.key)  # noqa: B023  # used up before the next round
            return say(question)

        answered(MACHINES["sim-220"], heard)
        assert len(set(keys)) == len(keys)
        seen.update(keys)
    assert {"tie.block_mm", "tie.plate_mm", "tie.feel_mm", "methods.1.goes_by"} <= seen
