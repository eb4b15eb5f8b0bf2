"""Auxiliary outputs, the door and the screws' travel in a machine file."""

import pytest

from hostctl.config.load import machine_from
from hostctl.config.machine import SeenFrom
from hostctl.config.yaml_text import Source
from hostctl.errors import ConfigError

MACHINE = """\
machine: bench
port: sim://workshop-220
travel:
  x: {from_mm: 0, to_mm: 200}
  y: {from_mm: 0, to_mm: 200}
  z: {from_mm: 0, to_mm: 200}
points:
  - {name: left, x_mm: 20, y_mm: 20}
"""


def with_order(order: str) -> str:
    return f'{MACHINE}outputs:\n  - {{name: probe-out, order: "{order}"}}\n'


@pytest.mark.parametrize(
    "order",
    [
        *("M42 P4 S255", "M42 P0 S0", "M280 P0 S10", "M280 P3 S180"),
        *("M106 P1 S255", "M106 P0 S0", "M107 P0", "M107 P1"),
    ],
)
def test_an_order_of_a_pin_an_arm_or_a_fan_is_taken_as_it_stands(order: str):
    assert machine_from(Source("bench.yaml", with_order(order))).outputs[0].order == order


@pytest.mark.parametrize(
    "order",
    [
        *("G0 Z0", "G1 X10", "G28", "G30", "G92 Z0"),  # motion
        *("M104 S200", "M140 S60", "M109 S200", "M190 S60", "M303 E0 S200"),  # heat
        *("M92 Z400", "M500", "M201 X100", "M203 Z50", "M206 Z1", "M851 Z-1"),  # settings
        *("M211 S0", "M302 P1", "M17", "M18", "M84", "M112", "M999", "M110 N0"),  # limits, the rest
        *("m280 P0 S10", "M280 p0 S10", "M280  P0 S10", " M280 P0 S10", "M280 P0 S10 "),
        *("M280 P0 S10.5", "M280 P0 S-1", "M280 P0 S010", "M280 P00 S1", "M280 S10 P0"),
        *("M280 P0", "M42 S255", "M106", "M106 S255", "M107", "M107 P1 S0", "M42 P1000 S1"),
        *("M280 P0 S10; G28", "M280 P0 S10\\nG28", "M280 P0 S10*7", "N1 M280 P0 S10", ""),
        *("M280 P1٠ S10", "M42 P4 S255 G28", "M42 P4 S255M104 S200"),
    ],
)
def test_anything_else_is_refused_with_a_clear_line(order: str):
    with pytest.raises(ConfigError) as refused:
        machine_from(Source("bench.yaml", with_order(order)))
    assert str(refused.value).startswith("bench.yaml:10: outputs.1.order: is no order of an aux")


@pytest.mark.parametrize(("order", "most"), [("M42 P4 S256", 255), ("M280 P0 S181", 180)])
def test_an_order_beyond_what_it_can_set_is_refused(order: str, most: int):
    with pytest.raises(ConfigError, match=f"outputs.1.order: sets more than {most}"):
        machine_from(Source("bench.yaml", with_order(order)))


def test_two_outputs_of_one_name_are_refused():
    text = with_order("M107 P0") + '  - {name: probe-out, order: "M107 P1"}\n'
    with pytest.raises(ConfigError, match=r"outputs.2.name: another one is called 'probe-out' too"):
        machine_from(Source("bench.yaml", text))


def test_what_is_not_known_of_a_screw_is_none():
    text = MACHINE + "screws:\n  - {name: left, x_mm: 20, y_mm: 20}\n"
    (screw,) = machine_from(Source("bench.yaml", text)).screws
    assert (screw.can_raise_mm, screw.can_lower_mm, screw.seen_from) == (None, None, SeenFrom.ABOVE)


def test_travel_left_is_never_negative_and_may_be_none_at_all():
    text = MACHINE + "screws:\n  - {name: left, x_mm: 20, y_mm: 20, can_raise_mm: 0"
    (screw,) = machine_from(Source("bench.yaml", text + "}\n")).screws
    assert screw.can_raise_mm == 0
    with pytest.raises(ConfigError, match="can_lower_mm: must be at least 0"):
        machine_from(Source("bench.yaml", text + ", can_lower_mm: -0.1}\n"))


def test_what_a_door_says_while_shut_is_triggered_unless_told():
    door = machine_from(Source("bench.yaml", MACHINE + "door: {input: door}\n")).door
    assert door is not None
    assert door.shut == "triggered"
