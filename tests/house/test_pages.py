"""Templates and styles shut nobody out and keep to a strict content policy."""

import re
from itertools import chain

import pytest

from tests.support.files import ROOT

WEB = ROOT / "coop" / "web"
STYLE = WEB / "static" / "coop.css"
SCRIPT_BYTES_MAX = 7_000
TEXT = 4.5  # WCAG 2.2, 1.4.3 Contrast (Minimum), level AA
SHAPES = 3.0  # WCAG 2.2, 1.4.11 Non-text Contrast, level AA

SINS = {
    "no zooming": r"user-scalable|maximum-scale|minimum-scale",
    "no outline": r"outline:\s*(?:none|0)\b|outline-width:\s*0|outline-style:\s*none",
    "important": r"!important",
    "style attribute": r"(?<![\w-])style\s*=",
    "inline handler": r"(?<![\w-])on[a-z]{3,}\s*=",
    "inline script": r"<script(?![^>]*\bsrc=)",
    "inline style": r"<style\b",
    "script address": r"javascript:",
    "unescaped": r"\|\s*safe\b|\bMarkup\(|autoescape\s+false",
    "text size locked": r"text-size-adjust:\s*(?:none|100%)",
    "foreign file": r"(?:src|href)\s*=\s*[\"'](?:https?:)?//|@import|\burl\(\W*http",
}
MARKED = {
    "no zooming": '<meta content="user-scalable=no">',
    "no outline": "a { outline: none }",
    "important": "a { color: red !important }",
    "style attribute": '<p style="color: red">',
    "inline handler": '<p onclick="go()">',
    "inline script": "<script>go()</script>",
    "inline style": "<style>",
    "script address": '<a href="javascript:go()">',
    "unescaped": "{{ note|safe }}",
    "text size locked": "html { text-size-adjust: 100% }",
    "foreign file": '<img src="//elsewhere/x.png">',
}
LIGHT, DARK = 0, 1
PAIRS = [
    ("ink", "paper", TEXT),
    ("ink", "sheet", TEXT),
    ("ink", "wash", TEXT),
    ("ink-soft", "paper", TEXT),
    ("ink-soft", "sheet", TEXT),
    ("indigo", "paper", TEXT),
    ("indigo", "sheet", TEXT),
    ("indigo", "wash", TEXT),
    ("on-indigo", "indigo", TEXT),
    ("ochre", "ochre-wash", TEXT),
    ("rest", "rest-wash", TEXT),
    ("on-stop", "stop", TEXT),
    ("edge", "paper", SHAPES),
    ("edge", "sheet", SHAPES),
    ("indigo", "on-stop", SHAPES),
]


def files_to_read() -> list[tuple[str, str]]:
    found = chain(
        WEB.rglob("templates/**/*.html"), WEB.rglob("static/*.css"), WEB.rglob("static/*.js")
    )
    return [(path.name, path.read_text()) for path in found]


@pytest.mark.parametrize("sin", SINS)
def test_no_template_style_or_script_holds(sin: str) -> None:
    """Each of these shuts somebody out, or is blocked by the content policy in silence."""
    texts = [
        (n, re.sub(r"\{#.*?#\}", "", text, flags=re.DOTALL)) for n, text in files_to_read()
    ]
    found = [name for name, text in texts if re.search(SINS[sin], text, re.IGNORECASE)]

    assert len(texts) >= 5
    assert found == []


@pytest.mark.parametrize("sin", SINS)
def test_each_sin_would_be_found(sin: str) -> None:
    """A pattern that finds nothing proves nothing."""
    assert re.search(SINS[sin], MARKED[sin], re.IGNORECASE)


def tokens(look: int) -> dict[str, str]:
    blocks = re.findall(r":root \{(.*?)\}", STYLE.read_text(), re.DOTALL)
    named = [dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", block)) for block in blocks]
    return named[LIGHT] | (named[DARK] if look == DARK else {})


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it, from sRGB."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_is_counted_as_the_standard_counts_it() -> None:
    """WCAG 2.2: black on white is 21 to 1; #767676 on white just passes 4.5 (well known)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert 4.5 <= contrast("#767676", "#ffffff") < 4.6
    assert contrast("#777777", "#ffffff") < 4.5


@pytest.mark.parametrize("look", [LIGHT, DARK])
@pytest.mark.parametrize(("front", "ground", "least"), PAIRS)
def test_colours_can_be_read(look: int, front: str, ground: str, least: float) -> None:
    """A cellar has poor light."""
    named = tokens(look)

    assert contrast(named[front], named[ground]) >= least


def test_both_looks_name_the_same_colours() -> None:
    """A colour named only for daylight would be unreadable at night."""
    blocks = re.findall(r":root \{(.*?)\}", STYLE.read_text(), re.DOTALL)
    names = [set(re.findall(r"--([\w-]+): #", block)) for block in blocks]

    assert len(names) == 3
    assert names[0] == names[1] == names[2]


def test_the_style_sheet_declares_its_layers_and_has_nothing_outside_them() -> None:
    """A rule outside the layers beats them all."""
    outside = re.sub(r"(?s)@layer \w+ \{.*?\n\}\n?", "", STYLE.read_text()).strip()

    assert outside == "@layer reset, tokens, elements, parts, pages;"


def test_what_is_hidden_stays_hidden() -> None:
    """A later layer that gives it a display would show keys that need the script."""
    last = STYLE.read_text().partition("@layer pages {")[2]

    assert last.lstrip().startswith("[hidden] { display: none; }")


def test_every_page_says_its_language_and_lets_one_skip_to_it() -> None:
    """WCAG 2.2: 3.1.1 Language of Page, 2.4.1 Bypass Blocks."""
    layout = (WEB / "templates" / "layout.html").read_text()

    assert '<html lang="{{ shell.lang }}"' in layout
    assert layout.index('class="skip" href="#main"') < layout.index("<header")
    assert '<main id="main"' in layout
    assert 'content="width=device-width, initial-scale=1"' in layout


def test_the_script_stays_small() -> None:
    """A phone in a cellar loads it once."""
    assert len((WEB / "static" / "form.js").read_bytes()) < SCRIPT_BYTES_MAX
