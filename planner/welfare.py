"""The welfare officer's week of a squad: who is past or near a limit, who decided what, what is still open.

What is counted is kept in this process under the end of the club's audit chain, as `planner.season_figures` does it.
Earlier weeks are read from the sums that are kept of their days (`planner.record_days`).
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from django.db.models import Exists, OuterRef, Q
from django.utils import timezone

from planner.attendance import span_of_session
from planner.core.record import Source
from planner.core.totals import LIMITED, PlayerWeek, Room, Stretch
from planner.core.windows import Finding, Measure
from planner.declared import is_over, untold
from planner.models import Fixture, Session
from planner.season_figures import KEPT
from planner.totals import LOOK_BACK, WEEK, Totals
from planner.unconfirmed import change_and_due
from planner.welfare_models import ActionTaken, Excess, PlaysElsewhere, WeekChecked
from planner.welfare_words import shown
from planner.windows import PlayerLine, Told, in_hundredths, lines_of, season_start, totals_with_told
from shared.core.contact import Kind
from squads.core.eligibility import ceiling
from squads.models import ContactRules, Player, Squad

WEEKS_BACK = 3  # beside the week itself, in small


@dataclass(frozen=True)
class Spite:
    """Contact that a player was put in on a day on which something kept him from it, and what that was."""

    stretch: Stretch
    reason: str


@dataclass(frozen=True)
class NightOpen:
    """`is_late`: over for 48 hours, so that the plan counts as not confirmed."""

    session: Session
    is_late: bool


@dataclass(frozen=True)
class MatchOpen:
    """A match that is over, and of how many of the squad nobody has told the minutes; `all_open`: of none has he."""

    fixture: Fixture
    missing: int
    all_open: bool


@dataclass(frozen=True)
class Looked:
    """What is counted of one squad and week. `weeks`: each player's last four, the oldest first."""

    monday: dt.date
    lines: tuple[PlayerLine, ...]
    weeks: Mapping[int, tuple[PlayerWeek, ...]]
    spites: Mapping[int, tuple[Spite, ...]]
    rules: tuple[ContactRules, ...]
    nights: tuple[NightOpen, ...]
    matches: tuple[MatchOpen, ...]
    untold: tuple[PlaysElsewhere, ...]

    @cached_property
    def seen(self) -> dict[str, dict[str, str]]:
        """Every figure that is not nothing, with its limit, by player and measure: what a signature stands for."""
        found = {str(line.player.pk): figures_seen(line, self.spites[line.player.pk]) for line in self.lines}
        return {player: figures for player, figures in sorted(found.items()) if figures}

    @cached_property
    def digest(self) -> str:
        return hashlib.sha256(json.dumps(self.seen, sort_keys=True).encode()).hexdigest()


def figures_seen(line: PlayerLine, spites: Iterable[Spite]) -> dict[str, str]:
    figures = {
        finding.measure.value: f"{finding.amount} of {finding.bound.amount if finding.bound else '-'}"
        for finding in line.windows.findings
        if finding.parts or finding.excess
    }
    for spite in spites:
        figures[f"in spite, {spite.stretch.day} {spite.stretch.what}"] = str(spite.stretch.in_contact)
    return figures


Stamp = tuple[dt.date, dt.datetime, str | None]


def stamp(squad: Squad, today: dt.date) -> Stamp:
    """Under this is kept what is counted, and what is drawn of it: it moves when something has changed in the club,
    each hour, and at the minute at which a night begins or has been over for 48 hours. The squad's club should be
    fetched with it."""
    now = timezone.now()
    end, due = change_and_due(squad, today, now)
    hour = now.replace(minute=0, second=0, microsecond=0)
    return today, max(hour, due or hour), end


def looked_at(squad: Squad, monday: dt.date, at: Stamp) -> Looked:
    return KEPT.get(("welfare", squad.pk, monday, at), lambda: counted(squad, monday, at[0], timezone.now()))


def counted(squad: Squad, monday: dt.date, today: dt.date, now: dt.datetime) -> Looked:
    season, first = season_start(squad, monday + LOOK_BACK), monday - WEEKS_BACK * WEEK
    totals, told = totals_with_told(squad, first, WEEKS_BACK + 1, today, season, whole_from=monday)
    lines = lines_of(totals.weeks[-1], told.matches, season)
    return Looked(
        monday,
        tuple(lines),
        {line.player.pk: tuple(totals.of(line.player.pk)) for line in lines},
        {line.player.pk: tuple(spites_of(totals, line)) for line in lines},
        totals.weeks[-1].rules,
        tuple(nights_open(totals, monday, now)),
        tuple(matches_open(totals, told, monday, now)),
        tuple(untold_in(totals, told, monday)),
    )


def spites_of(totals: Totals, line: PlayerLine) -> Iterable[Spite]:
    by_key = {session.pk: session for session in totals.days.sessions}
    for stretch in line.windows.in_spite:
        session = by_key.get(stretch.session)
        if session:
            yield Spite(stretch, totals.days.ceiling(line.player, session).reason)
        else:
            decisions = [row.as_decision() for row in totals.days.clearances[line.player.pk]]
            yield Spite(stretch, ceiling(stretch.day, decisions=decisions).reason)


def nights_open(totals: Totals, monday: dt.date, now: dt.datetime) -> Iterable[NightOpen]:
    """Nights of the week that are over and that nobody has confirmed."""
    for session in totals.days.between(monday, monday + LOOK_BACK):
        if span_of_session(session)[1] <= now and not totals.days.records.is_confirmed(session):
            yield NightOpen(session, totals.days.records.source(session, now) is Source.NOT_CONFIRMED)


def matches_open(totals: Totals, told: Told, monday: dt.date, now: dt.datetime) -> Iterable[MatchOpen]:
    """Of these the match minutes, and the hours between matches, are not known."""
    for fixture in totals.days.fixtures:
        if monday <= fixture.day <= monday + LOOK_BACK and is_over(fixture, now):
            squad = [player for player in totals.days.players.values() if player.is_in_squad_on(fixture.day)]
            missing = sum(not told.is_of_match(player.pk, fixture) for player in squad)
            if missing:
                yield MatchOpen(fixture, missing, missing == len(squad))


def untold_in(totals: Totals, told: Told, monday: dt.date) -> Iterable[PlaysElsewhere]:
    sunday = monday + LOOK_BACK
    return untold(totals.squad, sunday, lambda player: told.is_from_elsewhere(player, monday, sunday))


# With what people asked, decided and did


@dataclass(frozen=True)
class EarlierWeek:
    """One of the weeks before that nobody has signed (`checked` None), or whose contact is not what was signed."""

    monday: dt.date
    checked: WeekChecked | None

    @property
    def sunday(self) -> dt.date:
        return self.monday + LOOK_BACK


def earlier_open(looked: Looked, signed: Iterable[WeekChecked], today: dt.date) -> Iterable[EarlierWeek]:
    """Of the weeks that stand in small; what is compared is their contact, which is all that is kept of their days."""
    newest = {row.monday: row for row in signed}
    for place in range(WEEKS_BACK):
        monday = looked.monday - (WEEKS_BACK - place) * WEEK
        weeks = {player: weeks[place] for player, weeks in looked.weeks.items() if len(weeks) > WEEKS_BACK}
        now, row = {player: contact_seen(week) for player, week in weeks.items()}, newest.get(monday)
        if monday + LOOK_BACK < today and (any(now.values()) if row is None else differs(row, now)):
            yield EarlierWeek(monday, row)


def contact_seen(week: PlayerWeek) -> dict[str, str]:
    """The figures of contact as `figures_seen` has them."""
    found = {
        figure.kind.value: f"{Fraction(figure.hundredths, 100)} of {'-' if figure.most is None else figure.most}"
        for figure in week.figures
        if figure.hundredths
    }
    if week.days_with_full:
        most = week.full_days_limit
        found[Measure.FULL_DAYS.value] = f"{len(week.days_with_full)} of {'-' if most is None else most}"
    return found


def differs(row: WeekChecked, now: Mapping[int, Mapping[str, str]]) -> bool:
    """Of those who are still looked at."""
    measures = {*map(str, LIMITED), Measure.FULL_DAYS.value}
    return any(
        {name: told for name, told in row.seen.get(str(player), {}).items() if name in measures} != figures
        for player, figures in now.items()
    )


@dataclass(frozen=True)
class Answered:
    """One figure that is past its limit, with what was asked about it."""

    finding: Finding
    excesses: tuple[Excess, ...]

    @property
    def is_covered(self) -> bool:
        """Somebody approved as much as this in one of the sessions that made it."""
        return any(self._covers(excess) for excess in self.excesses)

    def _covers(self, excess: Excess) -> bool:
        if excess.session is None or not excess.is_approved:
            return False
        far = excess.amount - in_hundredths(self.finding)
        is_of_a_part = any(part.is_of(excess.session_id, excess.session.day) for part in self.finding.parts)
        return is_of_a_part and (far <= 0 if self.finding.measure.is_a_least else far >= 0)


@dataclass(frozen=True)
class Named:
    """A player who is named on the page, and why."""

    line: PlayerLine
    spites: tuple[Spite, ...]
    past: tuple[Answered, ...]
    weeks: tuple[PlayerWeek, ...]
    actions: tuple[ActionTaken, ...]

    @property
    def player(self) -> Player:
        return self.line.player

    @property
    def near(self) -> tuple[Finding, ...]:
        return self.line.windows.near

    @property
    def four(self) -> list[tuple[Kind, str]]:
        """The minutes of each kind in the last four weeks, "8 · 11 · 14.9 · 17.2"."""
        return [(kind, " · ".join(shown(week.figure(kind).minutes) for week in self.weeks)) for kind in LIMITED]


@dataclass(frozen=True)
class WelfareWeek:
    """The page. `checked`: the last signature of this week, None if nobody has signed it."""

    squad: Squad
    monday: dt.date
    today: dt.date
    looked: Looked
    named: tuple[Named, ...]
    waiting: tuple[Excess, ...]
    to_follow: tuple[ActionTaken, ...]
    checked: WeekChecked | None
    checked_squads: frozenset[int]
    earlier: tuple[EarlierWeek, ...]

    @property
    def sunday(self) -> dt.date:
        return self.monday + LOOK_BACK

    @property
    def before(self) -> dt.date:
        return self.monday - WEEK

    @property
    def after(self) -> dt.date:
        return self.monday + WEEK

    @cached_property
    def counts(self) -> dict[str, int]:
        """How many players stand how, the worst standing first; the fine ones even where there are none."""
        found = Counter(line.room for line in self.looked.lines)
        return {room.value: found[room] for room in reversed(Room) if found[room] or room is Room.FINE}

    @property
    def in_spite(self) -> list[Named]:
        return [named for named in self.named if named.spites]

    @property
    def past(self) -> list[Named]:
        return [named for named in self.named if named.past]

    @property
    def near(self) -> list[Named]:
        """Those who are near a limit and not past any."""
        return [named for named in self.named if named.near and not named.past]

    @property
    def by_name(self) -> list[PlayerLine]:
        """Everybody, as one looks for a name."""
        return sorted(self.looked.lines, key=lambda line: (line.player.family_name, line.player.given_name))

    @property
    def is_open(self) -> bool:
        """Something is not told yet, or is to be looked at again."""
        looked = self.looked
        return bool(looked.nights or looked.matches or looked.untold or self.to_follow or self.earlier)

    @property
    def fine(self) -> int:
        return self.counts[Room.FINE.value]

    @property
    def is_to_sign(self) -> bool:
        return self.checked is None or self.is_to_check_again

    @property
    def is_to_check_again(self) -> bool:
        return self.checked is not None and self.checked.digest != self.looked.digest

    @property
    def changed(self) -> list[Player]:
        """Whose figures are not those that were signed."""
        was, now = self.checked.seen if self.checked else {}, self.looked.seen
        return [
            line.player for line in self.looked.lines if was.get(str(line.player.pk)) != now.get(str(line.player.pk))
        ]


def welfare_week(squad: Squad, monday: dt.date, today: dt.date, at: Stamp | None = None) -> WelfareWeek:
    """In a fixed number of queries, whatever the number of players. `at`: the stamp, if it is known."""
    looked = looked_at(squad, monday, at or stamp(squad, today))
    excesses, actions, signed = asked_about(squad, monday), done_about(squad, monday, today), signed_in(squad, monday)
    asked, acted = by_player(excesses, monday), by_player(actions, monday)
    own = [each for each in signed if each.squad_id == squad.pk]
    checked = [each for each in own if each.monday == monday]
    return WelfareWeek(
        squad,
        monday,
        today,
        looked,
        tuple(named(looked, line, asked, acted) for line in looked.lines if line.room is not Room.FINE),
        tuple(excess for excess in excesses if not excess.is_answered),
        tuple(action for action in actions if action.is_due),
        checked[-1] if checked else None,
        frozenset(each.squad_id for each in signed if each.monday == monday),
        tuple(earlier_open(looked, own, today)),
    )


def named(
    looked: Looked, line: PlayerLine, asked: Mapping[int, list[Excess]], acted: Mapping[int, list[ActionTaken]]
) -> Named:
    player = line.player.pk
    return Named(
        line,
        looked.spites[player],
        tuple(
            Answered(finding, tuple(each for each in asked[player] if each.measure == finding.measure))
            for finding in line.windows.past
        ),
        looked.weeks[player],
        tuple(acted[player]),
    )


def by_player(rows: Iterable[Excess | ActionTaken], monday: dt.date) -> dict[int, list]:
    found: dict[int, list] = defaultdict(list)
    for row in rows:
        if row.monday == monday:
            found[row.player_id].append(row)
    return found


def asked_about(squad: Squad, monday: dt.date) -> list[Excess]:
    """Of this week, and whatever waits for an answer."""
    rows = Excess.objects.filter(Q(monday=monday) | Q(decision__isnull=True), player__squad=squad)
    return list(rows.with_answers())


def done_about(squad: Squad, monday: dt.date, today: dt.date) -> list[ActionTaken]:
    """Of this week, and what is to be looked at again; `is_due` until a later row of the same player answers it."""
    later = ActionTaken.objects.filter(player=OuterRef("player"), at__gt=OuterRef("at"))
    due = Q(follow_up__lte=today) & ~Exists(later)
    rows = ActionTaken.objects.filter(Q(monday=monday) | due, player__squad=squad)
    return list(rows.annotate(is_due=due).select_related("player__squad"))


def signed_in(squad: Squad, monday: dt.date) -> list[WeekChecked]:
    """Signatures of this week for every squad of the club, and of the weeks before for this one; the newest last."""
    before = Q(squad=squad, monday__range=(monday - WEEKS_BACK * WEEK, monday))
    return list(WeekChecked.objects.filter(before | Q(squad__club=squad.club_id, monday=monday)))
