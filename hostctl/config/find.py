"""Where machine and study files are looked for when only a short name is given."""

import os
import sysconfig
from difflib import get_close_matches
from pathlib import Path

from hostctl.errors import ConfigError

_CHECKOUT = Path(__file__).resolve().parents[2] / "configs"
_INSTALLED = Path(sysconfig.get_path("data")) / "share" / "hostctl"
SHIPPED = _CHECKOUT if (_CHECKOUT / "host.yaml").is_file() else _INSTALLED


def find_file(name: str, kind: str) -> Path:
    """The file meant by `name`. `kind` is `machines` or `studies`.

    First `name` as a path; then NAME.yaml in the current folder, in that kind's folder under
    $HOSTCTL_CONFIG, and among the shipped files. Raises ConfigError when there
    is none, with the nearest name.
    """
    given = Path(name)
    if given.suffix in (".yaml", ".yml") or len(given.parts) > 1:
        return given
    for folder in _folders(kind):
        path = folder / f"{name}.yaml"
        if path.is_file():
            return path
    known = sorted({path.stem for path in _known(kind)})
    near = get_close_matches(name, known, n=1)
    hint = f"Did you mean '{near[0]}'?" if near else f"Known: {', '.join(known) or 'none'}."
    raise ConfigError(name, f"no file of that name among the {kind}", f"{hint} Or give a path.")


def _folders(kind: str) -> list[Path]:
    own = os.environ.get("HOSTCTL_CONFIG")
    return [Path(), *([Path(own) / kind] if own else []), SHIPPED / kind]


def _known(kind: str) -> list[Path]:
    # The current folder holds anything, so it is not listed.
    return [path for folder in _folders(kind)[1:] for path in folder.glob("*.yaml")]
