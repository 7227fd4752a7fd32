"""What a line says that is not sealed yet, told in words; many of them at a time."""

from collections.abc import Iterable, Iterator

from coop.actions.see_odd import OddJournal, in_force
from coop.ids import EntryId, MemberId, Subject
from coop.ledger.entries import Entry, read_content
from coop.ledger.force import InForce
from coop.ledger.kinds import Content, EntryCorrected
from coop.ledger.schema import Slip
from coop.ledger.table import KINDS
from coop.web.page import faces, words
from coop.web.told import Names, told

SORTS = ("bath", "lot", "paper")


class Teller:
    """Tells entries; what they name is read in a few questions, however many they are."""

    def __init__(self, journal: OddJournal, entries: Iterable[Entry | InForce]) -> None:
        wanted = tuple(entries)
        self._names = Names(journal)
        self._targets = in_force(journal, map(EntryId, _targets(wanted)))
        named = [*wanted, *self._targets.values()]
        faces(journal).gather(MemberId(one.author) for one in named)
        found: dict[str, set[Subject]] = {sort: set() for sort in SORTS}
        for one in named:
            for sort, subject in _named(one):
                found[sort].add(subject)
        for sort, subjects in found.items():
            journal.states(sort, subjects)

    def bath_of(self, said: Content) -> str:
        """Return the name of the bath that is spoken of; empty for none."""
        target = self._targets.get(EntryId(getattr(said, "target", "")))
        if isinstance(said, EntryCorrected):
            return self.bath_of(target.content) if target else ""
        bath = getattr(said, "bath", None)
        if bath is None:
            return str(getattr(said, "name", "")) if hasattr(said, "vessel") else ""
        return self._names.of("bath", bath)

    def tell(self, said: Content) -> str:
        """Say what an entry says, its bath first."""
        bath, text = self.bath_of(said), self._text(said)
        return words().gettext("%(bath)s: %(what)s", bath=bath, what=text) if bath else text

    def _text(self, said: Content) -> str:
        if not isinstance(said, EntryCorrected):
            return told(words(), self._names, said)
        target = self._targets.get(EntryId(said.target))
        if target is None:
            return words().gettext("corrects a line that is not here")
        old = told(words(), self._names, target.content)
        if said.content is None:
            if said.outcome == "void":
                return words().gettext("takes out: %(old)s", old=old)
            return words().gettext("brings back: %(old)s", old=old)
        try:
            new = read_content(KINDS[target.kind], said.content.body, "content.body")
        except Slip:
            return words().gettext("corrects: %(old)s", old=old)
        return words().gettext(
            "puts in place of %(old)s: %(new)s", old=old, new=told(words(), self._names, new)
        )


def _targets(entries: Iterable[Entry | InForce]) -> Iterator[Subject]:
    for one in entries:
        if isinstance(one.content, EntryCorrected):
            yield one.content.target


def _named(one: Entry | InForce) -> Iterator[tuple[str, Subject]]:
    """Give the things whose names an entry needs."""
    for sort in SORTS:
        subject = getattr(one.content, sort, None)
        if subject is not None:
            yield sort, subject
    for part in getattr(one.content, "salt", None) or ():
        if not isinstance(part, str):
            yield "lot", part.lot
