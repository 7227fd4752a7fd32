"""``python3 tests`` fails when any of its parts fails, and says which."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.__main__ import CHECKS, run_checks
from tests.support.files import ROOT


def tools(folder: Path, *, failing: str) -> Path:
    """Stand-ins for the tools, of which one fails; return the Python they lie beside."""
    for program in {command[0] for command in CHECKS.values()}:
        script = folder / program
        status = int(program == failing)
        script.write_text(f"#!/bin/sh\necho report of {program}\nexit {status}\n")
        script.chmod(0o755)
    return folder / "python"


@pytest.mark.parametrize(
    ("failing", "names"),
    [("none", []), ("mypy", ["mypy"]), ("ruff", ["ruff check", "ruff format"])],
)
def test_a_failing_check_is_named_with_its_report(
    failing: str, names: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The others still run: one run tells everything."""
    assert run_checks(tools(tmp_path, failing=failing)) == names

    printed = capsys.readouterr().out
    assert printed.count("ok") == len(CHECKS) - len(names)
    assert (f"report of {failing}" in printed) is bool(names)


def test_what_failed_before_the_tests_is_repeated_after_them() -> None:
    """Else a run that failed would end in a line that says everything passed."""
    command = [sys.executable, "-m", "pytest", "-q", "-k", "dots_stand", "tests/house"]
    told = {**os.environ, "COOP_FAILED_CHECKS": "mypy"}
    done = subprocess.run(
        command, cwd=ROOT, env=told, capture_output=True, text=True, check=True
    )

    *_, last = done.stdout.splitlines()
    assert "FAILED mypy" in done.stdout
    assert "1 passed" in last
