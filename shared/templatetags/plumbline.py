"""Filters and tags that every template may use."""

from __future__ import annotations

from typing import Any

from django import template
from django.utils.safestring import SafeString

from shared import charts, member_actions

register = template.Library()


@register.simple_tag
def plumb_bar(
    value: float, limit: float | None = None, title: str = "", low: float | None = None, near: float = 0.8
) -> SafeString:
    return charts.plumb_bar(float(value), limit, title, low, near)


@register.filter
def kind_mark(kind: str) -> SafeString:
    return charts.kind_mark(kind)


@register.filter
def kind_words(kind: str) -> str:
    return charts.kind_words(kind)


@register.filter
def role_name(key: str) -> str:
    """A role by its key, as people read it; "" for one that is not known."""
    return member_actions.role_name(key)


@register.filter
def minutes(value: float | None) -> str:
    """Minutes to one decimal, without a bare .0: 12, 12.5. Nothing known is a dash, never a zero."""
    return "–" if value is None else f"{value:.1f}".removesuffix(".0")


@register.filter
def item(mapping: dict[Any, Any], key: Any) -> Any:
    """A value of a dictionary by a key held in a variable."""
    return mapping.get(key)


@register.simple_tag(takes_context=True)
def here(context: dict[str, Any], name: str) -> SafeString:
    """Mark the navigation entry that the page belongs to."""
    match = context["request"].resolver_match
    return SafeString('aria-current="page"') if match and match.url_name == name else SafeString("")
