"""What a parent, a coach, the union or an insurer may ask: each answer is at most three clicks from the first page."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import replace
from html import unescape

import pytest

from planner.core.record import Here, Part
from planner.core.windows import Measure
from planner.models import PlanChange, Station
from planner.programme import Programme, standing_in
from planner.record_actions import confirm_night, correct_line
from planner.record_models import Account, Declared
from planner.season_figures import KEPT
from planner.welfare_actions import ask_excess, decide_excess, note_action
from tests import factories as f
from tests.planner.test_sheets import text_of
from tests.planner.welfare.cast import MONDAY
from tests.planner.welfare.test_week import beyond

MOST_CLICKS = 3
AFTER = dt.datetime(2026, 10, 10, 9, tzinfo=f.LONDON)
LINK = re.compile(r'<a\b[^>]*?href="([^"]*)"[^>]*>(.*?)</a>', re.DOTALL)


class Reader:
    """Follows links as somebody does who reads them."""

    def __init__(self, client) -> None:
        self.client, self.clicks = client, 0
        self.open("/c/brackenford/now/")

    def open(self, address: str) -> None:
        self.address, self.answer = address, self.client.get(address)
        assert self.answer.status_code == 200, address

    def click(self, words: str) -> Reader:
        links = LINK.findall(self.answer.content.decode().partition("<main")[2])
        found = [unescape(address) for address, inside in links if words in re.sub(r"<[^>]+>", "", inside)]
        assert found, f"{self.address} has no link that says {words}"
        self.clicks += 1
        self.open(self.address.partition("?")[0] + found[0] if found[0].startswith("?") else found[0])
        return self

    @property
    def told(self) -> str:
        """The words of the page or paper, in single spaces."""
        body = self.answer.content
        text = text_of(body) if body.startswith(b"%PDF") else re.sub(r"<[^>]+>", " ", body.decode())
        return " ".join(unescape(text).split())

    def answers(self, *words: str) -> None:
        for each in words:
            assert each in self.told
        assert self.clicks <= MOST_CLICKS


@pytest.fixture
def reader(cast, head, welfare, log_in):
    """16.5 minutes on two nights, asked for and approved; then rest. Earlier steps on one ladder, and a decision."""
    player = cast.players[0]
    ladder = f.LadderFactory(club=cast.squad.club, code="A", name="Front-on")
    for session, hundredths, rung in ((cast.tuesday, 950, "C2"), (cast.tuesday, 900, "C4"), (cast.thursday, 750, "C4")):
        station = cast.contact(session, hundredths, [player], rung)
        Station.objects.filter(pk=station.pk).update(coach="Ash")
        station.drill.ladder, station.drill.step = ladder, 1
        station.drill.save()
    cast.restrict(cast.players[1])
    cast.contact(cast.tuesday, 100, [cast.players[1]])
    Declared.objects.create(
        player=player, day=MONDAY, place="school", kind="controlled", minutes=7, declared_by="his teacher", by_name="x"
    )
    asked = ask_excess(
        session=cast.thursday, beyond=[beyond(cast, player)], why="Goal-line stand", by=head, today=MONDAY
    )
    decide_excess(excess=asked[0], approved=True, why="Rested until Thursday", by=welfare)
    note_action(player=player, monday=MONDAY, did="talk", words="parents told on the phone", by=welfare)
    KEPT.forget()
    made = Reader(log_in(welfare))
    made.name, made.other = player.sheet_name, cast.players[1].sheet_name
    return made


def test_who_exceeded_by_how_much_in_which_week_from_which_blocks(reader):
    reader.answers(reader.name, "16.5 of 15 min", "past by 1.5 min", "5 Oct – 11 Oct", "Tue 6 Oct", "Thu 8 Oct")
    reader.click(reader.name).click("Each block in it").answers("Minutes × share", "Tue 6 Oct")


def test_why_and_who_agreed_before_or_after(reader):
    reader.answers("approved by welfare", "Rested until Thursday", "asked before by head", "Goal-line stand")


def test_what_was_done_then(reader):
    reader.answers("talk with the parent or the player : parents told on the phone")


@pytest.mark.parametrize("weeks", [4, 12])
def test_how_much_contact_one_child_had_here_and_elsewhere_to_print_for_him_alone(reader, weeks):
    reader.click(reader.name).click(f"{weeks} weeks").answers("full contact 16.5 min", "school, told by his teacher")
    reader.click("To print (PDF)").answers("full contact 16.5 min", "school, told by his teacher", reader.name)
    assert reader.other not in reader.told


@pytest.mark.parametrize("squads", [1, 2])
def test_how_much_contact_a_child_had_who_is_near_no_limit(reader, cast, squads):
    """Named nowhere on the page: to open the list counts as a click, and so does another squad first."""
    fine, second = cast.players[4], "Second fifteen"
    if squads == 2:
        fine.squad = f.SquadFactory(club=cast.squad.club, name=second, slug="seconds")
        fine.save()
        KEPT.forget()
        reader.open("/c/brackenford/now/")
        reader.click(second)
    assert "Report on any player" in reader.told
    reader.clicks += 1
    reader.click(f"12 weeks {fine.sheet_name}").answers(fine.sheet_name, "contact from", "In all:")
    if squads == 1:
        reader.click("To print (PDF)").answers(fine.sheet_name, "contact from")


def test_a_coach_comes_to_the_report_from_the_totals(reader, cast, head, log_in):
    coach = Reader(log_in(head))
    coach.open("/c/brackenford/totals/?week=2026-10-05")
    fine = cast.players[4].sheet_name
    coach.click(fine).click("Report on this player").answers(fine, "contact from")


def test_whether_the_progression_was_followed_before_live_contact(reader):
    reader.click(reader.name).answers("Front-on C2 6 Oct 2026 Ash 1 Front-on C4 6 Oct 2026 Ash 2")


def test_whether_anyone_was_in_contact_while_a_decision_kept_him_from_it(reader):
    reader.answers("In contact in spite of a status", "decided by Robin Ash")
    reader.click(reader.other).answers(
        "non-contact only from 5 Oct 2026, decided by Robin Ash", "(not allowed that day)"
    )


def test_who_supervised_and_whether_a_first_aider_was_there(reader):
    reader.click("Tue 6 Oct").answers("Ash, Bo", "Cy Wren")


@pytest.fixture
def corrected(reader, cast, head):
    """A hand edit of Tuesday before the night, its confirmation, and a correction two days later."""
    f.BlockFactory(squad=cast.squad)
    block, night = cast.squad.blocks.get(), cast.tuesday
    after = standing_in(block).of_sessions([night.pk])
    before = Programme(tuple(replace(each, coach="Bo") if n == 0 else each for n, each in enumerate(after.stations)))
    sides = ({"sessions": [night.pk], "stations": side.to_json()} for side in (before, after))
    PlanChange.objects.create(block=block, made_by=head, what="coach of A", before=next(sides), after=next(sides))
    confirm_night(session=night, by=head, version=night.plan_version, now=AFTER)
    account = Account.objects.filter(session=night, drill=after.stations[0].drill).first()
    correct_line(
        session=night, spot=account.spot, parts=[Part(4, "C2", 100, "C2", {cast.players[0].pk: Here(4)})],
        seen=account.pk, by=head, may_correct=True, why="the watch said so", now=AFTER + dt.timedelta(days=2),
    )  # fmt: skip
    reader.title = account.title
    reader.open(reader.address)
    return reader


def test_what_the_plan_said_that_day_and_what_changed_later(corrected):
    corrected.click("Tue 6 Oct").click("Plan and changes")
    corrected.answers(
        "kept as it stood when head confirmed the night, Sat 10 Oct 2026, 09:00",
        f"{corrected.title} : 9 min, C2",
        "coach of A",
        "coach: Bo → –",
        "9 min C2, 1 player → 4 min C2, 1 player (the watch said so)",
        "Corrected after it was confirmed head , Mon 12 Oct 2026, 09:00",
    )
    assert corrected.clicks == 2


def test_which_limit_applied_on_that_date_from_which_document(reader):
    reader.click(reader.name).answers(
        "Limits that applied: Club rules, from 1 Jul 2026, Committee paper of the invented club"
    )


ALL_NINE = (
    ("full contact 16.5", "past by 1.5 min", "5 Oct – 11 Oct", "Tue 6 Oct", "Thu 8 Oct"),  # who, how much, when, which
    ("asked before by head", "Goal-line stand", "approved", "Rested until Thursday"),  # why, and who agreed
    ("talk with the parent or the player", "parents told on the phone"),  # what was done
    ("In all:", "school, told by his teacher"),  # here and elsewhere
    ("Front-on C2 6 Oct 2026", "Front-on C4 6 Oct 2026"),  # the steps before live contact
    ("No decision restricted this player in these weeks.",),  # contact in spite of a status
    ("Ash, Bo; first aider Cy Wren; 6 players there",),  # who supervised, the first aider, the numbers
    ("corrected", "9 min C2, 1 player → 4 min C2, 1 player"),  # what was changed later
    ("Limits that applied: Club rules, from 1 Jul 2026, Committee paper of the invented club",),  # by which document
)


@pytest.mark.parametrize("paper", [False, True], ids=["page", "paper"])
def test_the_report_on_one_player_answers_all_nine(corrected, paper):
    corrected.click(corrected.name)
    if paper:
        corrected.click("To print (PDF)")
    corrected.answers(*(words for each in ALL_NINE for words in each))
    assert corrected.other not in corrected.told


# What was told from elsewhere


def test_contact_elsewhere_counts_in_full_beside_ours(cast):
    cast.contact(cast.tuesday, 900, cast.players[:1])
    Declared.objects.create(
        player=cast.players[0], day=MONDAY, place="school", kind="full", minutes=7, declared_by="teacher", by_name="x"
    )
    figure = beyond(cast, cast.players[0]).finding
    assert (figure.amount, figure.excess, figure.parts[0].session) == (16, 1, None)


def test_contact_elsewhere_in_spite_of_a_decision_is_on_top(cast, welfare, log_in):
    cast.restrict(cast.players[2])
    Declared.objects.create(
        player=cast.players[2], day=MONDAY, place="school", kind="full", minutes=3, declared_by="teacher", by_name="x"
    )
    Reader(log_in(welfare)).answers("In contact in spite of a status", "school, told by teacher")
    assert beyond(cast, cast.players[2], Measure.FULL).finding.amount == 3
