"""The commonest passwords: a list that is whole, and what it does and does not refuse."""

import re

import pytest

from coop.store.common_passwords import DIGITS, FILE, is_common
from coop.store.members import PASSWORD_CHARACTERS_MIN
from coop.store.paths import packaged

COMMON_MIN = 3_000  # OWASP ASVS 5.0, 6.2.4 (number from memory): those the length lets through


def lines() -> list[str]:
    folder = packaged("fixtures") / "passwords"
    return (folder / FILE).read_text(encoding="ascii").splitlines()


def test_the_list_is_whole_and_in_order() -> None:
    """A line cut short would let its password through without a word."""
    held = lines()

    assert len(held) >= COMMON_MIN
    assert all(re.fullmatch(rf"[0-9a-f]{{{DIGITS}}}", one) for one in held)
    assert held == sorted(set(held))


@pytest.mark.parametrize(
    "password",
    ["1234567890", "qwertyuiop", "QWERTYUIOP", "q1w2e3r4t5", "1111111111", "password123"],
)
def test_what_is_tried_first_is_common(password: str) -> None:
    """The longest-lived of such passwords: common practice, no source."""
    assert len(password) >= PASSWORD_CHARACTERS_MIN
    assert is_common(password)


@pytest.mark.parametrize(
    "password",
    [
        "a long enough sentence",
        "kitchen scales",
        " 1234567890",
        "wet paper dry alum",
        "\ud800" * 9,
    ],
)
def test_words_in_a_row_are_not(password: str) -> None:
    """Nobody is asked for digits or signs besides: length is what counts (ASVS 5.0, 6.2.5)."""
    assert not is_common(password)
