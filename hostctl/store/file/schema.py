"""The tables, and how an older database becomes a newer one.

Each migration is a list of statements; a database's `user_version` counts those it has had. A
published migration is never edited: a change is a new one at the end. The table
`schema_history` says which program made each, so that an older program can name the newer.

Nothing recorded is ever overwritten: triggers refuse every UPDATE and DELETE. What a reading is
worth (`void`, `relative_mm`) is therefore worked out when it is read, in the SQL view
`judged_readings`:

void         why the reading does not count: the reason of the first mark `void` on its trial, or on
             all trials of its block and round; NULL when it counts. A mark without an attempt
             covers all attempts of the trial.
relative_mm  reference `previous`: the value itself. `first` and `datum`: the value less the zero of
             the same block and round, the last one stored, to a millionth of a micrometre (so that
             0.12 - 0.10 is 0.02). Where no zero was taken: NULL for `first`; for `datum` the value
             itself, since then the gauge's own zero is the datum. `gap`: the value itself.

Times are text, UTC, ISO 8601 with milliseconds: 2031-05-06T07:08:09.012Z.
"""

import sqlite3
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from hostctl.errors import StoreError
from hostctl.store.file.failure import not_ours
from hostctl.store.file.instants import utc_text
from hostctl.store.file.program import program

APPLICATION_ID = 0x68637431  # tells our files from other SQLite files

# Of a mark m and a reading r: the mark makes the reading void.
MADE_VOID = """m.run = r.run AND m.block = r.block AND m.round = r.round AND m.mark = 'void'
    AND (m.trial IS NULL OR m.trial = r.trial) AND (m.attempt IS NULL OR m.attempt = r.attempt)"""

# Adding this and taking it away again leaves a whole number of anything below 2e15: doubles near it
# are one apart (IEEE 754). The same arithmetic in SQL and in Python gives the very same figures.
WHOLE = 1.5 * 2.0**52

# What a reading r of a run u counts from; z is its zero if there is one.
_COUNTS_FROM = """CASE u.reference
    WHEN 'previous' THEN 0.0
    WHEN 'gap' THEN 0.0
    WHEN 'datum' THEN ifnull(z.value_mm, 0.0)
    ELSE z.value_mm END"""
_COUNTED_FROM_AT_FIRST = """CASE u.reference
    WHEN 'previous' THEN 0.0
    WHEN 'datum' THEN ifnull(z.value_mm, 0.0)
    ELSE z.value_mm END"""


def _judged_readings(counts_from: str) -> str:
    """The view."""
    return f"""CREATE VIEW judged_readings AS
    SELECT r.*,
        (SELECT m.reason FROM marks m WHERE {MADE_VOID} ORDER BY m.mark_id LIMIT 1) AS void,
        (((r.value_mm - {counts_from}) * 1e9 + {WHOLE}) - {WHOLE}) / 1e9 AS relative_mm
    FROM readings r JOIN runs u USING (run)
    LEFT JOIN readings z ON z.reading_id = (
        SELECT max(reading_id) FROM readings
        WHERE run = r.run AND block = r.block AND round = r.round AND is_zero = 1)"""


_FIRST_TABLES = (
    """CREATE TABLE schema_history (
        version INTEGER PRIMARY KEY,
        program TEXT NOT NULL,
        made_at TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE runs (
        run INTEGER PRIMARY KEY,
        study TEXT NOT NULL,
        title TEXT NOT NULL,
        kind TEXT NOT NULL,
        machine TEXT NOT NULL,
        reference TEXT NOT NULL CHECK (reference IN ('first', 'previous', 'datum')),
        study_text TEXT NOT NULL,
        machine_text TEXT NOT NULL,
        seed TEXT NOT NULL, -- a whole number of any length
        started_at TEXT NOT NULL,
        program TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE readings (
        reading_id INTEGER PRIMARY KEY,
        run INTEGER NOT NULL REFERENCES runs,
        block INTEGER NOT NULL,
        round INTEGER NOT NULL,
        trial INTEGER NOT NULL,
        attempt INTEGER NOT NULL,
        is_zero INTEGER NOT NULL CHECK (is_zero IN (0, 1)),
        value_mm REAL NOT NULL CHECK (value_mm BETWEEN -1e6 AND 1e6),
        resolution_mm REAL NOT NULL CHECK (resolution_mm BETWEEN 0 AND 1e6),
        method TEXT NOT NULL,
        operator TEXT NOT NULL,
        point TEXT NOT NULL,
        source TEXT NOT NULL,
        channel TEXT NOT NULL,
        x_mm REAL NOT NULL CHECK (x_mm BETWEEN -1e6 AND 1e6),
        y_mm REAL NOT NULL CHECK (y_mm BETWEEN -1e6 AND 1e6),
        z_mm REAL NOT NULL CHECK (z_mm BETWEEN -1e6 AND 1e6),
        nozzle_c REAL CHECK (nozzle_c BETWEEN -1e6 AND 1e6),
        bed_c REAL CHECK (bed_c BETWEEN -1e6 AND 1e6),
        taken_at TEXT NOT NULL,
        prompted_at TEXT,
        answered_at TEXT,
        stored_at TEXT NOT NULL,
        trials_done INTEGER NOT NULL,
        trials_total INTEGER NOT NULL,
        UNIQUE (run, block, round, trial, attempt, is_zero)
    ) STRICT""",
    "CREATE INDEX zeros ON readings (run, block, round) WHERE is_zero = 1",
    """CREATE TABLE marks (
        mark_id INTEGER PRIMARY KEY,
        run INTEGER NOT NULL REFERENCES runs,
        block INTEGER NOT NULL,
        round INTEGER NOT NULL,
        trial INTEGER,
        attempt INTEGER,
        mark TEXT NOT NULL CHECK (mark IN ('void', 'skipped')),
        reason TEXT NOT NULL,
        at TEXT NOT NULL
    ) STRICT""",
    "CREATE INDEX marks_by_place ON marks (run, block, round)",
    """CREATE TABLE events (
        event_id INTEGER PRIMARY KEY,
        run INTEGER REFERENCES runs,
        at TEXT NOT NULL,
        kind TEXT NOT NULL,
        text TEXT NOT NULL,
        data TEXT NOT NULL CHECK (json_valid(data))
    ) STRICT""",
    "CREATE INDEX events_by_run ON events (run)",
    *(
        f"""CREATE TRIGGER {table}_stay_on_{deed.lower()} BEFORE {deed} ON {table}
        BEGIN SELECT RAISE(ABORT, '{table} are never changed or removed'); END"""
        for table in ("runs", "readings", "marks", "events", "schema_history")
        for deed in ("UPDATE", "DELETE")
    ),
    _judged_readings(_COUNTED_FROM_AT_FIRST),
    f"PRAGMA application_id = {APPLICATION_ID}",
)

# A queue, not a record: rows go once they are delivered (see `outbox`).
_OUTBOX = (
    """CREATE TABLE outbox (
        seq INTEGER PRIMARY KEY AUTOINCREMENT,
        machine TEXT NOT NULL,
        message_id TEXT NOT NULL,
        topic TEXT NOT NULL,
        payload TEXT NOT NULL,
        reading_id INTEGER REFERENCES readings,
        UNIQUE (machine, message_id)
    ) STRICT""",
    "CREATE INDEX outbox_by_worth ON outbox (machine, reading_id IS NOT NULL, seq)",
    "CREATE INDEX outbox_by_age ON outbox (machine, seq)",
    """CREATE TABLE told_readings (
        machine TEXT PRIMARY KEY,
        up_to INTEGER NOT NULL
    ) STRICT""",
    """CREATE TRIGGER outbox_tells_reading AFTER INSERT ON outbox WHEN NEW.reading_id IS NOT NULL
    BEGIN
        INSERT INTO told_readings VALUES (NEW.machine, NEW.reading_id)
        ON CONFLICT (machine) DO UPDATE SET up_to = max(up_to, excluded.up_to);
    END""",
)

# The true gap as a reference. What a column may hold is changed where the schema is written down,
# as SQLite has it for changes that touch no row (its page on ALTER TABLE, section 7); RESET reads
# it anew, and the new view tells every other connection that the schema is another.
_GAP = (
    "DROP VIEW judged_readings",
    "PRAGMA writable_schema = ON",
    """UPDATE sqlite_master SET sql = replace(sql, '''datum'')', '''datum'', ''gap'')')
    WHERE type = 'table' AND name = 'runs'""",
    "PRAGMA writable_schema = RESET",
    _judged_readings(_COUNTS_FROM),
)

Migration = Sequence[str]
MIGRATIONS: tuple[Migration, ...] = (_FIRST_TABLES, _OUTBOX, _GAP)


def migrate(
    connection: sqlite3.Connection, path: Path, migrations: Sequence[Migration] = MIGRATIONS
) -> None:
    """Bring the database up to the newest schema; all of it or nothing.

    Raises StoreError when it is another program's, or was written by a newer hostctl.
    """
    if _version(connection, path, len(migrations)) == len(migrations):
        return
    connection.execute("BEGIN IMMEDIATE")
    with connection:
        had = _version(connection, path, len(migrations))  # another process may have been first
        for version, statements in enumerate(migrations[had:], start=had + 1):
            for statement in statements:
                connection.execute(statement)
            made_at = utc_text(datetime.now(UTC))
            row = (version, program(), made_at)
            connection.execute("INSERT INTO schema_history VALUES (?, ?, ?)", row)
        connection.execute(f"PRAGMA user_version = {len(migrations)}")


def _version(connection: sqlite3.Connection, path: Path, known: int) -> int:
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    (tables,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    if application != APPLICATION_ID and (version or application or tables):
        raise not_ours(path)
    if version > known:
        raise _newer(connection, path, version, known)
    return int(version)


def _newer(connection: sqlite3.Connection, path: Path, version: int, known: int) -> StoreError:
    (writer,) = connection.execute(
        "SELECT program FROM schema_history ORDER BY version DESC LIMIT 1"
    ).fetchone()
    return StoreError(
        str(path),
        f"it was written by {writer} (schema {version}); this is {program()} (schema {known})",
        "Install that version or a later one.",
    )
