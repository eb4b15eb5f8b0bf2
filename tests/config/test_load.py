"""Machine and study files: every mistake in one go, each with file, line, key and next step."""

import re
from pathlib import Path

import pytest

from hostctl.config.find import SHIPPED
from hostctl.config.load import FileMistakes, load_machine, machine_from, study_from
from hostctl.config.machine import Machine
from hostctl.config.study import Order
from hostctl.config.yaml_text import Source, parse
from hostctl.errors import ConfigError

MACHINES = sorted((SHIPPED / "machines").glob("*.yaml"))
STUDIES = sorted((SHIPPED / "studies").glob("*.yaml"))

MACHINE = """\
machine: bench
port: sim://workshop-220
travel:
  x: {from_mm: 0, to_mm: 200}
  y: {from_mm: 0, to_mm: 200}
  z: {from_mm: 0, to_mm: 200}
points:
  - {name: left, x_mm: 20, y_mm: 20}
"""
STUDY = """\
study: small
title: A small study
kind: rig-check
points: [left]
trials: 5
"""


def mistakes_in(text: str) -> list[str]:
    read = machine_from if "machine:" in text else study_from
    with pytest.raises(ConfigError) as caught:
        read(Source("bench.yaml", text))
    return str(caught.value).splitlines()


@pytest.mark.parametrize("path", MACHINES, ids=lambda path: path.stem)
def test_each_shipped_machine_loads_under_its_own_name(path: Path):
    assert load_machine(path).machine == path.stem


@pytest.mark.parametrize("path", STUDIES, ids=lambda path: path.stem)
def test_each_shipped_study_loads_under_its_own_name(path: Path):
    assert study_from(Source.of(path)).study == path.stem


@pytest.mark.parametrize("size", ["220", "tri"])
def test_a_simulated_machine_is_the_twin_of_the_real_one(size: str):
    own = {"machine", "port", "reset_on_open", "outputs", "door"}
    real = load_machine(SHIPPED / "machines" / f"workshop-{size}.yaml")
    simulated = load_machine(SHIPPED / "machines" / f"sim-{size}.yaml")
    assert _alike(simulated, own) == _alike(real, own)


def _alike(machine: Machine, own: set[str]) -> dict[str, object]:
    """What twins share: what must be measured at a real machine is known of a simulated one."""
    told = machine.model_dump(exclude=own)
    for screw in told["screws"]:
        screw |= {"can_raise_mm": None, "can_lower_mm": None}
    if machine.probe is not None:
        told["probe"]["free_when"] = None
    return told


def test_words_become_typed_values():
    study = study_from(Source("s.yaml", STUDY + "order: mixed\ntolerance: {within_mm: 5e-2}\n"))
    assert study.kind == "rig-check"
    assert study.order is Order.MIXED
    assert study.tolerance is not None
    assert study.tolerance.within_mm == 0.05


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("baud: -5", "baud: must be at least 1200 (got -5)"),
        ("baud: 9600.5", "baud: must be a whole number (got 9600.5)"),
        ('baud: "115200"', 'baud: must be a whole number (got "115200")'),
        ("baud: true", "baud: must be a whole number (got true)"),
        ("lift_mm: high", 'lift_mm: must be a number (got "high")'),
        ("lift_mm: .nan", "lift_mm: must be at most 20 (got NaN)"),
        ("speeds: fast", 'speeds: must be a section with keys of its own (got "fast")'),
        ("screws: {name: a}", "screws: must be a list"),
        ("lift: 5", "lift is no key here. Did you mean 'lift_mm'?"),
        (
            "noise: {most_resnds: 4}",
            "noise.most_resnds is no key here. Did you mean 'most_resends'",
        ),
        ("zzz: 1", "zzz is no key here. Known here: baud, dialect, door, dry_cycles,"),
        ("dialect: Classic", "dialect: must be lower-case letters, digits and hyphens"),
        ("reset_on_open: on", 'reset_on_open: must be true or false (got "on")'),
        ("baud: 0115200", 'baud: must be a whole number (got "0115200")'),
        ("lift_mm: 12:30", 'lift_mm: must be a number (got "12:30")'),
        ("lift_mm: 2026-11-25", 'lift_mm: must be a number (got "2026-11-25")'),
        ("screws: [{name: a, x_mm: 1}]", "screws.1.y_mm is missing"),
    ],
)
def test_a_mistake_names_file_line_key_and_what_to_do(line: str, said: str):
    (mistake,) = mistakes_in(MACHINE + line + "\n")
    assert mistake.startswith(f"bench.yaml:9: {said}")
    assert mistake.endswith((".", "?"))


@pytest.mark.slow
@pytest.mark.parametrize(
    ("text", "said"),
    [
        (STUDY.replace("rig-check", "rig-chek"), 'bench.yaml:3: kind: can\'t be "rig-chek". Did'),
        (STUDY.replace("rig-check", "comparison"), "bench.yaml:1: methods: a comparison needs at"),
        (STUDY.replace("[left]", "[left, left]"), "bench.yaml:4: points.2: 'left' is named twice"),
        (STUDY.replace("trials: 5\n", ""), "bench.yaml:1: trials is missing. Add it"),
        (STUDY + "trials: 6\n", "bench.yaml:6: trials: is given twice (first on line 5)"),
        (STUDY + "seed: [\n", "bench.yaml:7: is not YAML: "),
        (STUDY + "\tseed: 1\n", "bench.yaml:6: is not YAML: a tab begins the line"),
        (STUDY + "order: *x\n", "bench.yaml:6: is not YAML: a reference (*) is not taken"),
        (
            STUDY + "title: !!python/name:os.system x\n",
            "bench.yaml:6: is not YAML: a tag (!) is not taken",
        ),
        (STUDY + "---\n" + STUDY, "bench.yaml:6: is not YAML: a second document (---) begins"),
        (STUDY + 'order: "mixed\n', "bench.yaml:7: is not YAML: a bracket or quotation is not"),
        (STUDY + "order: @x\n", "bench.yaml:6: is not YAML: no value can begin like this. Put"),
        (STUDY + "order: a: b\n", "bench.yaml:6: is not YAML: a ':' too many, or a wrong indent"),
        (STUDY + "order: " + "[" * 3000, "bench.yaml: is not YAML: its brackets are nested too"),
        ("", "bench.yaml: is empty"),
        ("- machinery\n", "bench.yaml:1: must be a section with keys of its own"),
        ("a: 1\nb: \x00\n", "bench.yaml:2: is not YAML: it holds unreadable characters"),
        (
            MACHINE.replace("20, y_mm: 20", "500, y_mm: 20"),
            "bench.yaml:8: points.1.x_mm: 'left' lies outside the x travel, 0 to 200 mm",
        ),
        (
            MACHINE + "probe: {offset_x_mm: 30}\n",
            "bench.yaml:9: probe.offset_x_mm: it can't reach point 'left' within the travel",
        ),
        (
            MACHINE + "  - {name: left, x_mm: 50, y_mm: 20}\n",
            "bench.yaml:9: points.2.name: another one is called 'left' too",
        ),
        (
            MACHINE + "screws:\n  - {name: a, x_mm: 0, y_mm: 0}\n  - {name: a, x_mm: 9, y_mm: 0}\n",
            "bench.yaml:11: screws.2.name: another one is called 'a' too",
        ),
        (
            MACHINE + "screws:\n  - {name: a, x_mm: 0, y_mm: 1900}\n",
            "bench.yaml:10: screws.1.y_mm: 'a' lies over 50 mm outside the y travel, 0 to 200 mm",
        ),
        (
            MACHINE + "park: {name: park, x_mm: -1, y_mm: 0}\n",
            "bench.yaml:9: park.x_mm: 'park' lies outside the x travel",
        ),
        (
            MACHINE.replace("z: {from_mm: 0", "z: {from_mm: 1"),
            "bench.yaml:1: set_z_mm: 0 mm lies outside the z travel, 1 to 200 mm",
        ),
        (
            MACHINE.replace("z: {from_mm: 0, to_mm: 200", "z: {from_mm: 0, to_mm: 7")
            + "indicator:\n  reading_z_mm: 7.5\n",
            "bench.yaml:10: indicator.reading_z_mm: 7.5 mm lies outside the z travel, 0 to 7 mm",
        ),
        (
            MACHINE.replace("z: {from_mm: 0, to_mm: 200", "z: {from_mm: 0, to_mm: 7")
            + "indicator: {}\n",
            "bench.yaml:6: travel.z: the clear height 10 mm lies outside it",
        ),
        (
            # Homing takes the nozzle to z = 0 whatever the height at which the gap is set.
            MACHINE + "indicator:\n  travel_mm: 5\nset_z_mm: 1\n",
            "bench.yaml:10: indicator.travel_mm: the plunger would be pushed in 5.5 mm where the",
        ),
        (
            MACHINE + "noise: {most_resends: 100}\n",
            "bench.yaml:9: noise.most_resends: must be below among_lines, 100",
        ),
        (
            MACHINE + "position_tolerance_mm: 50\n",
            "bench.yaml:9: position_tolerance_mm: must be at most 0.5 (got 50)",
        ),
        (
            STUDY + "reference: previous\norder: mixed\n",
            "bench.yaml:7: order: must be blocked, as reference: previous compares neighbours",
        ),
        (
            STUDY + "methods: [{name: paper-slip, instruction: Set it.}]\n",
            "bench.yaml:6: methods: a rig check adjusts nothing and has none",
        ),
    ],
)
def test_a_file_that_is_wrong_as_a_whole_says_so(text: str, said: str):
    assert mistakes_in(text)[0].startswith(said)


def test_all_mistakes_of_a_file_come_in_one_go_in_the_order_of_its_lines():
    wrong = MACHINE.replace("bench", "Bench") + "baud: 1\nlift: 5\nheat: {longest_s: 0}\n"
    keys = [" ".join(re.split(r"[: ]+", line)[:3]) for line in mistakes_in(wrong)]
    assert keys == [
        "bench.yaml 1 machine",
        "bench.yaml 9 baud",
        "bench.yaml 10 lift",
        "bench.yaml 11 heat.longest_s",
    ]


def test_several_mistakes_are_one_error_with_the_code_of_a_wrong_file():
    with pytest.raises(FileMistakes) as caught:
        study_from(Source("s.yaml", "study: A B\n"))
    assert caught.value.exit_code == ConfigError.exit_code == 3
    assert len(caught.value.mistakes) == 5


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"title: caf\xe9\n", ":1: is not UTF-8 text. Save the file as UTF-8."),
        (b"#" * 1_000_001, ": is over 1 MB. "),
    ],
)
def test_a_file_that_is_no_text_says_so(tmp_path: Path, data: bytes, said: str):
    path = tmp_path / "odd.yaml"
    path.write_bytes(data)
    with pytest.raises(ConfigError) as caught:
        study_from(Source.of(path))
    assert str(caught.value).startswith(f"{path}{said}")


def test_a_file_that_is_not_there_says_so(tmp_path: Path):
    with pytest.raises(ConfigError, match="can't be read"):
        load_machine(tmp_path / "none.yaml")


@pytest.mark.parametrize(
    ("written", "next_step"),
    [
        ("position_tolerance_mm: 0,05", "Write 0.05, with a decimal point."),
        ("position_tolerance_mm: 50 µm", "Write 0.05, the number alone, in mm."),
        ("position_tolerance_mm: 0,05mm", "Write 0.05, the number alone, in mm."),
        ("position_tolerance_mm: 2 mil", "Write 0.0508, the number alone, in mm."),
        ("position_tolerance_mm: 5 cm", "Write 5, the number alone, in the unit that ends"),
        ("position_tolerance_mm: '1e-2 or so'", "Correct it."),
        ("heat: {longest_s: 900 s}", "Write 900, the number alone, in the unit that ends"),
        ("indicator: {offset_x_mm: 25,5}", "A decimal comma? Write a point, as in 0.05."),
    ],
)
def test_a_number_with_a_comma_or_its_unit_is_written_out(written: str, next_step: str):
    with pytest.raises(FileMistakes) as refused:
        machine_from(Source("m.yaml", f"machine: m\n{written}\n"))
    assert any(next_step in str(mistake) for mistake in refused.value.mistakes)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a:\n  b: 1\n c: 2\n", "bad.yaml:3: is not YAML: this line is indented otherwise"),
        ("a: {b: 1, c: 2}\n  d: 3\n", "bad.yaml:2: is not YAML: "),
        ("a\nb: 1\n", "bad.yaml:2: is not YAML: "),
        ("a: [1, 2\nb: 1\n", "bad.yaml:2: is not YAML: a comma or a bracket is missing"),
        ('a: "C:\\q"\n', "bad.yaml:1: is not YAML: a '\\' in double quotes"),
        ("{[1]: 2}: 3\n", "is not YAML: a bracket where a key should be"),
        ("a: }\n", "bad.yaml:1: is not YAML: a value is missing, or a bracket too many"),
        ("a: - 1\n", "bad.yaml:1: is not YAML: a '-' or '?' in the wrong place"),
        ("a: *b\n", "bad.yaml:1: is not YAML: a reference (*) is not taken"),
    ],
)
def test_what_is_no_yaml_is_said_without_the_parsers_jargon(text: str, said: str):
    with pytest.raises(ConfigError) as refused:
        parse(Source("bad.yaml", text))
    assert said in str(refused.value)
    assert "expected" not in str(refused.value)
