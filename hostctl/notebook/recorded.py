"""What was recorded, read from Python: a database and its runs."""

from dataclasses import dataclass
from pathlib import Path

from hostctl.errors import DataError
from hostctl.store.file.location import database_path
from hostctl.store.rows import RunSummary, StoredReading


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A run on record. summary: what it was, and how it ended."""

    database: Path
    summary: RunSummary

    @property
    def readings(self) -> tuple[StoredReading, ...]:
        """Every reading, void ones and zeros too. Raises StoreError."""
        from hostctl.store.reading import read_record

        return tuple(read_record(self.database, self.summary.run).readings)


@dataclass(frozen=True, slots=True)
class Database:
    """What was recorded; all that is written is that a verdict was given."""

    path: Path

    @property
    def runs(self) -> tuple[Run, ...]:
        """Every run, the oldest first. Raises StoreError."""
        from hostctl.store.reading import list_runs

        return tuple(Run(database=self.path, summary=one) for one in list_runs(self.path))

    def run(self, number: int) -> Run:
        """One run by its number. Raises StoreError; DataError where there is none."""
        for run in self.runs:
            if run.summary.run == number:
                return run
        raise DataError(f"run {number}", "is not on record", "See: hostctl runs")


def open_database(path: str | Path | None = None) -> Database:
    """A database of runs; left out, the one that the commands use."""
    return Database(database_path() if path is None else Path(path))
