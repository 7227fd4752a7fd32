"""Which passwords are chosen so often that they are tried first: digests of the commonest."""

from functools import cache
from hashlib import sha256

from coop.store.paths import packaged

FILE = "common.txt"
DIGITS = 12  # of the digest; one password in 5 * 10^10 is refused though it is not common


def is_common(password: str) -> bool:
    """Say whether a password is one of the commonest, however its letters are cased."""
    digest = sha256(password.casefold().encode("utf-8", "surrogatepass")).hexdigest()
    return digest[:DIGITS] in _digests()


@cache
def _digests() -> frozenset[str]:
    text = (packaged("fixtures") / "passwords" / FILE).read_text(encoding="ascii")
    return frozenset(text.split())
