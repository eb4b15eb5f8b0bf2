"""The one door for plug-ins: found by kind and name through entry points, loaded when asked for.

Five kinds: `hostctl.dialects`, `hostctl.gauges`, `hostctl.channels`, `hostctl.ports`,
`hostctl.study_kinds`. Each kind is declared beside its user as `Kind[ItsProtocol]("hostctl.…")`.
What the package ships comes in by the same door as a stranger's plug-in.
"""

from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from typing import TYPE_CHECKING, Generic, TypeVar, cast

from hostctl.errors import PluginError

if TYPE_CHECKING:
    from importlib.metadata import EntryPoint

T = TypeVar("T")


@cache
def installed(group: str) -> "tuple[EntryPoint, ...]":
    """The plug-ins of a group. Looked for once: it takes a while, and none comes as we run."""
    from importlib.metadata import entry_points  # takes a while to load, too

    return tuple(entry_points(group=group))


@dataclass(frozen=True)
class Kind(Generic[T]):
    """One kind of plug-in. `T` is what each plug-in of this kind is: usually a factory."""

    group: str

    def names(self) -> list[str]:
        """The names installed, sorted; nothing is loaded."""
        return sorted({entry.name for entry in installed(self.group)})

    def find(self, name: str) -> T:
        """Load the plug-in called `name`.

        Raises PluginError when none has that name (the error lists those installed), or when it
        is there but fails to load (the error names the package that brought it).
        """
        for entry in installed(self.group):
            if entry.name == name:
                return self._load(entry)
        near = get_close_matches(name, self.names(), n=1)
        hint = f"Did you mean '{near[0]}'? " if near else ""
        listed = ", ".join(self.names()) or "none"
        raise PluginError(
            self.group, f"no plug-in is called '{name}'", f"{hint}Installed: {listed}."
        )

    def _load(self, entry: "EntryPoint") -> T:
        try:
            return cast(T, entry.load())
        except Exception as cause:  # a plug-in's load is one of the five places where all is caught
            package = entry.dist.name if entry.dist else "an unknown package"
            raise PluginError(
                f"{self.group} '{entry.name}'",
                f"the plug-in fails to load ({type(cause).__name__}: {cause})",
                f"Mend or uninstall {package}.",
            ) from cause
