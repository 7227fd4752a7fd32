"""Safety cards: what each says, whose numbers stand on it, and when it does not print."""

import re
from collections.abc import Iterator
from html import unescape

import pytest
from flask.testing import FlaskClient

from coop.rules.cautions import CAUTIONS, UNDER_16
from coop.rules.hazards import CARDS, LABELS, PICTOGRAMS, Card, hazards
from coop.science.defaults import COMMON_PRACTICE
from coop.web import cautions, hazard_words
from coop.web.assets import packaged
from tests.support.opened import Opened, mixed
from tests.support.tray import with_size

OWN = (
    hazard_words.NOTES,
    hazard_words.FIRST_AID,
    hazard_words.SPILLS,
    hazard_words.AT_A_CLASS,
)
NOBODY = "01995867-7800-7fa5-bf87-fda4d3a8ddf7"
UNPRINTED = "unprinted"
STYLE = "card.css"


def main_of(client: FlaskClient, there: str) -> str:
    answer = client.get(there)
    assert answer.status_code == 200, answer.text
    return str(answer.text).split("<main", 1)[1].split("</main>")[0]


def html_of(house: Opened, there: str, who: str = "kahu") -> str:
    return main_of(house.client(who), there)


def plain(html: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def page_of(house: Opened, there: str, who: str = "kahu") -> str:
    return plain(html_of(house, there, who))


def second(house: Opened, *, emergency: str = "112", poison: str = "0555 0200") -> str:
    """Describe another studio; return its id."""
    return house.say(
        "studio.described",
        name="Orchard Barn",
        letter="B",
        premises="members_only",
        drain="septic",
        instruments=["strip_print"],
        emergency=emergency,
        poison=poison,
    )


def test_the_list_has_every_card_and_the_one_for_a_class(house: Opened) -> None:
    page = html_of(house, "/safety")

    assert [code for code in CARDS if f'href="/safety/{code}"' not in page] == []
    assert 'href="/safety/class"' in page
    assert "the product&#39;s own safety sheet and licensed advice come first" in page


def sentences(card: Card) -> Iterator[str]:
    """Give every sentence that a card must say."""
    for one in hazards(card):
        yield f"{hazard_words.STATEMENTS[one.code]} ({one.code})"
    for cell in (*card.notes, card.first_aid, card.spills, card.never):
        yield from (hazard_words.TEXTS[code] for code in cell.codes)
    for cell in card.gear:
        yield ", ".join(hazard_words.GEAR[code] for code in cell.codes)
    yield from ("What it does", "Wear and open", "First aid", "Spilled", "Never together")
    yield "Emergency: 112. Poison centre: 0555 0100. Ropewalk"
    yield "Never in cups, jugs or spoons that are used for food."
    yield "the product's own safety sheet and licensed advice come first."


def test_a_card_says_everything_there_is_to_know(house: Opened) -> None:
    """Whoever holds it has no other page at hand."""
    client = house.client("kahu")
    for code, card in CARDS.items():
        page = plain(main_of(client, f"/safety/{code}"))

        assert [one for one in sentences(card) if one not in page] == [], code
        assert ("Where it stands" in page) is not card.is_bath


def test_every_part_of_a_card_says_how_it_is_known(house: Opened) -> None:
    """What is from memory must not look like what was read."""
    client = house.client("kahu")
    known = r"(published|computed|from memory|common practice, no source)\)</small></li></ul>"
    for code in CARDS:
        parts = re.findall(
            r"<section.*?</section>", main_of(client, f"/safety/{code}"), re.DOTALL
        )

        assert len(parts) >= 6
        assert [part for part in parts if not re.search(known, part)] == [], code


def test_where_two_classifications_disagree_the_stricter_holds_and_both_are_shown(
    house: Opened,
) -> None:
    page = page_of(house, "/safety/aluminium_sulfate_14")

    assert "Danger" in page
    assert "Can damage eyes for good (H318): the stricter of two classifications." in page
    assert "Irritates eyes badly (H319). (milder, by ILO/WHO International" in page
    assert page.index("H318") < page.index("H319")


def test_a_word_stands_beside_each_pictogram_and_its_picture_is_described(
    house: Opened,
) -> None:
    """Nobody must know the diamonds, nor see them, nor see red."""
    page = html_of(house, "/safety/colour_lead")
    shown = re.findall(
        r'<img src="[^"]*/ghs-(\w+)\.svg" alt="([^"]+)"[^>]*><b>([^<]+)</b>', page
    )

    assert [one[0] for one in shown] == ["lasting", "harmful", "waters"]
    assert all(alt.startswith("A diamond:") and alt != word for _, alt, word in shown)


def test_every_pictogram_is_drawn_with_a_red_frame_and_a_black_sign() -> None:
    """UN GHS, 1.4.10 (from memory): black symbol, white ground, red frame."""
    for code in PICTOGRAMS:
        drawn = packaged()[f"ghs-{code}.svg"].content.decode()
        frame = drawn.rpartition("<path")[2]

        assert 'stroke="#d3131c"' in frame
        assert set(re.findall(r'fill="([^"]+)"', drawn)) <= {"#fff", "none"}
        assert "<script" not in drawn


def test_every_code_has_its_words() -> None:
    assert set(hazard_words.STATEMENTS) == set(LABELS)
    assert set(hazard_words.PICTOGRAMS) == set(PICTOGRAMS)
    assert set(hazard_words.SIGNALS) == {one.signal for one in LABELS.values() if one.signal}
    cells = [
        cell
        for card in CARDS.values()
        for cell in (*card.notes, card.first_aid, card.spills, card.never)
    ]
    gear = [cell for card in CARDS.values() for cell in card.gear]
    classes = [cell for card in CARDS.values() for cell in card.classes]
    used = {code for cell in cells for code in cell.codes}

    assert used <= set(hazard_words.TEXTS)
    assert {*hazard_words.NOTES, *hazard_words.FIRST_AID, *hazard_words.SPILLS} <= used
    assert {code for cell in gear for code in cell.codes} == set(hazard_words.GEAR)
    assert {cell.source for cell in (*cells, *gear, *classes)} == set(hazard_words.SOURCES)


def test_no_sentence_of_the_cautions_is_written_twice() -> None:
    """Two wordings of one rule drift apart, and one code says one thing."""
    codes = [code for table in (*OWN, cautions.TEXTS) for code in table]
    texts = [text for table in (*OWN, cautions.TEXTS) for text in table.values()]

    assert len(codes) == len(set(codes))
    assert len(texts) == len(set(texts))


# ---- a class


def test_the_card_for_a_class_says_what_an_adult_does_and_what_is_not_in_the_room(
    house: Opened,
) -> None:
    page = page_of(house, "/safety/class")

    assert "The day before" in page
    assert "Not in the room" in page
    for code in CAUTIONS[UNDER_16]:
        assert cautions.TEXTS[code] in page, code
    assert cautions.TEXTS["in-the-eye"] in page
    assert page.count(COMMON_PRACTICE) == 4
    assert "Emergency: 112. Poison centre: 0555 0100." in page


# ---- numbers


@pytest.mark.parametrize("there", ["/safety/potash_alum", "/safety/class"])
def test_a_card_does_not_print_while_nobody_is_there_to_call(bare: Opened, there: str) -> None:
    """A card on the wall without numbers is believed to be enough."""
    page = html_of(bare, there)

    assert UNPRINTED in page
    assert "no studio is described yet" in page
    assert "Poison centre:" not in page


@pytest.mark.parametrize("said", [{"poison": "to be asked"}, {"emergency": "ask Amina"}])
def test_a_card_does_not_print_with_words_instead_of_a_number(
    house: Opened, said: dict[str, str]
) -> None:
    there = f"/safety/lime?studio={second(house, **said)}"
    page = html_of(house, there)

    assert UNPRINTED in page
    assert f"of Orchard Barn, “{next(iter(said.values()))}”, has no number to dial" in page
    assert "Poison centre:" not in page


def test_of_two_studios_one_is_chosen_first(house: Opened) -> None:
    """The wrong poison centre's number is worse than none."""
    barn = second(house)
    before, after = (
        html_of(house, "/safety/lime"),
        html_of(house, f"/safety/lime?studio={barn}"),
    )

    assert UNPRINTED in before
    assert "before a studio is chosen" in before
    assert f'href="/safety/lime?studio={barn}"' in before
    assert UNPRINTED not in after
    assert "Poison centre: 0555\xa00200." in after
    assert "0555\xa00100" not in after


def test_the_print_style_hides_a_card_without_numbers_and_takes_a5(house: Opened) -> None:
    style = packaged()[STYLE].content.decode()
    printed = style.partition("@media print")[2]

    assert "@page { size: A5;" in printed
    assert f".{UNPRINTED} {{ display: none; }}" in printed
    head = house.client("kahu").get("/safety/lime").text
    assert f"/{STYLE}" in head.partition("</head>")[0]


# ---- who and what


@pytest.mark.parametrize("who", ["kahu", "amina", "oluwaseun"])
def test_everybody_reads_the_cards(house: Opened, who: str) -> None:
    assert "Safety cards" in page_of(house, "/safety", who)


def test_nobody_reads_them_without_signing_in(house: Opened) -> None:
    client = house.client()
    for there in ("/safety", "/safety/lime", "/safety/class"):
        answer = client.get(there)
        assert answer.status_code in (302, 303)
        assert answer.location.startswith("/sign-in")


@pytest.mark.parametrize(
    "there",
    [
        "/safety/paper",
        "/safety/bath_",
        f"/safety/lime?studio={NOBODY}",
        "/safety/class?studio=x",
    ],
)
def test_an_unknown_card_or_studio_is_not_found(house: Opened, there: str) -> None:
    assert house.client("kahu").get(there).status_code == 404


def test_a_card_only_answers_to_reading(house: Opened) -> None:
    client = house.client("kahu")
    same = {"Sec-Fetch-Site": "same-origin"}

    assert client.post("/safety/lime", headers=same).status_code in (400, 405)


# ---- the ways to them


@pytest.mark.parametrize(
    ("there", "card"),
    [
        ("/help", "/safety"),
        ("/lots/{alum}", "/safety/aluminium_sulfate_14"),
        ("/supplies/salt:aluminium_sulfate_14", "/safety/aluminium_sulfate_14"),
        ("/supplies/powder:carrageenan", "/safety/carrageenan"),
        ("/shelf/receive/alum", "/safety#alum"),
        ("/shelf/receive/powder", "/safety/methylcellulose"),
        ("/baths/{bath}", "/safety/bath_alum"),
        ("/baths/{bath}/mend", "/safety"),
        ("/liquids/{size}", "/safety/bath_size"),
    ],
)
def test_a_card_is_one_tap_away_from_what_it_is_of(
    house: Opened, there: str, card: str
) -> None:
    house.made["bath"] = mixed(house)
    house.made["size"] = with_size(house)

    assert f'href="{card}"' in html_of(house, there.format(**house.made))


def test_paper_has_no_card(house: Opened) -> None:
    assert "/safety" not in html_of(house, f"/lots/{house.made['parcel']}")
