"""The marbled strip: the same for ever, small, and told apart."""

import math
import re
from hashlib import sha256
from xml.etree import ElementTree
from zlib import compress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coop.web import strip
from coop.web.strip import PALETTES, strip_svg

IDS = [f"0198f3a2-7c1e-7{number:03x}-8000-0123456789ab" for number in range(40)]
DIGEST = "1250b1b805ecd076"
ATTRIBUTES = {"viewBox", "aria-hidden", "fill", "d", "transform"}


@pytest.fixture(scope="module")
def strips() -> list[str]:
    return [strip_svg(seed) for seed in IDS]


def test_the_same_id_gives_the_same_strip() -> None:
    """People say "the one with the green combs" for months."""
    assert strip_svg(IDS[0]) == strip_svg(IDS[0])


def test_a_strip_is_drawn_as_it_was_first_drawn() -> None:
    """A frozen value: a change of the drawing must come with a new STRIP_EDITION."""
    drawn = strip_svg("alum R-A4")

    assert strip.STRIP_EDITION == 1
    assert sha256(drawn.encode()).hexdigest()[:16] == DIGEST


def test_different_ids_give_different_strips(strips: list[str]) -> None:
    """A strip that two baths share would name neither."""
    assert len(set(strips)) == len(IDS)


def test_every_palette_is_met(strips: list[str]) -> None:
    """Ten grounds, light and dark, among forty strips."""
    grounds = {re.findall(r'fill="(#\w+)"', drawn)[0] for drawn in strips}

    assert grounds == {palette[0] for palette in PALETTES}


@settings(max_examples=25)
@given(st.text(max_size=40), st.booleans())
def test_any_text_gives_a_small_plain_picture(seed: str, lying: bool) -> None:
    """Under four kilobytes compressed, and nothing a strict content policy would refuse."""
    drawn = strip_svg(seed, lying=lying)
    elements = list(ElementTree.fromstring(drawn).iter())

    assert len(compress(drawn.encode())) < 4_000
    assert {element.tag.rpartition("}")[2] for element in elements} == {"svg", "g", "path"}
    assert {name for element in elements for name in element.attrib} <= ATTRIBUTES
    assert not re.search(r"\.\d\d", drawn), "one decimal"


def test_the_lying_strip_is_the_same_picture_turned() -> None:
    """The heading of a bath's page must be recognised as its card's spine."""
    standing, lying = strip_svg(IDS[3]), strip_svg(IDS[3], lying=True)

    assert re.findall(r' d="([^"]+)"', standing) == re.findall(r' d="([^"]+)"', lying)


@given(
    st.floats(0.5, 400),
    st.floats(0, math.tau),
    st.floats(5, 40),
)
def test_a_drop_keeps_the_area_of_what_it_pushes(
    away: float, turn: float, radius: float
) -> None:
    """Colour cannot be squeezed: the circle through P gains just the drop's area (pi r^2)."""
    point = (50 + away * math.cos(turn), 150 + away * math.sin(turn))

    pushed = strip._pushed(point, (50.0, 150.0), radius)

    gained = math.dist(pushed, (50, 150)) ** 2 - away**2
    assert gained == pytest.approx(radius**2, rel=1e-6, abs=1e-6)


@given(st.floats(-100, 200), st.floats(-100, 400), st.floats(-5, 5))
def test_a_vortex_only_turns(x: float, y: float, turn: float) -> None:
    """Points keep their distance from the middle of the whirl."""
    tool = strip._vortex(centre=(50.0, 150.0), turn=turn, reach=40.0)

    assert math.dist(tool((x, y)), (50, 150)) == pytest.approx(math.dist((x, y), (50, 150)))


def test_a_drop_is_a_ring_of_48_points() -> None:
    """Twelve to sixteen of them make a strip."""
    digits = strip._Digits("x")
    rings = strip._drops(digits, strip._places(digits))

    assert strip.DROPS_MIN <= len(rings) <= strip.DROPS_MAX
    assert {len(ring) for ring in rings} == {48}
