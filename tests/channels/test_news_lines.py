"""News as single lines."""

import pytest

from hostctl.channels.news_lines import line_for
from hostctl.news import HoldBegan


@pytest.mark.parametrize(
    ("held", "line"),
    [
        (HoldBegan(reason="The cable."), "On hold: The cable."),
        (HoldBegan(reason="By phone.", stopped=True), "STOPPED: By phone."),
        (HoldBegan(reason="By phone.", stopped=True, not_told=True), "SWITCH IT OFF: By phone."),
    ],
)
def test_a_stop_is_told_apart_from_a_hold(held: HoldBegan, line: str):
    assert line_for(held) == line
