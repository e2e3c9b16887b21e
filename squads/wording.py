"""What a level usually means in plain words: offered where somebody records a decision, to be changed at will."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from squads.models import ClearanceLevel

# Allowed, and not allowed.
USUAL: dict[str, tuple[Promise | str, Promise | str]] = {
    ClearanceLevel.OUT: (_("may watch at the side"), _("no training")),
    ClearanceLevel.NON_CONTACT: (
        _("run, pass, catch and learn the shape, alone or at a distance"),
        _("no bags, no pads, no partner in contact, no jumping, no falling"),
    ),
    ClearanceLevel.CONTROLLED: (
        _("bags, pads and a partner at an agreed pace"),
        _("nothing live, no live set piece"),
    ),
    ClearanceLevel.FULL: (_("all work"), ""),
}


def usual_words(level: str) -> tuple[str, str]:
    allowed, not_allowed = USUAL[level]
    return str(allowed), str(not_allowed)
