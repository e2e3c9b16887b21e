"""Groups that swap on the night, through its pages: who is marked, which coaches are here, and what is settled of it.

The figures of the first two nights are worked examples of our own; the others are of the same kind.
"""

from __future__ import annotations

import datetime as dt
import io
import uuid
from collections import Counter

import pytest
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from drills.actions import add_starter_library
from drills.cards import Size
from drills.models import Drill
from planner import swap_actions
from planner.attendance_actions import Tapped, mark
from planner.attendance_tonight import tonight_of
from planner.build import problem_of
from planner.changes import Refused
from planner.core.check import breaches
from planner.models import Place, Session, Station
from planner.record_actions import confirm_night, correct_line
from planner.record_night import night_record
from planner.sheets import cards_tonight, cards_tonight_pdf, sheet_of
from planner.swap_actions import end_swap, settle_swap
from planner.swap_models import Swap
from planner.swapping import Asked, evening_of, propose
from planner.tonight_actions import say_what_is_found
from planner.totals import totals_of
from shared.core.contact import Kind
from squads.models import Clearance, Player
from tests import factories as f
from tests.planner.block_cast import stand
from tests.planner.test_sheets import text_of

MONDAY, TUESDAY = dt.date(2026, 10, 5), dt.date(2026, 10, 6)
BEFORE = dt.datetime(2026, 10, 6, 18, 50, tzinfo=f.LONDON)
KIT = {"balls": 30, "cones": 60, "bibs": 36, "bags": 12, "shields": 16, "suits": 4, "mats": 4}


@pytest.fixture(autouse=True)
def tuesday(monkeypatch):
    monkeypatch.setattr(timezone, "localdate", lambda *args, **kwargs: TUESDAY)
    monkeypatch.setattr(timezone, "now", lambda: BEFORE)


def night_of(squad, slots, **fields) -> Session:
    starts = dt.datetime.combine(TUESDAY, dt.time(19), f.LONDON)
    f.BlockFactory(squad=squad, weeks=1)
    return f.SessionFactory(squad=squad, starts_at=starts, slots=slots, width=100, length=70, kit=KIT, **fields)


def players_of(squad, count: int) -> list[Player]:
    sizes = ("light", "middle", "heavy")
    return [
        f.PlayerFactory(squad=squad, main_position=n % 15 + 1, size_band=sizes[n % 3], seasons_played=n % 7)
        for n in range(count)
    ]


def here(night, players, by) -> None:
    taps = [Tapped(uuid.uuid4(), player.pk, "here", BEFORE) for player in players]
    mark(session=night, taps=taps, by=by, today=TUESDAY)


def no_contact(player) -> None:
    decided = {"decided_by": "R. Ash", "decided_as": "physio", "decided_on": MONDAY}
    Clearance.objects.create(player=player, level="none", from_day=MONDAY, **decided)


def url(name, night):
    return reverse(name, kwargs={"club": "brackenford", "session": night.pk})


def settle(client, night, **given):
    """What the page proposes, changed by `given`, settled as its button does."""
    address = url("swap", night)
    if given:
        usual = client.get(address).context["form"].data
        shown = client.get(address, usual | given)
    else:
        shown = client.get(address)
    assert shown.context["works"], shown.context["proposed"].troubles
    sent: dict = {}
    for name, value in shown.context["kept"]:
        sent.setdefault(name, []).append(value)
    answer = client.post(address, sent)
    assert answer.status_code == 302, answer.context["form"].errors
    return Swap.objects.last()


def table(night) -> list[list[tuple[int, int]]]:
    """Of each slot that holds stations, the number of the card and how many stand there."""
    slots = (list(slot.stations.order_by("order")) for slot in night.slots.all())
    return [[(s.drill.number, s.places.count()) for s in stations] for stations in slots if stations]


# --- 34 in the squad, 4 out and 2 without contact: three cards of 11 minutes and a team block ---------------


@pytest.fixture
def thirty(squad, head):
    f.ContactRulesFactory(club=squad.club, ladder_minutes=0)
    add_starter_library(squad.club, by=head, today=TUESDAY)
    fixed = [(2, "Brief"), (10, "Warm-up"), 11, (2, "Change"), 11, (1, "Change"), 11, (2, "Water")]
    night = night_of(squad, [*fixed, 14, (1, "Water"), (6, "Shape"), (4, "Close")], coach_names=["Ash", "Bo", "Cy"])
    players = players_of(squad, 34)
    for player in players[28:30]:
        no_contact(player)
    here(night, players[:30], head)
    cards = {drill.number: drill for drill in Drill.objects.of(squad.club)}
    first, *_others, team = night.slots.filter(title="")
    for order, number in enumerate((4, 28, 18)):
        stand(first, cards[number], players[order * 9 : order * 9 + 9], order=order)
    stand(team, cards[21], players[:28])
    return night, players


def three(thirty, client):
    night, _players = thirty
    slots = [str(slot.pk) for slot in night.slots.filter(title="")[:3]]
    return settle(client, night, slots=slots)


def test_thirty_swap_at_three_cards_in_seventy_five_minutes(thirty, head, log_in):
    night, players = thirty
    swap = three(thirty, log_in(head))
    assert [len(group) for group in swap.groups] == [10, 10, 10]
    assert [len([key for key in group if key in {p.pk for p in players[:28]}]) for group in swap.groups] == [10, 9, 9]
    assert sum(slot.minutes for slot in night.slots.all()) == 75
    visits = Counter(place.player_id for place in Place.objects.filter(slot__in=swap.slots))
    assert {visits[player.pk] for player in players[:28]} == {3}


def test_their_contact_is_counted_as_of_any_station_and_none_for_who_may_do_none(thirty, head, log_in):
    night, players = thirty
    three(thirty, log_in(head))
    week = totals_of(night.squad, MONDAY, 1, today=TUESDAY).weeks[0]
    for player in players[:30]:
        told = week.of(player.pk)
        found = {kind: told.figure(kind).minutes for kind in (Kind.CONTROLLED, Kind.FULL)}
        wanted = {Kind.CONTROLLED: 4.95, Kind.FULL: 3.5} if player in players[:28] else dict.fromkeys(found, 0)
        assert found == pytest.approx(wanted)


def test_sheet_and_cards_name_groups_pairs_and_jobs(thirty, head, log_in):
    night, _players = thirty
    three(thirty, log_in(head))
    sheet = sheet_of(night, TUESDAY)
    assert [(group.letter, len(group.names)) for group in sheet.groups] == [("A", 10), ("B", 10), ("C", 10)]
    assert sum(name.endswith(" NC") for group in sheet.groups for name in group.names) == 2
    stations = [station for slot in sheet.slots for station in slot.stations if station.swaps]
    assert len(stations) == 9
    against = [station for station in stations if station.drill.number == 4]
    assert sorted(len(station.stand.pairs) for station in against) == [4, 4, 5]
    assert sorted(len(station.stand.helpers) for station in against) == [0, 2, 2]
    assert {station.coach for station in stations} == {"Ash", "Bo", "Cy"}


def test_each_coach_has_one_card_with_the_groups_in_the_order_in_which_they_come(thirty, head, log_in):
    night, players = thirty
    swap = three(thirty, log_in(head))
    sheet = sheet_of(night, TUESDAY)
    *rounds, team = cards_tonight(sheet)
    assert [(card.drill.number, card.night.place, card.night.coach) for card in rounds] == [
        (4, "place A", "Ash"), (28, "place B", "Bo"), (18, "place C", "Cy")
    ]  # fmt: skip
    assert {card.night.time for card in rounds} == {"19:12 to 19:48, 3 rounds"}
    heads = [[each.head for each in card.night.rounds] for card in rounds]
    assert heads[0] == [
        "19:12 to 19:23, group A:", "19:25 to 19:36, group C:", "19:37 to 19:48, group B:"
    ]  # fmt: skip
    for at_once in zip(*heads, strict=True):  # every group is somewhere in every round
        assert sorted(head[-2] for head in at_once) == ["A", "B", "C"]
    assert (team.drill.number, team.night.rounds) == (21, ())
    assert sorted(name.name.count(" – ") for name in team.night.names) == [1] * 14  # 28 players, two and two
    named = " ".join(each.name for turn in rounds[0].night.rounds for each in turn.names)
    assert all(player.short_name in named for player in players[:30])  # everybody comes to each place once
    assert named.count(" – ") == sum(len(stand["pairs"]) for each in swap.rounds for stand in each["stands"][:1])
    jobs = [each for turn in rounds[0].night.rounds for each in turn.names if "(" in each.name]
    assert sorted(each.nc for each in jobs) == [False, False, True, True]  # two odd ones, and two without contact
    assert not any("NC" in each.name for each in jobs)  # the mark is printed once


@pytest.mark.parametrize("size", list(Size))
def test_a_card_of_rounds_is_one_card_on_each_paper_and_says_who_comes_when(thirty, head, log_in, size):
    night, players = thirty
    three(thirty, log_in(head))
    pdf = cards_tonight_pdf(night, TUESDAY, size=size)
    assert len(PdfReader(io.BytesIO(pdf)).pages) == {Size.A4: 4, Size.A5: 2, Size.A6: 1}[size]
    text = " ".join(text_of(pdf).split())
    for words in ("19:12 to 19:48, 3 rounds", "19:25 to 19:36, group C:", "(feeds the ball) NC"):
        assert words in text
    assert all(text.count(player.short_name) >= 3 for player in players[:30])


def test_whose_partner_has_left_stands_on_the_card_as_one_who_needs_another(thirty, head, log_in):
    night, players = thirty
    swap = three(thirty, log_in(head))
    gone, left = swap.rounds[0]["stands"][0]["pairs"][0]
    by_key = {player.pk: player for player in players}
    mark(
        session=night, taps=[Tapped(uuid.uuid4(), gone, "away", BEFORE + dt.timedelta(hours=1))], by=head, today=TUESDAY
    )
    names = [
        each.name
        for card in cards_tonight(sheet_of(night, TUESDAY))
        for turn in card.night.rounds
        for each in turn.names
    ]
    assert f"{by_key[left].short_name} (needs a partner)" in names
    assert not any(by_key[gone].short_name == name.split(" (")[0] for name in names)


def test_the_page_of_the_night_names_them_too_and_ends_it(thirty, head, log_in):
    night, _players = thirty
    client = log_in(head)
    swap = three(thirty, client)
    text = " ".join(client.get(url("tonight", night)).content.decode().split())
    assert "Group A" in text
    assert "feeds the ball" in text
    assert "Deal these groups anew" in text
    client.post(url("swap_end", night))
    assert not Station.objects.filter(slot__in=swap.slots).exists()
    assert tonight_of(night, TUESDAY).swap is None


def test_to_the_planner_the_rounds_are_facts_and_the_rest_of_the_night_is_open(thirty, head, log_in):
    night, _players = thirty
    swap = three(thirty, log_in(head))
    built = problem_of(night.squad.blocks.get(), today=TUESDAY, as_it_stands=True)
    assert breaches(built.problem, built.standing, built.words) == []
    assert set(swap.slots) <= built.begun
    assert [slot.pk for slot in night.slots.filter(title="") if built.is_open(slot.pk)] == [
        night.slots.filter(title="").last().pk
    ]


def test_after_two_more_have_come_the_groups_are_dealt_anew(thirty, head, log_in):
    night, players = thirty
    client = log_in(head)
    first = three(thirty, client)
    here(night, players[30:33], head)
    again = settle(client, night)
    assert again.slots == first.slots
    assert [len(group) for group in again.groups] == [11, 11, 11]
    assert sum(slot.minutes for slot in night.slots.all()) == 75


# --- an under-16 squad of 32, four cards of 15 minutes, four coaches of whom two have come -------------------


@pytest.fixture
def under_16s(squad, head):
    squad.age_from = 16
    squad.save()
    f.ContactRulesFactory(club=squad.club, ladder_minutes=0)
    night = night_of(squad, [(10, "Warm-up"), 15, 15, 15, 15], coaches=4, stations=4, coach_names=["A", "B", "C", "D"])
    kit = [{"item": "shields", "count": 1, "per": 2}]
    cards = [
        f.DrillFactory(
            club=squad.club, players_least=4, players_most=16, minutes_least=10, minutes_most=16, kit=kit,
            rung="C2", contact_share=20, contacts_most=6, grid_width=20, grid_length=20,
        )
        for _n in range(4)
    ]  # fmt: skip
    players = players_of(squad, 32)
    for n, slot in enumerate(night.slots.filter(title="")):
        for order in range(4):
            group = (n + order) % 4
            stand(slot, cards[order], players[group * 8 : group * 8 + 8], order=order)
    here(night, players, head)
    return night, cards


def only(night, adults: int, head, **values) -> None:
    names = ["A", "B", "C", "D"][:adults]
    say_what_is_found(session=night, by=head, today=TUESDAY, coaches=adults, coach_names=names, **values)
    night.refresh_from_db()


def test_with_two_coaches_two_groups_of_sixteen_swap_at_two_cards_and_then_at_the_others(under_16s, head, log_in):
    night, cards = under_16s
    only(night, 2, head)
    swap = settle(log_in(head), night, in_all="75")
    assert [len(group) for group in swap.groups] == [16, 16]
    a, b, c, d = (card.number for card in cards)
    assert table(night) == [[(a, 16), (b, 16)], [(a, 16), (b, 16)], [(c, 16), (d, 16)], [(c, 16), (d, 16)]]
    assert sum(slot.minutes for slot in night.slots.all()) == 75  # 4 x 15, warm-up 10, changes of 2, 1 and 2
    assert {station.coach for station in Station.objects.filter(slot__session=night)} == {"A", "B"}
    everywhere = Counter(Place.objects.filter(slot__session=night).values_list("player", flat=True))
    assert set(everywhere.values()) == {4}


@pytest.mark.parametrize(
    ("adults", "values", "change", "words"),
    [
        (2, {"kit": {"shields": 15}}, {}, "there are 15"),
        (2, {}, {"players_most": 15}, "takes at most 15, a group has 16"),
        (0, {}, {}, "No station runs without an adult coach"),
    ],
)
def test_kit_that_does_not_double_cards_that_are_too_small_and_no_adult_are_refused(
    under_16s, head, log_in, adults, values, change, words
):
    night, cards = under_16s
    only(night, adults, head, **values)
    Drill.objects.filter(pk__in=[card.pk for card in cards]).update(**change or {"rpe": 5})
    before = table(night)
    client = log_in(head)
    text = client.get(url("swap", night)).content.decode()
    assert words in text
    assert "Settle these groups" not in text
    evening = evening_of(night, BEFORE)
    with pytest.raises(Refused, match=words):
        settle_swap(proposed=propose(evening, Asked(tuple(evening.drills), 15, 1.5, 75)), by=head)
    assert table(night) == before
    assert not Swap.objects.exists()


def test_sixteen_minutes_are_too_long_and_the_page_says_what_would_help(under_16s, head, log_in):
    night, _cards = under_16s
    only(night, 2, head)
    client = log_in(head)
    usual = client.get(url("swap", night)).context["form"].data
    text = client.get(url("swap", night), usual | {"minutes": "16", "in_all": "75"}).content.decode()
    assert "The night would last 78.5 minutes, it has 75." in text
    assert "Rounds of 15 minutes." in text


@pytest.mark.parametrize(("adults", "sizes", "rounds"), [(4, [8, 8, 8, 8], 4), (2, [16, 16], 4)])
def test_other_numbers_of_coaches(under_16s, head, log_in, adults, sizes, rounds):
    night, _cards = under_16s
    if adults < 4:
        only(night, adults, head)
    swap = settle(log_in(head), night, in_all="75")
    assert [len(group) for group in swap.groups] == sizes
    assert len(swap.rounds) == rounds


def test_a_weekly_limit_that_the_rounds_would_pass_is_refused_by_name_and_nothing_is_written(under_16s, head, log_in):
    night, _cards = under_16s
    only(night, 2, head)
    night.squad.club.contact_rules.update(controlled_minutes=11)
    evening = evening_of(night, BEFORE)
    before = table(night), [slot.minutes for slot in night.slots.all()]
    with pytest.raises(Refused, match="12 minutes of controlled contact"):
        settle_swap(proposed=propose(evening, Asked(tuple(evening.drills), 15, 1.5, 75)), by=head)
    assert (table(night), [slot.minutes for slot in night.slots.all()]) == before


def test_fewer_rounds_than_slots_leave_no_empty_slot_behind(under_16s, head, log_in):
    night, cards = under_16s
    only(night, 2, head)
    swap = settle(log_in(head), night, drills=[str(card.pk) for card in cards[:2]], in_all="75")
    assert len(swap.rounds) == 2
    assert [(slot.minutes, slot.title) for slot in night.slots.all()] == [
        (10, "Warm-up"), (15, ""), (2, "Change"), (15, ""),
    ]  # fmt: skip


# --- what somebody has told of the night, or confirmed, stays as it is ------------------------------------------

DURING = dt.datetime(2026, 10, 6, 19, 5, tzinfo=f.LONDON)  # in the warm-up


def tell(night, slot, by) -> None:
    """Somebody records the first spot of this slot."""
    found = next(block for block in night_record(night, DURING).blocks if block.order == slot.order)
    correct_line(session=night, spot=found.spot, parts=found.parts, seen=None, by=by, now=DURING)


def rows(night) -> list:
    return [table(night), [(slot.pk, slot.minutes) for slot in night.slots.all()], Swap.objects.count()]


def proposal(night, cards=None):
    evening = evening_of(night, DURING)
    return propose(evening, Asked(tuple(cards or evening.drills), 15, 1.5, 75))


def swapping(night, head):
    """Groups settled, with a change between the first two rounds."""
    only(night, 2, head)
    return settle_swap(proposed=proposal(night), by=head, now=DURING)


@pytest.mark.parametrize("kept", [2, 4], ids=["slots that go", "slots that stay"])
@pytest.mark.parametrize("n", [0, 3])
def test_no_groups_are_settled_over_a_station_that_somebody_has_told(under_16s, head, assistant, kept, n):
    night, cards = under_16s
    only(night, 2, head)
    tell(night, night.slots.filter(title="")[n], assistant)
    before, proposed = rows(night), proposal(night, cards[:kept])
    assert not proposed.troubles
    with pytest.raises(Refused, match="assistant has told in the record what ran"):
        settle_swap(proposed=proposed, by=head, now=DURING)
    assert rows(night) == before


def test_no_groups_are_dealt_anew_over_a_change_that_somebody_has_told(under_16s, head, assistant):
    night, _cards = under_16s
    swapping(night, head)
    tell(night, night.slots.filter(title="Change")[0], assistant)
    before, proposed = rows(night), proposal(night)
    assert not proposed.troubles
    with pytest.raises(Refused, match="assistant has told in the record what ran"):
        settle_swap(proposed=proposed, by=head, now=DURING)
    assert rows(night) == before


def test_what_was_told_of_the_warm_up_keeps_nobody_from_swapping_after_it(under_16s, head, assistant):
    night, _cards = under_16s
    tell(night, night.slots.first(), assistant)
    assert len(swapping(night, head).rounds) == 4


def test_groups_do_not_end_over_a_round_that_somebody_has_told(under_16s, head, assistant, log_in, monkeypatch):
    night, _cards = under_16s
    swap = swapping(night, head)
    tell(night, night.slots.get(pk=swap.slots[1]), assistant)
    monkeypatch.setattr(timezone, "now", lambda: DURING)
    before = rows(night)
    answer = log_in(head).post(url("swap_end", night), follow=True)
    assert "assistant has told in the record what ran" in answer.content.decode()
    assert rows(night) == before


def test_groups_end_after_a_round_that_has_run_and_was_told(under_16s, head, assistant):
    night, _cards = under_16s
    swap = swapping(night, head)
    tell(night, night.slots.get(pk=swap.slots[0]), assistant)
    end_swap(session=night, by=head, now=DURING + dt.timedelta(minutes=10))
    assert [len(stations) for stations in table(night)] == [2]


def test_a_confirmed_night_neither_begins_nor_ends_to_swap(under_16s, head):
    night, _cards = under_16s
    swapping(night, head)
    proposed = proposal(night)
    night.refresh_from_db()
    confirm_night(session=night, by=head, version=night.plan_version, now=DURING)
    before = rows(night)
    with pytest.raises(Refused, match="is confirmed by head"):
        settle_swap(proposed=proposed, by=head, now=DURING)
    with pytest.raises(Refused, match="is confirmed by head"):
        end_swap(session=night, by=head, now=DURING)
    assert rows(night) == before


def test_settling_and_ending_lock_in_the_same_order(under_16s, head, monkeypatch):
    """Otherwise each could wait for a row that the other holds."""
    night, _cards = under_16s
    order = []
    for name in ("hold", "held"):
        lock = getattr(swap_actions, name)
        monkeypatch.setattr(swap_actions, name, lambda *args, n=name, f=lock: [order.append(n), f(*args)][1])
    swapping(night, head)
    end_swap(session=night, by=head, now=DURING)
    assert order == ["hold", "held"] * 2


def test_an_assistant_does_not_deal_groups(under_16s, assistant, log_in):
    night, _cards = under_16s
    client = log_in(assistant)
    assert client.get(url("swap", night)).status_code == 403
    assert "Deal groups that swap" not in client.get(url("tonight", night)).content.decode()
