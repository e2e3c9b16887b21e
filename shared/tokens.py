"""Secret addresses, of which only the digest is kept: no copy of the database opens one."""

from __future__ import annotations

import hashlib
import secrets

BYTES = 32  # 256 bits: nobody finds one by trying


def new_token() -> str:
    """A secret for an address; show it once."""
    return secrets.token_urlsafe(BYTES)


def digest_of(token: str) -> str:
    """What stands in the row in its place: SHA-256. The secret is random, so it needs no salt and no slow hash."""
    return hashlib.sha256(token.encode()).hexdigest()
