"""The world's zones and countries, told in the member's language."""

from functools import cache
from unicodedata import combining, normalize
from zoneinfo import available_timezones

from babel import Locale
from babel.core import get_global

UTC = "UTC"
NOWHERE = "ZZ"
CODE_LETTERS = 2


@cache
def zone_choices(lang: str) -> tuple[tuple[str, str], ...]:
    """
    Return (code, "Country, Place") of every zone that has a country, by letter.

    Zones: IANA time zone database; countries and places: Unicode CLDR, as Babel carries it.
    """
    locale = Locale(lang)
    known = available_timezones()
    found = [
        (zone, f"{locale.territories[country]}, {_place(locale, zone)}")
        for zone, country in get_global("zone_territories").items()
        if zone in known and country in locale.territories and country != NOWHERE
    ]
    return tuple(sorted((one for one in found if "/" in one[0]), key=_by_letters))


@cache
def country_choices(lang: str) -> tuple[tuple[str, str], ...]:
    """
    Return (code, name) of every country that has a zone, by letter.

    Codes: ISO 3166-1, two letters; names: Unicode CLDR, as Babel carries it.
    """
    locale = Locale(lang)
    codes = {country_of(zone) for zone in available_timezones()} - {""}
    return tuple(
        sorted(((code, str(locale.territories[code])) for code in codes), key=_by_letters)
    )


def country_name(lang: str, code: str) -> str:
    """Return a country's name; a code that is none as it is."""
    return dict(country_choices(lang)).get(code.upper(), code.upper())


def country_of(zone: str) -> str:
    """Return the country [ISO 3166-1] of a zone; empty for a zone of no country."""
    country = str(get_global("zone_territories").get(zone, ""))
    return country if len(country) == CODE_LETTERS and country != NOWHERE else ""


def _by_letters(choice: tuple[str, str]) -> str:
    """Sort letters with and without marks together: they are looked for by their first."""
    letters = normalize("NFD", choice[1].casefold())
    return "".join(sign for sign in letters if not combining(sign))


def _place(locale: Locale, zone: str) -> str:
    told = locale.time_zones.get(zone, {}).get("city")
    return str(told or zone.rpartition("/")[2].replace("_", " "))
