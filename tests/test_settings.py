"""The environment, read once."""

import dataclasses

import pytest

from coop import settings
from coop.settings import SettingsError, from_environment, read_key


def read(tmp_path, **more):
    return from_environment({"COOP_DATA": str(tmp_path), **more})


def test_without_any_setting_the_studio_is_served_on_loopback_from_one_folder():
    read = from_environment({})

    assert (read.host, read.port, read.plain_http, read.demo) == (
        "127.0.0.1",
        8080,
        False,
        False,
    )
    assert read.database == f"sqlite:///{read.data / 'coop.db'}"
    assert read.key_file == read.data / "key"
    assert read.data.is_absolute()


def test_an_empty_setting_counts_as_none(tmp_path):
    """A service file lists variables that nobody filled in."""
    assert read(tmp_path, COOP_PORT="", COOP_DATABASE=" ") == read(tmp_path)


def test_each_setting_is_read(tmp_path):
    found = read(
        tmp_path,
        COOP_DATABASE="postgresql://coop@db.example/coop",
        COOP_HOST="192.0.2.5",
        COOP_PORT="443",
        COOP_HOST_NAMES="Studio.Example, [2001:db8::5] ,",
        COOP_PROXIES="1",
        COOP_TLS_CERT=str(tmp_path / "studio.crt"),
        COOP_TLS_KEY=str(tmp_path / "studio.key"),
        COOP_KEY=str(tmp_path / "elsewhere"),
        COOP_DEMO="yes",
        COOP_LOG_LEVEL="debug",
    )

    assert dataclasses.asdict(found) == {
        "data": tmp_path,
        "database": "postgresql://coop@db.example/coop",
        "host": "192.0.2.5",
        "port": 443,
        "host_names": frozenset({"studio.example", "2001:db8::5"}),
        "proxy_count": 1,
        "plain_http": False,
        "tls_cert": tmp_path / "studio.crt",
        "tls_key": tmp_path / "studio.key",
        "key_file": tmp_path / "elsewhere",
        "address": "",
        "smtp": None,
        "demo": True,
        "log_level": "DEBUG",
    }


@pytest.mark.parametrize(
    ("name", "value", "right"),
    [
        ("COOP_PORT", "http", "whole number from 1 to 65535"),
        ("COOP_PORT", "0", "whole number from 1 to 65535"),
        ("COOP_PORT", "\u0663", "whole number from 1 to 65535"),
        ("COOP_PROXIES", "9", "whole number from 0 to 4"),
        ("COOP_PLAIN_HTTP", "perhaps", "one of yes, no"),
        ("COOP_ADDRESS", "studio.example", "address of the ledger's first page"),
        ("COOP_ADDRESS", "https://studio.example/room", "address of the ledger's first page"),
        ("COOP_ADDRESS", "javascript://studio.example", "address of the ledger's first page"),
        ("COOP_LOG_LEVEL", "loud", "one of DEBUG, INFO, WARNING, ERROR"),
        ("COOP_HOST_NAMES", "https://studio.example", "without scheme, port or star"),
        ("COOP_HOST_NAMES", "studio.example:8080", "without scheme, port or star"),
        ("COOP_HOST_NAMES", "*.studio.example", "without scheme, port or star"),
    ],
)
def test_a_setting_that_cannot_be_used_says_which_and_what_would_be_right(
    tmp_path, name, value, right
):
    with pytest.raises(SettingsError, match=right) as refused:
        read(tmp_path, **{name: value})

    assert str(refused.value).startswith(f"{name}: ")


def test_plain_http_is_said_in_any_case(tmp_path):
    assert read(tmp_path, COOP_PLAIN_HTTP="Yes").plain_http


@pytest.mark.parametrize(
    ("values", "refused"),
    [
        ({"COOP_TLS_CERT": "studio.crt"}, "COOP_TLS_KEY: is empty"),
        ({"COOP_TLS_KEY": "studio.key"}, "COOP_TLS_CERT: is empty"),
        (
            {"COOP_TLS_CERT": "a", "COOP_TLS_KEY": "b", "COOP_PLAIN_HTTP": "yes"},
            "COOP_PLAIN_HTTP: is yes although there is a certificate",
        ),
    ],
)
def test_half_a_certificate_or_one_beside_plain_http_is_refused(tmp_path, values, refused):
    """Cookies without Secure over TLS, or no TLS at all, would be found out too late."""
    with pytest.raises(SettingsError, match=refused):
        read(tmp_path, **values)


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "[::]"])
def test_listening_everywhere_needs_the_names_to_answer_to(tmp_path, host):
    """Else every request would be refused and nobody would know why."""
    with pytest.raises(SettingsError, match="COOP_HOST_NAMES"):
        read(tmp_path, COOP_HOST=host)

    assert read(tmp_path, COOP_HOST=host, COOP_HOST_NAMES="studio.example").allowed_names == {
        "localhost",
        "127.0.0.1",
        "::1",
        "studio.example",
    }


def test_the_address_listened_on_is_a_name_too(tmp_path):
    assert "192.0.2.5" in read(tmp_path, COOP_HOST="192.0.2.5").allowed_names


def test_every_setting_has_a_meaning_and_a_name_of_ours():
    names = [one.name for one in settings.SETTINGS]

    assert len(set(names)) == len(names)
    assert all(one.name.startswith("COOP_") and one.meaning for one in settings.SETTINGS)


def test_a_key_is_made_once_and_is_its_owners_only(tmp_path):
    """Another key at each start would refuse every form left open."""
    found = read(tmp_path / "new")
    settings.make_data_folder(found)
    key = read_key(found)

    assert len(key) == 64
    assert read_key(found) == key
    assert found.key_file.stat().st_mode & 0o777 == 0o600
    assert found.data.stat().st_mode & 0o777 == 0o700
    assert [file.name for file in found.data.iterdir()] == ["key"]


def test_two_studios_have_two_keys(tmp_path):
    for name in ("a", "b"):
        settings.make_data_folder(read(tmp_path / name))

    assert read_key(read(tmp_path / "a")) != read_key(read(tmp_path / "b"))


def test_a_key_that_others_may_read_is_refused(tmp_path):
    found = read(tmp_path)
    read_key(found)
    found.key_file.chmod(0o640)

    with pytest.raises(SettingsError, match="chmod 600"):
        read_key(found)


def test_a_key_cut_short_is_refused(tmp_path):
    found = read(tmp_path)
    found.key_file.touch(mode=0o600)

    with pytest.raises(SettingsError, match="no whole key"):
        read_key(found)


def test_the_settings_cannot_be_changed_while_running(tmp_path):
    with pytest.raises(dataclasses.FrozenInstanceError):
        read(tmp_path).port = 1


SMTP = {"COOP_SMTP_HOST": "smtp.example", "COOP_SMTP_FROM": "ledger@studio.example"}


def test_each_setting_of_mails_is_read(tmp_path):
    found = read(
        tmp_path,
        COOP_ADDRESS="https://studio.example/",
        COOP_SMTP_HOST="Smtp.Example",
        COOP_SMTP_PORT="2525",
        COOP_SMTP_SECURITY="TLS",
        COOP_SMTP_USER="ledger",
        COOP_SMTP_PASSWORD_FILE=str(tmp_path / "password"),
        COOP_SMTP_FROM="ledger@studio.example",
    )

    assert found.address == "https://studio.example"
    assert found.smtp is not None
    assert dataclasses.asdict(found.smtp) == {
        "host": "smtp.example",
        "port": 2525,
        "security": "tls",
        "user": "ledger",
        "password_file": tmp_path / "password",
        "sender": "ledger@studio.example",
    }


@pytest.mark.parametrize(
    ("security", "port"), [("", 587), ("starttls", 587), ("tls", 465), ("none", 25)]
)
def test_a_mail_server_listens_where_the_standards_say(tmp_path, security, port):
    """RFC 6409, 3.1 for starttls; RFC 8314, 7.3 for tls; RFC 5321, 4.5.4.2 for none."""
    found = read(tmp_path, **SMTP, COOP_SMTP_SECURITY=security).smtp

    assert found.port == port


@pytest.mark.parametrize(
    ("values", "refused"),
    [
        ({"COOP_SMTP_FROM": ""}, "COOP_SMTP_FROM: '' must be the mail address"),
        ({"COOP_SMTP_FROM": "the ledger"}, "COOP_SMTP_FROM: 'the ledger' must be the mail"),
        ({"COOP_SMTP_SECURITY": "ssl"}, "one of starttls, tls, none"),
        ({"COOP_SMTP_PORT": "smtp"}, "COOP_SMTP_PORT: 'smtp' must be a whole number"),
        ({"COOP_SMTP_USER": "ledger"}, "COOP_SMTP_PASSWORD_FILE: is empty"),
        ({"COOP_SMTP_PASSWORD_FILE": "password"}, "COOP_SMTP_USER: is empty"),
        (
            {
                "COOP_SMTP_USER": "ledger",
                "COOP_SMTP_PASSWORD_FILE": "password",
                "COOP_SMTP_SECURITY": "none",
            },
            "COOP_SMTP_SECURITY: must be starttls or tls",
        ),
    ],
)
def test_mail_settings_that_do_not_go_together_are_refused(tmp_path, values, refused):
    """Found out when a mail is sent, it would be found out too late."""
    with pytest.raises(SettingsError, match=refused):
        read(tmp_path, **(SMTP | values))


def password_file(tmp_path, text, mode=0o600):
    file = tmp_path / "password"
    file.write_text(text)
    file.chmod(mode)
    return read(
        tmp_path, **SMTP, COOP_SMTP_USER="ledger", COOP_SMTP_PASSWORD_FILE=str(file)
    ).smtp


def test_a_mail_password_is_read_from_its_file_and_stands_nowhere_else(tmp_path):
    """Settings are shown when something goes wrong; a password must not be among them."""
    smtp = password_file(tmp_path, "open sesame\n")

    assert settings.read_smtp_password(smtp) == "open sesame"
    assert "sesame" not in repr(smtp)


@pytest.mark.parametrize(
    ("text", "mode", "refused"),
    [
        ("open sesame", 0o640, "others may read the password; run chmod 600"),
        (" \n", 0o600, "is empty"),
        ("x" * 1001, 0o600, "it is too long"),
    ],
)
def test_a_mail_password_that_will_not_do_is_refused(tmp_path, text, mode, refused):
    with pytest.raises(SettingsError, match=refused):
        settings.read_smtp_password(password_file(tmp_path, text, mode))


def test_a_mail_password_whose_file_is_gone_is_said(tmp_path):
    smtp = password_file(tmp_path, "open sesame")
    (tmp_path / "password").unlink()

    with pytest.raises(SettingsError, match="is not there"):
        settings.read_smtp_password(smtp)
