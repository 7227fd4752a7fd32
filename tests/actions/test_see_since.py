"""What a member missed: read newest first, up to a limit, and only what concerns them."""

from datetime import timedelta

import pytest

from coop.actions.see_since import READ_MAX, Since, see_since
from coop.ids import MemberId
from coop.ledger.ports import BATCH_MAX, Admission
from tests.support.memory import MemoryJournal
from tests.support.sayings import (
    AMINA,
    BATH,
    KAHU,
    LEDGER,
    NODE,
    an_id,
    corrected,
    described,
    instead,
    mixed,
    on,
    say,
    through,
)
from tests.support.studio import MemoryShelf


@pytest.fixture
def journal() -> MemoryJournal:
    made = MemoryJournal(ledger=LEDGER, node=NODE)
    made.append([*described(), mixed()], Admission(at=on(18), by=AMINA))
    return made


def since(journal: MemoryJournal, seq: int, member: str = AMINA) -> Since:
    return see_since(
        journal, MemoryShelf(), MemberId(member), seq=seq, open_baths=journal.listed("bath")
    )


@pytest.mark.parametrize("extra", [-1, 0, 1])
def test_of_very_much_the_newest_is_read_and_the_page_is_told_so(
    journal: MemoryJournal, extra: int
) -> None:
    """Who was away for a year does not wait for a year to be read."""
    seq, _ = journal.head()
    count = READ_MAX + extra
    assert count <= BATCH_MAX
    entries = [
        through(an_id(1_000 + n), 1, at=on(19) + timedelta(minutes=n), by=KAHU)
        for n in range(count)
    ]
    journal.append(entries, Admission(at=on(25), by=KAHU))
    found = since(journal, seq)

    assert found.cut is (count > READ_MAX)
    assert found.done[0].what.sheets == (("half", min(count, READ_MAX)),)


def test_a_line_about_a_bath_that_nobody_mixed_yet_is_left_for_later(
    journal: MemoryJournal,
) -> None:
    """Phones hand in in any order: what was mixed may come after what went through it."""
    seq, _ = journal.head()
    lost = through(an_id(60), 20, at=on(19), bath=an_id(99), by=KAHU)
    journal.append([lost], Admission(at=on(19), by=KAHU))

    assert not since(journal, seq)


def test_an_entry_corrected_to_be_mine_is_no_news_to_me(journal: MemoryJournal) -> None:
    """It counts as who is said to have done it, not as who typed it."""
    seq, _ = journal.head()
    wrong = through(an_id(60), 20, at=on(19), by=KAHU)
    journal.append([wrong], Admission(at=on(19), by=KAHU))
    assert since(journal, seq).done[0].by == (KAHU,)

    content = {**instead(wrong), "author": AMINA}
    right = corrected(an_id(61), wrong, "replace", at=on(19, 10), content=content)
    journal.append([right], Admission(at=on(19, 10), by=AMINA))
    assert not since(journal, seq)
    assert since(journal, seq, KAHU).done[0].by == (AMINA,)


def test_what_is_about_no_bath_is_not_told_there(journal: MemoryJournal) -> None:
    seq, _ = journal.head()
    joined = say("member.joined", an_id(60), at=on(19), member=KAHU, card="ab" * 32, by=KAHU)
    journal.append([joined], Admission(at=on(19), by=KAHU))

    assert since(journal, seq) == Since()


def test_nothing_new_is_nothing(journal: MemoryJournal) -> None:
    seq, _ = journal.head()

    assert since(journal, seq - 1, KAHU).done[0].bath.id == BATH
    assert since(journal, seq, KAHU) == Since()
