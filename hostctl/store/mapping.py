"""Records to rows of the database, and back."""

from datetime import datetime
from typing import Any

from hostctl.records import Place, Position, Reading, Temperatures
from hostctl.store.file.instants import instant, utc_text
from hostctl.store.rows import NewEvent, NewMark, NewReading, NewRun, StoredReading

RUN_COLUMNS = (
    "study, title, kind, machine, reference, study_text, machine_text, seed, started_at, program"
)
READING_COLUMNS = (
    "run, block, round, trial, attempt, is_zero, value_mm, resolution_mm, method, operator, point, "
    "source, channel, x_mm, y_mm, z_mm, nozzle_c, bed_c, taken_at, prompted_at, answered_at, "
    "stored_at, trials_done, trials_total"
)
MARK_COLUMNS = "run, block, round, trial, attempt, mark, reason, at"
EVENT_COLUMNS = "run, at, kind, text, data"


def insert_into(table: str, columns: str) -> str:
    """The statement that adds one row."""
    places = ", ".join("?" * len(columns.split(",")))
    return f"INSERT INTO {table} ({columns}) VALUES ({places})"


def run_row(new: NewRun) -> tuple[Any, ...]:
    """As in RUN_COLUMNS. Raises ValueError when a time has no zone, as all four do."""
    return (
        new.study,
        new.title,
        new.kind,
        new.machine,
        new.reference,
        new.study_text,
        new.machine_text,
        str(new.seed),
        utc_text(new.started_at),
        new.program,
    )


def reading_row(new: NewReading, stored_at: datetime) -> tuple[Any, ...]:
    """As in READING_COLUMNS."""
    place, reading, at = new.place, new.reading, new.reading.at
    return (
        place.run,
        place.block,
        place.round,
        place.trial,
        place.attempt,
        new.is_zero,
        reading.value_mm,
        reading.resolution_mm,
        place.method,
        place.operator,
        place.point,
        reading.source,
        new.channel,
        at.x_mm,
        at.y_mm,
        at.z_mm,
        reading.temperatures.nozzle_c,
        reading.temperatures.bed_c,
        utc_text(reading.taken_at),
        _text_or_none(new.prompted_at),
        _text_or_none(new.answered_at),
        utc_text(stored_at),
        place.trials_done,
        place.trials_total,
    )


def mark_row(new: NewMark) -> tuple[Any, ...]:
    """As in MARK_COLUMNS."""
    at = utc_text(new.at)
    return (new.run, new.block, new.round, new.trial, new.attempt, new.mark, new.reason, at)


def event_row(new: NewEvent) -> tuple[Any, ...]:
    """As in EVENT_COLUMNS."""
    return (new.run, utc_text(new.at), new.kind, new.text, new.data)


def run_from(row: tuple[Any, ...]) -> NewRun:
    """A row of RUN_COLUMNS."""
    study, title, kind, machine, reference, study_text, machine_text, seed, at, program = row
    return NewRun(
        study=study,
        title=title,
        kind=kind,
        machine=machine,
        reference=reference,
        study_text=study_text,
        machine_text=machine_text,
        seed=int(seed),
        started_at=instant(at),
        program=program,
    )


def reading_from(row: tuple[Any, ...]) -> StoredReading:
    """A row of reading_id, READING_COLUMNS, void, relative_mm."""
    reading_id, run, block, round_, trial, attempt, is_zero, value_mm, resolution_mm = row[:9]
    method, operator, point, source, channel, x_mm, y_mm, z_mm, nozzle_c, bed_c = row[9:19]
    taken_at, prompted_at, answered_at, stored_at, trials_done, trials_total = row[19:25]
    void, relative_mm = row[25:]
    place = Place(
        run=run,
        block=block,
        round=round_,
        trial=trial,
        attempt=attempt,
        method=method,
        operator=operator,
        point=point,
        trials_done=trials_done,
        trials_total=trials_total,
    )
    reading = Reading(
        value_mm=value_mm,
        resolution_mm=resolution_mm,
        taken_at=instant(taken_at),
        source=source,
        at=Position(x_mm=x_mm, y_mm=y_mm, z_mm=z_mm),
        temperatures=Temperatures(nozzle_c=nozzle_c, bed_c=bed_c),
    )
    kept = NewReading(
        place=place,
        is_zero=bool(is_zero),
        reading=reading,
        prompted_at=_instant_or_none(prompted_at),
        answered_at=_instant_or_none(answered_at),
        channel=channel,
    )
    return StoredReading(
        reading_id=reading_id,
        stored_at=instant(stored_at),
        kept=kept,
        void=void,
        relative_mm=relative_mm,
    )


def mark_from(row: tuple[Any, ...]) -> NewMark:
    """A row of MARK_COLUMNS."""
    run, block, round_, trial, attempt, mark, reason, at = row
    return NewMark(
        run=run,
        block=block,
        round=round_,
        trial=trial,
        attempt=attempt,
        mark=mark,
        reason=reason,
        at=instant(at),
    )


def event_from(row: tuple[Any, ...]) -> NewEvent:
    """A row of EVENT_COLUMNS."""
    run, at, kind, text, data = row
    return NewEvent(run=run, at=instant(at), kind=kind, text=text, data=data)


def _text_or_none(at: datetime | None) -> str | None:
    return None if at is None else utc_text(at)


def _instant_or_none(text: str | None) -> datetime | None:
    return None if text is None else instant(text)
