"""What a coach should know about how the problem was made, in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.building.attendance import Attendance
from planner.building.library import Library
from planner.building.nights import Nights
from planner.building.rows import Rows
from planner.building.wishes_asked import Asked
from planner.programme import session_name
from squads.models import ContactRules

SHOWN = 6  # names in one sentence


def notes_on(
    rows: Rows, nights: Nights, attendance: Attendance, library: Library, rules: list[ContactRules], asked: Asked
) -> Iterator[str]:
    if not nights.open:
        yield _("No night of this block is left to plan.")
        return
    yield from on_rules(rules)
    yield from on_nights(nights)
    yield from on_players(rows, attendance)
    yield from on_targets(rows, library)
    yield from on_drills(library)
    yield from on_wishes(asked, library)


def on_rules(rules: list[ContactRules]) -> Iterator[str]:
    if not rules:
        yield _(
            "No contact rules are chosen: nothing limits contact in this plan, and no rung has to be earned. "
            "Your welfare officer chooses the rules of your union on the squad page."
        )
    if len(rules) > 1:
        yield _("The contact rules change in this block (%(rules)s): the stricter figure of each holds throughout.") % {
            "rules": ", ".join(map(str, rules))
        }


def on_nights(nights: Nights) -> Iterator[str]:
    ahead = [night for night in nights.all if not nights.is_past(night)]
    if full := [night for night in ahead if not nights.slots(night)]:
        yield _("Nothing to plan on %(nights)s: every slot there holds fixed content, or there is none.") % {
            "nights": ", ".join(map(session_name, full))
        }
    if bare := [night for night in nights.open if not night.kit]:
        yield _("No kit is entered for %(nights)s, so kit is not counted there.") % {
            "nights": ", ".join(map(session_name, bare))
        }


def on_players(rows: Rows, attendance: Attendance) -> Iterator[str]:
    here = {player.pk for player in attendance.players}
    if missing := [player for player in rows.players if player.pk not in here]:
        text = ngettext("%(names)s misses every night.", "%(names)s miss every night.", len(missing))
        yield text % {"names": some(missing)}


def on_targets(rows: Rows, library: Library) -> Iterator[str]:
    wanted = {target.skill.code: target.skill for target in rows.targets if target.minutes}
    if not wanted:
        yield _("No minutes are wished for yet: set them for the position groups of the squad.")
        return
    if missing := [skill for code, skill in sorted(wanted.items()) if code not in library.trained]:
        yield _("No drill that fits trains %(skills)s.") % {"skills": some(missing)}
    if empty := sorted(rows.focus - wanted.keys()):
        yield _("Main skills without minutes for any group: %(skills)s.") % {"skills": ", ".join(empty)}


def on_drills(library: Library) -> Iterator[str]:
    if library.left_out:
        yield _("Left out: %(drills)s.") % {"drills": some(library.left_out, "; ")}


def on_wishes(asked: Asked, library: Library) -> Iterator[str]:
    """What a coach wishes for and this block cannot follow."""
    fresh = [wish.drill for wish in asked.of_drill.values() if wish.fresh]
    if fresh and not asked.wishes.tiring_rpe:
        yield _("Wanting fresh legs does not count for %(drills)s: fresh drills before tiring ones is off.") % {
            "drills": some(fresh)
        }
    wanted = {wish.drill for wish in asked.of_drill.values() if wish.runs_least}
    wanted |= {drill for favourite in asked.favourites for drill in favourite.drills.all()}
    if lost := sorted((drill for drill in wanted if drill.pk not in library.sizes), key=lambda drill: drill.number):
        yield _("Wished for, but not to be planned in this block: %(drills)s.") % {"drills": some(lost)}
    if away := [favourite for favourite in asked.favourites if not asked.nights_of(favourite)]:
        yield _("Favourites do not count for %(coaches)s: no night that is left names them.") % {"coaches": some(away)}


def some(things: Sequence[object], comma: str = ", ") -> str:
    """The first few, and how many more."""
    more = len(things) - SHOWN
    shown = comma.join(map(str, things[:SHOWN]))
    return _("%(shown)s and %(more)d more") % {"shown": shown, "more": more} if more > 0 else shown
