"""The contact that is lost, stuck, bounces or comes late; and how the controller tells of it."""

from collections import Counter

import pytest
from at_the_bench import POINT, go, lay_plate, step_down
from hostctl_simulators.physical.bench_faults import BenchFaults
from hostctl_simulators.physical.contact import Fault
from hostctl_simulators.physical.printers import WORKSHOP_220
from hostctl_simulators.physical.world import World
from hostctl_simulators.simulated_printer import Description


def world_with(seed: int = 7, **faults: float) -> World:
    world = World(WORKSHOP_220, seed, faults=BenchFaults(**faults))
    lay_plate(world, 0.5)
    return world


def test_a_contact_that_is_lost_never_closes_nor_does_it_when_joined_by_hand():
    world = world_with(contact_lost=1)
    assert step_down(world, from_z_mm=0.7, step_mm=0.01, floor_z_mm=0.2) is None
    world.join_leads(True)
    assert not world.contact_closed()


def test_a_contact_that_is_stuck_is_closed_up_in_the_air():
    world = world_with(contact_stuck=1)
    assert world.contact_closed()


def test_a_contact_that_bounces_is_found_open_at_every_other_look_and_open_when_it_is():
    world = world_with(contact_bounces=1)
    assert not any(world.contact_closed() for _ in range(4))
    world.join_leads(True)
    looks = [world.contact_closed() for _ in range(6)]
    assert sorted(looks) == [False] * 3 + [True] * 3
    assert looks[0] != looks[1]


def test_a_late_contact_closes_only_when_pressed_in_so_far():
    world = world_with(contact_late=1, contact_late_mm=0.04)
    assert step_down(world, from_z_mm=0.7, step_mm=0.001) is not None
    assert 0.04 <= world.lookout.deepest_mm < 0.0411
    world.join_leads(True)
    assert world.contact_closed()


@pytest.mark.parametrize("joined", [True, False])
def test_a_sound_contact_tells_what_a_hand_joins(joined):
    world = world_with()
    world.join_leads(joined)
    assert world.contact_closed() is joined


def faults_of(seed: int, descents: int, **faults: float) -> list[Fault | None]:
    """What is wrong at the bottom of each of so many descents."""
    world, found = world_with(seed, **faults), []
    for _ in range(descents):
        go(world, *POINT, 0.5 + world.bed.height_mm(*POINT) - 0.03)
        found.append(world.contact.fault)
    return found


def test_faults_strike_their_share_of_descents_and_the_same_ones_by_the_same_seed():
    shares = {
        "contact_lost": 0.1,
        "contact_stuck": 0.1,
        "contact_bounces": 0.1,
        "contact_late": 0.1,
    }
    found = faults_of(3, 400, **shares)
    assert found[:50] == faults_of(3, 50, **shares)
    assert found[:50] != faults_of(4, 50, **shares)
    counted = Counter(found)
    for earlier, fault in enumerate(Fault):  # each of what the ones before it left over
        wanted = 400 * 0.1 * 0.9**earlier
        assert counted[fault] == pytest.approx(wanted, abs=4 * wanted**0.5)


def test_one_fault_more_leaves_the_others_where_they_were():
    alone = faults_of(3, 100, contact_lost=0.2)
    both = faults_of(3, 100, contact_lost=0.2, contact_late=0.2)
    assert [each for each in both if each is Fault.LOST] != []
    assert all(b is Fault.LOST for a, b in zip(alone, both, strict=True) if a is Fault.LOST)


def test_most_faults_strike_on_the_way_down_and_last_until_the_next_descent():
    late_ones = 0
    for seed in range(60):
        world = world_with(seed, contact_stuck=0.999)
        go(world, *POINT, 2.0)
        in_the_air = world.contact_closed()
        go(world, *POINT, 0.5 + world.bed.height_mm(*POINT) - 0.03)
        descent = world.descents
        at_the_plate = world.contact_closed()
        go(world, *POINT, 15.0)
        assert world.descents == descent
        assert world.contact_closed() == at_the_plate
        late_ones += at_the_plate and not in_the_air
    assert 20 <= late_ones <= 55


@pytest.mark.parametrize(
    ("dialect", "told"),
    [
        ("classic", ["contact: open", "contact: TRIGGERED"]),
        ("old", ["contact: open", "contact: TRIGGERED"]),
        ("terse", ["contact:open", "contact:triggered"]),
    ],
)
def test_the_controller_reports_the_contact_as_an_input(console, dialect, told):
    talk = console(f"dialect={dialect}")
    seen = []
    for joined in (False, True):
        talk.printer.world.join_leads(joined)
        seen += [line for line in talk.do("M119") if line.startswith("contact")]
    assert seen == told


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("contact_lost=1.5", "a share of descents lies between 0 and 1"),
        ("springs_n_per_mm=-1", "'springs_n_per_mm' must be at least 0"),
        ("residue_insulates=yes", "'residue_insulates' takes a whole number, not 'yes'"),
        ("contact_late_mm=x", "'contact_late_mm' takes a number, not 'x'"),
    ],
)
def test_a_bad_key_of_the_bench_is_refused_with_the_reason(query, said):
    with pytest.raises(ValueError, match=said):
        Description.parse(f"sim://workshop-220?{query}")


def test_the_bench_has_keys_beside_those_of_the_cable():
    parsed = Description.parse(
        "sim://workshop-220?contact_late=0.2&lost_ok=0.1&springs_n_per_mm=20"
    )
    assert parsed.bench_faults == BenchFaults(contact_late=0.2, springs_n_per_mm=20)
    assert parsed.faults.lost_ok == 0.1
