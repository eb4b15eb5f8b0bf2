"""Who looks on at a run and fails keeps it from nothing: a hold holds, a fault is a hold."""

import pytest
from workshop import Workshop, obliging, study_file

from hostctl.news import HoldBegan

pytestmark = pytest.mark.observer_may_fail


def fails(*what: object) -> None:
    raise RuntimeError("an observer that can't bear to hear of it")


def begun_by(shop: Workshop, act: str) -> list[str]:
    """The reasons of the holds of a whole run in which `act` came of the first move across."""
    acted: list[str] = []

    def once(sent: str) -> None:
        if sent.startswith("G1 X30") and not acted:
            acted.append(sent)
            shop.hold_now() if act == "hold" else shop.printer.fail("unplugged")

    shop.printer.before = once
    assert shop.carry_out(obliging()).complete
    assert shop.printer.offences == []
    return [item.reason.split(": ")[-1].split(".")[0] for item in shop.told(HoldBegan)]


def test_hold_holds():
    shop = Workshop(study_file())
    shop.desk.on_stop.add(fails)
    assert begun_by(shop, "hold") == ["Hold was said on phone"]


def test_a_lost_line_is_a_hold():
    shop = Workshop(study_file())
    shop.printer.on_fault.add(fails)
    assert begun_by(shop, "lost") == ["unplugged"]
