"""A levelling held against its machine: what carries the bed, and what stays as high as it is."""

import pytest

from hostctl.config.find import SHIPPED
from hostctl.config.grid import level_misfits
from hostctl.config.load import load_machine, study_from
from hostctl.config.machine import BedScrew, Machine
from hostctl.config.yaml_text import Source

CARRIED = "names no three screws, off one line, to turn"


def machine_with(*screws: str) -> Machine:
    """The printer on three screws, with these of them; `middle` stands between the front ones."""
    machine = load_machine(SHIPPED / "machines" / "workshop-tri.yaml")
    known = {screw.name: screw for screw in machine.screws}
    left, right = known["front-left"], known["front-right"]
    known["middle"] = BedScrew(name="middle", x_mm=(left.x_mm + right.x_mm) / 2, y_mm=left.y_mm)
    return machine.model_copy(update={"screws": [known[name] for name in screws]})


def misfits(machine: Machine, **level: object) -> list[str]:
    text = (SHIPPED / "studies" / "level-by-probe.yaml").read_text()
    study = study_from(Source("level-by-probe.yaml", text))
    assert study.level is not None
    changed = study.model_copy(update={"level": study.level.model_copy(update=level)})
    return [what for _, what, _ in level_misfits(changed, machine)]


@pytest.mark.parametrize(
    ("screws", "keep", "fits"),
    [
        (("front-left", "front-right", "back"), None, True),
        (("front-left", "front-right"), "back", True),
        (("front-left", "front-right"), "grid-2-3", True),
        (("front-left", "front-right"), None, False),
        (("front-left", "front-right"), "front-left", False),
        (("front-left", "middle"), "front-right", False),
        (("front-left",), "back", False),
    ],
)
def test_three_screws_or_two_and_a_corner_off_their_line_carry_a_bed(screws, keep, fits):
    found = misfits(machine_with(*screws), keep=keep)
    assert [CARRIED in what for what in found] == ([] if fits else [True])


def test_a_bed_that_is_fixed_at_a_corner_is_not_raised_as_a_whole():
    found = misfits(machine_with("front-left", "front-right"), keep="back", raise_mm=0.05)
    assert found == ["level.raise_mm: a bed that is fixed at a corner is not raised as a whole"]
