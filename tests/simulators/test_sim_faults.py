"""Faults on purpose: each happens, is counted, and disturbs nothing else."""

import random

import pytest
from hostctl_simulators.board.faults import Corruption, FaultPlan
from hostctl_simulators.simulated_printer import Description


def test_noise_hits_the_share_of_bytes_it_is_told_to_one_bit_each():
    corruption = Corruption(0.01, random.Random(1))
    data, hit = corruption.pass_through(bytes(100_000))
    assert len(hit) == pytest.approx(1000, abs=150)
    assert all(data[at].bit_count() == 1 for at in hit)


def test_how_the_bytes_are_cut_changes_no_noise():
    whole, _ = Corruption(0.05, random.Random(2)).pass_through(bytes(1000))
    piecewise = Corruption(0.05, random.Random(2))
    assert b"".join(piecewise.pass_through(bytes(10))[0] for _ in range(100)) == whole


def test_a_damaged_line_that_passes_the_checksum_is_counted(console):
    talk = console("corrupt_to_printer=0.02&seed=1")
    for _ in range(3000):
        talk.number = talk.printer.board._last_number + 1  # as a host would after a resend
        talk.do("M117 aaaaaaaaaaaaaaaaaaaaaaaaaaaa")
    counts = talk.printer.counts
    executed = [done.text for done in talk.printer.board.obeyed if done.damaged]
    assert counts.slipped == executed
    assert 0 < len(executed) < counts.lines_refused


def test_a_lost_ok_is_lost_and_a_doubled_one_comes_twice(console):
    assert console("lost_ok=0.999999").do("M400") == []
    assert console("doubled_ok=0.999999").do("M400") == ["ok", "ok"]


def test_a_reset_in_mid_move_leaves_the_head_where_it_was_and_forgets_everything(console):
    plain = console()
    plain.home()
    moves = len(plain.printer.board.carriage.done)
    talk = console(f"reset_at_move={moves + 1}")
    talk.home()
    talk.send("G1 X100 F600")
    said = talk.rest()
    assert "start" in said
    assert talk.printer.counts.resets == 1
    assert talk.printer.world.head.x_mm == pytest.approx(50, abs=1)
    assert not talk.printer.board.carriage.homed
    assert talk.do("M114")[1] == "Resend: 1"


def test_a_pulled_cable_is_noticed_and_can_be_plugged_in_again(console):
    talk = console("unplug_at_command=3&replug_after_s=5")
    talk.do("M400")
    talk.send("M400")
    talk.wait(1.0)
    assert talk.lost == ["the cable was pulled"]
    with pytest.raises(ConnectionError):
        talk.plug_in()
    talk.wait(6.0)
    talk.plug_in()
    assert talk.heard()[0] == "start"


def test_a_stalled_board_says_nothing_and_then_goes_on(console):
    talk = console("stall_at_command=3&stall_s=10")
    talk.do("M400")
    talk.send("M300")
    assert talk.wait(9.0) == []
    assert talk.wait(2.0) == ["ok"]
    assert talk.printer.board.beeps == 1


def test_no_fault_changes_the_physical_side(console):
    clean, noisy = console(), console("corrupt_to_host=0.05&doubled_ok=0.2")
    for talk in (clean, noisy):
        talk.home()
        talk.do("G1 Z5 F60")
        talk.do("M400")
    assert noisy.printer.counts.bytes_corrupted_to_host > 0
    assert noisy.printer.world.read_indicator() == clean.printer.world.read_indicator()


@pytest.mark.parametrize(
    ("url", "said"),
    [
        ("sim://workshop-221", "no simulated printer is called 'workshop-221'"),
        ("sim://workshop-220?speed=-1", "a speed is max, real or a number above 0, not '-1'"),
        ("sim://workshop-220?speed=fast", "a speed is max, real or a number above 0, not 'fast'"),
        ("sim://workshop-220?colour=red", "'colour' is not a key"),
        ("sim://workshop-220?corrupt=2", "a rate must be at least 0 and below 1"),
        ("sim://workshop-220?stall_s=long", "'stall_s' takes a number, not 'long'"),
        ("sim://workshop-220?dialect=chatty", "no simulated dialect is called 'chatty'"),
        ("sim://workshop-220?seed=x", "'seed' takes a whole number, not 'x'"),
    ],
)
def test_a_bad_url_is_refused_with_the_reason(url, said):
    with pytest.raises(ValueError, match=said):
        Description.parse(url)


def test_corrupt_means_both_ways():
    plan = Description.parse("sim://workshop-220?corrupt=0.002").faults
    assert plan == FaultPlan(corrupt_to_printer=0.002, corrupt_to_host=0.002)
