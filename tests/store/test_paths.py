"""Migrations and fixtures are found in a checkout and in an installed package."""

from pathlib import Path

import pytest

from coop.store.paths import MARKER, packaged


def test_a_checkout_uses_the_folder_beside_the_package() -> None:
    folder = packaged("fixtures")

    assert folder.name == "fixtures"
    assert (folder.parent / "pyproject.toml").is_file()


def test_a_folder_without_the_marker_is_somebody_elses(tmp_path: Path) -> None:
    """Other packages leave folders of that name beside ours, too."""
    (tmp_path / "migrations").mkdir()
    ours = tmp_path / "coop" / "_data" / "migrations"
    ours.mkdir(parents=True)
    (ours / MARKER).touch()

    assert packaged("migrations", package_folder=tmp_path / "coop") == ours


def test_a_package_without_its_files_says_where_it_looked(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError, match=r"no fixtures with a .* in .* or .*_data"):
        packaged("fixtures", package_folder=tmp_path / "coop")
