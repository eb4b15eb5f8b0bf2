"""What, where, and what to do next, in one line that reads as sentences."""

import pytest

from hostctl.errors import HostctlError, LinkError, ThermalFault


@pytest.mark.parametrize(
    ("what", "line"),
    [
        ("the port has gone", "bench: the port has gone. Plug it in."),
        ("Printer halted. kill() called!", "bench: Printer halted. kill() called! Plug it in."),
        ("it is not there.", "bench: it is not there. Plug it in."),
    ],
)
def test_a_sentence_ends_once(what: str, line: str):
    assert str(HostctlError("bench", what, "Plug it in.")) == line


def test_a_thermal_fault_is_a_fault_of_the_machine_found_by_the_line():
    assert issubclass(ThermalFault, LinkError)
    assert ThermalFault.exit_code == 6
