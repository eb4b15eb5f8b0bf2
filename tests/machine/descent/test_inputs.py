"""What a controller says of its inputs, however it words it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jumping_loop import in_jumping_time
from plate_bench import PlateBench, PlatePrinter

from hostctl.errors import MachineError
from hostctl.machine.signals.inputs import inputs_in


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        (["Reporting what stops", "z_min: TRIGGERED"], {"z_min": "triggered"}),
        (["x_min:open", "y_min:open"], {"x_min": "open", "y_min": "open"}),
        (["x:open y:open z:TRIGGERED"], {"x": "open", "y": "open", "z": "triggered"}),
        (["x_min:0, y_min:1"], {"x_min": "0", "y_min": "1"}),
        (["a: not triggered b: triggered"], {"a": "not triggered", "b": "triggered"}),
        (["Z Probe = Not  Triggered"], {"z probe": "not triggered"}),
        (["end z: open", "contact:triggered"], {"end z": "open", "contact": "triggered"}),
        (["N4 P15 B3", "", ":", "z_min:"], {}),
        (["z: open", "z: TRIGGERED", "x: open"], {"x": "open"}),  # which of the two, nobody knows
        (["z: open", "z: open"], {"z": "open"}),
    ],
)
def test_names_and_words_are_found_in_any_wording(texts, said):
    assert inputs_in(texts) == said


@given(st.lists(st.text(max_size=80), max_size=5))
def test_whatever_comes_is_no_exception(texts):
    for name, word in inputs_in(texts).items():
        assert name
        assert word
        assert (name, word) == (name.lower(), word.lower())


def test_the_machine_is_asked_once():
    bench = PlateBench()
    assert in_jumping_time(bench.machine.signals.inputs()) == {"end z": "open", "contact": "open"}
    assert bench.printer.commands == ["M119"]
    assert bench.machine.homed


def test_a_board_that_can_not_say_is_an_error_and_the_position_is_still_known():
    bench = PlateBench(PlatePrinter())
    bench.printer.refuses = {"M119"}
    with pytest.raises(MachineError, match="it refused 'M119'"):
        in_jumping_time(bench.machine.signals.inputs())
    assert bench.machine.homed
