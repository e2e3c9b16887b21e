"""From 48 hours after a night on, what was planned of it counts in the ledger for whoever was expected, and says so."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from contextlib import suppress

import pytest
from django.db import transaction
from django.utils import timezone
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from planner.attendance_actions import Said, note_replies
from planner.changes import Refused
from planner.core.load import Missing
from planner.core.load_gaps import Gap
from planner.core.record import Here, Part
from planner.ledger import Weeks, ledger_of, with_terms
from planner.own_training import own_training
from planner.record_actions import confirm_night, correct_line
from planner.record_days import differences
from planner.record_models import PlayerDay
from planner.rpe import Occasion
from planner.rpe_actions import Told, note_rpe
from planner.season_figures import KEPT
from planner.session_actions import cancel_session, restore_session
from planner.squad_ledger import WEEKS_SHOWN, squad_ledger_of
from squads.actions import mark_away
from squads.models import Player
from tests import factories as f
from tests.planner.block_cast import BEFORE, small_block, stand, wish
from tests.planner.ledger.cast import ONE_DAY, address, figures_of, table_of
from tests.planner.record.book import Minute, Night
from tests.planner.record.test_days_follow import planned_of
from tests.planner.test_sheets import text_of

OCTOBER_5, TUESDAY = dt.date(2026, 10, 5), dt.date(2026, 10, 6)
ENDS = dt.datetime(2026, 10, 6, 19, 34, tzinfo=f.LONDON)
DUE = ENDS + dt.timedelta(hours=48)
LIST = "/c/brackenford/squads/firsts/ledgers/"


@pytest.fixture
def at(monkeypatch):
    """`at(moment)`: that is now; the moment from which Tuesday counts to begin with."""

    def set_now(moment: dt.datetime) -> None:
        monkeypatch.setattr(timezone, "localdate", lambda *args, **kwargs: moment.astimezone(f.LONDON).date())
        monkeypatch.setattr(timezone, "now", lambda: moment.astimezone(dt.UTC))

    KEPT.forget()
    set_now(DUE)
    return set_now


@pytest.fixture
def tuesday(evening, at):
    """The evening of the record, and nothing else on Thursday that is over by then."""
    f.SeasonFactory(squad=evening.cast.squad)
    wish(evening.cast.squad, "I04", 30)
    return evening


def ledger(player, monday=OCTOBER_5, weeks=4):
    span, today = Weeks(monday, weeks), timezone.now().astimezone(f.LONDON).date()
    return ledger_of(with_terms(Player.objects.all(), span.last_day).get(pk=player.pk), span, today)


def skill(player, code="I04"):
    return next(each for each in ledger(player).skills if each.figure.name == code)


def day_of(player, day=TUESDAY):
    return next((each for each in ledger(player).loads.days if each.day == day), None)


def say(evening, head, player, number, minutes=None):
    told = [Told(player, Occasion(session=evening.session), number, minutes)]
    note_rpe(told=told, by=head, now=ENDS + dt.timedelta(hours=1))


# Skills


def test_what_was_planned_counts_from_the_minute_on_at_which_the_night_is_over_for_48_hours(tuesday, at):
    at(DUE - dt.timedelta(minutes=1))
    line = skill(tuesday.players[0])
    assert (line.figure.minutes, line.figure.unconfirmed, line.planned, line.weeks) == (0, 0, 24, None)
    at(DUE)
    line = skill(tuesday.players[0])
    assert (line.figure.minutes, line.figure.unconfirmed, line.planned, line.weeks) == (24, 24, 0, 0)
    assert (line.figure.last, line.figure.is_last_unconfirmed) == (TUESDAY, True)


def test_who_was_not_expected_has_nothing_of_it(tuesday, head):
    away, said_no = tuesday.players[:2]
    mark_away(players=[away], first=TUESDAY, last=TUESDAY, by=head)
    note_replies(said=[Said(said_no, tuesday.session, coming=False)], by=head, today=BEFORE)
    for player in (away, said_no):
        assert (skill(player).figure.minutes, skill(player).weeks) == (0, None)
    assert skill(tuesday.players[2]).figure.minutes == 24


def test_who_came_late_has_the_minutes_that_he_saw(tuesday, head):
    late = Said(tuesday.players[0], tuesday.session, coming=True, from_time=dt.time(19, 17))
    note_replies(said=[late], by=head, today=BEFORE)
    assert skill(tuesday.players[0]).figure.minutes == 5 + 12


def test_a_station_that_was_told_counts_as_told_although_nobody_has_confirmed_the_night(tuesday, head):
    spot, parts = tuesday.spot(tuesday.live), [Part(5, "C4", 25, "C4", {tuesday.players[0].pk: Here(5)})]
    how = {"may_correct": True, "now": ENDS + ONE_DAY}
    correct_line(session=tuesday.session, spot=spot, parts=parts, seen=None, by=head, **how)
    assert skill(tuesday.players[0]).figure.minutes == 5 + 12
    assert skill(tuesday.players[1]).figure.minutes == 12


def test_a_rung_is_never_passed_by_a_plan(tuesday, head):
    ladder = f.LadderFactory(club=tuesday.cast.squad.club, code="A", name="Front-on")
    tuesday.live.ladder, tuesday.live.step = ladder, 1
    tuesday.live.save()
    tuesday.cast.squad.club.contact_rules.update(ladder_minutes=12)
    assert ledger(tuesday.players[0]).rungs == ()
    session = tuesday.session
    confirm_night(session=session, by=head, version=session.plan_version, now=DUE)
    assert [each.passed_on for each in ledger(tuesday.players[0]).rungs] == [TUESDAY]


def test_the_last_day_is_confirmed_if_any_night_of_it_is(tuesday, head):
    other = f.SessionFactory(
        squad=tuesday.cast.squad, starts_at=dt.datetime(2026, 10, 6, 9, tzinfo=f.LONDON), slots=[12]
    )
    stand(other.slots.get(), tuesday.bags, tuesday.players)
    confirm_night(session=other, by=head, version=other.plan_version, now=DUE)
    figure = skill(tuesday.players[0]).figure
    assert (figure.minutes, figure.unconfirmed, figure.is_last_unconfirmed) == (36, 24, False)


# Load


def test_a_load_counts_where_he_said_how_hard_it_was_with_the_planned_minutes(tuesday, head, at):
    say(tuesday, head, tuesday.players[0], 5)
    at(DUE - dt.timedelta(minutes=1))
    assert (day_of(tuesday.players[0]).load, day_of(tuesday.players[0]).is_unconfirmed) == (Missing.NOT_KNOWN, False)
    at(DUE)
    day = day_of(tuesday.players[0])
    assert (day.load, day.is_unconfirmed, day.lacks) == (5 * 34, True, ())


def test_without_a_number_a_day_is_missing_and_never_zero(tuesday, head):
    say(tuesday, head, tuesday.players[0], 5)
    assert day_of(tuesday.players[1]) is None  # nothing at all is known of him
    note_rpe(told=[Told(tuesday.players[1], Occasion(session=tuesday.cast.nights[1]), 5, 30)], by=head, now=DUE)
    day = day_of(tuesday.players[1])
    assert (day.load, [each.gap for each in day.lacks]) == (Missing.NOT_KNOWN, [Gap.NOT_TOLD])


def test_a_number_of_somebody_who_was_not_expected_has_no_minutes(tuesday, head):
    mark_away(players=tuesday.players[:1], first=TUESDAY, last=TUESDAY, by=head)
    say(tuesday, head, tuesday.players[0], 5)
    assert [each.gap for each in day_of(tuesday.players[0]).lacks] == [Gap.NO_MINUTES]


def test_minutes_told_with_the_number_stand_before_those_of_the_plan_and_need_no_mark(tuesday, head):
    say(tuesday, head, tuesday.players[0], 5, 20)
    assert (day_of(tuesday.players[0]).load, day_of(tuesday.players[0]).is_unconfirmed) == (100, False)


def test_what_is_kept_of_a_day_knows_nothing_of_the_clock(tuesday, head):
    say(tuesday, head, tuesday.players[0], 5)
    assert day_of(tuesday.players[0]).load == 170
    assert not PlayerDay.objects.filter(load__isnull=False).exists()
    assert differences(tuesday.cast.squad, OCTOBER_5, TUESDAY + ONE_DAY) == []
    session = tuesday.session
    confirm_night(session=session, by=head, version=session.plan_version, now=DUE)
    assert PlayerDay.objects.get(player=tuesday.players[0], day=TUESDAY).load == 170
    assert (day_of(tuesday.players[0]).load, day_of(tuesday.players[0]).is_unconfirmed) == (170, False)


def test_a_ratio_is_marked_while_a_planned_day_is_among_those_that_it_looks_at(tuesday, head, at):
    player = tuesday.players[0]
    say(tuesday, head, player, 5)
    at(dt.datetime(2026, 12, 1, 12, tzinfo=f.LONDON))
    weeks = {week.monday: week.unsure for week in ledger(player, dt.date(2026, 11, 23), 12).loads.weeks}
    assert weeks[dt.date(2026, 10, 5)] == (True, True)
    assert weeks[dt.date(2026, 10, 26)] == (True, True)  # up to 1 November, 26 days on
    assert weeks[dt.date(2026, 11, 2)] == (False, True)


# As it is told


def test_page_list_and_own_page_say_which_minutes_and_which_load_are_not_confirmed(tuesday, head, log_in):
    player = tuesday.players[0]
    say(tuesday, head, player, 5)
    page = log_in(head).get(address(player)).content.decode()
    for words in (
        "24 of 30 min", "24 of these not confirmed", "this week, not confirmed", "170, not confirmed",
        "170 AU so far; of nights not confirmed, as planned",
    ):  # fmt: skip
        assert words in page
    listed = log_in(head).get(LIST).content.decode()
    assert "24 of these not confirmed" in listed
    assert "of nights not confirmed, as planned" in listed
    own = own_training(player, DUE.date())
    assert [(minutes, unconfirmed) for _name, minutes, unconfirmed in own.skills] == [(24, 24)]
    assert [day.load for week in own.weeks for day in week.days if day.is_unconfirmed] == [170]


def test_the_paper_says_so_too(tuesday, head, log_in):
    say(tuesday, head, tuesday.players[0], 5)
    text = text_of(log_in(head).get(address(tuesday.players[0], ".pdf")).content)
    for words in ("24 of these not confirmed", "this week, not confirmed", "as planned"):
        assert words in text


def test_the_file_marks_each_figure_that_rests_on_a_plan(tuesday, head, log_in):
    say(tuesday, head, tuesday.players[0], 5)
    rows = table_of(log_in(head), tuesday.players[0], OCTOBER_5)
    notes = {(row["part"], row["figure"]): row["note"] for row in rows if row["value"]}
    assert figures_of(rows, "of these not confirmed", "skill") == {"2026-09-14": "24.00"}
    assert notes["skill", "minutes"] == "not confirmed"
    assert notes["skill", "weeks since"] == "2026-10-06; not confirmed"
    loads = {row["from"]: (row["value"], row["note"]) for row in rows if row["figure"] == "load"}
    assert loads["2026-10-06"] == ("170.0", "not confirmed")
    assert notes["week", "load known"].endswith("not confirmed")


def test_nothing_kept_says_the_old_thing_a_minute_after(tuesday, head, at, log_in):
    """Within the same hour, and without any change in the club."""
    client, player = log_in(head), tuesday.players[0]
    at(DUE - dt.timedelta(minutes=1))
    for page in (address(player), LIST):
        assert "of these not confirmed" not in client.get(page).content.decode()
    at(DUE)
    for page in (address(player), LIST):
        assert "24 of these not confirmed" in client.get(page).content.decode()


@pytest.mark.parametrize("page", ["ledger", "list"])
def test_queries_do_not_grow_with_the_nights_that_count(tuesday, head, at, log_in, page, django_assert_num_queries):
    """11 and 12 where all is confirmed; what a squad's days take comes on top."""
    client, shown = log_in(head), address(tuesday.players[0]) if page == "ledger" else LIST
    tuesday.cast.nights[1].delete()  # it has begun, and what was planned of it would be one query more
    most = {"ledger": 23, "list": 25}[page]
    with django_assert_num_queries(most):
        client.get(shown)
    for n in (2, 3):
        stand(tuesday.cast.slot(n), tuesday.bags, tuesday.players)
    KEPT.forget()
    at(dt.datetime(2026, 10, 20, 12, tzinfo=f.LONDON))
    with django_assert_num_queries(most):
        client.get(shown)


# In any order

nights, few = st.integers(0, 1), st.integers(1, 12)
who = st.integers(0, 2)
ENTRIES = st.one_of(
    st.tuples(st.just("confirm"), nights),
    st.tuples(st.just("correct"), nights, st.integers(1, 2), few, st.lists(who, unique=True)),
    st.tuples(st.just("answer"), nights, who, st.booleans()),
    st.tuples(st.just("number"), nights, who, st.none() | st.integers(0, 10), st.none() | few),
    st.tuples(st.just("off"), nights),
    st.tuples(st.just("clock"), st.integers(1, 30)),
)
CLOCK_BEGINS = dt.datetime(
    2026, 10, 8, 20, tzinfo=f.LONDON
)  # both nights are over, neither for 48 hours: nor is one due


class Undone(Exception):
    pass


class Nights:
    """Two nights told in any order, and beside them a book that counts minute by minute and asks no code under test."""

    def __init__(self, cast, by, at):
        self.cast, self.by, self.at, self.now = cast, by, at, CLOCK_BEGINS
        self.players = [player.pk for player in cast.players]
        self.book = [Night(night.day, planned_of(night, self.players)) for night in cast.nights]
        self.no: set[tuple[int, int]] = set()
        self.rpe: dict[tuple[int, int], tuple[int, int | None]] = {}
        self.done: Counter[str] = Counter()
        at(self.now)

    def enter(self, what, *told):
        with suppress(Refused), transaction.atomic():
            getattr(self, what)(*told)
            self.done[what] += 1

    def session(self, n):
        return type(self.cast.nights[n]).objects.select_related("squad__club").get(pk=self.cast.nights[n].pk)

    def confirm(self, n):
        session = self.session(n)
        confirm_night(session=session, by=self.by, version=session.plan_version, now=self.now)
        night, ran = self.book[n], self.counted(n)
        night.spots, night.is_confirmed = ran, True

    def correct(self, n, slot, minutes, who):
        night = self.book[n]
        spot = next(name for name in night.planned if name.startswith(f"{self.cast.slot(n, slot).pk}."))
        here = {self.players[each]: Here(minutes) for each in who}
        told = self.session(n).accounts.filter(spot=spot, replaced_by=None).first()
        correct_line(
            session=self.session(n), spot=spot, parts=[Part(minutes, "C2", 50, "C2", here)], seen=told and told.pk,
            by=self.by, may_correct=True, now=self.now,
        )  # fmt: skip
        night.spots[spot] = [self.minute(set(here)) for _ in range(minutes)]

    def answer(self, n, each, coming):
        said = Said(self.cast.players[each], self.session(n), coming=coming)
        note_replies(said=[said], by=self.by, today=BEFORE)
        (self.no.discard if coming else self.no.add)((n, self.players[each]))

    def number(self, n, each, number, minutes):
        minutes = None if number is None else minutes
        told = [Told(self.cast.players[each], Occasion(session=self.session(n)), number, minutes)]
        note_rpe(told=told, by=self.by, now=self.now)
        self.rpe.pop((n, self.players[each]), None)
        if number is not None:
            self.rpe[n, self.players[each]] = number, minutes

    def off(self, n):
        session = self.session(n)
        (restore_session if session.cancelled else cancel_session)(session=session, by=self.by, today=BEFORE)
        self.book[n].is_off = not session.cancelled

    def clock(self, hours):
        self.now += dt.timedelta(hours=hours)
        self.at(self.now)

    @staticmethod
    def minute(players):
        return Minute("C2", 50, tuple((player, False) for player in sorted(players)))

    # What should count

    def is_late(self, n):
        ends = self.cast.nights[n].starts_at + dt.timedelta(minutes=34)
        return not self.book[n].is_confirmed and self.now >= ends + dt.timedelta(hours=48)

    def counted(self, n):
        """By spot: as told, else as planned for whoever was expected, or was told to be there after all."""
        night = self.book[n]
        if night.is_confirmed:
            return night.spots
        there = {p for p in self.players if (n, p) not in self.no} | night.came()
        planned = {
            spot: [self.minute({p for p in minute.players if p in there}) for minute in minutes]
            for spot, minutes in night.planned.items()
        }
        return planned | night.spots

    def minutes(self, n, player, *, of_skill=False):
        spots = self.counted(n).items()
        return sum(
            player in minute.players for spot, minutes in spots if "." in spot or not of_skill for minute in minutes
        )

    def skill(self, player):
        """Minutes, and how many of them are not confirmed."""
        counts = [n for n in range(2) if not self.book[n].is_off and (self.book[n].is_confirmed or self.is_late(n))]
        much = {n: self.minutes(n, player, of_skill=True) for n in counts}
        return sum(much.values()), sum(each for n, each in much.items() if not self.book[n].is_confirmed)

    def load(self, n, player):
        """AU, None where it is not known; and whether it rests on the plan."""
        night, (number, told) = self.book[n], self.rpe.get((n, player), (None, None))
        if night.is_off:
            return 0, False
        minutes = self.minutes(n, player) if night.is_confirmed or self.is_late(n) else 0
        if night.is_confirmed and number is None:
            return (None if minutes else 0), False
        if number is None or not (told or minutes):
            return None, False
        return number * (told or minutes), not told and not night.is_confirmed

    def check(self):
        today = self.now.astimezone(f.LONDON).date()
        for line in squad_ledger_of(self.cast.squad, OCTOBER_5, today).lines:
            player, found = line.player, ledger(line.player, OCTOBER_5, WEEKS_SHOWN)
            self.check_list(line, found)
            line = next((each for each in found.skills if each.figure.name == "I04"), None)
            figure = line.figure if line else None
            assert ((figure.minutes, figure.unconfirmed) if figure else (0, 0)) == self.skill(player.pk)
            days = {day.day: day for day in found.loads.days}
            for n, night in enumerate(self.book):
                if day := days.get(night.day):
                    known = day.load if day.is_known else None
                    assert (known, day.is_unconfirmed and day.is_known) == self.load(n, player.pk)
        assert differences(self.cast.squad, OCTOBER_5, OCTOBER_5 + 6 * ONE_DAY) == []

    @staticmethod
    def check_list(line, own):
        """The squad's list says of each what his own ledger says."""
        wanted = [each.figure for each in own.skills if each.figure.target]
        assert line.covered == sum(figure.covered for figure in wanted)
        assert line.unconfirmed == sum(figure.covered_unconfirmed for figure in wanted)
        if own.loads.weeks and own.loads.weeks[-1].monday == OCTOBER_5:
            week = own.loads.weeks[-1]
            assert (line.load.known, line.load.open_days) == (week.figures.so_far, week.figures.days_not_known)
            assert line.load.is_unconfirmed == week.is_unconfirmed


@pytest.fixture
def cast(squad):
    cast = small_block(squad, players=3, weeks=1)
    squad.club.contact_rules.all().delete()
    f.SeasonFactory(squad=squad)
    wish(squad, "I04", 20)
    drills = [f.DrillFactory(club=squad.club, rung="C2", contact_share=50, contacts_most=4) for _ in range(2)]
    for n in range(2):
        for order, drill in enumerate(drills, 1):
            stand(cast.slot(n, order), drill, cast.players)
    return cast


def test_totals_are_those_of_the_record_whatever_is_told_confirmed_and_however_late(cast, head, at):
    done: Counter[str] = Counter()

    # Without shrinking: a failure of a few steps can be read, and each further try costs seconds.
    @settings(max_examples=25, derandomize=True, deadline=None, phases=[Phase.generate])
    @given(entries=st.lists(ENTRIES, min_size=6, max_size=14))
    def told_in_any_order(entries):
        with suppress(Undone), transaction.atomic():
            told = Nights(cast, head, at)
            for each in entries:
                told.enter(*each)
                if each[0] in ("clock", "confirm"):
                    told.check()
            told.check()
            done.update(told.done)
            raise Undone

    told_in_any_order()
    assert set(done) == {"confirm", "correct", "answer", "number", "off", "clock"}
    assert min(done.values()) >= 3
