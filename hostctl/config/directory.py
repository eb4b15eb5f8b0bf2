"""The daemon's directory: `host.yaml`, `machines/`, `studies/`; checked as a whole, all at once."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Generic, TypeVar

from hostctl.config.host import Host
from hostctl.config.load import FileMistakes, check, machine_from, nearest, study_from
from hostctl.config.machine import Machine
from hostctl.config.study import Study
from hostctl.config.together import fits
from hostctl.config.yaml_text import Document, Key, Source, parse
from hostctl.errors import ConfigError

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Filed(Generic[T]):
    """What a file says, and its text."""

    checked: T
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Directory:
    """Everything in the daemon's directory. Machines and studies by their own names."""

    path: Path
    host: Host
    machines: Mapping[str, Filed[Machine]]
    studies: Mapping[str, Filed[Study]]

    def studies_for(self, machine: Machine) -> list[str]:
        """The studies that can run on this machine, by name."""
        return sorted(n for n, study in self.studies.items() if fits(study.checked, machine))


def read_directory(path: Path) -> Directory:
    """Read and check it all. Raises FileMistakes with every mistake of every file."""
    if not path.is_dir():
        what = "is no folder" if path.exists() else "there is no such folder"
        raise ConfigError(str(path), what, "Name the one that holds host.yaml: --config DIR")
    mistakes: list[ConfigError] = []
    source = _kept(mistakes, lambda: Source.of(path / "host.yaml"))
    host = _kept(mistakes, lambda: check(Host, source)) if source else None
    studies = _all(mistakes, study_from, _files(mistakes, path / "studies"), "study")
    machines: dict[str, Filed[Machine]] = {}
    if host is not None and source is not None:
        document = parse(source)
        files = _machine_files(mistakes, path / "machines", host, document)
        machines = _all(mistakes, machine_from, files, "machine")
        if not mistakes:
            mistakes += _mistaken_together(host, document, machines)
    if mistakes or host is None:
        raise FileMistakes(mistakes)
    return Directory(path=path, host=_absolute(host, path), machines=machines, studies=studies)


def _kept(mistakes: list[ConfigError], read: Callable[[], T]) -> T | None:
    """What `read` gives; None when it can't, and why is added to the mistakes."""
    try:
        return read()
    except FileMistakes as several:
        mistakes += several.mistakes
    except ConfigError as one:
        mistakes.append(one)
    return None


def _files(mistakes: list[ConfigError], folder: Path) -> list[Path]:
    """The YAML files in a folder, sorted; none where there is no folder."""
    try:
        return sorted(file for file in folder.iterdir() if file.suffix == ".yaml")
    except FileNotFoundError:
        return []
    except OSError as cause:
        what = f"can't be looked into ({cause.strerror})"
        mistakes.append(ConfigError(str(folder), what, "See what it is, and who may read it."))
        return []


def _all(
    mistakes: list[ConfigError],
    read: Callable[[Source], T],
    files: Iterable[Path],
    kind: str,
) -> dict[str, Filed[T]]:
    found: dict[str, Filed[T]] = {}
    for file in files:
        filed = _kept(mistakes, partial(_filed, read, file))
        if filed is None:
            continue
        name = getattr(filed.checked, kind)
        if name in found:
            what = f"{kind} '{name}' is in {Path(found[name].source.where).name} already"
            mistakes.append(ConfigError(str(file), what, "Give one of them another name."))
        found[name] = filed
    return found


def _filed(read: Callable[[Source], T], file: Path) -> Filed[T]:
    source = Source.of(file)
    return Filed(read(source), source)


def _machine_files(
    mistakes: list[ConfigError], folder: Path, host: Host, document: Document
) -> list[Path]:
    """The files that `machines` names."""
    present = [file.stem for file in _files(mistakes, folder)]
    for index, name in enumerate(host.machines):
        if name not in present:
            what = f"machines: there is no {folder / name}.yaml"
            mistakes.append(
                ConfigError(document.at(("machines", index)), what, nearest(name, present))
            )
    return [folder / f"{name}.yaml" for name in host.machines if name in present]


def _mistaken_together(
    host: Host, document: Document, machines: Mapping[str, Filed[Machine]]
) -> list[ConfigError]:
    """What is wrong only when the files are held against each other."""
    mistakes = []
    named: list[tuple[tuple[Key, ...], str]] = [
        (("buttons", index, "machine"), button.machine) for index, button in enumerate(host.buttons)
    ]
    named += [(("keys", index, "machine"), keys.machine) for index, keys in enumerate(host.keys)]
    for path, name in named:
        if name not in machines:
            what = f"{path[0]}.machine: no machine is called '{name}'"
            mistakes.append(ConfigError(document.at(path), what, nearest(name, machines)))
    ports: dict[str, str] = {}
    for name, filed in machines.items():
        taken = ports.setdefault(filed.checked.port, name)
        if taken != name:
            what = f"port: machine '{taken}' has {filed.checked.port} already"
            at = parse(filed.source).at(("port",))
            mistakes.append(ConfigError(at, what, "See: hostctl ports"))
    return mistakes


def _absolute(host: Host, directory: Path) -> Host:
    """Paths in host.yaml count from its directory."""

    def at(path: str | None) -> str | None:
        return None if path is None else str(directory.absolute() / Path(path).expanduser())

    messages = host.messages
    if messages is not None:
        tls = messages.tls
        if tls is not None:
            files = {
                "ca_file": at(tls.ca_file),
                "certificate_file": at(tls.certificate_file),
                "key_file": at(tls.key_file),
            }
            tls = tls.model_copy(update=files)
        update = {"tls": tls, "password_file": at(messages.password_file)}
        messages = messages.model_copy(update=update)
    page = host.page
    if page is not None:
        files = {"certificate_file": at(page.certificate_file), "key_file": at(page.key_file)}
        page = page.model_copy(update=files)
    update = {"database": at(host.database), "socket": at(host.socket)}
    return host.model_copy(update={**update, "messages": messages, "page": page})
