"""Ask what may happen to something at an outlet, and keep the answer with the ledger."""

import hashlib
from dataclasses import replace

import msgspec

from coop.actions.drain_facts import Asked, facts_of
from coop.actions.sites import Site
from coop.ledger import kinds
from coop.ledger.ports import Attachment, Journal
from coop.rules.packs.decisions import Decision, freeze, thaw
from coop.rules.packs.documents import CONTENT_TYPE
from coop.rules.packs.evaluation import evaluate
from coop.rules.packs.facts import Facts


def ask_drain(journal: Journal, site: Site, asked: Asked) -> Decision:
    """
    Return what may happen to something at an outlet of its studio.

    Of several wastes in one jar all are judged; it goes by the name of the strictest.

    Raises:
        Slip: What was asked about is not known.
    """
    facts = facts_of(journal, site, asked)
    if facts.mixed_with:
        facts = _by_its_strictest(site, facts)
    return _judged(site, facts)


def _by_its_strictest(site: Site, facts: Facts) -> Facts:
    wastes = sorted((facts.waste, *facts.mixed_with), key=kinds.WASTES.index)
    alone = {one.waste: _judged(site, one).outcome.rank for one in facts.each_waste}
    strictest = max(wastes, key=lambda waste: alone[waste])
    others = tuple(one for one in wastes if one != strictest)
    return replace(facts, waste=strictest, mixed_with=others)


def _judged(site: Site, facts: Facts) -> Decision:
    return evaluate(site.packs, facts, day=site.day, now=site.now, demo=site.demo)


def kept(decision: Decision, *, salt: bytes) -> Attachment:
    """Return a decision in the form in which it is kept; everybody may read it for ever."""
    data = msgspec.json.encode(freeze(decision))
    return _public(data, salt)


def pack_kept(document: bytes, *, salt: bytes) -> Attachment:
    """Return a pack's document in the form in which it is kept."""
    return _public(document, salt)


def _public(data: bytes, salt: bytes) -> Attachment:
    return Attachment(
        name=hashlib.sha256(salt + data).hexdigest(),
        content_type=CONTENT_TYPE,
        reach="public",
        salt=salt,
        data=data,
    )


def decided(journal: Journal, name: str) -> Decision | None:
    """Return a decision that was kept, or None where it is not here."""
    found = journal.attachment(name)
    return None if found is None else thaw(msgspec.json.decode(found.data))
