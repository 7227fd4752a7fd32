"""Likely twins: the same written by two hands shortly after one another, in any arrival."""

import json
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coop.ids import Subject
from coop.ledger.digest import differences
from coop.ledger.entries import Entry, Sealed, read_entry
from coop.ledger.folding import Folded
from coop.ledger.kinds import EntryCorrected
from coop.ledger.ports import Admission
from coop.ledger.twins import RECENT_MAX, TWIN_WITHIN
from coop.ledger.view import View
from coop.store import states
from tests.support.memory import MemoryJournal
from tests.support.sayings import (
    AMINA,
    BATH,
    KAHU,
    LEDGER,
    LOT,
    NODE,
    PAPER,
    PRIYA,
    an_id,
    corrected,
    described,
    instead,
    mixed,
    on,
    q,
    say,
    through,
    topped_up,
)

PHONE, TABLET = an_id(70), an_id(71)
TEN = on(20, 10)
TAKEN = Admission(at=on(29), by=AMINA)
ALUM = {"lot": LOT, "amount": q(100, "g")}
OTHER_LOT = an_id(22)


def journal(*entries: Entry) -> MemoryJournal:
    made = MemoryJournal(ledger=LEDGER, node=NODE)
    made.append([*described(), mixed(), *entries], TAKEN)
    return made


def folded(*entries: Entry) -> Folded:
    return journal(*entries).folded("bath", BATH)


def twins(*entries: Entry) -> list[tuple[str, str]]:
    """Return the likely twins of a bath: the later one's id with the earlier one's."""
    odd = folded(*entries).findings
    return [(one.entry, one.detail) for one in odd if one.code == "likely-twin"]


def later(minutes: float):
    return TEN + timedelta(minutes=minutes)


def typed_on(device: str, entry: Entry) -> Entry:
    """Return an entry as a device wrote it down; its count is of no matter here."""
    return read_entry(json.loads(entry.data) | {"device": device, "device_seq": 1})


def sheets(n: int, minutes: float = 0, *, by: str = AMINA, **body) -> Entry:
    return through(an_id(n), body.pop("count", 20), at=later(minutes), by=by, **body)


def poured(n: int, minutes: float = 0, *, by: str = AMINA, **body) -> Entry:
    return topped_up(an_id(n), at=later(minutes), by=by, **body)


def reading(n: int, minutes: float = 0, *, by: str = AMINA, **body) -> Entry:
    return say("reading.taken", an_id(n), at=later(minutes), by=by, bath=BATH, **body)


def test_two_who_wrote_the_same_sheets_are_a_likely_twin_and_both_count() -> None:
    """Nobody is overruled: a person judges, and until then the bath is the weaker one."""
    first, second = sheets(50), sheets(51, 12, by=KAHU)

    whole = folded(first, second)

    assert [(one.code, one.entry, one.detail) for one in whole.findings] == [
        ("likely-twin", second.id, first.id)
    ]
    assert whole.state.half_count == 40
    assert len([one for one in whole.moves if one.entry in (first.id, second.id)]) == 2


def test_one_person_on_one_device_does_twenty_and_twenty() -> None:
    """Two lots of twenty are how forty sheets are done."""
    plain = sheets(50), sheets(51, 12)
    on_a_phone = typed_on(PHONE, sheets(50)), typed_on(PHONE, sheets(51, 12))

    assert twins(*plain) == []
    assert twins(*on_a_phone) == []


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (typed_on(PHONE, sheets(50)), typed_on(TABLET, sheets(51, 12))),
        (typed_on(PHONE, sheets(50)), sheets(51, 12)),
        (typed_on(TABLET, sheets(50)), typed_on(TABLET, sheets(51, 12, by=KAHU))),
    ],
    ids=["two devices", "a phone and a plain form", "two people on the tablet"],
)
def test_another_device_or_another_person_is_another_hand(one: Entry, other: Entry) -> None:
    """Who was not sure that the phone had kept it writes it again at the desk."""
    assert twins(one, other) == [(other.id, one.id)]


@pytest.mark.parametrize(("minutes", "found"), [(0, True), (30, True), (30.02, False)])
def test_twins_lie_within_half_an_hour(minutes: float, found: bool) -> None:
    assert timedelta(minutes=30) == TWIN_WITHIN
    assert bool(twins(sheets(50), sheets(51, minutes, by=KAHU))) is found


@pytest.mark.parametrize(
    ("one", "other", "found"),
    [
        (sheets(50), sheets(51, by=KAHU, reason="only_a_few"), True),
        (sheets(50), sheets(51, by=KAHU, count=21), False),
        (sheets(50), sheets(51, by=KAHU, sheet_format="full"), False),
        (sheets(50), sheets(51, by=KAHU, method="sponge"), False),
        (sheets(50), sheets(51, by=KAHU, lot=OTHER_LOT), False),
        (poured(50, water=q(3, "l")), poured(51, by=KAHU, water=q(3000, "ml")), True),
        (poured(50, water=q(3, "l")), poured(51, by=KAHU, water=q(4, "l")), False),
        (poured(50, water=q(3, "l")), poured(51, by=KAHU, salt=[ALUM]), False),
        (
            poured(50, salt=[ALUM]),
            poured(51, by=KAHU, salt=[ALUM | {"amount": q("0.1", "kg")}]),
            True,
        ),
        (poured(50, salt=[ALUM]), poured(51, by=KAHU, salt=[ALUM | {"lot": PAPER}]), False),
        (
            poured(50, salt=[ALUM, ALUM | {"lot": OTHER_LOT}]),
            poured(51, by=KAHU, salt=[ALUM | {"lot": OTHER_LOT}, ALUM]),
            True,
        ),
    ],
)
def test_what_was_done_is_compared_by_amount_and_lot(
    one: Entry, other: Entry, found: bool
) -> None:
    """One types litres, the other millilitres; one begins with the old tub of powder."""
    assert bool(twins(one, other)) is found


@pytest.mark.parametrize(
    ("heap", "other_heap", "found"),
    [("level", "level", True), ("level", "heaped", False)],
)
def test_a_heaped_spoon_is_not_a_level_one(heap: str, other_heap: str, found: bool) -> None:
    one, other = (
        [{"lot": LOT, "amount": q(8, "us_tbsp", heap=said)}] for said in (heap, other_heap)
    )

    assert bool(twins(poured(50, salt=one), poured(51, by=KAHU, salt=other))) is found


@pytest.mark.parametrize("unit", ["g", "ml"])
def test_a_spoonful_is_no_weight(unit: str) -> None:
    other = [{"lot": LOT, "amount": q(100, unit)}]
    pair = poured(50, salt=[ALUM]), poured(51, by=KAHU, salt=other)

    assert bool(twins(*pair)) is (unit == "g")


def test_sheets_of_ones_own_are_compared_by_their_paper() -> None:
    own: Any = {"kind": "sheets.through", "at": TEN, "bath": BATH, "sheet_count": "20",
           "sheet_format": "half", "method": "dip"}  # fmt: skip
    first = say(id=an_id(50), paper=PAPER, **own)
    same = say(id=an_id(51), by=KAHU, paper=PAPER, **own)
    other = say(id=an_id(51), by=KAHU, **own)

    assert twins(first, same) == [(same.id, first.id)]
    assert twins(first, other) == []


@pytest.mark.parametrize(
    ("said", "other"),
    [
        (
            {"instrument": "dipstick", "depth": q(30, "mm")},
            {"instrument": "dipstick", "depth": q(31, "mm")},
        ),
        (
            {"instrument": "tape_line", "litres": q(11, "l")},
            {"instrument": "tape_line", "litres": q(12, "l")},
        ),
        (
            {"instrument": "hydrometer", "gravity": "1.014", "temperature": q(20, "celsius")},
            {"instrument": "hydrometer", "gravity": "1.015", "temperature": q(20, "celsius")},
        ),
        (
            {"instrument": "hydrometer", "gravity": "1.014", "temperature": q(20, "celsius")},
            {"instrument": "hydrometer", "gravity": "1.014", "temperature": q(24, "celsius")},
        ),
        (
            {"instrument": "strip_print", "outcome": "sharp"},
            {"instrument": "strip_print", "outcome": "soft"},
        ),
    ],
)
def test_readings_are_twins_by_instrument_and_value(said: Any, other: Any) -> None:
    assert twins(reading(50, **said), reading(51, 5, by=KAHU, **said)) == [
        (an_id(51), an_id(50))
    ]
    assert twins(reading(50, **said), reading(51, 5, by=KAHU, **other)) == []


def test_a_centimetre_is_ten_millimetres() -> None:
    one = reading(50, instrument="dipstick", depth=q(30, "mm"))
    other = reading(51, by=KAHU, instrument="dipstick", depth=q(3, "cm"))

    assert twins(one, other) == [(other.id, one.id)]


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("bath.stopped", {"reason": "looks_wrong"}),
        ("bath.cleared", {"reason": "mended"}),
        ("bath.finished", {"reason": "used_up"}),
        ("bath.cared", {"care": "covered"}),
    ],
)
def test_what_counts_once_however_often_it_is_written_has_no_twin(kind: str, body: Any) -> None:
    """A bath that two people stopped is stopped."""
    pair = (
        say(kind, an_id(50 + n), at=later(n), by=who, bath=BATH, **body)
        for n, who in enumerate((AMINA, KAHU))
    )

    assert twins(*pair) == []


def test_a_reading_that_disagrees_may_be_a_twin_too() -> None:
    """Neither is said in place of the other."""
    far_off: Any = {"instrument": "dipstick", "depth": q(60, "mm")}
    first = reading(50, **far_off)
    second = reading(51, 5, by=KAHU, instrument="dipstick", depth=q(90, "mm"))
    third = reading(52, 9, by=PRIYA, instrument="dipstick", depth=q(90, "mm"))
    both = folded(first, second).findings
    settled = folded(first, second, third).findings

    assert [one.code for one in both] == ["reading-disagrees", "reading-disagrees"]
    assert ("likely-twin", third.id) in [(one.code, one.entry) for one in settled]


def test_the_nearest_of_another_hand_is_named() -> None:
    first, mine, again = sheets(50), sheets(51, 5, by=KAHU), sheets(52, 8, by=KAHU)

    assert twins(first, mine, again) == [(mine.id, first.id), (again.id, first.id)]
    assert twins(first, sheets(53, 4), mine) == [(mine.id, an_id(53))]


def test_baths_side_by_side_have_no_twins_of_each_other() -> None:
    other = an_id(20)
    mine, theirs = sheets(50), sheets(51, 5, by=KAHU, bath=other)
    made = journal(mixed(other), mine, theirs)

    assert [made.folded("bath", bath).findings for bath in (BATH, Subject(other))] == [(), ()]


@pytest.mark.parametrize("out", [0, 1])
def test_once_one_of_the_two_is_struck_out_the_finding_is_gone(out: int) -> None:
    pair = sheets(50), sheets(51, 12, by=KAHU)
    void = corrected(an_id(60), pair[out], "void", at=on(21))
    back = corrected(an_id(61), pair[out], "restore", at=on(22), sees=(void.id,))

    assert twins(*pair, void) == []
    assert twins(*pair, void, back) == [(pair[1].id, pair[0].id)]


def test_a_correction_makes_twins_and_parts_them() -> None:
    """The content in force counts, not what was first typed."""
    first, second = sheets(50), sheets(51, 12, by=KAHU)
    counted = instead(second, sheet_count="30")
    moved = instead(second, at=later(-10))

    def mended(content: dict[str, Any]) -> Entry:
        return corrected(an_id(60), second, "replace", at=on(21), content=content)

    assert twins(first, second, mended(counted)) == []
    assert twins(first, second, mended(moved)) == [(first.id, second.id)]


def test_twins_before_the_mix_are_found_as_well() -> None:
    early = through(an_id(50), 20, at=on(16)), through(an_id(51), 20, at=on(16), by=KAHU)

    assert twins(*early) == [(early[1].id, early[0].id)]


def test_what_is_remembered_stays_small_and_outlives_the_cache() -> None:
    """A hundred entries of one minute may not make a bath's state as long as its history."""
    state = folded(*(sheets(100 + n, n / 100, count=n + 1) for n in range(100))).state
    quiet = folded(*(sheets(100 + n, 31 * n) for n in range(3))).state

    assert [one.entry for one in state.recent] == [
        an_id(100 + n) for n in range(100 - RECENT_MAX, 100)
    ]
    assert len(quiet.recent) == 1
    assert states.load("bath", states.dump(state)) == state


HANDS = [(who, device) for who in (AMINA, KAHU) for device in (None, PHONE, TABLET)]
DEEDS = (
    lambda id, at, by: through(id, 20, at=at, by=by),
    lambda id, at, by: through(id, 20, at=at, by=by, lot=OTHER_LOT),
    lambda id, at, by: topped_up(id, at=at, by=by, water=q(3, "l")),
    lambda id, at, by: say("reading.taken", id, at=at, by=by, bath=BATH,
                           instrument="dipstick", depth=q(60, "mm")),
    lambda id, at, by: say("reading.taken", id, at=at, by=by, bath=BATH,
                           instrument="strip_print", outcome="sharp"),
    lambda id, at, by: say("bath.cared", id, at=at, by=by, bath=BATH, care="covered"),
)  # fmt: skip


@st.composite
def crowds(draw: st.DrawFn) -> list[Entry]:
    """Draw a bath that many work at within two hours, some of it struck out."""
    entries = []
    for n in range(draw(st.integers(2, 12))):
        by, device = draw(st.sampled_from(HANDS))
        at = later(draw(st.integers(0, 12)) * 10)
        deed = draw(st.sampled_from(DEEDS))(an_id(100 + n), at, by)
        entries.append(typed_on(device, deed) if device else deed)
    struck = draw(st.lists(st.sampled_from(entries), max_size=3, unique_by=id))
    voids = [corrected(an_id(200 + n), one, "void", at=on(21)) for n, one in enumerate(struck)]
    return [*entries, *voids]


class Kept:
    """A bath's fold as a store keeps it: taken up at its end where it can be, else anew."""

    def __init__(self) -> None:
        self.journal = journal()
        self.fold = self.journal.folded("bath", BATH)
        self.resumed_count = 0

    def take(self, entry: Entry) -> None:
        (sealed,) = self.journal.append([entry], TAKEN)
        more = self._resumed(sealed)
        if more is None:
            self.fold = self.journal.folded("bath", BATH)
        else:
            self.resumed_count += 1
            self.fold = replace(
                more,
                moves=self.fold.moves + more.moves,
                findings=self.fold.findings + more.findings,
            )

    def _resumed(self, sealed: Sealed) -> Folded | None:
        said = (one.entry.content for one in self.journal.touching(BATH))
        targets = {one.target for one in said if isinstance(one, EntryCorrected)}
        if sealed.entry.kind == "entry.corrected" or Subject(sealed.entry.id) in targets:
            return None

        def cached(sort: str, subject: Subject) -> Folded | None:
            return self.fold if subject == BATH else None

        return View(self.journal.touching, cached=cached).resumed("bath", BATH, sealed)


@settings(max_examples=150)
@given(st.data())
def test_however_entries_arrive_the_same_twins_are_found(data: st.DataObject) -> None:
    """What is kept and continued entry by entry is what the whole fold gives at its end."""
    entries = data.draw(crowds())
    kept = Kept()

    for entry in data.draw(st.permutations(entries)):
        kept.take(entry)

    whole = folded(*entries)
    assert kept.fold.findings == whole.findings
    assert kept.fold.moves == whole.moves
    assert differences(kept.fold.state, whole.state) == []


@settings(max_examples=150)
@given(crowds())
def test_a_bath_continued_entry_by_entry_finds_the_twins_of_the_whole(
    entries: list[Entry],
) -> None:
    """In fold order nearly every entry is taken up at the end, as on an ordinary day."""
    said = [one for one in entries if one.kind != "entry.corrected"]
    kept, taken = Kept(), []

    for entry in sorted(said, key=lambda one: (one.happened_at, one.written_at, one.id)):
        kept.take(entry)
        taken.append(entry)
        assert kept.fold.findings == folded(*taken).findings
    assert kept.resumed_count >= 1


@given(crowds())
def test_every_finding_is_a_pair_that_a_plain_search_finds(entries: list[Entry]) -> None:
    """Held against the rule itself, written out over all pairs of what is in force."""
    said = [one.content for one in entries]
    out = {str(one.target) for one in said if isinstance(one, EntryCorrected)}
    left = [one for one in entries if one.id not in out and one.kind != "entry.corrected"]
    left.sort(key=lambda one: (one.happened_at, one.written_at, one.id))

    pairs = {
        second.id
        for n, second in enumerate(left)
        for first in left[:n]
        if first.kind == second.kind != "bath.cared"
        and first.content == second.content
        and second.happened_at - first.happened_at <= TWIN_WITHIN
        and (first.author, first.device) != (second.author, second.device)
    }

    assert {second for second, _ in twins(*entries)} == pairs
