"""
Runs every check: ``python3 tests``.

Without arguments or with ``--long`` alone: ruff, mypy, the import contracts, then pytest.  Any
other argument asks for a part of the tests: it goes to pytest, and the other checks are left
out (``python3 tests -k spoons``).  Paths are read from the top of the checkout.
"""

import os
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(os.path.realpath(__file__)).parent.parent
# Running a folder puts it first on the path, where its modules would hide others.
sys.path[:] = [p for p in sys.path if os.path.realpath(p) != str(ROOT / "tests")]
sys.path.insert(0, str(ROOT))

from coop.bootstrap import Stopped, environment, install_debian  # noqa: E402  path first
from tests.support.programs import missing_debian_packages  # noqa: E402  path first

BOTH_CORES = ["-n", "2", "--dist", "loadfile"]
CHECKS = {
    "ruff check": ["ruff", "check"],
    "ruff format": ["ruff", "format", "--check"],
    "mypy": ["mypy"],
    "lint-imports": ["lint-imports"],
}


def main(arguments: list[str]) -> int:
    try:
        install_debian(missing_debian_packages())
        python = environment("requirements-test.lock")
    except Stopped as why:
        print(f"tests: {why}", file=sys.stderr)
        return 1
    everything = not set(arguments) - {"--long"}
    failed = run_checks(python) if everything else []
    # pytest repeats what failed above its own last line (tests/conftest.py).
    told = {**os.environ, "COOP_FAILED_CHECKS": ", ".join(failed)}
    shared = BOTH_CORES if everything else []
    tests = subprocess.run(
        [python, "-m", "pytest", *shared, *arguments], cwd=ROOT, env=told, check=False
    )
    return tests.returncode or len(failed)


def run_checks(python: Path) -> list[str]:
    """Run the checks that are not tests; print one line for each, return those that failed."""
    failed = []
    for name, command in CHECKS.items():
        began = time.monotonic()
        program = [str(python.with_name(command[0])), *command[1:]]
        done = subprocess.run(program, cwd=ROOT, capture_output=True, text=True, check=False)
        word = "ok" if done.returncode == 0 else "FAILED"
        print(f"{name:<14}{word:<8}{time.monotonic() - began:.1f} s", flush=True)
        if done.returncode != 0:
            failed.append(name)
            print(done.stdout + done.stderr, flush=True)
    return failed


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
