"""Where machine, study and budget files are looked for when only a short name is given."""

import os
import sysconfig
from collections.abc import Sequence
from difflib import get_close_matches
from pathlib import Path

from hostctl.errors import ConfigError

_CHECKOUT = Path(__file__).resolve().parents[2] / "configs"
_INSTALLED = Path(sysconfig.get_path("data")) / "share" / "hostctl"
SHIPPED = _CHECKOUT if (_CHECKOUT / "host.yaml").is_file() else _INSTALLED
SERVED = "/etc/hostctl"
"""The daemon's folder where none is named."""
REFERENCE = SHIPPED / "reference"
ONE_OF = {"machines": "a machine", "studies": "a study", "budgets": "a budget"}


def find_file(name: str, *kinds: str) -> Path:
    """The file meant by `name`. `kinds` are `machines`, `studies` or `budgets`.

    First `name` as a path; then NAME.yaml in the current folder, in those kinds' folders under
    $HOSTCTL_CONFIG, and among the shipped files. Raises ConfigError when there
    is none, with the nearest name.
    """
    given = Path(name)
    if given.is_dir():
        raise ConfigError(name, "is a folder", "Give a file in it.")
    if given.suffix in (".yaml", ".yml") or len(given.parts) > 1:
        return given
    for folder in _folders(kinds):
        path = folder / f"{name}.yaml"
        if path.is_file():
            return path
    _refuse_another_kind(name, kinds)
    known = sorted({path.stem for path in known_files(*kinds)})
    near = get_close_matches(name, known, n=1)
    hint = f"Did you mean '{near[0]}'?" if near else f"Known: {', '.join(known) or 'none'}."
    raise ConfigError(
        name, f"no file of that name among the {' or '.join(kinds)}", f"{hint} Or give a path."
    )


def _refuse_another_kind(name: str, wanted: Sequence[str]) -> None:
    """Raises ConfigError where a file of that name is of a kind that is not wanted here."""
    for kind, one in ONE_OF.items():
        if kind not in wanted and name in {path.stem for path in known_files(kind)}:
            here = " or ".join(ONE_OF[each] for each in wanted)
            next_step = f"Name {here} here. Are the two swapped?"
            raise ConfigError(name, f"is {one}, not {here}", next_step)


def _folders(kinds: Sequence[str]) -> list[Path]:
    own = os.environ.get("HOSTCTL_CONFIG")
    roots = [*([Path(own)] if own else []), SHIPPED]
    return [Path(), *(root / kind for root in roots for kind in kinds)]


def known_files(*kinds: str) -> list[Path]:
    """What a short name of those kinds may mean, the user's own first.

    The current folder holds anything, so it is not listed.
    """
    return [path for folder in _folders(kinds)[1:] for path in sorted(folder.glob("*.yaml"))]
