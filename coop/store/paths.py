"""Where the files that ship with the package are: migrations and fixtures."""

from pathlib import Path
from typing import Literal

# Says that a folder is ours: beside an installed package, that name may be anybody's.
MARKER = "coop-data.txt"

_PACKAGE = Path(__file__).resolve().parent.parent


def packaged(
    name: Literal["migrations", "fixtures"], *, package_folder: Path = _PACKAGE
) -> Path:
    """
    Return the folder of that name: beside the package in a checkout, else inside the package.

    Raises `FileNotFoundError`, naming both places, when neither holds the marker file.
    """
    beside = package_folder.parent / name
    inside = package_folder / "_data" / name
    for folder in (beside, inside):
        if (folder / MARKER).is_file():
            return folder
    raise FileNotFoundError(f"no {name} with a {MARKER} in {beside} or {inside}")
