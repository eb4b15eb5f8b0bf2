"""How readings lie, in which order they came, how a run was carried out."""

import asyncio
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from random import Random

import pytest
from random_studies import random_study
from reported import random_report, reported
from stored_rows import A_MARK, A_RUN, NOON, reading_at
from told_cases import study

from hostctl.config.load import machine_from, study_from
from hostctl.config.yaml_text import Source
from hostctl.report.analysis.analysis import Wish, analyse
from hostctl.report.analysis.sums.rows import MOST_VALUES, centred, rows_of
from hostctl.report.enclosed.sourced import Sourced, sourced_run
from hostctl.report.sources.material import Block, Material
from hostctl.report.sources.sample import samples_of
from hostctl.report.whole.found.conduct import MOST_TEXT, conduct_of
from hostctl.report.whole.found.order import MANY, MOST_PLACES, order_of
from hostctl.report.whole.found.path import path_of
from hostctl.report.whole.result import PathStop
from hostctl.store.rows import NewEvent
from hostctl.store.store import Store

CONFIGS = Path(__file__).parents[3] / "configs"
STUDY = (CONFIGS / "studies" / "three-methods.yaml").read_text()
MACHINE = (CONFIGS / "machines" / "workshop-220.yaml").read_text()
SEEDS = range(30)


def many(blocks: int, each: int) -> Material:
    """So many blocks of one method, each with a mean of its own."""
    chance = Random(7)
    return study(
        reference="datum",
        blocks=tuple(
            Block(
                method="slip",
                operator="helper",
                point="left",
                values_mm=[0.01 * round(chance.gauss(0.3 * block, 2.0)) for _ in range(each)],
            )
            for block in range(blocks)
        ),
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_drawn_outside_is_what_was_counted_outside(seed: int):
    report = random_report(seed)
    results = report.analysis.results
    for row in report.analysis.rows:
        found = results[row.result].inside
        outside = sum(one.count for one in row.values if one.outside)
        assert outside == (0 if found is None else found.of - found.inside)


@pytest.mark.parametrize("seed", SEEDS)
def test_every_setting_is_drawn_once_in_its_row_and_once_in_order(seed: int):
    material = random_study(seed).material
    zeros = len(material.blocks) if material.reference == "first" else 0
    report = random_report(seed)
    drawn = sum(one.count for row in report.analysis.rows for one in row.values)
    assert drawn == material.readings + zeros
    assert sum(one.count for one in report.order.places) == drawn
    assert [one.place for one in report.order.places] == list(range(1, drawn + 1))


@pytest.mark.parametrize("seed", SEEDS)
def test_every_setting_of_a_block_is_there_as_it_was_read(seed: int):
    material = random_study(seed).material
    zero = [0.0] if material.reference == "first" else []
    blocks = {
        tuple(sorted(round(value, 9) for value in [*zero, *block.values_mm]))
        for block in material.blocks
    }
    assert {tuple(_values(report_block)) for report_block in random_report(seed).blocks} == blocks


def _values(block: object) -> Iterator[float]:
    for one in block.settings:  # type: ignore[attr-defined]
        yield from [one.value_mm] * one.count


def test_too_many_values_are_merged_and_still_add_up():
    report = reported(many(blocks=300, each=10))
    (row,) = report.analysis.rows
    assert row.merged
    assert len(row.values) <= MOST_VALUES
    assert sum(one.count for one in row.values) == 3000
    inside = report.analysis.results[0].inside
    assert inside is not None
    assert sum(one.count for one in row.values if one.outside) == inside.of - inside.inside


def test_merged_values_lie_within_half_a_step_of_where_they_were():
    material = many(blocks=300, each=10)
    analysis = analyse(material, None, Wish(goal=material.goal))
    blocks = centred(samples_of(material), analysis.results)
    exact = sorted(
        value - one.centre_mm
        for one in blocks
        for value, count in one.settings.items()
        for _ in range(count)
    )
    (row,) = rows_of(blocks, None, material.resolution_mm)
    drawn = [one.from_mm for one in row.values for _ in range(one.count)]
    assert max(abs(a - b) for a, b in zip(exact, drawn, strict=True)) <= row.step_mm / 2 + 1e-9


def test_too_many_settings_share_columns_and_still_add_up():
    order = reported(many(blocks=20, each=500)).order
    assert order.shared
    assert len(order.places) <= MOST_PLACES
    assert sum(one.count for one in order.places) == 10_000


@pytest.mark.parametrize("seed", SEEDS)
def test_arrays_and_lists_put_the_same_settings_in_order(
    seed: int, monkeypatch: pytest.MonkeyPatch
):
    lists = random_report(seed).order
    monkeypatch.setattr("hostctl.report.whole.found.order.MANY", 0)
    assert random_report(seed).order == lists


def test_arrays_and_lists_share_columns_alike(monkeypatch: pytest.MonkeyPatch):
    material = many(blocks=20, each=500)
    lists = reported(material).order
    monkeypatch.setattr("hostctl.report.whole.found.order.MANY", 0)
    assert reported(material).order == lists


def test_too_many_readings_are_not_shown_block_by_block():
    assert reported(many(blocks=1, each=5000)).blocks == ()


def test_arrays_and_lists_of_the_same_readings_are_drawn_alike():
    import numpy as np

    lists = many(blocks=3, each=40)
    arrays = replace(
        lists,
        blocks=tuple(replace(one, values_mm=np.array(one.values_mm)) for one in lists.blocks),
    )
    assert reported(arrays).analysis.rows == reported(lists).analysis.rows


# Quantiles of chi-square at 0.025 and 0.975: NIST/SEMATECH e-Handbook 1.3.6.7.4, from memory.
CHI_SQUARE = {2: (0.051, 7.378), 9: (2.700, 19.023), 29: (16.047, 45.722), 99: (73.361, 128.422)}


def test_foresight_is_that_of_the_chi_square_law():
    for after in reported(study()).foresight.after:
        df = after.settings - 1
        low, high = CHI_SQUARE[df]
        assert after.low == pytest.approx((df / high) ** 0.5, rel=1e-3)
        assert after.high == pytest.approx((df / low) ** 0.5, rel=1e-2)


def test_foresight_in_mm_is_reckoned_from_the_largest_spread():
    report = reported(study())
    assert report.foresight.result == report.analysis.largest
    for after in report.foresight.after:
        assert after.low_mm == pytest.approx(after.low * report.foresight.s_mm)


# ------------------------------------------------------------ a run on record


def kept(database: Path, values_mm: list[tuple[int, float]], **texts: str) -> Sourced:
    """A run of one block: (trial, value), a void one, a skipped one and a hold."""

    async def keep() -> None:
        async with Store.opened(database) as store:
            run = await store.add_run(replace(A_RUN, **texts))
            for trial, value_mm in values_mm:
                await store.add_reading(
                    reading_at(value_mm=value_mm, is_zero=trial == 0, run=run, trial=trial)
                )
            await store.add_mark(replace(A_MARK, trial=2))
            await store.add_mark(replace(A_MARK, trial=9, mark="skipped", reason="said on typed"))
            later = NOON + timedelta(minutes=1)
            await store.add_event(NewEvent(run=run, at=later, kind="hold", text="line lost"))

    asyncio.run(keep())
    return sourced_run(database, 1)


VALUES_MM = [(0, 0.05), (1, 0.07), (2, 0.5), (3, 0.04), (4, 0.06)]


@pytest.fixture
def source(tmp_path: Path) -> Sourced:
    return kept(tmp_path / "kept.sqlite", VALUES_MM, study_text=STUDY, machine_text=MACHINE)


def test_what_does_not_count_and_every_hold_is_told_with_its_reason(source: Sourced):
    found = conduct_of(source)
    assert found is not None
    place = source.rows.groups[0]
    where = f"{place.method} by {place.operator} at {place.point}"
    assert [(one.what, one.why) for one in found.left] == [
        ("void", "paper moved"),
        ("skipped", "said on typed"),
        ("hold", "line lost"),
    ]
    assert found.left[0].where == f"block {place.block}, trial 2: {where}"


def test_how_warm_it_was_is_what_was_read_where_the_machine_said(source: Sourced):
    found = conduct_of(source)
    assert found is not None
    assert (found.bed_c, found.nozzle_c) == ((21.5, 21.5), None)


@pytest.mark.parametrize("many", [0, MANY])
def test_the_zero_and_what_counts_come_in_the_order_taken(
    source: Sourced, many: int, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr("hostctl.report.whole.found.order.MANY", many)
    analysis = analyse(source.material, None, Wish())
    blocks = centred(samples_of(source.material), analysis.results)
    order = order_of([source], source.material, blocks)
    average = (0.0 + 0.02 - 0.01 + 0.01) / 4
    assert [one.from_mm for one in order.places] == pytest.approx(
        [value - average for value in (0.0, 0.02, -0.01, 0.01)]
    )


def test_runs_come_in_the_order_of_time_however_they_are_named(tmp_path: Path):
    later = kept(tmp_path / "later.sqlite", [(0, 0.0), (1, 0.09), (3, 0.01)])
    assert later.account is not None
    account = replace(later.account, started_at=NOON + timedelta(days=1))
    later = replace(later, account=account)
    earlier = kept(tmp_path / "earlier.sqlite", [(0, 0.0), (1, -0.09), (3, -0.01)])
    material = replace(later.material, blocks=(*later.material.blocks, *earlier.material.blocks))
    blocks = centred(samples_of(material), analyse(material, None, Wish()).results)
    order = order_of([later, earlier], material, blocks)
    assert [one.block for one in order.places] == [1, 1, 1, 0, 0, 0]


@pytest.mark.parametrize("many", [0, MANY])
def test_a_source_of_which_one_method_is_wanted_gives_that_alone(
    tmp_path: Path, many: int, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr("hostctl.report.whole.found.order.MANY", many)
    first = kept(tmp_path / "first.sqlite", VALUES_MM)
    other = kept(tmp_path / "other.sqlite", VALUES_MM)
    material = other.material
    blocks = centred(samples_of(material), analyse(material, None, Wish()).results)
    assert len(order_of([first, other], material, blocks).places) == 4


@pytest.mark.parametrize(
    "texts",
    [
        {"study_text": "study: [", "machine_text": MACHINE},
        {"study_text": STUDY, "machine_text": "machine: bench\nmoves: much\n"},
        {"study_text": f"{STUDY}#{'x' * MOST_TEXT}", "machine_text": MACHINE},
    ],
)
def test_files_that_can_not_be_read_any_more_are_left_out(tmp_path: Path, texts: dict[str, str]):
    found = conduct_of(kept(tmp_path / "kept.sqlite", VALUES_MM, **texts))
    assert found is not None
    assert found.planned is None


# workshop-220 lifts by 5 mm; its plunger hangs 5 mm below the nozzle and stands 25 mm beside it.
AT_THE_BED = [
    PathStop(sideways_mm=25.0, z_mm=10.0, what="plunger over the point"),
    PathStop(sideways_mm=25.0, z_mm=5.0, what="the plunger rests on the bed: the reading"),
    PathStop(sideways_mm=25.0, z_mm=10.0, what=""),
]
SETTING = [
    PathStop(sideways_mm=0.0, z_mm=10.0, what="over the point"),
    PathStop(sideways_mm=0.0, z_mm=0.0, what="a person sets the gap"),
    PathStop(sideways_mm=0.0, z_mm=10.0, what=""),
]
AWAY = [PathStop(sideways_mm=0.0, z_mm=10.0, what="away from where it reads")]


@pytest.mark.parametrize(
    ("name", "path"),
    [("three-methods", [*SETTING, *AT_THE_BED]), ("rig-check", [*AWAY, *AT_THE_BED])],
)
def test_a_cycle_is_the_path_that_the_head_takes(name: str, path: list[PathStop]):
    of = study_from(Source("study", (CONFIGS / "studies" / f"{name}.yaml").read_text()))
    assert list(path_of(of, machine_from(Source("machine", MACHINE)))) == path


def test_a_probe_stays_low_between_touches():
    of = study_from(Source("study", (CONFIGS / "studies" / "probe-loop.yaml").read_text()))
    machine = (CONFIGS / "machines" / "workshop-tri.yaml").read_text()
    heights = [one.z_mm for one in path_of(of, machine_from(Source("machine", machine)))]
    assert heights == [of.cycle.probe_lift_mm, 0.0, of.cycle.probe_lift_mm]


def test_a_gauge_that_the_machine_lacks_has_no_path():
    of = study_from(Source("study", STUDY))
    machine = machine_from(Source("machine", MACHINE)).model_copy(update={"indicator": None})
    assert path_of(of, machine) == ()
