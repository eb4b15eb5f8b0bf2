"""Judging many readings at once: what the view `judged_readings` gives, at the speed of one scan.

The view looks up zero and marks anew for each reading, which is right for one. Here the zeros and
the void readings of a run are gathered first and joined, and the readings are scanned in the order
in which they were stored.
"""

import sqlite3

from hostctl.store.schema import MADE_VOID, RELATIVE_MM

_SPAN = "SELECT min(reading_id), max(reading_id) FROM readings WHERE run = ?"


def judged(connection: sqlite3.Connection, run: int, expressions: str) -> sqlite3.Cursor:
    """The expressions, for each reading of the run, in the order stored.

    In an expression, r is the reading, v.void why it does not count (NULL: it does), and
    {relative_mm} stands for its relative value.
    """
    first, last = connection.execute(_SPAN, (run,)).fetchone()
    return connection.execute(
        f"""WITH
        zeros AS MATERIALIZED (
            SELECT block, round, value_mm, max(reading_id) FROM readings
            WHERE run = :run AND is_zero = 1 GROUP BY block, round),
        voids AS MATERIALIZED (
            SELECT r.reading_id, m.reason AS void, min(m.mark_id)
            FROM marks m CROSS JOIN readings r
            WHERE m.run = :run AND {MADE_VOID} GROUP BY r.reading_id)
        SELECT {expressions.replace("{relative_mm}", RELATIVE_MM)}
        FROM runs u CROSS JOIN readings r
        LEFT JOIN zeros z ON z.block = r.block AND z.round = r.round
        LEFT JOIN voids v ON v.reading_id = r.reading_id
        WHERE u.run = :run AND r.reading_id BETWEEN :first AND :last AND +r.run = :run
        ORDER BY r.reading_id""",
        {"run": run, "first": first, "last": last},
    )
