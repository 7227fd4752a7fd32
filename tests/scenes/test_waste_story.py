"""
Get rid of it, on the ten weeks of the invented co-operative.

Told until the moment that matters; from there on people do what they do, form by form: the
drain that said not yet, the wrong drain, the Barn's rinse drum, a jug without a tag, and a line
that came in late.
"""

import csv
import re
from collections.abc import Callable
from io import StringIO
from pathlib import Path

import pytest
from flask import Flask
from playwright.sync_api import Locator, Page, expect

from coop.web.csv_out import BYTE_ORDER_MARK
from tests.support.browser import Pages, assert_accessible, screenshot
from tests.support.opened import PASSWORD, Opened
from tests.support.server import live as live
from tests.support.server import sign_in
from tests.support.story import at, bath_of, demo_at

pytestmark = pytest.mark.browser

ABOUT_SOMEBODY = re.compile(r"\b(?:hurt|injur|wound|patient|victim)", re.I)
BLAMING = re.compile(r"\b(?:blame|fault|careless|guilt|offence|violat|punish)\w*", re.I)
STEP = "One step of its scale"
Live = Callable[[Flask], str]


# ---- what every scene does


def signed_in(page: Page, who: str) -> Page:
    sign_in(page, who, PASSWORD)
    return page


def tap(where: Page | Locator, name: str) -> None:
    """Send a form, and wait until it arrived: the clock is moved after that."""
    page = where if isinstance(where, Page) else where.page
    with page.expect_navigation():
        where.get_by_role("button", name=name, exact=True).click()


def go(page: Page, name: str) -> None:
    """Follow a link of the page itself, not one of those that stand above every page."""
    page.get_by_role("main").get_by_role("link", name=name, exact=True).first.click()


def choose(page: Page, question: str, answer: str) -> None:
    """Tap one of the answers of a question."""
    group = page.get_by_role("group", name=question, exact=True)
    group.get_by_text(answer, exact=True).click()


def says(page: Page, answer: str) -> None:
    """Wait for the answer of a drain."""
    expect(page.locator("#answer")).to_have_text(answer)


def shown(page: Page, name: str) -> None:
    """Everybody can use the page, and its picture is kept."""
    assert_accessible(page)
    screenshot(page, name)


def studio_of(house: Opened, name: str) -> str:
    with house.desk() as desk:
        return next(str(one.id) for one in desk.journal.listed("studio") if one.name == name)


def bath(house: Opened, name: str) -> str:
    with house.desk() as desk:
        return str(bath_of(desk.journal, name))


def jar_of(house: Opened, name: str) -> str:
    with house.desk() as desk:
        return next(str(one.id) for one in desk.journal.listed("jar") if one.name == name)


def table(page: Page, studio: str, month: str) -> list[dict[str, str]]:
    """Return the month's log as a spreadsheet reads it, with what this person may see."""
    answer = page.request.get(f"/waste/{studio}/log.csv?month={month}")
    assert answer.ok
    text = answer.text().removeprefix(BYTE_ORDER_MARK)
    return list(csv.DictReader(StringIO(text, newline="")))


# ---- the drain that said not yet


def ask_about_it(house: Opened, page: Page, old: str) -> None:
    """Dariusz reads the strip, is told not yet, and writes that down."""
    page.goto(f"/baths/{old}")
    go(page, "Get rid of it")
    says(page, "Measure first")
    page.locator("[name='ph_strip-ph']").fill("3,3")
    choose(page, STEP, "0.3")
    shown(page, "drain-measure-first")
    tap(page, "Write the reading")
    says(page, "Not yet")
    expect(page.get_by_role("main")).to_contain_text("pH 3.3, needs 6.0 to 10.0.")
    expect(page.get_by_role("main")).to_contain_text("Your local authority decides.")
    shown(page, "drain-not-yet")
    house.later(minutes=5)
    tap(page, "Write this answer down")
    says(page, "Not yet")
    shown(page, "drain-kept")


def begin(house: Opened, page: Page, old: str) -> None:
    """Oluwaseun takes the soda crystals of the shelf and keeps a cup back."""
    page.goto(f"/drain/bath/{old}")
    go(page, "Neutralise it")
    here = page.locator("#here")
    here.get_by_text("Soda crystals: soda crystals (10-hydrate)").click()
    tap(page, "Work it out")
    here.get_by_text("neither").click()
    tap(page, "Go on")
    shown(page, "walk-cup")
    tap(page, "The cup is kept back")
    house.later(minutes=15)
    shown(page, "walk-first-part")
    tap(page, "It is in")


def read_it(house: Opened, page: Page, ph: str, minutes: int) -> None:
    """Stir for so long, then read a strained spoonful."""
    house.later(minutes=minutes)
    here = page.locator("#here")
    here.get_by_label("pH", exact=True).fill(ph)
    here.get_by_label(STEP).select_option("0.3")
    tap(here, "Write the reading")


def part_by_part(house: Opened, page: Page) -> None:
    """Too low, a third more, too low, a third more; then the cup, with its own share."""
    for ph in ("4.2", "4.8", "5.7"):
        read_it(house, page, ph, minutes=40)
        expect(page.locator("#here > summary")).to_contain_text("It reads too low")
        house.later(minutes=5)
        tap(page, "It is in")
    read_it(house, page, "6.3", minutes=40)
    shown(page, "walk-cup-back")
    house.later(minutes=5)
    tap(page, "The cup is in, with its share")
    page.get_by_text("Overnight, then read again").click()
    expect(page.get_by_role("main")).to_contain_text("Read it again before anything is poured.")
    shown(page, "walk-overnight")


def next_morning(house: Opened, page: Page, old: str) -> None:
    """It reads 6.8: strained, asked once more, and down the sewer."""
    page.goto(f"/baths/{old}/neutralise")
    read_it(house, page, "6.8", minutes=0)
    house.later(minutes=10)
    tap(page, "The floc is strained off")
    go(page, "May it go now?")
    says(page, "Nothing forbids it, after these steps")
    shown(page, "drain-after-steps")
    gone = page.locator("#gone ~ form")
    for step in ("strained through cloth", "solids kept out of the drain"):
        gone.get_by_text(step, exact=True).click()
    house.later(minutes=5)
    tap(page, "It is gone")
    says(page, "Nothing forbids it, after these steps")


def test_the_drain_that_said_not_yet(tmp_path: Path, pages: Pages, live: Live) -> None:
    """pH 3.3 on Wednesday, soda crystals on Thursday, pH 6.8 and gone on Friday."""
    house = demo_at(tmp_path, at("2025-10-08 17:05"))
    origin, old = live(house.app()), bath(house, "R-A3")
    dariusz = signed_in(pages.phone(origin), "dariusz")
    ask_about_it(house, dariusz, old)

    house.moment = at("2025-10-09 09:00")
    walking = signed_in(pages.phone(origin), "oluwaseun")
    begin(house, walking, old)
    part_by_part(house, walking)
    walking.goto(f"/drain/bath/{old}")
    says(walking, "Measure first")

    house.moment = at("2025-10-10 08:10")
    morning = signed_in(pages.phone(origin), "oluwaseun")
    next_morning(house, morning, old)
    assert house.state("bath", old).gone_at is not None
    it_stands_in_the_log(house, morning)


def it_stands_in_the_log(house: Opened, page: Page) -> None:
    """The pH before and after, the soda in grams, the answer and its rule: page and table."""
    studio = studio_of(house, "Ropewalk")
    page.goto(f"/waste/{studio}/log?month=2025-10")
    expect(page.get_by_role("main")).to_contain_text("soda crystals (10-hydrate), 324 g")
    shown(page, "log-of-october")
    rows = [one for one in table(page, studio, "2025-10") if one["from"] == "Alum R-A3"]
    (judged,) = [one for one in rows if one["what was done"] == "looked whether it may go"]
    (gone,) = [one for one in rows if one["what was done"] == "got rid of it"]

    assert (judged["by"], judged["answer"]) == ("Dariusz W.", "Not yet")
    assert (gone["by"], gone["went to"]) == ("Oluwaseun A.", "town sewer")
    assert (gone["pH before treatment"], gone["pH as it went"]) == ("3.3", "6.8")
    assert gone["pH as it went: read with"] == "pH strip, in steps of 0.3"
    assert (gone["base"], gone["base grams"]) == ("soda crystals (10-hydrate)", "324")
    assert gone["steps"] == "strained through cloth, solids kept out of the drain"
    assert gone["answer"] == "Nothing forbids it, after these steps"
    for one in (judged, gone):
        assert "what the invented sewer board wrote, letter (invented) 1" in one["rule"]
        assert one["edition"] == "1"


# ---- the wrong drain


def warned(page: Page) -> None:
    """Wait for whom to call and what not to do; nothing that is said there blames."""
    main = page.get_by_role("main")
    expect(main).to_contain_text("Do not add anything to make it better.")
    expect(main).to_contain_text("Orchard county health office")
    assert not BLAMING.findall(main.inner_text())


def note_it(page: Page) -> None:
    """What, where, about how much, out of what, down what, and who was called."""
    choose(page, "What happened?", "down the wrong drain")
    choose(page, "Where?", "Orchard Barn")
    page.get_by_label("About how many litres?").fill("9")
    page.get_by_label("Out of which bath or jar?").select_option(label="Size B-S5")
    page.get_by_label("Down which drain?").select_option(label="septic tank")
    choose(page, "What was done?", "somebody called")
    page.get_by_label("Whom did somebody call?").fill("the tank's keeper")
    tap(page, "Write it")


def test_the_wrong_drain(tmp_path: Path, pages: Pages, live: Live) -> None:
    """About nine litres of size went into the Barn's septic sink: easy to say, unshaming."""
    house = demo_at(tmp_path, at("2025-10-25 17:45"))
    page, size = signed_in(pages.phone(live(house.app())), "siobhan"), bath(house, "B-S5")
    go(page, "Something went wrong")
    warned(page)
    text = page.get_by_role("main").inner_text()
    assert text.index("Do not add anything") < text.index("Afterwards: write it down")
    asked = page.locator("main form :is(label, legend)").all_inner_texts()
    assert "What happened?" in asked
    assert not [one for one in asked if ABOUT_SOMEBODY.search(one)]
    shown(page, "mishap-new")

    note_it(page)
    warned(page)
    shown(page, "mishap-noted")
    assert house.state("bath", size).gone_at is not None
    go(page, "The month's log")
    expect(page.get_by_role("main")).to_contain_text("the tank's keeper")
    shown(page, "log-of-the-barn")
    line = table(page, studio_of(house, "Orchard Barn"), "2025-10")[-1]
    assert (line["what was done"], line["from"], line["went to"]) == (
        "mishap: down the wrong drain", "Size B-S5", "septic tank",
    )  # fmt: skip


# ---- the Barn's rinse drum


def fill(page: Page, drum: str) -> None:
    """Write the rinse water of 36 half sheets by two taps."""
    page.goto(f"/jars/{drum}")
    go(page, "Put something in")
    choose(page, "Are metal pigments in it?", "no")
    shown(page, "drum-rinse")
    tap(page, "36 sheets at 1.5 L: 54.0 L")
    expect(page.get_by_role("main")).to_contain_text("54.0 of 60.0 L")


def carry(page: Page, name: str) -> None:
    """Write on the carry list that the only thing of it was carried."""
    expect(page.get_by_role("heading", level=1)).to_have_text("Carry list")
    shown(page, name)
    tap(page, "Carried")
    expect(page.get_by_role("main")).to_contain_text("Waste jar rinse drum was carried.")


def empty(page: Page, drum: str) -> None:
    """Look through the screen, ask Ropewalk's sewer, strain it and pour it."""
    page.goto(f"/drain/jar/{drum}")
    choose(page, "Does a screen with 13 mm holes hold lumps back?", "no")
    tap(page, "Write the reading")
    says(page, "Nothing forbids it, after these steps")
    shown(page, "drum-at-the-sewer")
    page.locator("#gone ~ form").get_by_text("strained through cloth", exact=True).click()
    tap(page, "It is gone")
    says(page, "Nothing forbids it, after these steps")


def test_the_barns_drum_is_filled_carried_emptied_and_carried_home(
    tmp_path: Path, pages: Pages, live: Live
) -> None:
    """36 half sheets are 54 L: nothing of them goes down at the Barn."""
    house = demo_at(tmp_path, at("2025-10-14 15:20"))
    page = signed_in(pages.phone(live(house.app())), "siobhan")
    barn, ropewalk = (studio_of(house, one) for one in ("Orchard Barn", "Ropewalk"))
    drum = jar_of(house, "rinse drum")

    fill(page, drum)
    page.goto(f"/drain/jar/{drum}")
    says(page, "Not down here")
    shown(page, "drum-not-down-here")
    go(page, "Carry it")
    house.moment = at("2025-10-15 10:00")
    carry(page, "carry-list")
    assert house.state("jar", drum).studio == ropewalk
    house.moment = at("2025-10-15 11:00")
    empty(page, drum)
    assert house.state("jar", drum).volume_ml == 0
    house.moment = at("2025-10-15 11:30")
    page.goto(f"/jars/{drum}")
    go(page, "Carry it, empty")
    carry(page, "carry-home")
    assert house.state("jar", drum).studio == barn
    the_litres_stand_in_both_logs(page, barn, ropewalk)


def the_litres_stand_in_both_logs(page: Page, barn: str, ropewalk: str) -> None:
    """The Barn's rinse and its way to Ropewalk; there the way down the sewer."""
    at_home, there = (
        [
            one
            for one in table(page, studio, "2025-10")
            if one["date"] >= "2025-10-14" and one["litres"] == "54"
        ]
        for studio in (barn, ropewalk)
    )

    assert [(one["what was done"], one["sheets"]) for one in at_home] == [
        ("put it into a waste jar", "36"),
        ("carried waste to another studio", ""),
    ]
    assert [(one["what was done"], one["went to"]) for one in there] == [
        ("carried here from another studio", "Orchard Barn, rinse drum"),
        ("got rid of it", "town sewer"),
    ]


# ---- a jug nobody knows


def stays_closed(page: Page, jug: str) -> None:
    """No drain is offered, and nothing can be written of pouring it."""
    page.goto(f"/drain/jug/{jug}")
    says(page, "Leave it, tag it, ask")
    main = page.get_by_role("main")
    expect(main).to_contain_text("Once somebody vouches for what is in it")
    expect(main.locator("a[href*='outlet=']")).to_have_count(0)
    expect(main.locator("form")).to_have_count(0)
    shown(page, "jug-stays-closed")


def vouch(page: Page, jug: str) -> None:
    page.goto(f"/jugs/{jug}")
    go(page, "I made it: it is Size R-S7")
    choose(page, "Are metal pigments in it?", "no")
    page.get_by_label("Note").fill("Mine, I forgot the tag.")
    shown(page, "jug-are-you-sure")
    tap(page, "Yes, it is Size R-S7")
    expect(page.get_by_role("heading", level=1)).to_have_text("It is Size R-S7")
    shown(page, "jug-is-known")


def test_a_jug_stays_closed_until_its_maker_says_mine(
    tmp_path: Path, pages: Pages, live: Live
) -> None:
    """Clear, thick, nine litres, no tag: no likeness opens it, only the one who made it."""
    house = demo_at(tmp_path, at("2025-10-13 09:30"))
    origin = live(house.app())
    with house.desk() as desk:
        (jug,) = [str(one.id) for one in desk.journal.listed("jug")]
    stays_closed(signed_in(pages.phone(origin), "amina"), jug)

    house.moment = at("2025-10-14 19:00")
    kahu = signed_in(pages.phone(origin), "kahu")
    stays_closed(kahu, jug)
    vouch(kahu, jug)
    house.later(minutes=5)
    go(kahu, "Get rid of it")
    expect(kahu.get_by_role("main")).to_contain_text("Nobody looked.")
    choose(kahu, "Does it run?", "yes")
    tap(kahu, "Write the reading")
    says(kahu, "Nothing forbids it, after these steps")
    expect(kahu.get_by_role("main")).to_contain_text("Size R-S7")


# ---- what came in late


def write_late(page: Page, studio: str) -> None:
    """Fifteen litres that went a fortnight ago and nobody wrote down then."""
    page.goto(f"/drain/other?studio={studio}&waste=alum_bath")
    page.get_by_text("It went all the same", exact=True).click()
    page.get_by_label("How much went").fill("15")
    page.locator("#gone ~ details").get_by_text("Another time, a note").click()
    page.locator("#gone ~ details").get_by_label("When").fill("2025-09-23 19:00")
    choose(page, "It went all the same: why?", "already done")
    tap(page, "It is gone")
    expect(page.get_by_role("main")).to_contain_text("got rid of alum bath, 15 L")


def test_a_line_that_came_in_late_changes_a_month_that_is_over(
    tmp_path: Path, pages: Pages, live: Live
) -> None:
    """12.2 L were known of that day; with 15 more it is over the letter's 20 L a day."""
    house = demo_at(tmp_path, at("2025-10-06 18:00"))
    page = signed_in(pages.desk(live(house.app())), "rosalind")
    studio = studio_of(house, "Ropewalk")
    page.goto(f"/waste/{studio}/log?month=2025-09")
    main = page.get_by_role("main")
    expect(main).not_to_contain_text("It came in late and changed a total")

    write_late(page, studio)
    page.goto(f"/waste/{studio}/log?month=2025-09")
    expect(main).to_contain_text("It came in late and changed a total")
    expect(main).to_contain_text("alum bath, town sewer: 12.2 L before, 27.2 L now")
    expect(main).to_contain_text("over the line (of spent alum solution at most 20 L a day")
    expect(main).to_contain_text("alum bath, town sewer: 19.5 L before, 34.5 L now")
    expect(main).to_contain_text("came in late, on 2025-10-06")
    shown(page, "log-came-in-late")
    late = [one for one in table(page, studio, "2025-09") if one["came in late on"]]
    assert [(one["litres"], one["came in late on"]) for one in late] == [("15", "2025-10-06")]
