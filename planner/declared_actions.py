"""Contact elsewhere and minutes in matches, as somebody told them. All verbs raise Refused when nothing was written.

A correction is a row of its own that names the one it replaces; of two that would replace the same row the second is
refused and told both values.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from planner.changes import Refused
from planner.core.record import LONGEST
from planner.models import Fixture, FixtureState
from planner.record_days import settle
from planner.record_models import Declared, Elsewhere, MatchMinutes, MatchSource
from planner.turns import take_turn
from shared import audit
from shared.clock import today_at
from shared.core.contact import Kind
from shared.models import User
from squads.models import Player


@transaction.atomic
def declare_contact(
    *,
    player: Player,
    day: dt.date,
    place: Elsewhere,
    kind: Kind,
    minutes: int,
    declared_by: str,
    by: User,
    replaces: Declared | None = None,
    besides: bool = False,
    today: dt.date | None = None,
) -> Declared:
    """So many minutes of contact in training elsewhere; 0 where he was asked and there was none.

    The same a second time is taken for a slip, unless it happened `besides`.
    """
    squad = take_turn(player.squad)
    refuse_day_to_come(day, today or today_at(squad.club))
    refuse_stranger(player, day)
    refuse_minutes(minutes)
    refuse_nobody(declared_by)
    if minutes and kind is Kind.NONE:
        raise Refused(_("Choose which contact it was."))
    if replaces is not None:
        refuse_replaced(Declared, replaces, _("%(minutes)d min") % {"minutes": minutes}, player)
    elif not besides:
        refuse_twice(player, day, place, kind)
    row = Declared.objects.create(
        player=player,
        day=day,
        place=place,
        kind=kind,
        minutes=minutes,
        declared_by=declared_by.strip(),
        replaces=replaces,
        **entered(by),
    )
    for each in {day, replaces.day if replaces else day}:
        settle(squad, each, each)
    audit.record(
        squad.club, "noted contact elsewhere", player, by=by,
        says=str(row), told_by=row.declared_by, was=str(replaces or ""),
    )  # fmt: skip
    return row


@transaction.atomic
def note_match_minutes(
    *,
    fixture: Fixture,
    minutes: Mapping[Player, int],
    seen: Mapping[int, int | None],
    declared_by: str,
    by: User,
    source: MatchSource = MatchSource.TEAM_SHEET,
    today: dt.date | None = None,
) -> int:
    """The minutes of these players in a match; returns how many rows are new. `seen`: by player the key of the row
    that the page showed, None where there was none. All or none."""
    squad = take_turn(fixture.squad)
    refuse_nobody(declared_by)
    refuse_match(fixture, today or today_at(squad.club))
    if any(player.squad_id != squad.pk for player in minutes):
        raise Refused(_("A player of this form is not in the squad. Open the page again."))
    known = {row.player_id: row for row in MatchMinutes.objects.filter(fixture=fixture).counting()}
    new = {p: much for p, much in minutes.items() if p.pk not in known or known[p.pk].minutes != much}
    refuse_rivals(new, known, seen)
    for player, much in new.items():
        refuse_minutes(much)
        told = {"source": source, "declared_by": declared_by.strip(), "replaces": known.get(player.pk), **entered(by)}
        MatchMinutes.objects.create(player=player, fixture=fixture, kick_off=fixture.kick_off, minutes=much, **told)
    if new:
        for day in {fixture.day, *(known[player.pk].day for player in new if player.pk in known)}:
            settle(squad, day, day)
        was = {str(player): known[player.pk].minutes for player in new if player.pk in known}
        says = {str(player): much for player, much in new.items()}
        audit.record(squad.club, "noted match minutes", fixture, by=by, minutes=says, was=was, told_by=declared_by)
    return len(new)


@transaction.atomic
def note_match_elsewhere(
    *,
    player: Player,
    opponent: str,
    kick_off: dt.datetime,
    minutes: int,
    declared_by: str,
    by: User,
    replaces: MatchMinutes | None = None,
    today: dt.date | None = None,
) -> MatchMinutes:
    """A match for another team: school, county, a guest player."""
    squad = take_turn(player.squad)
    refuse_nobody(declared_by)
    refuse_minutes(minutes)
    if not opponent.strip():
        raise Refused(_("Say which match it was."))
    refuse_day_to_come(kick_off.astimezone(squad.club.tzinfo).date(), today or today_at(squad.club))
    if replaces is not None:
        refuse_replaced(MatchMinutes, replaces, _("%(minutes)d min") % {"minutes": minutes}, player)
        if replaces.fixture_id:
            raise Refused(_("This is one of the squad's own matches: correct it on its team sheet."))
    refuse_second_match(player, kick_off, replaces)
    row = MatchMinutes.objects.create(
        player=player,
        opponent=opponent.strip(),
        kick_off=kick_off,
        minutes=minutes,
        source=MatchSource.DECLARED,
        declared_by=declared_by.strip(),
        replaces=replaces,
        **entered(by),
    )
    for each in {row.day, replaces.day if replaces else row.day}:
        settle(squad, each, each)
    audit.record(
        squad.club, "noted match elsewhere", player, by=by,
        says=str(row), match=row.opponent, told_by=row.declared_by, was=str(replaces or ""),
    )  # fmt: skip
    return row


def entered(by: User) -> dict[str, Any]:
    return {"by": by, "by_name": str(by)[:150]}


def refuse_day_to_come(day: dt.date, today: dt.date) -> None:
    if day > today:
        raise Refused(_("%(day)s is still to come.") % {"day": date_format(day, "D j M Y")})


def refuse_stranger(player: Player, day: dt.date) -> None:
    if (player.joined and day < player.joined) or (player.left and player.left < day):
        told = {"player": player.sheet_name, "day": date_format(day, "D j M Y")}
        raise Refused(
            _("%(player)s was not in the squad on %(day)s: what he did elsewhere then counts nowhere.") % told
        )


def refuse_minutes(minutes: int) -> None:
    if not 0 <= minutes <= LONGEST:
        raise Refused(_("Minutes are a whole number from 0 to %(most)d.") % {"most": LONGEST})


def refuse_nobody(declared_by: str) -> None:
    if not declared_by.strip():
        raise Refused(_("Say who told it: a name, or the team sheet."))


def refuse_replaced(model: type, row: Any, mine: str, player: Player) -> None:
    """Somebody else has corrected the same row meanwhile."""
    if row.player_id != player.pk:
        raise Refused(_("This row is of another player. Open the page again."))
    later = model.objects.filter(replaces=row).first()
    if later is not None:
        raise Refused(
            _("%(name)s has corrected this meanwhile to %(theirs)d min, you to %(mine)s. Nothing was written.")
            % {"name": later.by_name, "theirs": later.minutes, "mine": mine}
        )


def refuse_match(fixture: Fixture, today: dt.date) -> None:
    if fixture.state != FixtureState.PLANNED:
        told = {"match": fixture, "state": fixture.get_state_display()}
        raise Refused(_("%(match)s is %(state)s: nobody has played in it.") % told)
    refuse_day_to_come(fixture.day, today)


def refuse_twice(player: Player, day: dt.date, place: Elsewhere, kind: Kind) -> None:
    """Two people tell the same, or a button is pressed twice."""
    same = Declared.objects.filter(player=player, day=day, place=place, kind=kind).counting().first()
    if same is not None:
        told = {"minutes": same.minutes, "who": same.declared_by, "name": same.by_name}
        raise Refused(
            _(
                "The same stands there already: %(minutes)d min, told by %(who)s, entered by %(name)s. Correct that "
                "line, or say that this was a second time on the same day. Nothing was written."
            )
            % told
        )


def refuse_second_match(player: Player, kick_off: dt.datetime, replaces: MatchMinutes | None) -> None:
    """Nobody plays in two matches at once."""
    others = MatchMinutes.objects.filter(player=player, kick_off=kick_off, minutes__gt=0).counting()
    same = others.exclude(pk=replaces.pk if replaces else None).first()
    if same is not None:
        told = {"minutes": same.minutes, "who": same.declared_by, "name": same.by_name}
        raise Refused(
            _(
                "A match with this kick-off stands there already: %(minutes)d min, told by %(who)s, entered by "
                "%(name)s. Correct that line. Nothing was written."
            )
            % told
        )


def refuse_rivals(new: Mapping[Player, int], known: Mapping[int, MatchMinutes], seen: Mapping[int, int | None]) -> None:
    told = [
        _("%(player)s: %(name)s has noted %(theirs)d min meanwhile, you %(mine)d.")
        % {"player": player.sheet_name, "name": row.by_name, "theirs": row.minutes, "mine": much}
        for player, much in new.items()
        if (row := known.get(player.pk)) is not None and row.pk != seen.get(player.pk)
    ]
    if told:
        raise Refused(*told, _("Nothing was written: save again to keep yours."))
