"""
The words of the pages: catalogues read at start, one `Words` per request, numbers and dates.

English is written in the code itself; `python -m coop.web.i18n extract` brings the catalogues
in step with it. Text that is only looked up later is marked with `N_("...")` where it stands.
"""

import sys
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import ROUND_HALF_UP, Context, Decimal
from functools import cache
from io import BytesIO
from pathlib import Path
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo

from babel import negotiate_locale
from babel.dates import get_day_names
from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from babel.numbers import get_decimal_symbol
from babel.support import NullTranslations, Translations
from flask import Flask, Request, g, has_request_context, request

LANGUAGES = ("en", "tr")
DEFAULT_LANGUAGE = "en"
LANGUAGE_COOKIE = "coop-lang"
DIGITS_MAX = 6
_WIDE = Context(prec=400)
"""Every float has so many digits before its mark at most."""
KEYWORDS: Mapping[str, Any] = MappingProxyType(
    {
        "_": None,
        "N_": None,
        "gettext": None,
        "ngettext": (1, 2),
        "pgettext": ((1, "c"), 2),
        "npgettext": ((1, "c"), 2, 3),
    }
)
METHODS = (("**/templates/**.html", "jinja2.ext:babel_extract"), ("**.py", "python"))
OPTIONS = {"**/templates/**.html": {"trimmed": "true", "newstyle_gettext": "true"}}
PACKAGE = Path(__file__).parent.parent
CATALOGUES = Path(__file__).with_name("locale")


def N_(text: str) -> str:
    """Mark a text for the catalogue and return it as it is."""
    return text


class AsItIs(str):
    """A text that is not looked up: a member typed it, or it is in the language already."""

    __slots__ = ()


@dataclass(frozen=True, slots=True)
class Words:
    """
    One language, one studio's zone and one way of measures; made per request, or by hand.

    `us`: amounts are shown in US customary measures (`coop.web.amounts`), else in metric ones.
    """

    lang: str
    zone: ZoneInfo
    translations: NullTranslations
    us: bool = False

    def gettext(self, text: str, **values: object) -> str:
        """Return the text in this language, with `%(name)s` filled in."""
        return _filled(self.translations.ugettext(text) if text else "", values)

    def ngettext(self, one: str, many: str, num: int, **values: object) -> str:
        """Return the form for a number of things; the number is `%(num)d`."""
        return _filled(self.translations.ungettext(one, many, num), {"num": num, **values})

    def pgettext(self, context: str, text: str, **values: object) -> str:
        """Return the text in this language, told apart by where it stands."""
        return _filled(str(self.translations.upgettext(context, text)), values)

    def npgettext(self, context: str, one: str, many: str, num: int, **values: object) -> str:
        """Return the form for a number of things, told apart by where it stands."""
        text = self.translations.unpgettext(context, one, many, num)
        return _filled(text, {"num": num, **values})

    def number(self, value: float, digits: int = 0) -> str:
        """Return a number with so many decimals and this language's mark; halves go up."""
        assert 0 <= digits <= DIGITS_MAX
        exact = Decimal(str(value))
        rounded = exact.quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP, _WIDE)
        text = format(rounded, "f").replace(".", _mark(self.lang))
        return "0" + text[2:] if text.strip("-0.,") == "" and text.startswith("-") else text

    def day(self, value: date | datetime) -> str:
        """Return a date as ISO 8601 writes it, in the studio's zone."""
        return self._here(value).strftime("%Y-%m-%d")

    def time(self, value: datetime) -> str:
        """Return hours and minutes in the studio's zone."""
        return self._here(value).strftime("%H:%M")

    def moment(self, value: datetime) -> str:
        """Return date and time in the studio's zone."""
        return f"{self.day(value)} {self.time(value)}"

    def weekday(self, value: date | datetime) -> str:
        """Return the name of the day of the week."""
        names = get_day_names("wide", context="stand-alone", locale=self.lang)
        return str(names[self._here(value).weekday()])

    def _here(self, value: date | datetime) -> date | datetime:
        if not isinstance(value, datetime):
            return value
        assert value.tzinfo is not None, "a moment carries its zone"
        return value.astimezone(self.zone)


@cache
def _mark(lang: str) -> str:
    return get_decimal_symbol(lang)


def _filled(text: str, values: Mapping[str, object]) -> str:
    """Fill in the values; a name that ends in a full stop ends a sentence by itself."""
    if not values:
        return text
    ends = {name for name, one in values.items() if isinstance(one, str) and one.endswith(".")}
    for name in ends:
        text = text.replace(f"%({name})s.", f"%({name})s")
    return text % values


@cache
def read_catalogues(folder: Path = CATALOGUES) -> Mapping[str, NullTranslations]:
    """Read every language's catalogue and compile it in memory, once in a process."""
    return MappingProxyType({lang: _compiled(folder / f"{lang}.po") for lang in LANGUAGES})


def _compiled(path: Path) -> Translations:
    compiled = BytesIO()
    write_mo(compiled, read_catalogue(path))
    compiled.seek(0)
    return Translations(compiled)


def read_catalogue(path: Path) -> Catalog:
    """Read one catalogue file as it is written."""
    with path.open("rb") as file:
        return read_po(file, locale=path.stem)


def chosen_language(asked: Request) -> str:
    """Return the member's choice, else what the browser asks for, else English."""
    cookie = asked.cookies.get(LANGUAGE_COOKIE, "")
    if cookie in LANGUAGES:
        return cookie
    wanted = [tag.replace("-", "_") for tag, weight in asked.accept_languages if weight > 0]
    return negotiate_locale(wanted, LANGUAGES) or DEFAULT_LANGUAGE


def install_words(
    app: Flask, zone: ZoneInfo, choose: Callable[[Request], str] = chosen_language
) -> Mapping[str, NullTranslations]:
    """
    Give every request its `Words` as `g.words`, and templates `_`, `number`, `day`.

    Returns the catalogues, for whoever makes `Words` outside a request.
    """
    catalogues = read_catalogues()

    @app.before_request
    def take_words() -> None:
        lang = choose(request)
        g.words = Words(lang, zone, catalogues[lang])

    standing = Words(DEFAULT_LANGUAGE, zone, catalogues[DEFAULT_LANGUAGE])

    def current() -> Words:
        words = g.get("words", standing) if has_request_context() else standing
        assert isinstance(words, Words)
        return words

    _install_templates(app, current)
    return catalogues


def _install_templates(app: Flask, current: Callable[[], Words]) -> None:
    app.jinja_env.add_extension("jinja2.ext.i18n")
    app.jinja_env.install_gettext_callables(  # type: ignore[attr-defined]  # added by the extension
        lambda text: current().translations.ugettext(text),
        lambda one, many, num: current().translations.ungettext(one, many, num),
        newstyle=True,
        pgettext=lambda context, text: current().translations.upgettext(context, text),
        npgettext=lambda context, one, many, num: current().translations.unpgettext(
            context, one, many, num
        ),
    )
    for name in ("number", "day", "time", "moment", "weekday"):
        app.jinja_env.filters[name] = _through(current, name)
    # Not `_(...)`: that would pass what a member typed unescaped, and read its percent signs.
    app.jinja_env.filters["translated"] = lambda text: (
        text if isinstance(text, AsItIs) else current().gettext(str(text))
    )


def _through(current: Callable[[], Words], name: str) -> Callable[..., str]:
    def told(value: Any, *arguments: Any) -> str:
        return str(getattr(current(), name)(value, *arguments))

    return told


def extracted(package: Path = PACKAGE) -> Catalog:
    """Collect every text of the package's templates and modules."""
    catalogue = Catalog()
    found = extract_from_dir(
        package, METHODS, OPTIONS, keywords=KEYWORDS, comment_tags=("Words:",)
    )
    for name, line, text, comments, context in found:
        catalogue.add(text, None, [(name, line)], auto_comments=comments, context=context)
    return catalogue


def main(arguments: Iterable[str]) -> int:
    """Run `extract`: bring both catalogues in step with the code, keeping translations."""
    if list(arguments) != ["extract"]:
        sys.stderr.write("usage: python -m coop.web.i18n extract\n")
        return 2
    template = extracted()
    for lang in LANGUAGES:
        path = CATALOGUES / f"{lang}.po"
        catalogue = read_catalogue(path)
        catalogue.update(template, no_fuzzy_matching=True)
        catalogue.obsolete.clear()
        path.write_bytes(_written(catalogue))
    return 0


def _written(catalogue: Catalog) -> bytes:
    """Write a catalogue with a head that only a person changes: no dates, no names."""
    entries = BytesIO()
    write_po(entries, catalogue, 96, omit_header=True, sort_output=True, include_lineno=False)
    head = [
        f"Language: {catalogue.locale_identifier}",
        "Content-Type: text/plain; charset=utf-8",
    ]
    head.append(
        f"Plural-Forms: nplurals={catalogue.num_plurals}; plural={catalogue.plural_expr};"
    )
    lines = [*catalogue.header_comment.splitlines(), 'msgid ""', 'msgstr ""']
    lines += [f'"{line}\\n"' for line in head]
    return ("\n".join(lines) + "\n\n").encode() + entries.getvalue()


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
