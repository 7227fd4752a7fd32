"""Commands run in this process or beside it, and what they said."""

import json
import os
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from coop.cli import main

SECONDS_MAX = 60


@dataclass(frozen=True)
class Said:
    """How a command ended, and its output."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


def here(capsys: pytest.CaptureFixture[str], *arguments: str) -> Said:
    """Run a command in this process."""
    try:
        code = main(arguments)
    except SystemExit as end:
        code = int(end.code or 0)
    out, err = capsys.readouterr()
    return Said(code, out, err)


def environment(more: Mapping[str, str]) -> dict[str, str]:
    """Return this environment without any setting of coop's, and with these."""
    return {k: v for k, v in os.environ.items() if not k.startswith("COOP_")} | dict(more)


def beside(folder: Path, *arguments: str, **more: str) -> Said:
    """Run a command as its own process in a folder."""
    done = subprocess.run(
        [sys.executable, "-P", "-m", "coop", *arguments],
        cwd=folder, env=environment(more), capture_output=True, text=True,
        check=False, timeout=SECONDS_MAX,
    )  # fmt: skip
    return Said(done.returncode, done.stdout, done.stderr)
