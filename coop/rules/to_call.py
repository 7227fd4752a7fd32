"""Numbers to call that stand with a studio: what is one, and which is none."""

from coop.ledger.states import StudioState

DIGITS_MIN = 2
"""The shortest emergency numbers have two digits: common practice, no source."""


def is_to_dial(said: str) -> bool:
    """
    Say whether there is a number to dial in what was written.

    >>> is_to_dial("112"), is_to_dial("on the wall")
    (True, False)
    """
    return sum(each.isdecimal() for each in said) >= DIGITS_MIN


def has_numbers(studio: StudioState) -> bool:
    """Say whether both numbers of a studio can be called."""
    return is_to_dial(studio.emergency) and is_to_dial(studio.poison)
