"""What is known of a machine being begun: never half-written, nor over what is not ours."""

import json
import stat
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from failing_disk import at_every_doing, full_at, in_order, killed_at

from hostctl.begin.facts import Facts
from hostctl.begin.keeping import Begun, Unreadable, all_kept, folder, forget, keep, kept
from hostctl.errors import StoreError

NOW = datetime(2026, 11, 29, 10, 0, tzinfo=UTC)
LATER = NOW + timedelta(minutes=1)
FIRST = Facts({"machine": "bench-1", "port": "socket://bench:1", "baud": 250000})
MORE = FIRST.knowing(
    {
        "heat.mains_bed": None,
        "points.over_screws": True,
        "found.reading_z_mm": 4.9500000000000002,
        "seen": "Ä" * 200,
    }
)


@pytest.fixture(autouse=True)
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("HOSTCTL_DATABASE", str(tmp_path / "state" / "hostctl.sqlite"))
    return folder()


def facts_of(name: str) -> Facts | None:
    begun = kept(name)
    return None if begun is None else begun.facts


def test_what_was_kept_comes_back_in_its_order_for_its_owner_alone(place: Path) -> None:
    assert kept("bench-1") is None
    assert all_kept() == []
    keep(Facts(), NOW)
    assert not place.exists()
    keep(FIRST, NOW)
    keep(MORE, LATER)
    begun = kept("bench-1")
    assert begun == Begun(name="bench-1", facts=MORE, kept_at=LATER)
    assert list(begun.facts) == list(MORE)
    assert begun.how_far == "7 things known, the last: seen"
    assert stat.S_IMODE((place / "bench-1.json").stat().st_mode) == 0o600
    forget("bench-1")
    assert list(place.iterdir()) == []


def test_the_last_one_answered_comes_first_and_a_new_name_takes_the_place_of_the_old() -> None:
    keep(FIRST, NOW)
    keep(FIRST.knowing({"machine": "bench-2"}), LATER)
    assert [begun.name for begun in all_kept()] == ["bench-2", "bench-1"]
    keep(FIRST.knowing({"machine": "bench-3"}), LATER, was="bench-1")
    assert {begun.name for begun in all_kept()} == {"bench-2", "bench-3"}


def test_killed_at_any_doing_of_the_disk_all_of_it_is_kept_or_what_was_before(place: Path) -> None:
    ended = []
    for came_to_its_end in at_every_doing(lambda: keep(MORE, LATER), killed_at):
        found = facts_of("bench-1")
        assert found == MORE if came_to_its_end else found in (None, FIRST, MORE)
        ended.append((came_to_its_end, found))
        keep(FIRST, NOW)
    assert (False, FIRST) in ended
    assert ended[-1] == (True, MORE)
    forget("bench-1")
    assert list(place.iterdir()) == []


def test_all_of_it_is_on_the_disk_before_it_takes_the_place_of_what_was_there() -> None:
    keep(FIRST, NOW)
    done = in_order(lambda: keep(MORE, LATER))
    assert done == ["open", "write", "fsync", "replace", "open", "fsync"]


def test_on_a_full_disk_what_was_kept_stays_and_nothing_else_is_left(place: Path) -> None:
    keep(FIRST, NOW)
    outcomes = set()
    for came_to_its_end in at_every_doing(lambda: keep(MORE, LATER), full_at):
        found = facts_of("bench-1")
        assert found == (MORE if came_to_its_end else FIRST)
        assert [path.name for path in place.iterdir()] == ["bench-1.json"]
        outcomes.add(came_to_its_end)
        keep(FIRST, NOW)
    assert outcomes == {True, False}
    with pytest.MonkeyPatch.context() as patch:
        full_at(patch, 1)
        with pytest.raises(StoreError) as refused:
            keep(MORE, LATER)
    assert "can't be kept (no space left on device). See to that; the answers before it" in str(
        refused.value
    )


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "is damaged"),
        ('{"version": 1, "kept_at": "2026-11-29T10:00:00+00:00", "fac', "is damaged"),
        ('{"version": 1, "kept_at": "2026-11-29T10:00:00", "facts": {}}', "is damaged"),
        (
            '{"version": 1, "kept_at": "2026-11-29T10:00:00+00:00", "facts": {"machine": "other"}}',
            "is damaged",
        ),
        (
            '{"version": 1, "kept_at": "2026-11-29T10:00:00+00:00",'
            ' "facts": {"machine": "bench-1", "a": [1]}}',
            "is damaged",
        ),
        (
            '{"version": 1, "kept_at": "2026-11-29T10:00:00+00:00",'
            ' "facts": {"machine": "bench-1", "a": NaN}}',
            "is damaged",
        ),
        ("[" * 100_000, "is damaged"),
        ('{"version": 2, "else": "whatever"}', "was kept by a newer hostctl (version 2, known"),
    ],
)
def test_what_is_not_understood_is_said_and_left_as_it_is(
    place: Path, text: str, says: str
) -> None:
    keep(FIRST.knowing({"machine": "bench-2"}), NOW)
    path = place / "bench-1.json"
    path.write_text(text)
    for doing in (lambda: kept("bench-1"), lambda: keep(MORE, LATER)):
        with pytest.raises(StoreError) as refused:
            doing()
        assert str(refused.value).startswith(f"{path}: {says}")
        assert "It is left as it is" in str(refused.value)
    assert path.read_text() == text
    good, bad = all_kept()
    assert isinstance(good, Begun)
    assert isinstance(bad, Unreadable)
    assert says in bad.trouble


def test_a_name_that_is_none_leads_nowhere(place: Path) -> None:
    with pytest.raises(StoreError, match="is no machine's name"):
        kept("../hostctl")
    keep(FIRST, NOW)
    (place / "Not Ours.json").write_text(json.dumps({}))
    assert [begun.name for begun in all_kept()] == ["bench-1"]
