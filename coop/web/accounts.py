"""What a member chooses to sign in with: refusals said beside the fields."""

from coop.ledger.schema import Refused
from coop.store import members
from coop.store.throttle import Throttled
from coop.web.i18n import Words

_LIMITS = {
    "password-too-short": ("shortest", members.PASSWORD_CHARACTERS_MIN),
    "password-too-long": ("longest", members.PASSWORD_CHARACTERS_MAX),
    "sign-in-name-too-long": ("longest", members.NAME_CHARACTERS_MAX),
    "mail-too-long": ("longest", members.MAIL_CHARACTERS_MAX),
}


def name_refusals(sign_in_name: str) -> list[Refused]:
    """Return what is wrong with a new sign-in name; empty when nothing is."""
    return _refused("sign_in_name", members.name_refusal(sign_in_name))


def password_refusals(password: str, *, sign_in_name: str) -> list[Refused]:
    """Return what is wrong with a new password; empty when nothing is."""
    return _refused("password", members.password_refusal(password, sign_in_name=sign_in_name))


def mail_refusals(mail: str) -> list[Refused]:
    """Return what is wrong with a mail address; none at all is fine."""
    if len(mail) > members.MAIL_CHARACTERS_MAX:
        return _refused("mail", "mail-too-long")
    name, _, host = mail.rpartition("@")
    fine = name and host and mail.isprintable() and " " not in mail
    return [] if fine or not mail else _refused("mail", "not-a-mail-address")


def _refused(field: str, code: str | None) -> list[Refused]:
    if code is None:
        return []
    name, limit = _LIMITS.get(code, ("", 0))
    return [Refused(field=field, code=code, limits=((name, str(limit)),) if name else ())]


def too_often(words: Words, refused: Throttled) -> str:
    """Say when the next try is heard."""
    minutes = max(1, round(refused.retry_after_s / 60))
    return words.ngettext(
        "Too many tries. Try again in %(num)d minute.",
        "Too many tries. Try again in %(num)d minutes.",
        minutes,
    )
