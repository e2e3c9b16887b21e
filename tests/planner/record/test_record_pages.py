"""The pages of the record: two taps for a night that ran as planned, one form for a station that did not."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from planner.core.record import Here, Part
from planner.models import Session
from planner.record_actions import confirm_night, correct_line
from planner.record_models import Account, Confirmation, Line, PlayerDay, Presence
from planner.record_night import night_record
from planner.record_page import stations_told
from planner.views import record as views
from squads.models import Absence, Clearance
from tests import factories as f

FIRST = dt.date(2026, 10, 1)


@pytest.fixture
def page(evening):
    return f"/c/brackenford/evenings/{evening.session.pk}/record/"


def at(page, spot, more=""):
    return f"{page}at/{spot}/{more}"


def typed(client, address):
    """What the form of a station holds when nobody has touched it."""
    form = client.get(address).context["form"]
    words = {"seen": form.seen, "why": ""}
    for row in form.rows:
        for word in ("minutes", "rung", "share", "initials", "reason"):
            words[f"{word}-{row.number}"] = getattr(row, word)
    for row in form.players:
        key = row.player.pk
        words |= {f"stay-{key}": row.stay, f"min-{key}": row.minutes, f"contact-{key}": row.took_part}
    return words


def test_an_untouched_night_takes_two_taps(evening, page, assistant, log_in):
    client = log_in(assistant)
    opened = client.get(f"/c/brackenford/sessions/{evening.session.pk}/")
    assert f'href="{page}"' in opened.content.decode()
    shown = client.get(page)  # the first tap
    assert "Confirm: it ran like this" in shown.content.decode()
    answer = client.post(f"{page}confirm/", {"version": evening.session.plan_version}, follow=True)  # the second
    assert "confirmed" in answer.content.decode()
    row = Confirmation.objects.get()
    assert (row.by, row.coaches) == (assistant, ["Ash", "Bo", "Cy"])
    assert Account.objects.count() == 4


def test_the_first_page_of_a_coach_leads_to_nights_that_nobody_has_confirmed(evening, page, assistant, log_in):
    recent = timezone.now() - dt.timedelta(hours=20)
    Session.objects.filter(pk=evening.session.pk).update(starts_at=recent, day=recent.date())
    client = log_in(assistant)
    assert f'href="{page}"' in client.get("/c/brackenford/now/").content.decode()
    client.post(f"{page}confirm/", {"version": evening.session.plan_version})
    assert "To confirm" not in client.get("/c/brackenford/now/").content.decode()


def test_while_a_night_runs_its_confirmation_is_a_tap_further_away(evening, page, assistant, log_in, monkeypatch):
    """The big button would freeze marks and lines at the warm-up; a night that was cut short can still be confirmed."""
    client = log_in(assistant)
    for minute, runs in ((15, True), (34, False)):
        now = dt.datetime(2026, 10, 6, 19, minute, tzinfo=f.LONDON)
        monkeypatch.setattr(timezone, "now", lambda now=now: now)
        shown = client.get(page).content.decode()
        assert ("It runs until 19:34." in shown) is runs
        assert ("It is over already" in shown) is runs
        assert "Confirm: it ran like this" in shown
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime(2026, 10, 6, 19, 15, tzinfo=f.LONDON))
    client.post(f"{page}confirm/", {"version": evening.session.plan_version})
    assert Confirmation.objects.count() == 1


def test_who_coached_and_who_was_first_aider_may_be_told_with_it(evening, page, assistant, log_in):
    given = {"version": evening.session.plan_version, "coaches": "Ash, Dee", "first_aider": "Fay"}
    log_in(assistant).post(f"{page}confirm/", given)
    row = Confirmation.objects.get()
    assert (row.coaches, row.first_aider) == (["Ash", "Dee"], "Fay")


def test_a_plan_that_changed_since_the_page_was_opened_is_not_confirmed_unseen(evening, page, assistant, log_in):
    seen = evening.session.plan_version
    Session.objects.update(plan_version=seen + 1)
    answer = log_in(assistant).post(f"{page}confirm/", {"version": seen}, follow=True)
    assert "changed this night since you opened it" in answer.content.decode()
    assert not Confirmation.objects.exists()


def test_a_form_that_nobody_touched_tells_the_station_as_it_was(evening, page, assistant, log_in):
    client, spot = log_in(assistant), evening.spot(evening.live)
    before = evening.record().block(spot)
    client.post(at(page, spot), typed(client, at(page, spot)))
    assert evening.record().block(spot) == before
    assert Account.objects.get().by == assistant


def test_minutes_and_an_exception_by_name_are_told_in_one_form(evening, page, assistant, log_in):
    client, spot = log_in(assistant), evening.spot(evening.live)
    late, gone = evening.players[0], evening.players[1]
    given = typed(client, at(page, spot)) | {"minutes-0": "20"}
    given |= {f"stay-{late.pk}": "late", f"min-{late.pk}": "5", f"stay-{gone.pk}": "not"}
    answer = client.post(at(page, spot), given)
    assert (answer.status_code, answer.headers["Location"]) == (302, page)
    here = evening.record().block(spot).parts[0].here
    minutes = {key: (each.minutes, each.after) for key, each in here.items()}
    assert minutes == {late.pk: (5, 15), evening.players[2].pk: (20, 0), evening.players[3].pk: (20, 0)}
    shown = client.get(page).content.decode()
    assert f"{late.sheet_name}: came late, 5 of 20 min" in shown
    assert f"{gone.sheet_name}: not there" in shown


def test_a_player_of_another_station_is_taken_over(evening, page, assistant, log_in):
    client, spot = log_in(assistant), evening.spot(evening.live)
    other = evening.players[5]
    walk = evening.spot(evening.walk)
    client.post(at(page, walk), typed(client, at(page, walk)) | {f"stay-{other.pk}": "not"})
    client.post(at(page, spot), typed(client, at(page, spot)) | {f"stay-{other.pk}": "all"})
    assert other.pk in evening.record().block(spot).players


def test_two_stations_at_once_are_refused_by_name_and_nothing_typed_is_lost(evening, page, assistant, log_in):
    client, spot = log_in(assistant), evening.spot(evening.live)
    other = evening.players[5]
    given = typed(client, at(page, spot)) | {f"stay-{other.pk}": "all", "why": "short of tacklers"}
    answer = client.post(at(page, spot), given)
    assert answer.status_code == 422
    assert "Take him off the other station first" in answer.content.decode()
    assert "short of tacklers" in answer.content.decode()
    assert not Account.objects.exists()


def test_a_raised_rung_is_refused_without_initials_and_goes_in_with_them(evening, page, assistant, log_in):
    client, spot = log_in(assistant), evening.spot(evening.bags, 2)
    given = typed(client, at(page, spot)) | {"rung-0": "C4"}
    answer = client.post(at(page, spot), given)
    assert answer.status_code == 422
    assert "needs the initials of the lead coach" in answer.content.decode()
    assert not Line.objects.exists()
    client.post(at(page, spot), given | {"initials-0": "HK", "reason-0": "they were flying"})
    line = Line.objects.get()
    assert (line.rung, line.card_rung, line.initials, line.reason, line.share) == (
        "C4", "C2", "HK", "they were flying", 50
    )  # fmt: skip
    assert "raised to C4, HK" in client.get(page).content.decode()


def test_a_walk_through_that_was_raised_asks_for_its_share_of_contact(evening, page, assistant, log_in):
    client, spot = log_in(assistant), evening.spot(evening.walk)
    given = typed(client, at(page, spot)) | {"rung-0": "C3", "initials-0": "HK", "reason-0": "asked for"}
    assert "how many per cent of the time" in client.post(at(page, spot), given).content.decode()
    client.post(at(page, spot), given | {"share-0": "20"})
    assert Line.objects.get().share == 20


def test_a_rung_dropped_on_the_field_makes_two_parts(evening, page, assistant, log_in):
    client, spot = log_in(assistant), evening.spot(evening.live)
    client.post(at(page, spot, "drop/"), {"seen": "", "minute": "8", "rung": "C2"})
    assert [(part.minutes, part.rung) for part in evening.record().block(spot).parts] == [(8, "C4"), (4, "C2")]


def test_a_second_part_can_be_told_in_the_form_itself(evening, page, assistant, log_in):
    client, spot = log_in(assistant), evening.spot(evening.live)
    given = typed(client, at(page, spot)) | {"minutes-0": "7", "minutes-1": "9", "rung-1": "C1"}
    client.post(at(page, spot), given)
    assert [(p.minutes, p.rung, p.share) for p in evening.record().block(spot).parts] == [(7, "C4", 25), (9, "C1", 25)]


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"minutes-0": "soon"}, "whole number from 0 to 600"),
        ({"minutes-0": "601"}, "whole number from 0 to 600"),
        ({"rung-0": "C9"}, "Choose a rung"),
        ({"share-0": "120"}, "whole number from 0 to 100"),
    ],
)
def test_what_cannot_be_read_is_said_beside_its_field(given, said, evening, page, assistant, log_in):
    client, spot = log_in(assistant), evening.spot(evening.live)
    answer = client.post(at(page, spot), typed(client, at(page, spot)) | given)
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not Account.objects.exists()


def test_minutes_of_an_exception_that_cannot_be_read_are_kept_and_named(evening, page, assistant, log_in):
    client, spot, player = log_in(assistant), evening.spot(evening.live), evening.players[0]
    given = typed(client, at(page, spot)) | {f"stay-{player.pk}": "late", f"min-{player.pk}": "half"}
    answer = client.post(at(page, spot), given)
    row = next(row for row in answer.context["form"].exceptions if row.player == player)
    assert (row.minutes, row.wrong) == ("half", "Write a whole number from 1 to 600.")


def test_a_night_that_is_confirmed_is_corrected_by_the_head_coach_only(evening, page, assistant, head, log_in):
    spot = evening.spot(evening.live)
    client = log_in(assistant)
    open_form = typed(client, at(page, spot))
    client.post(f"{page}confirm/", {"version": evening.session.plan_version})
    answer = client.post(at(page, spot), open_form | {"minutes-0": "20"})
    assert answer.status_code == 422
    assert "the head coach corrects it" in answer.content.decode()
    assert client.get(at(page, spot)).status_code == 403
    client = log_in(head)
    client.post(at(page, spot), typed(client, at(page, spot)) | {"minutes-0": "20", "why": "the clock stood"})
    shown = client.get(page).content.decode()
    assert "12 min C4, 4 players" in shown
    assert "20 min C4, 4 players" in shown
    assert "the clock stood" in shown
    assert Confirmation.objects.count() == 2


def test_who_was_in_charge_is_corrected_on_the_page_by_the_head_coach(evening, page, assistant, head, log_in):
    client = log_in(assistant)
    client.post(f"{page}confirm/", {"version": evening.session.plan_version, "first_aider": "Fay"})
    assert "Correct who coached" not in client.get(page).content.decode()
    assert client.post(f"{page}charge/", {"seen": "1", "first_aider": "Gil"}).status_code == 403
    client = log_in(head)
    assert "Correct who coached" in client.get(page).content.decode()
    shown = client.post(f"{page}charge/", {"seen": "1", "coaches": "Ash, Dee", "first_aider": ""}, follow=True)
    assert "coaches: Ash, Bo, Cy → Ash, Dee; first aider: Fay → –" in shown.content.decode()
    again = client.post(f"{page}charge/", {"seen": "1", "coaches": "Bo", "first_aider": ""}, follow=True)
    assert "has corrected this night meanwhile" in again.content.decode()
    told = client.get(f"/c/brackenford/players/{evening.players[0].pk}/report/?week=2026-10-05").content.decode()
    assert "Ash, Dee" in told
    assert "first aider: Fay → –" in told


@pytest.mark.parametrize("verb", ["correct_line", "drop_rung", "bring_back", "add_block"])
def test_a_night_confirmed_between_the_look_and_the_word_is_not_told_by_an_assistant(
    verb, evening, page, assistant, head, log_in, monkeypatch
):
    client, spot = log_in(assistant), evening.spot(evening.live)
    address, given = {
        "correct_line": (at(page, spot), typed(client, at(page, spot)) | {"minutes-0": "20"}),
        "drop_rung": (at(page, spot, "drop/"), {"seen": "", "minute": "8", "rung": "C2"}),
        "bring_back": (at(page, spot, "back/"), {"seen": "", "account": ""}),
        "add_block": (f"{page}beside/", {"order": "3", "title": "Kicking", "minutes": "10", "rung": "C0"}),
    }[verb]
    write = getattr(views, verb)

    def after_somebody_confirms(**how):
        confirm_night(session=evening.session, by=head, version=evening.session.plan_version)
        return write(**how | ({"seen": evening.record().standing[spot].pk} if "seen" in how else {}))

    monkeypatch.setattr(views, verb, after_somebody_confirms)
    answer = client.post(address, given)
    assert "head has confirmed this night: from then on the head coach corrects it" in answer.content.decode()
    assert (Account.objects.count(), Confirmation.objects.count()) == (4, 1)


def test_two_who_tell_a_station_at_once_are_shown_both_and_may_save_again(evening, page, assistant, head, client):
    spot = evening.spot(evening.live)
    client.force_login(head)
    mine = typed(client, at(page, spot)) | {"minutes-0": "15"}
    client.force_login(assistant)
    client.post(at(page, spot), typed(client, at(page, spot)) | {"minutes-0": "10"})
    client.force_login(head)
    answer = client.post(at(page, spot), mine)
    assert "assistant has noted 10 min C4, 4 players meanwhile, you 15 min C4, 4 players" in answer.content.decode()
    client.post(at(page, spot), mine | {"seen": answer.context["form"].seen})
    assert evening.record().block(spot).minutes == 15


def test_an_earlier_line_comes_back_as_a_new_one(evening, page, assistant, log_in):
    client, spot = log_in(assistant), evening.spot(evening.live)
    client.post(at(page, spot), typed(client, at(page, spot)) | {"minutes-0": "20"})
    first = Account.objects.get()
    client.post(at(page, spot), typed(client, at(page, spot)) | {"minutes-0": "5"})
    latest = Account.objects.order_by("pk").last()
    client.post(at(page, spot, "back/"), {"seen": latest.pk, "account": first.pk})
    assert evening.record().block(spot).minutes == 20
    latest = Account.objects.order_by("pk").last()
    client.post(at(page, spot, "back/"), {"seen": latest.pk})
    assert evening.record().block(spot).minutes == 12
    assert Account.objects.count() == 4


def test_what_ran_beside_the_plan_is_added_with_who_was_there(evening, page, assistant, log_in):
    client, players = log_in(assistant), [player.pk for player in evening.players[:3]]
    given = {"order": "3", "title": "Kicking", "minutes": "10", "rung": "C0", "players": players}
    assert client.post(f"{page}beside/", given).status_code == 302
    block = evening.record().blocks[-1]
    assert (block.card.title, block.minutes, block.players) == ("Kicking", 10, players)
    raised = client.post(f"{page}beside/", given | {"rung": "C3", "share": "20"})
    assert "needs the initials of the lead coach" in raised.content.decode()


def test_whoever_said_no_and_came_is_told_like_the_others(evening, page, assistant, log_in):
    """He was away by dates; that is no reason why he should have stood aside."""
    client, spot, player = log_in(assistant), evening.spot(evening.live), evening.players[0]
    day = evening.session.day
    Absence.objects.create(player=player, first_day=day, last_day=day)
    assert f"{player.sheet_name}: not there" in client.get(page).content.decode()
    client.post(at(page, spot), typed(client, at(page, spot)) | {f"stay-{player.pk}": "all"})
    here = evening.record().block(spot).parts[0].here[player.pk]
    assert (here.minutes, here.aside) == (12, False)
    assert "in spite of a status" not in client.get(page).content.decode()


def test_contact_in_spite_of_a_status_is_told_as_such(evening, page, assistant, log_in):
    client, spot, player = log_in(assistant), evening.spot(evening.live), evening.players[0]
    Clearance.objects.create(
        player=player, from_day=FIRST, level="none", decided_on=FIRST, decided_by="Robin Ash", decided_as="physio"
    )
    assert evening.record().block(spot).parts[0].here[player.pk].aside
    client.post(at(page, spot), typed(client, at(page, spot)) | {f"contact-{player.pk}": "all"})
    assert not evening.record().block(spot).parts[0].here[player.pk].aside
    assert "In contact in spite of a status:</span> " + player.sheet_name in client.get(page).content.decode()


def test_whoever_stood_aside_until_the_rung_was_dropped_stays_aside_there(evening, page, assistant, log_in):
    """Nothing keeps him from contact: he is not named as one whom his status does."""
    client, spot, player = log_in(assistant), evening.spot(evening.live), evening.players[0]
    client.post(at(page, spot), typed(client, at(page, spot)) | {f"contact-{player.pk}": "none"})
    seen = client.get(at(page, spot)).context["form"].seen
    client.post(at(page, spot, "drop/"), {"seen": seen, "minute": "8", "rung": "C2"})
    before = evening.record().block(spot)
    assert [part.here[player.pk].aside for part in before.parts] == [True, False]
    client.post(at(page, spot), typed(client, at(page, spot)))
    assert Account.objects.count() == 3
    assert evening.record().block(spot).parts == before.parts
    shown = client.get(page).content.decode()
    assert f"{player.sheet_name}: stood aside from contact at C4" in shown
    assert "in spite of a status" not in shown


def test_contact_in_one_part_in_spite_of_a_status_is_told_although_he_stood_aside_in_the_other(evening, head):
    player, spot = evening.players[0], evening.spot(evening.live)
    Clearance.objects.create(
        player=player, from_day=FIRST, level="none", decided_on=FIRST, decided_by="Robin Ash", decided_as="physio"
    )
    parts = [
        Part(minutes, rung, 25, "C4", {player.pk: Here(minutes, 0, aside)})
        for minutes, rung, aside in ((8, "C4", True), (4, "C2", False))
    ]
    correct_line(session=evening.session, spot=spot, parts=parts, seen=None, by=head)
    told = next(each for each in stations_told(evening.record()) if each.block.spot == spot)
    assert told.in_spite == (player.sheet_name,)


def test_a_night_that_has_not_begun_cannot_be_recorded(evening, page, assistant, log_in):
    Session.objects.filter(pk=evening.session.pk).update(starts_at=dt.datetime(2030, 10, 6, 19, tzinfo=f.LONDON))
    client = log_in(assistant)
    assert "has not begun" in client.get(page).content.decode()
    client.post(f"{page}confirm/", {"version": evening.session.plan_version})
    assert not Confirmation.objects.exists()


def test_after_48_hours_the_plan_counts_as_not_confirmed(evening):
    assert night_record(evening.session, dt.datetime(2026, 10, 8, 19, 33, tzinfo=f.LONDON)).source == "planned"
    assert night_record(evening.session, dt.datetime(2026, 10, 8, 19, 34, tzinfo=f.LONDON)).source == "not confirmed"


def test_the_page_costs_the_same_queries_however_many_lines_there_are(evening, page, head, log_in):
    client, spot = log_in(head), evening.spot(evening.live)
    client.post(f"{page}confirm/", {"version": evening.session.plan_version})
    costs = []
    for minutes in ("20", "11", "9"):
        client.post(at(page, spot), typed(client, at(page, spot)) | {"minutes-0": minutes})
        with CaptureQueriesContext(connection) as found:
            client.get(page)
        costs.append(len(found))
    assert costs == [24, 24, 24]


def test_totals_of_the_day_follow_what_the_pages_wrote(evening, page, head, log_in):
    client, spot = log_in(head), evening.spot(evening.live)
    client.post(f"{page}confirm/", {"version": evening.session.plan_version})
    client.post(at(page, spot), typed(client, at(page, spot)) | {"minutes-0": "20"})
    day = PlayerDay.objects.get(player=evening.players[0])
    assert (day.full, day.controlled, day.state) == (20 * 25, 12 * 50, "confirmed")
    assert Presence.objects.filter(player=evening.players[0]).count() == 4


def test_the_sheet_as_it_was_run_is_printed(evening, page, head, log_in):
    answer = log_in(head).get(f"{page}as-run.pdf")
    assert answer.content.startswith(b"%PDF")


def test_a_block_of_everybody_names_only_the_exceptions(evening, page):
    first = stations_told(evening.record())[0]
    assert (first.block.placed, first.exceptions) == (False, ())
