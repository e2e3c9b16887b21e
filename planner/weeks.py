"""A squad's week as its pages show it: nights with what stands in them, and what each player still needs."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import chain

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.attendance import clock_words, misses
from planner.build import key_of, problem_of, session_id
from planner.building.nights import dark_in
from planner.building.rows import days_to_plan
from planner.core.tally import PlayerTally, SkillTally
from planner.core.totals import LIMITED, Figure, Limit, PlayerWeek, Room
from planner.core.words import listed
from planner.days import Days
from planner.light import Light, light_of
from planner.models import Block, Session, Slot, Station
from planner.overview import Overview
from planner.programme import session_name, slot_name
from planner.totals import LOOK_BACK, WEEK, PlayerLine, Totals, WeekTotals, totals_from
from shared.core.contact import Kind, Level
from squads.core.eligibility import Ceiling, Word
from squads.models import Player, Squad

SHOWN_SKILLS = 3
LONGEST_BLOCK = dt.timedelta(weeks=52)  # by a constraint of the database


@dataclass(frozen=True, slots=True)
class Name:
    """A player as he stands on a night. `mark`: what he may do less than the others, "" if nothing."""

    player: Player
    mark: str
    reason: str = ""
    word: Word | None = None
    times: str = ""

    @property
    def is_away(self) -> bool:
        return self.mark == "away"


@dataclass(frozen=True, slots=True)
class StationLine:
    """`missing` are coming that night, but not for all of this slot."""

    station: Station
    names: tuple[Name, ...]
    missing: tuple[Name, ...] = ()

    @property
    def coming(self) -> int:
        return sum(not name.is_away for name in self.names) - len(self.missing)

    @property
    def is_below_least(self) -> bool:
        """Fewer can come than the drill needs."""
        return self.coming < self.station.drill.players_least


@dataclass(frozen=True, slots=True)
class SlotLine:
    """A slot with its clock times. `idle`: who is expected and stands nowhere in it.

    `is_dark`: the lights go off before it ends.
    """

    slot: Slot
    starts: dt.datetime
    stations: tuple[StationLine, ...]
    idle: tuple[Name, ...]
    has_begun: bool = False
    is_dark: bool = False

    @property
    def number(self) -> int:
        return self.slot.order + 1

    @property
    def is_empty(self) -> bool:
        return self.slot.is_planned and not self.stations


@dataclass(frozen=True, slots=True)
class ContactLine:
    """The most that any one player has of a kind on the night, and in the whole week, in minutes."""

    kind: Kind
    night: float
    week: float
    limit: Limit | None
    room: Room


@dataclass(frozen=True)
class Night:
    """`for_all`: why hardly anybody may do full work, "" if they may; `limited`: who may do still less, or is away."""

    session: Session
    slots: tuple[SlotLine, ...]
    contact: tuple[ContactLine, ...]
    expected: int
    for_all: str
    limited: tuple[Name, ...]
    breaches: tuple[str, ...]
    is_open: bool
    block: Block | None

    @property
    def ends(self) -> dt.datetime:
        minutes = sum(line.slot.minutes for line in self.slots)
        return self.session.on_the_wall(self.session.starts_at + dt.timedelta(minutes=minutes))

    @cached_property
    def light(self) -> Light | None:
        return light_of(self.session, [line.slot.minutes for line in self.slots])

    @property
    def to_plan(self) -> list[SlotLine]:
        return [line for line in self.slots if line.slot.is_planned]

    @property
    def ahead(self) -> list[SlotLine]:
        """Those to plan that have not begun and have light."""
        return [line for line in self.to_plan if not line.has_begun and not line.is_dark]

    @property
    def misfits(self) -> list[str]:
        """What does not fit yet, a sentence each, empty slots first. What is past is not to be mended."""
        if not self.is_open:
            return []
        players = (self._away(), self._missing(), self._short_of_players(), self._without_a_place())
        return [*self._dark(), *self._empty(), *chain.from_iterable(players), *self.breaches]

    def _dark(self) -> Iterator[str]:
        for line in self.to_plan:
            if line.is_dark and line.stations and not line.has_begun:
                yield _("%(slot)s: the lights go off before it ends.") % {"slot": slot_name(self.session, line.slot)}

    def _empty(self) -> Iterator[str]:
        for line in self.ahead:
            if line.is_empty:
                yield _("%(slot)s: nothing is planned.") % {"slot": slot_name(self.session, line.slot)}

    def _away(self) -> Iterator[str]:
        names = (name for line in self.ahead for each in line.stations for name in each.names if name.is_away)
        if away := dict.fromkeys(name.player for name in names):
            text = ngettext(
                "%(night)s: %(names)s is away and still stands in the plan.",
                "%(night)s: %(names)s are away and still stand in the plan.",
                len(away),
            )
            yield text % {"night": session_name(self.session), "names": listed(p.sheet_name for p in away)}

    def _missing(self) -> Iterator[str]:
        for line in self.ahead:
            for each in line.stations:
                for name in each.missing:
                    yield _("%(slot)s: %(name)s is there %(times)s and stands at %(drill)s.") % {
                        "slot": slot_name(self.session, line.slot),
                        "name": name.player.sheet_name,
                        "times": name.times,
                        "drill": each.station.drill,
                    }

    def _short_of_players(self) -> Iterator[str]:
        for line in self.ahead:
            for each in line.stations:
                if each.is_below_least and (each.missing or any(name.is_away for name in each.names)):
                    yield _("%(slot)s: %(drill)s needs %(least)d players, %(coming)d can come.") % {
                        "slot": slot_name(self.session, line.slot),
                        "drill": each.station.drill,
                        "least": each.station.drill.players_least,
                        "coming": each.coming,
                    }

    def _without_a_place(self) -> Iterator[str]:
        for line in self.ahead:
            if line.stations and line.idle:
                text = ngettext(
                    "%(slot)s: %(count)d player without a station.",
                    "%(slot)s: %(count)d players without a station.",
                    len(line.idle),
                )
                yield text % {"slot": slot_name(self.session, line.slot), "count": len(line.idle)}


@dataclass(frozen=True, slots=True)
class Load:
    """AU of the week, fixed content counted, against the block's band; `low` None: nothing more is owed."""

    load: int
    low: int | None
    high: int | None

    @property
    def room(self) -> str:
        if self.high is not None and self.load > self.high:
            return "past"
        return "below" if self.low is not None and self.load < self.low else "fine"


@dataclass(frozen=True)
class Need:
    """What a player has, and still lacks: contact of the week, its load, the skills of the block."""

    line: PlayerLine
    load: Load | None
    skills: tuple[tuple[str, SkillTally], ...]
    short: float

    @property
    def player(self) -> Player:
        return self.line.player

    @property
    def week(self) -> PlayerWeek:
        return self.line.week

    @property
    def urgency(self) -> tuple[int, float, float]:
        """Limits come before wishes; among equals whoever is shortest of his minutes comes first."""
        rank, excess, _fullness = self.week.urgency
        return rank, excess, -self.short


@dataclass(frozen=True)
class Week:
    """The week of a squad from `monday`, as seen on `today`, at `now`. Its parts are put together on first use."""

    squad: Squad
    monday: dt.date
    today: dt.date
    days: Days
    totals: Totals
    overviews: tuple[Overview, ...]
    blocks: tuple[Block, ...]
    now: dt.datetime | None = None

    @property
    def sunday(self) -> dt.date:
        return self.monday + LOOK_BACK

    @property
    def before(self) -> dt.date:
        return self.monday - WEEK

    @property
    def after(self) -> dt.date:
        return self.monday + WEEK

    @property
    def block(self) -> Block | None:
        """The one that the week belongs to; of two that meet in it the later."""
        return self.blocks[0] if self.blocks else None

    @property
    def contact(self) -> WeekTotals:
        return self.totals.weeks[0]

    @cached_property
    def nights(self) -> list[Night]:
        return [self._night(session) for session in self.days.between(self.monday, self.sunday)]

    @cached_property
    def next_day(self) -> dt.date | None:
        """Today, or the next day of the week on which the squad trains; None once the week is over."""
        return next((night.session.day for night in self.nights if night.session.day >= self.today), None)

    @cached_property
    def needs(self) -> list[Need]:
        return sorted((self._need(line) for line in self.contact.lines), key=lambda need: need.urgency)

    def night(self, session: int | None) -> Night | None:
        return next((night for night in self.nights if night.session.pk == session), None)

    def block_of(self, session: Session) -> Block | None:
        return next((block for block in self.blocks if block.first_day <= session.day <= block.last_day), None)

    def overview_of(self, session: Session) -> Overview | None:
        block = self.block_of(session)
        return None if block is None else self.overviews[self.blocks.index(block)]

    def _night(self, session: Session) -> Night:
        overview, usual = self.overview_of(session), self._usual(session)
        names = self._names(session, usual.level)
        starts, lines, dark = session.starts_at, [], set(dark_in(session))
        for slot in session.slots.all():
            has_begun = self.now is not None and starts <= self.now
            lines.append(slot_line(slot, session.on_the_wall(starts), names, has_begun=has_begun, is_dark=slot in dark))
            starts += dt.timedelta(minutes=slot.minutes)
        return Night(
            session,
            tuple(lines),
            tuple(self._contact_lines(session)),
            sum(not name.is_away for name in names.values()),
            "" if usual.level is Level.FULL else usual.reason,
            tuple(name for name in names.values() if name.reason),
            tuple(self._breaches(session, overview)),
            overview is not None and session.day >= self.today,
            self.block_of(session),
        )

    def _usual(self, session: Session) -> Ceiling:
        """What most of those who come may do, with the reason that most of them have."""
        found = Counter(
            ceiling
            for player in self.days.players.values()
            if (ceiling := self.days.ceiling(player, session)).level is not Level.ABSENT
        )
        return found.most_common(1)[0][0] if found else Ceiling(Level.FULL, "")

    def _names(self, session: Session, usual: Level) -> dict[int, Name]:
        """Everyone of the squad as he stands that night; what holds for most needs no mark."""
        names = {}
        for player in self.days.players.values():
            found = self.days.ceiling(player, session)
            mark = mark_of(found.level, usual)
            word = self.days.word(player, session)
            times = clock_words(session, word.starts, word.ends) if word else ""
            names[player.pk] = Name(player, mark, (found.reason if mark else "") or times, word, times)
        return names

    def _contact_lines(self, session: Session) -> Iterator[ContactLine]:
        for kind in LIMITED:
            most, tonight = self._most_of_week[kind], self._most_tonight[session.pk, kind]
            yield ContactLine(
                kind,
                tonight / 100,
                most.minutes if most else 0,
                self.contact.limits.by_kind.get(kind),
                most.against_limit if most else Room.FINE,
            )

    @cached_property
    def _most_of_week(self) -> dict[Kind, Figure | None]:
        """The figure of the player who has most of a kind; None without players."""
        weeks = [line.week for line in self.contact.lines]
        return {
            kind: max((week.figure(kind) for week in weeks), key=lambda figure: figure.hundredths, default=None)
            for kind in LIMITED
        }

    @cached_property
    def _most_tonight(self) -> Counter[tuple[int, Kind]]:
        """By session and kind the hundredths of the player who has most that night."""
        most: Counter[tuple[int, Kind]] = Counter()
        for stretches in self.contact.by_player.values():
            his: Counter[tuple[int, Kind]] = Counter()
            for stretch in stretches:
                his[stretch.session, stretch.kind] += stretch.counted
            most |= his
        return most

    @staticmethod
    def _breaches(session: Session, overview: Overview | None) -> Iterator[str]:
        """Rules that the night breaks; those about players who are not there are told together, not one by one."""
        for breach in overview.breaches if overview else ():
            if breach.session == session_id(session.pk) and not overview.is_about_away(breach):
                yield breach.text

    def _need(self, line: PlayerLine) -> Need:
        overview, tally = self.overviews[0] if self.overviews else None, self._tallies.get(line.player.pk)
        if overview is None or tally is None:
            return Need(line, None, (), 0)
        short = sorted((each for each in tally.skills if each.short), key=lambda each: -each.short)
        named = tuple((overview.built.words.other(each.skill), each) for each in short[:SHOWN_SKILLS])
        return Need(line, self._load(overview, tally), named, sum(each.short for each in short))

    @cached_property
    def _tallies(self) -> dict[int, PlayerTally]:
        return {key_of(each.player): each for each in self.overviews[0].standing.tallies} if self.overviews else {}

    def _load(self, overview: Overview, tally: PlayerTally) -> Load:
        """What stands in the week of the block, and the fixed content that its bands leave out."""
        block = self.blocks[0]
        number = (max(self.monday, block.first_day) - block.first_day).days // 7
        planned = tally.loads[number]
        fixed = overview.built.fixed_load.get((key_of(tally.player), number), 0)
        return Load(
            planned.load + fixed,
            planned.low + fixed if planned.low else None,
            None if planned.high is None else block.load_high,
        )


def mark_of(level: Level, usual: Level) -> str:
    """NC always stands beside a name; that only controlled work is allowed, where others may do more."""
    if level is Level.ABSENT:
        return "away"
    if level is Level.NONE:
        return "NC"
    return "controlled" if level is Level.CONTROLLED and usual is Level.FULL else ""


def slot_line(slot: Slot, starts: dt.datetime, names: dict[int, Name], **state: bool) -> SlotLine:
    ends = starts + dt.timedelta(minutes=slot.minutes)
    gone = {key for key, name in names.items() if not name.is_away and misses(name.word, starts, ends)}
    stations = tuple(station_line(station, names, gone) for station in slot.stations.all())
    busy = {name.player.pk for line in stations for name in line.names}
    idle = (
        (name for key, name in names.items() if key not in busy | gone and not name.is_away) if slot.is_planned else ()
    )
    return SlotLine(slot, starts, stations, tuple(idle), **state)


def station_line(station: Station, names: dict[int, Name], gone: set[int]) -> StationLine:
    players = station.standing
    missing = tuple(names[key] for key in players if key in gone)
    return StationLine(station, tuple(names[key] for key in players), missing)


def week_of(
    squad: Squad, monday: dt.date, today: dt.date, now: dt.datetime | None = None, *, judged: bool = True
) -> Week:
    """In a fixed number of queries; the squad's club should be fetched with it.

    The days of the week before come with it, so that steps can be told. Without being `judged` the week is taken
    apart from its block: quicker, and nothing is said of rules, load and skills.
    """
    first, last = monday - WEEK, monday + LOOK_BACK
    blocks = tuple(blocks_in(squad, monday, last)) if judged else ()
    whole = days_to_plan(blocks, first, last) if blocks else Days.of(squad, first, last)
    days = whole.cut(first, last)
    built = [problem_of(block, today=today, now=now, as_it_stands=True, days=whole) for block in blocks]
    overviews = tuple(Overview(each, each.programme) for each in built)
    return Week(squad, monday, today, days, totals_from(days, monday, 1, today), overviews, blocks, now)


def blocks_in(squad: Squad, first: dt.date, last: dt.date) -> Iterator[Block]:
    """Blocks that hold one of these days, the latest first."""
    begun = squad.blocks.filter(first_day__lte=last, first_day__gt=first - LONGEST_BLOCK)
    return (block for block in begun if block.last_day >= first)
