"""A thermal fault, over a real pseudo-terminal: heard at once, named, and left to a person."""

from pathlib import Path

import pytest
from tty_board import TtyBoard
from tty_run import AT_ONCE, TtyRun
from workshop import Person, obliging, said, study_file

from hostctl.config.study import Warmth
from hostctl.errors import MachineError, ThermalFault
from hostctl.news import News, Prompt, PromptKind, PromptOpened, Word

LOOK = "THERMAL FAULT, or taken for one."
HELD = "The run is on hold."


class Runaway:
    """A heater runs away while the screw is being set, hands in the machine; nobody answers that.

    Afterwards a person answers what `then` says, having switched the machine off and on.
    """

    def __init__(self, then: Person) -> None:
        self._then = then
        self._at_work: Prompt | None = None
        self.struck = False
        self.boots_at_look = 0
        self.leaves_it_on = False

    def look(self, news: News, board: TtyBoard) -> None:
        if not isinstance(news, PromptOpened):
            return
        printer = board.printer.board
        if news.prompt.kind is PromptKind.SET and not self.struck:
            self.struck = True
            printer.strikes.heat_runs_away()
        if news.prompt.text.startswith(LOOK):
            self.boots_at_look = printer.carriage.boot
            if not self.leaves_it_on:
                printer.reset()

    def answer(self, prompt: Prompt):
        if prompt.kind is PromptKind.SET and self._at_work is None:
            self._at_work = prompt
            return None  # hands are in
        return self._then(prompt)


def run_with(study, described: str, runaway: Runaway, **more: object) -> TtyRun:
    run = TtyRun(study, described, **more)
    run.on_news = runaway.look
    return run


def ending_at(words: str) -> Person:
    """Ends the run at the first prompt with these words."""
    rest = obliging()

    def answer(prompt: Prompt):
        return said(prompt, Word.END) if words in prompt.text else rest(prompt)

    return answer


def comparison(**changes: object):
    return study_file(trials=1, cycle=AT_ONCE, **changes)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("kind", "words"),
    [("workshop-220", "thermal runaway, heater E0"), ("workshop-tri", "heater E0 is not heating")],
)
@pytest.mark.parametrize("halts", [0, 1], ids=["stops and goes on acknowledging", "halts"])
async def test_it_is_told_at_once_while_a_prompt_is_open_and_asked_about_alone(
    kind: str, words: str, halts: int, tmp_path: Path
):
    runaway = Runaway(obliging())
    run = run_with(comparison(), f"sim://{kind}?thermal_halts={halts}", runaway)
    finished, board = await run.carry_out(tmp_path / "line", runaway.answer)
    assert finished.complete
    assert f"a thermal fault: {words}" in run.holds[0]
    assert "Switch the machine off at the mains" in run.holds[0]
    texts = [prompt.text for prompt in run.prompts]
    at = next(number for number, text in enumerate(texts) if text.startswith(LOOK))
    assert run.prompts[at - 1].kind is PromptKind.SET  # nothing was answered in between
    assert texts[at + 1].startswith(HELD)
    assert runaway.boots_at_look == 1  # not opened anew, so not reset
    assert board.printer.board.carriage.boot >= 2  # once it had been looked at
    kinds = [event.kind for event in run.store.events]
    assert kinds.count("thermal fault") == kinds.count("thermal fault looked at") == 1
    assert kinds.index("thermal fault") < kinds.index("thermal fault looked at")


async def test_to_a_board_that_stopped_nothing_goes_but_what_makes_it_safe(tmp_path: Path):
    runaway = Runaway(ending_at(LOOK))
    runaway.leaves_it_on = True
    run = run_with(comparison(), "sim://workshop-220?thermal_halts=0", runaway)
    finished, board = await run.carry_out(tmp_path / "line", runaway.answer)
    assert not finished.complete
    assert "switch the machine off at the mains" in finished.reason
    printer = board.printer
    _, _, after = run.wire.partition("< Error:thermal runaway")
    sent = [line.split(" > ")[1] for line in after.splitlines() if " > " in line]
    assert sent == ["M104 S0\\nM140 S0"]
    assert printer.board.carriage.boot == 1
    assert board.machine.troubles.thermal_fault is not None
    with pytest.raises(ThermalFault):
        await board.machine.connect()


@pytest.mark.slow
async def test_what_followed_the_first_error_line_is_kept(tmp_path: Path):
    runaway = Runaway(obliging())
    run = run_with(comparison(), "sim://workshop-220", runaway)
    await run.carry_out(tmp_path / "line", runaway.answer)
    said_of_it = [event.text for event in run.store.events if event.kind == "machine said"]
    assert said_of_it[0] == "thermal runaway, heater E0"
    assert said_of_it[1].startswith("halted")


@pytest.mark.slow
async def test_a_heated_study_ends_and_is_not_gone_on_with(tmp_path: Path):
    study = comparison(warmth=Warmth(bed_c=40.0, soak_s=0.0))
    runaway = Runaway(obliging())
    run = run_with(study, "sim://workshop-220?thermal_halts=0", runaway)
    finished, board = await run.carry_out(tmp_path / "line", runaway.answer)
    assert not finished.complete
    assert "this study heats the bed, so it is not gone on with" in finished.reason
    assert [one.text for one in board.printer.board.obeyed].count("M140 S40") == 1
    assert board.printer.world.bed_heater.target_c == 0
    record = run.store.record()
    again = TtyRun(study, "sim://workshop-220", store=run.store)
    with pytest.raises(MachineError, match="had a thermal fault"):
        await again.carry_out(tmp_path / "again", obliging(), resume=record)


@pytest.mark.slow
async def test_a_board_that_is_still_stopped_is_not_taken_for_homed(tmp_path: Path):
    """It acknowledges all and does nothing; nobody switched it off."""
    runaway = Runaway(obliging())
    runaway.leaves_it_on = True
    run = run_with(comparison(), "sim://workshop-220?thermal_halts=0", runaway, keep_on_open=True)
    runaway_answer = runaway.answer

    def person(prompt: Prompt):
        ends = prompt.text.startswith(HELD) and len(run.holds) > 2
        return said(prompt, Word.END) if ends else runaway_answer(prompt)

    finished, board = await run.carry_out(tmp_path / "line", person)
    assert not finished.complete
    assert "it acknowledges orders and does not carry them out" in run.holds[2]
    assert not board.machine.homed


@pytest.mark.slow
@pytest.mark.parametrize("command", [20, 30])
async def test_in_mid_motion_it_is_named_too(command: int, tmp_path: Path):
    described = f"sim://workshop-220?thermal_at_command={command}"
    run = TtyRun(comparison(), described)
    await run.carry_out(tmp_path / "line", ending_at(LOOK))
    assert "a thermal fault: thermal runaway, heater E0" in run.holds[0]


async def test_a_board_that_stops_itself_and_gives_no_reason_is_taken_to_have_had_one(
    tmp_path: Path,
):
    run = TtyRun(comparison(), "sim://workshop-220")

    def halt_itself(news: News, board: TtyBoard) -> None:
        if isinstance(news, PromptOpened) and news.prompt.kind is PromptKind.SET:
            board.printer.board.stop_itself(halts=True)
            board.printer.board.say("Error:Printer halted. kill() called!")

    def person(prompt: Prompt):
        return None if prompt.kind is PromptKind.SET else ending_at(LOOK)(prompt)

    run.on_news = halt_itself
    await run.carry_out(tmp_path / "line", person)
    assert "has stopped itself: Printer halted. kill() called! Take it for" in run.holds[0]
    assert run.prompts[-1].text.startswith(LOOK)
