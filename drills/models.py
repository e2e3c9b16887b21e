"""What: the club's defensive skills, ladders and drills."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.db import models, transaction
from django.db.models import F, Q
from django.utils.formats import date_format
from django.utils.translation import gettext_lazy as _

from drills import board_models  # noqa: F401 - tables
from drills.core.folding import joined
from drills.core.kit import pieces
from drills.queries import DrillQuerySet, OfClubQuerySet
from shared.core.contact import RUNGS, Kind, kind_of
from shared.models import Club


class Family(models.TextChoices):
    INDIVIDUAL = "I", _("Individual")
    UNIT = "U", _("Unit")
    BACK_FIELD = "B", _("Back field")
    TRANSITION = "T", _("Scramble and turnover")
    SET_PIECE = "S", _("Set piece")
    KICKS = "K", _("Kicks and restarts")


class Skill(models.Model):
    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="skills")
    code = models.CharField(_("code"), max_length=6)
    name = models.CharField(_("name"), max_length=60)
    family = models.CharField(_("family"), max_length=1, choices=Family)
    retired_on = models.DateField(null=True, blank=True)

    objects = OfClubQuerySet.as_manager()

    class Meta:
        ordering = ["family", "code"]
        constraints = [models.UniqueConstraint(fields=["club", "code"], name="skill_code_unique_in_club")]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"


class Ladder(models.Model):
    """Drills in the order in which they are earned, walk-through to live."""

    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="ladders")
    code = models.CharField(_("code"), max_length=4)
    name = models.CharField(_("name"), max_length=60)
    retired_on = models.DateField(null=True, blank=True)

    objects = OfClubQuerySet.as_manager()

    class Meta:
        ordering = ["code"]
        constraints = [models.UniqueConstraint(fields=["club", "code"], name="ladder_code_unique_in_club")]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"


SAID = (
    "name", "purpose", "set_up", "trigger", "ends", "success", "easier", "harder", "one_more", "one_fewer",
    "group_shape", "training_age", "coach_place", "sets",
)  # fmt: skip
SAID_IN_LINES = ("cues", "runs", "questions", "safety")


class Drill(models.Model):
    """One card of the club's library, as it stands now; `version` goes up with each change.

    Write drills through drills.actions: it keeps each version.
    """

    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="drills")
    number = models.PositiveIntegerField(_("number"))
    name = models.CharField(_("name"), max_length=60)
    version = models.PositiveIntegerField(default=1)
    revised_on = models.DateField(_("version of"))
    author = models.CharField(_("author"), max_length=80, blank=True)
    retired_on = models.DateField(null=True, blank=True)

    purpose = models.CharField(_("purpose"), max_length=300)
    groups = models.JSONField(_("who fits"), default=list, help_text=_("all, or some of FR SR BR HB CE B3"))
    needs = models.JSONField(_("cannot run without"), default=dict, blank=True)
    players_least = models.PositiveSmallIntegerField(_("players, least"))
    players_ideal = models.PositiveSmallIntegerField(_("players, ideal"))
    players_most = models.PositiveSmallIntegerField(_("players, most"))
    one_more = models.CharField(_("with one more"), max_length=300, blank=True)
    one_fewer = models.CharField(_("with one fewer"), max_length=300, blank=True)
    group_shape = models.CharField(_("group shape"), max_length=160, blank=True)
    age_from = models.PositiveSmallIntegerField(_("youngest age grade"), default=0)
    training_age = models.CharField(_("has done before"), max_length=200, blank=True)
    grid_width = models.PositiveSmallIntegerField(_("grid width, m"))
    grid_length = models.PositiveSmallIntegerField(_("grid length, m"))
    grid_per = models.PositiveSmallIntegerField(_("players per grid"), null=True, blank=True)
    kit = models.JSONField(_("kit"), default=list, blank=True)
    set_up = models.TextField(_("set-up"))
    trigger = models.CharField(_("trigger"), max_length=200, blank=True)
    runs = models.JSONField(_("how it runs"), default=list)
    ends = models.CharField(_("ends"), max_length=200, blank=True)
    cues = models.JSONField(_("cues"), default=list)
    questions = models.JSONField(_("questions to players"), default=list, blank=True)
    faults = models.JSONField(_("faults and fixes"), default=list, blank=True)
    success = models.CharField(_("success measure"), max_length=300, blank=True)
    minutes_least = models.PositiveSmallIntegerField(_("minutes, least"))
    minutes_ideal = models.PositiveSmallIntegerField(_("minutes, ideal"))
    minutes_most = models.PositiveSmallIntegerField(_("minutes, most"))
    sets = models.CharField(_("sets"), max_length=120, blank=True)
    work_rest = models.CharField(_("work to rest"), max_length=20, blank=True)
    rpe = models.PositiveSmallIntegerField(_("expected RPE"))
    rung = models.CharField(_("rung"), max_length=3, choices=[(r.code, f"{r.code} {r.name}") for r in RUNGS.values()])
    contact_share = models.PositiveSmallIntegerField(_("per cent of the time in contact"), default=0)
    contacts_least = models.PositiveSmallIntegerField(_("contacts per player, least"), default=0)
    contacts_most = models.PositiveSmallIntegerField(_("contacts per player, most"), default=0)
    ladder = models.ForeignKey(Ladder, null=True, blank=True, on_delete=models.SET_NULL, related_name="drills")
    step = models.PositiveSmallIntegerField(_("step on the ladder"), null=True, blank=True)
    easier = models.CharField(_("drop down when"), max_length=300, blank=True)
    harder = models.CharField(_("move up when"), max_length=300, blank=True)
    coaches = models.PositiveSmallIntegerField(_("coaches"), default=1)
    coach_place = models.CharField(_("coach stands"), max_length=200, blank=True)
    safety = models.JSONField(_("safety notes"), default=list, blank=True)
    diagram = models.JSONField(_("diagram"), null=True, blank=True)

    adapted_from = models.ForeignKey("self", null=True, blank=True, on_delete=models.SET_NULL, related_name="adapted")
    adapted_version = models.PositiveIntegerField(null=True, blank=True)

    objects = DrillQuerySet.as_manager()

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["club", "number"], name="drill_number_unique_in_club"),
            models.CheckConstraint(condition=Q(rung__in=list(RUNGS)), name="drill_rung_known"),
            models.CheckConstraint(condition=Q(rpe__gte=1, rpe__lte=10), name="drill_rpe_1_to_10"),
            models.CheckConstraint(condition=Q(contact_share__lte=100), name="drill_contact_share_at_most_100"),
            models.CheckConstraint(
                condition=Q(players_least__gte=1)
                & Q(players_ideal__gte=F("players_least"))
                & Q(players_most__gte=F("players_ideal")),
                name="drill_players_in_order",
            ),
            models.CheckConstraint(
                condition=Q(minutes_least__gte=1)
                & Q(minutes_ideal__gte=F("minutes_least"))
                & Q(minutes_most__gte=F("minutes_ideal")),
                name="drill_minutes_in_order",
            ),
            models.CheckConstraint(
                condition=~Q(rung="C0") | Q(contact_share=0, contacts_most=0), name="drill_walk_through_without_contact"
            ),
            models.CheckConstraint(condition=Q(contacts_most__gte=F("contacts_least")), name="drill_contacts_in_order"),
            models.CheckConstraint(
                condition=Q(ladder__isnull=True) | Q(step__isnull=False), name="drill_on_a_ladder_has_a_step"
            ),
        ]
        indexes = [models.Index(fields=["club", "retired_on", "number"], name="drills_in_the_order_of_a_list")]

    def __str__(self) -> str:
        return f"#{self.number} {self.name}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        with transaction.atomic():
            super().save(*args, **kwargs)
            DrillText.of(self).save()

    def texts(self) -> Iterator[str]:
        """Whatever a coach may remember a card by, the most telling first."""
        yield from (getattr(self, field) for field in SAID)
        for field in SAID_IN_LINES:
            yield from getattr(self, field)
        yield from (text for pair in self.faults for text in pair.values())

    @property
    def kind(self) -> Kind:
        return kind_of(self.rung)

    @property
    def rung_name(self) -> str:
        return RUNGS[self.rung].name

    def grids(self, players: int) -> int:
        """How many grids that many players fill."""
        return -(-players // self.grid_per) if self.grid_per else 1

    def area(self, players: int) -> int:
        """Square metres that the drill takes with that many players."""
        return self.grids(players) * self.grid_width * self.grid_length

    def kit_for(self, players: int) -> dict[str, int]:
        """Pieces of each kind of kit with that many players."""
        return pieces(self.kit, players)


class DrillText(models.Model):
    """The texts of a drill as a search compares them. Apart from its row, since a narrow table is read in a third
    of the time."""

    drill = models.OneToOneField(Drill, on_delete=models.CASCADE, primary_key=True, related_name="text")
    folded = models.TextField()

    def __str__(self) -> str:
        return self.folded

    @classmethod
    def of(cls, drill: Drill) -> DrillText:
        return cls(drill=drill, folded=joined(drill.texts()))


class DrillSkill(models.Model):
    """A skill's share of a drill's minutes; the shares of a drill sum to 100 (kept by drills.actions)."""

    drill = models.ForeignKey(Drill, on_delete=models.CASCADE, related_name="skill_shares")
    skill = models.ForeignKey(Skill, on_delete=models.PROTECT, related_name="drill_shares")
    share = models.PositiveSmallIntegerField(_("per cent"))
    roles = models.JSONField(_("only for"), null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["drill", "skill"], name="drill_names_a_skill_once"),
            models.CheckConstraint(condition=Q(share__gte=1, share__lte=100), name="drill_share_1_to_100"),
        ]

    def __str__(self) -> str:
        return f"{self.drill} {self.skill.code} {self.share} %"


class KeptQuerySet(models.QuerySet):
    """Rows of a record: they are read and added to."""

    def update(self, **columns: Any) -> int:
        raise TypeError("a kept version is never changed")


class DrillVersion(models.Model):
    """A drill as one of its versions said it, for the record: written with the version, never changed.

    `entry` is the whole drill in the form of a pack, `why` what made the version if it was no plain edit.
    """

    drill = models.ForeignKey(Drill, on_delete=models.CASCADE, related_name="versions")
    version = models.PositiveIntegerField()
    made_on = models.DateField(_("version of"))
    author = models.CharField(_("author"), max_length=80, blank=True)
    why = models.CharField(max_length=80, blank=True)
    entry = models.JSONField()

    objects = KeptQuerySet.as_manager()

    class Meta:
        ordering = ["drill", "-version"]
        constraints = [
            models.UniqueConstraint(fields=["drill", "version"], name="a_version_of_a_drill_is_kept_once"),
            models.CheckConstraint(condition=Q(version__gte=1), name="versions_count_from_1"),
        ]

    def __str__(self) -> str:
        return f"{self.drill}, version {self.version}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise TypeError("a kept version is never changed")
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        raise TypeError("a kept version is never deleted")

    @property
    def title(self) -> str:
        day = date_format(self.made_on, "j M Y")
        return _("version %(n)d of %(day)s") % {"n": self.version, "day": day}


class Store(models.Model):
    """The kit that a club has: pieces of each kind. What is not counted is there in plenty."""

    club = models.OneToOneField(Club, on_delete=models.CASCADE, related_name="store")
    kit = models.JSONField(default=dict, blank=True)

    def __str__(self) -> str:
        return f"Store of {self.club}"
