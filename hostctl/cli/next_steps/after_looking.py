"""What is useful after the commands that carry nothing out: files checked, trials planned, ports
listed, runs listed, readings written."""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from hostctl.cli.next_steps.done import SIMULATED, done_of
from hostctl.cli.next_steps.step import Step, naming
from hostctl.config.budgets.budget import BudgetFile
from hostctl.config.machine import Machine
from hostctl.config.study import Study
from hostctl.report.history.result import History, Standing
from hostctl.store.rows import RunSummary

EXAMPLE_PORT = "YOUR_PRINTER"
"""As the shipped files name it."""


def after_check(checked: Mapping[str, object], machine: str | None) -> Iterator[Step]:
    """Of files in order. checked: what is in each, by its name; of a directory its path.
    machine: by which studies were checked too."""
    named = [name for name, one in checked.items() if isinstance(one, Machine)]
    for name, one in checked.items():
        match one:
            case Machine(port=port) if EXAMPLE_PORT in port:
                yield Step(why="the name of your printer's port", words=("ports",))
                yield Step(why="a file by questions, at the machine", words=("begin",))
            case Machine(port=port):
                people = (SIMULATED,) if port.startswith("sim://") else ()
                run = ("run", "rig-check", "--machine", name, *people)
                yield Step(why="the rig by itself, before any study", words=run)
            case Study() if machine is not None:
                yield Step(why="carry it out", words=("run", name, "--machine", machine))
            case Study() if named:
                why = "whether it fits that machine"
                yield Step(why=why, words=("check", name, "--machine", named[0]))
            case Study(tolerance=tolerance) if tolerance is not None:
                within = f"{tolerance.within_mm:g}"
                why = f"how many trials it takes to prove ±{within} mm"
                yield Step(why=why, words=("plan", "--claim", within))
            case BudgetFile():
                yield Step(why="what it comes to", words=("budget", name))
            case Path():
                yield Step(why="stay beside its machines", words=("serve", "--config", name))
            case _:
                continue


def after_plan(run: int | None, database: Path) -> Iterator[Step]:
    """run: that the plan was made by; None: by no run."""
    if run is not None:
        yield from _again(run, database)
    yield Step(why="where the number goes in your study file", words=("reference", "study"))


def _again(run: int, database: Path) -> Iterator[Step]:
    done = done_of(database, run, "plan")
    yield from done.carried_out("so many trials, by the same study", done.study)


def after_runs(runs: Sequence[RunSummary], database: Path) -> Iterator[Step]:
    """The newest is what somebody is most likely to be after."""
    if not runs:
        yield Step(why="see a whole study first, with no printer", words=("demo",))
        return
    newest = runs[-1]
    number = str(newest.run)
    if newest.ended_at is None or not newest.complete:
        resume = ("resume", number, *naming(database))
        yield Step(why=f"go on with run {number}, where nobody does so now", words=resume)
    yield Step(why=f"what run {number} says", words=("show", number, *naming(database)))


def after_history(found: History, machine: str | None, database: Path) -> Iterator[Step]:
    """machine: as a command takes it; None: no file of it is found here."""
    if machine is None:
        return
    check = ("run", "rig-check", "--machine", machine, *naming(database))
    match found.standing:
        case Standing.SIGNS:
            yield Step(why="see to indicator and mount, then check the rig anew", words=check)
        case Standing.NO_LIMITS | Standing.TOO_FEW_CHECKS:
            yield Step(why="another check of the rig tells more", words=check)
        case Standing.STEADY:
            return


def after_export(run: int, file: str, database: Path) -> Iterator[Step]:
    """Of a table of readings that was written."""
    yield Step(why="what it proves, as another program's table", words=("analyse", file))
    named = ("report", str(run), *naming(database))
    yield Step(why="with all that is known of the run", words=named)


def after_report(page: Path) -> Iterator[Step]:
    """What whoever gets the page can do with it."""
    yield Step(why="as whoever gets it can work it out again", words=("analyse", str(page)))


def after_ports(ports: int) -> Iterator[Step]:
    """ports: so many were found."""
    if ports:
        yield Step(why="a new printer's file, by questions at the machine", words=("begin",))
