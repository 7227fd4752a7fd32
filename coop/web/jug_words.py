"""A jug in words: where it stands, what was seen of it, who said what is in it."""

from collections.abc import Callable

from coop.ledger.any_bath import AnyBath
from coop.ledger.states import JugState, StudioState
from coop.web import amounts
from coop.web import words as say
from coop.web.i18n import Words
from coop.web.page import face, words
from coop.web.told import bath_names, telling


def is_known(one: JugState) -> bool:
    """Say whether a person said what is in a jug."""
    return one.bath is not None or one.waste != ""


def where(one: JugState, studio: StudioState | None) -> str:
    """Say where a jug stands."""
    return f"{studio.name}, {one.where}" if studio else one.where


def told(
    one: JugState, *, when: str = "", volume: Callable[[Words, float], str] = amounts.volume
) -> str:
    """Say what was seen of a jug, when and by whom; litres that were vouched for were not."""
    seen = [say.choice(words(), "jug_look", one.look)]
    if one.volume_ml is not None and not one.waste:
        about = volume(words(), one.volume_ml)
        seen.insert(0, words().gettext("about %(litres)s", litres=about))
    return words().gettext(
        "%(seen)s; found %(when)s by %(name)s",
        seen=", ".join(seen),
        when=when or telling().when(one.found_at),
        name=face(one.found_by).name,
    )


def called(bath: AnyBath) -> str:
    """Name the bath that is in a jug."""
    return say.bath_name(words(), bath.what, bath_names([bath])[bath.id])


def waste(one: JugState) -> str:
    """Name the waste that is in a jug; empty for none."""
    return say.choice(words(), "waste", one.waste) if one.waste else ""


def inside(one: JugState, *, volume: Callable[[Words, float], str] = amounts.volume) -> str:
    """Say what a person said of what is in a jug: litres, substances, metal colours."""
    if not one.waste:
        return ""
    found = [volume(words(), one.volume_ml)] if one.volume_ml is not None else []
    found += [say.choice(words(), "substance", code) for code in one.substances]
    if one.metal_pigments == "yes":
        found.append(words().gettext("metal colours"))
    elif one.metal_pigments == "not_known":
        found.append(words().gettext("metal colours not known"))
    return ", ".join(found)


def vouched(one: JugState) -> str:
    """Say who said what is in a jug and on which day; empty while nobody has."""
    if one.known_at is None or one.known_by is None or not is_known(one):
        return ""
    return say.day_by(words(), one.known_at, face(one.known_by).name)
