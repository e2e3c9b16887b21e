"""Pages of squads and players, as each role uses them."""

import datetime as dt

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from shared.clock import today_at
from shared.models import Upload
from squads.actions import mark_away
from squads.clearance_actions import record_clearance
from squads.models import Absence, Clearance, ContactRules, Player, Squad
from tests import factories as f

pytestmark = pytest.mark.django_db
WEEK = dt.timedelta(7)
LIST = b"Name;Position\nAnn Ferris;12/13\nBo Marr;9\nCy Dunn;99\n"


def url(name, **words):
    return reverse(name, kwargs={"club": "brackenford"} | words)


@pytest.fixture
def today(club):
    return today_at(club)


@pytest.fixture
def ann(squad):
    return f.PlayerFactory(squad=squad, given_name="Ann", family_name="Ferris", key="B7", main_position=12)


def text(answer):
    return " ".join(answer.content.decode().split())


def errors(answer):
    return {field: list(said) for field, said in answer.context["form"].errors.items()}


# The squad


def test_a_club_of_one_squad_goes_straight_to_it(squad, log_in, assistant):
    answer = log_in(assistant).get(url("squads"))
    assert (answer.status_code, answer.headers["Location"]) == (302, url("squad", squad="firsts"))


@pytest.mark.parametrize("who", ["head", "assistant", "welfare", "medic"])
def test_from_the_only_squad_everybody_finds_the_members_of_his_club(squad, log_in, request, who):
    page = log_in(request.getfixturevalue(who)).get(url("squad", squad="firsts"))
    assert f'href="{url("members")}"' in page.content.decode()


def test_a_short_name_that_cannot_stand_in_an_address_is_refused_in_plain_words(club, log_in, head):
    answer = log_in(head).post(url("squad_add"), {"name": "First XV", "slug": "First XV"})
    assert errors(answer) == {"slug": ["Use letters, digits and hyphens only, without a space."]}
    assert not Squad.objects.exists()


def test_without_contact_rules_a_coach_is_led_to_whom_chooses_them(club, log_in, head, welfare):
    assert f'chooses them. <a href="{url("members")}">' in text(log_in(head).get(url("contact_rules")))
    assert f'<a href="{url("members")}">' not in text(log_in(welfare).get(url("contact_rules")))


def test_a_club_of_several_squads_chooses(squad, log_in, assistant):
    f.SquadFactory(club=squad.club, name="Second fifteen")
    assert "Second fifteen" in text(log_in(assistant).get(url("squads")))


def test_a_club_without_a_squad_is_told_what_to_do_next(club, log_in, head):
    page = text(log_in(head).get(url("squads")))
    assert "There is no squad yet. Make one, then bring its players in from your list." in page
    assert url("squad_add") in page


def test_the_squad_page_tells_for_each_player_what_and_why(squad, log_in, assistant, welfare, ann, today):
    out = f.PlayerFactory(squad=squad, given_name="Bo", family_name="Marr", main_position=9)
    record_clearance(
        player=ann,
        by=welfare,
        level="none",
        from_day=today,
        decided_on=today,
        decided_by="R. Lomax",
        decided_as="physiotherapist",
        allowed_work="run, catch alone",
    )
    mark_away(players=[out], first=today, last=today, by=assistant)
    answer = log_in(assistant).get(url("squad", squad="firsts"))
    page = text(answer)
    assert page.count('class="nc"') == 1
    assert f"no contact by clearance of {today.day} {today:%b}, decided by R. Lomax" in page
    assert "run, catch alone" in page
    assert "away this day" in page
    assert [(word, count) for word, count in answer.context["counts"] if count] == [
        ("no contact", 1),
        ("away or out", 1),
    ]


def test_a_review_that_is_due_is_marked(squad, log_in, assistant, welfare, ann, today):
    decision = {"level": "none", "decided_by": "R. Lomax", "decided_as": "physiotherapist"}
    for review, marked in ((today + WEEK, False), (today, True)):
        record_clearance(player=ann, by=welfare, from_day=today, decided_on=today, review_on=review, **decision)
        assert ("review due" in text(log_in(assistant).get(url("squad", squad="firsts")))) == marked


def test_players_who_left_stand_apart(squad, log_in, head, today):
    f.PlayerFactory(squad=squad, given_name="Di", family_name="Gone", left=today - WEEK)
    answer = log_in(head).get(url("squad", squad="firsts"))
    assert answer.context["groups"] == []
    assert [str(player) for player in answer.context["leavers"]] == ["Di Gone"]


@pytest.mark.parametrize("page", ["squad", "squads", "contact_rules"])
def test_a_list_takes_as_many_queries_for_three_rows_as_for_one(page, squad, log_in, head, today):
    f.SquadFactory(club=squad.club)
    client = log_in(head)
    words = {"squad": "firsts"} if page == "squad" else {}

    def rows(count):
        for player in f.PlayerFactory.create_batch(count, squad=squad):
            mark_away(players=[player], first=today, last=today, by=head)
            f.ContactRulesFactory(club=squad.club, squad=squad)

    rows(1)
    one = queries_of(client, url(page, **words))
    rows(2)
    assert queries_of(client, url(page, **words)) == one


def queries_of(client, address):
    with CaptureQueriesContext(
        connection,
    ) as caught:
        assert client.get(address).status_code == 200
    return len(caught)


def test_each_role_is_offered_what_it_may_do(squad, log_in, head, assistant, welfare, ann):
    offered = {}
    for person in (head, assistant, welfare):
        page = text(log_in(person).get(url("player", player=ann.pk)))
        names = ("player_edit", "player_leave", "player_away", "clearance_add")
        offered[person.username] = [name for name in names if url(name, player=ann.pk) in page]
    assert offered == {
        "head": ["player_edit", "player_leave", "player_away"],
        "assistant": ["player_away"],
        "welfare": ["clearance_add"],
    }


def test_the_date_of_birth_is_not_for_assistants(squad, log_in, head, assistant):
    player = f.PlayerFactory(squad=squad, born=dt.date(2001, 3, 25))
    assert "25 Mar 2001" in text(log_in(head).get(url("player", player=player.pk)))
    assert "25 Mar 2001" not in text(log_in(assistant).get(url("player", player=player.pk)))


def test_a_squad_is_made(club, log_in, head):
    answer = log_in(head).post(url("squad_add"), {"name": "Colts", "slug": "colts", "age_from": "17"})
    assert answer.headers["Location"] == url("squad", squad="colts")
    assert Squad.objects.get(club=club).is_age_grade


def test_a_squad_without_a_short_name_takes_it_from_its_name_and_keeps_it(club, log_in, head):
    assert log_in(head).post(url("squad_add"), {"name": "First XV"}).headers["Location"] == url(
        "squad", squad="first-xv"
    )
    log_in(head).post(url("squad_edit", squad="first-xv"), {"name": "Firsts", "slug": ""})
    assert Squad.objects.get().slug == "first-xv"


def test_a_name_without_a_letter_for_addresses_asks_for_a_short_name(club, log_in, head):
    answer = log_in(head).post(url("squad_add"), {"name": "第一"})
    assert errors(answer) == {"slug": ["No short name can be made from that name. Write one in letters from a to z."]}


def test_a_squad_cannot_take_an_address_of_the_site(club, log_in, head):
    answer = log_in(head).post(url("squad_add"), {"name": "Colts", "slug": "add"})
    assert errors(answer) == {"slug": ["This word is an address of the site already. Choose another."]}


def test_a_squad_keeps_its_page_title_when_its_new_name_is_refused(squad, log_in, head):
    f.SquadFactory(club=squad.club, slug="seconds")
    answer = log_in(head).post(url("squad_edit", squad="firsts"), {"name": "New", "slug": "seconds"})
    assert errors(answer) == {"slug": ["The club has a squad with this short name already. Choose another."]}
    assert "Change First fifteen" in text(answer)


# One player

FORM = {
    "given_name": "Ann",
    "family_name": "Ferris",
    "main_position": "12",
    "other_positions": ["13", "12"],
    "size_band": "light",
    "seasons_played": "6",
}


def test_a_player_is_added(squad, log_in, head):
    log_in(head).post(url("player_add", squad="firsts"), FORM)
    player = squad.players.get()
    assert (str(player), player.positions, player.key) == ("Ann Ferris", [12, 13], "made-1")


def test_dates_that_cannot_be_are_refused_with_a_way_out(squad, log_in, head, today):
    born = (today + WEEK).isoformat()
    answer = log_in(head).post(url("player_add", squad="firsts"), FORM | {"born": born})
    assert errors(answer) == {"born": ["This day is still to come. Check the year."]}
    answer = log_in(head).post(url("player_add", squad="firsts"), FORM | {"born": "2001-03-25", "joined": "2001-03-24"})
    assert errors(answer) == {"joined": ["A player cannot join before being born. Mend one of the two dates."]}


def test_a_player_is_changed_from_the_page_as_it_was_opened(log_in, head, ann):
    client, address = log_in(head), url("player_edit", player=ann.pk)
    seen = client.get(address).context["form"]["seen"].value()
    client.post(address, FORM | {"main_position": "13", "seen": seen})
    ann.refresh_from_db()
    assert (ann.positions, ann.key) == ([13, 12], "B7")


def test_a_change_over_somebody_elses_is_refused_and_keeps_what_was_typed(log_in, head, ann):
    client, address = log_in(head), url("player_edit", player=ann.pk)
    seen = client.get(address).context["form"]["seen"].value()
    Player.objects.update(seasons_played=9)
    answer = client.post(address, FORM | {"family_name": "Cole", "seen": seen})
    assert errors(answer) == {
        "__all__": ["Somebody else changed this player meanwhile. Open the page again and make your change there."]
    }
    assert 'value="Cole"' in text(answer)
    assert Player.objects.get().family_name == "Ferris"


def test_a_player_leaves_and_is_taken_back(log_in, head, ann, today):
    client, address = log_in(head), url("player_leave", player=ann.pk)
    client.post(address, {"left": today.isoformat()})
    assert Player.objects.get().left == today
    client.post(address, {"left": ""})
    assert Player.objects.get().left is None


# Away


def test_a_player_is_away_for_one_day_unless_told_otherwise(log_in, assistant, ann, today):
    log_in(assistant).post(url("player_away", player=ann.pk), {"first_day": today.isoformat()})
    absence = Absence.objects.get()
    assert (absence.first_day, absence.last_day, absence.entered_by) == (today, today, assistant)


def test_several_are_marked_away_from_one_page(squad, log_in, assistant, ann, today):
    other = f.PlayerFactory(squad=squad)
    f.PlayerFactory(squad=squad)
    told = {"players": [ann.pk, other.pk], "first_day": today.isoformat(), "last_day": (today + WEEK).isoformat()}
    answer = log_in(assistant).post(url("squad_away", squad="firsts"), told, follow=True)
    assert {absence.player_id for absence in Absence.objects.all()} == {ann.pk, other.pk}
    assert "2 players are marked away." in text(answer)


def test_players_of_another_squad_cannot_be_marked_from_here(squad, log_in, assistant, today):
    other = f.PlayerFactory(squad=f.SquadFactory(club=squad.club))
    answer = log_in(assistant).post(
        url("squad_away", squad="firsts"), {"players": [other.pk], "first_day": today.isoformat()}
    )
    assert list(errors(answer)) == ["players"]
    assert not Absence.objects.exists()


def test_days_away_in_the_wrong_order_are_refused(log_in, assistant, ann, today):
    told = {"first_day": today.isoformat(), "last_day": (today - WEEK).isoformat()}
    answer = log_in(assistant).post(url("player_away", player=ann.pk), told)
    assert errors(answer) == {"last_day": ["This lies before the first day away. Mend one of the two."]}


def test_taking_an_absence_back_asks_first(log_in, assistant, ann, today):
    (absence,) = mark_away(players=[ann], first=today, last=today, by=assistant)
    client, address = log_in(assistant), url("absence_remove", absence=absence.pk)
    assert "Is Ann Ferris coming after all?" in text(client.get(address))
    assert Absence.objects.count() == 1
    client.post(address)
    assert Absence.objects.count() == 0


# Clearance and rules


def test_a_decision_is_recorded_by_the_welfare_officer(log_in, welfare, ann, today):
    told = {
        "level": "controlled",
        "from_day": today.isoformat(),
        "decided_by": "R. Lomax",
        "decided_as": "club physiotherapist",
        "decided_on": today.isoformat(),
        "allowed_work": "pads only",
    }
    answer = log_in(welfare).post(url("clearance_add", player=ann.pk), told, follow=True)
    assert Clearance.objects.get().entered_by == welfare
    assert "up to controlled contact <span" in text(answer)


def test_no_level_is_proposed(log_in, welfare, ann):
    page = text(log_in(welfare).get(url("clearance_add", player=ann.pk)))
    assert page.count('type="radio"') == 4
    assert "checked" not in page


def test_a_decision_needs_a_level_and_who_decided_it_when(log_in, welfare, ann, today):
    answer = log_in(welfare).post(url("clearance_add", player=ann.pk), {"level": ""})
    assert sorted(errors(answer)) == ["decided_as", "decided_by", "decided_on", "from_day", "level"]
    told = {"decided_on": (today + WEEK).isoformat(), "from_day": today, "review_on": today - WEEK}
    answer = log_in(welfare).post(url("clearance_add", player=ann.pk), told)
    assert errors(answer)["decided_on"] == ["A decision cannot be dated after today."]
    assert errors(answer)["review_on"] == ["The review lies before the first day. Mend one of the two."]


def test_a_published_set_fills_the_form_with_its_doubts_and_waits_to_be_signed(club, log_in, welfare):
    client, address = log_in(welfare), url("contact_rules_add") + "?set=world-rugby-2021"
    answer = client.get(address)
    form = answer.context["form"]
    assert "the document itself was not read" in text(answer)
    assert form["controlled_minutes"].value() == 40
    values = {name: form[name].value() for name in form.fields}
    filled = {name: value for name, value in values.items() if value not in (None, False)}
    unsigned = client.post(address, filled)
    assert list(errors(unsigned)) == ["read"]
    client.post(address, filled | {"read": "on"})
    assert ContactRules.objects.get().weekly == {"controlled": 40, "set_piece": 30, "full": 15}


def test_the_rules_page_says_when_nothing_is_limited(squad, log_in, assistant):
    assert "no rules: nothing is limited" in text(log_in(assistant).get(url("contact_rules")))


def test_the_rules_page_shows_limits_of_days_and_matches_and_for_whom_they_are_written(squad, log_in, assistant):
    f.ContactRulesFactory(club=squad.club, free_days=1, match_minutes=120, match_hours=72, age_from=13, age_to=18)
    told = text(log_in(assistant).get(url("contact_rules")))
    for words in ("no contact on 1 day a week at least", "120 min a week", "72 h between two", "under-13 to under-18"):
        assert words in told
    assert "written for another age group" in told


def test_an_age_band_the_wrong_way_round_is_told_at_its_field(club, log_in, welfare):
    answer = log_in(welfare).post(url("contact_rules_add"), {"age_from": 18, "age_to": 13})
    assert errors(answer)["age_to"] == ["This is younger than the youngest age grade. Mend one of the two."]


def test_full_contact_is_never_allowed_nearer_to_a_match_than_controlled(club, log_in, welfare):
    answer = log_in(welfare).post(url("contact_rules_add"), {"controlled_after_match": 4, "full_after_match": 3})
    assert errors(answer)["controlled_after_match"] == [
        "Full contact would be allowed nearer to a match than controlled."
    ]


# A list by file


def upload(client, content=LIST, name="squad.csv"):
    return client.post(url("squad_import", squad="firsts"), {"file": SimpleUploadedFile(name, content)})


def test_a_list_is_shown_then_written_when_confirmed(squad, log_in, head):
    client = log_in(head)
    address = upload(client).headers["Location"]
    page = client.get(address)
    assert not Player.objects.exists()
    assert "2 new" in text(page)
    assert "Position: there is no position 99. Positions go from 1 to 15." in text(page)
    done = client.post(address, {"seen": page.context["preview"].fingerprint}, follow=True)
    assert [str(player) for player in squad.players.all()] == ["Bo Marr", "Ann Ferris"]
    assert "The list is in the squad: 2 new, 0 changed, 0 same, 1 refused." in text(done)
    assert not Upload.objects.exists()


def test_confirming_twice_says_that_it_is_done_already(squad, log_in, head):
    client = log_in(head)
    address = upload(client).headers["Location"]
    seen = client.get(address).context["preview"].fingerprint
    client.post(address, {"seen": seen})
    again = client.post(address, {"seen": seen}, follow=True)
    assert "This file is no longer here" in text(again)
    assert squad.players.count() == 2


def test_confirming_after_somebody_elses_change_shows_the_preview_anew(squad, log_in, head):
    client = log_in(head)
    address = upload(client).headers["Location"]
    seen = client.get(address).context["preview"].fingerprint
    f.PlayerFactory(squad=squad, given_name="Bo", family_name="Marr", main_position=10)
    answer = client.post(address, {"seen": seen})
    assert "Somebody changed these entries since this preview." in text(answer)
    assert "main position: 10 Fly-half → 9 Half-back" in text(answer)
    assert squad.players.count() == 1
    client.post(address, {"seen": answer.context["preview"].fingerprint})
    assert squad.players.count() == 2


def test_a_file_that_cannot_be_read_is_refused_at_once(squad, log_in, head):
    answer = upload(log_in(head), b"\x00\x01\x02 not a table")
    assert errors(answer) == {
        "file": ["“squad.csv” is not a table: line 1 holds the control character U+0000. Save it as CSV or XLSX."]
    }


def test_another_coach_cannot_confirm_a_file_that_is_not_theirs(squad, log_in, head):
    address = upload(log_in(head)).headers["Location"]
    other = f.MembershipFactory(club=squad.club, role="head_coach").user
    answer = log_in(other).get(address, follow=True)
    assert "This file is no longer here" in text(answer)
