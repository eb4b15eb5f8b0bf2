"""`hostctl history` as a user has it: rig checks from the database, or a file of values."""

import asyncio
import json
import subprocess
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from a_place import A_PLACE

from hostctl.records import Position, Reading, Temperatures
from hostctl.store.rows import NewEvent, NewReading, NewRun
from hostctl.store.store import Store

Hostctl = Callable[..., "subprocess.CompletedProcess[str]"]
START = datetime(2026, 1, 5, 10, tzinfo=UTC)


async def keep(path: Path, sds_mm: list[float], machine: str, reference: str) -> None:
    """A rig check a week, ten readings each, of these spreads; kept with the latest first."""
    rng = np.random.default_rng(5)
    async with Store.opened(path) as store:
        for week, sd_mm in reversed(list(enumerate(sds_mm))):
            await keep_one(store, START + timedelta(weeks=week), machine, reference, rng, sd_mm)


async def keep_one(
    store: Store,
    at: datetime,
    machine: str,
    reference: str,
    rng: np.random.Generator,
    sd_mm: float,
    readings: int = 10,
) -> None:
    run = await store.add_run(
        NewRun(
            study="rig-check",
            title="Rig check",
            kind="rig-check",
            machine=machine,
            reference=reference,
            study_text="",
            machine_text="",
            seed=1,
            started_at=at,
            program="test",
        )
    )
    unit = rng.normal(size=readings)
    values = (unit - unit.mean()) / unit.std(ddof=1) * sd_mm
    await asyncio.gather(
        *(
            store.add_reading(reading(run, trial, float(round(value, 3)), at))
            for trial, value in enumerate([0.0, *values])
        )
    )


def reading(run: int, trial: int, value_mm: float, at: datetime) -> NewReading:
    return NewReading(
        place=replace(
            A_PLACE,
            run=run,
            trial=trial,
            method="",
            operator="",
            trials_done=trial,
            trials_total=10,
        ),
        is_zero=trial == 0,
        reading=Reading(
            value_mm=value_mm,
            resolution_mm=0.001,
            taken_at=at,
            source="typed",
            at=Position(x_mm=0, y_mm=0, z_mm=5),
            temperatures=Temperatures(),
        ),
        prompted_at=None,
        answered_at=None,
        channel="test",
    )


@pytest.fixture
def kept(tmp_path: Path) -> Callable[..., None]:
    def store(sds_mm: list[float], machine: str = "bench", reference: str = "datum") -> None:
        asyncio.run(keep(tmp_path / "kept.sqlite", sds_mm, machine, reference))

    return store


STEADY = [0.006, 0.0062, 0.0058, 0.0061, 0.0059, 0.0063, 0.0057, 0.006]


def test_a_steady_rig_is_said_to_be_steady(hostctl_here: Hostctl, kept: Callable[..., None]):
    kept(STEADY)
    done = hostctl_here("history", "--machine", "bench")
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith(
        "The rig of bench shows no sign of change over 8 checks (2026-01-05 to\n2026-02-23)"
    )
    assert "Mean of each check from the datum, mm" in done.stdout


@pytest.mark.parametrize(("readings", "counts"), [(2, False), (9, False), (10, True)])
def test_a_check_that_was_broken_off_sets_no_limits(
    hostctl_here: Hostctl, kept: Callable[..., None], tmp_path: Path, readings: int, counts: bool
):
    kept(STEADY)

    async def broken_off() -> None:
        async with Store.opened(tmp_path / "kept.sqlite") as store:
            at, chance = START + timedelta(weeks=20), np.random.default_rng(1)
            await keep_one(store, at, "bench", "datum", chance, 0.006, readings)

    asyncio.run(broken_off())
    said = " ".join(hostctl_here("history").stdout.split())
    assert ("over 9 checks" in said) is counts
    assert ("Left out, broken off with fewer than 10 readings" in said) is not counts
    assert ("without a spread: run 9." in said) is not counts


def test_a_short_check_that_was_done_to_its_end_counts(
    hostctl_here: Hostctl, kept: Callable[..., None], tmp_path: Path
):
    kept(STEADY)

    async def short() -> None:
        async with Store.opened(tmp_path / "kept.sqlite") as store:
            at, chance = START + timedelta(weeks=20), np.random.default_rng(1)
            await keep_one(store, at, "bench", "datum", chance, 0.006, 5)
            done = json.dumps({"complete": True})
            await store.add_event(NewEvent(run=9, at=at, kind="ended", text="done", data=done))

    asyncio.run(short())
    assert "over 9 checks" in " ".join(hostctl_here("history").stdout.split())


def test_checks_come_in_the_order_of_their_dates(hostctl_here: Hostctl, kept: Callable[..., None]):
    kept([*STEADY, 0.02])
    found = json.loads(hostctl_here("history", "--json").stdout)
    assert [check["sd_mm"] for check in found["checks"]] == pytest.approx([*STEADY, 0.02], rel=0.05)
    assert [check["name"] for check in found["checks"]][-1] == "run 1"


def test_a_rig_that_came_loose_is_named(hostctl_here: Hostctl, kept: Callable[..., None]):
    kept([*STEADY, 0.02])
    said = hostctl_here("history", "--baseline", "8").stdout
    assert "the latest at run 1 (2026-03-02)" in " ".join(said.split())
    assert "spread beyond the limit" in said


def test_one_check_says_how_many_more(hostctl_here: Hostctl, kept: Callable[..., None]):
    kept([0.006])
    done = hostctl_here("history")
    assert done.returncode == 0
    assert "1 more to begin a chart" in " ".join(done.stdout.split())


def test_the_machine_must_be_named_where_there_are_several(
    hostctl_here: Hostctl, kept: Callable[..., None]
):
    kept([0.006], machine="bench")
    kept([0.006], machine="shop")
    done = hostctl_here("history")
    assert done.returncode == 2
    assert "several machines have rig checks: bench, shop" in done.stderr


def test_a_machine_without_a_check_is_code_8(hostctl_here: Hostctl, kept: Callable[..., None]):
    kept([0.006], machine="bench")
    done = hostctl_here("history", "--machine", "bnech")
    assert done.returncode == 8
    assert "Those that have: bench." in done.stderr
    assert done.stderr.count("\n") == 1


def test_a_file_of_values_will_do(hostctl_here: Hostctl, tmp_path: Path):
    rows = "\n".join(f"2026-01-{day:02},{0.01 * (day % 3)}" for day in range(1, 25))
    (tmp_path / "kept.csv").write_text(f"date,mm\n{rows}\n")
    done = hostctl_here("history", "kept.csv")
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("What kept.csv follows")


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        ([], 7, "Record a run first"),
        (["--baseline", "1"], 2, "--baseline: '1' is no whole number"),
        (["none.csv"], 8, "none.csv: can't be read"),
        (["none.csv", "--machine", "bench"], 2, "a file and --machine exclude each other"),
    ],
)
def test_what_is_wrong_is_one_line(hostctl_here: Hostctl, words: list[str], code: int, said: str):
    done = hostctl_here("history", *words)
    assert done.returncode == code, done.stderr
    assert done.stderr.count("\n") == 1
    assert said in done.stderr
