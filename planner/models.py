"""When, and what comes of it: seasons, fixtures, sessions with their slots, blocks, targets, plans."""

from __future__ import annotations

import datetime as dt
import uuid
from zoneinfo import ZoneInfo

from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Coalesce
from django.utils.dates import WEEKDAYS
from django.utils.formats import date_format
from django.utils.translation import gettext_lazy as _

from drills.models import Drill, Skill
from planner import tables  # noqa: F401 - more of them
from planner.night_models import Running, Stood
from planner.venue_models import AtAVenue, AtAVenueManager, Ground
from shared.clock import WallTime
from shared.core.contact import Kind
from shared.core.positions import GROUPS
from shared.models import Club, Job, User
from squads.models import Player, Squad

KIND_CHOICES = [
    (Kind.NONE, _("no contact")),
    (Kind.CONTROLLED, _("controlled contact")),
    (Kind.SET_PIECE, _("live set piece")),
    (Kind.FULL, _("full contact")),
]
GROUP_CHOICES = [(group, group) for group in GROUPS]


class OfSquadQuerySet(models.QuerySet):
    def of(self, club: Club) -> OfSquadQuerySet:
        return self.filter(squad__club=club)


class Season(models.Model):
    squad = models.ForeignKey(Squad, on_delete=models.CASCADE, related_name="seasons")
    name = models.CharField(_("name"), max_length=40)
    first_day = models.DateField(_("first day"))
    last_day = models.DateField(_("last day"))

    objects = OfSquadQuerySet.as_manager()

    class Meta:
        ordering = ["-first_day"]
        constraints = [
            models.UniqueConstraint(fields=["squad", "name"], name="season_name_unique_in_squad"),
            models.CheckConstraint(condition=Q(last_day__gt=F("first_day")), name="season_ends_after_it_starts"),
        ]

    def __str__(self) -> str:
        return self.name


class Phase(models.Model):
    """A stretch of a season with a name of the club's own: pre-season, in season, bye, taper."""

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="phases")
    name = models.CharField(_("name"), max_length=40)
    first_day = models.DateField(_("first day"))
    last_day = models.DateField(_("last day"))

    class Meta:
        ordering = ["first_day"]
        constraints = [
            models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="phase_ends_after_it_starts")
        ]

    def __str__(self) -> str:
        return self.name


class Break(models.Model):
    """Days of a season on which the squad does not train: public holidays, school breaks, a wedding.

    `uid` is how its source knows it, so that it is recognised when it comes again: a calendar, or the public holidays.
    """

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="breaks")
    uid = models.CharField(max_length=255, blank=True, editable=False)
    name = models.CharField(_("why"), max_length=60)
    first_day = models.DateField(_("first day"))
    last_day = models.DateField(_("last day"))

    class Meta:
        ordering = ["first_day"]
        constraints = [
            models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="break_ends_after_it_starts"),
            models.UniqueConstraint(fields=["season", "uid"], condition=~Q(uid=""), name="break_uid_unique_in_season"),
        ]

    def __str__(self) -> str:
        return self.name


class TrainingNight(Running, Ground):
    """The weekly pattern of a season, from which sessions are laid out."""

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="nights")
    weekday = models.PositiveSmallIntegerField(_("day"), choices=list(WEEKDAYS.items()))
    starts = models.TimeField(_("starts"))
    template = models.JSONField(
        _("slots"),
        default=list,
        help_text=_("in order: minutes, and what fills the slot if it is not planned"),
    )

    class Meta:
        ordering = ["weekday", "starts"]
        constraints = [
            *Running.Meta.constraints,
            *Ground.Meta.constraints,
            models.CheckConstraint(condition=Q(weekday__lte=6), name="night_weekday_0_to_6"),
        ]

    def __str__(self) -> str:
        return f"{self.get_weekday_display()} {self.starts:%H:%M}"

    @property
    def home_zone(self) -> ZoneInfo:
        return self.season.squad.club.tzinfo


class FixtureState(models.TextChoices):
    PLANNED = "planned", _("planned")
    POSTPONED = "postponed", _("postponed")
    CANCELLED = "cancelled", _("cancelled")


class FixtureQuerySet(OfSquadQuerySet):
    def played_or_due(self) -> FixtureQuerySet:
        """Matches that put a load on the week: neither cancelled nor postponed."""
        return self.filter(state=FixtureState.PLANNED)


class Fixture(AtAVenue):
    """A match. `uid` is the one of the calendar it came from, so that a moved match is recognised.

    `venue_words` stay beside a venue as the calendar gave them: the next file with the same words changes nothing.
    """

    squad = models.ForeignKey(Squad, on_delete=models.CASCADE, related_name="fixtures")
    uid = models.CharField(max_length=255)
    kick_off = models.DateTimeField(_("kick-off"))
    all_day = models.BooleanField(_("time not known yet"), default=False)
    day = models.DateField(editable=False)
    opponent = models.CharField(_("opponent"), max_length=120)
    home = models.BooleanField(_("at home"), default=True)
    competition = models.CharField(_("competition"), max_length=80, blank=True)
    venue_words = models.CharField(_("venue in words"), max_length=160, blank=True)
    state = models.CharField(_("state"), max_length=10, choices=FixtureState, default=FixtureState.PLANNED)

    objects = AtAVenueManager.from_queryset(FixtureQuerySet)()

    class Meta:
        ordering = ["kick_off"]
        indexes = [models.Index(fields=["squad", "day"], name="fixture_by_squad_and_day")]
        constraints = [
            models.UniqueConstraint(fields=["squad", "uid"], name="fixture_uid_unique_in_squad"),
            models.CheckConstraint(condition=Q(state__in=FixtureState.values), name="fixture_state_known"),
        ]

    def __str__(self) -> str:
        return f"{self.opponent} {date_format(self.day, 'j M Y')}"

    def save(self, *args: object, **kwargs: object) -> None:
        self.day = self.kick_off.astimezone(self.zone).date()
        super().save(*args, **kwargs)

    @property
    def kicks_off(self) -> WallTime:
        """By the clock on the wall."""
        return self.on_the_wall(self.kick_off)


class SessionQuerySet(OfSquadQuerySet):
    def between(self, first: dt.date, last: dt.date) -> SessionQuerySet:
        """Sessions that take place on a day from first to last."""
        return self.filter(day__gte=first, day__lte=last, cancelled=False)

    def with_length(self) -> SessionQuerySet:
        """With `minutes` (of all slots together) and `stations_set` (how many drills stand in them)."""
        slots = Slot.objects.filter(session=models.OuterRef("pk")).order_by().values("session")
        stations = Station.objects.filter(slot__session=models.OuterRef("pk")).order_by().values("slot__session")
        return self.annotate(
            minutes=Coalesce(models.Subquery(slots.values(found=models.Sum("minutes"))), 0),
            stations_set=Coalesce(models.Subquery(stations.values(found=models.Count("pk"))), 0),
        )

    def with_programme(self) -> SessionQuerySet:
        """Everything a sheet or a week page shows, in a fixed number of queries."""
        return self.prefetch_related(
            "slots__stations__drill__skill_shares__skill",
            "slots__stations__drill__ladder",
            "slots__stations__places__player__squad",
        )


class Session(Ground):
    """One night on the field.

    `night` and `pattern_day` tell which night of the season it was laid out from and for which day, so that a
    moved or cancelled session is not laid out again. A cancelled one keeps its programme and counts nowhere.
    """

    squad = models.ForeignKey(Squad, on_delete=models.CASCADE, related_name="sessions")
    night = models.ForeignKey(
        TrainingNight, null=True, blank=True, editable=False, on_delete=models.SET_NULL, related_name="sessions"
    )
    pattern_day = models.DateField(null=True, blank=True, editable=False)
    cancelled = models.BooleanField(_("cancelled"), default=False)
    starts_at = models.DateTimeField(_("starts"))
    day = models.DateField(editable=False)
    coach_names = models.JSONField(_("coaches by name"), default=list, blank=True)
    first_aider = models.CharField(_("first aider"), max_length=80, blank=True)
    aims = models.JSONField(_("aims"), default=list, blank=True)
    notes = models.TextField(_("notes"), blank=True)
    plan_version = models.PositiveIntegerField(default=0)

    # Of a copy that holds a part of a night which is under way: planner.building.nights.
    is_over = is_begun_part = False

    objects = AtAVenueManager.from_queryset(SessionQuerySet)()

    class Meta:
        ordering = ["starts_at"]
        constraints = [
            models.UniqueConstraint(fields=["squad", "starts_at"], name="one_session_at_a_time_per_squad"),
            models.UniqueConstraint(fields=["night", "pattern_day"], name="a_night_gives_one_session_a_day"),
            *Ground.Meta.constraints,
            models.CheckConstraint(condition=Q(width__gte=1, length__gte=1), name="session_has_some_grass"),
        ]
        indexes = [models.Index(fields=["squad", "day"])]

    def __str__(self) -> str:
        return f"{self.squad} {date_format(self.day, 'D j M Y')}"

    def save(self, *args: object, **kwargs: object) -> None:
        self.day = self.starts_at.astimezone(self.zone).date()
        super().save(*args, **kwargs)

    @property
    def starts(self) -> WallTime:
        """By the clock on the wall."""
        return self.on_the_wall(self.starts_at)


class Slot(models.Model):
    """A stretch of a session. It is either planned (stations stand in it) or holds fixed content of the club's own."""

    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="slots")
    order = models.PositiveSmallIntegerField()
    minutes = models.PositiveSmallIntegerField(_("minutes"))
    title = models.CharField(_("fixed content"), max_length=60, blank=True, help_text=_("empty: planned"))
    rpe = models.PositiveSmallIntegerField(_("RPE of the fixed content"), default=0)
    kind = models.CharField(_("contact"), max_length=10, choices=KIND_CHOICES, default=Kind.NONE)
    contact_share = models.PositiveSmallIntegerField(_("per cent of the time in contact"), default=0)

    class Meta:
        ordering = ["order"]
        constraints = [
            models.UniqueConstraint(fields=["session", "order"], name="slot_order_unique_in_session"),
            models.CheckConstraint(condition=Q(minutes__gte=1), name="slot_lasts_a_minute"),
            models.CheckConstraint(condition=Q(rpe__lte=10), name="slot_rpe_at_most_10"),
            models.CheckConstraint(condition=Q(contact_share__lte=100), name="slot_contact_share_at_most_100"),
        ]

    def __str__(self) -> str:
        return f"{self.session} slot {self.order + 1}"

    @property
    def is_planned(self) -> bool:
        return not self.title


class Station(Stood, models.Model):
    """One drill at one place in one slot."""

    slot = models.ForeignKey(Slot, on_delete=models.CASCADE, related_name="stations")
    order = models.PositiveSmallIntegerField(default=0)
    drill = models.ForeignKey(Drill, on_delete=models.PROTECT, related_name="stations")
    drill_version = models.PositiveIntegerField(default=1)
    coach = models.CharField(_("coach"), max_length=80, blank=True)
    locked = models.BooleanField(_("locked"), default=False)

    class Meta:
        ordering = ["order", "pk"]
        constraints = [models.UniqueConstraint(fields=["slot", "drill"], name="a_drill_once_in_a_slot")]

    def __str__(self) -> str:
        return f"{self.drill} in {self.slot}"


class Place(models.Model):
    """A player stands at a station. The slot stands in the row too, so that the database itself keeps him at one."""

    station = models.ForeignKey(Station, on_delete=models.CASCADE, related_name="places")
    slot = models.ForeignKey(Slot, on_delete=models.CASCADE, related_name="+")
    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="places")

    class Meta:
        ordering = ["player__main_position", "player__family_name"]
        constraints = [models.UniqueConstraint(fields=["slot", "player"], name="a_player_stands_at_one_station")]

    def __str__(self) -> str:
        return f"{self.player} at {self.station}"


class GroupTarget(models.Model):
    """Minutes of a skill that a position group should get in four weeks."""

    squad = models.ForeignKey(Squad, on_delete=models.CASCADE, related_name="group_targets")
    group = models.CharField(_("group"), max_length=2, choices=GROUP_CHOICES)
    skill = models.ForeignKey(Skill, on_delete=models.CASCADE, related_name="+")
    minutes = models.PositiveSmallIntegerField(_("minutes in four weeks"))

    objects = OfSquadQuerySet.as_manager()

    class Meta:
        ordering = ["skill__family", "skill__code", "group"]
        constraints = [
            models.UniqueConstraint(fields=["squad", "group", "skill"], name="one_target_per_group_and_skill"),
            models.CheckConstraint(condition=Q(group__in=list(GROUPS)), name="target_group_known"),
        ]

    def __str__(self) -> str:
        return f"{self.group} {self.skill.code} {self.minutes} min"


class BlockQuerySet(OfSquadQuerySet):
    def holding(self, session: Session) -> Block | None:
        """The block that a session falls into; of two that overlap the later one."""
        begun = self.filter(squad=session.squad_id, first_day__lte=session.day)
        return next((block for block in begun if block.last_day >= session.day), None)


class Block(models.Model):
    """A stretch of weeks that is planned as one."""

    squad = models.ForeignKey(Squad, on_delete=models.CASCADE, related_name="blocks")
    name = models.CharField(_("name"), max_length=60)
    first_day = models.DateField(_("first day"), help_text=_("weeks of the block count from here"))
    weeks = models.PositiveSmallIntegerField(_("weeks"))
    focus = models.ManyToManyField(Skill, blank=True, related_name="+", verbose_name=_("main skills"))
    target_percent = models.PositiveSmallIntegerField(
        _("share of the usual minutes"), default=100, help_text=_("per cent of the targets of each group")
    )
    load_low = models.PositiveIntegerField(_("load of a week, at least"), default=300)
    load_high = models.PositiveIntegerField(_("load of a week, at most"), default=700)

    objects = BlockQuerySet.as_manager()

    class Meta:
        ordering = ["-first_day"]
        constraints = [
            models.UniqueConstraint(fields=["squad", "name"], name="block_name_unique_in_squad"),
            models.CheckConstraint(condition=Q(weeks__gte=1, weeks__lte=52), name="block_of_1_to_52_weeks"),
            models.CheckConstraint(condition=Q(load_high__gte=F("load_low")), name="block_load_band_in_order"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def last_day(self) -> dt.date:
        return self.first_day + dt.timedelta(days=7 * self.weeks - 1)


class OfBlockQuerySet(models.QuerySet):
    def of(self, club: Club) -> OfBlockQuerySet:
        return self.filter(block__squad__club=club)

    def listed(self) -> OfBlockQuerySet:
        """For a list of runs: without the question and the answer, which are long."""
        return self.select_related("job", "made_by", "accepted_by").defer("problem", "start", "plan", "trace", "clash")


class RunKind(models.TextChoices):
    PLAN = "plan", _("plan of the block")
    REDEAL = "redeal", _("dealt again")


class PlanRun(models.Model):
    """One run of the planner on a block: the question, the best answer so far, and what became of it.

    `start`: the stations that it begins with. Of a redeal: what was `asked` beside mending, what was `released` and
    why, the plan_version of each night. `kept`: spots (slot, drill) of the answer that somebody marked.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    block = models.ForeignKey(Block, on_delete=models.CASCADE, related_name="runs")
    kind = models.CharField(max_length=6, choices=RunKind, default=RunKind.PLAN)
    job = models.OneToOneField(Job, null=True, on_delete=models.SET_NULL, related_name="plan_run")
    seconds = models.PositiveSmallIntegerField(_("seconds"), default=10)
    seed = models.PositiveIntegerField(default=1)
    problem = models.JSONField(default=dict)
    start = models.JSONField(default=list, blank=True)
    versions = models.JSONField(default=dict, blank=True)
    asked = models.JSONField(default=dict, blank=True)
    plan = models.JSONField(null=True, blank=True)
    released = models.JSONField(default=list, blank=True)
    kept = models.JSONField(default=list, blank=True)
    cost = models.JSONField(default=dict, blank=True)
    bound = models.FloatField(null=True, blank=True)
    trace = models.JSONField(default=list, blank=True)
    clash = models.JSONField(null=True, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    accepted_at = models.DateTimeField(null=True, blank=True)
    accepted_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    dropped_at = models.DateTimeField(null=True, blank=True)

    objects = OfBlockQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at"]
        constraints = [models.CheckConstraint(condition=Q(kind__in=RunKind.values), name="run_kind_known")]

    def __str__(self) -> str:
        return f"{self.block} {date_format(self.made_at, 'j M H:i')}"

    @property
    def is_redeal(self) -> bool:
        return self.kind == RunKind.REDEAL


class PlanChange(models.Model):
    """A change of a programme with what stood before. `asks_first`: more than an edit is lost by undoing it."""

    block = models.ForeignKey(Block, on_delete=models.CASCADE, related_name="changes")
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    what = models.CharField(max_length=200)
    before = models.JSONField()
    after = models.JSONField()
    undone_at = models.DateTimeField(null=True, blank=True)
    asks_first = models.BooleanField(default=False)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return self.what
