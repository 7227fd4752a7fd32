"""What was seen of a lot, in words."""

from collections.abc import Mapping
from types import MappingProxyType

from coop.ledger import kinds
from coop.web.doses import number_text, quantity_text
from coop.web.i18n import N_, Words

LEVELS: Mapping[str, str] = MappingProxyType(
    {
        "4": N_("full"),
        "3": N_("three quarters"),
        "2": N_("half"),
        "1": N_("a quarter"),
        "0": N_("nothing to speak of"),
    }
)
"""A level, in quarters of a pack."""


def count_told(words: Words, said: kinds.LotCounted) -> str:
    """Say what was seen: '2 unopened packs, 11.5 loose'."""
    if said.empty == "yes":
        return words.gettext("counted: it is empty")
    parts = []
    if said.packs is not None:
        parts.append(
            words.ngettext("%(num)d unopened pack", "%(num)d unopened packs", said.packs)
        )
    if said.weight is not None:
        parts.append(_weighed(words, said))
    if said.volume is not None:
        parts.append(quantity_text(words, said.volume))
    if said.level is not None:
        level = words.gettext(LEVELS[str(said.level)])
        parts.append(words.gettext("level %(level)s", level=level))
    if said.loose is not None:
        parts.append(words.gettext("%(count)s loose", count=number_text(words, said.loose)))
    return words.gettext("counted: %(seen)s", seen=", ".join(parts))


def _weighed(words: Words, said: kinds.LotCounted) -> str:
    assert said.weight is not None
    weight = quantity_text(words, said.weight)
    if said.tare is None:
        return words.gettext("%(weight)s on the scale", weight=weight)
    return words.gettext(
        "%(weight)s on the scale, %(tare)s of it the tub",
        weight=weight,
        tare=quantity_text(words, said.tare),
    )
