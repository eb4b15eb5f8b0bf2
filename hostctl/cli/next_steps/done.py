"""A run that was carried out or looked at, as far as the next step goes by it."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from hostctl.cli.next_steps.step import Step, naming
from hostctl.config.find import find_file, known_files
from hostctl.errors import ConfigError
from hostctl.store.reading import list_runs, read_summary, reading_from_database
from hostctl.store.rows import RunSummary

SIMULATED = "--simulated-people"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitting:
    """A study that fits the machine. within_mm: its tolerance; None: it has none."""

    name: str
    within_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """kind: of its study.  study, machine: as a command takes them; None where no such file is
    found here.  machine_name: as it is recorded.  simulated: no printer is there.
    database: where it is kept.  by: the command that has just told of it, and asked: what it was
    asked about, options included.
    earlier: complete runs of the same study on the same machine before it.
    fitting: a study for this machine to go on with; asked for one whose readings are gaps, or not.
    """

    run: int
    kind: str
    complete: bool
    study: str | None
    machine: str | None
    machine_name: str
    simulated: bool
    database: Path
    by: str
    asked: tuple[str, ...]
    earlier: Callable[[], tuple[int, ...]]
    fitting: Callable[[bool], Fitting | None]

    def of_run(self, why: str, *words: str) -> Step:
        """A command about what is on record."""
        return Step(why=why, words=(*words, *naming(self.database)))

    def carried_out(self, why: str, study: str | None) -> Iterator[Step]:
        """The study carried out on this machine; nothing where either can't be named."""
        if study is None or self.machine is None:
            return
        people = (SIMULATED,) if self.simulated else ()
        yield self.of_run(why, "run", study, "--machine", self.machine, *people)

    def levelled(self, why: str) -> Iterator[Step]:
        """The bed levelled by the same study."""
        if self.machine is None:
            return
        people = (SIMULATED,) if self.simulated else ()
        study = () if self.study in (None, "level") else (self.study,)
        named = tuple(word for word in study if word is not None)
        yield self.of_run(why, "level", *named, "--machine", self.machine, *people)


def done_of(database: Path, run: int, by: str, asked: tuple[str, ...] = ()) -> Done:
    """A run on record. asked: left out, the run alone. Raises StoreError."""
    with reading_from_database(database) as connection:
        summary = read_summary(connection, database, run)
    new = summary.new
    return Done(
        run=run,
        kind=new.kind,
        complete=summary.complete,
        study=_named(new.study, "studies"),
        machine=_named(new.machine, "machines"),
        machine_name=new.machine,
        simulated=new.simulated,
        database=database,
        by=by,
        asked=asked or (str(run), *naming(database)),
        earlier=lambda: tuple(_earlier(list_runs(database), summary)),
        fitting=lambda of_gaps: _fitting(new.machine_text, of_gaps=of_gaps),
    )


def _named(name: str, kind: str) -> str | None:
    """The short name by which a file of that kind is found here."""
    try:
        return name if find_file(name, kind).is_file() else None
    except ConfigError:
        return None


def _earlier(runs: list[RunSummary], now: RunSummary) -> Iterator[int]:
    for one in runs:
        alike = (one.new.study_text, one.new.machine_text) == (
            *(now.new.study_text, now.new.machine_text),
        )
        if alike and one.complete and one.run < now.run:
            yield one.run


def _fitting(machine_text: str, *, of_gaps: bool) -> Fitting | None:
    """The first comparison among the user's own studies, then those shipped, that fits it."""
    from hostctl.config.study import Reference
    from hostctl.config.yaml_text import Source
    from hostctl.daemon.assembly.plan import plan_from

    machine = Source("the machine on record", machine_text)
    for path in known_files("studies"):
        try:
            study = plan_from(Source.of(path), machine).study
        except ConfigError:
            continue
        if study.kind == "comparison" and (study.reference is Reference.GAP) == of_gaps:
            tolerance = study.tolerance
            return Fitting(name=path.stem, within_mm=tolerance.within_mm if tolerance else None)
    return None
