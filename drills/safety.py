"""The safety box of a card: the drill's own notes, and what every card of its rung must say besides.

The sentences are the usual cautions of the trade. They defer to union and medical staff and clear nobody.
"""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from drills.models import Drill
from shared.core.contact import Kind

LIVE = (Kind.FULL, Kind.SET_PIECE)


@dataclass(frozen=True, slots=True)
class SafetyBox:
    """`notes` are the drill's own; `rules` hold on every card of the rung; `check` is asked aloud before live work."""

    notes: tuple[str, ...]
    stop: str = ""
    barred: str = ""
    rules: tuple[str, ...] = ()
    check: str = ""
    defers: str = ""


def safety_box(drill: Drill) -> SafetyBox:
    """At C0 the drill's own notes alone; from C1 up the full box."""
    notes = tuple(drill.safety)
    if drill.rung == "C0":
        return SafetyBox(notes)
    return SafetyBox(
        notes=notes,
        stop=_("“Freeze” stops the drill; anyone may call it."),
        barred=_("Not in the contact: anyone marked NC or not cleared for %(code)s, %(name)s.")
        % {"code": drill.rung, "name": drill.rung_name.lower()},
        rules=tuple(_rules(drill)),
        check=_check() if drill.kind in LIVE else "",
        defers=_("Your union's regulations and medical staff decide; this card does not."),
    )


def _rules(drill: Drill) -> list[str]:
    rules = [_("Eyes up, chin off the chest, head to the side: never in front, never first.")]
    if drill.kind is not Kind.NONE:
        rules.append(_("Gumshields in; match by size, age and experience."))
        rules.append(
            _("Knock to the head, or any doubt: off, not back today. Neck pain: nobody moves them, call help.")
        )
    return rules


def _check() -> str:
    return _(
        "Ask aloud before the first whistle: rested since the last contact? what is it for? did the steps below "
        "go well? how hard? how long, and who times it? all fit for it, or what changes? who watches? "
        "warmed up for contact?"
    )
