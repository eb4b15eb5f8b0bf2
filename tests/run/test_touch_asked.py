"""A touch as it is asked for: what comes between, what may be said, and what motion follows."""

from test_touch_rules import FIRST, ends_at_hold, lamps, once, reasons
from tie_people import at_work, tie, true_gap
from workshop import said

from hostctl.deeds import JoinLamp, TryBlade, WatchLamp
from hostctl.news import CountdownTicked, Prompt, PromptOpened, Word
from hostctl.run.desk import Refused


def test_a_head_that_is_not_let_lower_stays_and_blades_are_asked_for_anew():
    shop, person = at_work(FIRST)
    typed = iter([1.0, 1.0, 0.1])  # a slip of the pen, twice, and then not
    moved: list[int] = []

    def blades(prompt: Prompt):
        if isinstance(prompt.deed, TryBlade):
            moved.append(len(shop.printer.moves))
            if (blade := next(typed, None)) is not None:
                return said(prompt, Word.READING, blade)
        return None

    person.on_prompt = blades
    assert shop.carry_out(person).complete
    assert moved[0] == moved[3]
    asked = [prompt for prompt in shop.prompts if isinstance(prompt.deed, TryBlade)]
    assert "The head did not lower." in asked[3].detail


def test_a_bed_below_the_travel_is_told_of_before_any_countdown():
    """Blades say 1 mm is free under a nozzle at z 0.5: the plate lies below where travel ends."""
    shop, person = at_work(true_gap(tie(plate_mm=0.0), trials=1), top_mm=-2.6)
    person.on_prompt = ends_at_hold
    assert not shop.carry_out(person).complete
    (why,) = reasons(shop)
    assert "the bed lies below z -2 mm, where the travel ends; nothing was sent" in why
    assert "Turn the bed up by hand" in why
    assert not any(
        isinstance(item, CountdownTicked) and "z -2.5" in item.what for item in shop.news
    )


def test_the_lamp_hangs_on_the_leads_before_their_slack_is_shown_and_is_dark():
    shop, person = at_work(FIRST)
    shop.carry_out(person)
    at = person.deeds.index("meter-leads")
    assert person.deeds[at : at + 3] == ["meter-leads", "join-lamp", "watch-leads"]
    (row, *_) = [one for one in shop.prompts if isinstance(one.deed, JoinLamp)]
    assert "the nozzle's lead, the lamp with its own battery, the plate's lead" in row.text
    assert "The free lead is a third one" in row.detail


def test_a_lamp_that_is_lit_as_it_is_hung_on_the_leads_is_no_contact():
    shop, person = at_work(FIRST, lamp=lambda closed: True)
    person.on_prompt = ends_at_hold
    assert not shop.carry_out(person).complete
    assert "contact before the leads are joined" in reasons(shop)[0]
    assert "watch-leads" not in person.deeds


def test_each_prompt_of_a_touch_that_motion_follows_says_so():
    """What was asked last before a move."""
    shop, person = at_work(FIRST)
    silent: list[str] = []
    opened: list[Prompt] = []

    def look(command: str) -> None:
        if command.startswith("G1") and opened and not opened[-1].moves_next:
            silent.append(opened[-1].text)

    shop.on_news = lambda item: (
        opened.append(item.prompt) if isinstance(item, PromptOpened) else None
    )
    shop.printer.before = look
    assert shop.carry_out(person).complete
    assert silent == []


def test_redo_in_mid_touch_takes_the_head_up_and_contact_is_proven_anew():
    shop, person = at_work(FIRST)
    again_at: list[tuple[int, float]] = []

    def redo(prompt: Prompt):
        if len(lamps(shop)) == 4 and not again_at:
            again_at.append((len(person.deeds), 0.0))
            return said(prompt, Word.REDO)
        if len(again_at) == 1:
            again_at.append((len(person.deeds), shop.printer.at.z))
        return None

    person.on_prompt = redo
    assert shop.carry_out(person).complete
    (at, _), (_, stood_mm) = again_at
    assert person.deeds[at : at + 4] == ["join-by-hand"] * 3 + ["watch-lamp"]
    assert stood_mm >= 15.0
    assert shop.printer.offences == []


def test_no_observation_of_a_tie_within_a_study_can_be_skipped():
    shop, person = at_work(FIRST)
    refused: set[str] = set()

    def skip(prompt: Prompt):
        if prompt.place is not None and prompt.place.method == "tie":
            assert not prompt.may_skip
            came = shop.desk.answer(said(prompt, Word.SKIP))
            assert isinstance(came, Refused)
            refused.add(came.reason)
        return None

    person.on_prompt = skip
    assert shop.carry_out(person).complete
    assert refused == {"the study can't do without its tie; redo does this observation again"}
    ties = [one for one in shop.store.readings if one.place.method == "tie"]
    assert len(ties) == 4


def test_of_a_tie_study_each_observation_is_a_trial_that_may_be_skipped():
    study = true_gap(kind="tie", methods=[], operators=["ann"], trials=3)
    shop, person = at_work(study)
    person.on_prompt = once(WatchLamp, lambda prompt: said(prompt, Word.SKIP))
    assert shop.carry_out(person).complete
    assert [one.place.trial for one in shop.store.readings] == [2, 3]
