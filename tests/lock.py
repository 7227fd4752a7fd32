"""
Writes the two lock files anew: ``python -m tests.lock``.

Needs uv from the extra ``lock``.  Both files come from one resolution, so what the tests run
with is what a studio runs with; neither holds an address.
"""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
LOCKS = {"requirements.lock": [], "requirements-test.lock": ["--extra", "test"]}
EXPORT = ["export", "--quiet", "--frozen", "--no-emit-project", "--no-dev", "--no-header"]


def main() -> int:
    uv = str(Path(sys.executable).with_name("uv"))
    subprocess.run([uv, "lock", "--upgrade"], cwd=ROOT, check=True)
    for name, extra in LOCKS.items():
        command = [uv, *EXPORT, *extra, "--output-file", name]
        subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
    return 0


if __name__ == "__main__":
    sys.exit(main())
