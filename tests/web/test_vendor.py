"""What others wrote is here unchanged, with its licence and where it came from."""

import base64
import hashlib
import tomllib
from typing import Any

import pytest

from tests.support.files import ROOT

VENDOR = ROOT / "coop" / "web" / "static" / "vendor"
NOTED = tomllib.loads((VENDOR / "VENDOR.toml").read_text())

# As the registry said it of idb 8.0.4 (dist.integrity) on the day the file was taken.
TARBALL = (
    "sha512-jd0ITCrN+Zah4J7R/Z2jnR3W7A4BXDAjmo62MwWuSjxCiueUAf7X5rbodEdidWze"
    "knwXHmLpdZkoiiCppNi30Q=="
)


def test_every_file_is_noted_and_every_note_has_its_file() -> None:
    """A file nobody noted cannot be looked after when its maker mends it."""
    noted = {one[key] for one in NOTED.values() for key in ("file", "licence_file")}

    assert {path.name for path in VENDOR.iterdir()} == noted | {"VENDOR.toml"}


@pytest.mark.parametrize("one", NOTED.values(), ids=list(NOTED))
def test_a_file_is_byte_for_byte_what_was_taken(one: dict[str, Any]) -> None:
    """A change made here would be lost with the next edition."""
    digest = hashlib.sha384((VENDOR / one["file"]).read_bytes()).digest()

    assert one["integrity"] == "sha384-" + base64.b64encode(digest).decode()


@pytest.mark.parametrize("one", NOTED.values(), ids=list(NOTED))
def test_its_licence_lies_beside_it(one: dict[str, Any]) -> None:
    assert one["licence"] in (VENDOR / one["licence_file"]).read_text()


def test_the_archive_is_the_one_its_maker_published() -> None:
    assert NOTED["idb"]["tarball"] == TARBALL
