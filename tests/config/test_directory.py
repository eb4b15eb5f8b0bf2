"""The daemon's directory: checked as a whole, every mistake of every file at once."""

import shutil
from pathlib import Path

import pytest

from hostctl.config.directory import read_directory
from hostctl.config.find import SHIPPED
from hostctl.config.host import Page
from hostctl.config.load import FileMistakes


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for kind in ("machines", "studies"):
        shutil.copytree(SHIPPED / kind, tmp_path / kind)
    return tmp_path


def mistakes_of(folder: Path, host: str) -> str:
    (folder / "host.yaml").write_text(host)
    with pytest.raises(FileMistakes) as caught:
        read_directory(folder)
    return str(caught.value)


def test_machines_and_studies_go_by_their_own_names(folder: Path):
    (folder / "studies" / "rig-check.yaml").rename(folder / "studies" / "first.yaml")
    (folder / "host.yaml").write_text("machines: [sim-220, sim-tri]\n")
    directory = read_directory(folder)
    assert list(directory.machines) == ["sim-220", "sim-tri"]
    assert sorted(directory.studies) == [
        *("axis-test", "gauge-comparison", "level", "level-by-probe", "probe-loop", "probe-night"),
        *("rig-check", "three-methods", "tie", "true-gap"),
    ]


def test_only_studies_that_fit_a_machine_can_be_started_on_it(folder: Path):
    (folder / "host.yaml").write_text("machines: [sim-220, sim-tri]\n")
    directory = read_directory(folder)
    fitting = {name: directory.studies_for(m.checked) for name, m in directory.machines.items()}
    assert "probe-loop" not in fitting["sim-220"]
    assert "probe-loop" in fitting["sim-tri"]


def test_mistakes_of_all_files_come_at_once(folder: Path):
    (folder / "studies" / "rig-check.yaml").write_text("study: rig-check\n")
    (folder / "machines" / "sim-220.yaml").write_text("machine: sim-220\n")
    said = mistakes_of(folder, "machines: [sim-220, sim-tria]\n")
    assert "there is no" in said
    assert "Did you mean 'sim-tri'?" in said
    assert "title is missing" in said
    assert "travel is missing" in said


def test_the_files_of_the_page_count_from_the_directory(folder: Path):
    page = "{certificate_file: page.crt, key_file: /etc/page.key}"
    (folder / "host.yaml").write_text(f"machines: [sim-220]\npage: {page}\n")
    host = read_directory(folder).host
    assert host.page is not None
    assert host.page.certificate_file == str(folder / "page.crt")
    assert host.page.key_file == "/etc/page.key"


@pytest.mark.parametrize("address", ["192.168.1.20", "2001:db8::1", "printers.local", "bench"])
def test_a_phone_reaches_the_page_by_a_name_or_an_address(folder: Path, address: str):
    (folder / "host.yaml").write_text(f"machines: [sim-220]\npage: {{address: '{address}'}}\n")
    assert read_directory(folder).host.page == Page(address=address)


@pytest.mark.parametrize(
    ("page", "said"),
    [
        ("{address: 'http://192.168.1.20:8477'}", "must be a name or an IP address alone"),
        ("{address: '192.168.1.20:8477'}", "must be a name or an IP address alone"),
        ("{address: 'my bench'}", "must be a name or an IP address alone"),
        ("{certificate_file: page.crt}", "certificate_file and key_file go together"),
        ("{key_file: page.key}", "certificate_file and key_file go together"),
    ],
)
def test_what_is_wrong_with_the_page_is_said(folder: Path, page: str, said: str):
    assert said in mistakes_of(folder, f"machines: [sim-220]\npage: {page}\n")


@pytest.mark.parametrize(
    ("host", "line", "said"),
    [
        ("page:", 2, "page: is empty. Write at least 'port: 8477', or leave it out."),
        ("page: null", 2, "page: is empty"),
        ("messages:", 2, "messages: is empty. Write at least 'broker: localhost', or"),
        ("messages:\n  broker: b\n  tls:", 4, "messages.tls: is empty. Write at least 'ca_file: "),
        ("page:\n  address:", 3, "page.address: is empty. Write its value, or leave it out."),
        ("database:", 2, "database: is empty. Write its value, or leave it out."),
    ],
)
def test_what_is_empty_is_refused_and_never_taken_as_left_out(
    folder: Path, host: str, line: int, said: str
):
    assert f"host.yaml:{line}: {said}" in mistakes_of(folder, f"machines: [sim-220]\n{host}\n")


def test_a_page_with_all_its_keys_left_out_is_a_page(folder: Path):
    (folder / "host.yaml").write_text("machines: [sim-220]\npage: {}\n")
    assert read_directory(folder).host.page == Page()


def test_without_a_host_file_that_is_said(folder: Path):
    with pytest.raises(FileMistakes, match=r"host\.yaml: can't be read"):
        read_directory(folder)


@pytest.mark.parametrize(
    ("host", "said"),
    [
        ("machines: [sim-220]\nkeys: [{machine: sim-20, device: /x}]\n", "called 'sim-20'"),
        ("machines: [sim-220]\nbuttons: [{machine: x, line: 1}]\n", "buttons.machine: no machine"),
        ("machines: [sim-220, twin]\n", "machine 'sim-220' has sim://"),
        ("machines: [sim-220, copy]\n", "machine 'sim-220' is in sim-220.yaml already"),
    ],
)
def test_files_are_held_against_each_other(folder: Path, host: str, said: str):
    text = (folder / "machines" / "sim-220.yaml").read_text()
    (folder / "machines" / "copy.yaml").write_text(text)
    (folder / "machines" / "twin.yaml").write_text(
        text.replace("machine: sim-220", "machine: twin")
    )
    assert said in mistakes_of(folder, host)


@pytest.mark.parametrize("kind", ["machines", "studies"])
def test_a_folder_that_is_none_is_not_taken_for_an_empty_one(folder: Path, kind: str):
    shutil.rmtree(folder / kind)
    (folder / kind).write_text("")
    assert f"{folder / kind}: can't be looked into" in mistakes_of(folder, "machines: [sim-220]\n")
