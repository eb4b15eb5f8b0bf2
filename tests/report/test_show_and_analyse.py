"""`show` and `analyse` can't disagree: 200 studies drawn at random, each claim that both make."""

import json
import re
from dataclasses import fields, replace
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from kept_runs import keep, run_like
from random_studies import random_study

from hostctl.cli.show import shown
from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.report.analysis.analysis import Wish, analyse, judge
from hostctl.report.analysis.document import ANALYSIS
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.result.judgement import Judgement, MethodResult
from hostctl.report.analysis.short import short_document
from hostctl.report.document.as_html import as_html
from hostctl.report.document.as_markdown import as_markdown
from hostctl.report.document.as_text import as_text
from hostctl.report.document.blocks import Document, Role, Table
from hostctl.report.sources.looks import look_at
from hostctl.report.sources.material import Material
from hostctl.report.sources.rig_material import rig_for
from hostctl.report.sources.run_material import run_material

SEEDS = range(200)
QUICK = range(10)
IN_A_DATABASE = range(0, 200, 25)
VALIDATOR = jsonschema.Draft202012Validator(ANALYSIS.schema())


@pytest.mark.parametrize(
    "seed", [pytest.param(seed, marks=[] if seed in QUICK else pytest.mark.slow) for seed in SEEDS]
)
def test_show_and_analyse_say_the_same_and_nothing_contradicts_itself(seed: int):
    study = random_study(seed)
    wish = Wish(look=study.look, margin=study.margin)
    judgement = judge(study.material, study.rig, wish)
    analysis = analyse(study.material, study.rig, wish)
    data = json.loads(json.dumps(ANALYSIS.data(analysis), allow_nan=False))
    VALIDATOR.validate(data)
    assert_the_same_is_said(judgement, analysis, data)
    assert_what_is_printed_is_in_the_data(data, short_document(judgement))
    assert_extremes_are_right(analysis)
    assert_hands_stand_as_their_pairs_do(analysis)
    for document in (short_document(judgement), ANALYSIS.document(analysis, True)):
        assert_it_is_laid_out_every_way(document)


def assert_the_same_is_said(judgement: Judgement, analysis: Analysis, data: dict[str, Any]) -> None:
    """Field by field, block by block, sentence by sentence."""
    for field in fields(judgement):
        assert getattr(judgement, field.name) == getattr(analysis, field.name)
    short, whole = short_document(judgement), ANALYSIS.document(analysis, True)
    assert [block for block in whole.blocks if block in short.blocks] == list(short.blocks)
    assert data["answer"] == " ".join(short.said(Role.ANSWER))
    assert data["cautions"] == short.said(Role.CAUTION)


def assert_what_is_printed_is_in_the_data(data: dict[str, Any], short: Document) -> None:
    """What `show` prints, read back, are the figures that `analyse` gives to programs."""
    assert_table_holds(data, short)
    said = " ".join(short.said(Role.ANSWER))
    for result in data["results"]:
        assert_verdict_is_said(result, said)
        assert_bound_is_told(result, data["cautions"])


def assert_table_holds(data: dict[str, Any], short: Document) -> None:
    """Each figure of the table, read back, is the number in the data."""
    table, *described = (block for block in short.blocks if isinstance(block, Table))
    heads = [column.head for column in table.columns]
    for row, result in zip(table.rows, data["results"], strict=False):
        cells = dict(zip(heads, row, strict=True))
        assert (cells["method"], cells["operator"]) == (result["method"], result["operator"])
        assert int(cells["n"]) == result["settings"]
        assert int(cells["blocks"]) == result["blocks"]
        assert float(cells["range"]) == pytest.approx(result["range_mm"], abs=6e-5)
        spread = result["spread"]
        if "not_yet" in spread:
            assert cells["s"] == "not yet"
        elif "not_yet" in spread["likelihood"]:
            assert cells["s"] == "small"
            high = float(cells["95 % of s"].removeprefix("below "))
            assert high == pytest.approx(spread["interval"]["high"], abs=6e-5)
        else:
            assert float(cells["s"]) == pytest.approx(spread["likelihood"]["value"], abs=6e-5)
    assert len(table.rows) == len(data["results"]) + (data["rig"] is not None)
    for trials in described:
        assert_trials_are_described(data, trials)


def assert_trials_are_described(data: dict[str, Any], table: Table) -> None:
    """How many lay within the tolerance, and the rig's share, are those of the data."""
    heads = [column.head for column in table.columns]
    for row, result in zip(table.rows, data["results"], strict=True):
        cells = dict(zip(heads, row, strict=True))
        assert (cells["method"], cells["operator"]) == (result["method"], result["operator"])
        if (inside := result["inside"]) is not None:
            assert cells["within"] == f"{inside['inside']} of {inside['of']}"
            assert inside["of"] >= result["readings"]
        if result["rig_share"] is not None:
            share = float(cells["rig's share"].removesuffix(" %"))
            assert share == pytest.approx(100 * result["rig_share"], abs=0.51)


def assert_verdict_is_said(result: dict[str, Any], said: str) -> None:
    if result["verdict"] is None:
        assert "confidence" not in said
        return
    word = result["verdict"].get("verdict", "cannot tell yet")
    name = result["method"] + (f" by {result['operator']}" if result["operator"] else "")
    one_of_several = re.search(rf"[—;] {word}[^:;]*: [^;]*{re.escape(name)}", said)
    the_only_one = f"confidence: {word}" in said or "nothing can be said of their spread" in said
    assert one_of_several or the_only_one


def assert_bound_is_told(result: dict[str, Any], cautions: list[str]) -> None:
    """A spread that is no more than a bound, or not to be had, comes with its reason."""
    spread = result["spread"]
    reason = spread.get("not_yet") or spread["likelihood"].get("not_yet")
    assert reason is None or any(reason in caution for caution in cautions)


def assert_extremes_are_right(analysis: Analysis) -> None:
    figures = [one for one in map(figure, analysis.results) if one is not None]
    if analysis.smallest is not None and analysis.largest is not None:
        assert figure(analysis.results[analysis.smallest]) == min(figures)
        assert figure(analysis.results[analysis.largest]) == max(figures)
    else:
        assert figures == []


def assert_hands_stand_as_their_pairs_do(analysis: Analysis) -> None:
    """Pairwise against overall, interval against p, in every comparison."""
    if analysis.compared is None:
        return
    for pair in analysis.compared.pairs:
        if isinstance(pair.found, NotYet):
            assert pair.standing == "cannot tell"
            continue
        low, high = pair.found.interval.low, pair.found.interval.high
        outside = low > 1.0 or high < 1.0
        assert outside == pair.found.differs == (pair.found.p_value < 0.05)
        assert outside == (pair.standing in ("larger", "smaller"))
        assert pair.found.value is None or low <= pair.found.value <= high
    standings = {
        (pair.fixed, frozenset((pair.first, pair.second))): pair.standing
        for pair in analysis.compared.pairs
        if pair.varied == "method"
    }
    for hands in analysis.compared.hands:
        for one in hands.standings:
            of_pair = standings[one.operator, frozenset((hands.method, hands.baseline))]
            assert (one.standing in ("larger", "smaller")) == (of_pair in ("larger", "smaller"))
            assert (one.standing == "alike") == (of_pair == "alike")


def figure(result: MethodResult) -> float | None:
    if isinstance(result.spread, NotYet):
        return None
    quoted = result.spread.quoted
    return result.spread.interval.high if isinstance(quoted, NotYet) else quoted.value


def assert_it_is_laid_out_every_way(document: Document) -> None:
    assert not {"nan", "inf", "NotYet", "None"} & set(re.split(r"[\s,;]+", as_text(document)))
    assert Balanced.of(as_html(document)) == []
    assert as_markdown(document).startswith("## ")


class Balanced(HTMLParser):
    """Which tags are open."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []

    @classmethod
    def of(cls, page: str) -> list[str]:
        parser = cls()
        parser.feed(page)
        return parser.open

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


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
    text = shown(database, run)
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
