"""What a change of the calendar does, in plain sentences: what breaks first, then who may do what, then the figures."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.building.house_rules import HOURS_BETWEEN_MATCHES
from planner.core.breach import Breach
from planner.core.pattern_fit import Fitting
from planner.core.totals import LIMITED, Figure, Room
from planner.core.words import listed, number
from planner.models import KIND_CHOICES, Block, Session
from planner.moving import Difference, Picture
from planner.patterns import Proposal, proposals, why
from planner.programme import session_name
from planner.totals import LOOK_BACK, WeekTotals
from shared.core.contact import Kind, Level
from squads.core.eligibility import WORDS
from squads.models import Player

NAMED = 3  # so few players are named, more are counted
KIND_WORDS = dict(KIND_CHOICES)


@dataclass(frozen=True, slots=True)
class NightShift:
    """A session beside the days to a match, before and after; "" where no match is near."""

    name: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class WeekFigure:
    """One figure of a week, before and after, with its limit where there is one."""

    what: str
    before: str
    after: str
    limit: str = ""


@dataclass(frozen=True, slots=True)
class WeekShift:
    monday: dt.date
    figures: tuple[WeekFigure, ...]


@dataclass(frozen=True)
class Effects:
    """`breaks` begins with the gravest; `eased` is what fits again; `nights` and `weeks` hold only what changes.

    Weeks without training are not among them. `without_pattern`: weeks that come to need a pattern of which the club
    has none; by themselves they are nothing.
    """

    breaks: tuple[str, ...] = ()
    players: tuple[str, ...] = ()
    eased: tuple[str, ...] = ()
    nights: tuple[NightShift, ...] = ()
    weeks: tuple[WeekShift, ...] = ()
    proposals: tuple[Proposal, ...] = ()
    without_pattern: tuple[str, ...] = ()
    to_deal_again: Block | None = None

    @property
    def is_nothing(self) -> bool:
        """Nothing but the day of a session, which whoever moves it knows."""
        labels = any(night.before != night.after for night in self.nights)
        return not (self.breaks or self.players or self.eased or labels or self.weeks or self.proposals)

    @property
    def digest(self) -> str:
        """So that nobody saves what he has not seen."""
        told = repr((self.breaks, self.players, self.eased, self.nights, self.weeks))
        return hashlib.sha256(told.encode()).hexdigest()[:16]

    @property
    def near_a_match(self) -> Effects:
        """For a page that names its sessions itself: of the nights only those that a match is near."""
        return replace(self, nights=tuple(night for night in self.nights if "MD" in night.before + night.after))


def effects_of(difference: Difference | None) -> Effects:
    if difference is None:
        return Effects()
    before, after = difference.before, difference.after
    fitting = newly_fitting(before, after)
    offered = tuple(proposals(after.squad, fitting))
    return Effects(
        breaks=tuple(breaks(difference)),
        players=tuple(ceilings_changed(before, after)),
        eased=tuple(eased(difference)),
        nights=tuple(nights_changed(before, after)),
        weeks=tuple(weeks_changed(before, after)),
        proposals=offered,
        without_pattern=tuple(without_pattern(fitting, offered)),
        to_deal_again=difference.to_deal_again,
    )


# What breaks, the gravest first


def breaks(difference: Difference) -> Iterator[str]:
    before, after = difference.before, difference.after
    yield from (text for text in matches_too_near(after) if text not in set(matches_too_near(before)))
    for session in difference.on_match_days:
        yield _("%(night)s: training would be on a match day.") % {"night": session_name(session)}
    yield from newly_too_close(before, after)
    yield from rules_newly_broken(difference.newly_broken)
    yield from limits_newly_passed(before, after)
    yield from too_many_days(before, after)


def matches_too_near(picture: Picture) -> Iterator[str]:
    for first, second in pairwise(picture.fixtures):
        hours = (second.kick_off - first.kick_off).total_seconds() / 3600
        if hours < HOURS_BETWEEN_MATCHES and second.day >= picture.today:
            if picture.squad.is_age_grade:
                source = _("RFU guidance for under-13s to under-18s asks for 72 h")
            else:
                source = _("common practice: 72 h")
            yield _("%(first)s and %(second)s are %(hours)s h apart (%(source)s).") % {
                "first": first,
                "second": second,
                "hours": _("about %d") % hours if first.all_day or second.all_day else number(hours),
                "source": source,
            }


def newly_too_close(before: Picture, after: Picture) -> Iterator[str]:
    for key, (session, ceiling) in after.too_close.items():
        if key not in before.too_close:
            yield _("%(night)s: %(kind)s stands in it, but %(reason)s (%(source)s).") % {
                "night": session_name(session),
                "kind": KIND_WORDS[key[1]],
                "reason": ceiling.reason,
                "source": source_of(after, session.day),
            }


def source_of(picture: Picture, day: dt.date) -> str:
    rules = picture.days.rules_on(day)
    return rules.name if rules else _("common practice: no contact rules are chosen")


def rules_newly_broken(found: Iterable[tuple[Block, Breach]]) -> Iterator[str]:
    """One sentence for each place; where one rule is broken by many players there, the first and how many more."""
    places: dict[tuple, list[str]] = defaultdict(list)
    for block, breach in found:
        places[block.pk, breach.rule, breach.session, breach.slot, breach.drill, breach.week].append(breach.text)
    for first, *more in places.values():
        if more:
            text = ngettext(
                "%(first)s The same holds for %(n)d player more.",
                "%(first)s The same holds for %(n)d players more.",
                len(more),
            )
            yield text % {"first": first, "n": len(more)}
        else:
            yield first


def limits_newly_passed(before: Picture, after: Picture) -> Iterator[str]:
    for monday, week in after.weeks.items():
        for kind in LIMITED:
            if new := passing(week, kind) - passing(before.weeks[monday], kind):
                limit = week.limits.by_kind[kind]
                yield _("Week of %(monday)s: %(names)s past %(limit)d min %(kind)s (%(source)s).") % {
                    "monday": day_name(monday),
                    "names": named(new),
                    "limit": limit.minutes,
                    "kind": KIND_WORDS[kind],
                    "source": limit.source,
                }


def passing(week: WeekTotals, kind: Kind) -> set[Player]:
    return {line.player for line in week.lines if line.week.figure(kind).against_limit is Room.PAST}


def too_many_days(before: Picture, after: Picture) -> Iterator[str]:
    for monday, week in after.weeks.items():
        full, was = (len(each.days_with(monday, Kind.FULL)) for each in (after, before))
        most = week.limits.full_days
        if most is not None and full > max(most, was):
            text = ngettext(
                "Week of %(monday)s: full contact on %(count)d days; the limit is %(most)d day.",
                "Week of %(monday)s: full contact on %(count)d days; the limit is %(most)d days.",
                most,
            )
            yield text % {"monday": day_name(monday), "count": full, "most": most}
        if before.days_without_contact(monday) and not after.days_without_contact(monday):
            yield _("Week of %(monday)s: no day without contact is left.") % {"monday": day_name(monday)}


# Who may do what


def ceilings_changed(before: Picture, after: Picture) -> Iterator[str]:
    """Nights with the most players affected come in the order of time; lower ceilings before higher ones."""
    lower, higher = [], []
    for key, session in after.sessions.items():
        if was := before.sessions.get(key):
            for (old, new, reason), players in shifts(before, after, was, session).items():
                text = shift_told(session, old, new, reason, players)
                (lower if new.height < old.height else higher).append(text)
    yield from lower
    yield from higher


Shift = tuple[Level, Level, str]


def shifts(before: Picture, after: Picture, was: Session, now: Session) -> dict[Shift, set[Player]]:
    found: dict[Shift, set[Player]] = defaultdict(set)
    for player in after.days.players.values():
        old, new = before.days.ceiling(player, was), after.days.ceiling(player, now)
        if old.level is not new.level:
            found[old.level, new.level, new.reason].add(player)
    return found


def shift_told(session: Session, old: Level, new: Level, reason: str, players: set[Player]) -> str:
    words = {
        "night": session_name(session),
        "players": named(players),
        "old": WORDS[old],
        "new": WORDS[new],
        "reason": reason,
    }
    if reason == WORDS[new]:
        return _("%(night)s, %(players)s: %(old)s before, %(new)s after.") % words
    return _("%(night)s, %(players)s: %(old)s before, %(new)s after (%(reason)s).") % words


def named(players: Iterable[Player]) -> str:
    players = sorted(players, key=lambda player: (player.main_position, player.family_name))
    if len(players) <= NAMED:
        return listed(player.sheet_name for player in players)
    return ngettext("%d player", "%d players", len(players)) % len(players)


# What fits again, and the figures


def eased(difference: Difference) -> Iterator[str]:
    before, after = difference.before, difference.after
    for key, (session, _ceiling) in before.too_close.items():
        if key not in after.too_close:
            yield _("%(night)s is no longer too close to a match.") % {"night": session_name(session)}
    if difference.mended:
        text = ngettext(
            "%d rule that the plan broke is kept again.",
            "%d rules that the plan broke are kept again.",
            difference.mended,
        )
        yield text % difference.mended


def nights_changed(before: Picture, after: Picture) -> Iterator[NightShift]:
    """Sessions whose days to a match change, or that come, go or move."""
    for key in dict.fromkeys([*after.sessions, *before.sessions]):
        was, now = before.sessions.get(key), after.sessions.get(key)
        labels = (str(p.distance(s.day)) if s else _("not there") for p, s in ((before, was), (after, now)))
        old, new = labels
        names = dict.fromkeys(session_name(session) for session in (was, now) if session)
        if old != new or len(names) > 1:
            yield NightShift(" → ".join(names), old, new)


def weeks_changed(before: Picture, after: Picture) -> Iterator[WeekShift]:
    for monday in after.weeks:
        figures = [each for each in week_figures(monday, before, after) if each.before != each.after]
        if figures and any(each.days.between(monday, monday + LOOK_BACK) for each in (before, after)):
            yield WeekShift(monday, tuple(figures))


def newly_fitting(before: Picture, after: Picture) -> dict[dt.date, Fitting]:
    """What weeks are after the change and were not before; a week that has a pattern already is left alone."""
    fitting = {monday: after.matches.fitting(monday) for monday in after.weeks if monday not in after.days.patterns}
    return {monday: fit for monday, fit in fitting.items() if fit and fit != before.matches.fitting(monday)}


def without_pattern(fitting: Mapping[dt.date, Fitting], offered: Iterable[Proposal]) -> Iterator[str]:
    served = {each.monday for each in offered}
    for monday, found in fitting.items():
        if monday not in served:
            yield _("Week of %(day)s: %(why)s. The club has no pattern for such a week.") % {
                "day": day_name(monday),
                "why": why(found),
            }


def week_figures(monday: dt.date, before: Picture, after: Picture) -> Iterator[WeekFigure]:
    full = (str(len(each.days_with(monday, Kind.FULL))) for each in (before, after))
    most = after.weeks[monday].limits.full_days
    yield WeekFigure(_("days with full contact"), *full, "" if most is None else str(most))
    yield WeekFigure(_("days without contact"), *(str(each.days_without_contact(monday)) for each in (before, after)))
    for kind in LIMITED:
        was, now = (fullest(each.weeks[monday], kind) for each in (before, after))
        limit = after.weeks[monday].limits.minutes(kind)
        yield WeekFigure(
            _("%(kind)s, the most of any player, min") % {"kind": KIND_WORDS[kind]},
            number(was.minutes if was else 0),
            number(now.minutes if now else 0),
            "" if limit is None else str(limit),
        )


def fullest(week: WeekTotals, kind: Kind) -> Figure | None:
    figures = (line.week.figure(kind) for line in week.lines)
    return max(figures, key=lambda figure: figure.hundredths, default=None)


def day_name(day: dt.date) -> str:
    return date_format(day, "D j M")
