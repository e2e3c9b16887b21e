"""Forms of who comes and who is here."""

from __future__ import annotations

import datetime as dt
import json
import uuid
from collections.abc import Iterable
from typing import Any

from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _

from planner.attendance_actions import Tapped
from planner.attendance_models import MarkState

MOST_TAPS = 2000  # a page that waited a whole night holds fewer


def tapped_in_form(given: QueryDict) -> Tapped | None:
    """The button that was pressed: `tap` is "PLAYER:STATE", `seen-PLAYER` what the page showed."""
    player, _colon, state = given.get("tap", "").partition(":")
    if not player.isdecimal() or state not in MarkState.values:
        return None
    try:
        seen = keys_in(given.get(f"seen-{player}", "").split(","))
    except ValidationError:
        return None
    return Tapped(uuid.uuid4(), int(player), state, timezone.now(), seen)


def taps_in(body: bytes) -> list[Tapped]:
    """Taps that a page kept and sends now; ValidationError says what cannot be read."""
    try:
        entries = json.loads(body)["taps"]
    except (ValueError, KeyError, TypeError):
        raise ValidationError(_("These taps cannot be read. Open the page again.")) from None
    if not isinstance(entries, list) or len(entries) > MOST_TAPS:
        raise ValidationError(_("These are too many taps at once. Open the page again."))
    return [tap_in(entry) for entry in entries]


def tap_in(entry: Any) -> Tapped:
    try:
        at = parse_datetime(entry["at"])
        player, state = int(entry["player"]), entry["state"]
        key, seen = uuid.UUID(entry["key"]), keys_in(entry["seen"])
    except (ValueError, KeyError, TypeError, AttributeError):
        raise ValidationError(_("A tap cannot be read. Open the page again.")) from None
    if at is None or not is_aware(at) or state not in MarkState.values:
        raise ValidationError(_("A tap says nothing that is known here. Open the page again."))
    return Tapped(key, player, state, at, seen)


def is_aware(moment: dt.datetime) -> bool:
    return moment.tzinfo is not None


def keys_in(words: Iterable[str]) -> tuple[str, ...]:
    try:
        return tuple(str(uuid.UUID(word)) for word in words if word)
    except (ValueError, AttributeError):
        raise ValidationError(_("A tap cannot be read. Open the page again.")) from None
