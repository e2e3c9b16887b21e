"""The A4 sheet of a night and tonight's cards, read back from the PDF as somebody outside would."""

from __future__ import annotations

import datetime as dt
import io
from unittest.mock import patch

import pytest
from pypdf import PdfReader

from planner.codes import code_of
from planner.models import Place, Station
from planner.sheets import cards_tonight, cards_tonight_pdf, sheet_of, sheet_pdf
from squads.models import Absence, Clearance
from tests import factories as f

TODAY = f.TUESDAY
NIGHT = [(2, "Brief"), (10, "Warm-up"), 12, 14, (4, "Close")]


def text_of(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages).split())


def stand(session, order: int, drill, players, coach: str = "", letter: int = 0) -> Station:
    slot = session.slots.get(order=order)
    station = Station.objects.create(slot=slot, drill=drill, order=letter, coach=coach)
    Place.objects.bulk_create(Place(station=station, slot=slot, player=player) for player in players)
    return station


def clear(player, level: str, by: str = "R. Lomax") -> Clearance:
    return Clearance.objects.create(
        player=player, level=level, from_day=TODAY, decided_on=TODAY, decided_by=by, decided_as="physiotherapist"
    )


@pytest.fixture
def night(squad):
    """Two stations side by side, then one for all; eight players."""
    f.SeasonFactory(squad=squad)
    f.FixtureFactory(squad=squad)
    f.ContactRulesFactory(club=squad.club)
    session = f.SessionFactory(squad=squad, slots=NIGHT, first_aider="P. Hollin", aims=["Hold the line"])
    players = [
        f.PlayerFactory(squad=squad, given_name=f"Given{n}", family_name=f"Name{n}", main_position=n)
        for n in range(1, 9)
    ]
    pads = {"name": "Pad Walk", "rung": "C2", "contact_share": 50, "contacts_most": 6, "safety": ["Pads high."]}
    bags = f.DrillFactory(club=squad.club, number=3, kit=[{"item": "bags", "count": 1, "per": 4}], **pads)
    walk = f.DrillFactory(club=squad.club, number=9, name="Rope Line", kit=[{"item": "bags", "count": 2, "per": None}])
    stand(session, 2, bags, players[:4], coach="M. Askham")
    stand(session, 2, walk, players[4:], letter=1)
    stand(session, 3, walk, players)
    return session


def test_a_normal_night_is_one_side_of_a4(night):
    pages = PdfReader(io.BytesIO(sheet_pdf(night, TODAY))).pages
    assert len(pages) == 1
    assert [round(float(edge) / 72 * 25.4) for edge in pages[0].mediabox[2:]] == [210, 297]


def test_the_sheet_says_when_where_who_and_what(night):
    told = text_of(sheet_pdf(night, TODAY))
    for part in (
        "First fifteen · Tuesday 6 October 2026 · 19:00–19:42", "week 6", "MD-4", "P. Hollin", "1 Hold the line",
        "A · #3 Pad Walk · M. Askham", "B · #9 Rope Line", "Before the first contact, ask aloud", "Plan B", "Emergency",
    ):  # fmt: skip
        assert part in told


def test_the_timeline_sums_to_the_end_of_the_night(night):
    sheet = sheet_of(night, TODAY)
    starts = [f"{line.starts:%H:%M}" for line in sheet.slots]
    assert [*starts, f"{sheet.ends:%H:%M}"] == ["19:00", "19:02", "19:12", "19:24", "19:38", "19:42"]
    assert sum(line.minutes for line in sheet.slots) == 42


def test_nc_stands_beside_a_name_and_never_why(night):
    player = night.squad.players.get(main_position=5)
    clear(player, "none")
    told = text_of(sheet_pdf(night, TODAY))
    assert "G. Name5 NC" in told
    assert "Lomax" not in told
    assert "physio" not in told


def test_fixed_contact_names_who_may_not_take_part(squad):
    """Live set piece asks for full clearance: controlled is not enough, though it carries no NC."""
    session = f.SessionFactory(squad=squad, slots=[(10, "Scrum"), (5, "Close")])
    session.slots.filter(title="Scrum").update(kind="set_piece", contact_share=20)
    kits = [{"given_name": "Kit", "family_name": f"Name{n}", "main_position": n + 1} for n in range(3)]
    players = [f.PlayerFactory(squad=squad, **kit) for kit in kits]
    clear(players[0], "none")
    clear(players[1], "controlled")
    assert [[each.name for each in slot.aside] for slot in sheet_of(session, TODAY).slots] == [
        ["K. Name0", "K. Name1"],
        [],
    ]
    assert "Scrum · not in its contact: K. Name0, K. Name1" in text_of(sheet_pdf(session, TODAY))


def test_fixed_contact_that_nobody_may_do_says_so(squad):
    session = f.SessionFactory(squad=squad, slots=[(10, "Scrum")])
    session.slots.update(kind="set_piece", contact_share=20)
    clear(f.PlayerFactory(squad=squad), "controlled")
    assert "nobody is cleared for it tonight" in text_of(sheet_pdf(session, TODAY))


def test_who_is_away_is_counted_and_not_named(night):
    player = night.squad.players.get(main_position=6)
    Absence.objects.create(player=player, first_day=TODAY, last_day=TODAY)
    told = text_of(sheet_pdf(night, TODAY))
    assert "Name6" not in told
    assert "Expected 7 · away 1" in told


def test_minors_stand_with_first_name_and_initial(night):
    night.squad.age_from = 17
    night.squad.save()
    told = text_of(sheet_pdf(night, TODAY))
    assert "Given2 N." in told
    assert "Name2" not in told


def test_kit_is_added_up_over_stations_side_by_side_and_not_over_the_night(night):
    """Four players at one bag for four, beside a station with two bags: three at a time, five over the night."""
    assert sheet_of(night, TODAY).kit == ("3 tackle bags",)


def test_the_contact_line_tells_tonight_the_week_and_the_limit(night):
    lines = {line.kind: (line.tonight, line.week, line.limit) for line in sheet_of(night, TODAY).contact}
    assert lines == {"full contact": (0, 0, 15), "controlled": (6, 6, 40), "live set piece": (0, 0, 30)}


def test_without_contact_there_is_no_pre_contact_check(squad):
    session = f.SessionFactory(squad=squad, slots=[(10, "Walk"), 10])
    assert sheet_of(session, TODAY).check == ()


def test_what_a_club_has_not_entered_is_a_line_to_write_on(night):
    assert dict(sheet_of(night, TODAY).emergency)["Defibrillator"] == "." * 40


def test_a_night_of_forty_players_and_three_stations_a_slot_is_still_one_side(squad):
    session = f.SessionFactory(
        squad=squad, slots=[(2, "Brief"), (10, "Warm-up"), 12, 12, (2, "Water"), 12, 14, (4, "Close")]
    )
    players = [f.PlayerFactory(squad=squad, family_name=f"Wexborough{n}") for n in range(40)]
    for order in (2, 3, 5, 6):
        for letter in range(3):
            drill = f.DrillFactory(club=squad.club, rung="C2", contact_share=40)
            stand(session, order, drill, players[letter::3], coach="M. Askham", letter=letter)
    assert len(PdfReader(io.BytesIO(sheet_pdf(session, TODAY))).pages) == 1


def test_tonights_cards_carry_time_place_coach_and_names(night):
    cards = cards_tonight(sheet_of(night, TODAY))
    first = cards[0].night
    assert (len(cards), first.time, first.place, first.coach) == (3, "19:12, 12 min", "place A", "M. Askham")
    assert [name.name for name in first.names] == ["G. Name1 – G. Name2", "G. Name3 – G. Name4"]
    told = text_of(cards_tonight_pdf(night, TODAY))
    assert "19:12, 12 min" in told
    assert "G. Name8" in told


def test_at_a_station_with_contact_the_like_are_against_each_other_and_the_spare_one_has_a_job(night):
    """Five at the pads: two light, two heavy with ten seasons, one heavy new to it; and a sixth without contact."""
    pads = night.slots.get(order=2).stations.get(order=0)
    players = list(night.squad.players.order_by("main_position"))[:6]
    for player, band, seasons in zip(
        players, ("heavy", "light", "heavy", "light", "heavy", "middle"), (10, 1, 0, 1, 10, 3), strict=True
    ):
        player.size_band, player.seasons_played = band, seasons
        player.save()
    Place.objects.filter(player__in=players[4:], slot=pads.slot).update(station=pads)
    clear(players[5], "none")
    line = sheet_of(night, TODAY).slots[2].stations[0]
    assert sorted(line.stand.pairs) == [("G. Name1", "G. Name5"), ("G. Name2", "G. Name4")]
    assert line.stand.helpers == (("G. Name6 NC", "feeds the ball"), ("G. Name3", "calls the line"))
    assert line.letter == "A"
    assert "(6) G. Name2 – G. Name4" in text_of(sheet_pdf(night, TODAY))
    assert "G. Name3 (calls the line)" in text_of(cards_tonight_pdf(night, TODAY))


def test_nobody_is_paired_with_somebody_who_is_away(night):
    Absence.objects.create(player=night.squad.players.get(main_position=1), first_day=TODAY, last_day=TODAY)
    stand = sheet_of(night, TODAY).slots[2].stations[0].stand
    assert (len(stand.pairs), len(stand.helpers)) == (1, 1)
    assert "Name1" not in str(stand)


def test_where_there_is_no_contact_everybody_is_named_and_nobody_is_against_anybody(night):
    walk = sheet_of(night, TODAY).slots[2].stations[1]
    assert (walk.stand, len(walk.on_card)) == (None, 4)


def test_an_assistant_prints_the_sheet_and_a_stranger_finds_nothing(night, assistant, stranger, client):
    address = f"/c/{night.squad.club.slug}/sessions/{night.pk}/sheet.pdf"
    client.force_login(assistant)
    answer = client.get(address)
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
    client.force_login(stranger)
    assert client.get(address).status_code == 404


def test_a_night_with_nothing_planned_prints_its_sheet_and_says_why_there_are_no_cards(squad, assistant, client):
    session = f.SessionFactory(squad=squad, starts_at=dt.datetime(2026, 10, 8, 19, tzinfo=f.LONDON))
    client.force_login(assistant)
    address = f"/c/{squad.club.slug}/sessions/{session.pk}"
    assert client.get(f"{address}/sheet.pdf").status_code == 200
    assert client.get(f"{address}/cards.pdf").status_code == 404


def test_the_sheet_has_a_code_that_leads_each_player_to_his_number_and_names_nobody(night):
    address = f"https://plumbline.example/how-hard/s{night.pk}/"
    assert "each player points his phone here" in text_of(sheet_pdf(night, TODAY, site="https://plumbline.example/"))
    with patch("planner.sheets.code_of", side_effect=code_of) as made:
        sheet_pdf(night, TODAY, site="https://plumbline.example/")
    made.assert_called_once_with(address)
