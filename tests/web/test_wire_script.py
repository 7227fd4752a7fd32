"""A form read by the page's script makes the very bytes that it makes when it is posted."""

import hashlib
import json
from collections.abc import Iterator
from datetime import UTC, datetime
from fractions import Fraction
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from flask import Flask
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from playwright.sync_api import Browser, Page

from coop.actions.write import note
from coop.ids import is_uuid, uuid7
from coop.ledger.entries import read_entry
from coop.ledger.schema import Slip
from coop.ledger.wire import nest
from coop.units.fault import NotUnderstood
from coop.units.number import NUMBER_MAX, read_number, unwire, wire
from coop.units.stream import VULGAR
from coop.web.assets import install_assets
from coop.web.security import CONTENT_SECURITY_POLICY
from tests.support.files import ROOT
from tests.support.sayings import WIRE, an_id
from tests.support.sayings import wire as shipped
from tests.support.server import serving

pytestmark = pytest.mark.browser

FORMS = json.loads((ROOT / "fixtures" / "wire" / "forms.json").read_bytes())
BATCHES = settings(
    max_examples=40,
    deadline=None,
    database=None,
    phases=[Phase.explicit, Phase.generate],  # a batch names its odd ones itself
    suppress_health_check=[HealthCheck.too_slow],
)

REFUSED = "refused"
NEST = """fields => fields.map(pairs => {
    try { return { body: coop.wire.nest(pairs) } }
    catch (slip) { return { field: slip.field, code: slip.code, written: slip.written } }
})"""
READ = """asked => asked.map(([typed, low, high]) => {
    try { return coop.wire.readNumber(typed, { low, high }) } catch (slip) { return REFUSED }
})""".replace("REFUSED", repr(REFUSED))


def page_with_script() -> Flask:
    app = Flask(__name__, static_folder=None)
    install_assets(app)

    @app.get("/")
    def page() -> tuple[str, dict[str, str]]:
        script = app.jinja_env.globals["asset"]("wire.js")  # type: ignore[operator]
        policy = {"Content-Security-Policy": CONTENT_SECURITY_POLICY}
        return f'<!doctype html><script src="{script}" defer></script>', policy

    return app


@pytest.fixture(scope="module")
def origin() -> Iterator[str]:
    with serving(page_with_script()) as origin:
        yield origin


@pytest.fixture(scope="module")
def script(chromium: Browser, origin: str) -> Iterator[Page]:
    page = chromium.new_page()
    page.goto(origin)
    yield page
    page.close()


def posted(pairs: list[tuple[str, str]]) -> dict[str, Any]:
    """Say what the studio makes of a form's fields, as `NEST` says it of the script."""
    try:
        return {"body": nest(pairs)}
    except Slip as slip:
        written = dict(slip.refused.limits).get("written", "")
        return {"field": slip.refused.field, "code": slip.refused.code, "written": written}


TYPED = [
    "2025-09-17T18:00", "2025-03-30T01:59", "2025-03-30T02:00", "2025-03-30T02:30",
    "2025-03-30T03:00", "2025-10-26T01:59", "2025-10-26T02:00", "2025-10-26T02:30",
    "2025-10-26T03:00", "2025-03-09T02:30", "2025-11-02T01:30", "2025-11-02T02:00",
    "2025-04-06T02:30", "2025-04-06T03:00", "2025-09-28T02:30", "2024-02-29T23:59",
    "2025-01-01T00:00", "2025-12-31T23:59", "2025-10-05T02:15", "2025-04-06T01:45",
]  # fmt: skip
ZONES = [
    "Europe/Berlin", "Europe/Istanbul", "America/New_York", "Pacific/Auckland",
    "Australia/Lord_Howe", "Asia/Kathmandu", "America/St_Johns", "Pacific/Kiritimati", "UTC",
]  # fmt: skip
HAPPENED = """cases => cases.map(([happenedAt, zone]) => JSON.parse(coop.wire.draft({
    body: {}, now: new Date(), happenedAt, zone })).entry.happened_at)"""


def test_a_typed_time_is_by_the_studios_clocks_wherever_the_phone_is(script: Page) -> None:
    """
    A phone back from a journey still has the other zone; the studio reads what was typed in its
    own. Checked against the IANA time zone database as Python's zoneinfo reads it: an hour that
    is there twice is the first (PEP 495, fold 0).
    """
    cases = [(typed, zone) for zone in ZONES for typed in TYPED]
    found = script.evaluate(HAPPENED, cases)

    meant = [datetime.fromisoformat(typed).replace(tzinfo=ZoneInfo(z)) for typed, z in cases]
    odd = [
        (case, said, should.isoformat())
        for case, said, should in zip(cases, found, meant, strict=True)
        if datetime.fromisoformat(said) != should.astimezone(UTC)
    ]
    assert odd == []


def test_the_script_makes_the_body_that_every_form_makes(script: Page) -> None:
    made = script.evaluate(NEST, [form["fields"] for form in FORMS])

    assert made == [{"body": form["body"]} for form in FORMS]


SLIPS = [
    [["water.typed", typed], ["water.unit", unit]]
    for unit in ("l", "celsius")
    for typed in (
        "some", "-3", "-1001", "1,2,3", "NaN", "1e3", "1 000", "2 3/2", "1/0", "1/101",
        "1,250", "1.250", "100.000", "1000001", "9" * 70, "8 " * 60, "\u0663", "1_0", "+1",
        "0x10", "1.5 1/2", "1..5", "--1", "Infinity", "\ufeff1",
    )
]  # fmt: skip


def test_the_script_refuses_what_the_studio_refuses_at_the_same_field(script: Page) -> None:
    """Offline a slip is said at once; found at the studio only, it would be said days later."""
    refused = script.evaluate(NEST, SLIPS)

    assert refused == [posted([(n, v) for n, v in pairs]) for pairs in SLIPS]
    assert {one.get("code") for one in refused} >= {"not-a-number", "thousands-or-decimals"}


figures = st.text("0123456789", min_size=1, max_size=5)
marks = st.sampled_from(
    [".", ",", "", " ", "-", "/", " / ", "\u2044", "\u2013", "\u00a0", "\u2212"]
)
signs = st.sampled_from(["", *VULGAR])
pieces = st.one_of(figures, marks, signs, st.sampled_from(["000", "250", "1/2", " 1/3"]))
typed_at_random = st.lists(pieces, min_size=1, max_size=6).map("".join)
decimals = st.decimals(-9999, 99999, places=3, allow_nan=False).map(str)
typed_well = st.builds(
    lambda number, mark: number.replace(".", mark), decimals, st.sampled_from(".,")
)
mixed = st.builds("{}{}{}/{}".format, figures, st.sampled_from([" ", "-"]), figures, figures)
limits = st.sampled_from([("0", NUMBER_MAX), ("-1000", NUMBER_MAX), ("0.9", 2), ("100", 5000)])
asked = st.tuples(st.one_of(typed_at_random, typed_well, mixed), limits)


def read(typed: str, low: str, high: int) -> str:
    try:
        return wire(read_number(typed, low=unwire(low), high=high))
    except NotUnderstood:
        return REFUSED


@BATCHES
@given(batch=st.lists(asked, min_size=40, max_size=80))
def test_a_number_is_read_alike_on_the_phone_and_at_the_studio(
    script: Page, batch: list[tuple[str, tuple[str, int]]]
) -> None:
    """No figure may depend on whether the phone had signal."""
    questions = [(typed, low, high) for typed, (low, high) in batch]

    said = script.evaluate(READ, questions)

    odd = [(q, one) for q, one in zip(questions, said, strict=True) if one != read(*q)]
    assert odd == []


def test_most_of_what_is_compared_are_numbers(script: Page) -> None:
    """Two readers that refuse everything would agree as well."""
    numbers = [Fraction(n, d) for n in range(0, 101, 7) for d in (1, 2, 3, 8, 16, 64, 96, 100)]
    texts = [f"{n.numerator}/{n.denominator}" for n in numbers if n.denominator > 1]
    said = script.evaluate(READ, [(text, "0", NUMBER_MAX) for text in texts])

    assert said == [wire(Fraction(text)) for text in texts]


def test_words_are_left_to_the_studio(script: Page) -> None:
    """The script reads figures only and never guesses at the rest."""
    said = script.evaluate(
        READ, [(word, "0", NUMBER_MAX) for word in ("half", "one", "2 & 1/2")]
    )

    assert set(said) == {REFUSED}


def test_blanks_are_the_same_blanks_on_both_sides(script: Page) -> None:
    """Python and JavaScript disagree about six characters; the bytes must not."""
    texts = [f"{sign}x{sign}" for sign in map(chr, [*range(1, 0x3100), 0xFEFF, 0xFFFD])]
    ask = "texts => texts.map(text => coop.wire.nest([['a', text]]).a)"

    assert script.evaluate(ask, texts) == [nest([("a", text)])["a"] for text in texts]


def test_a_name_of_javascripts_own_is_a_name_like_any_other(script: Page) -> None:
    fields = [["__proto__.a", "1"], ["constructor", "2"]]
    ask = "fields => JSON.stringify(coop.wire.nest(fields))"

    assert json.loads(script.evaluate(ask, fields)) == nest([(n, v) for n, v in fields])


UUID = """([now, hex]) =>
    coop.wire.uuid7(now, Uint8Array.from(hex.match(/../g), h => parseInt(h, 16)))"""


def test_an_id_is_made_as_the_standard_shows_it(script: Page) -> None:
    """RFC 9562, appendix A.6: example of a UUIDv7 value."""
    made = script.evaluate(UUID, [1645557742000, "0cc318c4dc0c0c07398f"])

    assert made == "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"


@BATCHES
@given(
    given=st.lists(st.tuples(st.integers(0, 2**48 - 1), st.binary(min_size=10, max_size=10)))
)
def test_an_id_is_the_one_the_studio_would_make(
    script: Page, given: list[tuple[int, bytes]]
) -> None:
    made = script.evaluate(
        f"all => all.map({UUID})", [(now_ms, random.hex()) for now_ms, random in given]
    )

    assert made == [uuid7(now_ms=now_ms, random=random) for now_ms, random in given]


def test_a_new_id_is_one_of_now(script: Page) -> None:
    now_ms, made = script.evaluate("() => [Date.now(), coop.wire.newId()]")

    assert is_uuid(made)
    assert 0 <= int(made.replace("-", "")[:12], 16) - now_ms < 1000


def test_a_note_is_named_by_sha256(script: Page) -> None:
    """NIST's example for SHA-256 of "abc" (FIPS 180-4, example values), then our own naming."""
    salt, text = bytes(range(16)), "Şule: çok köpük \N{BATHTUB}"
    ask = "async ([salt, text]) => coop.wire.noteName(salt, text)"
    attached = note(text, salt=salt)

    assert script.evaluate(ask, ["", "abc"]) == (
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    )
    assert attached is not None
    assert script.evaluate(ask, [salt.hex(), text]) == attached.name


def test_a_note_is_trimmed_and_salted_anew_each_time(script: Page) -> None:
    one, other, none = script.evaluate(
        "() => Promise.all([' foam ', ' foam ', '  '].map((said) => coop.wire.makeNote(said)))"
    )
    data = bytes.fromhex(one["salt"]) + b"foam"

    assert one["text"] == "foam"
    assert one["name"] == hashlib.sha256(data).hexdigest()
    assert one["salt"] != other["salt"]
    assert none is None


ZONES = ["Europe/Istanbul", "Asia/Kathmandu", "America/St_Johns", "UTC", "Pacific/Kiritimati"]
TIMES = [
    datetime(2025, 9, 17, 16, 31, 7, 250_000, UTC),
    datetime(2026, 1, 5, 3, 4, 5, tzinfo=UTC),
]


@pytest.mark.parametrize("zone", ZONES)
def test_a_time_is_written_with_the_offset_of_the_place(
    chromium: Browser, origin: str, zone: str
) -> None:
    """RFC 3339, section 5.6; the offsets are those of the time zone database."""
    page = chromium.new_page(timezone_id=zone)
    page.goto(origin)
    texts = page.evaluate(
        "all => all.map(ms => coop.wire.moment(new Date(ms)))",
        [time.timestamp() * 1000 for time in TIMES],
    )
    page.close()

    local = [time.astimezone(ZoneInfo(zone)) for time in TIMES]
    assert texts == [time.isoformat(timespec="milliseconds") for time in local]


SAID = {
    "ledger": an_id(1),
    "device": an_id(99),
    "id": an_id(120),
    "v": 1,
    "author": an_id(2),
    "seq": 7,
}
DRAFT = """said => coop.wire.draft({ ...said, now: new Date(1758126667250) })"""


@pytest.mark.parametrize("kind", sorted(path.stem for path in WIRE.glob("*.json")))
def test_what_is_kept_is_read_by_the_studio(script: Page, kind: str) -> None:
    """The studio reads a phone's text for ever, so its form is held here, kind by kind."""
    body = shipped(kind)["body"]
    record = json.loads(script.evaluate(DRAFT, SAID | {"kind": kind, "body": body}))

    entry = read_entry(record["entry"])

    assert record["v"] == 1
    assert (entry.kind, entry.id, entry.said) == (kind, SAID["id"], None)
    assert record["entry"]["device_seq"] == 7
    assert record["entry"]["body"] == body


def test_a_time_typed_is_said_as_it_was_typed(chromium: Browser, origin: str) -> None:
    """On the night the clocks change the offset is that of the time typed, not of now."""
    page = chromium.new_page(timezone_id="Europe/Berlin")
    page.goto(origin)
    said = SAID | {"kind": "bath.cared", "body": {}, "happenedAt": "2025-10-26T01:30"}
    entry = json.loads(page.evaluate(DRAFT, said))["entry"]
    page.close()

    assert entry["happened_at"] == "2025-10-26T01:30:00.000+02:00"
    assert entry["said"] == {"typed": "2025-10-26T01:30", "precision": "minute"}
    assert entry["written_at"] == "2025-09-17T18:31:07.250+02:00"


def test_a_time_that_is_none_is_said_at_its_field(script: Page) -> None:
    said = SAID | {"kind": "bath.cared", "body": {}, "happenedAt": "yesterday"}
    tried = f"said => {{ try {{ return ({DRAFT})(said) }}"
    ask = tried + " catch (slip) { return [slip.field, slip.code] } }"

    assert script.evaluate(ask, said) == ["happened_at", "not-a-time"]


def test_a_note_travels_beside_the_entry_that_names_it(script: Page) -> None:
    attached = {"salt": "00" * 16, "text": "foam", "name": "ab" * 32}
    said = SAID | {"kind": "bath.cared", "body": {"bath": "b"}, "note": attached}
    record = json.loads(script.evaluate(DRAFT, said))

    assert record["note"] == {"salt": "00" * 16, "text": "foam"}
    assert record["entry"]["body"] == {"bath": "b", "note": "ab" * 32}
