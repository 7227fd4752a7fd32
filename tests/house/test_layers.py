"""The import contracts of pyproject.toml hold, and would be seen to break."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support.files import ROOT


def lint_imports(folder: Path, *options: str) -> subprocess.CompletedProcess[str]:
    program = Path(sys.executable).with_name("lint-imports")
    return subprocess.run(
        [program, "--no-cache", *options],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )


def test_imports_point_down() -> None:
    """So a plain pytest sees it too."""
    done = lint_imports(ROOT)

    assert done.returncode == 0, done.stdout


@pytest.mark.parametrize(
    ("module", "line", "contract"),
    [
        ("ledger", "import coop.store", "layers"),
        ("science", "import pathlib", "pure"),
        ("store", "import flask", "no-flask-below-web"),
        ("actions", "import sqlalchemy", "sql-stays-in-store"),
        ("web", "import PIL", "pillow-stays-in-photos"),
    ],
)
def test_an_import_upwards_is_seen(
    module: str, line: str, contract: str, tmp_path: Path
) -> None:
    """A contract that names its packages wrongly would always hold."""
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    shutil.copytree(ROOT / "coop", tmp_path / "coop", ignore=shutil.ignore_patterns("static"))
    with (tmp_path / "coop" / module / "__init__.py").open("a") as file:
        file.write(f"\n{line}\n")

    done = lint_imports(tmp_path, "--contract", contract)

    assert done.returncode == 1
    assert "BROKEN" in done.stdout
