"""The files of the checkout, as the checks on them see them."""

import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def tracked_files() -> list[Path]:
    """Return every file that is in the repository or about to be (ignored ones are not)."""
    listing = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    names = [name for name in listing.stdout.split("\0") if name]
    return [ROOT / name for name in names if (ROOT / name).is_file()]


def python_files(*folders: str) -> list[Path]:
    """Return the Python files below the folders, which are named from the top."""
    return sorted(path for folder in folders for path in (ROOT / folder).rglob("*.py"))
