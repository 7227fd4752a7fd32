"""Sign-in names and passwords."""

import threading
from datetime import UTC, datetime, timedelta

import pytest
from argon2 import PasswordHasher, extract_parameters
from argon2.low_level import Type
from hypothesis import given
from hypothesis import strategies as st

from coop.ids import MemberId
from coop.store import members
from coop.store.members import HashingBusy, MemberSecret, Passwords

NOW = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
LATER = NOW + timedelta(days=1)
ADA = MemberId("member-a")
BEN = MemberId("member-b")


@pytest.fixture
def engines(settings_engines):
    return settings_engines


@pytest.fixture(scope="module")
def quick():
    """Return passwords cheap enough for tests; the real cost has tests of its own."""
    return Passwords(time_cost=1, memory_kib=8)


def secret(member=ADA, name="ada", password_hash="h", mail=None):
    return MemberSecret(
        member=member, sign_in_name=name, mail=mail, password_hash=password_hash, changed_at=NOW
    )


def add(engines, **values):
    with engines.writing() as connection:
        return members.add(connection, secret(**values))


def found(engines, name):
    with engines.reading() as connection:
        return members.find_by_name(connection, name)


def test_a_hash_is_argon2id_with_the_parameters_promised():
    """OWASP's password storage cheat sheet: Argon2id, m=19456 (19 MiB), t=2, p=1."""
    parameters = extract_parameters(Passwords().hash("a long enough one"))

    assert parameters.type is Type.ID
    assert parameters.time_cost == 2
    assert parameters.memory_cost == 19_456
    assert parameters.parallelism == 1


def test_another_program_of_the_same_standard_accepts_the_hash(quick):
    """The stored text is the encoded form that argon2 libraries share."""
    assert PasswordHasher().verify(quick.hash("kitchen scales"), "kitchen scales")


def test_the_right_password_is_accepted_and_a_wrong_one_is_not(quick):
    stored = quick.hash("kitchen scales")

    assert quick.check(stored, "kitchen scales")
    assert not quick.check(stored, "kitchen scalez")


def test_one_password_gives_two_hashes(quick):
    """Nobody sees from the table who shares a password."""
    assert quick.hash("kitchen scales") != quick.hash("kitchen scales")


def test_an_accent_may_be_typed_in_one_character_or_two(quick):
    """Keyboards differ: e-acute is U+00E9 or e and U+0301."""
    assert quick.check(quick.hash("caf\u00e9 au lait"), "cafe\u0301 au lait")


def test_an_unknown_name_is_never_let_in(quick):
    assert not quick.check(None, "")
    assert not quick.check(None, "kitchen scales")


def test_an_unknown_name_costs_the_same_work():
    """Or the time of an answer tells who is a member."""
    passwords = Passwords()
    passwords._hasher = watched = WatchedHasher(time_cost=2, memory_cost=19_456, parallelism=1)
    known = passwords.hash("kitchen scales")
    passwords.check(known, "something else")
    passwords.check(None, "something else")

    assert len(watched.work) == 2
    assert watched.work[0] == watched.work[1]


class WatchedHasher(PasswordHasher):
    """Notes the parameters of each hash it checks: they decide the work."""

    def verify(self, hash, password):
        self.work = [*getattr(self, "work", []), (extract_parameters(hash), password)]
        return super().verify(hash, password)


def test_two_passwords_are_hashed_at_a_time_and_the_third_waits_in_vain(quick, monkeypatch):
    """A flood of sign-ins leaves a small machine room for pages."""
    monkeypatch.setattr(members, "HASH_WAIT_S", 0.01)
    with quick._turn(), quick._turn(), pytest.raises(HashingBusy) as refused:
        quick.hash("kitchen scales")

    assert refused.value.retry_after_s >= 1
    assert quick.check(quick.hash("kitchen scales"), "kitchen scales")


def test_a_waiting_password_gets_its_turn(quick):
    stored = quick.hash("kitchen scales")
    answers = []
    threads = [
        threading.Thread(target=lambda: answers.append(quick.check(stored, "kitchen scales")))
        for _ in range(8)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert answers == [True] * 8


def test_a_hash_of_weaker_parameters_is_outdated(quick):
    stronger = Passwords(time_cost=2, memory_kib=16)

    assert stronger.is_outdated(quick.hash("kitchen scales"))
    assert not stronger.is_outdated(stronger.hash("kitchen scales"))


@pytest.mark.parametrize(
    ("password", "code"),
    [
        ("123456789", "password-too-short"),
        ("4071628395", None),
        ("1234567890", "password-is-common"),
        ("QwertyUiop", "password-is-common"),
        ("p" * 200, None),
        ("p" * 201, "password-too-long"),
        ("Ada Of Studio", "password-is-the-name"),
        (" leading and trailing ", None),
    ],
)
def test_a_password_that_will_not_do_is_named_by_its_reason(password, code):
    assert members.password_refusal(password, sign_in_name="ada of studio") == code


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("ada", None),
        ("Ömer K.", None),
        ("", "sign-in-name-missing"),
        ("   ", "sign-in-name-missing"),
        ("a" * 60, None),
        ("a" * 61, "sign-in-name-too-long"),
        ("ß" * 60, "sign-in-name-too-long"),
        ("a\nb", "sign-in-name-unprintable"),
        ("a\u200bb", "sign-in-name-unprintable"),
    ],
)
def test_a_name_that_will_not_do_is_named_by_its_reason(name, code):
    assert members.name_refusal(name) == code


@given(st.text(max_size=60))
def test_folding_a_name_twice_changes_nothing_more(name):
    """Or a member could not be found under the name as stored."""
    once = members.folded(name)

    assert members.folded(once) == once or len(once) > members.NAME_CHARACTERS_MAX


def test_a_name_is_found_however_it_is_written(engines):
    """Phones begin a field with a capital letter and end it with a space."""
    add(engines, name="Ada")

    assert found(engines, " ADA ") == found(engines, "ada") == secret(name="ada")


def test_a_name_is_taken_in_any_spelling(engines):
    assert add(engines, name="straße")
    assert not add(engines, member=BEN, name="STRASSE")

    kept = found(engines, "strasse")
    assert kept
    assert kept.member == ADA


def test_an_unknown_name_is_not_found(engines):
    assert found(engines, "nobody") is None


def test_a_member_takes_a_new_name_but_not_anothers(engines):
    add(engines, name="ada")
    add(engines, member=BEN, name="ben")
    with engines.writing() as connection:
        assert not members.rename(connection, ADA, "Ben", now=LATER)
        assert members.rename(connection, ADA, "ADA", now=LATER)
        assert members.rename(connection, ADA, "Countess", now=LATER)

    assert found(engines, "ada") is None
    assert found(engines, "countess").changed_at == LATER


def test_a_changed_password_and_mail_are_kept_with_their_time(engines):
    add(engines, mail="ada@studio.example")
    with engines.writing() as connection:
        members.set_password_hash(connection, ADA, "h2", now=LATER)
        members.set_mail(connection, ADA, None, now=LATER)
        kept = members.find(connection, ADA)

    assert kept
    assert (kept.password_hash, kept.mail, kept.changed_at) == ("h2", None, LATER)


def test_a_renewed_hash_does_not_undo_a_password_changed_meanwhile(engines):
    """Signing in on one browser and changing the password on another can cross."""
    add(engines, password_hash="old")
    with engines.writing() as connection:
        read = members.find(connection, ADA)
        assert read
        members.set_password_hash(connection, ADA, "changed", now=LATER)
        members.renew_hash(connection, read, "old, hashed anew")
        kept = members.find(connection, ADA)

    assert kept
    assert kept.password_hash == "changed"


def test_a_removed_member_has_nothing_left_here(engines):
    add(engines)
    with engines.writing() as connection:
        members.remove(connection, ADA)

        assert members.find(connection, ADA) is None
