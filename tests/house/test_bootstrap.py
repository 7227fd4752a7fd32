"""A bare checkout starts: it makes its environment once, and says what is missing."""

import os
import shutil
import subprocess
import sys
import sysconfig
from pathlib import Path

import pytest

from coop.bootstrap import Stopped, environment, install_debian
from tests.support.files import ROOT


@pytest.fixture(scope="module")
def checkout(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A checkout whose lock files list nothing: no index is needed.  Its name has a space."""
    folder = tmp_path_factory.mktemp("a studio's") / "coop checkout"
    shutil.copytree(
        ROOT / "coop", folder / "coop", ignore=shutil.ignore_patterns("__pycache__")
    )
    (folder / "requirements.lock").write_text("# nothing\n")
    (folder / "other.lock").write_text("# nothing either\n")
    return folder


def start(checkout: Path, folder: Path) -> subprocess.CompletedProcess[str]:
    """Run ``python3 coop --version``; the packages come from the environment of the tests."""
    return subprocess.run(
        [sys.executable, checkout / "coop", "--version"], cwd=folder,
        env={**os.environ, "PYTHONPATH": sysconfig.get_path("purelib")},
        capture_output=True, text=True, check=False,
    )  # fmt: skip


def test_a_bare_checkout_starts_from_any_folder(checkout: Path, tmp_path: Path) -> None:
    """The one command README gives; the second time it says nothing and makes nothing."""
    first = start(checkout, tmp_path)
    made = (checkout / ".venv" / "pyvenv.cfg").stat().st_mtime_ns
    second = start(checkout, checkout)
    command = subprocess.run(
        [checkout / ".venv" / "bin" / "coop", "--version"], cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": sysconfig.get_path("purelib")},
        capture_output=True, text=True, check=False,
    )  # fmt: skip

    assert first.stdout.startswith("coop "), first.stderr
    assert "making" in first.stderr
    assert (second.stdout, second.stderr) == (first.stdout, "")
    assert command.stdout == first.stdout
    assert (checkout / ".venv" / "pyvenv.cfg").stat().st_mtime_ns == made
    assert list(tmp_path.iterdir()) == []


def test_an_environment_without_its_python_is_made_again(checkout: Path) -> None:
    """As after an upgrade of the system that took the old Python away."""
    python = environment("other.lock", checkout)
    for link in python.parent.glob("python*"):
        link.unlink()

    assert environment("other.lock", checkout).exists()


def test_a_changed_lock_file_is_installed(
    checkout: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    environment("other.lock", checkout)
    capfd.readouterr()
    environment("other.lock", checkout)
    quiet = capfd.readouterr().err
    (checkout / "other.lock").write_text("# something else\n")
    environment("other.lock", checkout)

    assert quiet == ""
    assert "installing what other.lock lists" in capfd.readouterr().err


def test_a_package_without_its_hash_is_refused(checkout: Path) -> None:
    """Nothing gets in that was not there when the lock file was written."""
    (checkout / "loose.lock").write_text("coop-is-not-pinned\n")

    with pytest.raises(Stopped, match="could not install the packages"):
        environment("loose.lock", checkout)
    assert not (checkout / ".venv" / "loose.lock.stamp").exists()


def test_a_missing_lock_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(Stopped, match=r"cannot read .*requirements\.lock"):
        environment("requirements.lock", tmp_path)


def test_without_apt_get_a_person_is_told_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))

    with pytest.raises(
        Stopped, match=r"postgresql .for tests.*sudo apt-get install postgresql"
    ):
        install_debian({"postgresql": "for tests"})
