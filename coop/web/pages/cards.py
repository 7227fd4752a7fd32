"""Safety cards: one for each substance and kind of bath, and one for a class with children."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from flask import Blueprint, abort, request
from werkzeug.wrappers import Response

from coop.ids import Subject
from coop.ledger.states import StudioState
from coop.rules.hazards import CARDS, Card, Cell, hazards, pictograms_of, signal_of
from coop.rules.storage import APART, STORAGE, Apart, Rule
from coop.science.defaults import COMMON_PRACTICE, PUBLISHED
from coop.web import storing
from coop.web import words as say
from coop.web.cautions import sentence
from coop.web.hazard_words import (
    GEAR,
    PICTOGRAMS,
    SIGNALS,
    TEXTS,
    card_name,
    source_of,
    statement,
)
from coop.web.i18n import N_
from coop.web.jar_label import Calls, calls
from coop.web.page import desk, known, needs, show, words

pages = Blueprint("cards", __name__)

GROUPS: Final = (
    ("alum", N_("Alum, dry")),
    ("soda", N_("Soda")),
    ("other", N_("Other substances")),
    ("colour", N_("Colours of metal and sulfide")),
    ("bath", N_("Baths, as they are used")),
)
ALWAYS: Final = ("never-food-vessels", "not-under-16")
FIRST: Final = "local-rules-first"
AT_A_CLASS: Final = (
    (N_("The day before"), ("alum-the-day-before", "dry_overnight", "put_away")),
    (N_("Not in the room"), ("none-of-these-under-16", "alum-and-soda-elsewhere")),
    (
        N_("While they are there"),
        ("own_gloves", "wash_hands", "never-food-vessels", "wet-floor"),
    ),
    (N_("First aid"), ("in-the-eye", "swallowed")),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """Sentences that are from one place, and that place with its mark."""

    texts: tuple[str, ...]
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part of a card under its title."""

    title: str
    said: tuple[Said, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pictogram:
    """A diamond: its file, the word beside it, and what one sees on it."""

    file: str
    name: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StudioChoice:
    name: str
    url: str
    chosen: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CallsOf:
    """Whom to call, by which studio, and which may be chosen; None while none is chosen."""

    of: Calls | None
    studios: tuple[StudioChoice, ...]

    @property
    def prints(self) -> bool:
        """Whether both numbers are there to be called: no card prints without."""
        return self.of is not None and self.of.prints


@dataclass(frozen=True, slots=True, kw_only=True)
class CardPage:
    """One card as it is shown and printed; `first` is what comes before all of it."""

    name: str
    signal: str
    pictograms: tuple[Pictogram, ...]
    parts: tuple[Part, ...]
    first: str
    calls: CallsOf


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    name: str
    url: str
    signal: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    anchor: str
    title: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CardsPage:
    groups: tuple[Group, ...]
    first: str


@pages.get("/safety")
@needs("read")
def cards() -> Response:
    groups = tuple(
        Group(anchor=code, title=words().gettext(title), rows=tuple(_rows(code)))
        for code, title in GROUPS
    )
    return show("cards.html", page=CardsPage(groups=groups, first=_first()), nav="help")


def _rows(group: str) -> Iterator[Row]:
    for card in CARDS.values():
        if _group_of(card) == group:
            signal = signal_of(one.code for one in hazards(card))
            yield Row(
                name=card_name(words(), card),
                url=f"/safety/{card.code}",
                signal=words().gettext(SIGNALS[signal]) if signal else "",
            )


def _group_of(card: Card) -> str:
    if card.is_bath:
        return "bath"
    return card.what if card.what in ("alum", "soda", "colour") else "other"


def _first() -> str:
    return words().gettext(TEXTS[FIRST])


@pages.get("/safety/class")
@needs("read")
def at_a_class() -> Response:
    page = CardPage(
        name=words().gettext("A class with someone under 16"),
        signal="",
        pictograms=(),
        parts=tuple(
            Part(title=words().gettext(title), said=(_usual(codes),))
            for title, codes in AT_A_CLASS
        ),
        first=_first(),
        calls=_calls("/safety/class"),
    )
    return show("card.html", page=page, nav="help")


def _usual(codes: Iterable[str]) -> Said:
    return _said(Cell(tuple(codes), "trade", COMMON_PRACTICE))


def _said(cell: Cell) -> Said:
    return Said(
        texts=tuple(sentence(words(), TEXTS[code]) for code in cell.codes),
        source=source_of(words(), cell.source, cell.mark),
    )


def _calls(there: str) -> CallsOf:
    """Return the numbers of the studio asked for, or of the only one there is."""
    studios: list[StudioState] = sorted(
        desk().journal.listed("studio"), key=lambda one: one.name
    )
    asked = request.args.get("studio", "")
    studio: StudioState | None = known("studio", Subject(asked)) if asked else None
    if studio is None and len(studios) == 1:
        studio = studios[0]
    return CallsOf(
        of=calls(words(), studio) if studio else None,
        studios=tuple(
            StudioChoice(name=one.name, url=f"{there}?studio={one.id}", chosen=one == studio)
            for one in studios
        ),
    )


@pages.get("/safety/<code>")
@needs("read")
def card(code: str) -> Response:
    found = CARDS.get(code) or abort(404)
    codes = [one.code for one in hazards(found)]
    signal = signal_of(codes)
    page = CardPage(
        name=card_name(words(), found),
        signal=words().gettext(SIGNALS[signal]) if signal else "",
        pictograms=tuple(_pictogram(one) for one in pictograms_of(codes)),
        parts=tuple(_parts(found)),
        first=_first(),
        calls=_calls(f"/safety/{found.code}"),
    )
    return show("card.html", page=page, nav="help")


def _pictogram(code: str) -> Pictogram:
    name, seen = PICTOGRAMS[code]
    return Pictogram(
        file=f"ghs-{code}.svg", name=words().gettext(name), seen=words().gettext(seen)
    )


def _parts(card: Card) -> Iterator[Part]:
    gettext = words().gettext
    yield Part(title=gettext("What it does"), said=tuple(_harm(card)))
    yield Part(title=gettext("Wear and open"), said=tuple(_gear(card)))
    yield Part(title=gettext("First aid"), said=(_said(card.first_aid),))
    if not card.is_bath:
        yield Part(title=gettext("Where it stands"), said=tuple(_storing(card.what)))
    yield Part(title=gettext("Spilled"), said=(_said(card.spills),))
    yield Part(title=gettext("Never together"), said=(*_apart(card), _said(card.never)))
    yield Part(title=gettext("Always"), said=(_usual(ALWAYS),))


def _harm(card: Card) -> Iterator[Said]:
    """Say the hazards by their source, then who gives none or a milder one, then the rest."""
    holding = hazards(card)
    for cell in dict.fromkeys(one.cell for one in holding):
        yield Said(
            texts=tuple(
                statement(words(), one.code, one.above) for one in holding if one.cell == cell
            ),
            source=source_of(words(), cell.source, cell.mark),
        )
    yield from _milder(card, {one.above for one in holding})
    for cell in card.classes:
        if not cell.codes:
            yield Said(
                texts=(words().gettext("Not classified as hazardous; it is still no food."),),
                source=source_of(words(), cell.source, cell.mark),
            )
    yield from (_said(note) for note in card.notes)


def _milder(card: Card, codes: set[str]) -> Iterator[Said]:
    """Say what the milder classification says, and whose it is."""
    for cell in card.classes:
        texts = tuple(statement(words(), code) for code in cell.codes if code in codes)
        if texts:
            source = source_of(words(), cell.source, cell.mark)
            told = words().gettext("milder, by %(source)s", source=source)
            yield Said(texts=texts, source=told)


def _gear(card: Card) -> Iterator[Said]:
    """Say the things to wear in one line for each source."""
    for cell in card.gear:
        worn = ", ".join(words().gettext(GEAR[code]) for code in cell.codes)
        yield Said(texts=(worn,), source=source_of(words(), cell.source, cell.mark))


def _storing(what: str) -> Iterator[Said]:
    rules = [rule for rule in STORAGE[what] if rule.code != "its_sheet_first"]
    for place in dict.fromkeys(_place(rule) for rule in rules):
        texts = (
            words().gettext(storing.TEXTS[one.code]) for one in rules if _place(one) == place
        )
        yield Said(texts=tuple(texts), source=place)


def _place(rule: Rule | Apart) -> str:
    """Return where a rule of storing is from: the document where one was read."""
    told = say.mark(words(), rule.mark)
    if rule.mark != PUBLISHED:
        return told
    return words().gettext("%(source)s: %(mark)s", source=rule.source, mark=told)


def _apart(card: Card) -> Iterator[Said]:
    met = [one for one in APART if card.what in (one.first, one.second)]
    for why in dict.fromkeys(one.why for one in met):
        place = next(_place(one) for one in met if one.why == why)
        yield Said(texts=(words().gettext(storing.APART[why]),), source=place)
