"""Studies drawn at random, and all that is said of each: no two statements contradict each other.

    python tests/report/contradictions.py 200 10000

checks the studies of these seeds on all cores; the first two hundred are ordinary tests.
"""

import json
import re
import sys
from dataclasses import fields
from html.parser import HTMLParser
from multiprocessing import Pool
from typing import Any

import jsonschema
import pytest
from random_studies import random_study

from hostctl.metrology.basis.estimate import NotYet
from hostctl.report.analysis.analysis import Wish, analyse, judge
from hostctl.report.analysis.document import ANALYSIS
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.result.judgement import Judgement, MethodResult, Verdict
from hostctl.report.analysis.short import short_document
from hostctl.report.analysis.told.words import listed
from hostctl.report.document.as_html import as_html
from hostctl.report.document.as_markdown import as_markdown
from hostctl.report.document.as_text import as_text
from hostctl.report.document.blocks import Document, Role, Table

SEEDS = range(200)
VALIDATOR = jsonschema.Draft202012Validator(ANALYSIS.schema())


def check(seed: int) -> None:
    """Raises AssertionError where two statements of this study contradict each other."""
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
    assert_verdicts_are_what_their_limits_say(analysis)
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
        if data["look"] is not None and data["look"]["share"] == 0.0:
            assert_none_is_given(result, said)
        else:
            assert_verdict_is_said(result, said)
        assert_bound_is_told(result, data["cautions"])
        assert_order_is_told(result, said, data["cautions"])
        assert_blocks_are_told(result, said, data["cautions"])


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


def assert_none_is_given(result: dict[str, Any], said: str) -> None:
    assert "not_yet" in result["verdict"]
    assert "no verdict, as this would be look" in said or "nothing can be said" in said


def assert_verdict_is_said(result: dict[str, Any], said: str) -> None:
    if result["verdict"] is None:
        assert "confidence" not in said
        return
    word = result["verdict"].get("verdict", "cannot tell yet")
    named = re.escape(name_of(result))
    one_of_several = re.search(rf"[—;] {word}[^:;]*: [^;]*{named}", said)
    the_only_one = f"confidence: {word}" in said or "nothing can be said of their spread" in said
    assert one_of_several or the_only_one


def assert_bound_is_told(result: dict[str, Any], cautions: list[str]) -> None:
    """A spread that is no more than a bound, or not to be had, comes with its reason."""
    spread = result["spread"]
    reason = spread.get("not_yet") or spread["likelihood"].get("not_yet")
    assert reason is None or any(reason in caution for caution in cautions)


def assert_order_is_told(result: dict[str, Any], said: str, cautions: list[str]) -> None:
    """Beside each verdict that supposes what it contradicts, and among the cautions."""
    shows, name = result["order_shows"], name_of(result)
    told = [caution for caution in cautions if "in the order of settings" in caution]
    (mine,) = [caution for caution in told if caution.startswith(f"{name}: ")] or [""]
    assert all(sign in mine for sign in shows)
    assert bool(shows) == bool(mine)
    if shows and "verdict" in (result["verdict"] or {}):
        of_several = f"not independent: {listed(shows)})" in said
        assert of_several or f"independently, which {listed(shows)} contradict" in said


def assert_blocks_are_told(result: dict[str, Any], said: str, cautions: list[str]) -> None:
    """About each block's own average where there are several, and how far apart they lie."""
    own = result["measured_from"] != "datum"
    assert (result["measured_from"] == "each block's own average") == (own and result["blocks"] > 1)
    if own and result["blocks"] > 1:
        assert "each method's own average" not in said
        assert "own average, with" not in said.replace("each block's own average", "")
    apart = any(one.startswith(f"{name_of(result)}: block means lie") for one in cautions)
    assert apart == (result["blocks_apart"] is not None)


def name_of(result: dict[str, Any]) -> str:
    return result["method"] + (f" by {result['operator']}" if result["operator"] else "")


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


def assert_verdicts_are_what_their_limits_say(analysis: Analysis) -> None:
    for result in analysis.results:
        verdict = result.verdict
        if not isinstance(verdict, Verdict) or verdict.decided_by != "normal law":
            continue
        assert analysis.goal is not None
        tolerance, reach = analysis.goal.within_mm, verdict.half_width
        assert reach.low <= reach.high
        assert (verdict.verdict == "meets") == (tolerance >= reach.high)
        beyond = tolerance < reach.low
        assert beyond == (verdict.verdict == "does not meet" or verdict.beyond_with_rig)


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


def contradiction(seed: int) -> str:
    """What contradicts itself in the study of this seed; empty for nothing."""
    try:
        check(seed)
    except AssertionError as error:
        return f"{seed}: {error}"
    return ""


def main() -> None:
    first, last = map(int, sys.argv[1:])
    with Pool() as pool:
        found = [one for one in pool.imap_unordered(contradiction, range(first, last), 20) if one]
    print("\n".join(found))
    print(f"{last - first} studies, {len(found)} that contradict themselves")


if __name__ == "__main__":
    main()
