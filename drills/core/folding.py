"""Text as a search compares it: without capitals and without accents, the same on every database."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable


def fold(text: str) -> str:
    """ "Dédoublé Groß" is "dedouble gross". Folding twice changes nothing more.

    By canonical decomposition and full case folding (The Unicode Standard, 3.11 and 3.13); marks are then left out.
    """
    return _bare(_bare(text).casefold())


def joined(texts: Iterable[str]) -> str:
    """Texts folded and one under the other, so that no word is found across two of them."""
    return "\n".join(fold(text) for text in texts if text)


def _bare(text: str) -> str:
    if text.isascii():
        return text
    return "".join(each for each in unicodedata.normalize("NFD", text) if unicodedata.category(each) != "Mn")
