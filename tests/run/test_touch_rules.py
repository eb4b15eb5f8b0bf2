"""The rules of the touch, each shown to bite: wiring, floor, steps, lamp, proof, heaters, leads."""

import json
import re

import pytest
from bench_files import machine_file
from small_printer import SmallPrinter
from tie_people import SAFE_HEAT, AtTheBench, at_work, chosen, tie, true_gap
from workshop import Workshop, said

from hostctl.choices import BEYOND, DARK, LIT, PULLED
from hostctl.deeds import JoinByHand, MeterLeads, TryBlade, WatchLamp, WatchLeads, WireContact
from hostctl.news import CountdownTicked, HoldBegan, Prompt, PromptOpened, Word
from hostctl.protocol.events import Event, Info
from hostctl.run.desk import Refused
from hostctl.store.rows import TIE_CONTACT, TIE_REFUSED

FIRST = true_gap(trials=1)


def ends_at_hold(prompt: Prompt):
    """Nobody lifts it."""
    return said(prompt, Word.END) if prompt.deed.do == "lift-hold" else None


def z_words(shop: Workshop) -> list[float]:
    """The heights it was sent to, in order."""
    return [
        float(found[1]) for one in shop.printer.commands if (found := re.match(r"G1 Z(\S+)", one))
    ]


def reasons(shop: Workshop) -> list[str]:
    return [item.reason for item in shop.told(HoldBegan) if isinstance(item, HoldBegan)]


def once(deed: type, answer):
    """Answers the first such prompt so; the rest as usual."""
    asked: list[Prompt] = []

    def on_prompt(prompt: Prompt):
        if isinstance(prompt.deed, deed) and not asked:
            asked.append(prompt)
            return answer(prompt)
        return None

    return on_prompt


# ------------------------------------------------------------------ 1: wiring


def test_whoever_did_not_wire_it_unplugged_ends_and_nothing_moves_any_more():
    shop, person = at_work()
    moved: list[int] = []

    def not_wired(prompt: Prompt):
        moved.append(len(shop.printer.moves))
        return said(prompt, Word.END)

    person.on_prompt = once(WireContact, not_wired)
    assert not shop.carry_out(person).complete
    assert len(shop.printer.moves) == moved[0]
    assert "lay-plate" not in person.deeds
    start = shop.prompts[0].detail
    assert "clipped on while the printer was unplugged" in start


def test_wiring_is_confirmed_anew_whenever_the_leads_were_out():
    shop, person = at_work(FIRST)
    shop.carry_out(person)
    assert person.deeds.count("wire-contact") == person.deeds.count("clear-away") == 2


def test_a_voltage_or_a_path_between_nozzle_and_plate_ends_the_run_and_nothing_moves_any_more():
    shop, person = at_work()
    metered: list[int] = []

    def beyond(prompt: Prompt):
        metered.append(len(shop.printer.moves))
        return chosen(prompt, BEYOND)

    person.on_prompt = once(MeterLeads, beyond)
    finished = shop.carry_out(person)
    assert not finished.complete
    assert "the tie is refused: the meter showed 0.5 V or more" in finished.reason
    assert [event.kind for event in shop.store.events if event.kind == TIE_REFUSED]
    assert len(shop.printer.moves) == metered[0]
    assert shop.store.readings == []


def test_the_words_name_the_limits_the_coupler_and_who_comes_first():
    said_of = {}
    for number, (shop, person) in enumerate((at_work(), with_input())):
        person.on_prompt = once(MeterLeads, lambda prompt: said(prompt, Word.END))
        shop.carry_out(person)
        wire = next(prompt for prompt in shop.prompts if isinstance(prompt.deed, WireContact))
        said_of[number] = f"{wire.text} {wire.detail}"
    assert "at most 3 V and 5 mA" in said_of[0]
    assert "isolating coupler" in said_of[1]
    for words in said_of.values():
        assert "unplugged" in words
        assert "maker's manual and your local codes come before" in words


# ------------------------------------------------------------------ 2: the floor, from hands


def test_contact_that_never_comes_ends_at_the_floor_and_the_tie_is_void():
    shop, person = at_work(lamp=lambda closed: False)
    person.on_prompt = lambda prompt: (
        chosen(prompt, LIT if prompt.deed.joined else DARK)
        if isinstance(prompt.deed, JoinByHand)
        else ends_at_hold(prompt)
    )
    shop.carry_out(person)
    (why,) = reasons(shop)
    assert "no contact down to z 0.30 mm, and the floor is at 0.30 mm" in why  # 1.0 - 0.6 - 0.1
    assert "void and begun anew" in why
    lowest_mm = min(z_words(shop))
    assert lowest_mm == pytest.approx(0.30)
    assert z_words(shop)[-1] >= 15.0
    assert [(mark.block, mark.trial, mark.mark) for mark in shop.store.marks] == [(2, None, "void")]


def test_blades_that_are_no_bracket_are_asked_for_again():
    shop, person = at_work()
    typed = iter([0.6, 0.5, 0.4, 0.8, 0.5, 0.6])

    def blades(prompt: Prompt):
        if isinstance(prompt.deed, TryBlade) and (blade := next(typed, None)) is not None:
            return said(prompt, Word.READING, blade)
        return None

    person.on_prompt = blades
    assert shop.carry_out(person).complete
    asked = [prompt for prompt in shop.prompts if isinstance(prompt.deed, TryBlade)]
    assert "must be thinner" in asked[2].detail
    assert "more than 0.2 mm apart" in asked[4].detail
    assert len(asked) == 8  # three times two, and two more at the check


def test_where_all_blades_go_in_the_head_lowers_until_some_is_left_and_they_are_tried_again():
    shop, person = at_work(top_mm=-0.6)  # 1.6 mm below where they are tried first
    assert shop.carry_out(person).complete
    tried = [prompt for prompt in shop.prompts if isinstance(prompt.deed, TryBlade)]
    assert "z 1.00 mm" in tried[0].detail
    # 1.0 went in, and it lowers by no more than a half at once, which is asked for by its height
    assert tried[2].text.startswith("May the head lower 0.50 mm, to z 0.50 mm? Type 1 once more")
    assert "z 0.50 mm" in tried[3].detail
    assert min(z_words(shop)) == pytest.approx(-0.6)


def test_a_thickness_that_no_blade_has_is_a_slip_of_the_pen():
    shop, person = at_work(FIRST)
    person.on_prompt = once(TryBlade, lambda prompt: said(prompt, Word.READING, 50.0))
    assert shop.carry_out(person).complete
    asked = [prompt for prompt in shop.prompts if isinstance(prompt.deed, TryBlade)]
    assert "50 mm is no thickness" in asked[1].detail


# ------------------------------------------------------------------ 3, 4: steps and lamp


def test_each_step_is_short_proven_and_paid_for_with_an_answer():
    """From the lamp's first prompt to `lit`: a step down, its place asked, an answer, and so on."""
    shop, person = at_work(FIRST)
    trace: list[str] = []
    shop.on_news = lambda item: (
        trace.append("asked")
        if isinstance(item, PromptOpened) and isinstance(item.prompt.deed, WatchLamp)
        else None
    )
    shop.printer.before = lambda command: trace.append(command)
    shop.carry_out(person)
    first = trace.index("asked")
    after = [
        one for one in trace[first:] if one == "asked" or one.startswith(("G1", "M400", "M114"))
    ]
    at_z_mm = 0.6
    for number in range(10):
        five = after[4 * number : 4 * number + 4]
        assert five[0] == "asked"
        z_mm = float(five[1].split(" ")[1][1:])
        if z_mm > at_z_mm:
            break
        assert at_z_mm - z_mm <= (0.05 if z_mm >= 0.5 else 0.01) + 1e-9
        assert five[2:] == ["M400", "M114"]
        at_z_mm = z_mm
    assert at_z_mm == 0.43


def test_lit_raises_the_head_at_once_with_no_countdown():
    shop, person = at_work(FIRST)
    shop.carry_out(person)
    lamp = [
        number
        for number, item in enumerate(shop.news)
        if isinstance(item, PromptOpened) and isinstance(item.prompt.deed, WatchLamp)
    ]
    following = shop.news[lamp[0] : lamp[9]]
    assert not any(isinstance(item, CountdownTicked) for item in following)
    after_lit = shop.news[lamp[9] :]
    proof = next(
        n
        for n, item in enumerate(after_lit)
        if isinstance(item, PromptOpened) and isinstance(item.prompt.deed, JoinByHand)
    )
    assert not any(isinstance(item, CountdownTicked) for item in after_lit[:proof])


def test_enter_answers_no_lamp():
    shop, person = at_work(FIRST)
    refused: list[str] = []

    def enter(prompt: Prompt):
        if isinstance(prompt.deed, WatchLamp):
            came = shop.desk.answer(said(prompt))
            assert isinstance(came, Refused)
            refused.append(came.reason)
        return None

    person.on_prompt = enter
    assert shop.carry_out(person).complete
    assert set(refused) == {"say which it is: dark, lit"}


# ------------------------------------------------------------------ 5: proof


@pytest.mark.parametrize("stuck", [True, False])
def test_a_contact_that_does_not_follow_the_hand_is_no_contact(stuck: bool):
    shop, person = at_work(lamp=lambda closed: stuck)
    person.on_prompt = ends_at_hold
    assert not shop.carry_out(person).complete
    assert not any(isinstance(prompt.deed, WatchLamp) for prompt in shop.prompts)
    assert len(reasons(shop)) == 1


def test_contact_lost_during_the_descent_voids_the_tie_homes_anew_and_asks_things_out_before():
    """The clip comes off once the lamp is asked for the third time; somebody puts it on again."""
    shop, person = at_work(FIRST)
    off: list[bool] = []

    def clip(prompt: Prompt):
        if isinstance(prompt.deed, JoinByHand) and len(lamps(shop)) == 10:
            off.append(True)
        person.lamp = lambda closed: closed and not off
        if prompt.deed.do == "lift-hold":
            off.clear()
            shop.on_news = lambda item: None
            person.on_prompt = lambda prompt: None
            person.lamp = lambda closed: closed
        return None

    person.on_prompt = clip
    assert shop.carry_out(person).complete
    assert "does not follow the hand" in reasons(shop)[0]
    assert [(mark.block, mark.round, mark.trial) for mark in shop.store.marks] == [(2, 1, None)]
    held = person.deeds.index("lift-hold")
    assert person.deeds[held : held + 3] == ["lift-hold", "clear-away", "wire-contact"]
    assert shop.printer.moves.count("G28") == 2
    assert [one.place.round for one in shop.store.readings if one.place.block == 2] == [2, 2]


def lamps(shop: Workshop) -> list[Prompt]:
    return [prompt for prompt in shop.prompts if isinstance(prompt.deed, WatchLamp)]


def test_contact_above_what_the_blades_say_is_false():
    shop, person = at_work(FIRST)
    person.on_prompt = lambda prompt: (
        chosen(prompt, LIT) if isinstance(prompt.deed, WatchLamp) else ends_at_hold(prompt)
    )
    assert not shop.carry_out(person).complete
    assert "contact came at z 0.60 mm, above 0.50 mm" in reasons(shop)[0]
    assert not any(event.kind == TIE_CONTACT for event in shop.store.events)
    assert z_words(shop)[-1] >= 15.0


class WithInput(SmallPrinter):
    """Its board reports an input that tells of contact; it may bounce."""

    person: AtTheBench
    bounces_at_mm = -9.0
    looks = 0

    def _told(self, code: str, words: dict[str, float]) -> tuple[Event, ...]:
        if code != "M119":
            return super()._told(code, words)
        self.looks += 1
        closed = self.person.closed
        if self.at.z <= self.bounces_at_mm:
            closed = bool(self.looks % 2)
        return (Info(text=f"z_min: {'TRIGGERED' if closed else 'open'}"),)


def with_input(**changes: float) -> tuple[Workshop, AtTheBench]:
    study = true_gap(tie(contact="input", input="z_min", isolated=True), trials=1)
    printer = WithInput()
    shop = Workshop(study, file=machine_file(heat=SAFE_HEAT), printer=printer)
    printer.person = AtTheBench(printer)
    for name, value in changes.items():
        setattr(printer, name, value)
    return shop, printer.person


def test_an_input_is_looked_at_step_by_step_and_nobody_is_asked():
    shop, person = with_input()
    assert shop.carry_out(person).complete
    assert "watch-lamp" not in person.deeds
    contact = json.loads(next(e.data for e in shop.store.events if e.kind == TIE_CONTACT))
    assert (contact["open_z_mm"], contact["closed_z_mm"]) == (0.44, 0.43)
    assert shop.printer.offences == []


def test_an_input_that_the_controller_does_not_report_is_told_of_before_anything_moves():
    study = true_gap(tie(contact="input", input="zz_min", isolated=True), trials=1)
    printer = WithInput()
    shop = Workshop(study, file=machine_file(heat=SAFE_HEAT), printer=printer)
    printer.person = AtTheBench(printer)
    with pytest.raises(ExceptionGroup) as caught:
        shop.carry_out(printer.person)
    assert "it reports no such input, of these: z_min" in str(caught.value.exceptions[0])
    assert (shop.printer.moves, shop.prompts, shop.store.run) == ([], [], None)


def test_an_input_that_bounces_takes_the_head_up_and_voids_the_tie():
    shop, person = with_input(bounces_at_mm=0.47)
    person.on_prompt = ends_at_hold
    assert not shop.carry_out(person).complete
    assert "contact bounces" in reasons(shop)[0]
    assert min(z_words(shop)) == pytest.approx(0.47)
    assert z_words(shop)[-1] >= 15.0


# ------------------------------------------------------------------ 6, 7: heaters, leads


def test_a_heater_that_goes_on_meanwhile_takes_the_head_up():
    shop, person = at_work(FIRST)

    def heat(prompt: Prompt):
        if len(lamps(shop)) == 4:
            shop.printer.bed_target_c = 60.0
        return ends_at_hold(prompt)

    person.on_prompt = heat
    assert not shop.carry_out(person).complete
    assert "bed heating to 60 °C" in reasons(shop)[0]
    assert z_words(shop)[-1] >= 15.0


def test_leads_that_are_pulled_hold_the_run_before_the_first_descent():
    shop, person = at_work(FIRST)
    person.on_prompt = lambda prompt: (
        chosen(prompt, PULLED) if isinstance(prompt.deed, WatchLeads) else ends_at_hold(prompt)
    )
    assert not shop.carry_out(person).complete
    assert "pulled, caught or dragged" in reasons(shop)[0]
    assert min(z_words(shop)) >= 5.0


def test_while_things_lie_in_the_machine_the_head_goes_sideways_above_them_and_slowly_once():
    """Clear height 10 mm; plate, clip and leads stand 5 mm."""
    shop, person = at_work(FIRST)
    lows: list[float] = []

    def look(command: str) -> None:
        if command.startswith("G1 X") and person.plate_in:
            lows.append(shop.printer.at.z)

    shop.printer.before = look
    assert shop.carry_out(person).complete
    assert min(lows) == pytest.approx(15.0)
    slow = [command for command in shop.printer.commands if re.match(r"G1 X.* F600$", command)]
    assert len(slow) == 4  # away and back, at the tie and at its check


def test_things_are_asked_out_before_homing_after_a_reset_with_the_plate_in():
    shop, person = at_work(FIRST)
    homed_with_plate: list[bool] = []

    def look(command: str) -> None:
        if command == "G28":
            homed_with_plate.append(person.plate_in)

    shop.printer.before = look
    failed: list[bool] = []

    def fail(prompt: Prompt):
        if len(lamps(shop)) == 4 and not failed:
            failed.append(True)
            shop.printer.fail("reset")
            return said(prompt, Word.HOLD)
        return None

    person.on_prompt = fail
    assert shop.carry_out(person).complete
    assert homed_with_plate == [False, False]
