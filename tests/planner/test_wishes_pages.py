"""The page of a coach's wishes: who may open it, what it says, what it refuses, what it leaves in the audit chain."""

from __future__ import annotations

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from planner import actions
from planner.build import problem_of
from planner.models import PlanRun, Station
from planner.settling import shared_out
from planner.wish_models import Apart, BlockWishes, DrillWish, Favourite
from shared.models import AuditEvent
from tests import factories as f
from tests.planner.block_cast import BEFORE, add, small_block, stand


@pytest.fixture
def cast(squad, monkeypatch):
    """The clock of the site stands at noon of 1 October 2026, before the first night."""
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime(2026, 10, 1, 12, tzinfo=dt.UTC))
    return small_block(squad)


@pytest.fixture
def coach(log_in, head):
    return log_in(head)


@pytest.fixture
def ash(club):
    return f.MembershipFactory(club=club, user__username="ash", user__first_name="Ash", role="assistant")


def url(name, cast, **words):
    return reverse(name, kwargs={"club": "brackenford", "block": cast.block.pk} | words)


def home(cast):
    return url("block_wishes", cast)


def page(answer):
    return answer.content.decode()


def nights(**fields):
    return {"version": 0, "tiring_rpe": 7} | fields


def drill_wish(cast, **fields):
    return {"version": 0, "drill": cast.drills[0].pk, "matters": 40, "unit_least": 1} | fields


def wishes_of(cast):
    return BlockWishes.objects.get(block=cast.block)


def errors(answer):
    return answer.context["form"].errors


# Every night


def test_a_new_block_wishes_for_nothing_and_the_page_writes_nothing(cast, coach):
    shown = page(coach.get(home(cast)))
    assert shown.count("None.") == 3
    assert not BlockWishes.objects.exists()


def test_what_every_night_keeps_to_is_saved(cast, coach):
    sent = nights(themes_most=2, nothing_new="on", order="on", tiring_rpe=8, hard_rpe=7, hard_most=2)
    answer = coach.post(home(cast), sent, follow=True)
    saved = wishes_of(cast)
    kept = saved.themes_most, saved.nothing_new, saved.tiring_rpe, saved.hard_rpe, saved.hard_most
    assert kept == (2, True, 8, 7, 2)
    assert "Saved. Stations stay as they are: plan the block again to have it followed." in page(answer)
    assert answer.context["form"]["order"].value() is True


def test_without_its_tick_the_order_is_off(cast, coach):
    coach.post(home(cast), nights(tiring_rpe=8))
    assert wishes_of(cast).tiring_rpe is None


@pytest.mark.parametrize(
    ("fields", "field", "message"),
    [
        ({"themes_most": 7}, "themes_most", "less than or equal to 6"),
        ({"order": "on", "tiring_rpe": ""}, "tiring_rpe", "Say from which RPE on a drill tires"),
        ({"tiring_rpe": 11}, "tiring_rpe", "less than or equal to 10"),
        ({"hard_rpe": 7}, "hard_most", "fill in both or neither"),
        ({"hard_most": 2}, "hard_rpe", "fill in both or neither"),
        ({"hard_rpe": "many", "hard_most": 2}, "hard_rpe", "Enter a whole number"),
    ],
)
def test_nights_that_will_not_do_are_refused_beside_the_field(cast, coach, fields, field, message):
    answer = coach.post(home(cast), nights(**fields))
    assert message in " ".join(errors(answer)[field])
    assert not BlockWishes.objects.exists()


def test_who_saves_an_older_page_is_told_and_writes_nothing(cast, coach):
    coach.post(home(cast), nights(themes_most=2))
    answer = coach.post(home(cast), nights(themes_most=3))
    assert "Somebody has changed the wishes of this block since" in page(answer)
    assert wishes_of(cast).themes_most == 2


# Drills


def test_a_wish_for_a_drill_is_told_in_one_sentence(cast, coach):
    sent = drill_wish(
        cast, fresh="on", runs_least=2, runs_most=3, gap_days=4, keep="mixed", units=["backs", "forwards"]
    )
    answer = coach.post(url("add_wish", cast, sort="drill"), sent | {"unit_least": 2}, follow=True)
    assert [words for _wish, words in answer.context["drill_wishes"]] == [
        f"{cast.drills[0]}: before anything that tires; at least 2 times (matters rather); at most 3 times; "
        "4 days at least between two nights; at least 2 each of forwards and backs at its station."
    ]
    assert DrillWish.objects.get().units == ("forwards", "backs")


def test_position_groups_are_called_what_the_club_calls_them(cast, coach):
    cast.squad.club.position_names = {"FR": "Piano pushers"}
    cast.squad.club.save()
    coach.post(url("add_wish", cast, sort="drill"), drill_wish(cast, keep="together", units=["FR", "B3"]))
    told = coach.get(home(cast)).context["drill_wishes"][0][1]
    assert told.endswith(": piano pushers and back three each at a station of their own.")


@pytest.mark.parametrize(
    ("fields", "field", "message"),
    [
        ({}, "__all__", "Nothing is wished for yet"),
        ({"runs_least": 3, "runs_most": 2}, "runs_most", "exchange the two"),
        ({"keep": "together", "units": ["forwards"]}, "units", "Tick two units at least"),
        ({"keep": "mixed"}, "units", "Tick two units at least"),
        ({"drill": ""}, "drill", "This field is required"),
        ({"fresh": "on", "version": ""}, "version", "This form is too old"),
    ],
)
def test_a_drill_wish_that_will_not_do_is_refused_beside_the_field(cast, coach, fields, field, message):
    answer = coach.post(url("add_wish", cast, sort="drill"), drill_wish(cast, **fields))
    assert message in " ".join(errors(answer)[field])
    assert message in page(answer)
    assert not DrillWish.objects.exists()


def test_a_second_wish_for_the_same_drill_is_refused(cast, coach):
    coach.post(url("add_wish", cast, sort="drill"), drill_wish(cast, fresh="on"))
    answer = coach.post(url("add_wish", cast, sort="drill"), drill_wish(cast, gap_days=3, version=1))
    assert "There is such a wish in this block already: change that one." in page(answer)
    assert DrillWish.objects.get().gap_days == 0
    assert wishes_of(cast).version == 1


def test_a_wish_is_changed_by_the_same_form(cast, coach):
    coach.post(url("add_wish", cast, sort="drill"), drill_wish(cast, fresh="on", gap_days=3))
    at = url("change_wish", cast, sort="drill", wish=DrillWish.objects.get().pk)
    form = coach.get(at).context["form"]
    assert (form["fresh"].value(), form["gap_days"].value(), form["runs_least"].value()) == (True, 3, None)
    coach.post(at, drill_wish(cast, runs_least=2, version=1))
    changed = DrillWish.objects.get()
    assert (changed.fresh, changed.gap_days, changed.runs_least) == (False, 0, 2)


def test_a_drill_of_another_club_cannot_be_wished_for(cast, coach):
    answer = coach.post(url("add_wish", cast, sort="drill"), drill_wish(cast, drill=f.DrillFactory().pk, fresh="on"))
    assert "drill" in errors(answer)


# Pairs


def pair(cast, **fields):
    return {"version": 0, "first": cast.players[1].pk, "second": cast.players[0].pk} | fields


def test_two_players_are_kept_apart_whoever_is_named_first(cast, coach):
    answer = coach.post(url("add_wish", cast, sort="apart"), pair(cast, contact_only="on"), follow=True)
    first, second = sorted(cast.players[:2], key=lambda player: player.pk)
    assert [words for _wish, words in answer.context["apart"]] == [
        f"{first} and {second} never share a station with contact."
    ]
    again = coach.post(url("add_wish", cast, sort="apart"), pair(cast, first=first.pk, second=second.pk, version=1))
    assert "There is such a wish in this block already" in page(again)
    assert Apart.objects.count() == 1


def test_nobody_is_kept_apart_from_himself(cast, coach):
    answer = coach.post(url("add_wish", cast, sort="apart"), pair(cast, second=cast.players[1].pk))
    assert errors(answer)["second"] == ["That is the same player twice: choose another."]


def test_a_player_of_another_squad_is_no_choice(cast, coach):
    answer = coach.post(url("add_wish", cast, sort="apart"), pair(cast, second=f.PlayerFactory().pk))
    assert "second" in errors(answer)


# Favourites


def favourites(cast, coach, **fields):
    return {"version": 0, "coach": coach.pk, "drills": [drill.pk for drill in cast.drills[:2]], "matters": 10} | fields


def test_favourites_of_a_coach_are_told_with_their_drills(cast, coach, ash):
    answer = coach.post(url("add_wish", cast, sort="favourite"), favourites(cast, ash), follow=True)
    rope, fence = cast.drills[:2]
    assert [words for _wish, words in answer.context["favourites"]] == [
        f"Ash would like to run {rope} or {fence} on each night (matters a little)."
    ]


def test_a_coach_of_another_club_is_no_choice(cast, coach):
    stranger = f.MembershipFactory()
    answer = coach.post(url("add_wish", cast, sort="favourite"), favourites(cast, stranger))
    assert "coach" in errors(answer)


def test_a_second_list_of_one_coach_is_refused_and_leaves_the_first(cast, coach, ash):
    coach.post(url("add_wish", cast, sort="favourite"), favourites(cast, ash))
    second = favourites(cast, ash, drills=[cast.drills[2].pk], version=1)
    answer = coach.post(url("add_wish", cast, sort="favourite"), second)
    assert "There is such a wish in this block already" in page(answer)
    assert list(Favourite.objects.get().drills.all()) == cast.drills[:2]


def test_a_coach_gets_the_stations_of_his_favourites_first(cast, ash, club):
    rope, fence, gate = cast.drills
    rope.coaches = 2
    shared = shared_out([rope, fence, gate], ["Bo", "Ash", "Cy"], {fence.pk: [ash.user]})
    assert shared == {rope.pk: "Bo, Cy", fence.pk: "Ash", gate.pk: ""}


def test_accepting_a_plan_gives_a_coach_his_favourite(cast, coach, head, ash):
    coach.post(url("add_wish", cast, sort="favourite"), favourites(cast, ash, drills=[cast.drills[1].pk]))
    built = problem_of(cast.block, today=BEFORE)
    place = built.places[cast.slot().pk]
    ids = [f"p{player.pk}" for player in cast.players]
    stations = [
        {"session": place[0], "slot": place[1], "drill": f"d{drill.pk}", "players": players}
        for drill, players in ((cast.drills[0], ids[:4]), (cast.drills[1], ids[4:]))
    ]
    plan = {"format": "plumbline-plan/1", "problem": cast.block.name, "stations": stations}
    run = PlanRun.objects.create(block=cast.block, problem=built.problem.to_json(), plan=plan)
    actions.accept_run(run=run, by=head, today=BEFORE)
    assert [(each.drill, each.coach) for each in Station.objects.all()] == [
        (cast.drills[0], "Bo"),
        (cast.drills[1], "Ash"),
    ]


# Taking back


def test_taking_a_wish_back_asks_first(cast, coach):
    coach.post(url("add_wish", cast, sort="apart"), pair(cast))
    at = url("remove_wish", cast, sort="apart", wish=Apart.objects.get().pk)
    assert "never share a station." in page(coach.get(at))
    assert Apart.objects.exists()
    coach.post(at, {"version": 1})
    assert not Apart.objects.exists()


def test_a_wish_changed_meanwhile_is_not_taken_back(cast, coach):
    coach.post(url("add_wish", cast, sort="apart"), pair(cast))
    at = url("remove_wish", cast, sort="apart", wish=Apart.objects.get().pk)
    coach.post(home(cast), nights(version=1, themes_most=2))
    assert "Somebody has changed the wishes of this block since" in page(coach.post(at, {"version": 1}))
    assert Apart.objects.exists()


@pytest.mark.parametrize(("sort", "wish"), [("drill", 1), ("apart", 999_999), ("weather", 1)])
def test_a_wish_that_is_not_there_is_not_found(cast, coach, sort, wish):
    coach.post(url("add_wish", cast, sort="apart"), pair(cast))
    assert coach.get(url("change_wish", cast, sort=sort, wish=wish)).status_code == 404


def test_a_wish_of_another_block_is_not_found_under_this_one(cast, coach):
    coach.post(url("add_wish", cast, sort="apart"), pair(cast))
    other = f.BlockFactory(squad=cast.squad, name="November block", first_day=dt.date(2026, 11, 2))
    words = {"club": "brackenford", "block": other.pk, "sort": "apart", "wish": Apart.objects.get().pk}
    assert coach.get(reverse("change_wish", kwargs=words)).status_code == 404


# What it says of the programme


def test_every_change_is_in_the_audit_chain_in_words(cast, coach):
    coach.post(home(cast), nights(themes_most=2))
    coach.post(url("add_wish", cast, sort="apart"), pair(cast, version=1))
    coach.post(url("remove_wish", cast, sort="apart", wish=Apart.objects.get().pk), {"version": 2})
    events = AuditEvent.objects.filter(did__contains="wish").order_by("number")
    assert [event.did for event in events] == ["changed wishes for nights", "added wish", "took back wish"]
    assert events[0].detail["themes_most"] == 2
    assert events[1].detail["wish"].endswith("never share a station.")


def test_a_new_wish_says_at_once_which_stations_stand_against_it(cast, coach):
    stand(cast.slot(), cast.drills[0], cast.players)
    answer = coach.post(url("add_wish", cast, sort="apart"), pair(cast), follow=True)
    assert len(answer.context["broken"]) == 1
    assert str(cast.drills[0]) in answer.context["broken"][0]
    assert "1 thing in the programme stands against a wish" in page(answer)
    assert Station.objects.get().places.count() == 8


def test_what_else_does_not_fit_is_no_matter_of_wishes(cast, coach):
    stand(cast.slot(), cast.drills[0], cast.players[:1])
    coach.post(home(cast), nights(themes_most=2))
    assert coach.get(home(cast)).context["broken"] == []


def test_an_edit_by_hand_that_a_wish_forbids_is_refused(cast, coach, head):
    coach.post(url("add_wish", cast, sort="apart"), pair(cast))
    verdict = add(cast, head, players=cast.players)
    assert [breach.rule for breach in verdict.breaches] == ["H16"]
    assert not Station.objects.exists()


def test_wishes_that_may_stay_open_are_listed_while_they_do(cast, coach, ash):
    coach.post(url("add_wish", cast, sort="drill"), drill_wish(cast, runs_least=2))
    coach.post(url("add_wish", cast, sort="favourite"), favourites(cast, ash, drills=[cast.drills[1].pk], version=1))
    stand(cast.slot(0), cast.drills[0], cast.players)
    stand(cast.slot(1), cast.drills[1], cast.players)
    answer = coach.get(home(cast))
    assert answer.context["unmet"] == [
        f"{cast.drills[0]} runs 1 of 2 times still wished for",
        "no favourite of Ash on Tue 6 Oct, Tue 13 Oct and Thu 15 Oct",
    ]
    assert "2 wishes are not met" in page(answer)


def test_a_run_says_which_wishes_its_plan_leaves_open(cast, coach, ash):
    coach.post(url("add_wish", cast, sort="favourite"), favourites(cast, ash, drills=[cast.drills[1].pk]))
    built = problem_of(cast.block, today=BEFORE)
    plan = {"format": "plumbline-plan/1", "problem": cast.block.name, "stations": []}
    cost = {"short": 0, "untouched": 0, "outside": 0, "idle": 0, "uneven": 0, "unmet": 4, "cost": 40}
    run = PlanRun.objects.create(block=cast.block, problem=built.problem.to_json(), plan=plan, cost=cost)
    answer = coach.get(reverse("run", kwargs={"club": "brackenford", "run": run.pk}))
    assert answer.context["unmet"] == ["no favourite of Ash on Tue 6 Oct, Thu 8 Oct, Tue 13 Oct and Thu 15 Oct"]
    assert "1 wish not met" in page(answer)


def test_hard_work_in_a_row_is_told_by_the_slots_of_the_sheet(cast, coach):
    """Slot 1 of the sheet holds the warm-up."""
    for order in (1, 2):
        stand(cast.slot(order=order), cast.drills[order], cast.players[:2])
    answer = coach.post(home(cast), nights(hard_rpe=5, hard_most=1), follow=True)
    assert answer.context["broken"] == [
        f"{player} stands at drills of RPE 5 or more in 2 slots in a row from Tue 6 Oct, slot 2 on; the limit is 1."
        for player in cast.players[:2]
    ]


def test_a_programme_that_is_older_than_its_wishes_is_said_to_be(cast, coach, monkeypatch):
    PlanRun.objects.create(block=cast.block, accepted_at=timezone.now())
    old = "The programme was planned before these wishes last changed"
    assert old not in page(coach.get(home(cast)))
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime(2026, 10, 1, 13, tzinfo=dt.UTC))
    coach.post(home(cast), nights(themes_most=2))
    assert old in page(coach.get(home(cast)))


@pytest.mark.parametrize(
    ("change", "note"),
    [
        ("fresh", "Wanting fresh legs does not count for {drill}: fresh drills before tiring ones is off."),
        ("retired", "Wished for, but not to be planned in this block: {drill}."),
        ("absent coach", "Favourites do not count for Ash: no night that is left names them."),
    ],
)
def test_a_wish_that_cannot_count_is_told(cast, coach, ash, change, note):
    drill = cast.drills[0]
    fields = drill_wish(cast, fresh="on") if change == "fresh" else drill_wish(cast, runs_least=1)
    coach.post(url("add_wish", cast, sort="drill"), fields)
    if change == "retired":
        drill.retired_on = BEFORE
        drill.save()
    if change == "absent coach":
        coach.post(url("add_wish", cast, sort="favourite"), favourites(cast, ash, version=1))
        cast.squad.sessions.update(coach_names=["Bo"])
    assert note.format(drill=drill) in coach.get(home(cast)).context["notes"]


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_takes_the_same_queries_for_any_number_of_wishes(count, cast, coach, ash, django_assert_num_queries):
    wishes = BlockWishes.objects.create(block=cast.block)
    favourite = Favourite.objects.create(wishes=wishes, coach=ash)
    favourite.drills.set(cast.drills[:count])
    for number in range(count):
        DrillWish.objects.create(wishes=wishes, drill=cast.drills[number], fresh=True)
        first, second = sorted(cast.players[number : number + 2], key=lambda player: player.pk)
        Apart.objects.create(wishes=wishes, first=first, second=second)
        stand(cast.slot(number), cast.drills[number], cast.players)
    with django_assert_num_queries(43):
        coach.get(home(cast))


def test_the_page_of_the_block_leads_to_its_wishes(cast, coach, log_in, assistant):
    at = reverse("block", kwargs={"club": "brackenford", "block": cast.block.pk})
    assert home(cast) in page(coach.get(at))
    assert home(cast) not in page(log_in(assistant).get(at))
