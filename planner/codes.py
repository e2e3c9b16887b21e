"""Addresses as codes for a camera."""

from __future__ import annotations

import segno
from django.utils.safestring import SafeString, mark_safe


def code_of(address: str, scale: int = 3) -> SafeString:
    """Dark on white in either theme: a camera needs it so."""
    code = segno.make(address, error="m", micro=False)
    return mark_safe(code.svg_inline(scale=scale, border=4, light="white"))
