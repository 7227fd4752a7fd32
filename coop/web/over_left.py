"""A count of sheets far over what a bath still lays: a wet finger's slip, asked about once."""

from coop.rules.baths import BathLook, far_over_left
from coop.web import words as say
from coop.web.page import words


def question(look: BathLook, sheet_count: int, sheet_format: str, method: str) -> str:
    """Ask whether so many sheets went through; empty where there is nothing to ask."""
    left = far_over_left(look, sheet_count, sheet_format=sheet_format, method=method)
    if left is None:
        return ""
    return words().gettext(
        "By the ledger about %(left)s are left in this bath: did %(count)s go through?",
        left=say.sheets(words(), left, sheet_format),
        count=words().number(sheet_count),
    )
