"""Cases from the trade, by their figures: what the planner deals, refuses and counts.

The figures are those of the starter library's cards (minutes x share of the time in contact) and of a house example of
limits: 15 min full, 40 controlled and 30 live set piece a week. Nothing here says what is safe: that is for the union's
regulations and licensed practitioners.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

import pytest
from django.urls import reverse
from django.utils import timezone

from drills.actions import add_starter_library
from drills.models import Drill
from planner import actions, tasks
from planner.build import player_id, problem_of, session_id
from planner.core.check import breaches
from planner.core.problem import Ceiling
from planner.core.totals import Room
from planner.dealing import deal_again, leave_out
from planner.models import Block, Place, PlanRun, Session, Station
from planner.totals import WeekTotals, totals_of
from planner.weeks import week_of
from shared.core.contact import Kind
from shared.models import JobState, User
from squads.models import Absence, Clearance, Player, Squad
from tests import factories as f
from tests.planner.block_cast import BEFORE, names_at, stand, wish

MONDAY, TUESDAY, THURSDAY = (dt.date(2026, 10, day) for day in (5, 6, 8))


@pytest.fixture(autouse=True)
def long_lease(settings):
    """A sign of life from a second thread would wait for the transaction of the test."""
    settings.JOB_LEASE_SECONDS = 600


@pytest.fixture
def cards(squad, head) -> dict[int, Drill]:
    """The starter library by the numbers of its cards. No rung has to be earned: these cases are about minutes."""
    add_starter_library(squad.club, by=head, today=BEFORE)
    f.ContactRulesFactory(club=squad.club, ladder_minutes=0)
    return {drill.number: drill for drill in Drill.objects.of(squad.club)}


def block_of(squad: Squad, **fields: object) -> Block:
    return f.BlockFactory(squad=squad, weeks=1, **fields)


def night_of(squad: Squad, day: dt.date, slots: list, **fields: object) -> Session:
    starts = dt.datetime.combine(day, dt.time(19), f.LONDON)
    ample = {"kit": {}, "width": 70, "length": 100}
    return f.SessionFactory(squad=squad, starts_at=starts, slots=slots, **ample | fields)


def members(squad: Squad, count: int, positions: range = range(1, 16)) -> list[Player]:
    return [f.PlayerFactory(squad=squad, main_position=positions[n % len(positions)]) for n in range(count)]


def clear(player: Player, level: str, from_day: dt.date, decided_on: dt.date | None = None) -> None:
    Clearance.objects.create(
        player=player,
        level=level,
        from_day=from_day,
        decided_on=decided_on or from_day,
        decided_by="R. Lomax",
        decided_as="club physiotherapist",
    )


def week(squad: Squad, monday: dt.date = MONDAY) -> WeekTotals:
    return totals_of(squad, monday, 1, today=MONDAY).weeks[0]


def minutes(found: WeekTotals, player: Player, kind: Kind) -> float:
    return found.of(player.pk).figure(kind).minutes


def worked(run: PlanRun) -> PlanRun:
    task = tasks.deal_again if run.is_redeal else tasks.run_plan
    assert task(str(run.job_id)) == "worked"
    return PlanRun.objects.select_related("job", "block__squad__club").get(pk=run.pk)


def keep_only(block: Block, drills: Iterable[Drill], by: User) -> None:
    for drill in Drill.objects.of(block.squad.club).exclude(pk__in=[drill.pk for drill in drills]):
        leave_out(block=block, drill=drill, by=by)


# Thirty of thirty-four on the field: three stations in groups, two who take no contact, a team block


NIGHT = [
    (2, "Brief"),
    (10, "Warm-up"),
    11,
    (1, "Change"),
    11,
    (2, "Change"),
    11,
    (2, "Water"),
    14,
    (1, "Water"),
    (6, "Shape"),
    (4, "Close"),
]


class Thirty:
    """Of 34 players four are away and two take no contact. Slots hold whole minutes: changes of 1 and 2."""

    def __init__(self, squad: Squad) -> None:
        everyone = members(squad, 34)
        self.squad, self.able, self.nc = squad, everyone[:28], everyone[28:30]
        self.night = night_of(squad, TUESDAY, NIGHT, coaches=3, coach_names=["Ash", "Bo", "Cy"])
        self.block = block_of(squad)
        for player in everyone[30:]:
            Absence.objects.create(player=player, first_day=TUESDAY, last_day=TUESDAY)
        for player in self.nc:
            clear(player, "none", MONDAY)
        self.groups = [self.able[:10], self.able[10:19], self.able[19:]]

    def slot(self, number: int):
        return [slot for slot in self.night.slots.all() if slot.is_planned][number]


@pytest.fixture
def thirty(squad, cards):
    return Thirty(squad)


def test_brief_warm_up_three_stations_team_block_water_and_close_fill_seventy_five_minutes(thirty):
    night = week_of(thirty.squad, MONDAY, BEFORE).nights[0]
    assert night.ends - thirty.night.starts_at == dt.timedelta(minutes=75)
    assert night.expected == 30


def test_thirty_are_dealt_over_three_stations_and_two_who_take_no_contact_stand_where_there_is_none(
    thirty, cards, head
):
    for skill in ("I04", "U08", "U02"):
        wish(thirty.squad, skill, minutes=40)
    keep_only(thirty.block, [cards[4], cards[28], cards[18]], head)
    run = worked(actions.start_run(block=thirty.block, seconds=2, by=head, today=BEFORE))
    actions.accept_run(run=run, by=head, today=BEFORE)
    placed = Place.objects.filter(slot__session=thirty.night)
    assert {place.player for place in placed} == {*thirty.able, *thirty.nc}
    assert {station.coach for station in Station.objects.all()} <= {"Ash", "Bo", "Cy"}
    assert {place.station.drill for place in placed.filter(player__in=thirty.nc)} <= {cards[28], cards[18]}
    assert max(station.places.count() for station in Station.objects.all()) <= 16
    assert all(minutes(week(thirty.squad), player, Kind.CONTROLLED) == 0 for player in thirty.nc)


def test_groups_of_ten_nine_and_nine_with_the_two_beside_them_are_taken_and_contact_for_the_two_is_refused(
    thirty, cards, head
):
    slot, (ten, nine, other) = thirty.slot(0), thirty.groups
    hand = {"slot": slot, "by": head, "today": BEFORE}
    for number, players in ((4, ten), (28, [*nine, thirty.nc[0]]), (18, [*other, thirty.nc[1]])):
        version = Session.objects.get(pk=thirty.night.pk).plan_version
        verdict = actions.add_station(drill=cards[number], players=players, version=version, **hand)
        assert verdict.breaches == ()
    assert sorted(station.places.count() for station in slot.stations.all()) == [10, 10, 10]
    fit = slot.stations.get(drill=cards[4])
    refused = actions.move_player(player=thirty.nc[0], to=fit, version=version + 1, **hand)
    assert [breach.rule for breach in refused.breaches if breach.player] == ["H5"]
    assert names_at(fit) == {player.pk for player in ten}


def test_three_groups_that_go_round_have_4_95_controlled_and_3_5_full_each_and_the_two_have_none(thirty, cards):
    """11 min x 45 % and 14 min x 25 %. The round itself is written by hand: the planner runs a card once a night."""
    for turn in range(3):
        for place, number in enumerate((4, 28, 18)):
            group = thirty.groups[(place + turn) % 3]
            beside = thirty.nc if number == 28 else []
            stand(thirty.slot(turn), cards[number], [*group, *beside], order=place)
    stand(thirty.slot(3), cards[21], thirty.able)
    found = week(thirty.squad)
    assert {minutes(found, player, Kind.CONTROLLED) for player in thirty.able} == {4.95}
    assert {minutes(found, player, Kind.FULL) for player in thirty.able} == {3.5}
    assert {minutes(found, player, kind) for player in thirty.nc for kind in (Kind.CONTROLLED, Kind.FULL)} == {0}
    met = {player: {place.station.drill.number for place in player.places.all()} for player in thirty.able}
    assert set(map(frozenset, met.values())) == {frozenset({4, 28, 18, 21})}
    built = problem_of(thirty.block, today=BEFORE, as_it_stands=True)
    assert {breach.rule for breach in breaches(built.problem, built.standing)} == {"H8"}


# A Thursday plan that would go past the week's limit


class HardWeek:
    """A match on Sunday; on Tuesday 12 min of card 21 were run, 8 of 5, 10 of 33 and 8 of 39."""

    def __init__(self, squad: Squad, cards: dict[int, Drill]) -> None:
        self.squad, self.block = squad, block_of(squad)
        self.players = members(squad, 16, range(1, 9))
        f.FixtureFactory(squad=squad, kick_off=dt.datetime(2026, 10, 11, 14, tzinfo=f.LONDON))
        tuesday = night_of(squad, TUESDAY, [12, 8, 10, 8])
        self.thursday = night_of(squad, THURSDAY, [8, 20, 7], coaches=4, stations=2)
        for slot, number in zip(tuesday.slots.all(), (21, 5, 33, 39), strict=True):
            stand(slot, cards[number], self.players)
        Drill.objects.filter(pk=cards[20].pk).update(minutes_most=20)  # the club lets it run as long as the live one
        stand(self.slot(0), cards[51], self.players)

    def slot(self, order: int):
        return self.thursday.slots.get(order=order)

    def add(self, drill: Drill, order: int, by):
        version = Session.objects.get(pk=self.thursday.pk).plan_version
        return actions.add_station(
            slot=self.slot(order), drill=drill, players=self.players, by=by, version=version, today=WEDNESDAY
        )

    def has(self, kind: Kind) -> set[float]:
        found = week(self.squad)
        return {minutes(found, player, kind) for player in self.players}


WEDNESDAY = dt.date(2026, 10, 7)


@pytest.fixture
def hard_week(squad, cards):
    return HardWeek(squad, cards)


def test_tuesdays_live_work_comes_to_10_7_minutes_and_thursdays_first_slot_to_13_1(hard_week):
    assert hard_week.has(Kind.FULL) == {13.1}
    Station.objects.filter(slot__session=hard_week.thursday).delete()
    assert hard_week.has(Kind.FULL) == {10.7}


def test_twenty_minutes_of_live_sets_on_top_are_refused_before_anything_is_written_with_18_1_of_15(
    hard_week, cards, head
):
    verdict = hard_week.add(cards[21], 1, head)
    assert {breach.rule for breach in verdict.breaches} == {"H6"}
    assert len(verdict.breaches) == 16
    told = f"{hard_week.players[0]} would have 18.1 minutes of full contact in week 1; the limit is 15."
    assert told in {breach.text for breach in verdict.breaches}
    assert not hard_week.slot(1).stations.exists()


def test_seven_minutes_of_the_same_fit_and_come_near_the_limit(hard_week, cards, head):
    assert hard_week.add(cards[21], 2, head).breaches == ()
    assert hard_week.has(Kind.FULL) == {14.85}
    assert {line.room for line in week(hard_week.squad).lines} == {Room.NEAR}


def test_the_controlled_card_in_its_place_fits_with_5_minutes_controlled(hard_week, cards, head):
    assert hard_week.add(cards[20], 1, head).breaches == ()
    assert (hard_week.has(Kind.FULL), hard_week.has(Kind.CONTROLLED)) == ({13.1}, {5.0})


# Back by the dates that a person decided


AUTUMN = {day: dt.date(2025, 10, day) for day in (4, 7, 8, 11, 12, 14, 15, 19, 21, 22, 23, 24, 25, 28)}


@pytest.fixture
def hurt(squad):
    """Hurt in the match of Saturday 4 October 2025. The dates are those that a licensed person decided and recorded."""
    f.ContactRulesFactory(club=squad.club, valid_from=dt.date(2025, 7, 1))
    player, _other = members(squad, 2)
    f.BlockFactory(squad=squad, first_day=dt.date(2025, 10, 6), weeks=4)
    f.DrillFactory(club=squad.club, players_least=1)
    clear(player, "absent", AUTUMN[4])
    clear(player, "none", AUTUMN[12], decided_on=AUTUMN[8])
    clear(player, "full", AUTUMN[22], decided_on=AUTUMN[8])
    return player


def ceilings(player: Player, days: Iterable[int]) -> dict[int, Ceiling]:
    """What the planner is told for a night on each of these days of October."""
    nights = {day: night_of(player.squad, AUTUMN[day], [10]) for day in days}
    block = Block.objects.get()
    problem = problem_of(block, today=block.first_day).problem
    return {day: problem.ceiling(player_id(player.pk), session_id(night.pk)) for day, night in nights.items()}


def test_a_clearance_with_its_next_dates_gives_each_night_its_ceiling(hurt):
    """Day 0 is the 4th: non-contact from day 8, contact on day 18 (14 clear days from the 8th), not on day 15."""
    found = ceilings(hurt, (7, 11, 12, 19, 21, 22))
    assert {day: str(level) for day, level in found.items()} == {
        7: "absent",
        11: "absent",
        12: "none",
        19: "none",
        21: "none",
        22: "full",
    }


def test_a_new_decision_takes_away_the_dates_that_were_decided_before_it(hurt):
    """New symptoms on the 15th: out from that day, and the contact that was decided for the 22nd no longer stands."""
    clear(hurt, "absent", AUTUMN[15], decided_on=AUTUMN[15])
    found = ceilings(hurt, (14, 15, 22, 28))
    assert [str(level) for level in found.values()] == ["none", "absent", "absent", "absent"]


def test_what_coaches_see_of_it_is_the_ceiling_who_decided_and_the_date(hurt):
    night = night_of(hurt.squad, AUTUMN[14], [10])
    built = problem_of(Block.objects.get(), today=AUTUMN[7])
    reason = built.reasons[player_id(hurt.pk), session_id(night.pk)]
    assert reason == "no contact by clearance of 12 Oct, decided by R. Lomax"


# The Friday check


FULL = {"past": (17.2, 16.0, 15.4), "near": (15.0, 14.4, 13.5, 12.6, 12.0)}  # minutes of full contact
AS_SLOTS = {17.2: (43, 40), 16.0: (40, 40), 15.4: (22, 70), 15.0: (15, 100), 14.4: (18, 80), 13.5: (27, 50)} | {
    12.6: (18, 70),
    12.0: (30, 40),
    11.9: (17, 70),
}  # minutes of a slot and per cent of them in contact


@pytest.fixture
def friday(squad, monkeypatch):
    """34 players with these minutes of the week: three past 15, five near it, the rest below 12."""
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime(2026, 10, 9, 12, tzinfo=dt.UTC))
    f.ContactRulesFactory(club=squad.club, full_days=None)
    players = members(squad, 34)
    wanted = [*FULL["near"], *FULL["past"], *[11.9] * 26]  # not in the order in which they are to be shown
    night = night_of(squad, TUESDAY, [length for length, _share in AS_SLOTS.values()])
    slots = dict(zip(AS_SLOTS, night.slots.all(), strict=True))
    live = {
        share: f.DrillFactory(club=squad.club, name=f"Live {share}", rung="C4", contact_share=share, contacts_most=4)
        for share in {share for _length, share in AS_SLOTS.values()}
    }
    for much in AS_SLOTS:
        here = [player for player, his in zip(players, wanted, strict=True) if his == much]
        stand(slots[much], live[AS_SLOTS[much][1]], here)
    return squad


def test_three_past_the_limit_come_first_by_their_excess_then_five_near_it_and_15_0_is_near(friday):
    lines = week(friday).lines
    figures = [line.week.figure(Kind.FULL) for line in lines]
    assert tuple(figure.minutes for figure in figures[:8]) == (*FULL["past"], *FULL["near"])
    assert [figure.excess for figure in figures[:3]] == [2.2, 1.0, 0.4]
    assert [line.room for line in lines] == [Room.PAST] * 3 + [Room.NEAR] * 5 + [Room.FINE] * 26


def test_a_player_kept_from_contact_who_stands_in_it_comes_before_all_others(friday):
    last = week(friday).lines[-1].player
    clear(last, "none", MONDAY)
    first = week(friday).lines[0]
    assert (first.player, first.room) == (last, Room.NOT_ALLOWED)


def test_the_welfare_officer_reaches_it_from_the_first_page(friday, welfare, log_in):
    page = log_in(welfare).get(reverse("start", kwargs={"club": friday.club.slug})).content.decode()
    assert "3 past a limit" in page
    assert "5 near a limit" in page
    assert reverse("totals", kwargs={"club": friday.club.slug}) in page


# Somebody comes late


def test_only_the_slots_at_which_a_late_arrival_still_stands_count(squad, cards, head):
    """He comes at minute 55. Whole slots count: he is taken off those that have begun, and the live one is left."""
    block_of(squad)
    players = members(squad, 24, range(1, 9))
    night = night_of(squad, TUESDAY, [20, 20, 14, 12])
    numbers, shares = (12, 32, 20, 21), (10.0, 7.0, 3.5, 3.0)
    groups = [players[:16], players[:16], players, players]
    slots = list(night.slots.all())
    for slot, number, group in zip(slots, numbers, groups, strict=True):
        stand(slot, cards[number], group)
    late, other = players[:2]
    for slot in slots[:3]:
        version = Session.objects.get(pk=night.pk).plan_version
        actions.move_player(player=late, slot=slot, to=None, by=head, version=version, today=TUESDAY)
    found = week(squad)
    assert (minutes(found, late, Kind.CONTROLLED), minutes(found, late, Kind.FULL)) == (0, 3.0)
    assert (minutes(found, other, Kind.CONTROLLED), minutes(found, other, Kind.FULL)) == (sum(shares[:3]), 3.0)


# Two of four coaches do not come


def test_with_two_coaches_in_place_of_four_two_stations_of_sixteen_are_left_with_a_coach_each(squad, head):
    """Thirty-two under sixteen, two slots of 15 minutes with four stations of eight in each."""
    f.ContactRulesFactory(club=squad.club)
    Squad.objects.filter(pk=squad.pk).update(age_from=15)
    squad.refresh_from_db()
    players, block = members(squad, 32), block_of(squad)
    drills = [
        f.DrillFactory(club=squad.club, name=f"Station {n}", players_least=6, players_most=16, age_from=14)
        for n in range(8)
    ]
    wish(squad, minutes=60)
    night = night_of(
        squad, TUESDAY, [(10, "Warm-up"), 15, 15], coaches=4, stations=4, coach_names=["Ash", "Bo", "Cy", "Di"]
    )
    slots = [night.slots.get(order=order) for order in (1, 2)]
    for half, slot in enumerate(slots):
        for n in range(4):
            drill, coach = drills[4 * half + n], ["Ash", "Bo", "Cy", "Di"][n]
            stand(slot, drill, players[8 * n : 8 * n + 8], order=n, coach=coach)
    Session.objects.filter(pk=night.pk).update(coaches=2, coach_names=["Ash", "Bo"])
    run = worked(deal_again(block=block, by=head, night=night, today=BEFORE))
    assert run.job.state == JobState.DONE
    assert any("uses 4 coaches, but there are 2" in words for words in run.released)
    actions.accept_run(run=run, by=head, today=BEFORE)
    for slot in slots:
        stations = list(slot.stations.all())
        assert [station.places.count() for station in stations] == [16, 16]
        assert sorted(station.coach for station in stations) == ["Ash", "Bo"]
        assert {key for station in stations for key in names_at(station)} == {player.pk for player in players}
