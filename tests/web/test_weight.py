"""How much a phone loads: on the first visit, and of each sort of file."""

import gzip
import re
import secrets
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

import pytest
from flask.testing import FlaskClient

from coop.app import create_app
from coop.cli.invented import prepare
from coop.settings import from_environment
from coop.web import compression
from coop.web.strip import strip_svg
from tests.support.forms import form_of
from tests.support.opened import PASSWORD, Opened

FIRST_VISIT_BYTES_MAX = 70_000
SCRIPT_BYTES_MAX = 25_000
STRIP_BYTES_MAX = 4_000
PACKING = {"Accept-Encoding": "gzip, deflate, br"}
A_MONDAY = datetime(2026, 3, 2, 17, 0, tzinfo=UTC)
FILES = re.compile(r'<(?:link|script|img)[^>]*\s(?:href|src)="([^"]+)"')


@dataclass
class Phone:
    """A browser with an empty store that counts what comes over the wire."""

    client: FlaskClient
    bytes_of: dict[str, int] = field(default_factory=dict)

    def open(self, there: str, **more: Any) -> Any:
        """Load a page with everything it names, each file once."""
        answer = self.client.open(there, headers=PACKING, **more)
        self._count(f"{answer.request.method} {there}", answer)
        for found in FILES.findall(plain(answer)):
            if found not in self.bytes_of:
                self._count(found, self.client.get(found, headers=PACKING))
        return answer

    def _count(self, name: str, answer: Any) -> None:
        """Count the body and the head as HTTP/1.1 writes it."""
        assert answer.status_code in (200, 302), name
        head = len(f"HTTP/1.1 {answer.status}\r\n{answer.headers}")
        self.bytes_of[name] = head + len(answer.get_data())

    def weight(self, part: str = "") -> int:
        return sum(size for name, size in self.bytes_of.items() if part in name)


def plain(answer: Any) -> str:
    data: bytes = answer.get_data()
    return (gzip.decompress(data) if is_packed(answer) else data).decode()


def is_packed(answer: Any) -> bool:
    return bool(answer.headers.get("Content-Encoding") == "gzip")


@pytest.fixture(scope="module")
def phone(tmp_path_factory: pytest.TempPathFactory) -> Phone:
    """The demo, opened for the first time: sign in, then what is in the room."""
    settings = from_environment(
        {"COOP_DATA": str(tmp_path_factory.mktemp("demo")), "COOP_DEMO": "yes"}
    )
    passwords = prepare(settings, ["kahu"], now=A_MONDAY, random=secrets.token_bytes)
    phone = Phone(create_app(settings, clock=lambda: A_MONDAY).test_client())
    form = form_of(plain(phone.open("/sign-in")))
    said = {**form.fields, "sign_in_name": "kahu", "password": passwords["kahu"]}
    assert phone.open("/sign-in", method="POST", data=said).status_code == 302
    phone.open("/")
    return phone


def test_the_first_visit_is_light(
    phone: Phone, record_property: Callable[[str, object], None]
) -> None:
    """One bar of signal in a cellar: sign in, see what may be used, strips and all."""
    strips = [name for name in phone.bytes_of if name.startswith("/strip/")]

    record_property("bytes of the first visit", phone.weight())
    assert len(strips) >= 3
    assert phone.weight() < FIRST_VISIT_BYTES_MAX, phone.bytes_of


def test_the_script_of_the_first_visit_is_small(phone: Phone) -> None:
    assert 0 < phone.weight(".js") < SCRIPT_BYTES_MAX


def test_no_strip_of_the_room_is_heavy(phone: Phone) -> None:
    """Twenty cards must not outweigh the page they stand on."""
    heavy = [one for one in phone.bytes_of if "/strip/" in one if phone.weight(one) > 4_600]

    assert heavy == []


# --- what is sent packed --------------------------------------------------------------


@pytest.fixture
def client(house: Opened) -> FlaskClient:
    return house.client("kahu")


def test_a_strip_goes_out_packed_and_small(client: FlaskClient) -> None:
    """It is drawn until it fits, so it must be sent in the form that was measured."""
    for seed in map(str, range(8)):
        answer = client.get(f"/strip/1/{seed}.svg", headers=PACKING)

        assert is_packed(answer)
        assert len(answer.get_data()) < STRIP_BYTES_MAX
        assert plain(answer) == strip_svg(seed)


@pytest.mark.parametrize(
    ("name", "packed"), [("coop.css", True), ("form.js", True), ("icon-192.png", False)]
)
def test_files_that_gain_by_it_go_out_packed(house: Opened, name: str, packed: bool) -> None:
    """A picture is packed already."""
    app = house.app()
    there = str(app.jinja_env.globals["asset"](name))  # type: ignore[operator]  # a function
    small = app.test_client().get(there, headers=PACKING)
    whole = app.test_client().get(there)

    assert is_packed(small) is packed
    assert not is_packed(whole)
    assert packed is ("Accept-Encoding" in small.headers.get("Vary", ""))
    assert packed is ("Accept-Encoding" in whole.headers.get("Vary", ""))
    content = gzip.decompress(small.get_data()) if packed else small.get_data()
    assert content == whole.get_data()


@pytest.mark.parametrize("said", ["", "identity", "br", "gzip;q=0", "gzip;q=0, *", "x" * 99])
def test_who_does_not_take_gzip_gets_none(client: FlaskClient, said: str) -> None:
    """RFC 9110 12.5.3: a coding is taken when it is named with a weight above nothing."""
    answer = client.get("/", headers={"Accept-Encoding": said})

    assert not is_packed(answer)
    assert answer.text.startswith("<!doctype html>")
    assert "Accept-Encoding" in answer.headers["Vary"]


def test_a_page_goes_out_packed_and_is_the_same_page(client: FlaskClient) -> None:
    small = client.get("/shelf", headers=PACKING)

    assert is_packed(small)
    assert len(small.get_data()) < len(client.get("/shelf").get_data()) / 2
    assert int(small.headers["Content-Length"]) == len(small.get_data())
    assert "<h1>Shelf</h1>" in plain(small)


def test_the_answer_to_a_form_is_never_packed(client: FlaskClient) -> None:
    """It says back what was typed, maybe beside a one-use address: its length must not tell."""
    there = "/shelf/receive/alum"
    form = form_of(client.get(there).text)
    answer = client.post(there, data=form.fields, headers=PACKING)

    assert answer.status_code == 422
    assert len(answer.get_data()) > compression.PAGE_BYTES_MIN
    assert not is_packed(answer)


def test_the_length_of_a_packed_page_does_not_tell_what_is_in_it(client: FlaskClient) -> None:
    """Padding of random length hides one sign more or less (RFC 1952 2.3.1, file name)."""
    lengths = {len(client.get("/shelf", headers=PACKING).get_data()) for _ in range(30)}

    assert len(lengths) > 10
    assert max(lengths) - min(lengths) <= compression.PADDING_BYTES_MAX + 20


def test_a_member_signs_in_with_packed_pages_as_with_others(house: Opened) -> None:
    client = house.app().test_client()
    form = form_of(plain(client.get("/sign-in", headers=PACKING)))
    said = {**form.fields, "sign_in_name": "kahu", "password": PASSWORD}

    assert client.post("/sign-in", data=said, headers=PACKING).status_code == 302
    assert "Kahu R." in plain(client.get("/", headers=PACKING))


def test_what_is_packed_is_a_gzip_file_with_a_name_of_random_length() -> None:
    """RFC 1952 2.3: two bytes that say so, deflate, and the flag of a name (bit 3)."""
    made = compression._padded(b"x" * 3_000, 40)

    assert made[:3] == b"\x1f\x8b\x08"
    assert made[3] & 0b1000
    assert made[10:51] == b"x" * 40 + b"\x00"
    assert gzip.decompress(made) == b"x" * 3_000
