"""The course of one run: what its procedure decides is kept, before anything comes of it."""

from dataclasses import replace

from hostctl.errors import PluginError
from hostctl.records import Place
from hostctl.run.procedures.motions import HomeAnew, StepDeed
from hostctl.run.procedures.procedure import Decision, Finished, StandStill, Trial
from hostctl.run.procedures.proposals import Proposals
from hostctl.run.record.journal import Journal
from hostctl.run.record.progress import Progress

MOST_DECISIONS = 20
"""As many in a row, with no step between, as a procedure may take; more are a mistake of its."""


class Course:
    """Asks for what comes next until it is a step, or nothing more."""

    def __init__(self, proposals: Proposals, journal: Journal, progress: Progress) -> None:
        self._proposals = proposals
        self._journal = journal
        self._progress = progress

    async def upcoming(self) -> Trial | StandStill | Finished:
        """What is to be done now; what is decided on the way is on disk.

        Raises PluginError or StoreError.
        """
        for _ in range(MOST_DECISIONS):
            proposed = self._proposals.next(self._progress.so_far)
            if not isinstance(proposed, Decision):
                return proposed
            await self._journal.keep_decision(proposed)
            self._progress.decide(proposed)
        raise self._proposals.refused(f"decides {MOST_DECISIONS} times in a row and does nothing")

    def deeds(self, place: Place) -> tuple[StepDeed, ...]:
        """How the step at `place` is carried out. Raises PluginError."""
        return self._proposals.deeds(place, self._progress.so_far)

    def homes_after_hold(self) -> bool:
        """Whether all axes home next, once the run stood still; no where it can't be said."""
        so_far = replace(self._progress.so_far, since_break=frozenset())
        try:
            upcoming = self._proposals.next(so_far)
            if not isinstance(upcoming, Trial):
                return False
            place = self._progress.place(self._journal.run, upcoming)
            return any(isinstance(deed, HomeAnew) for deed in self._proposals.deeds(place, so_far))
        except PluginError:
            return False  # going on will show it

    def at_stake(self) -> list[Trial]:
        """One trial of each block that homing makes begin again. Raises PluginError."""
        if not self._proposals.homing_breaks:
            return []
        begun = self._progress.begun()
        to_come = self._proposals.still_to_come(self._progress.so_far)
        return [trial for trial in to_come if trial.block in begun]

    def zero_at_stake(self) -> bool:
        """Whether homing makes a block begin again, of which perhaps nothing but its zero is there;
        no where the procedure can't say what comes."""
        try:
            return bool(self.at_stake())
        except PluginError:
            return False

    def readings_at_stake(self) -> int:
        """How many readings homing would cost; none where the procedure can't say what comes."""
        try:
            return self._progress.kept_in([trial.block for trial in self.at_stake()])
        except PluginError:
            return 0  # it is in a hold that this is asked: going on will show it
