"""Secrets that stand in an address and open one thing to whoever holds them.

Only the SHA-256 of a token is kept. That is enough without salt or slow hashing, because a token is 256 random
bits: nobody can try them all, as one could with passwords that people choose (NIST SP 800-63B-4, section 3.1.2.2,
asks for slow hashing of a look-up secret only below 112 bits; from memory). A stolen database opens nothing.
"""

from __future__ import annotations

import hashlib
import logging
import re
import secrets
from typing import TypeVar

from django.db.models import Model, QuerySet

BYTES = 32
DIGEST_LENGTH = 64

Row = TypeVar("Row", bound=Model)

# A part of a path that is as long as a token, or nearly: one with a letter missing gives too much away as well.
IN_A_PATH = re.compile(r"(?<=/)[\w-]{40,}")


def new_token() -> str:
    """A new token: 43 letters, digits, - and _. It is shown once and stored nowhere."""
    return secrets.token_urlsafe(BYTES)


def digest_of(token: str) -> str:
    """What is stored in its place: 64 hexadecimal digits."""
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def find(rows: QuerySet[Row], token: str) -> Row | None:
    """The row whose `digest` is that of the token.

    One hash and one look-up by index, whatever the token: how long it takes tells nothing of the tokens that exist,
    since what the index compares is a hash, of which nobody can choose the first digits bit by bit.
    """
    return rows.filter(digest=digest_of(token)).first()


class Masked(logging.Filter):
    """Keeps tokens out of logs: Django writes the path of each page that fails."""

    def filter(self, record: logging.LogRecord) -> bool:
        told = record.getMessage()
        if masked := IN_A_PATH.search(told):
            record.msg, record.args = IN_A_PATH.sub("…", masked.string), ()
        return True
