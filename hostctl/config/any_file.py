"""A file of any kind, told by what is in it."""

from collections.abc import Callable
from functools import partial

from hostctl.config.budgets.budget import BudgetFile, budget_from
from hostctl.config.checked import Checked
from hostctl.config.host import Host
from hostctl.config.load import check, machine_from, study_from
from hostctl.config.machine import Machine
from hostctl.config.study import Study
from hostctl.config.yaml_text import Source, parse
from hostctl.errors import ConfigError

AnyFile = Machine | Study | BudgetFile | Host

_KINDS: list[tuple[type[Checked], Callable[[Source], AnyFile]]] = [
    (Machine, machine_from),
    (Study, study_from),
    (BudgetFile, budget_from),
    (Host, partial(check, Host)),
]
_BEGIN = "Begin with 'machine:', 'study:', 'measurand:' (a budget) or 'machines:' (the daemon's)."


def any_file_from(source: Source) -> AnyFile:
    """A machine, study, budget or host file: whichever kind knows most of its keys.

    So a file is told its mistakes even where its first key is missing or misspelt. Raises
    ConfigError (FileMistakes when there are several).
    """
    document = parse(source)
    keys = set(document.data) if isinstance(document.data, dict) else set()
    known = [len(keys & set(model.model_fields)) for model, _ in _KINDS]
    if not any(known):
        what = "is no machine, study, budget or host file"
        raise ConfigError(document.at(()), what, _BEGIN)
    _, read = _KINDS[known.index(max(known))]
    return read(source)
