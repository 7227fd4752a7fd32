"""What is wrong with a file of rules, told with its line and what would be right."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from coop.rules.packs.faults import Refused
from coop.web.i18n import N_, Words

PACK_FAULTS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "not-text": N_("The file is no text in UTF-8."),
        "too-long": N_("The file is over %(options)s bytes, too much to read."),
        "not-toml": N_("The file is no TOML: %(part)s"),
        "unknown-key": N_("%(part)s: there is no such key here; there are: %(options)s."),
        "missing-key": N_("%(part)s is missing."),
        "wrong-type": N_("%(part)s: must be %(options)s."),
        "not-one-of": N_("%(part)s: must be one of %(options)s."),
        "not-a-name": N_(
            "%(part)s: a name has small letters, digits and hyphens, at most %(options)s."
        ),
        "not-a-fact": N_(
            "%(part)s: a fact has small letters, digits and _, at most %(options)s."
        ),
        "text-long": N_("%(part)s: a text of 1 to %(options)s characters."),
        "rule-long": N_("%(part)s: a rule has at most %(options)s bytes; make it two."),
        "too-many": N_("%(part)s: at most %(options)s."),
        "too-deep": N_("%(part)s: conditions lie at most %(options)s deep."),
        "twice": N_("%(part)s stands here twice."),
        "unit": N_("%(part)s: this unit does not fit; right would be %(options)s."),
        "no-unit": N_("%(part)s: a yes or no has no unit."),
        "out-of-range": N_("%(part)s: must lie from %(options)s."),
        "decimals": N_("%(part)s: at most %(options)s decimals."),
        "backwards": N_("%(part)s: must come after %(options)s."),
        "does-not-go-with": N_("%(part)s does not go with %(options)s."),
        "needs": N_("%(part)s needs %(options)s."),
        "no-mean": N_("pH is a logarithm and has no mean; span must be %(options)s."),
        "milder": N_("%(part)s: must not be milder than %(options)s."),
        "unknown-passes": N_(
            "%(part)s: what is not known must not pass; right would be %(options)s."
        ),
        "unknown-fact": N_("%(part)s: nothing of that name is known; there are: %(options)s."),
        "evidence": N_("%(part)s: does not go with the pack's own evidence, %(options)s."),
        "invented": N_("Invented figures belong into a demo only."),
        "no-zone": N_("%(part)s: a time says its offset from UTC, as %(options)s."),
    }
)
"""The sentence of each code with which a file is refused."""


def pack_fault(words: Words, refused: Refused) -> str:
    """Return what is wrong with a file, and on which line."""
    said = words.gettext(
        PACK_FAULTS[refused.code], part=refused.part, options=", ".join(refused.options)
    )
    if not refused.line:
        return said
    return words.gettext("Line %(line)s: %(fault)s", line=refused.line, fault=said)
