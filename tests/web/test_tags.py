"""Tags that hang on tubs: what stands on them, where on a sheet, and the ways to them."""

import re
from datetime import timedelta
from typing import Any

import pytest
import zxingcpp
from PIL import Image, ImageDraw

from coop.web.pages.tags import TAGS_MAX
from coop.web.qr import qr_code
from coop.web.tag_sheets import CAP_MIN_MM, LAYOUTS, PAPERS, drawn_name, frame, laid_out
from tests.support.opened import Opened, mixed, post, quantity, sized
from tests.web.test_queries import asked

NOBODY = "01995867-7800-7fa5-bf87-fda4d3a8ddf7"
LONG = 20 * "W"
EYE = "In the eye: tap water at once, lids open, at least 15 minutes, then a doctor with this"


def shown(house: Opened, query: str, who: str = "kahu") -> str:
    answer = house.client(who).get(f"/tags?{query}")
    assert answer.status_code == 200, answer.text
    return str(answer.text)


def sheets(page: str) -> list[list[str]]:
    """Return what stands in the cells of each sheet: the first heading, empty for none."""
    found = page.split('<section class="print-sheet')[1:]
    return [
        [first_name(cell) for cell in sheet.split('<div class="cell')[1:]] for sheet in found
    ]


def first_name(cell: str) -> str:
    named = re.search(r'role="img" aria-label="([^"]*)"><text|<h2>([^<]*)</h2>', cell)
    return (named[1] or f"card of {named[2]}") if named else ""


def tub(house: Opened, name: str = "low tub") -> str:
    """Describe another tub."""
    return house.say("vessel.described", studio=house.made["studio"], name=name,
                     brim=quantity(13, "l"), lidded="yes", place="2")  # fmt: skip


def described(house: Opened, **numbers: Any) -> None:
    """Describe the studio anew, with other numbers to call."""
    house.say(
        "studio.described",
        studio=house.made["studio"],
        supersedes=house.state("studio", house.made["studio"]).edition,
        name="Ropewalk",
        letter="R",
        drain="sewer",
        instruments=[],
        **numbers,
    )


# ---- sheets


@pytest.mark.parametrize("layout", LAYOUTS)
def test_the_first_tag_goes_to_the_place_that_was_said(layout: str) -> None:
    """A sheet of labels is used up from its first place on, row by row."""
    count = LAYOUTS[layout].count
    tags = [f"tag {number}" for number in range(9)]
    for start in range(1, count + 1):
        found = laid_out(tags, count, start)
        cells = [cell for sheet in found for cell in sheet]

        assert cells[: start - 1] == [None] * (start - 1)
        assert cells[start - 1 : start - 1 + len(tags)] == tags, "none is lost or doubled"
        assert {len(sheet) for sheet in found} == {count}
        assert any(found[-1]), "no sheet is wasted"


def test_halves_quarters_and_eighths_are_those_of_the_standard() -> None:
    """
    ISO 216: A5 148 x 210, A6 105 x 148, A7 74 x 105 mm, each rounded down (from memory).

    US Letter is 8.5 by 11 inches (ANSI/ASME Y14.1, from memory).
    """
    fronts = {code: frame("a4", code, folded=False) for code in LAYOUTS}
    cut = [(round(one.width_mm + 10, 2), one.height_mm + 10) for one in fronts.values()]

    assert [(int(wide), int(high)) for wide, high in cut] == [
        (210, 297), (210, 148), (105, 148), (105, 74),
    ]  # fmt: skip
    assert PAPERS["letter"].width_mm == pytest.approx(8.5 * 25.4)
    assert PAPERS["letter"].height_mm == pytest.approx(11 * 25.4)


def test_a_full_sheet_is_followed_by_another(house: Opened):
    """A bath's tag and its card are two places; nothing is split between sheets."""
    first, second = mixed(house), sized(house)
    page = shown(house, f"bath={first}&bath={second}&per=4&start=2")

    assert sheets(page) == [
        ["", "Alum R-A1", "card of Alum R-A1", "Size R-S1"],
        ["card of Size R-S1", "", "", ""],
    ]
    assert "Print this page: 2 sheets." in page


def test_how_to_begin_is_said_of_the_sheet_that_was_chosen(house: Opened):
    """An example that is refused on this sheet teaches nothing."""
    said = "Say 2 where the first place of the sheet is used up."

    assert said in shown(house, "per=2")
    assert said not in shown(house, "per=1")


def test_a_tag_alone_and_small_ones_eight_on_a_sheet(house: Opened):
    """Stacks, tubs and jugs need no back: they get the small labels by themselves."""
    made = house.made
    bath = mixed(house)
    page = shown(house, f"bath={bath}&card=no&per=1")
    small = shown(house, f"vessel={made['tub']}")

    assert sheets(page) == [["Alum R-A1"]]
    assert sheets(small) == [["big tub", *[""] * 7]]


@pytest.mark.parametrize(
    ("query", "told"),
    [
        ("per=8", "four on a sheet at most"),
        ("per=4&start=5", "A place from 1 to 4, please."),
        ("per=4&start=0", "A place from 1 to 4, please."),
        ("start=2.5", "A place from 1 to 2, please."),
        ("start=second", "A place from 1 to 2, please."),
        ("paper=parchment", "Not a valid choice."),
        ("per=three", "Not a valid choice."),
    ],
)
def test_what_cannot_be_is_told_beside_its_field(house: Opened, query: str, told: str):
    """What was chosen stays chosen, and nothing is printed on a guess."""
    bath = mixed(house)
    page = shown(house, f"bath={bath}&{query}")

    assert told in page
    assert sheets(page) == []
    assert f'checked id="bath-0" name="bath" type="checkbox" value="{bath}"' in page


def test_what_nobody_knows_and_what_is_too_much_is_told(house: Opened):
    """An old address, or one that somebody put together: the rest is printed all the same."""
    bath = mixed(house)
    many = "".join(f"&bath=0{number:03}{NOBODY[4:]}" for number in range(TAGS_MAX + 5))
    page = shown(house, f"bath={bath}&bath={NOBODY}&jug={NOBODY}&card=no")

    assert "2 things that were asked for are not known here." in page
    assert sheets(page) == [["Alum R-A1", ""]]
    assert f"Tags of {TAGS_MAX} things at once are the most" in shown(house, many[1:])


def test_many_tags_ask_no_more_than_two(house: Opened):
    """The evening's tags are printed while others write."""
    names = [f"R-A{number}" for number in range(1, 8)]
    baths = [mixed(house, name=one, vessel=tub(house, name=one)) for one in names]
    client = house.client("kahu")

    def statement_count(chosen: list[str]) -> int:
        with asked(house) as found:
            answer = client.get(f"/tags?per=4&{'&'.join(f'bath={one}' for one in chosen)}")
        assert len(sheets(answer.text)) == -(-len(chosen) // 2)
        return len(found)

    statement_count(baths)
    assert statement_count(baths) == statement_count(baths[:2])


# ---- letters to be read at two metres


@pytest.mark.parametrize("name", ["R-A4", "R-S10", "M-A12", "gall of May", "WWWWWWWW"])
@pytest.mark.parametrize("layout", ["1", "2", "4"])
def test_a_usual_name_is_read_at_two_metres(name: str, layout: str) -> None:
    """1/250 of the distance, common practice, no source: 8 mm; the brief names are far over."""
    assert CAP_MIN_MM == 8
    drawn = drawn_name(name, LAYOUTS[layout].name)

    assert drawn.cap_mm >= CAP_MIN_MM
    assert drawn.reads_from_afar
    assert max(one.length_mm for one in drawn.lines) <= LAYOUTS[layout].name.width_mm + 0.01
    assert drawn.box.height_mm <= LAYOUTS[layout].name.height_mm + 0.01


def test_a_word_is_broken_only_where_it_would_not_be_read() -> None:
    """R-A4 in two lines is no name; a word of twenty-four letters must go somewhere."""
    short = drawn_name("Unknown", LAYOUTS["4"].plain)
    long = drawn_name("Ebruteknesininaluminyumu", LAYOUTS["4"].name)

    assert [one.text for one in short.lines] == ["Unknown"]
    assert len(long.lines) > 1
    assert "".join(one.text for one in long.lines) == "Ebruteknesininaluminyumu"


def test_a_name_too_long_to_be_read_asks_for_a_bigger_tag(house: Opened):
    """Nobody bends over a tub of alum to make out which one it is."""
    bath = mixed(house, name=LONG)
    small, big = shown(house, f"bath={bath}&per=4"), shown(house, f"bath={bath}&per=1")

    assert f"The name of Alum {LONG} is too long to be read at two metres" in small
    assert sheets(small) == []
    assert len(sheets(big)) == 2


# ---- what stands on a bath's tag


def test_a_tag_says_what_will_be_true_for_weeks(house: Opened):
    """
    Paper stays as it is: what was mixed, by whom, when; not how strong it is this evening.

    40 g/L x 3.785411784 L / 28.349523125 g = 5.34 oz to the US gallon (units: NIST Handbook 44,
    appendix C, from memory); 28 days is the house's limit.
    """
    bath = mixed(house)
    before = shown(house, f"bath={bath}")
    house.later(days=2)
    house.say("bath.topped_up", bath=bath, water=quantity(3, "l"), reason="level_only")

    for page in (before, shown(house, f"bath={bath}")):
        assert "40 g/L (5.3 oz wt/US gal) of aluminium sulfate when it was mixed" in page
        assert "<dt>Since</dt><dd>2025-09-17 18:00, AK</dd>" in page
        assert "<dt>Stands in</dt><dd>big tub, Ropewalk</dd>" in page
        assert "Emergency: 112. Poison centre: 0555\xa00100." in page
        assert "today</dd>" not in page
    assert "<dt>Look again</dt><dd>2025-10-15</dd>" in before


def test_the_eye_is_named_on_what_hurts_it(house: Opened):
    """Alum and soda: the stricter of two classifications; a size has no such line."""
    alum, size = mixed(house), sized(house)
    powder = [{"powder": "softener", "amount": quantity(60, "g")}]
    soda = sized(house, what="softener", name="W-1", powder=powder, vessel=tub(house))

    assert "Can damage eyes for good (H318)." in shown(house, f"bath={alum}&card=no")
    assert f"{EYE} tag." in shown(house, f"bath={alum}&card=no")
    assert EYE in shown(house, f"bath={soda}&card=no")
    assert EYE not in shown(house, f"bath={size}&card=no")


def test_a_size_says_before_when_it_is_not_to_be_used(house: Opened):
    """It rests twelve hours unless somebody says otherwise (the trade's reference, 1.4)."""
    page = shown(house, f"bath={sized(house)}&card=no")

    assert "5.0 g/L (0.67 oz wt/US gal) of carrageenan when it was mixed" in page
    assert "<dt>Not before</dt><dd>2025-09-18 06:00</dd>" in page
    assert "<dt>Look again</dt><dd>2025-09-2" in page


def test_a_bath_that_was_poured_off_says_so(house: Opened):
    """It was never mixed, and is as strong as what it came from was at that moment."""
    bath = mixed(house)
    poured = {"name": "R-A2", "vessel": tub(house), "litres": quantity(4, "l")}
    part = house.say("bath.split", bath=bath, parts=[poured])

    assert "of aluminium sulfate when it was poured off" in shown(house, f"bath={part}")


def test_its_back_is_the_stop(house: Opened):
    """Turning the tag over stops the bath for whoever has no phone in hand."""
    bath = mixed(house)
    page = shown(house, f"bath={bath}")

    back = page.split('class="face back-face"')[1].split("</article>")[0]
    assert "<b>Do not use</b><span>Alum R-A1</span>" in back
    assert '#shape-do-not-use"' in back
    assert [f"<dt>{one}</dt><dd></dd>" in back for one in ("Who", "When", "Why")] == [True] * 3


def test_a_stopped_bath_hangs_its_back_to_the_front(house: Opened):
    """Its back says what the ledger knows; nobody copies it there by hand."""
    bath = mixed(house)
    house.say("bath.stopped", "oluwaseun", bath=bath, reason="looks_wrong")
    page = shown(house, f"bath={bath}")
    back = page.split('class="face back-face"')[1].split("</article>")[0]

    assert "Alum R-A1 is stopped: hang its tag with the back to the front." in page
    assert re.findall("<dd>([^<]*)</dd>", back) == ["OA", "2025-09-17 18:00", "it looks wrong"]
    assert "write it in the ledger" not in back


def test_the_tally_card_has_twelve_rows(house: Opened):
    """Twelve pencil rows: day, initials, sheets, format, topped up (the look of the tag)."""
    page = shown(house, f"bath={mixed(house)}")
    card = page.split('class="face card-face"')[1].split("</article>")[0]

    assert re.findall(r'<th scope="col">([^<]*)', card) == [
        "Day", "Initials", "Sheets", "Format", "Topped up",
    ]  # fmt: skip
    assert card.count("<tr><td></td><td></td><td></td><td></td><td></td></tr>") == 12


def test_without_numbers_to_call_a_tag_does_not_print(house: Opened):
    """With alum in the eye nobody looks for a phone number."""
    bath = mixed(house)
    described(house, emergency="112", poison="ask")
    page = shown(house, f"bath={bath}&vessel={house.made['tub']}&per=4")

    why = "This does not print: what stands for the poison centre of Ropewalk, “ask”"
    assert page.count(why) == 1
    assert f'href="/house/studios/{house.made["studio"]}"' in page
    assert 'class="print-sheets"' not in page
    to_look_at = page.split('<div class="print-sheets screen-only">')[1]
    assert "To look at only" in page, "a newcomer sees what tags are before there are numbers"
    assert sheets(to_look_at) == [["Alum R-A1", "card of Alum R-A1", "big tub", ""]]


def test_a_number_to_call_stays_on_one_line(house: Opened):
    """Half a number at the end of a line is dialled as it stands."""
    bath = mixed(house)
    described(house, emergency="112", poison="030 / 555 0100 (day and night)")
    page = shown(house, f"bath={bath}&per=4")

    assert "Poison centre: 030\xa0/\xa0555\xa00100 (day and night)." in page


# ---- stacks and tubs


def test_a_stack_says_which_side_to_lay_and_until_when(house: Opened):
    """Alumed sheets are forgotten in a drawer; the mark means one thing in each studio."""
    bath = mixed(house)
    stack = house.say("sheets.through", "kahu", bath=bath, sheet_count="60", method="dip",
                      sheet_format="half", lot=house.made["parcel"])  # fmt: skip
    page = shown(house, f"stack={stack}")

    told = page.split('class="face small-face"')[1].split("</svg>")[0]
    assert re.findall(r">([^<]+)</text>", told) == ["60 half sheets"], "not as its bath's tag"
    assert "<dt>Alumed in</dt><dd>R-A1</dd>" in page
    assert "<dt>Alumed</dt><dd>2025-09-17, KR</dd>" in page
    assert "The mark is on the bare side: lay the side without a mark." in page
    assert re.search(r"<dt>Use by</dt><dd>2025-09-\d\d, lies open</dd>", page)
    assert f"/strip/1/{bath}.svg" in page


def test_the_sheets_of_a_bath_that_failed_are_looked_at_first(house: Opened):
    """A date on their tag would be taken for leave to use them."""
    bath = mixed(house)
    stack = house.say("sheets.through", "kahu", bath=bath, sheet_count="24", method="dip",
                      sheet_format="half", lot=house.made["parcel"])  # fmt: skip
    house.say("bath.stopped", "kahu", bath=bath, reason="washed_off")
    page = shown(house, f"stack={stack}")

    assert "<dt>Look again</dt><dd>before it is used</dd>" in page
    assert "<dt>Use by</dt>" not in page


def test_a_tub_says_where_its_tape_lines_go(house: Opened):
    """
    5 L over a floor of 0.540 m x 0.740 m = 0.3996 m2 stand 12.5 mm high (by hand).

    The line at the brim needs no tape.
    """
    page = shown(house, f"vessel={house.made['tub']}")

    assert "<dt>To the brim</dt><dd>16.0 L (4.23 US gal)</dd>" in page
    assert re.findall(r"<li><b>([^<]*)</b> ([^<]*)</li>", page) == [
        ("5.0 L (1.32 US gal)", "12.5 mm (0.49 in)"),
        ("10.0 L (2.64 US gal)", "25.0 mm (0.99 in)"),
        ("15.0 L (3.96 US gal)", "37.5 mm (1.48 in)"),
    ]


# ---- codes


def read_back(path: str, side: int, module_px: int) -> str:
    """Draw a path's bars as squares, and let another library read the picture."""
    picture = Image.new("L", (side * module_px, side * module_px), 255)
    pen = ImageDraw.Draw(picture)
    for x, y, length in re.findall(r"M(\d+) (\d+)h(\d+)v1h-\3z", path):
        left, top = int(x) * module_px, int(y) * module_px
        pen.rectangle(
            (left, top, left + int(length) * module_px - 1, top + module_px - 1), fill=0
        )
    (found,) = zxingcpp.read_barcodes(picture)
    return str(found.text)


@pytest.mark.parametrize(
    "address",
    [
        f"http://localhost/baths/{NOBODY}",
        f"https://ledger.studio.example/liquids/{NOBODY}",
        f"https://{'a-long-name.' * 5}example:8443/stacks/{NOBODY}",
    ],
)
def test_a_code_says_the_address_that_went_into_it(address: str) -> None:
    """Written by one library, read by another (ISO/IEC 18004 is what both know)."""
    code = qr_code(address)

    assert read_back(code.path, code.side, module_px=3) == address
    assert code.text == address


def test_the_code_leads_to_the_name_by_which_the_page_was_asked(house: Opened):
    """A studio has one name in its network and another outside of it."""
    bath = mixed(house)
    client = house.client("kahu")
    near = client.get(f"/tags?bath={bath}").text

    assert f'aria-label="QR code: http://localhost/baths/{bath}"' in near
    assert "so the codes lead to it alone" in near


# ---- the ways to it


def test_a_bath_leads_to_its_tag(house: Opened):
    bath, size = mixed(house), sized(house)
    client = house.client("kahu")

    assert f'href="/tags?bath={bath}"' in client.get(f"/baths/{bath}").text
    assert f'href="/tags?bath={size}"' in client.get(f"/liquids/{size}").text
    assert f'href="/tags?bath={bath}"' in client.get(f"/baths/{bath}/stop").text


def test_whoever_mixed_is_handed_the_tag_at_once(house: Opened):
    """The tub, not the phone, is what the next member sees."""
    there = f"/mix/{house.made['tub']}?recipe=none"
    typed = {
        "name": "R-A7",
        "water.typed": "12",
        "water.unit": "l",
        "salt.0.lot": house.made["alum"],
        "salt.0.amount.typed": "480",
        "salt.0.amount.unit": "g",
        "salt.0.amount.heap": "level",
        "salt.1.lot": "",
        "salt.1.amount.typed": "",
        "salt.1.amount.unit": "g",
        "salt.1.amount.heap": "level",
        "guessed": "no",
    }
    client = house.client("kahu")
    answer = post(client, there, **typed)
    assert answer.status_code == 303, answer.text
    page = client.get(answer.headers["Location"]).text
    flash = page.split('class="flash written"')[1].split("</div>")[0]

    assert "Now hang its tag on the tub." in flash
    assert 'href="/tags?bath=' in flash


def test_the_room_prints_tonights_tags_for_a_coordinator(house: Opened):
    """Whoever opens the room prints all of them at once; what is stopped is not among them."""
    bath, size = mixed(house), sized(house)
    stopped = mixed(house, name="R-A9", vessel=tub(house), water=quantity(8, "l"))
    house.say("bath.stopped", "oluwaseun", bath=stopped, reason="looks_wrong")
    found = re.search(
        r'href="(/tags\?[^"]*)">Tags of tonight', house.client("amina").get("/").text
    )

    assert found
    assert set(re.findall(r"bath=([0-9a-f-]{36})", found[1])) == {bath, size}
    assert "Tags of tonight" not in house.client("kahu").get("/").text


def test_nobody_chose_anything_yet(house: Opened):
    """The page asks; it prints nothing by itself."""
    mixed(house)
    house.later(hours=1)
    page = shown(house, "")

    assert sheets(page) == []
    assert "Alum R-A1" in page
    assert "big tub, Ropewalk" in page


def test_a_tag_is_dated_by_the_day_it_was_printed_for_nothing(house: Opened):
    """A month later the same tag says the same: only the next look has moved."""
    bath = mixed(house)
    house.moment += timedelta(days=20)
    house.say("reading.taken", bath=bath, instrument="strip_print", outcome="sharp")

    assert "<dt>Look again</dt><dd>2025-11-04</dd>" in shown(house, f"bath={bath}")
