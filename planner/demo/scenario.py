"""Builds the invented club through the same verbs and the same files that a coach would use."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from pathlib import Path

from django.db import transaction

from drills.actions import add_starter_library
from drills.models import Skill
from planner.actions import accept_run, start_run
from planner.block_actions import save_block, set_targets, usual_minutes
from planner.calendar_actions import NamedDays, import_fixtures, lay_out, save_night, save_season
from planner.demo.matches import calendar_of
from planner.demo.past import tell_the_past
from planner.models import Block, PlanRun, Season, Session, TrainingNight
from planner.pattern_actions import add_usual_patterns
from planner.slot_plans import SlotPlan
from planner.tasks import run_plan
from planner.venue_actions import save_venue
from planner.venue_models import Venue, Where
from shared.models import Club, Membership, User
from squads.actions import choose_rules, import_squad, mark_away
from squads.clearance_actions import record_clearance, start_return, tell_symptom_free
from squads.models import ClearanceLevel, Player, Squad

CLUB, SLUG = "Withydale RFC", "withydale"
PASSWORD = "one-straight-line"
LOGINS = {
    "head": ("Morwen", "Askham", "head_coach"),
    "assistant": ("Tobias", "Fenwright", "assistant"),
    "welfare": ("Ines", "Calloway", "welfare_officer"),
    "medic": ("Perran", "Hollin", "medical"),
}
COACHES = ["M. Askham", "T. Fenwright", "G. Rookhope"]
KIT = {"balls": 24, "cones": 60, "bibs": 36, "bags": 8, "shields": 10, "suits": 2, "mats": 6, "scrum_machine": 1}
FOCUS = ["I04", "U01", "U04", "B02"]
HISTORY_WEEKS, BLOCK_WEEKS = 4, 6

TUESDAY = [
    SlotPlan(2, "Brief"),
    SlotPlan(10, "Warm-up", rpe=3),
    SlotPlan(12),
    SlotPlan(12),
    SlotPlan(2, "Water and change"),
    SlotPlan(10, "Set-piece units", rpe=6, kind="set_piece", contact_share=20),
    SlotPlan(12),
    SlotPlan(14),
    SlotPlan(4, "Close and knocks"),
]
THURSDAY = [
    SlotPlan(2, "Brief"),
    SlotPlan(8, "Warm-up", rpe=3),
    SlotPlan(10),
    SlotPlan(10),
    SlotPlan(2, "Water and change"),
    SlotPlan(15, "Attack shape", rpe=5),
    SlotPlan(10),
    SlotPlan(3, "Close and knocks"),
]
GROUND = {
    "name": "The Withy Ground",
    "directions": "Mill Lane, Withydale",
    "zone": "Europe/London",
    "latitude": 52.55,
    "longitude": -2.61,
    "floodlit": True,
}
EMERGENCY = {
    "address": "The Withy Ground, Mill Lane, Withydale",
    "grid": "Gate on Mill Lane, drive to the far touchline",
    "gate": "Gate unlocked by the lead coach before the start",
    "defibrillator": "Clubhouse porch, left of the door",
    "hospital": "Withydale General, 12 minutes by road",
    "phone": "Emergency services first, then the club phone in the first-aid bag",
    "meets": "T. Fenwright goes to the gate, M. Askham stays with the player",
}


@dataclass(frozen=True)
class Files:
    """What the club's people would bring."""

    squad: Path
    fixtures: Path


def first_monday(today: dt.date) -> dt.date:
    """This week's Monday while its Tuesday can still be planned, else the next."""
    monday = today - dt.timedelta(days=today.weekday())
    return monday if today.weekday() <= 1 else monday + dt.timedelta(weeks=1)


def write_files(into: Path, today: dt.date) -> Files:
    into.mkdir(parents=True, exist_ok=True)
    files = Files(into / "squad.csv", into / "fixtures.ics")
    files.squad.write_bytes((Path(__file__).parent / "squad.csv").read_bytes())
    files.fixtures.write_bytes(calendar_of(CLUB, first_monday(today), Club(zone="Europe/London").tzinfo))
    return files


@transaction.atomic
def build_club(files: Files, today: dt.date) -> Block:
    """Everything up to the two blocks that wait to be planned; gives back the one that begins now."""
    club, head = make_people()
    squad = Squad.objects.create(club=club, name="First fifteen", slug="firsts")
    import_squad(squad=squad, content=files.squad.read_bytes(), filename=files.squad.name, by=head)
    start = first_monday(today) - dt.timedelta(weeks=8)
    choose_rules(
        club=club,
        preset="world-rugby-2021",
        valid_from=start,
        by=User.objects.get(username="welfare"),
    )
    add_starter_library(club, by=head, today=start)
    add_usual_patterns(club=club, by=head)
    set_targets(squad=squad, minutes=usual_minutes(list(Skill.objects.of(club))), by=head)
    make_season(squad, start, head)
    import_fixtures(squad=squad, content=files.fixtures.read_bytes(), filename=files.fixtures.name, by=head)
    tell_of_players(squad, first_monday(today), today)
    return make_blocks(squad, first_monday(today), head)


def make_people() -> tuple[Club, User]:
    club = Club.objects.create(name=CLUB, slug=SLUG, emergency=EMERGENCY)
    for username, (given, family, role) in LOGINS.items():
        user = User(username=username, first_name=given, last_name=family)
        user.set_password(PASSWORD)
        user.save()
        Membership.objects.create(club=club, user=user, role=role)
    return club, User.objects.get(username="head")


def make_ground(club: Club, head: User) -> Venue:
    """An invented ground; its position, on farmland, is there so that sunset shows."""
    return save_venue(venue=Venue(club=club), by=head, **GROUND)


def make_season(squad: Squad, start: dt.date, head: User) -> None:
    end = start + dt.timedelta(weeks=30)
    in_season = start + dt.timedelta(weeks=4)
    half_term = start + dt.timedelta(weeks=16)  # after the blocks, so that their figures are those of the docs
    season = save_season(
        season=Season(squad=squad),
        name=f"{start:%Y}/{end:%y}" if start.year != end.year else f"{start:%Y}",
        first_day=start,
        last_day=end,
        phases=[
            NamedDays("Pre-season", start, in_season - dt.timedelta(days=1)),
            NamedDays("In season", in_season, end),
        ],
        breaks=[NamedDays("Half term", half_term, half_term + dt.timedelta(days=6))],
        by=head,
    )
    place = {"where": Where(make_ground(squad.club, head)), "pitch": "Pitch 1, clubhouse end"} | {
        "width": 70,
        "length": 60,
        "coaches": 3,
        "stations": 3,
        "kit": KIT,
    }
    for weekday, starts, slots in ((1, dt.time(19, 0), TUESDAY), (3, dt.time(19, 15), THURSDAY)):
        night = TrainingNight(season=season)
        save_night(
            night=night, slots=slots, by=head, weekday=weekday, starts=starts, lights_until=dt.time(21, 0), **place
        )
    lay_out(season=season, by=head, today=start)
    Session.objects.filter(squad=squad).update(
        coach_names=COACHES, first_aider="P. Hollin (first aid at work)", aims=["Hold one line", "Fold in threes"]
    )


def tell_of_players(squad: Squad, monday: dt.date, today: dt.date) -> None:
    """A holiday, a wedding, exams; three players with a clearance below full by a named person; one on his way back."""
    head, welfare = User.objects.get(username="head"), User.objects.get(username="welfare")
    player = {each.key: each for each in Player.objects.filter(squad=squad)}
    for key, first, last in (("WD07", 7, 13), ("WD14", 1, 3), ("WD25", 21, 34), ("WD30", 3, 3), ("WD33", 15, 17)):
        mark_away(
            players=[player[key]],
            first=monday + dt.timedelta(days=first),
            last=monday + dt.timedelta(days=last),
            said_by="text message",
            by=head,
        )
    decided = today - dt.timedelta(days=3)
    for key, level, work in (
        ("WD10", ClearanceLevel.NON_CONTACT, "run, pass and catch alone; no bags, no partners"),
        ("WD17", ClearanceLevel.OUT, ""),
        ("WD27", ClearanceLevel.CONTROLLED, "pads and agreed pace; nothing live"),
    ):
        record_clearance(
            player=player[key],
            level=level,
            from_day=decided,
            decided_on=decided,
            decided_by="R. Lomax",
            decided_as="club physiotherapist",
            review_on=monday + dt.timedelta(days=7),
            allowed_work=work,
            by=welfare,
        )
    bring_back(player["WD22"], today)


def bring_back(player: Player, today: dt.date) -> None:
    """Off ten days ago, without symptoms since the second day, non-contact since today; contact is a week away."""
    medic = User.objects.get(username="medic")
    told = {"decided_by": str(medic), "decided_as": "first aider"}
    case = start_return(player=player, union="uk-grassroots", day=today - dt.timedelta(days=10), by=medic, **told)
    tell_symptom_free(case=case, day=today - dt.timedelta(days=8), by=medic)
    record_clearance(
        player=player,
        level=ClearanceLevel.NON_CONTACT,
        from_day=today,
        decided_on=today,
        decided_by="Dr M. Sallow",
        decided_as="club doctor",
        review_on=today + dt.timedelta(days=6),
        review_by="Dr M. Sallow",
        allowed_work="run, shape, pass and catch alone",
        not_allowed_work="no jumping, no falling, no bags, no contact",
        by=medic,
        medical=True,
    )


def make_blocks(squad: Squad, monday: dt.date, head: User) -> Block:
    skills = list(Skill.objects.of(squad.club).filter(code__in=FOCUS))
    load = {"load_low": 420, "load_high": 900}
    before = monday - dt.timedelta(weeks=HISTORY_WEEKS)
    save_block(
        block=Block(squad=squad),
        focus=skills,
        by=head,
        name="Opening block",
        first_day=before,
        weeks=HISTORY_WEEKS,
        **load,
    )
    return save_block(
        block=Block(squad=squad),
        focus=skills,
        by=head,
        name="Six-week block",
        first_day=monday,
        weeks=BLOCK_WEEKS,
        **load,
    )


def plan_blocks(block: Block, today: dt.date, seconds: int) -> PlanRun:
    """Plan the earlier block as of its own first day, tell what came of it, then plan this one; gives back its run."""
    earlier = Block.objects.get(squad=block.squad, name="Opening block")
    plan(earlier, earlier.first_day, max(2, seconds // 5))
    tell_the_past(block.squad, dt.datetime.combine(today, dt.time(12), block.squad.club.tzinfo))
    return plan(block, min(today, block.first_day), seconds)


def plan(block: Block, today: dt.date, seconds: int) -> PlanRun:
    """What the page's buttons do, one after the other, with the task run here instead of by a worker."""
    head = User.objects.get(username="head")
    run = start_run(block=block, seconds=seconds, by=head, today=today)
    run_plan(str(run.job_id))
    run.refresh_from_db()
    accept_run(run=run, by=head, today=today)
    return run
