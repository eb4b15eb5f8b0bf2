"""What a user can act on: each error says what, where, and what to do next, in one line.

Whatever else escapes is our own bug. Exit codes are part of the interface:

    HostctlError            1   anything else a user can mend
    |- UsageError           2   the command line itself is wrong
    |- ConfigError          3   a machine, study, budget or host file is wrong
    |- PortError            4   the port is unknown, taken, or not permitted
    |- LinkError            5   the machine does not answer, or the line is too noisy to trust
    |- MachineError         6   the machine refused, reset, or is not where it should be
    |- ThermalFault         6   it had a thermal fault, or what is taken for one
    |- StoreError           7   the database can't be read or written
    |- DataError            8   the readings can't support what was asked
    |- RunStopped           9   the run ended before its last trial; it can be resumed
    |- PluginError         10   a plug-in that was asked for is missing or broken
    `- DaemonError         11   the daemon is not there, or refused
"""

from typing import ClassVar, Self

CODES_WITHOUT_ERROR = {
    0: "done",
    70: "a fault of `hostctl` itself; it says where the details were written",
    130: "interrupted (Ctrl-C); the machine was made safe",
    141: "nobody reads the output any more",
}
"""What the other exit codes mean; `cli.main` gives them."""


class HostctlError(Exception):
    """What went wrong, where, and what the user can do next."""

    exit_code: ClassVar[int] = 1

    def __init__(self, where: str, what: str, next_step: str) -> None:
        stop = "" if what.endswith((".", "!", "?")) else "."
        super().__init__(f"{where}: {what}{stop} {next_step}")
        self.where = where
        self.what = what
        self.next_step = next_step

    def saying_also(self, more: str) -> Self:
        """The same, with one thing more to know."""
        return type(self)(self.where, f"{self.what}; {more}", self.next_step)


class UsageError(HostctlError):
    """The command line itself is wrong."""

    exit_code = 2


class ConfigError(HostctlError):
    """A machine, study, budget or host file is wrong; `where` is `file:line`."""

    exit_code = 3


class PortError(HostctlError):
    """The port is unknown, taken by another program, or not permitted."""

    exit_code = 4


class LinkError(HostctlError):
    """The machine does not answer, went away, or the line is too noisy to trust."""

    exit_code = 5


class ThermalFault(LinkError):
    """A thermal fault, or what is taken for one: nothing connects until a person has looked."""

    exit_code = 6


class MachineError(HostctlError):
    """The machine refused, reset, left its envelope, or is not where it should be."""

    exit_code = 6


class StoreError(HostctlError):
    """The database can't be read or written."""

    exit_code = 7


class DataError(HostctlError):
    """The readings can't support what was asked of them."""

    exit_code = 8


class RunStopped(HostctlError):
    """The run ended before its last trial; what was read is kept and the run can be resumed."""

    exit_code = 9


class PluginError(HostctlError):
    """A plug-in that was asked for is missing or broken."""

    exit_code = 10


class DaemonError(HostctlError):
    """The daemon is not there, or refused what it was asked."""

    exit_code = 11
