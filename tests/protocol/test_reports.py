"""Reports as loosely as they are written: blanks, order, case, decimals, steps before or after."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hostctl.protocol.events import (
    Acknowledged,
    PositionReported,
    ProbeResult,
    TemperatureReported,
    Unrecognised,
)
from hostctl.protocol.replies import events_in

gaps = st.sampled_from(["", " ", "  ", ", "])
blanks = st.sampled_from(["", " "])
places_mm = st.integers(-99_999, 999_999).map(lambda thousandths: thousandths / 1000)


@st.composite
def numbers(draw: st.DrawFn, value: float) -> str:
    """A way to write `value`: decimals as many as it needs or more, a sign before a nought."""
    decimals = next(n for n in range(4) if round(value, n) == value)
    text = f"{value:.{draw(st.integers(decimals, 4))}f}"
    if draw(st.booleans()) and "." in text and text.rstrip("0").endswith("."):
        text = text.rstrip("0")  # `10.`
    return f"-{text}" if value == 0 and draw(st.booleans()) and text[0] != "-" else text


@st.composite
def words(draw: st.DrawFn, label: str, value: float) -> str:
    written = draw(st.sampled_from([label, label.lower()]))
    return f"{written}{draw(blanks)}:{draw(blanks)}{draw(numbers(value))}"


@st.composite
def position_lines(draw: st.DrawFn) -> tuple[tuple[float, float, float], str]:
    """A place, and a line that tells it in one of all the ways."""
    at_mm = (draw(places_mm), draw(places_mm), draw(places_mm))
    axes = list(zip("XYZ", at_mm, strict=True))
    if draw(st.booleans()):
        axes.append(("E", draw(places_mm)))
    told = draw(st.permutations(axes))
    place = draw(gaps).join([draw(words(label, value)) for label, value in told])
    steps = [(axis, float(draw(st.integers(-9999, 9999)))) for axis in "XYZ"]
    counted = draw(st.sampled_from(["Count", "count"])) + draw(st.sampled_from([" ", ""])).join(
        [" ", *[draw(words(axis, count)) for axis, count in steps]]
    )
    between = draw(st.sampled_from([" ", "  "]))
    match draw(st.sampled_from(["none", "after", "before"])):
        case "after":
            place = f"{place}{draw(gaps)}{counted}"
        case "before":
            place = f"{counted}{between}{place}"
    return at_mm, draw(st.sampled_from(["", "ok ", "ok N7 ", "// ", "C: ", "ok C: "])) + place


@given(position_lines())
def test_a_position_is_read_however_it_is_written(drawn: tuple[tuple[float, ...], str]) -> None:
    (x_mm, y_mm, z_mm), line = drawn
    if line.startswith("ok C: Count"):
        return  # nobody writes that; the steps come first only where nothing else does
    assert events_in(line)[0] == PositionReported(x_mm=x_mm, y_mm=y_mm, z_mm=z_mm)


@given(position_lines(), st.data())
def test_a_digit_lost_or_changed_into_a_letter_is_never_half_a_number(
    drawn: tuple[tuple[float, ...], str], data: st.DataObject
) -> None:
    """One character becomes a letter or sign that belongs to no number: the right place or none."""
    at_mm, line = drawn
    at = data.draw(st.integers(0, len(line) - 1))
    spoilt = line[:at] + data.draw(st.sampled_from("q#]\x7f")) + line[at + 1 :]
    for event in events_in(spoilt):
        if isinstance(event, PositionReported) and "ount" in line and "ount" not in spoilt:
            continue  # the word that tells steps from places was hit
        if isinstance(event, PositionReported):
            assert (event.x_mm, event.y_mm, event.z_mm) == at_mm


@pytest.mark.parametrize(
    "line",
    [
        "X:0.00Y:0.00Z:5.00E:0.00 Count X: 0Y:0Z:2000",  # slow 8-bit boards
        "ok C: X:0.00 Y:0.00 Z:5.00 E:0.00",  # RepRap wiki, page G-code, M114
        "X:0.000 Y:0.000 Z:5.000 E:0.000",
        "Count X:80 Y:160 Z:2000 X:-0.00 Y:0 Z:5. E:0",
        "z:5 y:0 x:-0.0",
        "X:0.00 Y:0.00 Z:5.00 E:0.00 Count A:1 B:2 C:3",
        "X:0.00, Y:0.00, Z:5.00",
    ],
)
def test_the_forms_that_are_known_to_be_sent(line: str) -> None:
    found = events_in(line)[0]
    assert found == PositionReported(x_mm=0, y_mm=0, z_mm=5)
    assert "-" not in str(found)


@pytest.mark.parametrize(
    "line",
    ["X:1.00 X:2.00 Z:3.00", "X:1 Y:2", "Count X:1 Y:2 Z:3", "X:10.0aY:2Z:3", "X:1Y:2Z:3.0z",
     "X:1.00Y.00Z:3", "X:1..0 Y:2 Z:3", "X:- Y:2 Z:3", "Count X:1 Y:2 X:3 X:4 Z:5"],
)  # fmt: skip
def test_half_a_position_is_none(line: str) -> None:
    assert events_in(line) == (Unrecognised(text=line),)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("T:21.3/0.0B:40.1/60.0@:0B@:127", (21.3, 0.0, 40.1, 60.0)),
        ("ok T:21.3 /0.0 B:40.1 /60.0 T0:21.3 /0.0 @:0 B@:127", (21.3, 0.0, 40.1, 60.0)),
        ("ok N3 P15 B3 T:21 B:40", (21.0, None, 40.0, None)),
        ("t:21 /0 b:40 /60", (21.0, 0.0, 40.0, 60.0)),
        ("T:21.3 E:0 W:?", (21.3, None, None, None)),
        ("B:40.1 /60.0 T0:21.3 /0.0 T1:99.0 /0.0", (21.3, 0.0, 40.1, 60.0)),
    ],
)
def test_temperatures_are_read_as_loosely(line: str, said: tuple[float | None, ...]) -> None:
    nozzle_c, nozzle_target_c, bed_c, bed_target_c = said
    assert events_in(line)[0] == TemperatureReported(
        nozzle_c=nozzle_c, nozzle_target_c=nozzle_target_c, bed_c=bed_c, bed_target_c=bed_target_c
    )


def test_a_damaged_temperature_is_not_told_as_another() -> None:
    (heat,) = events_in("T:2q.3 /0.0 B:40.1 /60.0")
    assert heat == Unrecognised(text="T:2q.3 /0.0 B:40.1 /60.0") or heat == TemperatureReported(
        nozzle_c=None, nozzle_target_c=None, bed_c=40.1, bed_target_c=60.0
    )


@pytest.mark.parametrize(
    "line", ["Bed X: 30.00Y: 190.0Z: 0.012", "bed x:30 y:190 z:.012", "Bed z:0.012 y:190 x:30"]
)
def test_a_touch_is_read_as_loosely(line: str) -> None:
    assert events_in(line) == (ProbeResult(x_mm=30, y_mm=190, z_mm=0.012),)


def test_free_places_are_no_temperatures() -> None:
    assert events_in("ok P15 B3") == (Acknowledged(text="P15 B3"),)
