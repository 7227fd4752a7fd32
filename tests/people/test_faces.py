"""What others see of a member: name and initials from a card that can be erased."""

from coop.actions.write import card
from coop.ids import MemberId
from coop.ledger.ports import Admission
from coop.people.faces import NOBODY, Face, Faces
from tests.support.memory import MemoryJournal
from tests.support.sayings import AMINA, KAHU, LEDGER, NODE, an_id, on, say


def test_a_member_is_shown_by_the_card_of_their_joining() -> None:
    journal = MemoryJournal(ledger=LEDGER, node=NODE)
    made = card(name="Amina K.", initials="AK", salt=b"s" * 16)
    journal.keep(made)
    joined = say("member.joined", an_id(50), at=on(2), member=AMINA, card=made.name)
    journal.append([joined], Admission(at=on(2), by=AMINA))

    assert Faces(journal).of(AMINA) == Face(name="Amina K.", initials="AK")


def test_several_are_shown_as_each_would_be() -> None:
    """A page with many hands on it asks once for all."""
    journal = MemoryJournal(ledger=LEDGER, node=NODE)
    for n, (member, name) in enumerate(((AMINA, "Amina K."), (KAHU, "Kahu R."))):
        made = card(name=name, initials=name[0], salt=b"s" * 16)
        journal.keep(made)
        joined = say("member.joined", an_id(50 + n), at=on(2), member=member, card=made.name)
        journal.append([joined], Admission(at=on(2), by=AMINA))
    faces = Faces(journal)
    faces.gather([KAHU, AMINA, KAHU, MemberId(an_id(99))])

    assert [faces.of(one).name for one in (AMINA, KAHU)] == ["Amina K.", "Kahu R."]
    assert faces.of(MemberId(an_id(99))) == NOBODY


def test_whose_card_was_erased_or_never_came_is_a_dash() -> None:
    """The ledger keeps what was done, not who somebody was."""
    journal = MemoryJournal(ledger=LEDGER, node=NODE)
    joined = say("member.joined", an_id(50), at=on(2), member=AMINA, card="ab" * 32)
    journal.append([joined], Admission(at=on(2), by=AMINA))

    assert Faces(journal).of(AMINA) == NOBODY
    assert Faces(journal).of(KAHU) == NOBODY
