"""A fixed cast: one club with its three people and a squad, and a stranger club beside it."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import factory
from django.contrib.auth.hashers import make_password

from drills.models import Drill, DrillSkill, Ladder, Skill
from planner.models import Block, Fixture, Season, Session, Slot
from shared.models import Club, Membership, User
from squads.models import ContactRules, Player, Squad

PASSWORD = "wet-tuesday-night"
LONDON = ZoneInfo("Europe/London")
HASHED = make_password(PASSWORD, hasher="pbkdf2_sha256")
TUESDAY = dt.date(2026, 10, 6)


class UserFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = User

    username = factory.Sequence(lambda n: f"user{n}")
    password = HASHED


class ClubFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Club

    name = factory.Sequence(lambda n: f"Brackenford {n} RFC")
    slug = factory.Sequence(lambda n: f"brackenford-{n}")


class MembershipFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Membership

    club = factory.SubFactory(ClubFactory)
    user = factory.SubFactory(UserFactory)
    role = "head_coach"


class SquadFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Squad

    club = factory.SubFactory(ClubFactory)
    name = "First fifteen"
    slug = factory.Sequence(lambda n: f"firsts-{n}")


class PlayerFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Player

    squad = factory.SubFactory(SquadFactory)
    key = factory.Sequence(lambda n: f"P{n:03}")
    given_name = factory.Sequence(lambda n: f"Given{n}")
    family_name = factory.Sequence(lambda n: f"Family{n}")
    main_position = factory.Sequence(lambda n: n % 15 + 1)


class ContactRulesFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = ContactRules

    club = factory.SubFactory(ClubFactory)
    name = "Club rules"
    source = "Committee paper of the invented club"
    valid_from = dt.date(2026, 7, 1)
    full_minutes = 15
    controlled_minutes = 40
    set_piece_minutes = 30
    full_days = 2


class SkillFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Skill
        django_get_or_create = ("club", "code")

    club = factory.SubFactory(ClubFactory)
    code = "I04"
    name = "Front-on tackle"
    family = factory.LazyAttribute(lambda skill: skill.code[0])


class LadderFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Ladder

    club = factory.SubFactory(ClubFactory)
    code = factory.Sequence(lambda n: f"L{n % 1000}")  # four letters at most, however many a run of tests makes
    name = "Front-on"


class DrillFactory(factory.django.DjangoModelFactory):
    """A walk-through for all that teaches one skill, unless told otherwise."""

    class Meta:
        model = Drill
        skip_postgeneration_save = True

    club = factory.SubFactory(ClubFactory)
    number = factory.Sequence(lambda n: n + 1)
    name = factory.Sequence(lambda n: f"Drill {n}")
    revised_on = dt.date(2026, 7, 1)
    purpose = "Hold the line so that nobody runs through it."
    groups = ["all"]
    players_least = 4
    players_ideal = 12
    players_most = 30
    grid_width = 20
    grid_length = 20
    set_up = "Four cones."
    runs = ["Start.", "Stop."]
    cues = ["look up", "feet first", "stay square"]
    minutes_least = 5
    minutes_ideal = 10
    minutes_most = 20
    rpe = 5
    rung = "C0"

    @factory.post_generation
    def skills(drill, create, extracted, **kwargs):
        """`skills={"I04": 60, "U01": 40}`; by default all minutes go to I04."""
        for code, share in (extracted or {"I04": 100}).items():
            skill = SkillFactory(club=drill.club, code=code)
            DrillSkill.objects.create(drill=drill, skill=skill, share=share)


class SeasonFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Season

    squad = factory.SubFactory(SquadFactory)
    name = "2026/27"
    first_day = dt.date(2026, 9, 1)
    last_day = dt.date(2027, 4, 30)


class FixtureFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Fixture

    squad = factory.SubFactory(SquadFactory)
    uid = factory.Sequence(lambda n: f"fixture-{n}")
    kick_off = dt.datetime(2026, 10, 10, 15, 0, tzinfo=LONDON)
    opponent = "Netherby Cross RFC"


class SessionFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Session
        skip_postgeneration_save = True

    squad = factory.SubFactory(SquadFactory)
    starts_at = dt.datetime(2026, 10, 6, 19, 0, tzinfo=LONDON)
    kit = {"balls": 20, "cones": 40, "bibs": 24, "bags": 6, "shields": 8, "suits": 0, "mats": 4}
    coaches = 3

    @factory.post_generation
    def slots(session, create, extracted, **kwargs):
        """`slots=[12, 15]`: planned slots of so many minutes; a pair (10, "Warm-up") is fixed content."""
        for order, entry in enumerate(extracted or [12, 12, 12]):
            minutes, title = entry if isinstance(entry, tuple) else (entry, "")
            Slot.objects.create(session=session, order=order, minutes=minutes, title=title, rpe=3 if title else 0)


class BlockFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Block

    squad = factory.SubFactory(SquadFactory)
    name = "October block"
    first_day = dt.date(2026, 10, 5)
    weeks = 2
