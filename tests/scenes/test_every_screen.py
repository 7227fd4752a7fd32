"""Every screen for everybody: axe is content, no request leaves, nothing overflows."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.support.browser import DESK, PHONE, Pages, assert_accessible, screenshot
from tests.support.opened import PASSWORD, Opened, furnished, mixed, quantity
from tests.support.server import serving
from tests.support.tray import with_size
from tests.support.wastes import publish

LOOKS = [
    pytest.param(shape, scheme, lang, id=f"{name}-{scheme}-{lang}")
    for name, shape in (("phone", PHONE), ("desk", DESK))
    for scheme in ("light", "dark")
    for lang in ("en", "tr")
]


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    """A ledger in use: a bath with sheets, a top-up, a reading; a stopped one; a size."""
    house = furnished(tmp_path)
    _use(house)
    _stop(house)
    _test_size(house, with_size(house))
    _order(house)
    house.made["spare"] = house.say(
        "vessel.described",
        studio=house.made["studio"],
        name="spare tray",
        brim=quantity(9, "l"),
        lidded="yes",
        place="9",
    )
    house.made["recipe"] = house.say(
        "recipe.published",
        name="the old card",
        dose="8 tbsp per gallon",
        amount=quantity(8, "us_tbsp"),
        per=quantity(1, "us_gallon"),
        salt="aluminium_sulfate_14",
    )
    _find_waste(house)
    _keep_waste(house)
    return house


def _find_waste(house: Opened) -> None:
    """Publish rules, find a jug, and let something go wrong."""
    house.made["rules"] = publish(house, "us-federal-floor")
    house.made["jug"] = house.say(
        "jug.found",
        studio=house.made["studio"],
        where="second shelf",
        litres=quantity(8, "l"),
        look="clear",
    )
    house.made["mishap"] = house.say(
        "mishap.noted",
        "kahu",
        studio=house.made["studio"],
        what="wrong_drain",
        waste="alum_bath",
        outlet="storm",
        litres=quantity(2, "l"),
        done=["called"],
        called="the yard office",
    )


def _keep_waste(house: Opened) -> None:
    """Fill a drum that is soon full, and have some of it collected."""
    made = house.made
    made["jar"] = house.say(
        "waste.started",
        studio=made["studio"],
        name="rinse drum",
        sort="drum",
        holds=quantity(60, "l"),
        wastes=["rinse_water", "alum_bath", "colour_rinse"],
        place="in the yard",
        tags=["irritant"],
        collect_by="2025-09-30",
    )
    house.say("waste.added", studio=made["studio"], jar=made["jar"], waste="rinse_water",
              sheet_count="36", metal_pigments="yes", substances=["alum"])  # fmt: skip
    house.say("reading.taken", jar=made["jar"], instrument="ph_strip", ph="6.5", step="0.5")
    house.later(minutes=1)
    made["handover"] = house.say("waste.collected", studio=made["studio"], jar=made["jar"],
                                 by="truck", litres=quantity(4, "l"))  # fmt: skip


def _use(house: Opened) -> None:
    made = house.made
    made["bath"] = bath = mixed(house)
    made["sheets"] = house.say(
        "sheets.through",
        "kahu",
        bath=bath,
        sheet_count="60",
        sheet_format="half",
        method="dip",
        lot=made["parcel"],
    )
    house.say("lot.counted", "kahu", lot=made["parcel"], packs="0", loose="900")
    house.later(hours=20)
    made["part"] = house.say(
        "sheets.sorted",
        "kahu",
        stack=made["sheets"],
        good="10",
        washed_off="7",
        keep="yes",
        colours="black, ochre, white",
    )
    house.say("bath.topped_up", bath=bath, water=quantity(1, "l"), reason="level_only")
    house.say(
        "reading.taken",
        bath=bath,
        instrument="hydrometer",
        gravity="1.010",
        temperature=quantity(20, "celsius"),
    )


def _test_size(house: Opened, size: str) -> None:
    """Write what its page draws and lists."""
    warm = quantity(20, "celsius")
    house.say("reading.taken", bath=size, instrument="drop_test", outcome="round")
    house.say("reading.taken", bath=size, instrument="funnel", funnel="brass", seconds="24",
              temperature=warm)  # fmt: skip
    house.say("reading.taken", bath=size, instrument="thermometer", temperature=warm)
    house.say("bath.kept_for", bath=size, session="Saturday")


def _order(house: Opened) -> None:
    """Set a floor that is under what is there, and write an order that is late."""
    made = house.made
    made["supplier"] = house.say("supplier.described", name="Kettle and Rye", ream_sheets="480",
                                 order_by="by post")  # fmt: skip
    house.say("supply.described", what="carrageenan", floor=quantity(5, "kg"),
              pack=quantity(454, "g"), sold_by=made["supplier"])  # fmt: skip
    made["gloves"] = house.say("supply.described", what="gloves", name="gloves, M",
                               measure="pieces", pack_count="100")  # fmt: skip
    made["colour"] = house.say("supply.described", what="colour", name="verdigris green",
                               measure="volume", sulfide="no",
                               metals=[{"metal": "copper", "mg_per_ml": "50"}])  # fmt: skip
    made["order"] = house.say("order.placed", what="carrageenan", packs="2",
                              expected="2025-09-15")  # fmt: skip
    made["session"] = house.say(
        "session.planned",
        studio=made["studio"],
        name="Saturday class",
        starts="2025-09-27T10:00+02:00",
        ends="2025-09-27T16:00+02:00",
        head_count="12",
        under_16="yes",
        needs=[
            {"what": "carrageenan", "amount": quantity(240, "g")},
            {"what": "supply", "supply": made["gloves"], "count": "24"},
        ],
    )


def _stop(house: Opened) -> None:
    made = house.made
    made["tub2"] = house.say(
        "vessel.described",
        studio=made["studio"],
        name="low tub",
        brim=quantity(10, "l"),
        lidded="no",
        place="2",
    )
    made["stopped"] = mixed(house, name="R-A2", vessel=made["tub2"], water=quantity(8, "l"))
    house.say("bath.stopped", "oluwaseun", bath=made["stopped"], reason="looks_wrong")


def in_use(made: dict[str, str]) -> list[str]:
    """Return the screens of two baths."""
    bath, stopped = f"/baths/{made['bath']}", f"/baths/{made['stopped']}"
    tools = ("strip_print", "dipstick", "tape_line", "hydrometer")
    return [
        bath,
        f"{bath}?at=2025-09-17T20:00",
        f"{bath}/sheets",
        f"{bath}/card",
        f"{stopped}/sheets",
        *(f"{bath}/test?by={tool}" for tool in tools),
        f"{bath}/mend",
        f"{bath}/pour",
        f"{bath}/together",
        f"{bath}/carry",
        f"{bath}/stop",
        f"{stopped}/allow",
        f"{bath}/finish",
        f"/entries/{made['sheets']}/correct",
        "/stacks",
        f"/stacks/{made['sheets']}",
        f"/stacks/{made['sheets']}/test",
        f"/stacks/{made['sheets']}/alum-again",
        f"/stacks/{made['sheets']}/sorting",
        f"/stacks/{made['sheets']}/sorting?written={made['part']}",
        f"/follow?stack={made['sheets']}",
        f"/follow?bath={made['stopped']}",
        f"/follow?lot={made['alum']}",
        "/follow",
        "/kept",
        f"/liquids/{made['size']}/lay",
        f"/baths/{made['size']}/card",
        *of_size(f"/liquids/{made['size']}"),
        f"/baths/{made['size']}/keep",
        f"/baths/{made['size']}/care",
    ]


def of_size(size: str) -> list[str]:
    """Return the screens of a size itself: its page, and one for each way to test it."""
    tools = ("drop_test", "look", "smell", "smell&tag=yes", "funnel", "thermometer")
    return [
        size,
        f"{size}?at=2025-09-19T20:00",
        *(f"{size}/test?by={tool}" for tool in tools),
    ]


def to_make(made: dict[str, str]) -> list[str]:
    """Return the screens of making a bath that is not alum, and of thickening one."""
    said = f"powder=carrageenan&vessel={made['spare']}&recipe=typed&dose=5+g/L&much=6"
    return [
        "/make",
        "/make?what=rinse",
        f"/make?what=size&{said}",
        f"/lots/{made['moss']}/spoons",
        f"/liquids/{made['size']}/mend?wanted=8",
    ]


def of_lots(made: dict[str, str]) -> list[str]:
    """Return the screens of lots: one of alum, and one of paper that went through baths."""
    alum, parcel = f"/lots/{made['alum']}", f"/lots/{made['parcel']}"
    return [
        "/shelf/lots",
        alum,
        *(f"{alum}/{act}" for act in ("open", "spoons", "move", "adjust", "count")),
        parcel,
        *(f"{parcel}/{act}" for act in ("gone", "cut", "count", "gap")),
        "/shelf/count",
    ]


def of_sessions(made: dict[str, str]) -> list[str]:
    """Return the screens of sessions, of what needs somebody, and of the rules of a drain."""
    permission = f"/studios/{made['studio']}/permission"
    rules = f"/studios/{made['studio']}/rules"
    return [
        "/needs",
        f"/needs/put-off?need=permission&about={made['studio']}",
        "/sessions",
        "/sessions/new",
        f"/sessions/{made['session']}",
        f"/sessions/{made['session']}/change",
        permission,
        f"{permission}/new",
        rules,
        f"{rules}/letter",
        f"{rules}/file",
        f"{rules}/{made['rules']}",
        f"{rules}/{made['rules']}/withdraw",
    ]


def of_orders(made: dict[str, str]) -> list[str]:
    """Return the screens of the order list, and of an order that is on the way."""
    return [
        "/orders",
        "/orders/place?supply=powder:carrageenan",
        f"/orders/{made['order']}",
        f"/orders/{made['order']}/cancel",
    ]


def of_supplies(made: dict[str, str]) -> list[str]:
    """Return the screens of supplies and suppliers, and of receiving what nobody expected."""
    gloves = f"supply:{made['gloves']}"
    return [
        "/shelf/receive/supply",
        f"/shelf/receive/supply?supply={gloves}",
        f"/shelf/receive/powder?order={made['order']}",
        "/supplies",
        "/supplies/new",
        f"/supplies/{gloves}",
        f"/supplies/{gloves}/describe",
        f"/supplies/supply:{made['colour']}",
        f"/supplies/supply:{made['colour']}/describe",
        "/supplies/powder:carrageenan/describe",
        "/suppliers",
        "/suppliers/new",
        f"/suppliers/{made['supplier']}",
    ]


def of_shelf(made: dict[str, str]) -> list[str]:
    """Return the screens of the shelf, of what comes to it and of what is ordered."""
    return [
        "/shelf",
        "/shelf/receive/alum",
        "/shelf/receive/powder",
        "/shelf/receive/paper",
        "/shelf/import",
        *of_supplies(made),
        *of_lots(made),
        *of_orders(made),
        *of_sessions(made),
    ]


def of_drains(made: dict[str, str]) -> list[str]:
    """Return the screens on which it is asked where something may go."""
    bath, studio = f"/drain/bath/{made['bath']}", made["studio"]
    return [
        f"/baths/{made['bath']}/neutralise",
        f"/baths/{made['bath']}/neutralise?soda=crystals&also=sulfide_pigment",
        f"/baths/{made['bath']}/neutralise?soda=crystals&also=no",
        bath,
        f"{bath}?outlet=storm",
        f"{bath}?by=ph_meter&metal_pigments=yes&contents=bleach",
        f"{bath}?by=laboratory",
        f"/drain/jug/{made['jug']}",
        f"/drain/other?studio={studio}",
        f"/drain/other?studio={studio}&waste=rinse_water",
        f"/waste/{studio}",
        f"/waste/{studio}/end-of-day",
        f"/waste/{studio}/carry",
        f"/waste/{studio}/log",
        f"/mishaps/new?studio={studio}",
        f"/waste/{studio}/mishaps",
        f"/mishaps/{made['mishap']}",
    ]


def of_jars(made: dict[str, str]) -> list[str]:
    """Return the screens of a waste jar, of its papers, and of the tag of a jug."""
    jar = f"/jars/{made['jar']}"
    return [
        "/jars/new",
        jar,
        f"{jar}/add",
        f"{jar}/add?waste=colour_rinse",
        f"{jar}/collect",
        f"{jar}/handovers/{made['handover']}",
        f"{jar}/label",
        "/tags",
        f"/tags?bath={made['bath']}&bath={made['stopped']}&stack={made['sheets']}&per=4",
        f"/tags?jug={made['jug']}&vessel={made['tub']}",
    ]


def of_safety(made: dict[str, str]) -> list[str]:
    """Return the safety cards: the list, the fullest one, a bath's, and that of a class."""
    return [
        "/safety",
        "/safety/aluminium_sulfate_14",
        "/safety/colour_lead",
        f"/safety/bath_alum?studio={made['studio']}",
        "/safety/class",
    ]


def screens(made: dict[str, str], member: str) -> list[str]:
    """Return the address of every screen there is something to see on."""
    return [
        "/",
        "/baths",
        *in_use(made),
        f"/studios/{made['studio']}/hydrometer",
        "/mix",
        f"/mix/{made['tub']}",
        *to_make(made),
        *of_shelf(made),
        *of_drains(made),
        *of_jars(made),
        *of_safety(made),
        "/house",
        "/house/studios/new",
        f"/house/studios/{made['studio']}",
        "/house/tubs/new",
        f"/house/tubs/{made['tub']}",
        "/house/papers/new",
        f"/house/papers/{made['paper']}",
        "/recipes",
        f"/recipes/{made['recipe']}",
        f"/recipes/compare?one={made['recipe']}&other={made['recipe']}",
        "/house/recipes/new",
        f"/house/recipes/{made['recipe']}",
        "/house/limits",
        "/jugs",
        f"/jugs/{made['jug']}",
        "/people",
        "/people/invite",
        "/devices",
        "/sort-it-out",
        "/rescue",
        f"/people/{member}",
        "/me",
        "/me/calendar",
        "/device/enrol",
        "/device/digits",
        "/help",
    ]


@pytest.fixture
def origin(house: Opened) -> Iterator[str]:
    with serving(house.app()) as origin:
        yield origin


def enter(page: Page) -> None:
    page.set_default_timeout(15_000)
    page.goto("/sign-in")
    assert_accessible(page)
    page.fill("[name=sign_in_name]", "amina")
    page.fill("[name=password]", PASSWORD)
    page.click("main button.main")


def walk(page: Page, house: Opened, look: str) -> None:
    """Go through every screen; each is for everybody and none is wider than its window."""
    enter(page)
    for there in screens(house.made, house.members["kahu"].member):
        answer = page.goto(there)
        assert answer is not None
        assert answer.status == 200, f"{there}: {answer.status}"
        assert page.locator("h1").count() == 1, there
        wide = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        assert wide <= 0, f"{there}: {wide} px wider than the window"
        assert too_low(page) == [], there
        assert_accessible(page)
        name = there.replace(house.made["bath"], "bath").strip("/") or "room"
        screenshot(page, f"{look}-{name.replace('/', '-').replace('?', '-')[:60]}")


def too_low(page: Page) -> list[str]:
    """Return titles, ways back and what is done that a wet finger would miss: under 44 px."""
    found: list[str] = page.locator(
        ".where a, .bath h3 a, .lines a:has(b), .sheet > :is(h2, h3) > a, main a.act"
    ).evaluate_all(
        """(links) => links.map((one) => [one.textContent, one.getBoundingClientRect().height])
            .filter(([, high]) => high > 0 && high < 44).map(([text]) => text)"""
    )
    return found


@pytest.mark.browser
def test_every_screen_is_for_everybody_on_a_phone(
    house: Opened, origin: str, pages: Pages
) -> None:
    walk(pages.phone(origin), house, "phone")


@pytest.mark.browser
@pytest.mark.long
@pytest.mark.parametrize(("shape", "scheme", "lang"), LOOKS)
def test_every_screen_in_every_look(
    house: Opened, origin: str, pages: Pages, shape: dict[str, object], scheme: str, lang: str
) -> None:
    """Phone and desk, light and dark, English and Turkish."""
    page = pages._open(origin, {**shape, "color_scheme": scheme})
    page.context.add_cookies([{"name": "coop-lang", "value": lang, "url": origin}])
    walk(page, house, f"{scheme}-{lang}-{'phone' if shape is PHONE else 'desk'}")
