"""Forms as a browser without script sends them: every field as it stands, and what is typed."""

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

from flask.testing import FlaskClient

Typed = dict[str, str | list[str]]


@dataclass
class Form:
    """A form of a page: where it goes, how, and what is filled in already."""

    action: str
    method: str
    fields: dict[str, list[str]] = field(default_factory=dict)
    names: set[str] = field(default_factory=set)

    def put(self, name: str, value: str) -> None:
        self.fields.setdefault(name, []).append(value)


class _Reader(HTMLParser):
    """Collects the forms of a page with the fields a browser would send."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: list[Form] = []
        self._select = ""
        self._first: str | None = None
        self._chosen = False
        self._textarea = ""
        self._text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = {key: value or "" for key, value in attrs}
        if tag == "form":
            self.forms.append(Form(said.get("action", ""), said.get("method", "get")))
        if not self.forms:
            return
        name = said.get("name", "")
        if name:
            self.forms[-1].names.add(name)
        if tag == "input":
            self._input(said, name)
        elif tag == "select":
            self._select, self._first, self._chosen = name, None, False
        elif tag == "option" and self._select:
            self._option(said)
        elif tag == "textarea":
            self._textarea, self._text = name, ""

    def _input(self, said: dict[str, str], name: str) -> None:
        ticked = said.get("type") not in ("radio", "checkbox") or "checked" in said
        if name and ticked and said.get("type") != "submit":
            self.forms[-1].put(name, said.get("value", ""))

    def _option(self, said: dict[str, str]) -> None:
        if self._first is None:
            self._first = said.get("value", "")
        if "selected" in said:
            self._chosen = True
            self.forms[-1].put(self._select, said.get("value", ""))

    def handle_data(self, data: str) -> None:
        if self._textarea:
            self._text += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "select" and self._select:
            if not self._chosen:
                self.forms[-1].put(self._select, self._first or "")
            self._select = ""
        elif tag == "textarea" and self._textarea:
            self.forms[-1].put(self._textarea, self._text.strip())
            self._textarea = ""


def forms_of(page: str) -> list[Form]:
    """Return the forms of a page."""
    reader = _Reader()
    reader.feed(page)
    return reader.forms


def form_of(page: str, action: str = "") -> Form:
    """Return the form that goes to `action`; empty: the one that goes back to the page."""
    found = [one for one in forms_of(page) if one.method == "post" and one.action == action]
    assert found, f"no form to {action or 'the page itself'}:\n{page}"
    return found[0]


def send(client: FlaskClient, there: str, said: Typed | None = None, action: str = "") -> Any:
    """Open a page, type into one of its forms, and send it."""
    answer = client.get(there)
    assert answer.status_code == 200, answer.text
    return send_again(client, there, answer.text, said, action)


def send_again(
    client: FlaskClient, there: str, page: str, said: Typed | None = None, action: str = ""
) -> Any:
    """Type into a form of a page that is open already, and send it."""
    form = form_of(page, action)
    typed = said or {}
    unknown = set(typed) - form.names
    assert not unknown, f"the form has no {sorted(unknown)}, only {sorted(form.names)}"
    return client.post(action or there, data={**form.fields, **typed})
