"""Stands in for the command that makes a report: a page, its name and an answer, as that has it.

Started as a program it serves a directory with this in the command's place.
"""

import sys
from pathlib import Path

from hostctl.daemon.service import serve

ANSWER = "The paper slip sets the gap to within ±0.04 mm in 95 of 100 settings."
MAKES = (
    "import sys, pathlib; file = pathlib.Path(sys.argv[2]); file.write_text('<p>' + sys.argv[1]);"
    f"print(file); print({ANSWER!r})"
)


def stand_in(run: int, file: Path, database: Path) -> list[str]:
    """The words of a command that makes it."""
    return running(MAKES, run, file, database)


def running(program: str, run: int, file: Path, database: Path) -> list[str]:
    """Another program in its place, by its text."""
    return [sys.executable, "-I", "-c", program, str(run), str(file), str(database)]


if __name__ == "__main__":
    serve(Path(sys.argv[sys.argv.index("--config") + 1]), stand_in)
