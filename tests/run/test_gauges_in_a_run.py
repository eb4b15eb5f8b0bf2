"""Whole runs read by an indicator on a line, and by one that types, of the same simulated rig."""

import asyncio
import re
from pathlib import Path

import pytest
from hostctl_simulators.readout.typing_cable import TypingCable
from test_simulated_printer import Bench, comparison, file_for

from hostctl.config.parts.gauge import Gauge
from hostctl.deeds import SendReading
from hostctl.news import Answer, AnswerRefused, Prompt, PromptKind, Word
from hostctl.records import Place
from hostctl.run.fitting import FROM_GAUGE

RIG = {"kind": "rig-check", "methods": [], "operators": [], "trials": 6}


def on_a_line(*, faults: str = "", **line: object) -> Gauge:
    return Gauge.model_validate(
        {
            "kind": "serial-indicator",
            "resolution_mm": 0.001,
            "port": f"sim://workshop-220/indicator?seed=7{faults}",
            "line": line,
        },
        strict=False,
    )


def read_by(gauge: Gauge, **printer: object) -> Bench:
    bench = Bench(comparison(**(RIG | {"gauge": gauge})), file_for("workshop-220", **printer))
    assert bench.carry_out().complete
    assert bench.printer.world.crashes == []
    return bench


def sources(bench: Bench) -> set[tuple[str, str]]:
    return {(one.kept.reading.source, one.kept.channel) for one in bench.store.counting}


def typed_readings() -> list[float]:
    return read_by(Gauge()).store.values_mm()


def test_an_indicator_on_a_line_reads_what_eyes_read_more_finely():
    bench = read_by(on_a_line())
    by_eye = typed_readings()
    assert bench.holds == []
    assert [prompt.kind for prompt in bench.prompts] == [PromptKind.CONFIRM]
    assert len(bench.store.counting) == 6
    fine = bench.store.values_mm()
    shift = fine[0] - by_eye[0]  # by eye the bezel was set to zero
    assert [value - shift for value in fine] == pytest.approx(by_eye, abs=0.011)
    assert sources(bench) == {("serial indicator", "")}


@pytest.mark.parametrize(
    ("faults", "line"),
    [
        ("&noise_mm=0.05", {"alike": 8, "within_s": 10.0}),
        ("&garbage=0.1&cut=0.1&no_reading=0.1", {"within_s": 60.0}),
        ("&request=?", {"request": "?"}),
        ("&spoken=inch", {"alike_to_mm": 0.001}),
        ("&spoken=micrometre", {"unit": "um"}),
        ("&spoken=channel", {"pattern": r"01A([-+]\d+\.\d+)$"}),
    ],
)
def test_noise_damage_and_other_wordings_change_no_reading(faults, line):
    still = read_by(on_a_line()).store.values_mm()
    troubled = read_by(on_a_line(faults=faults, **line))
    assert troubled.holds == []
    assert troubled.store.values_mm() == pytest.approx(still, abs=0.0011)


def test_one_that_falls_silent_holds_the_run_and_loses_nothing():
    gauge = on_a_line(faults="&silent_after=250")
    bench = Bench(comparison(**(RIG | {"gauge": gauge})), file_for("workshop-220"))
    assert not bench.carry_out().complete  # people give up in the end
    assert len(bench.store.counting) == 2
    assert "it sent nothing within 5 s" in bench.holds[0]


@pytest.mark.parametrize(
    ("at_line", "holds"),
    [
        (10, []),  # while the head is on its way: it is opened again
        (70, ["indicator on .*: the cable was pulled. Plug it in again."]),
        (110, [".*: the cable is not plugged in.*"]),
    ],
)
def test_one_that_is_unplugged_and_plugged_in_again_costs_a_hold_at_most(at_line, holds):
    faults = f"&unplugged_after={at_line}&plugged_in_after_s=2"
    bench = read_by(on_a_line(faults=faults, alike=20))
    assert len(bench.holds) == len(holds)
    for reason, pattern in zip(bench.holds, holds, strict=True):
        assert re.fullmatch(pattern, reason)
    assert len(bench.store.counting) == 6


def test_on_a_printer_that_takes_its_time_a_free_plunger_is_told_from_a_pressed_one():
    at_once = read_by(on_a_line()).store.values_mm()
    bench = read_by(on_a_line(faults="&speed=4"), speed=4)
    assert bench.holds == []
    assert bench.store.values_mm() == pytest.approx(at_once, abs=0.0011)


@pytest.mark.parametrize(
    ("faults", "line"), [("", {}), ("&request=?", {"request": "?"})], ids=["by itself", "asked"]
)
def test_a_number_that_stands_still_is_not_taken_for_a_reading(faults, line):
    gauge = on_a_line(faults=f"&speed=1&stuck_after=1{faults}", **line)
    bench = Bench(comparison(**(RIG | {"gauge": gauge})), file_for("workshop-220", speed=1))
    assert not bench.carry_out().complete
    assert bench.store.counting == []
    assert "as when its plunger hung free" in bench.holds[0]


def test_a_plunger_that_does_not_reach_the_bed_is_not_read():
    gauge = on_a_line(faults="&speed=4")
    bench = Bench(comparison(**(RIG | {"gauge": gauge})), file_for("workshop-220", speed=4))
    for screw in bench.printer.world.screw_names():
        bench.printer.world.turn_screw(screw, 6 * 360, "anticlockwise")
    assert not bench.carry_out().complete
    assert bench.store.counting == []
    assert "the plunger does not reach the bed here" in bench.holds[0]


# ------------------------------------------------------------ one that types


class ByCable(Bench):
    """A run read by a cable that types into a pipe."""

    def __init__(self, tmp_path: Path, **changes: object) -> None:
        gauge = Gauge(kind="typing-indicator", resolution_mm=0.001, device=str(tmp_path / "cable"))
        super().__init__(comparison(**(RIG | {"gauge": gauge} | changes)), file_for("workshop-220"))
        self.cable = TypingCable(self.printer.world, tmp_path / "cable")
        self.refused: list[AnswerRefused] = []
        self.desk.on_refusal.add(self.refused.append)

    def answer(self, word: Word, reading_mm: float | None = None) -> None:
        prompt = self.desk.open_prompt
        assert prompt is not None
        self.desk.answer(
            Answer(
                prompt_id=prompt.prompt_id,
                word=word,
                reading_mm=reading_mm,
                channel="terminal",
                given_at=prompt.opened_at,
            )
        )


def test_a_press_of_the_cables_button_is_a_reading(tmp_path):
    bench = ByCable(tmp_path)
    assert bench.carry_out().complete
    assert bench.holds == []
    assert bench.store.values_mm() == read_by(on_a_line()).store.values_mm()
    assert sources(bench) == {("typing indicator", FROM_GAUGE)}
    sends = [prompt for prompt in bench.prompts if isinstance(prompt.deed, SendReading)]
    assert len(sends) == 7  # the zero too
    assert "Leave indicator and head untouched" in sends[0].detail
    assert bench.printer.world.crashes == []


def test_nobody_else_can_say_what_it_shows_but_hold_and_redo_count(tmp_path):
    bench = ByCable(tmp_path)
    seen: list[Place] = []

    def meddles(prompt: Prompt) -> None:
        if not isinstance(prompt.deed, SendReading):
            return
        assert prompt.place is not None
        seen.append(prompt.place)
        if len(seen) == 1:
            bench.answer(Word.READING, 0.5)
            bench.answer(Word.DONE)
        if len(seen) == 3:
            bench.answer(Word.REDO)

    bench.on_prompt = meddles
    assert bench.carry_out().complete
    reasons = [refused.reason for refused in bench.refused]
    assert reasons[:2] == ["the reading comes from the indicator's cable: press its button"] * 2
    assert len(bench.store.counting) == 6
    assert [place.attempt for place in seen if place.trial == 2] == [1, 2]


def test_stray_keys_and_its_enter_alone_are_told_and_answer_nothing(tmp_path):
    bench = ByCable(tmp_path)
    presses = bench.cable.press
    pressed = []

    def fumbles() -> None:
        pressed.append(1)
        if len(pressed) == 2:
            bench.cable.type("\n\n1.2.3\n")
        asyncio.get_running_loop().call_later(0.5, presses)

    bench.printer.world.on_send = fumbles
    assert bench.carry_out().complete
    assert [(refused.channel, refused.reason) for refused in bench.refused] == [
        (
            FROM_GAUGE,
            f"indicator on {tmp_path / 'cable'}: it typed '1.2.3', which is no number; "
            "press its button again",
        )
    ]
    assert len(bench.store.counting) == 6


def test_a_number_hard_to_believe_is_asked_for_again(tmp_path):
    bench = ByCable(tmp_path)
    presses, pressed = bench.cable.press, []

    def slips() -> None:
        pressed.append(1)
        if len(pressed) == 2:
            bench.cable.type("-7.5\n")
        else:
            presses()

    bench.printer.world.on_send = slips
    assert bench.carry_out().complete
    again = [prompt.text for prompt in bench.prompts if "press again if it is so" in prompt.text]
    assert len(again) == 1
    assert min(bench.store.values_mm()) > -1
