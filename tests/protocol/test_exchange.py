"""One command at a time, each done once: the hard cases, one by one."""

import pytest

from hostctl.protocol.complaints import Gravity
from hostctl.protocol.events import (
    Acknowledged,
    Banner,
    Capability,
    ErrorSaid,
    Event,
    FirmwareNamed,
    Info,
    PositionReported,
    ProbeResult,
    ResendAsked,
    TemperatureReported,
    Unrecognised,
)
from hostctl.protocol.exchange import HISTORY, OPENING, Exchange
from hostctl.protocol.noise import NoiseLimit
from hostctl.protocol.numbering import HALT, HEATERS_OFF, numbered, repeated
from hostctl.protocol.states import Cause, Done, Down, Fault, Idle, Output, Send, Settling

OK = Acknowledged()
AT = PositionReported(x_mm=1, y_mm=2, z_mm=3)


def opened(noise: NoiseLimit | None = None) -> Exchange:
    exchange = Exchange(noise)
    exchange.submit(OPENING)
    assert exchange.receive(OK) == [Done(0)]
    return exchange


def after(lines: int, command: str = "M400") -> Exchange:
    """An exchange in which lines 1 to `lines` were sent and done."""
    exchange = opened()
    for _ in range(lines):
        exchange.submit(command)
        exchange.receive(OK)
    return exchange


def hear(exchange: Exchange, *events: Event) -> list[Output]:
    return [output for event in events for output in exchange.receive(event)]


def copy(line: int, command: str) -> list[Output]:
    """`command` sent again."""
    return [Send(repeated(numbered(line, command)))]


def cause(exchange: Exchange) -> Cause:
    assert isinstance(exchange.state, Down)
    return exchange.state.fault.cause


HEAT = TemperatureReported(nozzle_c=21, nozzle_target_c=0, bed_c=40, bed_target_c=0)
ASKS = [
    ("M105", HEAT),
    ("M114", AT),
    ("M115", FirmwareNamed(text="a board")),
    ("M115", Capability(name="ONE", present=True)),
    ("G30 X30 Y190", ProbeResult(x_mm=30, y_mm=190, z_mm=0.01)),
    ("G30 X30 Y190", ErrorSaid(text="probing failed")),
]


@pytest.mark.parametrize(("command", "report"), ASKS)
def test_an_ok_without_what_was_asked_for_is_doubted_and_with_it_believed(
    command: str, report: Event
) -> None:
    exchange = opened()
    exchange.submit(command)
    assert hear(exchange, OK) == []
    assert exchange.quiet() == copy(1, command)
    exchange = opened()
    exchange.submit(command)
    assert hear(exchange, report, OK) == [Done(1)]


def test_it_opens_with_a_numbered_and_checked_agreement_on_numbers() -> None:
    assert Exchange().submit(OPENING) == [Send(b"N0 M110 N0*125\n")]


def test_lines_count_up_by_one() -> None:
    exchange = opened()
    assert exchange.submit("G28") == [Send(numbered(1, "G28"))]
    assert exchange.receive(OK) == [Done(1)]
    assert exchange.submit("M400") == [Send(numbered(2, "M400"))]


def test_only_one_command_is_out_at_a_time() -> None:
    exchange = opened()
    exchange.submit("G28")
    with pytest.raises(RuntimeError):
        exchange.submit("M400")


@pytest.mark.parametrize(
    "complaint",
    [
        [ErrorSaid(text="checksum mismatch", last_line=0), ResendAsked(line=1), OK],
        [ResendAsked(line=1), OK],
        [ErrorSaid(text="checksum mismatch", last_line=0), OK],
        [ResendAsked(line=1)],
        [ResendAsked(line=1), OK, ResendAsked(line=1), OK],
    ],
    ids=["whole", "request", "request damaged", "no ok of its own", "line was cut in two"],
)
def test_a_damaged_line_is_sent_again_once_when_the_line_is_quiet(complaint: list[Event]) -> None:
    exchange = opened()
    exchange.submit("M400")
    assert hear(exchange, *complaint) == []
    assert exchange.quiet() == copy(1, "M400")
    assert exchange.receive(OK) == [Done(1)]


def test_a_lost_ok_and_a_refused_copy_mean_done_once() -> None:
    exchange = opened()
    exchange.submit("M400")
    assert exchange.expire(1) == copy(1, "M400")
    assert exchange.receive(ResendAsked(line=2)) == [Done(1)]
    assert exchange.state == Settling(Idle(2))  # the request's own ok is still to come
    assert hear(exchange, OK) == []
    assert exchange.quiet() == []
    assert exchange.state == Idle(2)


def test_a_deadline_passed_twice_means_that_nobody_is_there() -> None:
    exchange = opened()
    exchange.submit("M400")
    exchange.expire(1)
    (fault,) = exchange.expire(1)
    assert isinstance(fault, Fault)
    assert cause(exchange) is Cause.SILENT


def test_a_deadline_after_something_was_heard_means_that_the_answer_was_damaged() -> None:
    exchange = opened()
    exchange.submit("M400")
    for _ in range(4):
        assert exchange.expire(1, heard=True) == copy(1, "M400")
    exchange.expire(1, heard=True)
    assert cause(exchange) is Cause.SILENT


def test_a_copy_ends_what_is_left_of_the_one_before() -> None:
    assert copy(1, "M400") == [Send(b"\nN1 M400*38\n\n")]


def test_a_late_deadline_of_an_older_line_changes_nothing() -> None:
    exchange = after(1)
    exchange.submit("M400")
    before = exchange.state
    assert exchange.expire(1) == []
    assert exchange.state == before


def test_after_a_repetition_nothing_is_sent_until_the_line_is_quiet() -> None:
    exchange = opened()
    exchange.submit("M400")
    exchange.expire(1)
    assert hear(exchange, OK) == [Done(1)]
    assert exchange.state == Settling(Idle(2))  # the copy's answer is still to come
    assert hear(exchange, ResendAsked(line=2), OK) == []
    exchange.quiet()
    assert exchange.state == Idle(2)


def test_an_ok_too_many_changes_nothing_while_nothing_is_out() -> None:
    exchange = after(1)
    assert exchange.receive(OK) == []
    assert exchange.state == Idle(2)
    assert exchange.stray_oks == 1


def test_an_ok_that_names_another_line_does_not_acknowledge_this_one() -> None:
    exchange = after(1)
    exchange.submit("M400")
    assert exchange.receive(Acknowledged(line=1)) == []
    assert exchange.receive(Acknowledged(line=2)) == [Done(2)]


def test_an_ok_without_the_report_asked_for_is_somebody_elses() -> None:
    exchange = opened()
    exchange.submit("M114")
    assert hear(exchange, OK) == []
    assert hear(exchange, AT, OK) == [Done(1)]


def test_after_an_ok_too_many_a_position_puts_both_ends_in_step_again() -> None:
    exchange = opened()
    exchange.submit("G0 X1")
    exchange.receive(OK)
    exchange.submit("M400")
    exchange.receive(OK)  # the doubled one: M400 still runs
    exchange.submit("M114")
    assert hear(exchange, OK) == []  # of M400
    assert exchange.quiet() == copy(3, "M114")
    assert hear(exchange, AT, OK) == [Done(3)]
    assert hear(exchange, ResendAsked(line=4), OK) == []  # the copy, refused
    assert exchange.quiet() == []
    assert exchange.state == Idle(4)


def test_a_damaged_report_does_not_cost_a_deadline() -> None:
    exchange = opened()
    exchange.submit("M114")
    assert hear(exchange, OK) == []
    assert exchange.quiet() == copy(1, "M114")
    assert exchange.receive(ResendAsked(line=2)) == [Done(1)]


def test_it_goes_back_through_history_and_comes_up_again_in_order() -> None:
    exchange = after(4)
    exchange.submit("M114")
    hear(exchange, ResendAsked(line=3), OK)
    assert exchange.quiet() == copy(3, "M400")
    assert exchange.receive(OK) == copy(4, "M400")
    assert exchange.receive(OK) == copy(5, "M114")
    assert hear(exchange, AT, OK) == [Done(5)]


def test_a_position_that_belongs_to_an_older_line_proves_nothing() -> None:
    exchange = after(3, "G4 P1")
    exchange.submit("M114")
    hear(exchange, ResendAsked(line=3), OK)
    exchange.quiet()
    assert hear(exchange, AT, OK) == copy(4, "M114")
    assert hear(exchange, OK) == []
    assert exchange.quiet() == copy(4, "M114")


def test_going_back_while_idle_reports_nothing_twice() -> None:
    exchange = after(3)
    hear(exchange, ResendAsked(line=3))
    assert exchange.quiet() == copy(3, "M400")
    assert exchange.receive(OK) == []
    exchange.quiet()
    assert exchange.state == Idle(4)


@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        (99, Cause.OUT_OF_STEP),
        (200 - HISTORY, Cause.OUT_OF_STEP),
        (1, Cause.RESET),
        (0, Cause.RESET),
    ],
    ids=["never sent", "older than history", "count begun again", "nothing received yet"],
)
def test_a_request_out_of_reason_is_doubted_once_and_then_a_fault(
    asked: int, expected: Cause
) -> None:
    exchange = after(200) if asked > 1 and asked != 99 else after(40)
    exchange.submit("M400")
    assert hear(exchange, ResendAsked(line=asked), OK) == []
    assert len(exchange.quiet()) == 1
    hear(exchange, ResendAsked(line=asked))
    assert cause(exchange) is expected


def test_a_request_for_the_next_line_is_no_proof_while_only_one_copy_was_sent() -> None:
    exchange = after(40)
    exchange.submit("M400")
    assert hear(exchange, ResendAsked(line=42), OK) == []
    assert exchange.quiet() == copy(41, "M400")
    assert hear(exchange, ResendAsked(line=42)) == [Done(41)]


def test_a_digit_damaged_in_a_request_does_no_harm() -> None:
    exchange = after(40)
    exchange.submit("M400")
    hear(exchange, ErrorSaid(text="", last_line=40), ResendAsked(line=91), OK)
    assert exchange.quiet() == copy(41, "M400")
    assert exchange.receive(OK) == [Done(41)]


def test_at_least_64_lines_are_kept() -> None:
    exchange = after(200)
    exchange.submit("M400")
    hear(exchange, ResendAsked(line=201 - 64))
    assert exchange.quiet() == copy(201 - 64, "M400")


def test_a_banner_means_a_reset() -> None:
    exchange = after(3)
    exchange.submit("G0 X1")
    hear(exchange, Banner(text="start"))
    assert cause(exchange) is Cause.RESET


def test_a_banner_means_a_reset_even_when_nothing_is_out() -> None:
    exchange = after(3)
    hear(exchange, Banner(text="start"))
    assert cause(exchange) is Cause.RESET


def test_a_banner_before_numbers_are_agreed_is_a_board_that_boots() -> None:
    exchange = Exchange()
    exchange.submit(OPENING)
    assert hear(exchange, Banner(text="start")) == []
    assert exchange.quiet() == copy(0, OPENING)
    assert hear(exchange, OK) == [Done(0)]


def test_the_opening_is_asked_again_as_often_as_its_deadline_passes() -> None:
    exchange = Exchange()
    exchange.submit(OPENING)
    assert [exchange.expire(0) for _ in range(5)] == [copy(0, OPENING)] * 5


def test_a_fatal_error_means_that_the_controller_has_halted() -> None:
    exchange = after(3)
    hear(exchange, ErrorSaid(text="the printer is halted", gravity=Gravity.STOPPED))
    assert cause(exchange) is Cause.STOPPED


def test_an_error_that_is_not_about_the_line_waits_for_its_ok() -> None:
    exchange = opened()
    exchange.submit("G30 X1 Y1")
    assert hear(exchange, ErrorSaid(text="Probing failed"), OK) == [Done(1)]


def test_a_halt_goes_out_ahead_of_everything_and_in_every_state() -> None:
    exchange = after(1)
    exchange.submit("G0 X1")
    assert exchange.halt()[0] == Send(HALT)
    assert cause(exchange) is Cause.HALTED
    assert exchange.halt() == [Send(HALT)]


def test_a_lost_port_is_a_fault() -> None:
    exchange = after(1)
    exchange.gone("unplugged")
    assert cause(exchange) is Cause.GONE


def test_nothing_leads_out_of_down() -> None:
    exchange = after(1)
    exchange.gone("unplugged")
    assert hear(exchange, OK, Banner(text="start"), ResendAsked(line=1), Info(text="")) == []
    assert exchange.expire(1) == exchange.quiet() == exchange.gone("again") == []
    assert cause(exchange) is Cause.GONE


def answered_lines(exchange: Exchange, count: int) -> None:
    for _ in range(count):
        exchange.submit("M400")
        hear(exchange, OK)


def damaged_lines(exchange: Exchange, times: int) -> None:
    for _ in range(times):
        exchange.submit("M400")
        hear(exchange, ResendAsked(line=exchange.outstanding or 0), OK)
        exchange.quiet()
        hear(exchange, OK)
        exchange.quiet()


def test_ten_resends_in_a_hundred_lines_are_borne() -> None:
    exchange = opened()
    damaged_lines(exchange, 10)
    assert exchange.state == Idle(11)


def test_more_than_one_resend_in_ten_of_the_last_hundred_lines_is_too_noisy() -> None:
    exchange = opened()
    damaged_lines(exchange, 10)
    exchange.submit("M400")
    hear(exchange, ResendAsked(line=11), OK)
    exchange.quiet()
    assert cause(exchange) is Cause.NOISY


@pytest.mark.parametrize(
    ("undamaged_between", "noisy"), [(7, True), (8, False)], ids=["91 apart", "101 apart"]
)
def test_the_last_hundred_lines_sent_count_those_sent_again(
    undamaged_between: int, noisy: bool
) -> None:
    """Eleven damaged lines: from the first resend to the last, both included."""
    exchange = opened()
    for _ in range(10):
        damaged_lines(exchange, 1)
        answered_lines(exchange, undamaged_between)
    exchange.submit("M400")
    hear(exchange, ResendAsked(line=10 * (1 + undamaged_between) + 1), OK)
    exchange.quiet()
    assert isinstance(exchange.state, Down) is noisy


def test_resends_of_long_ago_are_forgotten() -> None:
    exchange = opened(NoiseLimit(share=0.1, window=10))
    for _ in range(20):
        damaged_lines(exchange, 1)
        answered_lines(exchange, 9)
    assert exchange.state == Idle(201)


def test_lines_and_resends_are_counted() -> None:
    exchange = opened()
    damaged_lines(exchange, 3)
    assert (exchange.lines_sent, exchange.resends) == (4, 3)


def test_a_report_that_can_not_be_read_is_no_reason_to_send_an_answered_line_again() -> None:
    exchange = opened()
    exchange.submit("M114")
    assert hear(exchange, Unrecognised(text="X=1 Y=2 Z=3"), OK) == [Done(1)]
    assert exchange.state == Idle(2)
    assert exchange.resends == 0


RUNAWAY = ErrorSaid(text="Thermal Runaway, system stopped! Heater_ID: E0", gravity=Gravity.THERMAL)


@pytest.mark.parametrize("out", [None, "M400"], ids=["nothing is out", "a line is out"])
def test_a_thermal_fault_ends_the_talk_at_once_and_the_heaters_are_told_to_be_off(
    out: str | None,
) -> None:
    exchange = after(3)
    if out is not None:
        exchange.submit(out)
    fault = Fault(Cause.THERMAL, RUNAWAY.text)
    assert exchange.receive(RUNAWAY) == [Send(HEATERS_OFF), fault]
    assert exchange.state == Down(fault)
    assert hear(exchange, OK, RUNAWAY, ErrorSaid(text="halted", gravity=Gravity.STOPPED)) == []


def test_a_thermal_fault_is_heard_though_the_talk_is_over() -> None:
    exchange = after(1)
    exchange.halt()
    assert exchange.receive(RUNAWAY)[0] == Send(HEATERS_OFF)
    assert cause(exchange) is Cause.THERMAL


def test_the_first_complaint_since_the_last_order_is_named_first() -> None:
    exchange = after(1)
    hear(exchange, ErrorSaid(text="the fan stands still"))
    hear(exchange, ErrorSaid(text="kill() called", gravity=Gravity.STOPPED))
    assert isinstance(exchange.state, Down)
    assert exchange.state.fault.text == "the fan stands still; then: kill() called"


def test_what_an_earlier_order_was_refused_for_is_not_named() -> None:
    exchange = opened()
    exchange.submit("G30 X1 Y1")
    hear(exchange, ErrorSaid(text="Probing failed"), OK)
    exchange.submit("M400")
    hear(exchange, ErrorSaid(text="kill() called", gravity=Gravity.STOPPED))
    assert isinstance(exchange.state, Down)
    assert exchange.state.fault.text == "kill() called"


@pytest.mark.parametrize(
    ("complaint", "expected"),
    [
        ("checksum mismatch", Cause.NOISY),
        ("Line Number is not Last Line Number+1", Cause.REPEATING),
        ("", Cause.NOISY),
    ],
    ids=["damaged", "out of number", "no reason given"],
)
def test_only_damage_is_the_cables_fault(complaint: str, expected: Cause) -> None:
    exchange = opened()
    for line in range(1, 12):
        exchange.submit("M400")
        said = [ErrorSaid(text=complaint, last_line=line - 1)] if complaint else []
        hear(exchange, *said, ResendAsked(line=line), OK)
        exchange.quiet()
        hear(exchange, OK)
        exchange.quiet()
    assert cause(exchange) is expected
