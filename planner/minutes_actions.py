"""Match minutes from a file, written as the page of each match writes them."""

from __future__ import annotations

from collections import defaultdict

from django.db import transaction

from planner.declared_actions import note_match_minutes
from planner.minutes_imports import MinutesImport, Told, minutes_in
from planner.models import Fixture
from planner.turns import take_turn
from shared.models import User
from shared.preview import Outdated
from squads.models import Squad


@transaction.atomic
def import_match_minutes(*, squad: Squad, content: bytes, filename: str, by: User, seen: str) -> MinutesImport:
    """Write every acceptable row of a file, or none; returns what was done. Each match goes through
    `note_match_minutes`, once for everybody who told of it, with its checks, its settled days and its audit.

    `seen` is the fingerprint of the preview that was confirmed. Raises Unreadable, Refused, and Outdated if the rows
    would now do something else: what somebody told meanwhile is seen before it is replaced.
    """
    squad = take_turn(squad)
    found = minutes_in(squad, content, filename)
    if seen != found.preview.fingerprint:
        raise Outdated(found.preview)
    for (match, told_by), rows in by_match(found.rows).items():
        minutes = {row.player: row.minutes for row in rows}
        stood = {row.player.pk: found.seen.get(row.key) for row in rows}
        note_match_minutes(fixture=match, minutes=minutes, seen=stood, declared_by=told_by, by=by)
    return found


def by_match(rows: tuple[Told, ...]) -> dict[tuple[Fixture, str], list[Told]]:
    found: dict[tuple[Fixture, str], list[Told]] = defaultdict(list)
    for row in rows:
        found[row.match, row.told_by].append(row)
    return found
