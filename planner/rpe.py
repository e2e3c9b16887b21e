"""How hard it was, read: which answer counts, what a player is asked for, and the coaches' list of a night or match."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from django.db.models import Q
from django.utils.translation import gettext as _

from planner.attendance import span_of_session, words_of
from planner.core.rpe import ASKED_FOR, BEST_ASKED_AFTER, WORDS
from planner.days import Days
from planner.models import Fixture, Session
from planner.record_days import blocks_on
from planner.record_models import Confirmation, MatchMinutes, Presence
from planner.rpe_models import Rpe, newest
from shared.clock import WallTime
from shared.core.contact import Level
from squads.models import Player, Squad

MATCH_LASTS = dt.timedelta(hours=2)  # house rule: the end of a match is not known


@dataclass(frozen=True)
class Occasion:
    """A night or a match that somebody may say of how hard it was. The slots of a night should be fetched with it."""

    session: Session | None = None
    fixture: Fixture | None = None

    @property
    def name(self) -> str:
        """In addresses and forms."""
        return f"s{self.session.pk}" if self.session else f"f{self.fixture.pk}"

    @property
    def keys(self) -> dict[str, int | None]:
        return {"session_id": self.session and self.session.pk, "fixture_id": self.fixture and self.fixture.pk}

    @property
    def squad(self) -> Squad:
        return (self.session or self.fixture).squad

    @property
    def day(self) -> dt.date:
        return (self.session or self.fixture).day

    @cached_property
    def starts(self) -> WallTime:
        return self.session.starts if self.session else self.fixture.kicks_off

    @cached_property
    def ends(self) -> WallTime:
        if self.session:
            return self.session.on_the_wall(span_of_session(self.session)[1])
        return self.fixture.on_the_wall(self.fixture.kick_off + MATCH_LASTS)

    @property
    def best_from(self) -> WallTime:
        ends = self.ends.astimezone(dt.UTC)  # what is added to a time on the wall is wrong over a change of the clocks
        return (self.session or self.fixture).on_the_wall(ends + BEST_ASKED_AFTER)

    @property
    def is_off(self) -> bool:
        return self.session.cancelled if self.session else self.fixture.state != "planned"

    def __str__(self) -> str:
        return str(self.session) if self.session else _("the match against %(match)s") % {"match": self.fixture}


def said_of(occasion: Occasion) -> dict[int, Rpe]:
    """By player what was said last."""
    return {player: row for (player, _name), row in newest(Rpe.objects.filter(**occasion.keys)).items()}


# A player's own page


@dataclass(frozen=True)
class Asked:
    """What a player is asked for, with what was said last."""

    occasion: Occasion
    said: Rpe | None
    is_early: bool

    @property
    def is_open(self) -> bool:
        return self.said is None or self.said.number is None

    @property
    def word(self) -> str:
        return number_words(self.said.number) if self.said else ""

    @property
    def choices(self) -> list[tuple[int, str]]:
        return SCALE


def number_words(number: int | None) -> str:
    """ "7 Very Hard", "6"."""
    return "" if number is None else f"{number} {WORDS.get(number, '')}".strip()


SCALE = [(number, WORDS.get(number, "")) for number in range(11)]


def asked_of(player: Player, now: dt.datetime) -> list[Asked]:
    """The nights and matches of the last days that are over and that he may have taken part in, the newest first."""
    occasions = [*nights_of(player, now), *matches_of(player, now)]
    latest = sorted(occasions, key=lambda each: each.ends, reverse=True)
    rows = newest(Rpe.objects.filter(player=player, at__gte=now - 2 * ASKED_FOR))
    return [Asked(each, rows.get((player.pk, each.name)), now < each.best_from) for each in latest]


def nights_of(player: Player, now: dt.datetime) -> Iterable[Occasion]:
    """Without those of which the record, a mark or his own word says that he was not there."""
    rows = Session.objects.filter(while_in_squad(player), squad=player.squad_id, cancelled=False)
    recent = rows.filter(starts_at__gt=now - ASKED_FOR, starts_at__lte=now)
    sessions = list(recent.select_related("squad__club").prefetch_related("slots"))
    keys = [session.pk for session in sessions]
    confirmed = set(Confirmation.objects.filter(session__in=keys).values_list("session", flat=True))
    came = Presence.objects.filter(player=player, line__account__session__in=keys, line__account__replaced_by=None)
    there = set(came.values_list("line__account__session", flat=True))
    words = words_of(sessions)
    for session in sessions:
        word = words.get((player.pk, session.pk))
        was_there = session.pk in there if session.pk in confirmed else word is None or word.coming
        occasion = Occasion(session)
        if was_there and occasion.ends <= now:
            yield occasion


def while_in_squad(player: Player) -> Q:
    days = Q() if player.joined is None else Q(day__gte=player.joined)
    return days if player.left is None else days & Q(day__lte=player.left)


def matches_of(player: Player, now: dt.datetime) -> Iterable[Occasion]:
    """Without those that somebody said he did not play in."""
    rows = Fixture.objects.filter(while_in_squad(player), squad=player.squad_id).played_or_due()
    recent = rows.filter(kick_off__gt=now - ASKED_FOR, kick_off__lte=now - MATCH_LASTS, all_day=False)
    told = MatchMinutes.objects.filter(player=player, fixture__in=recent).counting()
    minutes = dict(told.values_list("fixture", "minutes"))
    for fixture in recent.select_related("squad__club"):
        if minutes.get(fixture.pk, 1):
            yield Occasion(fixture=fixture)


# The coaches' list


@dataclass(frozen=True)
class Line:
    """A player in the list. `minutes`: those of the record, or of the plan; None where nothing says any."""

    player: Player
    said: Rpe | None
    minutes: int | None

    @property
    def word(self) -> str:
        return number_words(self.said.number) if self.said else ""


@dataclass(frozen=True)
class Grid:
    occasion: Occasion
    lines: tuple[Line, ...]
    is_confirmed: bool

    @property
    def count(self) -> int:
        return sum(line.said is not None and line.said.number is not None for line in self.lines)


def grid_of(occasion: Occasion) -> Grid:
    """Whoever was there by what is known, and whoever something was said of; by name. In a fixed number of queries."""
    days = Days.of(occasion.squad, occasion.day, occasion.day)
    minutes = minutes_of_night(days, occasion) if occasion.session else minutes_of_match(occasion.fixture)
    said = said_of(occasion)
    known = [player for player in days.players.values() if player.pk in minutes or player.pk in said]
    players = known if occasion.session else list(days.players.values())
    lines = [Line(player, said.get(player.pk), minutes.get(player.pk)) for player in players]
    lines.sort(key=lambda line: (line.player.family_name.casefold(), line.player.given_name))
    confirmed = bool(occasion.session and occasion.session.pk in days.records.confirmed)
    return Grid(occasion, tuple(lines), confirmed)


def minutes_of_night(days: Days, occasion: Occasion) -> Mapping[int, int]:
    """As the record says, else as the plan and who was there say."""
    night = next((each for each in days.sessions if each.pk == occasion.session.pk), None)
    minutes: dict[int, int] = {}
    if night is not None:
        for player in days.players.values():
            if days.ceiling(player, night).level is not Level.ABSENT:
                minutes[player.pk] = 0
        for block in blocks_on(days, night):
            for part in block.parts:
                for player, here in part.here.items():
                    minutes[player] = minutes.get(player, 0) + here.minutes
    return minutes


def minutes_of_match(fixture: Fixture) -> Mapping[int, int]:
    return dict(MatchMinutes.objects.filter(fixture=fixture).counting().values_list("player", "minutes"))


# What was asked lately

LATELY = dt.timedelta(days=28)


@dataclass(frozen=True)
class AskedLately:
    """A night or a match that is over, and how many have a number of it."""

    occasion: Occasion
    count: int


def lately(squad: Squad, now: dt.datetime) -> list[AskedLately]:
    """Nights and matches of the last four weeks that are over, the newest first; in four queries."""
    nights = Session.objects.filter(squad=squad, cancelled=False, starts_at__range=(now - LATELY, now))
    matches = Fixture.objects.filter(squad=squad, kick_off__range=(now - LATELY, now)).played_or_due()
    occasions = [
        *(Occasion(session=each) for each in nights.select_related("squad__club").prefetch_related("slots")),
        *(Occasion(fixture=each) for each in matches.select_related("squad__club")),
    ]
    said = Rpe.objects.filter(Q(session__in=nights) | Q(fixture__in=matches))
    counts = Counter(name for (_player, name), row in newest(said).items() if row.number is not None)
    over = [AskedLately(each, counts[each.name]) for each in occasions if each.ends <= now]
    return sorted(over, key=lambda each: each.occasion.ends, reverse=True)
