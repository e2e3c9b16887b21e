"""The record of one night: what it says now, what was planned, and how each line came to be."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from django.db.models import Prefetch, prefetch_related_objects
from django.utils import timezone

from drills.models import DrillSkill
from planner.attendance import span_of_session
from planner.core import record as core
from planner.days import Days
from planner.drill_use import put_back_cards
from planner.models import Session
from planner.record import Records, field_of, levels_of, planned_in
from planner.record_models import Account, Confirmation
from shared.clock import WallTime, today_at
from shared.core.contact import Level
from squads.core.eligibility import Word


@dataclass(frozen=True)
class NightRecord:
    """`days` holds the night and its players; `accounts` all that was entered, the oldest first."""

    session: Session
    days: Days
    records: Records
    accounts: tuple[Account, ...]
    confirmations: tuple[Confirmation, ...]
    now: dt.datetime

    @cached_property
    def levels(self) -> Mapping[int, Level]:
        players = self.days.players.values()
        return levels_of((player.pk, self.days.ceiling(player, self.session)) for player in players)

    @cached_property
    def allowed(self) -> Mapping[int, Level]:
        """The most that each may do once he is there, whatever was said or told of his coming."""
        came = {(player, self.session.pk): Word(True) for player in self.days.players}
        days = replace(self.days, words=came, _ceilings={})
        return levels_of((player.pk, days.ceiling(player, self.session)) for player in days.players.values())

    @cached_property
    def on(self) -> core.Field:
        return field_of(self.session, self.levels, self.days.words)

    @cached_property
    def blocks(self) -> list[core.Block]:
        """What counts now."""
        return self.records.blocks(self.session, self.on)

    @cached_property
    def planned(self) -> dict[str, core.Block]:
        """By spot what the plan holds, had everything gone by it."""
        blocks = core.night_of(planned_in(self.session), (), self.on, is_confirmed=False)
        return {block.spot: block for block in blocks}

    @cached_property
    def standing(self) -> dict[str, Account]:
        """By spot the account that counts."""
        by_key = {account.pk: account for account in self.accounts}
        found = core.standing(self.records.told.get(self.session.pk, ()))
        return {spot: by_key[told.key] for spot, told in found.items()}

    def block(self, spot: str) -> core.Block | None:
        return next((block for block in self.blocks if block.spot == spot), None)

    def history(self, spot: str) -> list[Account]:
        return [account for account in self.accounts if account.spot == spot]

    @property
    def confirmation(self) -> Confirmation | None:
        """The first one: who confirmed the night, and when."""
        return self.confirmations[0] if self.confirmations else None

    @property
    def in_charge(self) -> Confirmation | None:
        """The last one: which coaches and which first aider were there."""
        return self.confirmations[-1] if self.confirmations else None

    @property
    def version(self) -> int:
        return self.confirmations[-1].number if self.confirmations else 0

    @property
    def source(self) -> core.Source:
        return self.records.source(self.session, self.now)

    @property
    def ends(self) -> dt.datetime:
        return span_of_session(self.session)[1]

    @property
    def has_begun(self) -> bool:
        return self.now >= self.session.starts_at

    @property
    def is_over(self) -> bool:
        """By its plan; it may have been cut short."""
        return self.now >= self.ends

    @property
    def ends_at(self) -> WallTime:
        return self.session.on_the_wall(self.ends)


def night_record(session: Session, now: dt.datetime | None = None) -> NightRecord:
    """In a fixed number of queries. The squad's club should be fetched with the session."""
    days = Days.of(session.squad, session.day, session.day)
    night = next(each for each in days.sessions if each.pk == session.pk)
    fetch_cards(night)
    return NightRecord(
        night,
        days,
        days.records,
        tuple(Account.objects.filter(session=night).select_related("drill", "by").order_by("pk").with_lines()),
        tuple(Confirmation.objects.filter(session=night).order_by("number")),
        now or timezone.now(),
    )


def fetch_cards(night: Session) -> None:
    """With each drill its skills, by the version of its card that stood on the night."""
    slots = night.slots.all()
    drills = [station.drill for slot in slots for station in slot.stations.all()]
    prefetch_related_objects(drills, Prefetch("skill_shares", DrillSkill.objects.select_related("skill")))
    if night.day < today_at(night.squad.club):
        put_back_cards(slots, night)


def frozen(blocks: Mapping[str, core.Block]) -> list[dict[str, Any]]:
    """The plan as it is kept with a confirmation."""
    return [
        {
            "spot": block.spot,
            "order": block.order,
            "letter": block.letter,
            "title": block.card.title,
            "drill": block.card.drill,
            "card_version": block.card.version,
            "minutes": block.minutes,
            "rung": block.parts[0].rung,
            "share": block.parts[0].share,
            "players": [*block.players, *block.away],
        }
        for block in blocks.values()
    ]
