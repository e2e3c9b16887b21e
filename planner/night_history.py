"""What the plan of a night said, and everything that was changed of it: before the night, and in its record."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from drills.models import Drill
from planner.models import Block, PlanChange, Session
from planner.programme import Programme, Spot, StationState
from planner.record_models import Confirmation
from planner.record_night import NightRecord, frozen, night_record
from planner.record_page import StationTold, stations_told
from shared.models import AuditEvent
from squads.models import Player

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True, slots=True)
class PlanLine:
    """One station of the plan, or content for everyone, as it stood."""

    title: str
    minutes: int
    rung: str
    players: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Edit:
    """One change of the programme that touched this night: `lines` say station by station what became of what."""

    at: dt.datetime
    who: str
    what: str
    undone_at: dt.datetime | None
    lines: tuple[str, ...]


@dataclass(frozen=True)
class NightHistory:
    """`plan` is the one that was frozen when the night was confirmed; before that, the one that stands.

    `edits` and `events` (time, place, slots, who was called off) are in order of time, the oldest first.
    """

    night: NightRecord
    plan: tuple[PlanLine, ...]
    edits: tuple[Edit, ...]
    events: tuple[AuditEvent, ...]

    @property
    def session(self) -> Session:
        return self.night.session

    @property
    def confirmation(self) -> Confirmation | None:
        return self.night.confirmation

    @cached_property
    def corrections(self) -> tuple[Confirmation, ...]:
        return self.night.confirmations[1:]

    @cached_property
    def told(self) -> list[StationTold]:
        return [each for each in stations_told(self.night) if each.is_told]

    @property
    def stations(self) -> list[StationTold]:
        """Of which somebody told something else than the plan, line by line."""
        return [each for each in self.told if each.is_changed or len(each.changes) > 1]

    @property
    def as_planned(self) -> int:
        return len(self.told) - len(self.stations)


def night_history(session: Session, now: dt.datetime | None = None) -> NightHistory:
    """In a fixed number of queries. The squad's club should be fetched with the session."""
    night = night_record(session, now)
    rows = night.confirmation.plan if night.confirmation else frozen(night.planned)
    changes = changes_touching(session)
    names = Names.of(session, rows, changes)
    return NightHistory(
        night,
        tuple(plan_line(row, names) for row in rows),
        tuple(edit_of(change, session, names) for change in changes),
        tuple(AuditEvent.objects.filter(club=session.squad.club.slug, subject=str(session)).order_by("number")),
    )


def changes_touching(session: Session) -> list[PlanChange]:
    """Of the block that the night falls into; what a change holds of other nights is left alone."""
    block = Block.objects.holding(session)
    if block is None:
        return []
    kept = PlanChange.objects.filter(block=block).order_by("pk")
    touching = [key for key, sessions in kept.values_list("pk", "before__sessions") if session.pk in (sessions or ())]
    return list(PlanChange.objects.filter(pk__in=touching).select_related("made_by").order_by("pk"))


@dataclass(frozen=True)
class Names:
    """Players and drills by key, of those who have gone as well."""

    players: Mapping[int, str]
    drills: Mapping[int, str]

    @classmethod
    def of(cls, session: Session, rows: Iterable[Mapping[str, Any]], changes: Iterable[PlanChange]) -> Names:
        states = [state for change in changes for side in (change.before, change.after) for state in side["stations"]]
        keys = {key for row in (*rows, *states) for key in row["players"]}
        drills = Drill.objects.filter(pk__in={state["drill"] for state in states})
        return cls(
            {player.pk: player.sheet_name for player in Player.objects.filter(pk__in=keys).select_related("squad")},
            {drill.pk: str(drill) for drill in drills},
        )

    def player(self, key: int) -> str:
        return self.players.get(key) or _("a player")

    def drill(self, key: int) -> str:
        return self.drills.get(key) or _("a drill that is gone")


def plan_line(row: Mapping[str, Any], names: Names) -> PlanLine:
    """Content for everyone names nobody."""
    players = tuple(names.player(key) for key in row["players"]) if row["drill"] else ()
    return PlanLine(row["title"], row["minutes"], row["rung"], players)


def edit_of(change: PlanChange, session: Session, names: Names) -> Edit:
    before, after = (
        Programme.from_json(side["stations"]).of_sessions([session.pk]).by_spot
        for side in (change.before, change.after)
    )
    who = str(change.made_by) if change.made_by else _("somebody who has left")
    return Edit(change.made_at, who, change.what, change.undone_at, tuple(lines_of(before, after, names)))


def lines_of(before: Mapping[Spot, StationState], after: Mapping[Spot, StationState], names: Names) -> Iterator[str]:
    for spot in sorted(before.keys() | after.keys()):
        old, new = before.get(spot), after.get(spot)
        if old == new:
            continue
        told = {"what": names.drill(spot[1])}
        if new is None:
            yield _("%(what)s: taken out") % told
        elif old is None:
            yield _("%(what)s: put in") % told + ", " + standing_words(new, names)
        elif differences := list(differences_of(old, new, names)):
            yield f"{told['what']}: {'; '.join(differences)}"


def standing_words(state: StationState, names: Names) -> str:
    count = ngettext("%(n)d player", "%(n)d players", len(state.players)) % {"n": len(state.players)}
    return ", ".join([part for part in (count, state.coach) if part])


def differences_of(old: StationState, new: StationState, names: Names) -> Iterator[str]:
    """Who came, who went, which coach and which place."""
    came, went = (sorted({*a.players} - {*b.players}) for a, b in ((new, old), (old, new)))
    if came:
        yield _("in: %(names)s") % {"names": ", ".join(names.player(key) for key in came)}
    if went:
        yield _("out: %(names)s") % {"names": ", ".join(names.player(key) for key in went)}
    if old.coach != new.coach:
        yield _("coach: %(old)s → %(new)s") % {"old": old.coach or "–", "new": new.coach or "–"}
    if old.order != new.order:
        yield _("place: %(old)s → %(new)s") % {"old": LETTERS[old.order % 26], "new": LETTERS[new.order % 26]}
    if old.locked != new.locked:
        yield _("now fixed") if new.locked else _("no longer fixed")
