"""The folder of reports, beside the database: what they are called, and which is a run's newest.

Nothing in it is ever overwritten. A run's second report (it ended early, was reported on, and went
on) is marked `-b`, the next `-c`. All of this asks the disk, so it is for a thread.
"""

import re
import shutil
from pathlib import Path
from string import ascii_lowercase
from tempfile import mkdtemp

from hostctl.errors import DaemonError

NAME = "reports"
BEING_MADE = ".being-made-"
LONGEST_NAME = 60  # signs of a study's or a machine's
_OURS = re.compile(r"[a-z0-9-]+-run-(?P<run>[0-9]+)(-(?P<mark>[b-z]))?\.html")


class Folder:
    """Where the reports of one database lie."""

    def __init__(self, database: Path, name: str = NAME) -> None:
        self.path = database.with_name(name)

    def newest(self, run: int) -> Path | None:
        """The report that was made last of this run; None: there is none. Raises OSError."""
        kept = self._of_run(run)
        return kept[max(kept)] if kept else None

    def begin(self, study: str, machine: str, run: int) -> Path:
        """Where to write the next report of this run, by the name that it will have.

        Raises DaemonError where no name is left, OSError where the disk refuses.
        """
        self.path.mkdir(parents=True, exist_ok=True)
        name = f"{_plain(study)}-on-{_plain(machine)}-run-{run}{self._next_mark(run)}.html"
        return Path(mkdtemp(prefix=BEING_MADE, dir=self.path)) / name

    def keep(self, file: Path) -> None:
        """Keep what was written there, and what was written beside it. Raises OSError."""
        for each in sorted(file.parent.iterdir(), key=lambda one: one == file):  # the page last
            kept = self.path / each.name
            if kept.exists():
                raise FileExistsError(f"{kept} is there already")
            each.rename(kept)

    def clear(self, file: Path) -> None:
        """Away with what is left where it was written."""
        shutil.rmtree(file.parent, ignore_errors=True)

    def _next_mark(self, run: int) -> str:
        kept = self._of_run(run)
        if not kept:
            return ""
        last = max(kept) or "a"
        if last == "z":
            raise DaemonError(
                f"the reports of run {run}", "there are too many", f"Move some out of {self.path}."
            )
        return f"-{ascii_lowercase[ascii_lowercase.index(last) + 1]}"

    def _of_run(self, run: int) -> dict[str, Path]:
        """By their marks; the first has none."""
        if not self.path.is_dir():
            return {}
        named = ((_OURS.fullmatch(file.name), file) for file in self.path.iterdir())
        return {
            match["mark"] or "": file
            for match, file in named
            if match and int(match["run"]) == run and file.is_file() and not file.is_symlink()
        }


def _plain(name: str) -> str:
    """Safe in a file's name, in an address and on every system."""
    return re.sub("[^a-z0-9]+", "-", name.lower()).strip("-")[:LONGEST_NAME] or "unnamed"
