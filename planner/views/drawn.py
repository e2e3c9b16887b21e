"""The main part of a page, drawn once and kept until something changes in the club.

It may hold nothing of one person's own: no form (whose token is of his session), no name of who looks.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from typing import Any, TypeVar

from django.http import HttpRequest
from django.template.loader import render_to_string
from django.utils.safestring import SafeString
from django.utils.translation import get_language

from planner.season_figures import KEPT

T = TypeVar("T")


def drawn(request: HttpRequest, template: str, key: Hashable, make: Callable[[], Mapping[str, Any]]) -> SafeString:
    """The template over what `make` gives. The key must hold the end of the audit chain: `planner.welfare.stamp`."""
    return kept_for(request, (template, key), lambda: render_to_string(template, make(), request))


def kept_for(request: HttpRequest, key: Hashable, make: Callable[[], T]) -> T:
    """What `make` draws for whoever has the same role and language. The key as in `drawn`."""
    return KEPT.get(("drawn", key, request.membership.role, get_language()), make)
