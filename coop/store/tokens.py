"""
Secrets handed to a browser or put into a link: random, and stored as a hash only.

256 bits need no salt and no slow hash: there is nothing to guess.
"""

from hashlib import sha256
from secrets import token_urlsafe

TOKEN_BYTES = 32


def new_token() -> str:
    """Make a secret of 256 random bits as text fit for a cookie and an address."""
    return token_urlsafe(TOKEN_BYTES)


def hash_of(token: str) -> str:
    """Return what is stored and looked up instead of the secret."""
    return sha256(token.encode("utf-8", "surrogatepass")).hexdigest()
