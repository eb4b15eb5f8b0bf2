"""Where a file is looked for when only a short name is given."""

import tomllib
from pathlib import Path

import pytest

from hostctl.config.find import SHIPPED, find_file
from hostctl.errors import ConfigError


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("HOSTCTL_CONFIG", raising=False)
    return tmp_path


def test_a_path_is_taken_as_given():
    assert find_file("some/where/mine.yaml", "studies") == Path("some/where/mine.yaml")


def test_a_short_name_finds_the_shipped_file_from_any_folder():
    assert find_file("rig-check", "studies") == SHIPPED / "studies" / "rig-check.yaml"


def test_ones_own_folder_goes_before_the_shipped_files(
    elsewhere: Path, monkeypatch: pytest.MonkeyPatch
):
    own = elsewhere / "own"
    (own / "studies").mkdir(parents=True)
    (own / "studies" / "rig-check.yaml").write_text("study: rig-check\n")
    monkeypatch.setenv("HOSTCTL_CONFIG", str(own))
    assert find_file("rig-check", "studies") == own / "studies" / "rig-check.yaml"


def test_the_current_folder_goes_before_all(elsewhere: Path):
    (elsewhere / "sim-220.yaml").write_text("machine: sim-220\n")
    assert find_file("sim-220", "machines") == Path("sim-220.yaml")


def test_an_unknown_name_gets_the_nearest():
    with pytest.raises(ConfigError, match=r"Did you mean 'three-methods'\?"):
        find_file("three-method", "studies")


def test_an_installed_package_holds_every_shipped_file():
    root = SHIPPED.parent
    settings = tomllib.loads((root / "pyproject.toml").read_text())["tool"]["setuptools"]
    installed = {
        str(Path(folder, path.name).relative_to("share/hostctl"))
        for folder, patterns in settings["data-files"].items()
        for pattern in patterns
        for path in root.glob(pattern)
        if path.is_file()
    }
    shipped = {str(path.relative_to(SHIPPED)) for path in SHIPPED.rglob("*") if path.is_file()}
    assert installed == shipped
