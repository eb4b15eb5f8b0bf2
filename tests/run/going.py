"""A study gone through on paper: its procedure asked, and how far it has come."""

from workshop import EPOCH

from hostctl.config.study import Study
from hostctl.records import Place, Position, Reading, Temperatures
from hostctl.run.procedures.procedure import PROCEDURES, Finished, ProcedureParts, Trial
from hostctl.run.procedures.schedule import Schedule, begins_with_zero, schedule_of
from hostctl.run.record.progress import Progress
from hostctl.store.rows import RunRecord


def schedule_for(study: Study, seed: int) -> Schedule:
    """The schedule of a comparison whose blocks begin with their zero."""
    return schedule_of(study, [method.name for method in study.methods], seed, zeros=True)


def a_reading(value_mm: float) -> Reading:
    return Reading(
        value_mm=value_mm,
        resolution_mm=0.01,
        taken_at=EPOCH,
        source="typed",
        at=Position(x_mm=5, y_mm=30, z_mm=5),
        temperatures=Temperatures(),
    )


class Going:
    """What a run does with a procedure, without a machine."""

    def __init__(
        self,
        study: Study,
        machine,
        seed: int = 7,
        *,
        own_zero: bool = False,
        record: RunRecord | None = None,
    ) -> None:
        zeros = begins_with_zero(study, gauge_has_own_zero=own_zero)
        parts = ProcedureParts(study=study, machine=machine, seed=seed, zeros=zeros)
        kind = PROCEDURES.find(study.kind)
        most = kind.most_trials(study)
        self.procedure = kind(parts)
        hear = self.procedure.hear if kind.words.keeps_few else None
        self.progress = Progress(most, hear=hear)
        if record:
            self.progress.recall(record)

    def next(self) -> Trial | None:
        """The step to be done now; None: nothing is left."""
        following = self.procedure.next(self.progress.so_far)
        if isinstance(following, Finished):
            return None
        assert isinstance(following, Trial)
        return following

    def place(self, trial: Trial) -> Place:
        return self.progress.place(1, trial)

    def begun_blocks(self) -> list[Trial]:
        begun = self.progress.begun()
        to_come = self.procedure.still_to_come(self.progress.so_far)
        return [trial for trial in to_come if trial.block in begun]

    def keep_next(self, value_mm: float = 0.0) -> Place:
        trial = self.next()
        assert trial is not None
        at = self.place(trial)
        self.progress.keep(at, a_reading(value_mm))
        return at
