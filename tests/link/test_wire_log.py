"""The wire log is bounded, timed, and readable."""

from hostctl.link.wire_log import WireLog


def test_it_shows_both_directions_with_times_before_the_last_line() -> None:
    times = iter([10.0, 10.0025, 10.5])
    log = WireLog(lambda: next(times))
    log.sent(b"N1 M114*38\n")
    log.received("ok")
    log.remark("closed")
    assert log.text() == ("   -0.5000 > N1 M114*38\n   -0.4975 < ok\n    0.0000 # closed\n")


def test_it_keeps_only_the_last_lines() -> None:
    log = WireLog(lambda: 0.0, capacity=3)
    for number in range(10):
        log.received(str(number))
    assert [line[-1] for line in log.text().splitlines()] == ["7", "8", "9"]
    assert len(log) == 3


def test_an_empty_log_is_empty_text() -> None:
    assert WireLog(lambda: 0.0).text() == ""
