"""Reports made beside the daemon: real programs, a real store, and what comes of each."""

import asyncio
import os
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

import pytest
from a_place import A_PLACE
from stand_in_report import ANSWER, MAKES, running

from hostctl.daemon.log.event_log import EventLog
from hostctl.daemon.reports.child import MOST_HEARD, NICE, run_beside
from hostctl.daemon.reports.folder import Folder
from hostctl.daemon.reports.maker import LONGEST_TOLD, Command, Reports, report_command
from hostctl.errors import DaemonError
from hostctl.news import RunStarted
from hostctl.records import Position, Reading, Temperatures
from hostctl.run.desk import Accepted
from hostctl.run.record.report import ReportStanding, RunReport
from hostctl.run.station import Station
from hostctl.store.rows import NewEvent, NewReading, NewRun
from hostctl.store.store import Store

NOON = datetime(2031, 5, 6, 12, 0, tzinfo=UTC)
COMPLETE = RunReport(run=1, study="small", complete=True)
PATIENCE_S = 60.0
NEVER_ENDS = (
    "import pathlib, sys, time; pathlib.Path(sys.argv[2]).write_text('half'); time.sleep(600)"
)


@dataclass
class Bench:
    """A station whose reports are made."""

    store: Store
    station: Station
    reports: Reports
    log: Path
    serving: asyncio.Task[None]
    told: list[RunReport] = field(default_factory=list)

    @property
    def folder(self) -> Path:
        return self.store.path.with_name("reports")

    def kept(self) -> list[str]:
        return sorted(file.name for file in self.folder.iterdir())

    async def made(self, report: RunReport = COMPLETE) -> RunReport:
        """Have it made; gives what is told."""
        before = len(self.told)
        self.station.offer_report(report)
        assert self.station.ask_report(report.run) == Accepted()
        await self.until(lambda: len(self.told) > before)
        return self.told[-1]

    async def until(self, holds: Callable[[], object]) -> None:
        async with asyncio.timeout(PATIENCE_S):
            while not holds():  # noqa: ASYNC110 - another process is waited for
                await asyncio.sleep(0.01)


@asynccontextmanager
async def at_work(
    folder: Path, program: str | Command = MAKES, within_s: float = PATIENCE_S
) -> AsyncIterator[Bench]:
    command = partial(running, program) if isinstance(program, str) else program
    with (folder / "log").open("ab") as log:
        async with Store.opened(folder / "kept.sqlite") as store:
            station = Station("bench", now=lambda: NOON, studies=list)
            reports = Reports(
                {"bench": station},
                store,
                EventLog(log.fileno(), lambda: NOON, journal=False),
                now=lambda: NOON,
                command=command,
                within_s=within_s,
            )
            serving = asyncio.create_task(reports.serve())
            bench = Bench(store, station, reports, folder / "log", serving)
            station.on_report.add(bench.told.append)
            try:
                yield bench
            finally:
                serving.cancel()
                await asyncio.gather(serving, return_exceptions=True)


async def a_run(store: Store, *, complete: bool, readings: int = 1) -> int:
    run = await store.add_run(
        NewRun(
            study="small",
            title="",
            kind="comparison",
            machine="bench",
            reference="first",
            study_text="",
            machine_text="",
            seed=1,
            started_at=NOON,
            program="test",
        )
    )
    await asyncio.gather(
        *(store.add_reading(a_reading(run, trial + 1)) for trial in range(readings))
    )
    await ended(store, run, complete=complete)
    return run


def a_reading(run: int, trial: int) -> NewReading:
    return NewReading(
        place=replace(A_PLACE, run=run, trial=trial),
        is_zero=False,
        reading=Reading(
            value_mm=0.02,
            resolution_mm=0.01,
            taken_at=NOON,
            source="typed",
            at=Position(x_mm=30, y_mm=30, z_mm=5),
            temperatures=Temperatures(),
        ),
        prompted_at=None,
        answered_at=None,
        channel="page",
    )


async def ended(store: Store, run: int, *, complete: bool) -> None:
    data = f'{{"complete": {str(complete).lower()}}}'
    await store.add_event(NewEvent(run=run, at=NOON, kind="ended", text="over", data=data))


# ------------------------------------------------------------------ made


async def test_it_is_made_named_noted_and_told_with_what_was_found(tmp_path: Path):
    async with at_work(tmp_path) as bench:
        run = await a_run(bench.store, complete=True)
        told = await bench.made()
        name = "small-on-bench-run-1.html"
        assert told == RunReport(
            run=1,
            study="small",
            complete=True,
            standing=ReportStanding.MADE,
            file_name=name,
            answer=ANSWER,
        )
        assert bench.station.report == told
        assert bench.kept() == [name]
        assert (bench.folder / name).read_text() == "<p>1"
        assert await bench.reports.file(run) == bench.folder / name
        assert f"event=report machine=bench run=1 file={name}" in bench.log.read_text()


async def test_what_is_written_beside_the_page_is_kept_with_it(tmp_path: Path):
    beside = "file.with_suffix('.data.json').write_text('{}')"
    async with at_work(tmp_path, f"{MAKES}; {beside}") as bench:
        await a_run(bench.store, complete=True)
        await bench.made()
        assert bench.kept() == ["small-on-bench-run-1.data.json", "small-on-bench-run-1.html"]


async def test_reports_are_made_one_after_the_other(tmp_path: Path):
    overlap = tmp_path / "under-way"
    alone = f"import os; d = {str(overlap)!r}; os.mkdir(d); {MAKES}; os.rmdir(d)"
    async with at_work(tmp_path, alone) as bench:
        first, second = [await a_run(bench.store, complete=True) for _ in range(2)]
        for run in (first, second):
            bench.station.offer_report(replace(COMPLETE, run=run))
            bench.station.ask_report(run)
        await bench.until(lambda: len(bench.told) == 2)
        assert [(one.run, one.standing) for one in bench.told] == [
            (first, ReportStanding.MADE),
            (second, ReportStanding.MADE),
        ]
        shown = bench.station.report
        assert shown is not None
        assert shown.run == second


async def test_a_report_of_an_earlier_run_is_told_and_not_shown_for_the_last_one(tmp_path: Path):
    async with at_work(tmp_path) as bench:
        run = await a_run(bench.store, complete=True)
        bench.station.offer_report(COMPLETE)
        bench.station.ask_report(run)
        bench.station.desk.tell(
            RunStarted(run=2, study="small", machine="bench", trials_total=3, resumed=False)
        )
        assert bench.station.report is None
        await bench.until(lambda: bench.told)
        assert bench.station.report is None


def test_the_command_is_our_own_in_a_process_of_its_own():
    words = report_command(7, Path("/somewhere/kept.html"), Path("/state/hostctl.sqlite"))
    after = words[words.index("hostctl") + 1 :]
    assert after == [
        "report",
        "7",
        "-o",
        "/somewhere/kept.html",
        "--outcome",
        "/somewhere/kept.outcome.json",
        "--database",
        "/state/hostctl.sqlite",
    ]


# ------------------------------------------------------------------ not made


@pytest.mark.parametrize(
    ("program", "why"),
    [
        (
            f"{MAKES}; print('One.\\nrun 1: nothing of it counts.', file=sys.stderr); sys.exit(8)",
            "run 1: nothing of it counts.",
        ),
        (f"{MAKES}; sys.exit(70)", "ended with code 70 and said nothing"),
        ("print('no file'); print('All is well.')", "ended with code 0 and said nothing"),
        (f"{MAKES}; import os, signal; os.kill(os.getpid(), signal.SIGKILL)", "with code -9"),
    ],
)
async def test_a_program_that_fails_is_told_in_its_words_and_leaves_nothing(
    tmp_path: Path, program: str, why: str
):
    async with at_work(tmp_path, program) as bench:
        await a_run(bench.store, complete=True)
        told = await bench.made()
        assert told.standing is ReportStanding.FAILED
        assert why in told.why
        assert (told.file_name, told.answer) == ("", "")
        assert bench.kept() == []
        lines = [line for line in bench.log.read_text().splitlines() if "no-report" in line]
        assert len(lines) == 1


async def test_a_program_that_cannot_be_started_is_told_and_another_try_succeeds(tmp_path: Path):
    there = tmp_path / "there"

    def command(run: int, file: Path, database: Path) -> list[str]:
        words = running(MAKES, run, file, database)
        return words if there.exists() else [str(tmp_path / "missing"), *words[1:]]

    async with at_work(tmp_path, command) as bench:
        await a_run(bench.store, complete=True)
        assert "No such file" in (await bench.made()).why
        there.touch()
        assert (await bench.made()).standing is ReportStanding.MADE


async def test_one_that_takes_too_long_is_ended_and_leaves_nothing(tmp_path: Path):
    async with at_work(tmp_path, NEVER_ENDS, within_s=1.0) as bench:
        await a_run(bench.store, complete=True)
        assert "took longer than" in (await bench.made()).why
        assert bench.kept() == []


async def test_what_it_says_is_bounded_and_a_flood_does_not_stop_it(tmp_path: Path):
    flood = f"{MAKES}; print('x' * 3_000_000); print('y' * 3_000_000, file=sys.stderr)"
    async with at_work(tmp_path, flood) as bench:
        await a_run(bench.store, complete=True)
        assert (await bench.made()).answer == ANSWER
    ended = await run_beside(running(flood, 1, tmp_path / "x", tmp_path), within_s=PATIENCE_S)
    assert sum(map(len, ended.said + ended.complained)) <= 2 * MOST_HEARD


async def test_an_answer_is_one_line_of_what_a_screen_shows(tmp_path: Path):
    odd = MAKES.replace(repr(ANSWER), "'a\\u202eb\\x1b[31m' + 'c' * 5000")
    async with at_work(tmp_path, odd) as bench:
        await a_run(bench.store, complete=True)
        answer = (await bench.made()).answer
    assert answer.startswith("a b [31mccc")
    assert len(answer) == LONGEST_TOLD + 1


async def test_it_ends_with_the_daemon_and_leaves_nothing(tmp_path: Path):
    pid = tmp_path / "pid"
    program = f"import os, pathlib; pathlib.Path({str(pid)!r}).write_text(str(os.getpid())); "
    async with at_work(tmp_path, program + NEVER_ENDS) as bench:
        await a_run(bench.store, complete=True)
        bench.station.offer_report(COMPLETE)
        bench.station.ask_report(1)
        await bench.until(lambda: pid.exists() and pid.read_text())
        bench.serving.cancel()
        await asyncio.gather(bench.serving, return_exceptions=True)
        assert bench.kept() == []
        shown = bench.station.report
        assert shown is not None
        assert shown.standing is ReportStanding.FAILED
    with pytest.raises(ProcessLookupError):
        os.kill(int(pid.read_text()), 0)


# ------------------------------------------------------------------ it comes last


async def test_the_program_comes_last_and_is_in_a_group_of_its_own(tmp_path: Path):
    asked = (
        "import os, resource, time, pathlib\n"
        "until = time.monotonic() + 60\n"
        "def told(): return (os.getpriority(os.PRIO_PROCESS, 0), "
        "pathlib.Path('/proc/self/oom_score_adj').read_text().strip(), "
        "resource.getrlimit(resource.RLIMIT_CPU)[0], os.getpgid(0) == os.getpid())\n"
        "while told()[1] != '1000' and time.monotonic() < until: time.sleep(0.01)\n"
        "print(*told())"
    )
    ended = await run_beside(running(asked, 1, tmp_path, tmp_path), within_s=PATIENCE_S)
    assert ended.said == [f"{NICE} 1000 {PATIENCE_S:.0f} True"]


# ------------------------------------------------------------------ after a start


async def offered_after_a_start(folder: Path) -> RunReport | None:
    async with at_work(folder) as bench:
        await bench.reports.offer_again(await bench.store.runs())
        return bench.station.report


async def test_after_a_start_the_last_report_is_known_again(tmp_path: Path):
    async with at_work(tmp_path) as bench:
        await a_run(bench.store, complete=True)
        told = await bench.made()
    assert await offered_after_a_start(tmp_path) == told


async def test_after_a_start_a_report_that_was_taken_away_can_be_made_anew(tmp_path: Path):
    async with at_work(tmp_path) as bench:
        await a_run(bench.store, complete=True)
        name = (await bench.made()).file_name
        (bench.folder / name).unlink()
    assert await offered_after_a_start(tmp_path) == COMPLETE


async def test_a_report_of_before_a_run_went_on_is_not_the_one_of_its_end(tmp_path: Path):
    async with at_work(tmp_path) as bench:
        run = await a_run(bench.store, complete=False)
        await bench.made(replace(COMPLETE, complete=False))
        await bench.store.add_event(NewEvent(run=run, at=NOON, kind="resumed", text="on"))
        await ended(bench.store, run, complete=True)
    assert await offered_after_a_start(tmp_path) == COMPLETE
    async with at_work(tmp_path) as bench:
        again = await bench.made()
        assert again.file_name == "small-on-bench-run-1-b.html"
        assert bench.kept() == ["small-on-bench-run-1-b.html", "small-on-bench-run-1.html"]
        assert await bench.reports.file(run) == bench.folder / again.file_name


async def test_of_a_run_in_which_nothing_was_read_no_report_is_offered(tmp_path: Path):
    async with at_work(tmp_path) as bench:
        await a_run(bench.store, complete=True)
        await a_run(bench.store, complete=False, readings=0)
    assert await offered_after_a_start(tmp_path) is None


# ------------------------------------------------------------------ the folder


@pytest.mark.parametrize(
    ("study", "machine", "name"),
    [
        ("three-methods", "workshop-220", "three-methods-on-workshop-220-run-2.html"),
        ("../../etc", "a b/c", "etc-on-a-b-c-run-2.html"),
        ("<b>\u202e", "é", "b-on-unnamed-run-2.html"),
        ("x" * 500, "m", f"{'x' * 60}-on-m-run-2.html"),
    ],
)
def test_a_name_is_safe_whatever_study_and_machine_are_called(
    tmp_path: Path, study: str, machine: str, name: str
):
    folder = Folder(tmp_path / "kept.sqlite")
    file = folder.begin(study, machine, 2)
    assert file.name == name
    file.touch()
    folder.keep(file)
    assert folder.newest(2) == tmp_path / "reports" / name
    assert folder.newest(22) is None


def test_nothing_is_overwritten_and_the_last_mark_is_the_end(tmp_path: Path):
    folder = Folder(tmp_path / "kept.sqlite")
    for number in range(26):
        file = folder.begin("s", "m", 2)
        file.write_text(str(number))
        folder.keep(file)
        folder.clear(file)
    contents = {one.read_text() for one in folder.path.iterdir()}
    assert contents == {str(number) for number in range(26)}
    assert folder.newest(2) == folder.path / "s-on-m-run-2-z.html"
    with pytest.raises(DaemonError, match="there are too many"):
        folder.begin("s", "m", 2)


def test_only_files_that_are_named_as_ours_are_reports(tmp_path: Path):
    folder = Folder(tmp_path / "kept.sqlite")
    folder.path.mkdir()
    secret = tmp_path / "secret"
    secret.touch()
    (folder.path / "s-on-m-run-2.html").symlink_to(secret)
    (folder.path / "S-run-2.html").touch()
    (folder.path / "s-on-m-run-2.html.txt").touch()
    (folder.path / "s-on-m-run-2-b.html").mkdir()
    assert folder.newest(2) is None
    file = folder.begin("s", "m", 2)
    file.touch()
    with pytest.raises(FileExistsError):
        folder.keep(file)
