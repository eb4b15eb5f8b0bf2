"""A study held against the machine it is to run on."""

import pytest

from hostctl.config.find import SHIPPED
from hostctl.config.load import load_machine, study_from
from hostctl.config.parts.gauge import Gauge
from hostctl.config.together import check_together, why_no_touch
from hostctl.config.yaml_text import Source
from hostctl.errors import ConfigError

STUDY = """\
study: small
title: A small study
kind: comparison
methods: [{name: paper-slip, instruction: Until it drags.}]
operators: [volunteer-a]
points:
  - front-left
trials: 5
"""

GAP = STUDY.replace("drags.", "drags., goes_by: paper") + "reference: gap\ntarget_mm: 0.1\n"


def misfits(text: str, machine: str) -> str:
    source = Source("s.yaml", text)
    with pytest.raises(ConfigError) as caught:
        check_together(
            study_from(source), load_machine(SHIPPED / "machines" / f"{machine}.yaml"), source
        )
    return str(caught.value)


@pytest.mark.parametrize(
    ("study", "machine"),
    [
        ("rig-check", "sim-220"),
        ("rig-check", "workshop-tri"),
        ("three-methods", "sim-220"),
        ("three-methods", "workshop-220"),
        ("probe-loop", "sim-tri"),
        ("probe-night", "sim-tri"),
        ("true-gap", "sim-220"),
        ("tie", "sim-220"),
    ],
)
def test_the_shipped_studies_fit_the_shipped_machines(study: str, machine: str):
    source = Source.of(SHIPPED / "studies" / f"{study}.yaml")
    check_together(
        study_from(source), load_machine(SHIPPED / "machines" / f"{machine}.yaml"), source
    )


@pytest.mark.parametrize(
    ("text", "machine", "said"),
    [
        (
            STUDY.replace("- front-left", "- front-left\n  - front-lift"),
            "sim-220",
            "s.yaml:8: points: machine 'sim-220' has no point 'front-lift'. "
            "Did you mean 'front-left'?",
        ),
        (
            STUDY + "gauge:\n  kind: probe\n",
            "sim-220",
            "s.yaml:10: gauge.kind: machine 'sim-220' has no probe. Add 'probe:'",
        ),
        (
            STUDY + "gauge: {kind: serial-indicator}\n",
            "sim-220",
            "s.yaml:9: gauge.port is missing. Give the indicator's own serial port.",
        ),
        (
            STUDY + "gauge: {kind: typing-indicator}\n",
            "sim-220",
            "s.yaml:9: gauge.device is missing. Give the cable's own name under /dev/input/by-id.",
        ),
        (
            STUDY + "gauge:\n  kind: typed\n  line: {unit: in}\n",
            "sim-220",
            "s.yaml:11: gauge.line: goes with an indicator that sends, and kind typed does not.",
        ),
        (
            STUDY
            + "gauge:\n  kind: serial-indicator\n  port: sim://workshop-220?seed=7&speed=max\n",
            "sim-220",
            "s.yaml:11: gauge.port: is the port of machine 'sim-220' itself. "
            "Give the indicator's own serial port.",
        ),
        (
            STUDY + "cycle:\n  settle_s: 1\n  countdown_s: 0\n",
            "workshop-220",
            "s.yaml:11: cycle.countdown_s: is 0, which only a simulated machine takes",
        ),
        (
            STUDY + "warmth: {bed_c: 70}\n",
            "sim-220",
            "s.yaml:9: warmth.bed_c: is above the 60 °C machine 'sim-220' allows",
        ),
        (
            STUDY + "reference: datum\n",
            "sim-220",
            "s.yaml:1: gauge.block_mm: is missing, and reference datum is read on a gauge block",
        ),
        (
            STUDY + "reference: datum\ngauge:\n  block_mm: 4.5\n",
            "sim-220",
            "s.yaml:11: gauge.block_mm: 4.5 mm does not go under the plunger of machine 'sim-220' "
            "at its clear height. Take one below 4.5 mm, or raise its lift_mm.",
        ),
        (
            GAP + "tie: {by: gauge-block, beyond_mm: 0.01, block_error_mm: 0.001, feel_mm: 0.01,\n"
            "      block_mm: 12}\n",
            "sim-220",
            "s.yaml:12: tie.block_mm: 12 mm does not go under the nozzle of machine 'sim-220' at "
            "its clear height. Take one up to 8 mm, or raise its lift_mm.",
        ),
    ],
)
def test_a_misfit_names_the_line_of_the_study(text: str, machine: str, said: str):
    assert misfits(text, machine).startswith(said)


@pytest.mark.parametrize(
    ("one", "other", "said"),
    [
        (
            {"kind": "serial-indicator", "port": "/dev/a"},
            {"kind": "serial-indicator", "port": "/dev/a"},
            r"second_gauge\.port: is that of the first gauge too.*own port",
        ),
        (
            {"kind": "typing-indicator", "device": "/dev/a"},
            {"kind": "typing-indicator", "device": "/dev/a"},
            r"second_gauge\.device: is that of the first gauge too.*own device",
        ),
        ({}, {"kind": "typing-indicator"}, r"second_gauge\.device is missing"),
        ({}, {"kind": "probe"}, r"second_gauge\.kind: machine 'sim-220' has no probe"),
    ],
)
def test_of_two_gauges_each_is_looked_at(one, other, said):
    source = Source("s.yaml", STUDY)
    two = {key: Gauge(**section) for key, section in (("gauge", one), ("second_gauge", other))}
    machine = load_machine(SHIPPED / "machines" / "sim-220.yaml")
    with pytest.raises(ConfigError, match=said):
        check_together(study_from(source).model_copy(update=two), machine, source)


def test_a_gauge_block_that_goes_under_the_free_plunger_fits():
    source = Source("s.yaml", STUDY + "reference: datum\ngauge: {block_mm: 4.4}\n")
    check_together(study_from(source), load_machine(SHIPPED / "machines" / "sim-220.yaml"), source)


def test_a_probe_loop_with_another_gauge_is_refused():
    text = "study: p\ntitle: P\nkind: probe-loop\npoints: [back]\ntrials: 2\n"
    assert "gauge.kind: a probe loop reads the probe" in misfits(text, "sim-tri")


LOOP = """\
study: night
title: P
kind: probe-loop
points: [front-left]
trials: 100
reference: datum
gauge: {kind: probe}
loop:
"""


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "  probe_out: probe-up\n",
            "s.yaml:9: loop.probe_out: machine 'sim-tri' has no output 'probe-up'",
        ),
        (
            "  sides: true\n  side_mm: 45\n",
            "s.yaml:4: points: 'front-left' has no 45 mm beside it on the left. Leave it out",
        ),
        (
            "  heat: {bed_c: 80, warm_touches: 10, cool_touches: 10, cycles: 5}\n",
            "s.yaml:9: loop.heat.bed_c: is above the 60 °C machine 'sim-tri' allows",
        ),
        (
            "  sides: true\nwarmth: {bed_c: 40}\n",
            "s.yaml:10: warmth: heaters are off where nobody is asked. Take it out;",
        ),
    ],
)
def test_a_loop_that_its_machine_cannot_do_names_the_line(text: str, said: str):
    assert misfits(LOOP + text, "sim-tri").startswith(said)


def test_a_loop_that_its_machine_can_do_fits():
    text = "  {probe_out: probe-out, probe_in: probe-in, sides: true, home_every: 50}\n"
    source = Source("s.yaml", LOOP + text)
    check_together(study_from(source), load_machine(SHIPPED / "machines" / "sim-tri.yaml"), source)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("loop: {probe_in: a}", "loop.probe_in: takes in a probe that nothing brings out"),
        (
            "reference: first\nloop: {home_every: 5}",
            "reference: must be datum where the loop homes or heats between touches",
        ),
        (
            "loop: {heat: {bed_c: 50}}",
            "trials: must be what the cycles of loop.heat come to, 300. Give 'trials: 300'.",
        ),
        (
            "warmth: {bed_c: 40}\nloop: {heat: {bed_c: 50}}",
            "loop.heat: goes with a bed that is not warm all along",
        ),
    ],
)
def test_a_loop_that_no_machine_can_do_is_refused(text: str, said: str):
    study = "study: p\ntitle: P\nkind: probe-loop\npoints: [back]\ntrials: 2\n"
    given = "" if "reference" in text else "reference: datum\n"
    with pytest.raises(ConfigError) as caught:
        study_from(Source("s.yaml", f"{study}gauge: {{kind: probe}}\n{given}{text}\n"))
    assert said in str(caught.value)


def test_a_plate_that_would_stand_higher_than_the_head_is_told_is_refused():
    """Plate, clip and leads together can't be lower than the plate alone."""
    tie = "tie:\n  by: touch\n  contact: lamp\n  beyond_mm: 0.004\n  plate_mm: 12\n"
    with pytest.raises(ConfigError) as caught:
        study_from(Source("s.yaml", f"{GAP}{tie}  stands_mm: 5\n"))
    assert "s.yaml:16: tie.stands_mm: is below the plate's own 12 mm" in str(caught.value)


def test_what_repeating_a_tie_cannot_show_is_no_matter_of_millimetres():
    """4 is a slip of the pen for 0.004."""
    tie = "tie: {by: touch, contact: lamp, plate_mm: 0.5, beyond_mm: 4}\n"
    with pytest.raises(ConfigError) as caught:
        study_from(Source("s.yaml", GAP + tie))
    assert "beyond_mm" in str(caught.value)


@pytest.mark.parametrize(
    ("mains_bed", "said"),
    [
        (True, "the bed of machine 'x' is heated by mains voltage"),
        (None, "machine 'x' does not say that its bed is not heated by mains voltage"),
        (False, None),
    ],
)
def test_a_nozzle_is_wired_only_where_the_bed_is_not_on_the_mains(
    mains_bed: bool | None, said: str | None
):
    machine = load_machine(SHIPPED / "machines" / "sim-220.yaml")
    heat = machine.heat.model_copy(update={"mains_bed": mains_bed})
    refused = why_no_touch(machine.model_copy(update={"machine": "x", "heat": heat}))
    assert (refused and refused[0]) == said
    if mains_bed:
        assert refused is not None
        assert refused[1].startswith("No nozzle is wired at this machine")


AXIS = """\
study: axis
title: Z
kind: axis-test
points: [front-left]
trials: 8
reference: datum
axis: {targets_mm: [TARGETS], runs: 2}
"""


def axis_misfit(targets: str, machine: str = "workshop-220") -> str:
    return misfits(AXIS.replace("TARGETS", targets), machine)


def test_a_target_keeps_the_nozzle_off_the_bed_with_its_overrun():
    """The machine reads at z 5 mm, and comes from below by 0.2 mm."""
    said = axis_misfit("-3.81, 0.2")
    assert "-3.81 mm brings the nozzle within 1 mm of the bed" in said
    assert "Give heights from -3.8 mm up" in said
    source = Source("s.yaml", AXIS.replace("TARGETS", "-3.8, 0.2"))
    check_together(
        study_from(source), load_machine(SHIPPED / "machines" / "workshop-220.yaml"), source
    )


def test_a_target_keeps_the_plunger_on_the_bed_and_off_its_stop():
    said = axis_misfit("-1, 0.5")
    assert "0.5 mm is where the plunger of machine 'workshop-220' hangs free" in said
    assert "Give heights below its pre_load_mm, 0.5 mm" in said
    machine = load_machine(SHIPPED / "machines" / "workshop-220.yaml")
    assert machine.indicator is not None
    short = machine.model_copy(
        update={"indicator": machine.indicator.model_copy(update={"travel_mm": 3.0})}
    )
    source = Source("s.yaml", AXIS.replace("TARGETS", "-2.31, 0.2"))
    with pytest.raises(ConfigError, match="is further than plunger or axis"):
        check_together(study_from(source), short, source)


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        ("trials: 8", "trials: 9", "must be what targets, sides and runs come to, 8"),
        ("reference: datum\n", "", "takes no zero"),
        ("[front-left]", "[front-left, front-right]", "is made at one point"),
        ("axis: {targets_mm: [-1, 0.2], runs: 2}\n", "", "says what heights are tested"),
        ("reference", "gauge: {kind: probe}\nreference", "not where the axis was sent"),
        ("reference", "operators: [a, b]\nreference", "read by one person"),
        ("[-1, 0.2]", "[0.2, -1]", "must be above the one before it"),
    ],
)
def test_an_axis_test_has_what_it_needs(old, new, why):
    text = AXIS.replace("TARGETS", "-1, 0.2").replace(old, new)
    with pytest.raises(ConfigError, match=why):
        study_from(Source("s.yaml", text))


GAUGES = """\
study: gauges
title: Two
kind: gauge-comparison
points: [front-left]
trials: 5
reference: datum
gauge: {kind: probe}
second_gauge: {kind: typed}
"""


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        ("second_gauge: {kind: typed}\n", "", "what the first is held against"),
        ("kind: typed", "kind: probe", "two gauges of kind probe are one and the same"),
        ("reference: datum\n", "", "takes no zero"),
        ("kind: typed", "kind: typed, typed_in_graduations: true", "to say for both"),
        ("reference", "operators: [a, b]\nreference", "read by one person"),
        ("kind: gauge-comparison", "kind: rig-check", "goes with kind gauge-comparison only"),
    ],
)
def test_a_gauge_comparison_has_two_that_can_be_told_apart(old, new, why):
    with pytest.raises(ConfigError, match=why):
        study_from(Source("s.yaml", GAUGES.replace(old, new)))


def test_it_needs_both_gauges_on_its_machine():
    assert "gauge.kind: machine 'workshop-220' has no probe" in misfits(GAUGES, "workshop-220")
