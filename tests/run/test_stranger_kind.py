"""A stranger's kind of study with a stop rule: one file, found by its entry point, and resumed."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from stranger import kinds_installed
from stranger_kind import UntilKnown
from test_simulated_printer import Bench, comparison, file_for

from hostctl.cli.main import main
from hostctl.config.load import study_from
from hostctl.config.parts.gauge import Gauge
from hostctl.config.study import Study, Tolerance
from hostctl.config.study_kind import SHIPPED, STUDY_KINDS, words_of
from hostctl.config.yaml_text import Source
from hostctl.errors import ConfigError
from hostctl.plugins import installed
from hostctl.store.rows import RunRecord


@pytest.fixture(autouse=True)
def _stranger(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    with kinds_installed(tmp_path, monkeypatch, {"until-known": "stranger_kind:UntilKnown"}):
        yield


def until_known(**changes: object) -> Study:
    given: dict[str, object] = {
        "kind": "until-known",
        "methods": [],
        "operators": [],
        "points": ["back"],
        "trials": 40,
        "reference": "datum",
        "gauge": Gauge(kind="probe", resolution_mm=0.0025, plausible_mm=2.0),
        "tolerance": Tolerance(within_mm=0.004),
    }
    return comparison(**(given | changes))


def record_until(bench: Bench, kind: str) -> RunRecord:
    """What was on disk when the first event of this kind was: the program was killed then."""
    record = bench.store.record()
    last = next(n for n, event in enumerate(record.events) if event.kind == kind)
    return replace(record, events=record.events[: last + 1])


def test_the_file_is_short():
    assert len((Path(__file__).parent / "stranger_kind.py").read_text().splitlines()) < 80


def test_it_stops_when_the_spread_is_known_well_enough_and_says_so():
    bench = Bench(until_known(), file_for("workshop-tri"))
    finished = bench.carry_out()
    taken = len(bench.store.counting)
    assert finished.complete
    assert 5 <= taken < 40
    assert f"after {taken} touches" in finished.reason
    assert [event.text for event in bench.store.events if event.kind == "decided"] == [
        finished.reason
    ]
    assert bench.printer.world.crashes == []
    assert len(bench.prompts) == 1  # nobody is asked but before the first motion


def test_where_it_is_never_known_so_well_it_stops_at_the_studys_count():
    bench = Bench(
        until_known(trials=6, tolerance=Tolerance(within_mm=0.0001)), file_for("workshop-tri")
    )
    assert bench.carry_out().reason == "all 6 touches are made"
    assert len(bench.store.counting) == 6
    assert "decided" not in bench.store.kinds()


def test_a_run_stopped_on_the_way_goes_on_to_the_same_decision():
    whole = Bench(until_known(), file_for("workshop-tri"))
    whole.carry_out()
    record = whole.store.record()
    stopped = replace(record, readings=record.readings[:4], events=record.events[:3])
    later = Bench(until_known(), file_for("workshop-tri"))
    later.store.readings = [stored.kept for stored in stopped.readings]
    finished = later.carry_out(stopped)
    assert finished.complete
    kept = [reading.place.trial for reading in later.store.readings]
    assert kept == list(range(1, len(kept) + 1))
    assert f"after {len(kept)} touches" in finished.reason


def test_a_run_killed_after_a_decision_goes_on_by_it(monkeypatch: pytest.MonkeyPatch):
    """Even where the rule, asked anew, would decide otherwise."""
    bench = Bench(until_known(), file_for("workshop-tri"))
    decided = bench.carry_out()
    monkeypatch.setattr(UntilKnown, "width_counts", False)
    later = Bench(until_known(), file_for("workshop-tri"))
    finished = later.carry_out(record_until(bench, "decided"))
    assert (finished.complete, finished.reason) == (True, decided.reason)
    assert later.store.readings == []
    assert "decided" not in later.store.kinds()


def test_killed_before_it_was_kept_the_same_is_decided_anew_by_the_readings():
    bench = Bench(until_known(), file_for("workshop-tri"))
    decided = bench.carry_out()
    record = bench.store.record()
    undecided = [event for event in record.events if event.kind not in ("decided", "ended")]
    later = Bench(until_known(), file_for("workshop-tri"))
    finished = later.carry_out(replace(record, events=undecided))
    assert (finished.complete, finished.reason) == (True, decided.reason)
    assert later.store.readings == []
    assert later.store.kinds().count("decided") == 1


def test_with_a_zero_of_its_own_what_is_decided_outlives_the_zero_that_homing_loses():
    study = until_known(reference="first")
    bench = Bench(study, file_for("workshop-tri"))
    decided = bench.carry_out()
    undecided = [each for each in bench.store.record().events if each.kind == "homed"]
    later = Bench(study, file_for("workshop-tri"))
    finished = later.carry_out(replace(bench.store.record(), events=undecided))
    assert finished.reason == decided.reason
    assert later.store.marks == []


def test_its_file_is_checked_by_itself():
    text = "study: p\ntitle: P\nkind: until-known\npoints: [back]\ntrials: 2\n"
    with pytest.raises(ConfigError, match="tolerance: says how well the spread is to be known"):
        study_from(Source("s.yaml", text))


def test_its_words_are_known_to_reports():
    assert words_of("until-known").nobody_sets == "the probe"


def test_a_kind_that_is_not_installed_is_refused_with_those_that_are(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    file = tmp_path / "s.yaml"
    file.write_text("study: p\ntitle: P\nkind: tuning\npoints: [back]\ntrials: 2\n")
    assert main(["check", str(file)]) == 3
    assert capsys.readouterr().err == (
        f'{file}:3: kind: can\'t be "tuning". '
        "Known here: axis-test, comparison, gauge-comparison, level, probe-loop, rig-check, tie, "
        "until-known.\n"
    )


def test_our_own_kinds_say_what_is_said_of_them_without_looking_for_plug_ins():
    ours = {entry.name for entry in installed("hostctl.study_kinds") if "hostctl" in entry.value}
    assert ours == set(SHIPPED)
    for name in ours:
        assert STUDY_KINDS.find(name).words is SHIPPED[name]
