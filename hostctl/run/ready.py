"""Getting ready: whatever is still to be done before a step can be carried out."""

from dataclasses import replace

from hostctl.config.study import Warmth
from hostctl.config.study_kind import words_of
from hostctl.machine.machine import Machine
from hostctl.news import Moving
from hostctl.records import Heat
from hostctl.run import wording
from hostctl.run.asking import Asking
from hostctl.run.desk import Desk
from hostctl.run.holds.hold_wording import ZERO_AGAIN, taken_again
from hostctl.run.holds.holding import Holding
from hostctl.run.holds.watch import Watch
from hostctl.run.order import RunOrder
from hostctl.run.procedures.course import Course
from hostctl.run.procedures.procedure import Trial
from hostctl.run.record.answered import told_on_resuming
from hostctl.run.record.journal import Journal
from hostctl.run.record.progress import Progress
from hostctl.run.steps import loop_words
from hostctl.run.steps.cycle import Cycle
from hostctl.run.steps.levelling import resumed
from hostctl.run.steps.levelling import words as level_words
from hostctl.run.steps.presence import Presence
from hostctl.run.steps.ties import tie_words
from hostctl.run.steps.ties.tie_steps import TieSteps
from hostctl.run.wording import Words
from hostctl.store.rows import HOMED

REPLUG_S = 30.0
"""How long connecting again waits for a port that went away."""


def start_words(order: RunOrder, came_to: str = "", again: str = "") -> Words:
    """Before the first motion: what comes of this study, and what was left of it.

    came_to: how far that was, where blocks and trials tell people nothing.  again: which readings
    it costs to go on.
    """
    study, record = order.study, order.resume
    levels = words_of(study.kind).turns_screws
    start = level_words.start if levels else wording.start
    words = start(study, order.machine)
    parts = (
        again,
        told_on_resuming(record, came_to),
        loop_words.cautions(study),
        words.detail,
        tie_words.comes(study, resumed=record is not None),
    )
    return replace(words, detail=" ".join(part.strip() for part in parts if part))


class Readying:
    """Confirmed by a person, homed, warm where the study asks for it, its dry cycles made."""

    def __init__(
        self,
        *,
        order: RunOrder,
        machine: Machine,
        asking: Asking,
        holding: Holding,
        watch: Watch,
        journal: Journal,
        desk: Desk,
        cycle: Cycle,
        ties: TieSteps | None,
        presence: Presence,
        course: Course,
        progress: Progress,
    ) -> None:
        self._order = order
        self._study = order.study
        self._machine = machine
        self._asking = asking
        self._holding = holding
        self._watch = watch
        self._journal = journal
        self._desk = desk
        self._cycle = cycle
        self._ties = ties
        self._presence = presence
        self._course = course
        self._progress = progress
        self._confirmed = False
        self._dry_cycles_made = False
        self._bed_is_warm = False

    async def get_ready(self) -> None:
        """Before each step; usually there is nothing to be done.

        Raises the operator's words, a fault, PluginError or StoreError.
        """
        if not self._confirmed:
            await self._asking.ask(start_words(self._order, self._came_to(), self._again()))
            self._confirmed = True
            if self._ties and self._machine.homed:  # as in a daemon: what was left in goes first
                await self._ties.clear_away()
        await self._presence.say_heat_again()
        if not self._machine.homed:
            await self._home()
        if self._study.warmth and (self._holding.cooled or not self._bed_is_warm):
            await self._warm_bed(self._study.warmth)
        if not self._dry_cycles_made:
            await self._make_dry_cycles()

    def _came_to(self) -> str:
        lost = 0 if self._machine.homed else self._course.readings_at_stake()
        return resumed.came_to(self._study, self._progress.so_far, lost)

    def _again(self) -> str:
        """Before Enter: which readings homing costs, and why."""
        if self._order.resume is None or words_of(self._study.kind).turns_screws:
            return ""
        zeros, course = words_of(self._study.kind).takes_zeros, self._course
        if self._machine.homed or not (lost := course.readings_at_stake()):
            zero = zeros and not self._machine.homed and course.zero_at_stake()
            return ZERO_AGAIN if zero else "No reading is taken again."
        return taken_again(lost, zeros=zeros)

    async def _home(self) -> None:
        if not self._machine.ours:
            self._bed_is_warm = False  # a board that is taken over has its heaters off
            self._desk.tell(Moving(what="Connecting to the machine."))
            await self._machine.make_ready(REPLUG_S)
        await self._machine.check_cool()
        await self._course.upcoming()  # what the readings decide is decided while they count
        await self._begin_blocks_again()
        upcoming = await self._course.upcoming()
        if isinstance(upcoming, Trial):
            place = self._progress.place(self._journal.run, upcoming)
            await self._cycle.clear_bed_for_homing(place)
        if self._ties:
            await self._ties.clear_away_before_homing()
        await self._asking.before_motion("The head rises, then all axes home.")
        await self._machine.home()
        self._progress.homed()
        await self._journal.note_between(HOMED, "")

    async def _begin_blocks_again(self) -> None:
        """Homing shifts the axes a little, so a zero set by hand is lost with it."""
        self._cycle.forget_zero()
        for trial in self._course.at_stake():
            place = self._progress.place(self._journal.run, trial)
            await self._journal.mark(place, "void", "zero lost", whole_block=True)
            self._progress.begin_again(trial.block)

    async def _make_dry_cycles(self) -> None:
        upcoming = await self._course.upcoming()
        if isinstance(upcoming, Trial):
            await self._cycle.dry_cycles(upcoming.point, self._order.machine.dry_cycles)
            self._dry_cycles_made = True

    async def _warm_bed(self, warmth: Warmth) -> None:
        async def look_up(heat: Heat) -> None:
            self._watch.check()
            if heat.bed_c is not None:
                self._desk.tell(Moving(what=f"The bed warms up: {heat.bed_c:.0f} °C."))

        await self._machine.heaters.warm_bed(warmth.bed_c, warmth.soak_s, look_up)
        self._bed_is_warm, self._holding.cooled = True, False
