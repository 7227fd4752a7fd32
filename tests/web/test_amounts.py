"""Amounts as a member reads them: metric as ever, or US customary on every screen."""

import re
from collections.abc import Callable, Iterator
from html.parser import HTMLParser
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.ledger.schema import Refused
from coop.units.measured import read_measured
from coop.web import amounts
from coop.web import words as say
from coop.web.i18n import Words, read_catalogues
from coop.web.salt import shown_in
from tests.scenes.test_every_screen import house as in_use  # noqa: F401 a fixture
from tests.scenes.test_every_screen import screens
from tests.support.enrolled import enrolled
from tests.support.opened import Opened, mixed, sized
from tests.web.test_measures import choose

ENGLISH = read_catalogues()["en"]
METRIC = Words("en", ZoneInfo("UTC"), ENGLISH)
US = Words("en", ZoneInfo("UTC"), ENGLISH, us=True)


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        (amounts.volume(US, 3785.411784), "1.00 US gal"),
        (amounts.volume(US, 946.352946), "1.00 US qt"),
        (amounts.small_volume(US, 29.5735295625, 1), "1.00 US fl oz"),
        (amounts.weight(US, 28.349523125), "1.00 oz"),
        (amounts.weight(US, 453.59237), "1.00 lb"),
        (amounts.length(US, 25.4), "1.0 in"),
        (amounts.g_per_l(US, 40, 1), "5.34 oz wt/US gal"),
        (amounts.area(US, 0.09290304), "1.0 sq ft"),
        (amounts.warmth(US, 20), "68 °F"),
        (amounts.warmth(US, -40), "-40 °F"),
    ],
)
def test_one_of_each_unit_is_what_the_handbook_says(said: str, expected: str) -> None:
    """NIST Handbook 44 appendix C, and NIST SP 811 for degrees Fahrenheit, from memory."""
    assert said == expected


@pytest.mark.parametrize("hundredths", [*range(100, 130), 101, 207, 1999])
def test_a_gallon_that_may_still_go_is_said_whole(hundredths: int) -> None:
    """Rounding down takes what is over a hundredth, not a hundredth that floats miss."""
    volume_ml = hundredths * amounts.US_GALLON_ML / 100

    assert amounts.volume_down(US, volume_ml) == f"{hundredths / 100:.2f} US gal"


@pytest.mark.parametrize(
    ("grams", "expected"), [(0.1, "0.0035 oz"), (1, "0.035 oz"), (3, "0.11 oz")]
)
def test_a_little_powder_is_not_said_to_be_none(grams: float, expected: str) -> None:
    """A spoon's rest of 0.1 g is a three-hundredth of an ounce (28.35 g), not 0.00."""
    assert amounts.weight(US, grams) == expected


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        (amounts.volume(METRIC, 12_000), "12.0 L"),
        (amounts.volume(METRIC, 450), "0.45 L"),
        (amounts.volume_range(METRIC, 10_500, 10_100, 10_900), "about 10.5 L (10.1 to 10.9)"),
        (amounts.weight(METRIC, 480), "480 g"),
        (amounts.weight(METRIC, 12_000), "12.0 kg"),
        (amounts.strength(METRIC, 31, 26, 36), "about 31 g/L (26 to 36)"),
        (amounts.length(METRIC, 15), "15 mm"),
        (amounts.sides(METRIC, (50, 150)), "50 x 150 mm"),
        (amounts.warmth(METRIC, 20), "20 °C"),
        (amounts.area(METRIC, 0.4, 2), "0.40 m²"),
    ],
)
def test_a_metric_member_reads_what_was_always_read(said: str, expected: str) -> None:
    """Whoever never chose sees nothing of gallons."""
    assert said == expected


SHOWN: dict[str, tuple[Callable[[float], str], float]] = {
    "g_per_l": (lambda n: amounts.g_per_l(US, n), 0.1),
    "l": (lambda n: amounts.volume(US, 1000 * n), 0.01),
    "g": (lambda n: amounts.weight(US, n), 0.01),
    "mm": (lambda n: amounts.length(US, n), 0.1),
    "celsius": (lambda n: amounts.warmth(US, n), 1.0),
}
"""How each is shown, and one of the last digit in the unit that it is shown in."""
LARGEST = {"g_per_l": 29.95 / 4, "l": 3.785412, "g": 453.59237, "mm": 25.4, "celsius": 5 / 9}


@given(st.floats(1, 199), st.sampled_from(sorted(SHOWN)))
def test_what_is_shown_reads_back_within_half_of_its_last_digit(
    number: float, unit: str
) -> None:
    """A member may copy a figure from one screen into the box of another."""
    shown, digit = SHOWN[unit]
    read = read_measured(shown(number), unit, bare=unit, kinds=None).number
    assert abs(float(read) - number) <= LARGEST[unit] * digit / 2 * 1.001


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (METRIC, "More than 0 and at most 1000 L, please."),
        (US, "More than 0 and at most 264.17 US gal, please."),
    ],
)
def test_a_limit_is_said_in_the_members_unit(words: Words, expected: str) -> None:
    """A thousand litres are 264.17 US gallons (NIST Handbook 44 appendix C, from memory)."""
    refused = Refused(
        field="water",
        code="out-of-reach",
        limits=(("low", "0"), ("high", "1000"), ("unit", "L")),
    )
    assert say.refusal(words, refused) == expected


def test_what_goes_over_the_brim_is_said_in_the_members_unit() -> None:
    """One sentence, its unit with each figure."""
    refused = Refused(
        field="water", code="over-the-brim", limits=(("brim_l", "16"), ("would_l", "20"))
    )
    assert "16 L fit, it would be 20 L" in say.refusal(METRIC, refused)
    assert "4.23 US gal fit, it would be 5.28 US gal" in say.refusal(US, refused)


def test_a_phone_of_ones_own_reads_as_its_member_and_a_tablet_metric(house: Opened) -> None:
    """The page without a signal is made for a device; a tablet is nobody's own."""
    mixed(house)
    _, phone = enrolled(house)
    _, tablet = enrolled(house, "amina", shared=True)
    for who in ("kahu", "amina"):
        choose(house, who, shown="us")

    own, shared = (one.get("/device/offline").text for one in (phone, tablet))

    assert "3.17 US gal" in own
    assert "12.0 L" not in own
    assert "12.0 L" in shared
    assert "US gal" not in text_of(shared, leave_out={"select", "option"})


def test_the_charts_of_a_bath_are_drawn_in_the_members_units(house: Opened) -> None:
    """Twelve litres stand at 3.2 of the level's axis; 40 g/L at 5.3 of the strength's."""
    bath = mixed(house)
    house.later(hours=3)
    choose(house, shown="us")

    page = house.client("kahu").get(f"/baths/{bath}").text

    assert "Strength over time, oz wt/US gal" in page
    assert "Level over time, US gal" in page
    assert "From about 5.3 to about 5.3 oz wt/US gal." in page


def test_a_column_of_what_went_adds_up_in_ounces_too(house: Opened) -> None:
    """What went is rounded in the unit that is printed, so the figures add up as printed."""
    size = sized(house)
    house.later(days=1)
    choose(house, shown="us")

    page = text_of(house.client("kahu").get(f"/liquids/{size}").text)

    assert "Water, US gal" in page
    assert "Powder, oz" in page
    rows = re.findall(r"\n(?:put in|off with|dried|poured|unexpl|left).*\n(\S+)\n(\S+)", page)
    for column in zip(*rows, strict=True):
        came_in, *went = (float(one.replace("\u2212", "-")) for one in column)
        assert came_in == pytest.approx(sum(went))
    assert rows[0] == ("3.17", "2.12"), "12 L and 60 g"


AMOUNT = re.compile(r"[0-9]\s(?:m?L|g/L|k?g|[mc]m|°C|m²)(?![\w/²³])")
US_AMOUNT = re.compile(r"[0-9]\s(?:US (?:gal|fl oz|qt)|oz|lb|in|°F|sq ft)(?!\w)")
STAYS_METRIC = {
    "what somebody typed is said as it was typed": r"(.*, [A-Z]{2}: )?(mixed|topped up with"
    r"|hydrometer|thermometer|received|set up|.* collected by).*",
    "what was understood of another unit": r"[^:]*: [0-9.]+ (oz wt/US gal|in|US gal|oz|°F)",
    "a rule's own limit": r".*(13 mm (holes|screen)|[Ff]lash.point|at most 40 °C|than 40 °C).*",
    "a kind of measure is told by what it holds": r".*(gallon|cup|tablespoon),? [0-9.]+ m?L.*",
    "pick-up, paper weight, floc": r".*(mL|g) per m².*",
    "an example of what may be typed": r".*[Ff]or example: .*",
    "a frame that is measured with a ruler": r".*measures [0-9.]+ x [0-9.]+ mm.*",
    "a tag says both": r".*\([0-9.]+ (US gal|in|oz wt/US gal)\).*",
    "what stands printed on a hydrometer": r"Printed on it\. Left empty: 20 °C\.",
    "one salt against another by weight": r"Salts differ: .*",
    "packs are said as they were ordered": r"[0-9]+ of .*: .* in all\.",
}
STAYS_US = {
    "a rule's own limit": r".*\((104|140) °F\).*",
    "an example of what may be typed": r".*[Ff]or example: .*",
    "a tag says both": r".*\([0-9.]+ (US gal|in|oz wt/US gal)\).*",
    "a paper's basis weight is in pounds": r".*80 lb is one thing for text.*",
    "no unit": r"Days it keeps from the aluming on: .*|.*pH [0-9.]+, in steps of .*",
}
"""What is not turned into the member's measures, and why."""
LEFT_OUT = re.compile(r".*(/log|/help|/handovers/[^/]*)")
"""Papers that are handed over; sums and sources of the help are said as published."""


class _Text(HTMLParser):
    """The text of a page, a line for each paragraph, cell or choice."""

    INLINE = frozenset({"a", "b", "i", "em", "strong", "small", "time", "abbr", "output"})

    def __init__(self, leave_out: set[str]) -> None:
        super().__init__()
        self.leave_out = leave_out
        self.found: list[str] = []
        self.hidden = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.hidden += tag in self.leave_out
        named = [said for name, said in attrs if name in ("aria-label", "data-read-back")]
        self.found += ["" if tag in self.INLINE else "\n", *(f"\n{one}\n" for one in named)]

    def handle_endtag(self, tag: str) -> None:
        self.hidden -= tag in self.leave_out
        self.found.append("" if tag in self.INLINE else "\n")

    def handle_data(self, data: str) -> None:
        if not self.hidden:
            self.found.append(data)


def text_of(page: str, leave_out: set[str] | None = None) -> str:
    """Return the text of a page without its scripts."""
    reader = _Text({"script", "style", "textarea"} | (leave_out or set()))
    reader.feed(page)
    lines = "".join(reader.found).splitlines()
    return "\n".join(" ".join(line.split()) for line in lines if line.strip())


def amounts_on(
    house: Opened, shown: str, found: re.Pattern[str], stays: dict[str, str]
) -> Iterator[str]:
    """Give each line with such an amount that nothing excuses, after its address."""
    excused = re.compile("|".join(f"(?:{one})" for one in stays.values()))
    choose(house, "amina", shown=shown)
    client = house.client("amina")
    for there in screens(house.made, str(house.members["amina"].member)):
        if LEFT_OUT.fullmatch(there):
            continue
        answer = client.get(there)
        assert answer.status_code == 200, there
        for line in text_of(answer.text).splitlines():
            if found.search(line) and not excused.fullmatch(line):
                yield f"{there}: {line}"


def test_no_screen_shows_a_us_member_a_metric_amount(in_use: Opened) -> None:  # noqa: F811
    """One page left over is the one on which somebody reads 40 as ounces."""
    assert list(amounts_on(in_use, "us", AMOUNT, STAYS_METRIC)) == []


def test_no_screen_shows_a_metric_member_a_us_amount(in_use: Opened) -> None:  # noqa: F811
    """What another member chose is their own."""
    assert list(amounts_on(in_use, "metric", US_AMOUNT, STAYS_US)) == []


def test_a_small_bath_is_filled_in_as_strong_as_it_is_planned() -> None:
    """40 g to 1 L: 1.41 oz to 0.264 gal (NIST Handbook 44), not to 0.26: that is 40.6 g/L."""
    alum, water = shown_in(40, "oz"), shown_in(1000, "us_gallon")
    strength_g_per_l = read_measured(
        f"{alum} oz per {water} US gal", "g_per_l", bare="g_per_l", kinds=None
    ).number

    assert (alum, water) == ("1.41", "0.264")
    assert abs(strength_g_per_l - 40) < 0.1
