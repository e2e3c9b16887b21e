"""Pages on which somebody says how hard it was: a player's own, the one behind the code, the coaches' list, a file."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from planner.attendance_models import Reply
from planner.link_models import PlayerLink
from planner.record_models import MatchMinutes
from planner.rpe_models import Rpe
from squads.models import Clearance
from tests import factories as f
from tests.planner.loads.conftest import NEXT_DAY
from tests.planner.own.cast import own_address


@pytest.fixture(autouse=True)
def the_next_morning(monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: NEXT_DAY)
    monkeypatch.setattr(timezone, "localdate", lambda *args, **kwargs: NEXT_DAY.date())


@pytest.fixture
def player(evening, head):
    player = evening.players[0]
    player.given_name, player.family_name = "Oswin", "Hartlebury"
    player.save()
    return player


@pytest.fixture
def address(player):
    return own_address(player)


def number(evening, value, answers: int = 0) -> dict[str, object]:
    return {"rpe_of": f"s{evening.session.pk}", "rpe": value, "answers": answers}


def asked_part(client, address) -> str:
    text = client.get(address).content.decode()
    return text[text.index("How was your workout?") :].split('id="nights"')[0] if 'class="hard"' in text else ""


# His own page


def test_he_is_asked_for_the_night_in_the_words_of_the_scale(client, evening, address):
    text = asked_part(client, address)
    assert text.count('class="hard"') == 1
    words = re.findall(r'<button name="rpe" value="(\w+)"[^>]*><b>\d+</b> ([^<]*)</button>', text)
    assert words == [
        ("0", "Rest"), ("1", "Very, Very Easy"), ("2", "Easy"), ("3", "Moderate"), ("4", "Somewhat Hard"),
        ("5", "Hard"), ("6", ""), ("7", "Very Hard"), ("8", ""), ("9", ""), ("10", "Maximal"),
    ]  # fmt: skip


def test_one_tap_sends_the_number_and_the_page_says_what_was_sent(client, evening, player, address):
    answer = client.post(address, number(evening, "7"), follow=True)
    assert answer.redirect_chain == [(f"{address}#hard-s{evening.session.pk}", 302)]
    text = answer.content.decode()
    assert "You sent 7 Very Hard. Thank you." in text
    assert '<span class="word">7 Very Hard</span> <span class="soft">you sent it, 7 Oct 09:00' in text
    row = Rpe.objects.get()
    assert (row.player, row.number, row.minutes, row.himself) == (player, 7, None, True)


def test_he_corrects_it_and_takes_it_back(client, evening, address):
    client.post(address, number(evening, "7"))
    client.post(address, number(evening, "5", Rpe.objects.get().pk))
    text = client.post(address, number(evening, "none", Rpe.objects.last().pk), follow=True).content.decode()
    assert "Your number is taken back." in text
    assert [row.number for row in Rpe.objects.order_by("pk")] == [7, 5, None]
    assert "taken back" in asked_part(client, address)


def test_what_a_coach_noted_meanwhile_is_shown_before_he_answers_over_it(client, evening, address, tell, head):
    tell(0, 4, by=head)
    text = client.post(address, number(evening, "7"), follow=True).content.decode()
    assert "Somebody noted something else for you meanwhile" in text
    assert "noted by a coach" in text
    assert Rpe.objects.count() == 1


@pytest.mark.parametrize("value", ["11", "-1", "", "7.5", "²", "none'; --", "9" * 40])
def test_what_is_no_number_of_the_scale_is_told_and_nothing_written(client, evening, address, value):
    text = client.post(address, number(evening, value), follow=True).content.decode()
    assert "a whole number from 0 to 10" in text
    assert not Rpe.objects.exists()


def test_he_is_asked_for_no_night_to_come_none_of_others_and_none_that_he_missed(client, evening, player, address):
    to_come = f.SessionFactory(squad=player.squad, starts_at=NEXT_DAY + dt.timedelta(hours=1))
    running = f.SessionFactory(squad=player.squad, starts_at=NEXT_DAY - dt.timedelta(minutes=10))
    old = f.SessionFactory(squad=player.squad, starts_at=NEXT_DAY - dt.timedelta(days=15))
    foreign = f.SessionFactory(starts_at=NEXT_DAY - dt.timedelta(days=1))
    said_no = f.SessionFactory(squad=player.squad, starts_at=NEXT_DAY - dt.timedelta(days=2))
    Reply.objects.create(player=player, session=said_no, coming=False, said_by="x")
    for session in (to_come, running, old, foreign, said_no):
        client.post(address, {"rpe_of": f"s{session.pk}", "rpe": "5"})
    for hostile in ("", "s", "s²", "f1", "x" * 300):
        client.post(address, {"rpe_of": hostile, "rpe": "5"})
    assert not Rpe.objects.exists()
    assert asked_part(client, address).count('class="hard"') == 1


def test_he_is_asked_for_a_match_unless_somebody_said_that_he_did_not_play(client, player, address):
    match = f.FixtureFactory(squad=player.squad, kick_off=NEXT_DAY - dt.timedelta(days=4), opponent="Netherby Cross")
    assert "match against Netherby Cross" in asked_part(client, address)
    MatchMinutes.objects.create(
        player=player, fixture=match, kick_off=match.kick_off, minutes=0, declared_by="sheet", by_name="x"
    )
    assert "Netherby" not in asked_part(client, address)


def test_whom_the_record_does_not_have_is_not_asked(client, evening, player, address, head):
    Reply.objects.create(player=player, session=evening.session, coming=False, said_by="x")
    from planner.record_actions import confirm_night

    confirm_night(session=evening.session, by=head, version=evening.session.plan_version, now=NEXT_DAY)
    assert asked_part(client, address) == ""


def test_no_word_on_health_stands_beside_the_question(client, evening, player, address):
    before = asked_part(client, address)
    Clearance.objects.create(
        player=player, level="none", from_day=dt.date(2026, 10, 1), decided_on=dt.date(2026, 10, 1),
        decided_by="R. Lomax", decided_as="physiotherapist", allowed_work="run alone",
    )  # fmt: skip
    forms = re.compile(r'name="csrfmiddlewaretoken" value="\w+"')
    assert forms.sub("", asked_part(client, address)) == forms.sub("", before)


# Behind the code on the sheet


def code_page(evening) -> str:
    return reverse("how_hard", kwargs={"occasion": f"s{evening.session.pk}"})


def test_a_phone_that_opened_his_page_goes_straight_to_his_number(client, evening, player, address):
    client.get(address)
    text = client.get(code_page(evening)).content.decode()
    assert "Oswin" in text
    assert "Hartlebury" not in text
    answer = client.post(code_page(evening), number(evening, "8"), follow=True)
    assert "You sent 8. Thank you." in answer.content.decode()
    assert Rpe.objects.get().number == 8


def test_any_other_phone_is_told_to_open_its_own_page_whatever_the_night(client, evening, player):
    answers = [client.get(page) for page in (code_page(evening), "/how-hard/s999999/", "/how-hard/x/")]
    assert {answer.content for answer in answers} == {answers[0].content}
    text = answers[0].content.decode()
    assert "its address is on your slip" in text
    assert not re.search(r"Oswin|Hartlebury|Brackenford|Given|Family|October", text)
    assert client.post(code_page(evening), number(evening, "8")).status_code == 200
    assert not Rpe.objects.exists()


def test_the_cookie_holds_no_name_no_token_and_goes_to_no_other_page(client, player, address):
    client.get(address)
    cookie = client.cookies["own"]
    assert address.split("/")[2] not in cookie.value
    assert "Oswin" not in cookie.value
    assert (cookie["path"], cookie["httponly"], cookie["samesite"]) == ("/how-hard/", True, "Lax")


def test_a_forged_cookie_and_one_of_an_address_that_was_exchanged_open_nothing(client, evening, player, address):
    client.get(address)
    own_address(player)
    assert "Oswin" not in client.get(code_page(evening)).content.decode()
    link = PlayerLink.objects.get()
    client.cookies["own"] = f"{link.pk}:{link.digest[:16]}"
    assert "Oswin" not in client.get(code_page(evening)).content.decode()


def test_a_phone_forgets_the_page(client, evening, address):
    client.get(address)
    client.post(code_page(evening), {"forget": "1"})
    assert "Oswin" not in client.get(code_page(evening)).content.decode()


def test_a_night_that_is_not_his_asks_for_nothing(client, address):
    client.get(address)
    foreign = f.SessionFactory(starts_at=NEXT_DAY - dt.timedelta(days=1))
    page = reverse("how_hard", kwargs={"occasion": f"s{foreign.pk}"})
    assert "You are not asked for this night" in client.get(page).content.decode()


# The coaches' list


def page_of(evening) -> str:
    return reverse("session_rpe", kwargs={"club": "brackenford", "session": evening.session.pk})


def typed(evening, **numbers) -> dict[str, str]:
    """The form as the page showed it while nothing was said, with some numbers typed: `p0="7"`."""
    lines = {f"{word}-{player.pk}": "" for player in evening.players for word in ("number", "minutes")}
    lines |= {f"number-{evening.players[int(key[1:])].pk}": value for key, value in numbers.items()}
    return lines | {"shown": ""}


def test_a_coach_enters_several_numbers_at_once(log_in, assistant, evening):
    client = log_in(assistant)
    text = client.post(page_of(evening), typed(evening, p0="7", p3="4"), follow=True).content.decode()
    assert "2 numbers are noted." in text
    assert sorted(Rpe.objects.values_list("player", "number", "said_by")) == sorted(
        (evening.players[n].pk, number, "assistant") for n, number in ((0, 7), (3, 4))
    )


def test_a_line_left_alone_never_overwrites_what_he_said_meanwhile(log_in, assistant, evening, tell):
    tell(0, 6)
    log_in(assistant).post(page_of(evening), typed(evening, p1="5"))
    assert sorted(Rpe.objects.values_list("number", flat=True)) == [5, 6]


def test_a_line_that_was_typed_over_what_he_said_meanwhile_shows_both(log_in, assistant, evening, tell):
    tell(0, 6)
    client = log_in(assistant)
    text = client.post(page_of(evening), typed(evening, p0="9", p1="5")).content.decode()
    assert "said meanwhile" in text
    assert sorted(Rpe.objects.values_list("number", flat=True)) == [5, 6]
    again = typed(evening, p0="9", p1="5") | {"shown": re.search(r'name="shown" value="([^"]*)"', text)[1]}
    client.post(page_of(evening), again)
    assert Rpe.objects.order_by("pk").last().number == 9


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        ({"number": "11"}, "a whole number from 0 to 10"),
        ({"number": "x"}, "a whole number from 0 to 10"),
        ({"number": "6", "minutes": "0"}, "a whole number from 1 to 600"),
        ({"minutes": "40"}, "Minutes without a number say nothing"),
    ],
)
def test_a_wrong_line_is_told_beside_it_and_nothing_is_written(log_in, assistant, evening, entry, said):
    form = typed(evening, p1="5") | {f"{word}-{evening.players[0].pk}": value for word, value in entry.items()}
    assert said in log_in(assistant).post(page_of(evening), form).content.decode()
    assert not Rpe.objects.exists()


def test_minutes_of_the_plan_stand_where_nobody_told_others(log_in, assistant, evening):
    text = log_in(assistant).get(page_of(evening)).content.decode()
    assert text.count('placeholder="34"') == 8
    assert "The record of this night is not confirmed yet" in text


def test_a_match_has_a_list_too(log_in, head, evening):
    match = f.FixtureFactory(squad=evening.cast.squad, kick_off=NEXT_DAY - dt.timedelta(days=1))
    client = log_in(head)
    page = reverse("match_rpe", kwargs={"club": "brackenford", "fixture": match.pk})
    assert "Minutes are those of the team sheet" in client.get(page).content.decode()
    client.post(page, typed(evening, p0="9"))
    assert [(row.number, row.fixture) for row in Rpe.objects.all()] == [(9, match)]


def test_the_list_takes_as_many_queries_for_more_players(log_in, head, evening, tell):
    client = log_in(head)
    client.get(page_of(evening))
    counts = []
    for player in (0, 1):
        tell(player, 5)
        with CaptureQueriesContext(connection) as queries:
            client.get(page_of(evening))
        counts.append(len(queries))
        f.PlayerFactory(squad=evening.cast.squad)
    assert counts[0] == counts[1] <= 30


def test_the_squads_list_tells_how_many_have_a_number_of_each_night(log_in, head, evening, tell):
    tell(0, 5)
    tell(1, 5)
    tell(1, None)
    text = log_in(head).get(reverse("rpe_lately", kwargs={"club": "brackenford", "squad": "firsts"})).content.decode()
    assert page_of(evening) in text
    assert re.search(r'data-label="Have a number">1</td>', text)


# A file


def upload(client, squad, *rows, header="Day,Player,RPE,Minutes,What"):
    file = SimpleUploadedFile("rpe.csv", "\r\n".join([header, *rows]).encode())
    page = reverse("import_rpe", kwargs={"club": "brackenford", "squad": squad.slug})
    return client.post(page, {"file": file}, follow=True)


def confirm(client, answer):
    seen = re.search(r'name="seen" value="(\w+)"', answer.content.decode())[1]
    return client.post(answer.request["PATH_INFO"], {"seen": seen}, follow=True)


def test_a_file_is_shown_row_by_row_and_then_written_once(log_in, assistant, evening, player):
    client = log_in(assistant)
    other = evening.players[1]
    answer = upload(client, player.squad, "06/10/2026,Oswin Hartlebury,7,,", f"2026-10-06,{other},5,30,training")
    text = answer.content.decode()
    assert "2 new" in text
    assert not Rpe.objects.exists()
    assert "2 new, 0 changed, 0 same, 0 refused" in confirm(client, answer).content.decode()
    rows = sorted(Rpe.objects.values_list("number", "minutes", "said_by", "himself"))
    assert rows == [(5, 30, "file rpe.csv", False), (7, None, "file rpe.csv", False)]
    again = upload(client, player.squad, "06/10/2026,Oswin Hartlebury,7,,")
    assert "There is nothing to write." in again.content.decode()


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("06/10/2026,Nobody Known,7,,", "nobody in this squad has this name"),
        ("07/10/2026,Oswin Hartlebury,7,,", "nothing took place on 7 Oct 2026"),
        ("8/10/2026,Oswin Hartlebury,7,,", "is not over yet"),
        ("06/10/2026,Oswin Hartlebury,11,,", "“11”: write a whole number from 0 to 10."),
        ("06/10/2026,Oswin Hartlebury,,,", "write a whole number from 0 to 10."),
        ("06/10/2026,Oswin Hartlebury,7,0,", "write a whole number from 1 to 600."),
        ("soon,Oswin Hartlebury,7,,", "write a day like"),
        ("06/10/2026,Oswin Hartlebury,7,,sauna", "write training or match"),
        ("06/10/2026,Oswin Hartlebury,7,,match", "nothing took place"),
    ],
)
def test_a_row_that_cannot_be_taken_says_why_and_in_which_column(log_in, head, player, row, said):
    text = upload(log_in(head), player.squad, row).content.decode()
    assert said in text
    assert "There is nothing to write." in text


def test_a_second_row_of_one_player_and_day_is_refused(log_in, head, player):
    row = "06/10/2026,Oswin Hartlebury,7,,"
    assert "a row above says something of the same" in upload(log_in(head), player.squad, row, row).content.decode()


def test_what_he_said_between_preview_and_confirmation_is_looked_at_first(log_in, head, evening, player, tell):
    client = log_in(head)
    answer = upload(client, player.squad, "06/10/2026,Oswin Hartlebury,7,,")
    tell(0, 3)
    text = confirm(client, answer).content.decode()
    assert "Nothing was written" in text
    assert "3 Moderate → 7 Very Hard" in text
    assert [row.number for row in Rpe.objects.all()] == [3]


def test_a_file_without_the_columns_is_refused_in_words(log_in, head, player):
    text = upload(log_in(head), player.squad, "a,b", header="One,Two").content.decode()
    assert "No column headed Day, RPE, Player was found" in text
