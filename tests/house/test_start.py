"""A command answers at once: nothing heavy is loaded before it is needed."""

import os
import subprocess
import sys
import time
from pathlib import Path

HEAVY = ("sqlalchemy", "alembic", "pint", "flask", "babel", "granian", "cryptography", "PIL")
PROBE = """
import sys
from coop.cli import main
try:
    status = main(["--help"])
except SystemExit as end:
    status = end.code
print("LOADED", *sorted({name.partition(".")[0] for name in sys.modules}))
sys.exit(status)
"""


def test_help_loads_nothing_heavy(tmp_path: Path) -> None:
    """Waiting half a second for a list of commands is waiting for SQL nobody asked for."""
    began = time.monotonic()
    done = subprocess.run(
        [sys.executable, "-P", "-c", PROBE],
        cwd=tmp_path, env={"PATH": os.environ["PATH"]},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    print(f"coop --help: {time.monotonic() - began:.2f} s")

    assert done.returncode == 0, done.stderr
    help_text, _, loaded = done.stdout.partition("LOADED")
    assert "coop" in help_text
    assert "coop" in loaded.split()
    assert set(loaded.split()).isdisjoint(HEAVY)
