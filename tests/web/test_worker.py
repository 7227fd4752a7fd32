"""The worker's file and the app's own card: where they stand, of what sort, kept by nobody."""

import re

import pytest

from coop.web.assets import packaged
from coop.web.pages.worker import SHORT_NAME_MAX, short
from tests.support.files import ROOT
from tests.support.opened import Opened

STYLE = (ROOT / "coop" / "web" / "static" / "coop.css").read_text()
A_YEAR_IMMUTABLE = "public, max-age=31536000, immutable"


def test_the_worker_is_the_packaged_file_served_from_the_top(house: Opened) -> None:
    """A worker answers for addresses below its own only (Service Workers, 'scope')."""
    answer = house.client().get("/sw.js")

    assert answer.status_code == 200
    assert answer.data == packaged()["sw.js"].content
    assert answer.mimetype == "text/javascript"
    assert answer.headers["Cache-Control"] == "no-store"


def test_the_card_has_what_a_home_screen_wants(house: Opened) -> None:
    """The members that W3C's Web Application Manifest names, and what browsers ask for."""
    client = house.client()
    answer = client.get("/manifest.webmanifest")
    said = answer.get_json()

    assert answer.mimetype == "application/manifest+json"
    assert said["name"] == "Test studio"
    assert (said["id"], said["start_url"], said["scope"]) == ("/", "/", "/")
    assert (said["display"], said["lang"]) == ("standalone", "en")
    assert {icon["sizes"] for icon in said["icons"]} == {"any", "192x192", "512x512"}
    for icon in said["icons"]:
        picture = client.get(icon["src"])
        assert picture.mimetype == icon["type"]
        assert picture.headers["Cache-Control"] == A_YEAR_IMMUTABLE


def test_the_cards_colours_are_those_of_the_pages(house: Opened) -> None:
    said = house.client().get("/manifest.webmanifest").get_json()
    paper = re.search(r"--paper: (#[0-9a-f]{6});", STYLE)

    assert paper
    assert said["background_color"] == said["theme_color"] == paper[1]


def test_the_card_speaks_the_browsers_language(house: Opened) -> None:
    answer = house.client().get("/manifest.webmanifest", headers={"Accept-Language": "tr"})

    assert answer.get_json()["lang"] == "tr"


def test_every_page_names_the_card(house: Opened) -> None:
    assert (
        '<link rel="manifest" href="/manifest.webmanifest">'
        in house.client().get("/sign-in").text
    )


@pytest.mark.parametrize(
    ("name", "under_the_picture"),
    [
        ("Ropewalk", "Ropewalk"),
        ("Ropewalk and Millrace", "Ropewalk and"),
        ("Test studio", "Test studio"),
        ("Marmorpapierwerkstatt", "Marmorpapier"),
    ],
)
def test_a_long_name_is_cut_between_words(name: str, under_the_picture: str) -> None:
    assert short(name) == under_the_picture
    assert len(under_the_picture) <= SHORT_NAME_MAX
