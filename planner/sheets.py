"""The A4 sheet of one night, and tonight's cards: what the programme says, in the order in which it is read outside."""

from __future__ import annotations

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from drills import words
from drills.cards import Card, CardNight, CardRound, Name, Size, cards_pdf
from drills.models import Drill
from planner.against import against
from planner.attendance import clock_words
from planner.codes import code_of
from planner.core.calendar import match_distance, timeline, week_number
from planner.core.totals import LIMITED, Room, Stretch, monday_of
from planner.days import Days
from planner.drill_use import put_back_cards
from planner.light import Light, light_of
from planner.models import Phase, Season, Session, Slot, Station
from planner.rpe import Occasion
from planner.swap_models import swaps_of
from planner.swap_told import GroupLine, StandLine, Told, told_of
from planner.totals import LOOK_BACK, Totals, totals_from
from shared.charts import kind_words
from shared.core.contact import Kind, Level
from shared.http import on_site
from shared.printing import Layout, lay_out
from squads.models import Player

TEMPLATE = "print/sheet.html"
NC = " NC"  # beside a name in a group: no contact
# Points of plain type, tried in turn until the night fits one side; the last one may run to a second.
SIZES = (10.5, 10.0, 9.5, 9.0, 8.5, 8.0, 7.5, 7.0)


class NothingToPrint(Exception):
    """A night that has no cards; the message says what to do."""


@dataclass(frozen=True, slots=True)
class StationLine:
    letter: str
    drill: Drill
    coach: str
    names: tuple[Name, ...]
    stand: StandLine | None = None

    @property
    def on_card(self) -> tuple[Name, ...]:
        """Pairs against each other and whoever helps, where there is contact; else everybody."""
        if self.stand is None:
            return self.names
        helping = tuple(Name(f"{name.removesuffix(NC)} ({job})", name.endswith(NC)) for name, job in self.stand.helpers)
        pairs = tuple(Name(f"{one} – {other}", nc=False) for one, other in self.stand.pairs)
        return (pairs or self.names) + helping

    @property
    def swaps(self) -> bool:
        """Groups come to it in turn."""
        return bool(self.stand and self.stand.groups)

    @property
    def contact(self) -> str:
        return words.contact(self.drill)


@dataclass(frozen=True, slots=True)
class SlotLine:
    """A stretch of the night: fixed content by its title, or stations side by side.

    `aside` may not take part in the contact of fixed content; at a station the rules see to that.
    """

    starts: dt.datetime
    minutes: int
    title: str
    kind: str
    rpe: int
    stations: tuple[StationLine, ...]
    without: tuple[Name, ...]
    aside: tuple[Name, ...]


@dataclass(frozen=True, slots=True)
class ContactLine:
    """One kind tonight and this week, in minutes; of the player who gets the most."""

    kind: str
    tonight: float
    week: float
    limit: int | None
    room: Room


@dataclass(frozen=True)
class Sheet:
    """Everything on the paper. Names carry NC and never a reason."""

    session: Session
    ends: dt.datetime
    light: Light | None
    heading: str
    here: int
    non_contact: tuple[str, ...]
    away: int
    slots: tuple[SlotLine, ...]
    groups: tuple[GroupLine, ...]
    kit: tuple[str, ...]
    contact: tuple[ContactLine, ...]
    plan_b: tuple[str, ...]
    emergency: tuple[tuple[str, str], ...]
    has_contact: bool
    code: str = ""  # leads each player to his number

    @property
    def check(self) -> tuple[str, ...]:
        return pre_contact_check() if self.has_contact else ()


def sheet_pdf(session: Session, today: dt.date, *, site: str = "") -> bytes:
    """The night on one A4 side, in the largest type in which it fits; raises what shared.printing raises.

    `site`: where it is reached, for the code that leads players to their number; SITE_ADDRESS without it.
    """
    address = reverse("how_hard", kwargs={"occasion": Occasion(session=session).name})
    return fitted(replace(sheet_of(session, today), code=code_of(on_site(address, site)))).pdf()


def fitted(sheet: Sheet) -> Layout:
    title = _("Session sheet, %(session)s") % {"session": sheet.session}
    for size in SIZES:
        layout = lay_out(TEMPLATE, {"sheet": sheet, "size": f"{size}pt"}, title=title)
        if layout.pages == 1:
            break
    return layout


def cards_tonight_pdf(session: Session, today: dt.date, *, size: Size = Size.A5, site: str = "") -> bytes:
    """A card for each station of the night, with time, place, coach and names, or with its rounds where groups swap.
    Raises NothingToPrint."""
    cards = cards_tonight(sheet_of(session, today))
    if not cards:
        raise NothingToPrint(_("No station stands in this night yet, so there is no card. Plan its block first."))
    return cards_pdf(cards, size=size, site=site, title=_("Cards, %(session)s") % {"session": session})


Turn = tuple[SlotLine, StationLine]  # a station, and when it runs


def cards_tonight(sheet: Sheet) -> list[Card]:
    """One for each station, in the order of time; where groups swap, one for each place with all that come to it."""
    by_place: dict[tuple[int, str, str], list[Turn]] = defaultdict(list)
    cards: list[list[Turn]] = []
    for slot in sheet.slots:
        for station in slot.stations:
            turns = by_place[station.drill.pk, station.letter, station.coach] if station.swaps else []
            if not turns:
                cards.append(turns)
            turns.append((slot, station))
    return [Card(turns[0][1].drill, night_on_card(turns)) for turns in cards]


def night_on_card(turns: Sequence[Turn]) -> CardNight:
    slot, station = turns[0]
    place = _("place %(letter)s") % {"letter": station.letter}
    if not station.swaps:
        time = _("%(time)s, %(minutes)d min") % {"time": clock(slot.starts), "minutes": slot.minutes}
        return CardNight(time, place, station.coach, station.on_card)
    return CardNight(times_of(turns), place, station.coach, rounds=tuple(round_on_card(*turn) for turn in turns))


def times_of(turns: Sequence[Turn]) -> str:
    told = {"from": clock(turns[0][0].starts), "until": clock(ends_of(turns[-1][0])), "n": len(turns)}
    return ngettext("%(from)s to %(until)s, %(n)d round", "%(from)s to %(until)s, %(n)d rounds", len(turns)) % told


def round_on_card(slot: SlotLine, station: StationLine) -> CardRound:
    """When, which group, and of it pairs, jobs, and who may do no contact."""
    told = {"from": clock(slot.starts), "until": clock(ends_of(slot)), "group": station.stand.told_groups}
    return CardRound(_("%(from)s to %(until)s, group %(group)s:") % told, station.on_card)


def ends_of(slot: SlotLine) -> dt.datetime:
    return slot.starts + dt.timedelta(minutes=slot.minutes)


def sheet_of(session: Session, today: dt.date) -> Sheet:
    """The session's squad and club should be fetched with it."""
    monday = monday_of(session.day)
    days = Days.of(session.squad, monday - LOOK_BACK, monday + LOOK_BACK)
    totals = totals_from(days, monday, 1, today)
    night = next(each for each in totals.days.sessions if each.pk == session.pk)
    slots = list(night.slots.all())
    if session.day < today:
        put_back_cards(slots, session)
    spans = timeline(session.starts, [slot.minutes for slot in slots])
    stands = {player.pk: stands_on(totals.days, player, session) for player in totals.days.players.values()}
    here = [player for player in totals.days.players.values() if stands[player.pk].level is not Level.ABSENT]
    told = groups_told(night, totals.days.players, stands)
    lines = tuple(
        slot_line(slot, starts, here, stands, told) for slot, (starts, _ends) in zip(slots, spans, strict=True)
    )
    stretches = [stretch for line in totals.weeks[0].lines for each in line.week.figures for stretch in each.stretches]
    return Sheet(
        session=session,
        ends=spans[-1][1] if spans else session.starts,
        light=light_of(session, [slot.minutes for slot in slots]),
        heading=heading(session, totals.days.matches),
        here=len(here),
        non_contact=tuple(paper_name(player) for player in here if stands[player.pk].level is Level.NONE),
        away=len(totals.days.players) - len(here),
        slots=lines,
        groups=tuple(told.group_lines) if told else (),
        kit=tuple(kit_of(slots)),
        contact=tuple(contact_lines(totals, session)),
        plan_b=tuple(plan_b(session, slots)),
        emergency=emergency_of(session),
        has_contact=any(stretch.session == session.pk and stretch.in_contact for stretch in stretches),
    )


@dataclass(frozen=True, slots=True)
class Stands:
    level: Level
    times: str


def stands_on(days: Days, player: Player, session: Session) -> Stands:
    word = days.word(player, session)
    return Stands(days.ceiling(player, session).level, clock_words(session, word.starts, word.ends) if word else "")


def groups_told(night: Session, players: Mapping[int, Player], stands: dict[int, Stands]) -> Told | None:
    """Groups that swap, with NC beside whoever may do no contact; without players who are away by now."""
    swap = swaps_of([night]).get(night.pk)
    if swap is None:
        return None

    def name(player: Player) -> str:
        return paper_name(player) + (NC if stands[player.pk].level is Level.NONE else "")

    here = {key: player for key, player in players.items() if stands[key].level is not Level.ABSENT}
    return told_of(swap, night, here, name)


def slot_line(
    slot: Slot, starts: dt.datetime, here: list[Player], stands: dict[int, Stands], told: Told | None = None
) -> SlotLine:
    stations = list(slot.stations.all())
    placed = {player for station in stations for player in station.standing}
    known = {player.pk: player for player in here}
    aside = (player for player in here if slot.title and not stands[player.pk].level.allows(Kind(slot.kind)))
    return SlotLine(
        starts,
        slot.minutes,
        slot.title,
        str(slot.kind),
        slot.rpe,
        tuple(station_line(station, known, stands, told) for station in stations),
        tuple(name_of(player, stands) for player in here if slot.is_planned and stations and player.pk not in placed),
        tuple(name_of(player, stands) for player in aside),
    )


def station_line(
    station: Station, here: dict[int, Player], stands: dict[int, Stands], told: Told | None = None
) -> StationLine:
    """Who is away by now is left off; the others stand in squad order."""
    players = [player for key, player in here.items() if key in station.standing]
    names = tuple(name_of(player, stands) for player in players)
    stand = told and told.stand_at(station.slot_id, station.drill_id)
    if stand is None:
        levels = ((player, stands[player.pk].level) for player in players)
        stand = against(station.drill, levels, lambda player: told_name(player, stands))
    return StationLine(station.letter, station.drill, station.coach, names, stand)


def told_name(player: Player, stands: dict[int, Stands]) -> str:
    name = name_of(player, stands)
    return f"{name.name}{NC if name.nc else ''}"


def name_of(player: Player, stands: dict[int, Stands]) -> Name:
    """With the time from or until which he is there, where that is not the whole night."""
    name = f"{paper_name(player)} {stands[player.pk].times}".strip()
    return Name(name, nc=stands[player.pk].level is Level.NONE)


def paper_name(player: Player) -> str:
    """Short enough for a list: minors by first name and initial, adults by initial and family name."""
    return player.sheet_name if player.squad.is_age_grade else player.short_name


def heading(session: Session, matches: Iterable[dt.date]) -> str:
    """Week and phase of the season, and the day against the next match."""
    season = Season.objects.filter(squad=session.squad, first_day__lte=session.day, last_day__gte=session.day).first()
    parts = [str(match_distance(session.day, sorted(matches)))]
    if season:
        phase = Phase.objects.filter(season=season, first_day__lte=session.day, last_day__gte=session.day).first()
        week = _("week %(number)d") % {"number": week_number(session.day, season.first_day)}
        parts = [week, str(phase or ""), *parts]
    return " · ".join(part for part in parts if part)


def kit_of(slots: Iterable[Slot]) -> Iterator[str]:
    """What has to be brought: of each thing the most that is needed at one time, over stations side by side."""
    most: Counter[str] = Counter()
    for slot in slots:
        together: Counter[str] = Counter()
        for station in slot.stations.all():
            together.update(station.drill.kit_for(len(station.standing)))
        most |= together
    return (words.pieces(item, count) for item, count in sorted(most.items()) if count)


def contact_lines(totals: Totals, session: Session) -> Iterator[ContactLine]:
    lines = totals.weeks[0].lines
    for kind in LIMITED:
        figures = [line.week.figure(kind) for line in lines]
        fullest = max(figures, key=lambda figure: figure.hundredths, default=None)
        if fullest is None:
            continue
        tonight = max(minutes_in(session, figure.stretches) for figure in figures)
        yield ContactLine(kind_words(kind), tonight, fullest.minutes, fullest.most, fullest.against_limit)


def minutes_in(session: Session, stretches: Iterable[Stretch]) -> float:
    return sum(stretch.counted for stretch in stretches if stretch.session == session.pk) / 100


def plan_b(session: Session, slots: list[Slot]) -> Iterator[str]:
    """What to do when numbers, grass or light are not what was planned; told from tonight's own drills."""
    drills = {station.drill_id: station.drill for slot in slots for station in slot.stations.all()}
    if not drills:
        return
    yield from few_players(slots)
    wide = [f"#{d.number}" for d in drills.values() if d.area(d.players_ideal) > session.area / 2]
    if wide:
        yield _("Half the grass: leave out %(drills)s.") % {"drills": ", ".join(wide)}
    calm = [f"#{d.number}" for d in drills.values() if d.kind is Kind.NONE]
    yield _("Hard or flooded ground, poor light: no contact; run %(drills)s only.") % {
        "drills": ", ".join(calm) or _("walk-through cards")
    }
    yield _("A coach missing: one station fewer, and contact only where an adult coach stands.")


def few_players(slots: Iterable[Slot]) -> Iterator[str]:
    crowded = [list(slot.stations.all()) for slot in slots if len(slot.stations.all()) > 1]
    least = max((sum(each.drill.players_least for each in stations) for stations in crowded), default=0)
    if least:
        yield _("Fewer than %(least)d players: close the smallest station, its players join the others.") % {
            "least": least
        }


def emergency_of(session: Session) -> tuple[tuple[str, str], ...]:
    """The club's own entries; what nobody entered is a line to write on."""
    labels = (
        ("address", _("Address")),
        ("grid", _("Way in")),
        ("gate", _("Gate")),
        ("defibrillator", _("Defibrillator")),
        ("hospital", _("Hospital")),
        ("phone", _("Phone")),
        ("meets", _("Who does what")),
    )
    told = session.squad.club.emergency
    return tuple((label, str(told.get(key, "")) or "." * 40) for key, label in labels)


def pre_contact_check() -> tuple[str, ...]:
    """Eight questions before the first contact, after the planning checklist that the English union publishes for
    age-grade contact training."""
    return (
        _("Recovered since the last match or contact?"),
        _("What is the contact for?"),
        _("Was the step below passed?"),
        _("How hard will it be?"),
        _("For how many minutes?"),
        _("Everyone fit for contact, and if not, what changes?"),
        _("Who supervises, who keeps time?"),
        _("Who has led the contact warm-up?"),
    )


def clock(moment: dt.datetime) -> str:
    return f"{moment:%H:%M}"
