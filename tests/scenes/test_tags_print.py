"""Tags on paper: exact size, codes that read back, a solid back; and without a signal."""

import re
from collections.abc import Callable, Iterator
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp
from flask import Flask
from PIL import Image
from playwright.sync_api import Page, expect

from coop.web.tag_sheets import CAP_MIN_MM, LAYOUTS, PAPERS, frame
from tests.support.browser import Pages, assert_accessible, screenshot
from tests.support.enrolled import enrolled
from tests.support.opened import PASSWORD, Opened, furnished, mixed, quantity, sized
from tests.support.server import live as live
from tests.support.server import serving, sign_in
from tests.support.tray import in_use, open_page

pytestmark = pytest.mark.browser

POINTS_PER_MM = 72 / 25.4
SCAN_DPI = 150
FINE_DPI = 600
HALF_A_MM = 0.5
MODULE_MM_MIN = 0.4
"""A phone's camera at arm's length reads that: common practice, no source."""
DARK = 96
Query = Callable[[dict[str, str]], str]


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    """A studio with an alum, a size, a stack and a jug that nobody knows."""
    house = furnished(tmp_path)
    made = house.made
    made["bath"] = mixed(house, name="R-A4")
    made["size"] = sized(house, name="R-S10")
    made["sheets"] = house.say("sheets.through", "kahu", bath=made["bath"], method="dip",
                               sheet_count="60", sheet_format="half",
                               lot=made["parcel"])  # fmt: skip
    made["jug"] = house.say("jug.found", studio=made["studio"], where="second shelf",
                            litres=quantity(8, "l"), look="clear")  # fmt: skip
    return house


@pytest.fixture
def origin(house: Opened) -> Iterator[str]:
    with serving(house.app()) as origin:
        yield origin


def printed(page: Page, query: str, name: str) -> list[Image.Image]:
    """Print a page of tags to PDF as Chromium does; give its sheets at 600 dots to the inch."""
    page.goto(f"/tags?{query}")
    screenshot(page, f"tags-{name}")
    data: bytes = page.pdf(prefer_css_page_size=True)
    document = pypdfium2.PdfDocument(data)
    try:
        found: list[Image.Image] = [
            sheet.render(scale=FINE_DPI / 72).to_pil().convert("RGB") for sheet in document
        ]
    finally:
        document.close()
    return found


def size_mm(sheet: Image.Image) -> tuple[float, float]:
    return sheet.width / FINE_DPI * 25.4, sheet.height / FINE_DPI * 25.4


def tenths(length_mm: float) -> Decimal:
    """Return a length as pages say it: half a last digit goes up."""
    return Decimal(str(length_mm)).quantize(Decimal("0.1"), ROUND_HALF_UP)


def px(length_mm: float) -> int:
    return round(length_mm / 25.4 * FINE_DPI)


def edge_mm(sheet: Image.Image, start: tuple[float, float], step: tuple[int, int]) -> float:
    """Walk from a place [mm] until it is dark; give how far from the sheet's corner that is."""
    x, y = px(start[0]), px(start[1])
    while max(sheet.getpixel((x, y))) > DARK:  # type: ignore[arg-type]  # RGB
        x, y = x + step[0], y + step[1]
    return (x if step[0] else y) / FINE_DPI * 25.4


def codes(sheet: Image.Image) -> list[str]:
    """Read every code of a sheet as a poor scan has it: 150 dots to the inch."""
    scale = SCAN_DPI / FINE_DPI
    scan = sheet.resize((round(sheet.width * scale), round(sheet.height * scale)))
    return sorted(str(one.text) for one in zxingcpp.read_barcodes(scan.convert("L")))


def query_of(made: dict[str, str], per: str, paper: str) -> str:
    some = f"bath={made['bath']}" if LAYOUTS[per].fold else ""
    more = f"stack={made['sheets']}&vessel={made['tub']}&jug={made['jug']}"
    return f"{some}&{more}&per={per}&paper={paper}"


def addresses(origin: str, made: dict[str, str], per: str) -> list[str]:
    """Return what the codes of such a print say; a bath's stands on its tag and on its card."""
    bath = 2 * [f"/baths/{made['bath']}"] if LAYOUTS[per].fold else []
    others = [f"/stacks/{made['sheets']}", f"/mix/{made['tub']}", f"/jugs/{made['jug']}"]
    return sorted(f"{origin}{one}" for one in (*bath, *others))


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("per", LAYOUTS)
def test_every_sheet_is_its_paper_and_every_code_reads_back(
    house: Opened, origin: str, pages: Pages, paper: str, per: str
) -> None:
    """Written by one library, printed by the browser, read by another at 150 dpi."""
    page = pages.desk(origin)
    sign_in(page, "kahu", PASSWORD)
    found = printed(page, query_of(house.made, per, paper), f"{per}-{paper}")
    wanted = PAPERS[paper].width_mm, PAPERS[paper].height_mm
    count = 3 + 2 * bool(LAYOUTS[per].fold)

    assert len(found) == -(-count // LAYOUTS[per].count), "a page more, or one too few"
    for sheet in found:
        assert size_mm(sheet) == pytest.approx(wanted, abs=HALF_A_MM)
    assert sorted(text for sheet in found for text in codes(sheet)) == addresses(
        origin, house.made, per
    )


def test_each_address_that_was_read_opens_what_it_hangs_on(
    house: Opened, origin: str, pages: Pages
) -> None:
    page = pages.phone(origin)
    sign_in(page, "kahu", PASSWORD)
    (sheet,) = printed(page, f"{query_of(house.made, '8', 'a4')}", "8-read")
    read = codes(sheet)
    (front, _) = printed(page, f"bath={house.made['size']}&per=1", "1-size")
    titles = {}
    for address in (*read, *codes(front)):
        answer = page.goto(address)
        assert answer is not None
        assert answer.status == 200
        titles[address.removeprefix(origin).split("/")[1]] = page.locator("h1").inner_text()

    assert titles == {
        "stacks": "60 half sheets of R-A4",
        "mix": "Mix in big tub",
        "jugs": page_title_of_jug(house),
        "liquids": "Size R-S10",
    }


def page_title_of_jug(house: Opened) -> str:
    text: str = house.client("kahu").get(f"/jugs/{house.made['jug']}").text
    found = re.search(r"<h1[^>]*>([^<]*)", text)
    assert found
    return found[1].strip()


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("per", ["1", "2", "4"])
def test_a_baths_frame_measures_what_the_page_says(
    house: Opened, origin: str, pages: Pages, paper: str, per: str
) -> None:
    """To half a millimetre, on the ruler: tags that shrink are no exact size."""
    page = pages.desk(origin)
    sign_in(page, "kahu", PASSWORD)
    sheet = printed(page, f"bath={house.made['bath']}&per={per}&paper={paper}", "frame")[0]
    said = page.get_by_text("tag measures").inner_text()
    wanted = frame(paper, per, folded=True)
    layout, whole = LAYOUTS[per], PAPERS[paper]
    wide, high = whole.width_mm / layout.columns, whole.height_mm / layout.rows
    is_top = layout.fold == "top"
    left, top = (0, high / 2) if is_top else (wide / 2, 0)
    middle = (left + (wide - left) / 2, top + (high - top) / 2)

    near = edge_mm(sheet, (left + 1, middle[1]), (1, 0))
    far = edge_mm(sheet, (wide - 1, middle[1]), (-1, 0))
    upper = edge_mm(sheet, (wide - 15, top + 1), (0, 1))
    lower = edge_mm(sheet, (wide - 15, high - 1), (0, -1))

    assert f"{tenths(wanted.width_mm)} x {tenths(wanted.height_mm)} mm" in said
    assert far - near == pytest.approx(wanted.width_mm, abs=HALF_A_MM)
    assert lower - upper == pytest.approx(wanted.height_mm, abs=HALF_A_MM)
    assert (near - left, upper - top) == pytest.approx((5, 5), abs=HALF_A_MM)


@pytest.mark.parametrize("per", ["1", "2", "4"])
def test_the_name_is_read_at_two_metres_and_the_code_at_arms_length(
    house: Opened, origin: str, pages: Pages, per: str
) -> None:
    """Capitals of 1/250 of the distance at least (common practice, no source), as drawn."""
    page = pages.desk(origin)
    sign_in(page, "kahu", PASSWORD)
    page.goto(f"/tags?bath={house.made['bath']}&per={per}")
    letters = page.locator(".bath-face .letters text")
    px_per_mm = page.locator(".print-sheet").first.bounding_box()["width"] / 210  # type: ignore[index]  # it is there
    size = letters.evaluate(
        "one => one.getExtentOfChar(0).height && one.ownerSVGElement.getScreenCTM().a"
        " * parseFloat(one.getAttribute('font-size'))"
    )
    code = page.locator(".bath-face .code svg")
    side = int(str(code.get_attribute("viewBox")).split()[2])
    code_mm = code.bounding_box()["width"] / px_per_mm  # type: ignore[index]  # it is there

    assert 0.7 * size / px_per_mm > 1.8 * CAP_MIN_MM, "the usual short names far over"
    assert code_mm / side >= MODULE_MM_MIN


def test_its_back_is_solid_and_upside_down_before_it_is_folded(
    house: Opened, origin: str, pages: Pages
) -> None:
    """Ink in the paper itself: it must survive a printer that leaves grounds out."""
    page = pages.desk(origin)
    sign_in(page, "kahu", PASSWORD)
    (side, *_) = printed(page, f"bath={house.made['bath']}&per=2", "back-2")
    (top, *_) = printed(page, f"bath={house.made['bath']}&per=4", "back-4")

    assert max(side.getpixel((px(12), px(80)))) < DARK  # type: ignore[arg-type]  # RGB
    assert max(top.getpixel((px(95), px(12)))) < DARK  # type: ignore[arg-type]  # RGB
    assert min(top.getpixel((px(12), px(60)))) > 255 - DARK  # type: ignore[arg-type]  # RGB


@pytest.mark.parametrize("lang", ["en", "tr"])
def test_nothing_on_a_tag_is_cut_off(
    house: Opened, origin: str, pages: Pages, lang: str
) -> None:
    """A line that does not fit would be the one with the number to call."""
    page = pages.desk(origin)
    page.context.add_cookies([{"name": "coop-lang", "value": lang, "url": origin}])
    made = house.made
    page.goto("/sign-in")
    page.fill("[name=sign_in_name]", "kahu")
    page.fill("[name=password]", PASSWORD)
    page.click("main button.main")
    for per in LAYOUTS:
        for paper in PAPERS:
            baths = f"bath={made['bath']}&bath={made['size']}&" if LAYOUTS[per].fold else ""
            page.goto(f"/tags?{baths}{query_of(made, per, paper)}&vessel={made['tray']}")
            cut = page.locator(".face, .face *:not(svg *)").evaluate_all(
                """(parts) => parts.filter((one) => {
                    const face = one.closest(".face").getBoundingClientRect();
                    const own = one.getBoundingClientRect();
                    return own.bottom > face.bottom + 1 || own.right > face.right + 1
                        || one.matches(".tag-told") && one.scrollHeight > one.clientHeight + 1;
                }).map((one) => one.className || one.tagName)"""
            )
            assert cut == [], (per, paper)


def test_the_page_is_for_everybody(house: Opened, origin: str, pages: Pages) -> None:
    """On a phone the sheets are shown smaller; nothing is wider than the window."""
    for page, name in ((pages.phone(origin), "phone"), (pages.desk(origin), "desk")):
        sign_in(page, "kahu", PASSWORD)
        for query in ("", f"bath={house.made['bath']}", f"bath={house.made['bath']}&per=8"):
            page.goto(f"/tags?{query}")
            wide = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
            assert wide <= 0
            assert_accessible(page)
        page.goto(f"/tags?bath={house.made['bath']}")
        screenshot(page, f"tags-page-{name}")


# ---- without a signal


def test_tags_without_a_number_to_call_are_seen_and_not_printed(
    house: Opened, pages: Pages, origin: str
) -> None:
    """Who only looks sees what a tag is; who prints all the same reads why there is none."""
    studio = house.made["studio"]
    edition = house.state("studio", studio).edition
    house.say("studio.described", studio=studio, supersedes=edition, name="Ropewalk",
              letter="R", drain="sewer", instruments=[], emergency="112",
              poison="ask")  # fmt: skip
    page = pages.desk(origin)
    sign_in(page, "kahu", PASSWORD)
    page.goto(f"/tags?bath={house.made['bath']}")
    expect(page.locator(".print-sheet")).to_be_visible()
    assert_accessible(page)

    page.emulate_media(media="print")

    expect(page.locator(".print-sheet")).to_be_hidden()
    expect(page.get_by_text("has no number to dial")).to_be_visible()


@pytest.mark.parametrize("sort", ["alum", "size"])
def test_a_code_that_is_read_without_signal_leads_to_the_baths_card(
    tmp_path: Path, pages: Pages, live: Callable[[Flask], str], sort: str
) -> None:
    """In the cellar the phone shows what it heard last of this very bath."""
    pages.expect("net::ERR_")
    house = in_use(tmp_path)
    size = sized(house)
    _, client = enrolled(house)
    origin = live(house.app())
    page = open_page(pages.phone(origin), client)
    page.evaluate("navigator.serviceWorker.ready.then(() => coop.refresh())")
    page.context.set_offline(True)

    there = f"/baths/{house.made['stopped']}" if sort == "alum" else f"/liquids/{size}"
    page.goto(there)
    card = page.locator(".bath.tagged")
    expect(card).to_be_in_viewport()
    screenshot(page, f"tags-no-signal-{sort}")

    expect(card).to_have_attribute("data-bath", there.rsplit("/", 1)[1])
    expect(card).to_be_focused()
    assert_accessible(page)


def test_a_code_whose_card_is_not_on_this_phone_says_so(
    tmp_path: Path, pages: Pages, live: Callable[[Flask], str]
) -> None:
    pages.expect("net::ERR_")
    house = in_use(tmp_path)
    _, client = enrolled(house)
    page = open_page(pages.phone(live(house.app())), client)
    page.evaluate("navigator.serviceWorker.ready.then(() => coop.refresh())")
    page.context.set_offline(True)
    page.goto(f"/mix/{house.made['tub']}")

    expect(page.locator('[data-sort="tagged"]')).to_contain_text(
        "look again where there is a signal"
    )
    assert page.locator(".bath.tagged").count() == 0
