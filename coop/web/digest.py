"""The mail that tells a member what needs them today."""

from collections.abc import Sequence

from coop.actions.see_needs import Need
from coop.store.mail import Letter
from coop.web.needing import Called, in_lines, line_text
from coop.web.reasons import Telling

LINES_MAX = 20
"""So many lines are told, the most pressing; the others are counted."""


def letter(
    telling: Telling, needs: Sequence[Need], called: Called, *, name: str, address: str
) -> Letter:
    """
    Return the mail on what needs a member, in plain text.

    Args:
        needs: What needs them, one at least, the most pressing first.
        name: The name of the ledger.
        address: Its address, without a slash at the end; empty where nobody gave it.
    """
    assert needs, "a mail is sent only when something is due"
    words = telling.words
    subject = words.ngettext(
        "%(name)s: %(num)d thing needs you",
        "%(name)s: %(num)d things need you",
        len(needs),
        name=name,
    )
    told = in_lines(needs)
    lines = [_line(telling, line, called) for line in told[:LINES_MAX]]
    more = sum(map(len, told[LINES_MAX:]))
    if more > 0:
        lines.append(words.ngettext("and %(num)d more", "and %(num)d more", more))
    head = words.gettext("Today, %(day)s, these need you:", day=words.day(telling.now))
    parts = [head, "\n".join(f"- {line}" for line in lines)]
    if address:
        parts.append(words.gettext("More stands in the ledger: %(address)s", address=address))
    parts.append(
        words.gettext(
            "This mail comes once a day at most, and only when something is due. You can turn "
            "it off on your own page of the ledger."
        )
    )
    return Letter(subject=subject, body="\n\n".join(parts) + "\n")


def _line(telling: Telling, line: Sequence[Need], called: Called) -> str:
    told = line_text(telling, line, called)
    return telling.words.gettext("%(name)s: %(sentence)s", name=told.name, sentence=told.text)
