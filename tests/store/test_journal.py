"""What every journal promises: one specification for memory, SQLite and PostgreSQL."""

import json
import random

import pytest

from coop.ids import EntryId, Subject
from coop.ledger import accounts
from coop.ledger.entries import read_entry
from coop.ledger.force import resolve
from coop.ledger.ports import BATCH_MAX, Admission, Attachment
from coop.ledger.table import written_on
from coop.store.engines import Engines
from coop.store.journal import SqlJournal
from tests.support.ledgers import LATE, Book, take_in
from tests.support.sayings import (
    AMINA,
    BATH,
    LEDGER,
    LOT,
    NODE,
    PAPER,
    PAPER_LOT,
    STUDIO,
    VESSEL,
    an_id,
    corrected,
    described,
    instead,
    mixed,
    on,
    q,
    say,
    spooned,
    through,
    topped_up,
)

TAKEN = Admission(at=LATE, by=AMINA)
HOUR_MS = 3_600_000


def names(sealed):
    return sorted(one.entry.id for one in sealed)


def held_by_bath(journal, bath):
    name = accounts.account("bath", bath)
    rows = journal.moves(name)
    return {key: value for key, value in accounts.balances(rows).items() if key[0] == name}


def test_an_entry_is_there_once_it_was_taken_in(book: Book) -> None:
    entry = mixed()
    take_in(book, [entry])

    with book.reading() as journal:
        (found,) = journal.by_id(entry.id)
        assert found.entry == entry
        assert found.first.admitted_at == LATE
        assert found.first.admitted_by == AMINA


def test_adding_the_same_entry_twice_adds_it_once(book: Book) -> None:
    """A phone that lost the answer sends again."""
    entry = mixed()
    first = take_in(book, [entry, entry])
    again = take_in(book, [entry])

    with book.reading() as journal:
        assert len(first) == 1
        assert again == ()
        assert len(journal.by_id(entry.id)) == 1
        assert journal.head()[0] == 1


def test_the_same_id_with_other_content_is_kept_beside_it_as_evidence(book: Book) -> None:
    """Nobody is overruled by who came first; the first seal is in force until a person says."""
    one, other = mixed(grams=480), mixed(grams=400)
    take_in(book, described())
    take_in(book, [one], at=on(18))
    take_in(book, [other], at=on(19))

    with book.reading() as journal:
        assert len(journal.by_id(one.id)) == 2
        assert journal.state("bath", BATH).estimate.salt_g.came_in == 480
        ((subject, finding),) = journal.findings(codes=["same-id-other-content"])
        assert (subject, finding.entry) == (BATH, one.id)


def test_an_id_taken_by_two_kinds_is_what_its_first_seal_made_it(book: Book) -> None:
    lot = say("lot.received", BATH, studio=STUDIO, what="paper", name="P", paper=PAPER,
              sheet_count="10")  # fmt: skip
    take_in(book, described())
    take_in(book, [mixed()], at=on(18))
    take_in(book, [lot], at=on(19))

    with book.reading() as journal:
        assert [one.id for one in journal.listed("bath")] == [BATH]
        assert journal.state("lot", BATH) is None


def test_seals_make_one_chain_without_gaps(book: Book) -> None:
    """A missing link shows that somebody took an entry away."""
    first = take_in(book, described())
    second = take_in(book, [mixed(), through(an_id(50), 20, at=on(18))])
    seals = [one.first for one in (*first, *second)]

    assert [seal.seq for seal in seals] == list(range(1, len(seals) + 1))
    assert [seal.prev for seal in seals] == ["", *(seal.digest for seal in seals[:-1])]
    with book.reading() as journal:
        assert journal.head() == (len(seals), seals[-1].digest)


def test_what_was_sealed_after_a_number_comes_newest_first(book: Book) -> None:
    """By the chain's number: what a phone wrote last week and handed in today is new."""
    take_in(book, described())
    with book.reading() as journal:
        seq, _ = journal.head()
    take_in(book, [mixed()], at=on(18))
    take_in(book, [through(an_id(n), 20, at=on(10)) for n in range(50, 53)], at=on(19))

    with book.reading() as journal:
        found = [one.entry.id for one in journal.after(seq, most=9)]
        assert found == [an_id(52), an_id(51), an_id(50), BATH]
        assert [one.entry.id for one in journal.after(seq, most=2)] == found[:2]
        assert journal.after(seq + 4, most=9) == ()


def test_several_states_are_those_that_are_asked_for_one_by_one(book: Book) -> None:
    """Folded already or not; what is not known, or of another sort, is left out."""
    take_in(book, described())
    take_in(book, [mixed()], at=on(18), fold=False)

    with book.reading() as journal:
        found = journal.states("bath", [BATH, STUDIO, Subject(an_id(99)), BATH])
        assert found == {BATH: journal.state("bath", BATH)}
        assert journal.states("vessel", [VESSEL])[VESSEL].id == VESSEL
        assert journal.states("bath", []) == {}


def test_a_chain_starts_at_nothing(book: Book) -> None:
    with book.reading() as journal:
        assert journal.head() == (0, "")


def test_a_batch_has_a_limit(book: Book) -> None:
    with pytest.raises(AssertionError):
        take_in(book, [mixed()] * (BATCH_MAX + 1))


def test_an_entry_of_another_ledger_is_not_taken(book: Book) -> None:
    """Two co-operatives on one memory stick must not run together."""
    strange = read_entry(json.loads(mixed().data) | {"ledger": an_id(999)})

    with pytest.raises(AssertionError):
        take_in(book, [strange])


def test_a_subject_is_touched_by_what_names_it_and_by_corrections_of_that(book: Book) -> None:
    """A bath's page shows what was struck out and by whom."""
    slip = through(an_id(50), 200, at=on(18))
    mend = corrected(an_id(60), slip, "replace", at=on(19),
                     content=instead(slip, sheet_count="20"))  # fmt: skip
    take_in(book, [*described(), mixed(), slip, mend])

    with book.reading() as journal:
        assert names(journal.touching(BATH)) == sorted([BATH, slip.id, mend.id])
        assert names(journal.touching(PAPER_LOT)) == sorted([PAPER_LOT, slip.id, mend.id])
        assert names(journal.touching(Subject(slip.id))) == sorted([slip.id, mend.id])
        assert journal.touching(Subject(an_id(999))) == ()


def test_what_was_written_on_a_device_is_told_from_corrections_made_elsewhere(
    book: Book,
) -> None:
    """Or a correction on another phone would stand for a count that never arrived."""
    phone, tablet = an_id(70), an_id(71)
    slip = typed_on(phone, 1, through(an_id(50), 200, at=on(18)))
    mend = typed_on(tablet, 1, corrected(an_id(60), slip, "void", at=on(19)))
    take_in(book, [*described(), mixed(), slip, mend])

    with book.reading() as journal:
        assert names(journal.touching(written_on(phone))) == [slip.id]
        assert names(journal.touching(written_on(tablet))) == [mend.id]


def typed_on(device, count, entry):
    return read_entry(json.loads(entry.data) | {"device": device, "device_seq": count})


def test_a_correction_may_arrive_before_what_it_corrects(book: Book) -> None:
    """Two phones send in any order."""
    slip = through(an_id(50), 200, at=on(18))
    mend = corrected(an_id(60), slip, "void", at=on(19))
    take_in(book, [*described(), mixed()])
    take_in(book, [mend])
    take_in(book, [slip])

    with book.reading() as journal:
        assert journal.state("bath", BATH).half_count == 0
        assert mend.id in names(journal.touching(BATH))


def test_an_entry_moved_to_another_bath_leaves_the_first_and_reaches_the_second(
    book: Book,
) -> None:
    """'Wrong tub' is a common slip."""
    other = mixed(an_id(20), at=on(17, 20), name="R-A3")
    slip = through(an_id(50), 20, at=on(18))
    take_in(book, [*described(), mixed(), other, slip])
    move = corrected(an_id(60), slip, "replace", at=on(19),
                     content=instead(slip, bath=other.id))  # fmt: skip
    take_in(book, [move])

    with book.reading() as journal:
        assert journal.state("bath", BATH).half_count == 0
        assert journal.state("bath", Subject(other.id)).half_count == 20
        assert journal.state("stack", Subject(slip.id)).bath == other.id
        assert journal.held([f"bath:{BATH}"]) == held_by_bath(journal, BATH)


@pytest.mark.parametrize("order", ["mus", "u,s,m", "su,m", "s,m,u", "m,u,s"])
def test_a_later_correction_reaches_every_bath_an_earlier_one_named(
    book: Book, order: str
) -> None:
    """Else the second bath would go on counting sheets that were taken back."""
    other = mixed(an_id(20), at=on(17, 20), name="R-A3")
    slip = through(an_id(50), 20, at=on(18))
    move = corrected(an_id(60), slip, "replace", at=on(19),
                     content=instead(slip, bath=other.id))  # fmt: skip
    undo = corrected(an_id(61), slip, "void", at=on(20), sees=(move.id,))
    said = {"s": slip, "m": move, "u": undo}
    take_in(book, [*described(), mixed(), other])
    for batch in order.split(","):
        take_in(book, [said[letter] for letter in batch])

    with book.reading() as journal:
        assert journal.state("bath", BATH).half_count == 0
        assert journal.state("bath", Subject(other.id)).half_count == 0


@pytest.mark.parametrize("seed", range(4))
def test_corrections_of_one_batch_in_any_order_come_to_the_same(book: Book, seed: int) -> None:
    other = mixed(an_id(20), at=on(17, 20), name="R-A3")
    slip = through(an_id(50), 20, at=on(18))
    move = corrected(an_id(60), slip, "replace", at=on(19),
                     content=instead(slip, bath=other.id))  # fmt: skip
    undo = corrected(an_id(61), slip, "void", at=on(20), sees=(move.id,))
    entries = [*described(), mixed(), other, slip, move, undo]
    random.Random(seed).shuffle(entries)
    take_in(book, entries)

    with book.reading() as journal:
        assert journal.state("bath", BATH).half_count == 0
        assert journal.state("bath", Subject(other.id)).half_count == 0


def test_a_sheets_entry_folds_its_bath_its_stack_and_its_lot(book: Book) -> None:
    take_in(book, [*described(), mixed()])
    entry = through(an_id(50), 20, at=on(18))
    take_in(book, [entry])

    with book.reading() as journal:
        assert journal.state("bath", BATH).half_count == 20
        assert journal.state("stack", Subject(entry.id)).sheet_count == 20
        lot = accounts.account("lot", PAPER_LOT)
        assert journal.held([lot]) == {(lot, accounts.paper(PAPER)): 960 * 4 - 20 * 2}


def test_a_fold_tells_its_state_its_rows_and_its_findings(book: Book) -> None:
    take_in(book, [*described(), mixed(), through(an_id(50), 20, at=on(18))])
    take_in(book, [say("bath.stopped", an_id(51), at=on(19), bath=BATH, reason="looks_wrong")])
    take_in(book, [through(an_id(52), 3, at=on(20))])

    with book.reading() as journal:
        fold = journal.folded("bath", BATH)
        assert fold.state == journal.state("bath", BATH)
        assert [one.code for one in fold.findings] == ["used-while-stopped"]
        assert [one.entry for one in fold.moves] == [BATH, BATH, an_id(50), an_id(52)]
        assert (fold.home, fold.live, fold.place) == (STUDIO, True, 1)


def test_lists_go_by_place_then_age_and_leave_out_what_is_finished(book: Book) -> None:
    """In the room the tubs stand in the same order every day."""
    second = say("vessel.described", an_id(30), at=on(1), studio=STUDIO, name="tub 0",
                 brim=q(16, "l"), lidded="yes", place="2")  # fmt: skip
    baths = [
        mixed(an_id(41), at=on(10), name="c", vessel=second.id),
        mixed(an_id(42), at=on(11), name="a"),
        mixed(an_id(43), at=on(12), name="b"),
    ]
    end = say("bath.finished", an_id(44), at=on(13), bath=an_id(42), reason="used_up")
    take_in(book, [*described(), second, *baths, end])

    with book.reading() as journal:
        assert [one.name for one in journal.listed("bath")] == ["b", "c"]
        assert [one.name for one in journal.listed("bath", live=False)] == ["a", "b", "c"]
        assert [one.name for one in journal.listed("bath", home=STUDIO)] == ["b", "c"]
        assert journal.listed("bath", home=Subject(an_id(999))) == ()


def test_what_was_listed_before_does_not_hide_what_is_written_after(book: Book) -> None:
    """Lists and holdings are kept within a unit of work, never past the next entry."""
    take_in(book, [*described(), mixed()])

    with book.writing() as journal:
        journal.gather(("bath", "stack", "studio"))
        before = journal.listed("bath")[0].half_count, len(journal.listed("stack"))
        held = journal.holding("lot")[f"lot:{PAPER_LOT}", f"paper:{PAPER}"]
        journal.append([through(an_id(50), 20, at=on(18))], TAKEN)
        after = journal.listed("bath")[0].half_count, len(journal.listed("stack"))
        left = journal.holding("lot")[f"lot:{PAPER_LOT}", f"paper:{PAPER}"]

    assert (before, after) == ((0, 0), (20, 1))
    assert held - left == 20 * accounts.QUARTERS["half"]


def test_what_was_read_of_a_subject_does_not_hide_what_is_written_after(book: Book) -> None:
    """Its history is kept within a unit of work too, corrections of it included."""
    slip = through(an_id(50), 200, at=on(18))
    mend = corrected(an_id(60), slip, "replace", at=on(19),
                     content=instead(slip, sheet_count="20"))  # fmt: skip
    take_in(book, [*described(), mixed()])

    with book.writing() as journal:
        seen = []
        for entry in (slip, mend):
            seen.append(names(journal.touching(BATH)))
            journal.append([entry], TAKEN)
        seen.append(names(journal.touching(BATH)))

    assert seen == [[BATH], sorted([BATH, slip.id]), sorted([BATH, slip.id, mend.id])]


def test_lists_read_together_are_the_same_as_each_alone(book: Book) -> None:
    """Of open things only, unless all are asked for; those of one home are picked out."""
    end = say("bath.finished", an_id(44), at=on(19), bath=BATH, reason="used_up")
    take_in(book, [*described(), mixed(), end])
    sorts = ("bath", "studio", "vessel", "lot", "jug")
    homes = (None, STUDIO, Subject(an_id(999)))

    for live in (True, False):
        with book.reading() as journal:
            alone = [
                journal.listed(one, home=home, live=live) for home in homes for one in sorts
            ]
        with book.reading() as journal:
            journal.gather(sorts, live=live)
            together = [
                journal.listed(one, home=home, live=live) for home in homes for one in sorts
            ]
        assert together == alone
        assert bool(together[0]) is not live


def test_what_was_only_named_is_in_no_list(book: Book) -> None:
    """Its phone may still be away: sheets of a bath that nobody mixed yet."""
    take_in(book, [*described(), through(an_id(50), 20, at=on(18))])

    with book.reading() as journal:
        assert journal.listed("bath", live=False) == ()
        assert journal.state("bath", BATH) is None


def test_sheets_for_an_unknown_bath_count_once_its_mixing_arrives(book: Book) -> None:
    take_in(book, [*described(), through(an_id(50), 20, at=on(18))])
    take_in(book, [mixed()])

    with book.reading() as journal:
        assert journal.listed("bath")[0].half_count == 20


def test_a_thing_named_as_something_else_first_is_what_its_own_entry_makes_it(
    book: Book,
) -> None:
    """A slip on another device must not hide a bath from the room."""
    take_in(book, [*described(), through(an_id(50), 20, at=on(18), lot=BATH)])
    take_in(book, [mixed()])

    with book.reading() as journal:
        assert [one.id for one in journal.listed("bath")] == [BATH]
        assert {one.id for one in journal.listed("lot", live=False)} == {LOT, PAPER_LOT}


def test_a_bath_that_names_itself_as_its_paper_is_folded_all_the_same(book: Book) -> None:
    """What nobody meant may still be written; no page may fall over it."""
    take_in(book, [*described(), mixed(), through(an_id(50), 20, at=on(18), lot=BATH)])

    with book.reading() as journal:
        assert journal.state("bath", BATH).half_count == 20


def test_a_spoon_weighed_later_reaches_every_bath_of_that_lot(book: Book) -> None:
    take_in(book, [*described(), spooned()])
    take_in(book, [say("lot.spoon_weighed", an_id(50), at=on(21), lot=LOT, spoon_count="10",
                       spoon="us_tbsp", weight=q(111, "g"))])  # fmt: skip

    with book.reading() as journal:
        bath = journal.state("bath", BATH)
        assert bath.how == "spoon-weighed"
        assert bath.estimate.salt_g.came_in == pytest.approx(266.4)


def test_a_tub_measured_again_reaches_the_baths_in_it(book: Book) -> None:
    take_in(book, [*described(), mixed()])
    edition = say("vessel.described", an_id(50), at=on(18), vessel=VESSEL, supersedes=VESSEL,
                  studio=STUDIO, name="alum tub", brim=q(16, "l"), lidded="yes",
                  place="7")  # fmt: skip
    take_in(book, [edition])

    with book.reading() as journal:
        assert journal.folded("bath", BATH).place == 7


def test_a_mix_tells_its_tub_which_bath_was_last(book: Book) -> None:
    take_in(book, [*described(), mixed()])
    take_in(book, [mixed(an_id(20), at=on(18))])

    with book.reading() as journal:
        assert journal.state("vessel", VESSEL).last_bath == an_id(20)


@pytest.mark.parametrize("fold", [True, False])
def test_stale_folds_read_the_same_as_kept_ones(book: Book, fold: bool) -> None:
    """Behind a large take-in the room must be right before all is folded."""
    entries = [*described(), spooned(), through(an_id(50), 40, at=on(18)),
               topped_up(an_id(51), at=on(19), water=q(3, "l"))]  # fmt: skip
    take_in(book, entries[:6])
    take_in(book, entries[6:], fold=fold)

    with book.reading() as journal:
        lot, bath = accounts.account("lot", PAPER_LOT), accounts.account("bath", BATH)
        assert [one.half_count for one in journal.listed("bath", home=STUDIO)] == [40]
        assert journal.state("bath", BATH).estimate.water_ml.came_in == 14_360
        assert journal.held([lot]) == {(lot, accounts.paper(PAPER)): 960 * 4 - 80}
        assert journal.held([bath])[bath, accounts.WATER] == 14_360_000
        assert len(journal.moves(bath)) == 3
        assert len(journal.folded("bath", BATH).moves) == 4
        assert journal.findings() == ()


def test_a_finding_of_a_stale_fold_is_told_too(book: Book) -> None:
    stop = say("bath.stopped", an_id(51), at=on(18), bath=BATH, reason="looks_wrong")
    take_in(book, [*described(), mixed()])
    take_in(book, [stop, through(an_id(52), 3, at=on(20))], fold=False)

    with book.reading() as journal:
        ((subject, finding),) = journal.findings()
        assert (subject, finding.code) == (BATH, "used-while-stopped")
        assert journal.findings(codes=["over-the-brim"]) == ()


def test_the_ledger_as_it_was_known_leaves_out_what_was_sealed_later(book: Book) -> None:
    take_in(book, [*described(), mixed()], at=on(17, 19))
    take_in(book, [through(an_id(50), 40, at=on(18))], at=on(20))

    with book.reading() as journal:
        then = journal.view(known=on(19))
        assert then.state("bath", BATH).half_count == 0
        assert journal.view().state("bath", BATH).half_count == 40
        assert journal.view().see("bath", BATH, at=on(17, 20)).state.half_count == 0


def test_moves_of_an_account_are_all_rows_in_and_out_of_it(book: Book) -> None:
    take_in(book, [*described(), mixed(), through(an_id(50), 20, at=on(18))])

    with book.reading() as journal:
        rows = journal.moves(accounts.account("lot", PAPER_LOT))
        assert sorted(row.amount for row in rows) == [40, 3840]
        assert journal.moves("nowhere") == ()


def test_what_many_accounts_hold_is_asked_at_once(book: Book) -> None:
    """One question for the whole shelf, however many lots stand on it."""
    take_in(book, [*described(), mixed()])

    with book.reading() as journal:
        wanted = [f"lot:{an_id(n)}" for n in range(1_200)] + [f"lot:{LOT}"]
        held = journal.held(wanted)
        assert held[f"lot:{LOT}", "salt:aluminium_sulfate_14"] == 4_520_000_000


@pytest.mark.parametrize("fold", [True, False])
def test_what_was_taken_from_many_accounts_is_doubted_at_once(book: Book, fold: bool) -> None:
    """Doubts of one lot add up as they are; what is not folded yet is doubted as well."""
    take_in(book, [*described(), mixed()])
    take_in(book, [mixed(an_id(60))], fold=fold)

    with book.reading() as journal:
        wanted = [f"lot:{an_id(n)}" for n in range(1_200)] + [f"lot:{LOT}"]
        rows = [one for one in journal.moves(f"lot:{LOT}") if one.from_account == f"lot:{LOT}"]
        assert len(rows) == 2
        assert all(one.doubt for one in rows)
        assert journal.doubts(wanted) == {
            (f"lot:{LOT}", "salt:aluminium_sulfate_14"): sum(one.doubt for one in rows)
        }
        assert journal.doubts([]) == {}


def test_an_attachment_is_kept_and_a_second_one_of_that_name_is_left_out(book: Book) -> None:
    card = Attachment(name="ab" * 32, content_type="text/plain", reach="personal",
                      salt=b"s" * 16, data=b"Amina K.")  # fmt: skip
    other = Attachment(name="ab" * 32, content_type="text/plain", reach="public",
                       salt=b"t" * 16, data=b"somebody else")  # fmt: skip
    with book.writing() as journal:
        journal.keep(card)
        journal.keep(other)

    with book.reading() as journal:
        assert journal.attachment("ab" * 32) == card
        assert journal.attachment("cd" * 32) is None
        assert journal.attachments(["cd" * 32, "ab" * 32]) == {"ab" * 32: card}


def test_what_was_erased_is_not_brought_back_by_a_later_copy_of_it(engines: Engines) -> None:
    """A phone or a file of weeks ago may still hold the note that somebody had erased."""
    note = Attachment(
        name="ab" * 32, content_type="text/plain", reach="personal", salt=b"s" * 16, data=b"x"
    )
    with engines.writing() as connection:
        journal = SqlJournal(connection, ledger=LEDGER, node=NODE)
        journal.keep(note)
        journal.erase(note.name)
        journal.keep(note)

        assert journal.attachment(note.name) is None


def test_what_is_in_force_does_not_hang_on_how_it_was_asked_for(book: Book) -> None:
    slip = through(an_id(50), 200, at=on(18))
    take_in(book, [*described(), mixed(), slip, corrected(an_id(60), slip, "void", at=on(19))])

    with book.reading() as journal:
        resolved = resolve(journal.touching(BATH))
        assert [Subject(one.id) for one in resolved.in_force] == [BATH]
        assert [one.original.entry.id for one in resolved.struck] == [slip.id]
        assert journal.by_id(EntryId(an_id(60)))[0].first.admitted_at == LATE


def test_an_offset_moves_the_clock_times_of_that_device(book: Book) -> None:
    """A tablet an hour fast wrote 20:00; it was 19:00."""
    entry = mixed(at=on(17, 20))
    with book.writing() as journal:
        journal.append(described(), TAKEN)
        journal.append([entry], Admission(at=LATE, by=AMINA, offset_ms=HOUR_MS))

    with book.reading() as journal:
        assert journal.state("bath", BATH).mixed_at == on(17, 19)


def test_a_correction_of_a_correction_is_no_part_of_what_that_one_corrects(book: Book) -> None:
    """A target is always an original: a phone that names a correction changes nothing."""
    slip = through(an_id(50), 20, at=on(18))
    first = corrected(an_id(60), slip, "void", at=on(19))
    astray = corrected(an_id(61), first, "void", at=on(20))
    again = corrected(an_id(62), slip, "void", at=on(21))
    for one in ([*described(), mixed(), slip, first], [astray], [again]):
        take_in(book, one)

    with book.reading() as journal:
        assert names(journal.touching(BATH)) == sorted([BATH, slip.id, first.id, again.id])
        assert journal.state("bath", BATH).half_count == 0
