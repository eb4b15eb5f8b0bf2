"""A study file written by the daemon: whole or not at all, never over another, offered at once."""

import os
import sys
from pathlib import Path

import pytest

from hostctl.config.directory import read_directory
from hostctl.daemon.drafting import RigsKnown
from hostctl.daemon.in_use import InUse
from hostctl.daemon.log.event_log import EventLog
from hostctl.errors import ConfigError, DaemonError
from hostctl.store.rows import NewEvent, NewRun
from hostctl.store.store import Store, utc_now

SHIPPED = Path(__file__).parents[2] / "configs"


@pytest.fixture
def in_use(tmp_path: Path) -> InUse:
    (tmp_path / "machines").mkdir()
    machine = (SHIPPED / "machines/sim-220.yaml").read_text()
    (tmp_path / "machines/sim-220.yaml").write_text(machine)
    (tmp_path / "host.yaml").write_text("machines: [sim-220]\n")
    with Path(os.devnull).open("wb") as nowhere:
        log = EventLog(os.dup(nowhere.fileno()), utc_now, journal=False)
    return InUse(read_directory(tmp_path), log)


def named(name: str) -> str:
    text = (SHIPPED / "studies/rig-check.yaml").read_text()
    return text.replace("study: rig-check", f"study: {name}")


async def test_it_lies_among_the_others_and_can_be_started(in_use: InUse, tmp_path: Path):
    await in_use.keep_study("new-one", named("new-one"))
    assert in_use.studies_for("sim-220") == ("new-one",)
    assert [one.name for one in (tmp_path / "studies").iterdir()] == ["new-one.yaml"]
    assert (tmp_path / "studies/new-one.yaml").read_text() == named("new-one")
    assert set(read_directory(tmp_path).studies) == {"new-one"}


async def test_what_is_there_is_never_overwritten(in_use: InUse, tmp_path: Path):
    await in_use.keep_study("new-one", named("new-one"))
    (tmp_path / "studies/other.yaml").write_text("# somebody is at it\n")
    for name in ("new-one", "other"):
        with pytest.raises(ConfigError, match="is there already"):
            await in_use.keep_study(name, named(name))
    assert (tmp_path / "studies/other.yaml").read_text() == "# somebody is at it\n"
    assert len(list((tmp_path / "studies").iterdir())) == 2


async def test_what_would_not_pass_is_not_written(in_use: InUse, tmp_path: Path):
    with pytest.raises(ConfigError):
        await in_use.keep_study("new-one", "study: new-one\n")
    assert not (tmp_path / "studies").exists()


async def test_where_the_daemon_may_not_write_it_says_whose_leave_it_needs(
    in_use: InUse, tmp_path: Path
):
    (tmp_path / "studies").write_text("no folder")
    with pytest.raises(DaemonError, match="Let the daemon's user write in"):
        await in_use.keep_study("new-one", named("new-one"))
    assert in_use.studies_for("sim-220") == ()


# ------------------------------------------------------------------ what a rig check found


async def test_a_rig_is_asked_about_once_for_each_run_and_never_in_the_daemon(tmp_path: Path):
    asked: list[str] = []

    def command(database: Path, machine: str) -> list[str]:
        asked.append(machine)
        return [sys.executable, "-I", "-c", "print('{\"run\": 1}')"]

    async with Store.opened(tmp_path / "kept.sqlite") as store:
        rigs = RigsKnown(store, command)
        assert await rigs.of("bench") is None
        assert asked == []
        await a_complete_run(store)
        assert [await rigs.of("bench") for _ in range(2)] == [{"run": 1}] * 2
        assert await rigs.of("other") is None
        await a_complete_run(store)
        await rigs.of("bench")
        assert asked == ["bench", "bench"]


async def test_where_it_cannot_be_told_nothing_is_made_up(tmp_path: Path):
    async with Store.opened(tmp_path / "kept.sqlite") as store:
        await a_complete_run(store)
        fails = RigsKnown(store, lambda *_: [sys.executable, "-I", "-c", "raise SystemExit(7)"])
        with pytest.raises(DaemonError, match="can't be told just now"):
            await fails.of("bench")


async def a_complete_run(store: Store) -> None:
    run = await store.add_run(
        NewRun(
            study="rig-check",
            title="",
            kind="rig-check",
            machine="bench",
            reference="first",
            study_text="",
            machine_text="",
            seed=1,
            started_at=utc_now(),
            program="test",
        )
    )
    ended = NewEvent(run=run, at=utc_now(), kind="ended", text="", data='{"complete": true}')
    await store.add_event(ended)
