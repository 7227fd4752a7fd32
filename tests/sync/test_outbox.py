"""The text a device keeps of one thing written is read for ever; what cannot be is named."""

import hashlib
import json

import pytest

from coop.sync.limits import OUTBOX_BYTES_MAX
from coop.sync.outbox import Kept, Unread, read_outbox
from tests.support.files import ROOT
from tests.support.sayings import an_id, wire

SHIPPED = sorted((ROOT / "fixtures" / "wire" / "outbox").glob("*.txt"))
SALT = "00112233445566778899aabbccddeeff"


def entry(**changes):
    record = wire("sheets.through")
    record["body"].pop("note", None)
    return {**record, "device": an_id(9), "device_seq": 4, **changes}


def text(**parts):
    return json.dumps({"v": 1, "entry": entry(), **parts}, ensure_ascii=False)


def noted(words, salt=SALT):
    record = entry()
    name = hashlib.sha256(bytes.fromhex(salt) + words.encode()).hexdigest()
    record["body"]["note"] = name
    return json.dumps({"v": 1, "entry": record, "note": {"salt": salt, "text": words}})


def refusal(kept):
    assert isinstance(kept, Unread)
    return kept.refused.field, kept.refused.code


def test_at_least_one_text_was_shipped():
    assert SHIPPED


@pytest.mark.parametrize("file", SHIPPED, ids=[file.stem for file in SHIPPED])
def test_a_shipped_text_is_read_for_ever(file):
    """A phone may come back after a year with what an old page wrote."""
    digest, kept = file.read_text(encoding="utf-8").splitlines()
    found = read_outbox(kept)

    assert isinstance(found, Kept)
    assert found.entry.digest == digest


def test_a_text_makes_its_entry_with_device_and_count():
    kept = read_outbox(text())

    assert isinstance(kept, Kept)
    assert (kept.entry.device, kept.entry.device_seq) == (an_id(9), 4)
    assert kept.note is None


def test_a_note_comes_with_the_bytes_that_its_name_was_made_of():
    kept = read_outbox(noted("tub stood in the sun"))

    assert isinstance(kept, Kept)
    assert kept.note is not None
    assert kept.note.data == b"tub stood in the sun"
    assert kept.note.reach == "personal"


def test_a_note_that_is_not_the_one_named_is_refused():
    changed = noted("tub stood in the sun").replace("sun", "sea")

    assert refusal(read_outbox(changed)) == ("note", "not-an-attachment")


def test_a_note_too_long_is_refused_with_its_limit():
    assert refusal(read_outbox(noted("x" * 2001))) == ("note", "too-long")


WRONG = [
    ("{", ("", "not-json")),
    ("[]", ("", "not-a-record")),
    ('{"v": 2}', ("v", "unknown-outbox-version")),
    ('{"v": 1}', ("entry", "missing")),
    ('{"v": 1, "entry": 7}', ("entry", "not-a-record")),
    ('{"v": 1, "entry": {}, "mood": "good"}', ("mood", "unknown-field")),
    ("x" * (OUTBOX_BYTES_MAX + 1), ("", "record-too-long")),
    ('{"v": 1, "entry": {}, "note": "\\ud800"}', ("author", "missing")),
]


@pytest.mark.parametrize(("raw", "expected"), WRONG)
def test_what_cannot_be_read_is_named(raw, expected):
    assert refusal(read_outbox(raw)) == expected


def test_a_lone_surrogate_in_a_note_is_named_not_a_crash():
    record = json.loads(noted("x"))
    record["note"]["text"] = "\ud800"

    assert refusal(read_outbox(json.dumps(record))) == ("note", "lone-surrogate")


def test_an_entry_that_cannot_be_read_still_tells_its_id_and_count():
    """The person sees which of theirs it is, and its count is accounted for."""
    found = read_outbox(text(entry=entry(body={"bath": an_id(3)})))

    assert isinstance(found, Unread)
    assert (found.id, found.device_seq) == (entry()["id"], 4)


LONG = "x" * OUTBOX_BYTES_MAX


@pytest.mark.parametrize("more", [{"mood": LONG}, {"mood": 1.5}, {"v": 2}, {"v": None}])
def test_whatever_is_wrong_a_text_is_known_by_its_id_and_count(more):
    """Else its writer could give it up, and the phone never learn that the studio knows."""
    found = read_outbox(text(**more))

    assert isinstance(found, Unread)
    assert (found.id, found.device_seq) == (entry()["id"], 4)


ODD = [
    ("\ud800", 4), ("A" * 36, 4), ({}, 4), (an_id(7), True), (an_id(7), 0), (an_id(7), 10**30),
]  # fmt: skip


@pytest.mark.parametrize(("made", "count"), ODD)
def test_an_id_or_a_count_that_is_none_is_left_out(made, count):
    """No database keeps such a thing, and no phone of ours ever made it."""
    found = read_outbox(text(entry=entry(id=made, device_seq=count, kind="no such")))

    assert isinstance(found, Unread)
    assert (found.id, found.device_seq) == (
        made if made == an_id(7) else "",
        count if count == 4 else None,
    )


def test_a_device_without_its_count_is_refused():
    record = entry()
    del record["device_seq"]

    assert refusal(read_outbox(text(entry=record))) == ("device_seq", "missing")
