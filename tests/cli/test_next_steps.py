"""What is said to be useful next: by what was found, and each a command that the program takes."""

import asyncio
import shlex
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from hostctl.cli.main import COMMANDS
from hostctl.cli.next_steps.after_looking import (
    after_check,
    after_export,
    after_history,
    after_plan,
    after_ports,
    after_report,
    after_runs,
)
from hostctl.cli.next_steps.after_run import after_run
from hostctl.cli.next_steps.done import Done, Fitting, done_of
from hostctl.cli.next_steps.step import COLUMNS, Step, said
from hostctl.cli.parsing import understood
from hostctl.config.any_file import any_file_from
from hostctl.config.find import find_file
from hostctl.config.yaml_text import Source
from hostctl.report.analysis.analysis import Wish, judge
from hostctl.report.analysis.result.judgement import Judgement
from hostctl.report.history.history import history_of_values
from hostctl.report.history.result import Standing
from hostctl.report.kinds.levelling.found.from_table import levelling_of_table
from hostctl.report.kinds.levelling.result import LevelResult, Verdict
from hostctl.report.sources.material import Block, Goal, Material
from hostctl.store.rows import NewRun
from hostctl.store.store import Store

NARROW = [0.0, 0.01, -0.01, 0.0, 0.01, 0.0, -0.01, 0.01, 0.0, -0.01, 0.02, -0.02]


@pytest.fixture
def done(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Done:
    """Run 7, of three-methods on sim-220, as `run` has it, in the usual database."""
    database = tmp_path / "kept.sqlite"
    monkeypatch.setenv("HOSTCTL_DATABASE", str(database))
    return Done(
        run=7,
        kind="comparison",
        complete=True,
        study="three-methods",
        machine="sim-220",
        machine_name="sim-220",
        simulated=True,
        database=database,
        by="run",
        asked=("7",),
        earlier=lambda: (),
        fitting=lambda gaps: Fitting(name="true-gap" if gaps else "three-methods", within_mm=0.05),
    )


def judged(kind: str, within_mm: float | None = 0.05, *, rig: bool = True) -> Judgement:
    goal = None if within_mm is None else Goal(within_mm=within_mm)
    return judge(material(kind, goal), material("rig-check", None) if rig else None, Wish())


def material(kind: str, goal: Goal | None) -> Material:
    return Material(
        name="run 7",
        title="A study",
        kind=kind,
        machine="sim-220",
        reference="first",
        zero_known=False,
        resolution_mm=0.01,
        resolution_from="recorded",
        blocks=(Block(method="slip", operator="a", point="p", values_mm=NARROW),),
        goal=goal,
        notes=(),
    )


def levelled(tmp_path: Path, verdict: Verdict) -> LevelResult:
    table = tmp_path / "heights.csv"
    rows = "10,10,0.1\n200,10,0.0\n10,200,0.0\n200,200,0.05\n"
    table.write_text(f"x_mm,y_mm,height_mm\n{rows}")
    found = levelling_of_table(table, None, within_mm=0.05, keep=None, raise_mm=0.0)
    return replace(found, rounds=(replace(found.last, verdict=verdict),))


def commands(steps: Iterable[Step]) -> list[str]:
    """What would be pasted of them, each taken by the real parser first."""
    shown = [step.command for step in steps]
    for command in shown:
        name, *words = shlex.split(command)[1:]
        understood(name, words, COMMANDS)  # raises where it is not
    return shown


PEOPLE = "--machine sim-220 --simulated-people"


def test_after_settings_by_what_is_still_open(done: Done):
    assert commands(after_run(done, judged("comparison", 0.5)))[:2] == [
        *("hostctl report 7", "hostctl analyse 7"),
    ]
    undecided = judged("comparison", 0.02)
    more, plan, *_ = after_run(done, undecided)
    assert commands([more, plan]) == [
        f"hostctl run three-methods {PEOPLE}",
        "hostctl plan --run 7",
    ]
    (result,) = undecided.results
    assert f"about {result.verdict.further_trials} more trials each" in more.why
    twice = replace(done, earlier=lambda: (2, 5))
    assert commands(after_run(twice, undecided))[0] == "hostctl analyse 2 5 7"
    alone = judged("comparison", 0.5, rig=False)
    assert commands(after_run(done, alone))[0] == f"hostctl run rig-check {PEOPLE}"
    looked_at = replace(done, by="analyse", asked=("7", "--tolerance", "0.5"))
    assert commands(after_run(looked_at, judged("comparison", 0.5))) == [
        "hostctl report 7 --tolerance 0.5"
    ]


def test_a_run_on_record_is_known_by_its_files_and_a_study_is_found_that_fits_its_machine(
    done: Done,
):
    async def keep() -> None:
        async with Store.opened(done.database) as store:
            await store.add_run(kept_run("sim-220", "rig-check"))
            await store.add_run(kept_run("my-printer", "rig-check"))

    asyncio.run(keep())
    found, unknown = (done_of(done.database, run, "show") for run in (1, 2))
    assert (found.study, found.machine, found.simulated) == ("rig-check", "sim-220", True)
    assert [found.fitting(gaps) for gaps in (False, True)] == [
        Fitting(name="three-methods", within_mm=0.05),
        Fitting(name="true-gap", within_mm=0.05),
    ]
    assert (unknown.machine, unknown.complete, unknown.earlier()) == (None, False, ())


def kept_run(machine: str, study: str) -> NewRun:
    return NewRun(
        study=study,
        title="T",
        kind=study,
        machine=machine,
        reference="first",
        study_text=find_file(study, "studies").read_text(),
        machine_text=find_file("sim-220", "machines").read_text(),
        seed=1,
        started_at=datetime(2026, 11, 25, tzinfo=UTC),
        program="hostctl",
    )


def test_after_a_rig_check_a_study_on_the_same_machine_and_what_the_rig_allows(done: Done):
    check = replace(done, kind="rig-check", study="rig-check")
    study, allowed, *_ = after_run(check, judged("rig-check", None))
    assert "which adds s = 0.01" in study.why
    assert commands([study, allowed]) == [
        f"hostctl run three-methods {PEOPLE}",
        "hostctl plan --claim 0.05 --expected-sd 0.017 --rig-sd 0.01 --rig-trials 13",
    ]
    unknown = replace(check, machine=None)  # its file lies elsewhere
    assert commands(after_run(unknown, judged("rig-check", None)))[-1] == "hostctl analyse 7"
    tie = replace(done, kind="tie")
    assert commands(after_run(tie, judged("tie", None)))[0] == f"hostctl run true-gap {PEOPLE}"


@pytest.mark.parametrize(
    ("verdict", "first"),
    [
        ("within-tolerance", f"hostctl run rig-check {PEOPLE}"),
        ("out-of-travel", "hostctl reference level"),
        ("no-better", f"hostctl run rig-check {PEOPLE}"),
        ("jumped", f"hostctl run rig-check {PEOPLE}"),
        ("turn", f"hostctl level {PEOPLE}"),
    ],
)
def test_after_a_levelling(done: Done, tmp_path: Path, verdict: Verdict, first: str):
    level = replace(done, kind="level", study="level")
    assert commands(after_run(level, levelled(tmp_path, verdict)))[0] == first


def test_a_run_that_is_not_complete_is_gone_on_with_and_another_database_is_named(done: Done):
    elsewhere = replace(done, complete=False, database=Path("/some where/other.sqlite"))
    steps = after_run(elsewhere, None)
    assert commands(steps) == ["hostctl resume 7 --database '/some where/other.sqlite'"]
    assert said(steps) == f"Next, from the trial where it stopped:\n  {steps[0].command}"


@pytest.mark.parametrize("kind", ["axis-test", "gauge-comparison", "probe-loop"])
def test_after_other_kinds_the_report(done: Done, kind: str):
    steps = after_run(replace(done, kind=kind, by="show"), object())
    assert commands(steps) == ["hostctl report 7", "hostctl analyse 7"]


def test_after_files_were_checked():
    names = {
        "sim-220": "machines",
        "workshop-220": "machines",
        "three-methods": "studies",
        "indicator-on-head": "budgets",
    }
    files = {name: any_file_from(Source.of(find_file(name, kind))) for name, kind in names.items()}
    alone = [commands(after_check({name: one}, None)) for name, one in files.items()]
    assert alone == [
        [f"hostctl run rig-check {PEOPLE}"],
        ["hostctl ports"],
        ["hostctl plan --claim 0.05"],
        ["hostctl budget indicator-on-head"],
    ]
    study = {"three-methods": files["three-methods"]}
    assert commands(after_check(study, "sim-220")) == [
        "hostctl run three-methods --machine sim-220"
    ]
    both = {"sim-220": files["sim-220"], **study}
    assert commands(after_check(both, None))[1] == "hostctl check three-methods --machine sim-220"
    assert commands(after_check({"my configs": Path("my configs")}, None)) == [
        "hostctl serve --config 'my configs'"
    ]


def test_after_looking(done: Done):
    commands(after_ports(1))
    assert commands(after_ports(0)) == []
    assert commands(after_runs([], done.database)) == ["hostctl demo"]
    assert commands(after_plan(None, done.database)) == ["hostctl reference study"]
    assert commands(after_report(Path("found.html"))) == ["hostctl analyse found.html"]
    assert commands(after_export(7, "two.csv", done.database)) == [
        *("hostctl analyse two.csv", "hostctl report 7"),
    ]
    steady = history_of_values("the rig", [], baseline=None)
    for standing in Standing:
        found = after_history(replace(steady, standing=standing), "sim-220", done.database)
        assert (commands(found) == []) == (standing is Standing.STEADY)


def test_a_short_step_stands_in_one_line_and_no_more_than_two_are_said():
    step = Step(why="look", words=("show", "7"))
    assert said([step] * 3) == "Next, look: hostctl show 7\nAlso, look: hostctl show 7"
    assert max(map(len, said([step]).splitlines())) <= COLUMNS
    at_home = Step(why="", words=("runs", "--database", str(Path.home() / "kept.sqlite")))
    assert at_home.command == "hostctl runs --database ~/kept.sqlite"
