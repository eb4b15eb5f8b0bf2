"""`show` and `analyse` can't disagree: 200 studies drawn at random, each claim that both make."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from contradictions import SEEDS, check
from kept_runs import keep, run_like
from random_studies import random_study

from hostctl.cli.show import shown
from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.report.analysis.analysis import Wish, analyse, judge
from hostctl.report.analysis.document import ANALYSIS
from hostctl.report.analysis.result.judgement import Judgement
from hostctl.report.analysis.short import short_document
from hostctl.report.document.as_text import as_text
from hostctl.report.sources.looks import look_at
from hostctl.report.sources.material import Material
from hostctl.report.sources.rig_material import rig_for
from hostctl.report.sources.run_material import run_material

QUICK = range(10)
IN_A_DATABASE = range(0, 200, 25)
VALIDATOR = jsonschema.Draft202012Validator(ANALYSIS.schema())


@pytest.mark.parametrize(
    "seed",
    [pytest.param(seed, marks=[] if seed in QUICK else pytest.mark.slow) for seed in SEEDS[::2]],
)
def test_show_and_analyse_say_the_same_and_nothing_contradicts_itself(seed: int):
    check(seed)


@pytest.mark.slow
def test_the_studies_that_are_drawn_are_of_every_kind():
    studies = [random_study(seed) for seed in SEEDS]
    materials = [study.material for study in studies]
    results = [
        result for study in studies for result in judge(study.material, None, Wish()).results
    ]
    assert {material.reference for material in materials} == {"first", "previous", "datum"}
    assert {material.resolution_mm for material in materials} == {0.01, 0.001, 0.0254, 0.02}
    assert {study.rig is None for study in studies} == {True, False}
    assert {len({block.operator for block in m.blocks}) for m in materials} == {1, 2}
    assert {1, 2, 3} == {len({block.method for block in m.blocks}) for m in materials}
    spreads = [result.spread for result in results]
    patterns = {spread.pattern for spread in spreads if isinstance(spread, RoundedSpread)}
    assert patterns == {"alike", "neighbours", "spread"}
    assert any(isinstance(spread, NotYet) for spread in spreads)
    assert any(result.readings == 1 for result in results)


@pytest.mark.parametrize("seed", IN_A_DATABASE)
def test_a_run_on_record_is_told_as_its_readings_are(seed: int, tmp_path: Path):
    """Through a real database: what was kept, the rig check found by itself."""
    database = tmp_path / "kept.sqlite"
    study = random_study(seed)
    kept = run_like(whole_blocks(study.material))
    rig = [run_like(study.rig)] if study.rig is not None else []
    keep(database, *rig, kept)
    run = len(rig) + 1
    text, _ = shown(database, run)
    material = run_material(database, run)
    wish = Wish(look=look_at(database, material.seen, None))
    analysis = analyse(material, rig_for(database, run), wish)
    assert text == as_text(short_document(judge_of(database, run)))
    assert set(paragraphs(text)) <= set(paragraphs(ANALYSIS.text(analysis)))
    assert [result.readings for result in analysis.results] == [
        sum(len(block.values_mm) for block in blocks) for blocks in by_hands(study.material)
    ]


def judge_of(database: Path, run: int) -> Judgement:
    material = run_material(database, run)
    wish = Wish(look=look_at(database, material.seen, None))
    return judge(material, rig_for(database, run), wish)


def whole_blocks(material: Material) -> Material:
    """Readings in hand-typed millimetres: what the store keeps has no more digits than that."""
    blocks = (
        replace(block, values_mm=[round(float(value), 6) for value in block.values_mm])
        for block in material.blocks
    )
    return replace(material, blocks=tuple(blocks))


def by_hands(material: Material) -> list[list[Any]]:
    hands = sorted({(block.method, block.operator) for block in material.blocks})
    return [
        [block for block in material.blocks if (block.method, block.operator) == one]
        for one in hands
    ]


def paragraphs(text: str) -> list[str]:
    return text.split("\n\n")
