"""What people do to squads, players, absences and contact rules.

Every verb is one transaction with its entry in the audit chain. Refused says, for the person who asked, why
nothing was written.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from shared import audit
from shared.clock import today_at
from shared.models import Club, User
from shared.preview import Outdated, Preview, State
from squads.imports import squad_in
from squads.models import MADE_KEY, Absence, ContactRules, Player, Squad
from squads.published import PUBLISHED


class Refused(Exception):
    """Nothing was written; the message says why and what to do."""


# Squads and players


@transaction.atomic
def save_squad(*, squad: Squad, by: User | str, **fields: Any) -> Squad:
    """Make a squad, or change one."""
    did = "changed squad" if squad.pk else "made squad"
    for name, value in fields.items():
        setattr(squad, name, value)
    if Squad.objects.filter(club=squad.club, slug=squad.slug).exclude(pk=squad.pk).exists():
        raise Refused(_("The club has a squad with this short name already. Choose another."))
    squad.save()
    audit.record(squad.club, did, squad, by=by, slug=squad.slug)
    return squad


@transaction.atomic
def import_squad(*, squad: Squad, content: bytes, filename: str, by: User | str, seen: str | None = None) -> Preview:
    """Write every acceptable row of a list, or none; returns what was done.

    `seen` is the fingerprint of the preview that was confirmed. Raises Unreadable, and Outdated if the rows would
    now do something else.
    """
    lock(squad)
    found = squad_in(squad, content, filename, today=today_at(squad.club))
    if seen is not None and seen != found.preview.fingerprint:
        raise Outdated(found.preview)
    for player in (*found.new, *found.changed):
        player.save()
    if not found.preview.nothing_to_do:
        labels = {state: [line.label for line in found.preview.lines if line.state is state] for state in State}
        audit.record(
            squad.club,
            "imported players",
            squad,
            by=by,
            file=filename,
            new=labels[State.NEW],
            changed=labels[State.CHANGED],
        )
    return found.preview


@transaction.atomic
def add_player(*, squad: Squad, by: User | str, key: str = "", **fields: Any) -> Player:
    """Without a reference of the club's the player gets one of ours."""
    lock(squad)
    player = Player(squad=squad, key=key or f"{MADE_KEY}{squad.players.next_made_number()}", **fields)
    refuse_taken_key(player)
    player.save()
    audit.record(squad.club, "added player", player, by=by, squad=squad.slug, reference=player.key)
    return player


@transaction.atomic
def edit_player(*, player: Player, by: User | str, seen: str | None = None, **fields: Any) -> Player:
    """`seen` is the fingerprint of the player as the editor saw it: a change made meanwhile is not overwritten."""
    lock(player.squad)
    stored = Player.objects.select_related("squad__club").get(pk=player.pk)
    if seen is not None and seen != stored.fingerprint:
        raise Refused(_("Somebody else changed this player meanwhile. Open the page again and make your change there."))
    changed = {name: value for name, value in fields.items() if getattr(stored, name) != value}
    for name, value in changed.items():
        setattr(stored, name, value)
    refuse_taken_key(stored)
    stored.save()
    audit.record(stored.squad.club, "changed player", stored, by=by, squad=stored.squad.slug, fields=sorted(changed))
    return stored


def lock(squad: Squad) -> None:
    """Those who write players of one squad stand in line, so that references stay unique."""
    Squad.objects.select_for_update().get(pk=squad.pk)


def refuse_taken_key(player: Player) -> None:
    other = Player.objects.filter(squad=player.squad_id, key=player.key).exclude(pk=player.pk).first()
    if other:
        raise Refused(
            _("The reference %(key)s belongs to %(other)s already. Choose another.")
            % {"key": player.key, "other": other}
        )


@transaction.atomic
def leave_squad(*, player: Player, left: dt.date | None, by: User | str) -> None:
    """`left` is the last day in the squad; None takes a leaver back."""
    if left and player.joined and left < player.joined:
        raise Refused(_("A player cannot leave before joining. Mend one of the two dates."))
    player.left = left
    player.save(update_fields=["left"])
    did = "noted leaving" if left else "took back player"
    audit.record(player.squad.club, did, player, by=by, squad=player.squad.slug, left=left and left.isoformat())


# Who is away


@transaction.atomic
def mark_away(
    *, players: Iterable[Player], first: dt.date, last: dt.date, by: User, said_by: str = ""
) -> list[Absence]:
    """One absence for each player who is not marked away on all of these days already; returns the new ones."""
    if last < first:
        raise Refused(_("The last day away lies before the first. Mend one of the two."))
    made = []
    for player in players:
        if not player.absences.filter(first_day__lte=first, last_day__gte=last).exists():
            made.append(player.absences.create(first_day=first, last_day=last, said_by=said_by, entered_by=by))
            audit.record(player.squad.club, "marked away", player, by=by, days=f"{first} to {last}")
    return made


@transaction.atomic
def remove_absence(*, absence: Absence, by: User) -> None:
    player, days = absence.player, f"{absence.first_day} to {absence.last_day}"
    absence.delete()
    audit.record(player.squad.club, "took back absence", player, by=by, days=days)


# Contact rules: only ever added to


@transaction.atomic
def add_contact_rules(*, club: Club, by: User | str, squad: Squad | None = None, **fields: Any) -> ContactRules:
    """Rules are never changed: new ones hold from their day on, and of one day the newest."""
    if squad is not None and squad.club_id != club.pk:
        raise Refused(_("This squad is of another club."))
    rules = ContactRules.objects.create(club=club, squad=squad, **fields)
    audit.record(
        club,
        "chose contact rules",
        rules.name,
        by=by,
        squad=squad.slug if squad else "",
        source=rules.source,
        valid_from=rules.valid_from.isoformat(),
        weekly=rules.weekly,
        others=rules.other_limits,
    )
    return rules


def choose_rules(
    *, club: Club, preset: str, valid_from: dt.date, by: User | str, squad: Squad | None = None
) -> ContactRules:
    """Take over a published set as it stands; KeyError for a set that is not in `squads.published`."""
    published = PUBLISHED[preset]
    return add_contact_rules(
        club=club,
        squad=squad,
        by=by,
        name=str(published.name),
        source=published.source,
        body=published.body,
        valid_from=valid_from,
        **published.limits,
    )
