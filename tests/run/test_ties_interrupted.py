"""A study of the true gap, killed at a prompt and gone on with: nothing is lost or doubled."""

import pytest
from tie_people import AtTheBench, at_work, tie, true_gap
from workshop import Workshop

from hostctl.news import Prompt
from hostctl.store.rows import TIE_CONTACT

STUDY = true_gap(tie(times=2, checks=0), trials=2)
PROMPTS = 75
"""Of a run of it that nothing breaks into, at least."""


class Killed(Exception):
    """The plug was pulled while a prompt was open."""


def killed_at(number: int, shop: Workshop, person: AtTheBench) -> None:
    """Goes on, or begins, until this prompt; a plate that lay in the machine still lies there."""
    asked: list[Prompt] = []

    def kill(prompt: Prompt):
        asked.append(prompt)
        if len(asked) == number:
            raise Killed
        return None

    person.on_prompt = kill
    begun = shop.store.run is not None
    with pytest.raises(ExceptionGroup) as caught:
        shop.carry_out(person, resume=begun)
    assert caught.group_contains(Killed)


def gone_on(shop: Workshop, person: AtTheBench) -> tuple[Workshop, AtTheBench]:
    """The same bench, machine and record in a new program."""
    later = Workshop(shop.study, file=shop.file, store=shop.store)
    return later, AtTheBench(later.printer, plate_in=person.plate_in)


def test_killed_in_mid_touch_it_says_what_is_left_in_and_asks_it_out_before_all_else():
    shop, person = at_work(STUDY)
    lamp = 1 + undisturbed().index("watch-lamp")
    killed_at(lamp, shop, person)
    (ended,) = [event.text for event in shop.store.events if event.kind == "ended"]
    assert "the plate, its lead, the lamp's leads and all blades may still be in" in ended
    assert "home nothing until they are out" in ended
    shop, person = gone_on(shop, person)
    assert shop.carry_out(person, resume=True).complete
    assert person.deeds[:2] == ["clear-bed", "clear-away"]
    assert "Next you are asked to take out the plate" in shop.prompts[0].detail
    (ended,) = [event.text for event in shop.store.events if event.kind == "ended"][1:]
    assert "still be in" not in ended


def undisturbed() -> list[str]:
    """What is asked, in order, where nothing breaks into it."""
    shop, person = at_work(STUDY)
    shop.carry_out(person)
    return person.deeds


@pytest.mark.parametrize("at", range(1, PROMPTS, 7))
def test_killed_twice_it_ends_with_every_trial_once_and_no_homing_over_a_plate(at: int):
    shop, person = at_work(STUDY)
    killed_at(at, shop, person)
    shop, person = gone_on(shop, person)
    killed_at(5 + at % 11, shop, person)
    shop, person = gone_on(shop, person)
    homed_over_plate: list[bool] = []

    def look(command: str) -> None:
        if command == "G28":
            homed_over_plate.append(person.plate_in)

    shop.printer.before = look
    assert shop.carry_out(person, resume=True).complete
    assert homed_over_plate == [False]
    assert shop.printer.offences == []
    counting = [one.kept.place for one in shop.store.counting]
    own = [(place.block, place.trial) for place in counting if place.method != "tie"]
    assert own == [(1, 1), (1, 2)]
    last = counting[-1].block
    assert [(place.block, place.trial) for place in counting][-2:] == [(last, 1), (last, 2)]
    contacts = [event for event in shop.store.events if event.kind == TIE_CONTACT]
    ties = [place for place in counting if place.method == "tie"]
    assert len(contacts) >= len(ties) >= 4
    assert shop.desk.course.trials_done == 2
