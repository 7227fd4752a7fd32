"""How sheets came out, where it is shown: on a bath, a size, a lot, a paper, and to oneself."""

import re
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from babel.support import NullTranslations

from coop.actions.see_faults import CameOut, FaultRecord
from coop.ids import Subject
from coop.ledger.kinds import FAULTS
from coop.web.came_out import CAUSES
from coop.web.fault_charts import ROWS_SHOWN, STACKS_DRAWN, FaultsSaid, faults_said
from coop.web.i18n import Words
from tests.support.files import ROOT
from tests.support.opened import Opened, mixed, quantity

START = datetime(2025, 9, 1, 18, tzinfo=UTC)


@pytest.fixture
def words() -> Words:
    return Words("en", ZoneInfo("Europe/Berlin"), NullTranslations())


def record(*counts: tuple[int, int], waiting: int = 0) -> FaultRecord:
    """Return stacks, one a day, of so many spoiled out of sorted."""
    return FaultRecord(
        stacks=tuple(
            CameOut(
                stack=Subject(f"stack {day}"),
                at=START + timedelta(days=day),
                sheet_count=sheet_count + waiting,
                good=sheet_count - spoiled,
                spoiled=(("washed_off", spoiled),) if spoiled else (),
            )
            for day, (spoiled, sheet_count) in enumerate(counts)
        )
    )


def said(words: Words, found: FaultRecord) -> FaultsSaid:
    told = faults_said(words, found)
    assert told is not None
    return told


def test_every_fault_word_has_its_usual_causes() -> None:
    assert set(CAUSES) == set(FAULTS)


def test_a_share_is_told_with_its_range(words: Words) -> None:
    """7 of 40 lie between 9.8 and 29.3 % (Wilson, 90 %, as `wilson_interval` is checked)."""
    every, washed_off = said(words, record((7, 40))).lines

    assert (every.how, every.count) == ("spoiled, all words", "7 of 40")
    assert (washed_off.how, washed_off.share) == ("washed off", "18 %")
    assert washed_off.between == "10 to 29 %"


def test_what_nobody_sorted_is_said_and_not_counted(words: Words) -> None:
    """15 of 46 half sheets are not looked at: they are no part of the share."""
    told = said(words, record((8, 31), waiting=15))

    assert told.counted == "31 of 46 sorted, 15 not yet."
    assert told.lines[0].count == "8 of 31"


def test_nothing_sorted_has_no_share_and_no_picture(words: Words) -> None:
    told = said(words, record((0, 0), waiting=40))

    assert (told.lines, told.chart, told.rows) == ((), None, ())
    assert told.counted == "0 of 40 sorted, 40 not yet."


def test_nothing_put_through_says_nothing(words: Words) -> None:
    assert faults_said(words, record()) is None


def test_the_picture_shows_each_stack_within_the_limits_of_its_size(words: Words) -> None:
    """
    The limits are those of a p chart, p +- 3 sqrt(p (1 - p) / n), NIST/SEMATECH 6.3.3.2.

    Of 26 spoiled in 150: p is 0.1733; for 50 sheets the upper limit is 33.4 %.
    """
    told = said(words, record((2, 50), (4, 50), (20, 50)))
    assert told.chart is not None
    chart = told.chart.chart

    assert [round(dot.value) for dot in chart.readings] == [4, 8, 40]
    assert [dot.applied for dot in chart.readings] == [True, True, False]
    assert [round(point.high, 1) for point in chart.curve] == [33.4, 33.4, 33.4]
    assert [row.out for row in told.rows] == [True, False, False]
    assert "1 lies outside" in chart.description
    assert told.rough


def test_many_stacks_are_not_all_drawn_and_none_is_rough(words: Words) -> None:
    told = said(words, record(*[(1, 20)] * (STACKS_DRAWN + 30)))
    assert told.chart is not None

    assert len(told.chart.chart.readings) == STACKS_DRAWN
    assert len(told.rows) == ROWS_SHOWN
    assert told.more_count == STACKS_DRAWN + 30 - ROWS_SHOWN
    assert not told.rough


def test_none_spoiled_at_all_can_be_drawn(words: Words) -> None:
    """All shares are nothing: the limits fall together, and nothing divides by them."""
    told = said(words, record((0, 20), (0, 30)))

    assert told.chart is not None
    assert all(not row.out for row in told.rows)


def test_stacks_of_one_moment_can_be_drawn(words: Words) -> None:
    """Two written down for the same minute, on Sunday, from a slip of paper."""
    (one,) = record((1, 20)).stacks
    assert said(words, FaultRecord(stacks=(one, one))).chart is not None


def use(house: Opened) -> dict[str, str]:
    """Put two stacks of Kahu's through, lay them on a size, sort them."""
    bath = mixed(house)
    tray = house.say(
        "vessel.described",
        studio=house.made["studio"],
        name="tray R1",
        brim=quantity(20, "l"),
        lidded="yes",
        place="8",
    )
    size = house.say(
        "bath.mixed",
        what="size",
        name="R-S3",
        studio=house.made["studio"],
        vessel=tray,
        water=quantity(17, "l"),
        powder=[{"powder": "carrageenan", "amount": quantity(85, "g")}],
    )
    for spoiled in (2, 7):
        house.later(days=1)
        stack = house.say(
            "sheets.through",
            "kahu",
            bath=bath,
            size=size,
            sheet_count="40",
            sheet_format="half",
            method="dip",
            lot=house.made["parcel"],
            reason="already_done",
        )
        house.later(hours=1)
        house.say(
            "sheets.sorted", "kahu", stack=stack, good=str(40 - spoiled), patch=str(spoiled)
        )
    return {"bath": f"/baths/{bath}", "size": f"/liquids/{size}"}


def test_bath_size_lot_and_paper_show_how_their_sheets_came_out(house: Opened) -> None:
    there = use(house)
    pages = (*there.values(), f"/lots/{house.made['parcel']}",
             f"/house/papers/{house.made['paper']}")  # fmt: skip
    client = house.client("amina")
    for page in pages:
        text = client.get(page).text
        assert "80 sheets sorted: all there are." in text, page
        assert "9 of 80" in text, page
        assert 'id="faults-curve"' in text, page
        assert len(re.findall(r'href="/follow\?stack=', text)) >= 2, page


def test_a_lot_of_alum_shows_where_to_follow_it_and_no_share(house: Opened) -> None:
    use(house)
    text = house.client("kahu").get(f"/lots/{house.made['alum']}").text

    assert f'href="/follow?lot={house.made["alum"]}"' in text
    assert "How they came out" not in text


def test_shares_by_person_are_shown_only_to_oneself(house: Opened) -> None:
    """A share beside a name is an accusation; one's own is something to learn from."""
    use(house)
    kahu = house.members["kahu"].member
    own = house.client("kahu").get("/me").text
    assert "How my sheets came out" in own
    assert "9 of 80" in own

    for first in ("amina", "oluwaseun"):
        assert "How my sheets came out" not in house.client(first).get("/me").text
    assert "9 of 80" not in house.client("amina").get(f"/people/{kahu}").text


def test_only_ones_own_page_asks_for_shares_by_person() -> None:
    """Another page would need no more than a name in place of who asks."""
    asking = {
        path.name: re.findall(r'see_faults\(.*"member", ([\w.]+)', path.read_text())
        for path in Path(ROOT / "coop").rglob("*.py")
    }

    assert {name: who for name, who in asking.items() if who} == {"me.py": ["secret.member"]}
