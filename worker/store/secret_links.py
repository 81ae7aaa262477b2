"""The secret of a link that opens something to whoever has it: shown once, and kept as its hash alone.

What is kept is looked up by the hash: whoever tries secrets cannot steer their hashes, so the time that the look-up
takes tells nothing about any of those kept.
"""

from __future__ import annotations

import hashlib
import re
import secrets

SECRET_BYTES = 32
_SECRET = re.compile(r"[A-Za-z0-9_-]{43}", re.ASCII)
"""How 32 bytes look in the alphabet of ``secrets.token_urlsafe``."""


def new_secret() -> str:
    """256 random bits."""
    return secrets.token_urlsafe(SECRET_BYTES)


def hash_of(secret: str) -> str:
    """What is kept of a secret; of a text that can be none of ours, what nothing is kept by.

    A plain hash is enough: the secret is random bits, not a password that could be guessed.
    """
    return hashlib.sha256((secret if _SECRET.fullmatch(secret) else "").encode()).hexdigest()
