"""The wheel alone is enough: installed elsewhere it starts and finds what it ships with."""

import os
import subprocess
import sys
import sysconfig
import zipfile
from pathlib import Path

import pytest

from tests.support.files import ROOT, tracked_files

SHIPPED = ("migrations", "fixtures")


def run(*command: str | Path, folder: Path) -> str:
    done = subprocess.run(
        command, cwd=folder, env={**os.environ, "PIP_NO_INDEX": "1"},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def build(target: str, source: Path, folder: Path) -> Path:
    """Build with hatchling alone, which needs no index; return the one file it makes."""
    run(sys.executable, "-m", "hatchling", "build", "-t", target, "-d", folder, folder=source)
    (made,) = folder.iterdir()
    return made


def names(wheel: Path) -> list[str]:
    with zipfile.ZipFile(wheel) as archive:
        return sorted(archive.namelist())


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build("wheel", ROOT, tmp_path_factory.mktemp("wheel"))


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """
    The ``bin`` of a fresh environment holding the wheel.

    What the wheel needs is lent by the environment of the tests; the checkout is not, because
    a path file is not followed from another one.
    """
    venv = tmp_path_factory.mktemp("installed") / "venv"
    run(sys.executable, "-m", "venv", "--without-pip", venv, folder=venv.parent)
    python = venv / "bin" / "python"
    pip = [sys.executable, "-m", "pip", "--python", str(python)]
    run(*pip, "install", "--quiet", "--no-deps", wheel, folder=venv.parent)
    ask = "import sysconfig; print(sysconfig.get_path('purelib'))"
    site = run(python, "-c", ask, folder=venv.parent).strip()
    Path(site, "lent.pth").write_text(sysconfig.get_path("purelib") + "\n")
    return python.parent


def test_the_wheel_holds_every_file_of_the_package(wheel: Path) -> None:
    """A template or a script left out is found by the first studio that installs it."""
    wanted = set()
    for path in tracked_files():
        top, *rest = path.relative_to(ROOT).parts
        if top == "coop":
            wanted.add("/".join([top, *rest]))
        elif top in SHIPPED:
            wanted.add("/".join(["coop/_data", top, *rest]))

    assert len(wanted) > 10
    assert wanted <= set(names(wheel))
    assert not [name for name in names(wheel) if name.endswith(".pyc")]


def test_a_wheel_made_from_the_source_archive_is_the_same(wheel: Path, tmp_path: Path) -> None:
    archive = build("sdist", ROOT, tmp_path / "sdist")
    (tmp_path / "source").mkdir()
    run("tar", "-xf", archive, folder=tmp_path / "source")
    (unpacked,) = (tmp_path / "source").iterdir()

    assert names(build("wheel", unpacked, tmp_path / "wheel")) == names(wheel)


@pytest.mark.parametrize("command", [["coop"], ["python", "-m", "coop"]])
def test_the_installed_command_starts(
    command: list[str], installed: Path, tmp_path: Path
) -> None:
    """As a script and as a module, from a folder that has nothing to do with the checkout."""
    program, *arguments = command

    assert "coop" in run(installed / program, *arguments, "--help", folder=tmp_path)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", SHIPPED)
def test_the_installed_package_finds_its_files(
    name: str, installed: Path, tmp_path: Path
) -> None:
    """Inside the package, even where a folder of that name lies beside it."""
    ask = f"""if True:
        import coop, pathlib
        from coop.store.paths import packaged
        package = pathlib.Path(coop.__file__).parent
        (package.parent / {name!r}).mkdir(exist_ok=True)
        print(package, packaged({name!r}), sep="\\n")
    """
    package, found = run(installed / "python", "-c", ask, folder=tmp_path).split()

    assert Path(package).is_relative_to(installed.parent)
    assert Path(found) == Path(package, "_data", name)


def test_the_installed_demo_can_be_made(installed: Path, tmp_path: Path) -> None:
    """Migrations, stories and cast come with the wheel; the folder is removed again."""
    said = run(installed / "coop", "demo", "--prepare", folder=tmp_path)

    assert said.splitlines()[-1] == "The demo was made, and is removed again."
    assert list(tmp_path.iterdir()) == []
