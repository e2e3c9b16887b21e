"""Every page of the site against every role. A new page fails here until somebody says who may open it."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from django.urls import URLPattern, get_resolver, reverse
from django.utils import timezone

from drills.board_models import BoardScene
from drills.board_presets import PRESETS
from drills.core.board.book import OURS
from drills.core.board.reading import written
from drills.entries import entry_of
from drills.models import DrillVersion
from planner.feed_models import Feed
from planner.link_models import PlayerLink
from planner.models import PlanRun, Station, TrainingNight
from planner.pattern_models import Pattern
from planner.venue_models import Venue
from planner.welfare_models import Excess
from planner.wish_models import BlockWishes, DrillWish
from shared.models import Invitation, Upload
from shared.urls import CLUB
from squads.models import Absence
from squads.return_models import ReturnEntry
from tests import factories as f

ROLES = {"H": "head_coach", "A": "assistant", "W": "welfare_officer", "M": "medical"}

# Who may open what inside a club: H head coach, A assistant coach, W welfare officer,
# M medical. Grouped by what it is about.
CLUB_PAGES = {
    # members: everybody reads who has which role, the head coach gives and takes them
    "members": "HAWM",
    "new_member": "H",
    "new_invitation": "H",
    "end_invitation": "H",
    "member": "H",
    # squads: everybody sees them, the head coach keeps the list, the assistant marks who is away,
    # the welfare officer records clearances and chooses the rules
    "squads": "HAWM",
    "squad": "HAWM",
    "player": "HAWM",
    "squad_add": "H",
    "squad_edit": "H",
    "squad_import": "H",
    "squad_import_confirm": "H",
    "player_add": "H",
    "player_edit": "H",
    "player_leave": "H",
    "squad_away": "HA",
    "player_away": "HA",
    "absence_remove": "HA",
    "clearance_add": "WM",
    "contact_rules": "HAWM",
    "contact_rules_add": "W",
    # returns to training: everybody sees who may do what from when, medical roles and the welfare officer enter it
    "returns": "HAWM",
    "returns_pdf": "HAWM",
    "return_start": "WM",
    "return_case": "WM",
    "return_free": "WM",
    "return_symptoms": "WM",
    "return_close": "WM",
    "return_allow": "M",
    # medical notes: medical roles; the welfare officer asks, with consent or for a named need
    "medical_notes": "M",
    "medical_consent": "M",
    "medical_keeping": "M",
    "medical_asked": "W",
    # the season: everybody looks, the head coach lays it out
    "calendar": "HAWM",
    "calendar_go": "HAWM",
    "calendar_month": "HAWM",
    "calendar_week": "HAWM",
    "calendar_season": "HAWM",
    "month_contact": "HWM",
    "week_contact": "HWM",
    "season": "HAWM",
    "session": "HAWM",
    "new_season": "H",
    "edit_season": "H",
    "lay_out": "H",
    "breaks": "H",
    "new_break": "H",
    "edit_break": "H",
    "remove_break": "H",
    "holidays": "H",
    "called_off": "H",
    "import_breaks": "H",
    "confirm_breaks": "H",
    "break_columns": "H",
    "new_night": "H",
    "edit_night": "H",
    "remove_night": "H",
    "new_session": "H",
    "edit_session": "H",
    "move_session": "H",
    "edit_slots": "H",
    "cancel_session": "H",
    "new_fixture": "H",
    "edit_fixture": "H",
    "import_fixtures": "H",
    "confirm_fixtures": "H",
    "fixture_columns": "H",
    # calendar feeds: everybody has one of his own, the head coach gives out those of players
    "my_feed": "HAWM",
    "new_my_feed": "HAWM",
    "revoke_my_feed": "HAWM",
    "revoke_feed": "H",
    "player_feeds": "H",
    "new_player_feeds": "H",
    # own pages of players: coaches give their addresses out
    "player_links": "HA",
    "new_player_links": "HA",
    "revoke_player_link": "HA",
    # blocks and runs of the planner: everybody sees the plan, the head coach makes it
    "blocks": "HAWM",
    "block": "HAWM",
    "run": "HAWM",
    "unserved": "HAWM",
    "run_why": "HAWM",
    "run_station_why": "HAWM",
    "block_why": "HAWM",
    "station_why": "HAWM",
    "compare_runs": "HAWM",
    "new_block": "H",
    "edit_block": "H",
    "undo_change": "H",
    "targets": "H",
    "block_wishes": "H",
    "add_wish": "H",
    "change_wish": "H",
    "remove_wish": "H",
    "plan_block": "H",
    "cancel_run": "H",
    "accept_run": "H",
    "drop_run": "H",
    "keep_stations": "H",
    "deal_again": "H",
    "bring_drill_back": "H",
    "before_undo": "H",
    # drills: everybody reads and prints the cards, the head coach keeps the library
    "drills": "HAWM",
    "drill": "HAWM",
    "drill_signs": "HAWM",
    "drills_export": "HAWM",
    "drills_csv": "HAWM",
    "drill_versions": "HAWM",
    "drill_version": "HAWM",
    "drill_version_pdf": "HAWM",
    "drill_nights": "HAWM",
    "ladder": "HAWM",
    "drill_words": "HAWM",
    "ladder_steps": "H",
    "word_new": "H",
    "word_edit": "H",
    "word_retire": "H",
    "word_bring_back": "H",
    "word_remove": "H",
    "position_names": "H",
    "kit_store": "H",
    "drill_copy": "H",
    "drill_version_bring_back": "H",
    "cards": "HAWM",
    "cards_pdf": "HAWM",
    "board": "HAWM",
    "board_verdicts": "HAWM",
    "board_scene": "HAWM",
    "board_scene_paper": "HAWM",
    "board_figures": "HAWM",
    "board_figures_save": "H",
    "board_save": "H",
    "board_scene_remove": "H",
    "board_scene_card": "H",
    "drill_new": "H",
    "drill_edit": "H",
    "drill_diagram": "H",
    "drill_diagram_save": "H",
    "drill_retire": "H",
    "drill_bring_back": "H",
    "drills_import": "H",
    "drills_import_confirm": "H",
    "drills_starter": "H",
    # the week: everybody sees tonight and the plan, the head coach changes it
    "start": "HAWM",
    "week": "HAWM",
    "undo_in_week": "H",
    "swap_drill": "H",
    "remove_station": "H",
    "lock_station": "H",
    "set_coach": "H",
    "add_station": "H",
    "move_player": "H",
    # patterns for a week: everybody reads them, the head coach keeps them and puts them on weeks
    "patterns": "HAWM",
    "new_pattern": "H",
    "edit_pattern": "H",
    "retire_pattern": "H",
    "usual_patterns": "H",
    "put_pattern": "H",
    "take_pattern_off": "H",
    # venues: everybody finds the way there, the head coach keeps them
    "venues": "HAWM",
    "new_venue": "H",
    "edit_venue": "H",
    "retire_venue": "H",
    # the night: coaches note replies and mark who is here, everybody sees what still works,
    # the head coach deals it again
    "replies": "HA",
    "here": "HA",
    "here_marks": "HA",
    "rest_away": "HA",
    "tonight": "HAWM",
    "as_found": "HA",
    "deal_tonight": "H",
    # the record: everybody reads what ran, coaches tell and confirm it, the head coach corrects what is confirmed
    "record": "HAWM",
    "record_paper": "HAWM",
    "night_history": "HAWM",
    "confirm_record": "HA",
    "record_charge": "H",
    "record_station": "HA",
    "record_drop": "HA",
    "record_back": "HA",
    "record_beside": "HA",
    "swap": "H",
    "swap_end": "H",
    # how hard it was: coaches enter what they were told
    "rpe_lately": "HA",
    "session_rpe": "HA",
    "match_rpe": "HA",
    "import_rpe": "HA",
    "confirm_rpe": "HA",
    # contact and matches elsewhere, minutes of matches: whoever sees totals reads them, the head coach and the welfare
    # officer enter them
    "told_of_player": "HWM",
    "told_of_squad": "HWM",
    "match_minutes": "HWM",
    "declare_contact": "HW",
    "declare_match": "HW",
    "note_match_minutes": "HW",
    "import_match_minutes": "HW",
    "confirm_match_minutes": "HW",
    # contact totals: the head coach and the welfare officer
    "totals": "HWM",
    "totals_csv": "HWM",
    "player_totals": "HWM",
    # skills and loads: whoever sees contact totals; what is published against the figures everybody reads
    "player_ledger": "HWM",
    "player_ledger_csv": "HWM",
    "player_ledger_pdf": "HWM",
    "squad_ledgers": "HWM",
    "against_loads": "HAWM",
    "load_deviation": "H",
    # the welfare officer's week: the head coach reads it and asks, the welfare officer answers and signs
    "decisions": "HWM",
    "welfare_week": "HWM",
    "welfare_paper": "HWM",
    "sign_week": "W",
    "session_excess": "H",
    "player_excess": "H",
    "excess": "HWM",
    "decide_excess": "W",
    "player_action": "W",
    "player_elsewhere": "W",
    "player_report": "HWM",
    "report_paper": "HWM",
    # Paper
    "session_sheet": "HAWM",
    "season_paper": "HAWM",
    "session_cards": "HAWM",
    "totals_pdf": "HWM",
}

# The cast's run holds no question and its block no station, so there is nothing to serve or to explain.
WITHOUT_A_ROW = {"unserved": {404}, "run_why": {404}, "run_station_why": {404}, "station_why": {404}}
# A drawing is sent as JSON, a dropped rung with its minute; an empty one is refused in words.
WITHOUT_A_DRAWING = {"drill_diagram_save": {422}, "record_drop": {422}}

OUTSIDE = {
    "home": "members",
    "login": "anyone",
    "logout": "anyone",
    "join": "anyone",
    "own_password": "members",
    "up": "anyone",
    "feed": "anyone",
    "own": "anyone",
    "own_training": "anyone",
    "how_hard": "anyone",
}


@dataclass(frozen=True)
class Page:
    """One named address with the words that its route asks for."""

    name: str
    route: str
    words: dict[str, Any]

    @property
    def in_a_club(self) -> bool:
        return self.route.startswith(CLUB)

    def __str__(self) -> str:
        return self.name


def pages(resolver=None, route: str = "", words: dict | None = None) -> Iterator[Page]:
    for pattern in (resolver or get_resolver()).url_patterns:
        here = route + str(pattern.pattern)
        asked = (words or {}) | pattern.pattern.converters
        if isinstance(pattern, URLPattern):
            yield Page(pattern.name, here, asked)
        else:
            yield from pages(pattern, here, asked)


PAGES = list(pages())
IN_A_CLUB = [page for page in PAGES if page.in_a_club]


@pytest.fixture
def cast(squad) -> dict[str, Any]:
    """A row for each word that an address may hold."""
    session = f.SessionFactory(squad=squad)
    slot = session.slots.first()
    player = f.PlayerFactory(squad=squad)
    drill = f.DrillFactory(club=squad.club)
    season = f.SeasonFactory(squad=squad)
    block = f.BlockFactory(squad=squad)
    keeper = f.UserFactory()
    wishes = BlockWishes.objects.create(block=block)
    asked = {"measure": "full", "amount": 16, "limit": 15, "source": "Committee paper", "why": "Cup week"}
    excess = Excess.objects.create(
        player=player, monday=f.TUESDAY, session=session, by=keeper, by_name=str(keeper), **asked
    )
    return {
        "squad": squad.slug,
        "member": f.MembershipFactory(club=squad.club).pk,
        "invitation": Invitation.objects.create(
            club=squad.club, role="assistant", name="Guest", digest="0" * 64, ends_at=session.starts_at
        ).pk,
        "player": player.pk,
        "absence": Absence.objects.create(player=player, first_day=f.TUESDAY, last_day=f.TUESDAY).pk,
        "drill": drill.pk,
        "number": drill.number,
        "version": DrillVersion.objects.create(
            drill=drill, version=1, made_on=f.TUESDAY, entry=entry_of(drill)
        ).version,
        "case": ReturnEntry.objects.create(player=player, kind="started", day=f.TUESDAY, table="by-hand").pk,
        "venue": Venue.objects.create(club=squad.club, name="Mill Lane", zone="Europe/London").pk,
        "pattern": Pattern.objects.create(club=squad.club, name="Short week").pk,
        "scene": BoardScene.objects.create(
            club=squad.club, name="Ruck", saved_on=f.TUESDAY, scene=written(PRESETS["left"].scene(OURS))
        ).pk,
        "kind": "ladders",
        "code": f.LadderFactory(club=squad.club, code="A").code,
        "session": session.pk,
        "slot": slot.pk,
        "station": Station.objects.create(slot=slot, drill=drill).pk,
        "spot": f"{slot.pk}.{drill.pk}",
        "monday": "2026-10-05",
        "day": "2026-10-05",
        "season": season.pk,
        "gap": season.breaks.create(name="Ball", first_day=f.TUESDAY, last_day=f.TUESDAY).pk,
        "night": TrainingNight.objects.create(season=season, weekday=1, starts=dt.time(19)).pk,
        "excess": excess.pk,
        "fixture": f.FixtureFactory(squad=squad).pk,
        "block": block.pk,
        "sort": "drill",
        "wish": DrillWish.objects.create(wishes=wishes, drill=drill, fresh=True).pk,
        "run": PlanRun.objects.create(block=block).pk,
        "feed": Feed.objects.create(player=player, digest="0" * 64, made_at=timezone.now()).pk,
        "link": PlayerLink.objects.create(player=player, digest="1" * 64, made_at=timezone.now()).pk,
        "upload": Upload.objects.create(club=squad.club, name="x.csv", content=b"", made_by=keeper).pk,
    }


def address(page: Page, cast: dict[str, Any]) -> str:
    """With the cast's rows where the route asks for them, and something of the right kind elsewhere."""
    kinds = {"IntConverter": 1, "UUIDConverter": uuid.UUID(int=1)}
    words = {word: cast.get(word, kinds.get(type(kind).__name__, "x")) for word, kind in page.words.items()}
    return reverse(page.name, kwargs=words | ({"club": "brackenford"} if page.in_a_club else {}))


def visit(client, url: str):
    """Open the page, or press its button if it is only that."""
    answer = client.get(url)
    return client.post(url) if answer.status_code == 405 else answer


def test_every_page_says_here_who_may_open_it():
    assert sorted(page.name for page in IN_A_CLUB) == sorted(CLUB_PAGES)
    assert sorted(page.name for page in PAGES if not page.in_a_club) == sorted(OUTSIDE)


@pytest.mark.parametrize("letter", ROLES, ids=ROLES.get)
@pytest.mark.parametrize("page", IN_A_CLUB, ids=str)
def test_a_page_opens_for_the_roles_that_need_it_and_for_no_other(page, letter, club, cast, client):
    member = f.MembershipFactory(club=club, role=ROLES[letter])
    client.force_login(member.user)
    answer = visit(client, address(page, cast))
    if letter in CLUB_PAGES[page.name]:
        allowed = WITHOUT_A_ROW.get(page.name, set()) | WITHOUT_A_DRAWING.get(page.name, set())
        assert answer.status_code in {200, 302} | allowed
        assert not answer.headers.get("Location", "").startswith("/login/")
    else:
        assert answer.status_code == 403


@pytest.mark.parametrize("page", IN_A_CLUB, ids=str)
def test_a_page_does_not_exist_for_the_head_coach_of_another_club(page, cast, stranger, log_in):
    assert visit(log_in(stranger), address(page, cast)).status_code == 404


@pytest.mark.parametrize("page", IN_A_CLUB, ids=str)
def test_a_page_sends_somebody_unknown_to_the_login(page, cast, client):
    answer = visit(client, address(page, cast))
    assert (answer.status_code, answer.headers["Location"].split("?")[0]) == (302, "/login/")


def test_the_pages_outside_a_club_are_open_to_anyone_or_to_members(client, db):
    for page in PAGES:
        if not page.in_a_club:
            answer = visit(client, address(page, {}))
            sent_away = answer.headers.get("Location", "").startswith("/login/?next=")
            assert sent_away == (OUTSIDE[page.name] == "members"), page.name
