"""Until when a lot is good, in words, and by what that is known."""

from collections.abc import Iterable, Mapping
from types import MappingProxyType

from coop.actions.on_hand import Share
from coop.rules.expiry import GoodUntil
from coop.web.i18n import N_, Words

GOOD: Mapping[str, str] = MappingProxyType(
    {
        "label": N_("good until %(day)s by its label"),
        "sealed": N_("good until %(day)s as long as it is sealed"),
        "opened": N_("opened, good until %(day)s"),
        "open_pack": N_("the open pack is good until %(day)s"),
    }
)
OVER: Mapping[str, str] = MappingProxyType(
    {
        "label": N_("past its label's day, %(day)s"),
        "sealed": N_("too old since %(day)s, even sealed"),
        "opened": N_("open too long: good until %(day)s"),
        "open_pack": N_("the open pack is open too long: good until %(day)s"),
    }
)


def good_until_text(words: Words, until: GoodUntil, *, over: bool) -> str:
    """Say until when a lot is good; `over`, that the day is past."""
    return words.gettext((OVER if over else GOOD)[until.by], day=words.day(until.day))


def past_shares(words: Words, shares: Iterable[Share]) -> list[str]:
    """Say of every lot that is to be taken and is past its day why it came last."""
    return [
        words.gettext(
            "%(lot)s is %(why)s: it is taken only because what is good does not reach.",
            lot=one.lot.name,
            why=good_until_text(words, one.past, over=True),
        )
        for one in shares
        if one.past is not None
    ]
