"""Contact totals on paper."""

from __future__ import annotations

import io

import pytest
from pypdf import PdfReader

from tests import factories as f
from tests.planner.test_sheets import stand, text_of


@pytest.fixture
def worked(squad):
    """Twelve minutes of which half are controlled contact, against a limit of 40."""
    f.ContactRulesFactory(club=squad.club)
    session = f.SessionFactory(squad=squad)
    drill = f.DrillFactory(club=squad.club, rung="C2", contact_share=50, contacts_most=5, safety=["Pads high."])
    players = [f.PlayerFactory(squad=squad, family_name=f"Name{n}") for n in range(4)]
    stand(session, 0, drill, players)
    return squad


def paper(client, squad, **span) -> bytes:
    answer = client.get(f"/c/{squad.club.slug}/totals.pdf", {"squad": squad.slug, **span})
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
    return answer.content


def test_a_week_is_one_page_with_minutes_limits_and_their_source(worked, welfare, log_in):
    pdf = paper(log_in(welfare), worked, week="2026-10-06")
    assert len(PdfReader(io.BytesIO(pdf)).pages) == 1
    told = text_of(pdf)
    assert "6 of 40" in told
    assert "Committee paper of the invented club" in told
    assert "Confirmed nights count as recorded" in told


def test_a_block_has_a_page_for_each_week(worked, welfare, log_in):
    block = f.BlockFactory(squad=worked)
    assert len(PdfReader(io.BytesIO(paper(log_in(welfare), worked, block=block.pk))).pages) == 2


def test_an_assistant_gets_no_totals_on_paper(worked, assistant, log_in):
    address = f"/c/{worked.club.slug}/totals.pdf"
    assert log_in(assistant).get(address, {"squad": worked.slug}).status_code == 403


def test_a_squad_of_another_club_is_not_found(worked, stranger, welfare, log_in):
    other = f.SquadFactory(club=stranger.clubs.get(), slug="others")
    address = f"/c/{worked.club.slug}/totals.pdf"
    assert log_in(welfare).get(address, {"squad": other.slug}).status_code == 404
