"""Which sources a room has, and which tests have to see that they are altered."""

from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "hostctl"


@dataclass(frozen=True)
class Room:
    """`globs` from the package; `tests` from the root, those that fail soonest first.

    A test that is named twice, as a file and in its folder, runs once, where it is named first.
    """

    globs: tuple[str, ...]
    tests: tuple[str, ...]

    def sources(self) -> list[Path]:
        """Every file that is altered, in order."""
        return sorted({path for glob in self.globs for path in PACKAGE.glob(glob)})


def _files(folder: str, *stems: str) -> tuple[str, ...]:
    return tuple(f"{folder}/{stem}.py" for stem in stems)


def tests_first(file: str, tests: tuple[str, ...]) -> tuple[str, ...]:
    """`tests`, of which those named after an altered file run before the rest."""
    name = f"test_{Path(file).stem}.py"
    own = [f"{test}/{name}" for test in tests if (ROOT / test / name).is_file()]
    return (*own, *tests)


PAGE = (
    "channels/page/access/*.py",
    *_files("channels/page", "acts", "routes", "server"),
    "channels/handles.py",
)
WITH_A_BROWSER = {"test_browser", "test_whole_study"}
PAGE_TESTS = tuple(
    sorted(
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "tests/page").glob("test_*.py")
        if path.stem not in WITH_A_BROWSER
    )
)
RUN_TESTS = (
    *_files("tests/run", *(f"test_{name}" for name in ("run", "resuming", "zeros", "breaks"))),
    "tests/run",
)
MESSAGES_TESTS = (
    *("reception", "limits", "clock_set_back", "urgent_connection", "shipped_broker", "harm"),
    *("contract", "thrown_off", "broker_away"),
)

ROOMS = {
    "protocol": Room(("protocol/**/*.py",), ("tests/protocol",)),
    "link": Room(("link/**/*.py",), ("tests/link",)),
    "machine": Room(("machine/**/*.py",), ("tests/machine", *RUN_TESTS)),
    "gauges": Room(("gauges/**/*.py",), ("tests/gauges", *RUN_TESTS)),
    "run": Room(("run/**/*.py",), RUN_TESTS),
    "store": Room(("store/**/*.py",), ("tests/store", "tests/messages/test_outbox.py")),
    "page": Room(PAGE, ("tests/channels/test_handles.py", *PAGE_TESTS)),
    "messages": Room(
        tuple(f"channels/messages/{name}.py" for name in ("connection/*", "arriving/*", "topics")),
        tuple(f"tests/messages/test_{name}.py" for name in MESSAGES_TESTS),
    ),
}
"""`page` and `messages`: their doors only, what lets things in. No browser is started."""
