"""Each prompt of a run carries its deed, and while one puts hands in, nothing can move."""

from typing import get_args

import pytest
from workshop import Workshop, obliging, probe_loop, rig_check, said, study_file

from hostctl.config.parts.gauge import Gauge
from hostctl.deeds import (
    ChangeHands,
    ClearAway,
    ClearBed,
    Deed,
    JoinByHand,
    JoinLamp,
    JudgeReading,
    LayBlock,
    LayPlate,
    LiftHold,
    LookAtThermalFault,
    MeterLeads,
    PressPlunger,
    ReadIndicator,
    SayHeatAgain,
    SayPresent,
    SendReading,
    SetGap,
    SetOnBlock,
    TakeBlock,
    TryBlade,
    TurnScrew,
    WatchLamp,
    WatchLeads,
    WireContact,
    ZeroIndicator,
)
from hostctl.machine.permit import MotionForbidden
from hostctl.news import News, PromptKind, PromptOpened, Word, kind_of


def deeds_of(shop: Workshop) -> list[Deed]:
    """What was asked for, in order; while hands are in, somebody tries to allow motion."""

    def allow_motion(item: News) -> None:
        if isinstance(item, PromptOpened):
            assert shop.machine is not None
            if item.prompt.deed.hands_in:
                shop.machine.permit.give()
            with pytest.raises(MotionForbidden):
                shop.machine.permit.check()

    shop.on_news = allow_motion
    assert shop.carry_out(obliging()).complete
    assert shop.printer.offences == []
    return [prompt.deed for prompt in shop.prompts]


def test_a_comparison_asks_for_a_turn_a_setting_and_a_reading():
    clear, turn, setting, zero, *rest = deeds_of(Workshop(study_file(trials=1)))
    assert (clear, setting, zero) == (ClearBed(), SetGap(method="paper-slip"), ZeroIndicator())
    assert isinstance(turn, TurnScrew)
    assert turn.screw == "front-left"
    assert [type(deed) for deed in rest] == [TurnScrew, SetGap, ReadIndicator]


def test_with_a_datum_the_gauge_block_is_laid_and_taken():
    shop = Workshop(rig_check(trials=1, reference="datum", gauge=Gauge(block_mm=4.0)))
    assert deeds_of(shop) == [
        ClearBed(),
        LayBlock(thick_mm=4.0),
        ZeroIndicator(),
        TakeBlock(),
        ReadIndicator(),
    ]


def test_a_reading_that_nobody_typed_and_is_hard_to_believe_is_judged():
    shop = Workshop(probe_loop(trials=2, points=["front-left"]))
    shop.printer.touches_mm = [2.5, 0.01]
    assert deeds_of(shop) == [ClearBed(), JudgeReading(value_mm=2.5)]


def test_a_hold_is_to_be_lifted():
    shop = Workshop(study_file(trials=1))
    answers = iter([Word.DONE, Word.HOLD])

    def person(prompt):
        return said(prompt, next(answers, Word.END))

    assert not shop.carry_out(person).complete
    assert [prompt.deed for prompt in shop.prompts][2] == LiftHold()


def test_each_deed_wants_one_kind_of_answer_and_says_whether_hands_are_in():
    """Eyes alone read the indicator; for all else somebody reaches in, or may."""
    wanted = {
        ClearBed(): PromptKind.CONFIRM,
        ChangeHands(operator="volunteer-b", method="paper-slip"): PromptKind.CONFIRM,
        TurnScrew(screw="back", turn_deg=90, direction=None): PromptKind.CONFIRM,
        SetGap(method="paper-slip"): PromptKind.SET,
        LayBlock(thick_mm=4.0): PromptKind.CONFIRM,
        TakeBlock(): PromptKind.CONFIRM,
        ZeroIndicator(): PromptKind.ZERO,
        ReadIndicator(): PromptKind.READ,
        SendReading(): PromptKind.SEND,
        JudgeReading(value_mm=2.5): PromptKind.CONFIRM,
        LiftHold(): PromptKind.CONFIRM,
        LookAtThermalFault(): PromptKind.CONFIRM,
        SayPresent(): PromptKind.CONFIRM,
        SayHeatAgain(): PromptKind.CHOOSE,
        PressPlunger(): PromptKind.CHOOSE,
        WireContact(): PromptKind.CONFIRM,
        MeterLeads(): PromptKind.CHOOSE,
        JoinLamp(by_eye=True): PromptKind.CHOOSE,
        WatchLeads(): PromptKind.CHOOSE,
        LayPlate(thick_mm=0.5): PromptKind.CONFIRM,
        TryBlade(which="largest-in"): PromptKind.READ,
        JoinByHand(joined=True, by_eye=True): PromptKind.CHOOSE,
        WatchLamp(): PromptKind.CHOOSE,
        SetOnBlock(thick_mm=1.0): PromptKind.CONFIRM,
        ClearAway(): PromptKind.CONFIRM,
    }
    assert {deed: kind_of(deed) for deed in wanted} == wanted
    assert {type(deed) for deed in wanted} == set(get_args(Deed))
    eyes_alone = [ReadIndicator(), SayPresent(), WatchLeads(), WatchLamp()]
    assert [deed for deed in wanted if not deed.hands_in] == eyes_alone
