"""A run rebuilt from its record goes on exactly as one that never stopped, however often."""

from dataclasses import replace

import pytest
from a_place import A_PLACE
from bench_files import machine_file
from going import Going, a_reading, schedule_for
from hypothesis import given
from hypothesis import strategies as st
from paper_store import PaperStore
from test_real_store import carried_out
from workshop import EPOCH, Workshop, obliging, probe_loop, said, study_file

from hostctl.config.study import Gauge, Method
from hostctl.news import Prompt, Word
from hostctl.records import Place
from hostctl.store.rows import NewMark, NewReading, NewRun
from hostctl.store.store import Store

METHODS = [Method(name=name, instruction="Do it.") for name in ("paper-slip", "feeler-gauge")]
FOUR_BLOCKS = {"methods": METHODS, "points": ["front-left", "back-left"]}
A_RUN = NewRun(
    study="small",
    title="A small study",
    kind="comparison",
    machine="bench",
    reference="first",
    study_text="",
    machine_text="",
    seed=7,
    started_at=EPOCH,
    program="hostctl",
)


def as_stored(place: Place, value_mm: float) -> NewReading:
    return NewReading(
        place=place,
        is_zero=place.trial == 0,
        reading=a_reading(value_mm),
        prompted_at=None,
        answered_at=None,
        channel="terminal",
    )


def a_mark(place: Place, mark: str, *, whole_block: bool = False) -> NewMark:
    return NewMark(
        run=place.run,
        block=place.block,
        round=place.round,
        trial=None if whole_block else place.trial,
        attempt=None if whole_block else place.attempt,
        mark=mark,
        reason="why",
        at=EPOCH,
    )


class OnRecord:
    """A run's progress, and everything that happens to it written down as a run does."""

    def __init__(self, order: str) -> None:
        self.study = study_file(**FOUR_BLOCKS, order=order, trials=2)
        self.schedule = schedule_for(self.study, 7)
        self.live = Going(self.study, machine_file())
        self.store = PaperStore()
        self.store.run = A_RUN

    def happens(self, word: str, block: int) -> None:
        trial = self.live.next()
        if word == "block":
            of_block = next(one for one in self.schedule if one.block == block)
            place = self.live.place(of_block)
            self.store.marks.append(a_mark(place, "void", whole_block=True))
            self.live.progress.begin_again(block)
        elif trial is not None:
            self._to_a_trial(word, self.live.place(trial))

    def _to_a_trial(self, word: str, at: Place) -> None:
        match word:
            case "keep":
                value_mm = 0.01 * (1 + len(self.store.readings))
                self.store.readings.append(as_stored(at, value_mm))
                self.live.progress.keep(at, a_reading(value_mm))
            case "skip" if at.trial > 0:
                self.store.marks.append(a_mark(at, "skipped"))
                self.live.progress.skip(at)
            case "redo" | "redo the last":
                last = self.live.progress.last_kept(at.block) if word == "redo the last" else None
                self.store.marks.append(a_mark(last or at, "void"))
                self.live.progress.void(last or at)

    def rebuilt(self) -> Going:
        return Going(self.study, machine_file(), record=self.store.record())

    def seen(self, going: Going) -> object:
        places = [going.place(trial) for trial in self.schedule]
        zeros = {place.block: going.progress.zero_mm(place) for place in places}
        so_far, done = going.progress.so_far, going.progress.trials_done
        happened = dict(so_far.kept), set(so_far.done), dict(so_far.rounds), dict(so_far.attempts)
        return going.next(), places, zeros, going.begun_blocks(), done, happened


words = st.sampled_from(
    ["keep", "keep", "keep", "keep", "keep", "skip", "redo", "redo the last", "block"]
)


@given(
    order=st.sampled_from(["blocked", "mixed"]),
    said_of=st.lists(st.tuples(words, st.integers(1, 4)), max_size=40),
)
def test_what_a_record_says_is_what_had_come_of_the_run(order: str, said_of: list):
    run = OnRecord(order)
    for word, block in said_of:
        run.happens(word, block)
        assert run.seen(run.rebuilt()) == run.seen(run.live)


def test_a_trial_redone_twice_and_resumed_is_the_third_attempt_though_the_marks_come_in_any_order():
    run = OnRecord("blocked")
    for word in ("keep", "redo", "redo"):
        run.happens(word, 1)
    run.store.marks.reverse()
    trial = run.schedule[1]
    assert run.rebuilt().place(trial).attempt == 3


def test_a_block_begun_three_times_is_resumed_in_its_third_round_and_the_others_in_theirs():
    run = OnRecord("blocked")
    for word in ("keep", "keep", "block", "keep", "block", "keep", "keep", "redo"):
        run.happens(word, 1)
    rebuilt = run.rebuilt()
    assert [rebuilt.place(trial).round for trial in run.schedule[::3]] == [3, 1, 1, 1]
    at = rebuilt.place(rebuilt.next() or run.schedule[-1])
    assert (at.block, at.round, at.trial, at.attempt) == (1, 3, 2, 2)
    assert (
        rebuilt.progress.zero_mm(replace(A_PLACE, block=1)) == 0.04
    )  # of this round, the fourth kept


def test_just_after_resuming_only_the_last_reading_of_its_own_block_can_be_redone():
    run = OnRecord("blocked")
    for _ in range(4):
        run.happens("keep", 1)
    last = run.rebuilt().progress.last_kept(2)
    assert last is not None
    assert (last.block, last.trial) == (2, 0)
    assert run.rebuilt().progress.last_kept(1) is None


# ------------------------------------------------------------------ whole runs


def answering(word_at: dict[int, Word]):
    """Obliging, but says these words to the prompts of these numbers, counted from 1."""
    asked: list[Prompt] = []
    rest = obliging()

    def answer(prompt: Prompt):
        asked.append(prompt)
        word = word_at.get(len(asked))
        return rest(prompt) if word is None else said(prompt, word)

    return answer


@pytest.mark.slow
async def test_a_run_stopped_three_times_in_one_block_keeps_every_attempt_apart(tmp_path):
    """The database refuses a second reading of the same place, so a wrong count stops the run."""
    async with Store.opened(tmp_path / "runs.db") as store:
        run = (await carried_out(store, answering({10: Word.REDO, 14: Word.END}), None)).run
        for stop_at in (13, 14):
            stopped = await store.record(run)
            words = {7: Word.REDO, stop_at: Word.END}
            assert not (await carried_out(store, answering(words), stopped)).complete
        last = await carried_out(store, obliging(), await store.record(run))
        record = await store.record(run)
    assert last.complete
    rounds = {one.kept.place.round for one in record.readings if one.kept.place.block == 1}
    assert rounds == {1, 2, 3, 4}
    counting = [one for one in record.readings if one.void is None and not one.kept.is_zero]
    places = sorted((one.kept.place.block, one.kept.place.trial) for one in counting)
    assert places == [(block, trial) for block in (1, 2) for trial in (1, 2, 3)]


def stopped_and_resumed(shop: Workshop, *stops_at: int) -> Workshop:
    """The run ended at these prompts, one after the other, each time gone on with by a new shop."""
    for n, stop_at in enumerate(stops_at):
        shop.carry_out(answering({stop_at: Word.END}), resume=n > 0)
        shop = Workshop(shop.study, store=shop.store)
    assert shop.carry_out(obliging(), resume=True).complete
    return shop


def test_each_block_with_a_gauge_block_has_its_zero_taken_again_when_resumed_within():
    study = study_file(**FOUR_BLOCKS, reference="datum", trials=1, gauge=Gauge(block_mm=4.0))
    shop = stopped_and_resumed(Workshop(study), 6, 12)
    zeros = [(one.place.block, one.place.round) for one in shop.store.readings if one.is_zero]
    assert zeros == [(1, 1), (1, 2), (2, 1), (2, 2), (3, 1), (4, 1)]
    assert [mark.reason for mark in shop.store.marks] == ["zero lost", "zero lost"]
    assert len(shop.store.counting) == 4


def test_a_probe_whose_readings_are_counted_from_the_first_begins_its_block_again():
    """Its own zero is the datum only where the study says so."""
    shop = Workshop(probe_loop(reference="first"))
    shop.printer.touches_mm = [0.01 * n for n in range(20)]
    began: list[str] = []

    def fail(sent: str) -> None:
        if sent.startswith("G30"):
            began.append(sent)
            if len(began) == 3:
                shop.printer.fail("reset")

    shop.printer.before = fail
    assert shop.carry_out(obliging()).complete
    assert [(mark.block, mark.trial, mark.reason) for mark in shop.store.marks] == [
        (1, None, "zero lost")
    ]
    assert [one.place.round for one in shop.store.readings if one.place.block == 1][:3] == [1, 1, 2]


def test_a_resumed_run_goes_by_its_own_seed_whatever_seed_is_given_now():
    study = study_file(**FOUR_BLOCKS, trials=1)
    shop = Workshop(study, seed=11)
    shop.carry_out(answering({12: Word.END}))
    later = Workshop(study, store=shop.store, seed=5)
    assert later.carry_out(obliging(), resume=True).complete
    whole = Workshop(study, seed=11)
    whole.carry_out(obliging())
    assert [one.kept.place.method + one.kept.place.point for one in shop.store.counting] == [
        one.kept.place.method + one.kept.place.point for one in whole.store.counting
    ]
    one, other = (schedule_for(study, seed) for seed in (5, 11))
    assert one != other  # else nothing is shown
