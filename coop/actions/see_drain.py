"""Ask what may happen to something at an outlet, and keep the answer with the ledger."""

import hashlib

import msgspec

from coop.actions.drain_facts import Asked, facts_of
from coop.actions.sites import Site
from coop.ledger.ports import Attachment, Journal
from coop.rules.packs.decisions import Decision, freeze, thaw
from coop.rules.packs.documents import CONTENT_TYPE
from coop.rules.packs.evaluation import evaluate


def ask_drain(journal: Journal, site: Site, asked: Asked) -> Decision:
    """
    Return what may happen to something at an outlet of its studio.

    Raises:
        Slip: What was asked about is not known.
    """
    return evaluate(
        site.packs, facts_of(journal, site, asked), day=site.day, now=site.now, demo=site.demo
    )


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
