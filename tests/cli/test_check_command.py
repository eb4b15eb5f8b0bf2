"""`hostctl check`: what kind of file it is, told by its content, and all that is wrong with it."""

import os
from pathlib import Path

import pytest

from hostctl.cli.main import main
from hostctl.config.any_file import any_file_from
from hostctl.config.find import SHIPPED
from hostctl.config.yaml_text import Source

Printed = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("HOSTCTL_CONFIG", raising=False)
    return tmp_path


def shipped_text(name: str) -> str:
    return (SHIPPED / name).read_text()


@pytest.mark.parametrize("name", [path.stem for path in (SHIPPED / "studies").glob("*.yaml")])
def test_the_shipped_studies_fit_a_shipped_machine(name: str, capsys: Printed):
    by_probe = ("probe-loop", "probe-night", "gauge-comparison", "level-by-probe")
    machine = "sim-tri" if name in by_probe else "sim-220"
    path = SHIPPED / "studies" / f"{name}.yaml"
    assert main(["check", str(path), "--machine", machine]) == 0
    said = f"{path}: study '{name}' is in order and fits machine '{machine}'\n"
    assert capsys.readouterr().out == said


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("machines/sim-220.yaml", "machine 'sim-220' is in order"),
        ("studies/rig-check.yaml", "study 'rig-check' is in order"),
        (
            "budgets/indicator-on-head.yaml",
            "budget 'height of the nozzle over the datum' is in order",
        ),
        ("host.yaml", "host file is in order; give its directory to check the files it names too"),
    ],
)
def test_the_kind_of_a_file_is_told_by_its_content(
    folder: Path, name: str, said: str, capsys: Printed
):
    (folder / "notes.txt").write_text(shipped_text(name))
    assert main(["check", "notes.txt"]) == 0
    assert capsys.readouterr().out == f"notes.txt: {said}\n"


@pytest.mark.parametrize("name", ["sim-220", "rig-check", "indicator-on-head"])
def test_a_short_name_is_found_among_all_kinds(name: str, capsys: Printed):
    assert main(["check", name]) == 0
    assert capsys.readouterr().out.endswith(" is in order\n")


@pytest.mark.parametrize("name", ["workshop-220", "workshop-tri"])
def test_a_copy_whose_port_was_not_put_in_is_told_so(folder: Path, name: str, capsys: Printed):
    text = shipped_text(f"machines/{name}.yaml").replace(f"machine: {name}", "machine: mine")
    (folder / "mine.yaml").write_text(text)
    assert main(["check", "mine.yaml"]) == 0
    said = capsys.readouterr().out
    assert "machine 'mine' is in order, but its port is still the example's (/dev/serial" in said
    assert "put in one of 'hostctl ports'" in said


def test_a_misspelt_short_name_gets_the_nearest(capsys: Printed):
    assert main(["check", "indicator-on-heat"]) == 3
    assert "Did you mean 'indicator-on-head'?" in capsys.readouterr().err


def test_a_directory_is_checked_as_a_whole(capsys: Printed):
    assert main(["check", str(SHIPPED)]) == 0
    said = "the daemon's directory is in order; machines: sim-220; studies: axis-test, "
    assert said in capsys.readouterr().out


def test_a_directory_is_told_the_mistakes_of_all_its_files(folder: Path, capsys: Printed):
    (folder / "machines").mkdir()
    (folder / "studies").mkdir()
    (folder / "host.yaml").write_text("machines: [bench]\npge: {}\n")
    (folder / "studies" / "a.yaml").write_text("study: a\n")
    assert main(["check", "."]) == 3
    printed = capsys.readouterr()
    assert printed.out == ""
    assert "host.yaml:2: pge is no key here. Did you mean 'page'?" in printed.err
    assert "studies/a.yaml:1: title is missing" in printed.err


def test_another_directory_is_said_to_be_none_of_the_daemons(folder: Path, capsys: Printed):
    (folder / "mine").mkdir()
    assert main(["check", "mine"]) == 3
    said = "mine: holds no host.yaml, so it is no directory of the daemon. Name its files: hostctl"
    assert capsys.readouterr().err.startswith(said)


@pytest.mark.parametrize("command", ["check", "budget", "analyse", "history"])
def test_what_would_wait_or_never_end_is_refused(command: str, folder: Path, capsys: Printed):
    os.mkfifo(folder / "pipe.yaml")
    for name in (str(folder / "pipe.yaml"), "/dev/zero"):
        assert main([command, name]) in (3, 8)
        assert f"{name}: is no plain file. Give the path of " in capsys.readouterr().err


def test_a_file_far_too_long_is_refused(folder: Path, capsys: Printed):
    (folder / "long.yaml").write_bytes(b"# \n" * 400_000)
    assert main(["check", str(folder / "long.yaml")]) == 3
    assert "long.yaml: is over 1 MB. Give a machine" in capsys.readouterr().err


def test_what_is_right_is_said_beside_what_is_wrong(folder: Path, capsys: Printed):
    (folder / "odd.yaml").write_text("name: x\n")
    (folder / "good.yaml").write_text(shipped_text("machines/sim-220.yaml"))
    assert main(["check", "odd.yaml", "good.yaml"]) == 3
    printed = capsys.readouterr()
    assert printed.out == "good.yaml: machine 'sim-220' is in order\n"
    assert printed.err.startswith("odd.yaml:1: is no machine, study, budget or host file. Begin")


@pytest.mark.parametrize(
    ("name", "first_key", "missing"),
    [
        ("machines/sim-220.yaml", "machine", "machine is missing"),
        ("studies/rig-check.yaml", "study", "study is missing"),
        ("budgets/indicator-on-head.yaml", "measurand", "measurand is missing"),
        ("host.yaml", "machines", "machines is missing"),
    ],
)
def test_a_file_without_its_first_key_is_still_told_what_it_lacks(
    folder: Path, name: str, first_key: str, missing: str, capsys: Printed
):
    text = shipped_text(name).replace(f"\n{first_key}:", "\nx-key:", 1)
    (folder / "mine.yaml").write_text(text)
    assert main(["check", "mine.yaml"]) == 3
    printed = capsys.readouterr().err
    assert missing in printed
    assert "x-key is no key here" in printed


@pytest.mark.parametrize(
    ("name", "was", "is_now", "said"),
    [
        ("machines/sim-tri", "dialect: terse", "dialect: tersse", "dialect: no plug-in is called"),
        ("machines/sim-tri", "port: sim://", "port: simm://", "port: no plug-in is called 'simm'"),
        ("studies/rig-check", "kind: typed", "kind: typd", "gauge.kind: no plug-in is called"),
    ],
)
def test_a_plug_in_that_is_not_installed_is_told_with_its_line(
    folder: Path, name: str, was: str, is_now: str, said: str, capsys: Printed
):
    text = shipped_text(f"{name}.yaml").replace(was, is_now)
    (folder / "mine.yaml").write_text(text)
    assert main(["check", "mine.yaml"]) == 3
    line = text[: text.index(is_now)].count("\n") + 1
    (told,) = capsys.readouterr().err.splitlines()
    assert told.startswith(f"mine.yaml:{line}: {said}")
    assert "Did you mean '" in told


def test_so_it_is_in_the_daemons_directory(folder: Path, capsys: Printed):
    (folder / "machines").mkdir()
    (folder / "host.yaml").write_text("machines: [sim-tri]\n")
    text = shipped_text("machines/sim-tri.yaml").replace("dialect: terse", "dialect: tersse")
    (folder / "machines" / "sim-tri.yaml").write_text(text)
    assert main(["check", "."]) == 3
    assert "dialect: no plug-in is called 'tersse'" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("section", "holds"),
    [
        (
            "page: {certificate_file: page.crt, key_file: SECRET}",
            "the private key of the phone page",
        ),
        ("messages: {broker: localhost, password_file: SECRET}", "the broker's password"),
        (
            "messages: {broker: localhost, tls: {ca_file: a, certificate_file: b, "
            "key_file: SECRET}}",
            "the private key",
        ),
    ],
)
def test_a_secret_that_serve_would_refuse_is_refused_by_check(
    folder: Path, capsys: Printed, section: str, holds: str
):
    secret = folder / "secret"
    for name in ("a", "b", "page.crt"):
        (folder / name).touch()
    (folder / "machines").mkdir()
    (folder / "machines" / "sim-tri.yaml").write_text(shipped_text("machines/sim-tri.yaml"))
    host = f"machines: [sim-tri]\n{section}\n".replace("SECRET", str(secret))
    (folder / "host.yaml").write_text(host)
    assert main(["check", "."]) == 3
    assert f"it can't be read, but should hold {holds}" in capsys.readouterr().err
    secret.write_text("hush")
    secret.chmod(0o640)
    assert main(["check", "."]) == 3
    assert "others may read or change it" in capsys.readouterr().err
    secret.chmod(0o600)
    assert main(["check", "."]) == 0


@pytest.mark.parametrize(
    ("section", "holds"),
    [
        ("page: {certificate_file: page.crt, key_file: key}", "the certificate of the phone page"),
        ("messages: {broker: b, tls: {ca_file: ca.crt}}", "the certificate of the broker's"),
        (
            "messages: {broker: b, tls: {ca_file: key, certificate_file: a, key_file: key}}",
            "its certificate",
        ),
    ],
)
def test_a_certificate_that_is_not_there_is_refused_by_check(
    folder: Path, capsys: Printed, section: str, holds: str
):
    (folder / "key").touch(mode=0o600)
    (folder / "machines").mkdir()
    (folder / "machines" / "sim-tri.yaml").write_text(shipped_text("machines/sim-tri.yaml"))
    (folder / "host.yaml").write_text(f"machines: [sim-tri]\n{section}\n")
    assert main(["check", "."]) == 3
    assert f"it can't be read, but should hold {holds}" in capsys.readouterr().err


def test_a_budgets_own_mistakes_are_told_with_their_lines(folder: Path, capsys: Printed):
    text = shipped_text("budgets/indicator-on-head.yaml").replace("step_mm: ", "stp_mm: ", 1)
    (folder / "budget.yaml").write_text(text)
    line = text[: text.index("stp_mm")].count("\n") + 1
    assert main(["check", "budget.yaml"]) == 3
    said = f"budget.yaml:{line}: contributions.1.resolution.stp_mm is no key here. Did you mean"
    assert said in capsys.readouterr().err


@pytest.mark.parametrize(
    ("name", "now", "old", "said"),
    [
        ("studies/three-methods.yaml", "\n  turn_away:", "\n  disturb:", "cycle.turn_away"),
        ("machines/sim-220.yaml", "\ndry_cycles:", "\nwarm_up_cycles:", "dry_cycles"),
    ],
)
def test_the_old_name_of_a_key_is_still_read_with_a_note(tmp_path, capsys, name, now, old, said):
    text = shipped_text(name)
    assert text.count(now) == 1
    path = tmp_path / "old.yaml"
    path.write_text(text.replace(now, old))
    assert main(["check", str(path)]) == 0
    assert f"is called {said} now; both are read" in capsys.readouterr().out
    assert any_file_from(Source.of(path)) == any_file_from(Source.of(SHIPPED / name))


def test_a_key_under_both_its_names_is_a_mistake(tmp_path, capsys):
    path = tmp_path / "both.yaml"
    path.write_text(shipped_text("machines/sim-220.yaml") + "\nwarm_up_cycles: 3\n")
    assert main(["check", str(path)]) == 3
    assert "warm_up_cycles is no key here" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("trials", "sides", "needed"), [(150, "false", 293), (600, "true", 710), (293, "false", None)]
)
def test_a_loop_whose_count_can_not_do_for_its_share_is_named(
    folder: Path, trials: int, sides: str, needed: int | None, capsys: Printed
):
    text = shipped_text("studies/probe-loop.yaml")
    text = text.replace("trials: 100", f"trials: {trials}").replace("0.25", "0.1", 1)
    (folder / "loop.yaml").write_text(text.replace("sides: false", f"sides: {sides}"))
    assert main(["check", "loop.yaml"]) == 0
    *notes, last = capsys.readouterr().out.splitlines()
    assert last == "loop.yaml: study 'probe-loop' is in order"
    assert len(notes) == (needed is not None)
    if needed is not None:
        assert (
            f"can't reach 0.1, so the loop goes to its count; it takes 'trials: {needed}'"
            in notes[0]
        )
        assert notes[0].startswith("loop.yaml:23: loop.known_to: ")
