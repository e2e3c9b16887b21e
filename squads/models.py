"""Who: squads, players, who is away, who is cleared for what, and the contact rules in force."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Iterable
from typing import Any

from django.db import models
from django.db.models import F, Q
from django.utils.formats import date_format
from django.utils.translation import gettext_lazy as _

from shared.core.contact import Level
from shared.core.positions import POSITION_NAMES, group_of, roles_of
from shared.models import Club, User
from squads import medical_models  # noqa: F401 - tables
from squads.core.eligibility import Away, Ceiling, Decision, MatchRules, ceiling, in_force
from squads.core.union_tables import age_on
from squads.return_models import ReturnEntry, courses_of


class ClubQuerySet(models.QuerySet):
    """Rows that hang below a club's squad."""

    def of(self, club: Club) -> ClubQuerySet:
        return self.filter(squad__club=club)


class Squad(models.Model):
    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="squads")
    name = models.CharField(_("name"), max_length=60)
    slug = models.SlugField(_("short name for addresses"))
    age_from = models.PositiveSmallIntegerField(
        _("age grade"), null=True, blank=True, help_text=_("17 for under-17s; empty for adults")
    )

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["club", "slug"], name="squad_slug_unique_in_club")]

    def __str__(self) -> str:
        return self.name

    @property
    def is_age_grade(self) -> bool:
        return self.age_from is not None


class SizeBand(models.TextChoices):
    LIGHT = "light", _("light")
    MIDDLE = "middle", _("middle")
    HEAVY = "heavy", _("heavy")


ADULT_AGE = 18

# References that this site made for players whose club gave none: "made-12".
MADE_KEY = "made-"


class PlayerQuerySet(ClubQuerySet):
    def in_squad_on(self, first: dt.date, last: dt.date | None = None) -> PlayerQuerySet:
        """Players who belong to their squad on at least one day from first to last."""
        last = last or first
        return self.filter(Q(joined__isnull=True) | Q(joined__lte=last), Q(left__isnull=True) | Q(left__gte=first))

    def with_availability(self) -> PlayerQuerySet:
        """What `Player.ceiling_on` asks, in a fixed number of queries."""
        return self.select_related("squad").prefetch_related("absences", "clearances", "return_entries")

    def next_made_number(self) -> int:
        """The number of the next reference to make; ask under a lock on the squad."""
        made = self.filter(key__startswith=MADE_KEY).values_list("key", flat=True)
        return max((int(key[len(MADE_KEY) :]) for key in made if key[len(MADE_KEY) :].isdecimal()), default=0) + 1


class Player(models.Model):
    """A member of a squad. `key` is the club's own reference: it tells two people of one name apart on import."""

    squad = models.ForeignKey(Squad, on_delete=models.CASCADE, related_name="players")
    key = models.CharField(_("reference"), max_length=40)
    given_name = models.CharField(_("first name"), max_length=60)
    family_name = models.CharField(_("family name"), max_length=60)
    born = models.DateField(_("date of birth"), null=True, blank=True)
    main_position = models.PositiveSmallIntegerField(
        _("main position"), choices=[(n, f"{n} {name}") for n, name in POSITION_NAMES.items()]
    )
    other_positions = models.JSONField(_("other positions"), default=list, blank=True)
    size_band = models.CharField(_("size band"), max_length=6, choices=SizeBand, default=SizeBand.MIDDLE)
    seasons_played = models.PositiveSmallIntegerField(_("seasons played"), default=0)
    joined = models.DateField(_("joined"), null=True, blank=True)
    left = models.DateField(_("left"), null=True, blank=True)

    objects = PlayerQuerySet.as_manager()

    class Meta:
        ordering = ["main_position", "family_name", "given_name"]
        constraints = [
            models.UniqueConstraint(fields=["squad", "key"], name="player_key_unique_in_squad"),
            models.CheckConstraint(
                condition=~Q(key="") & ~Q(given_name="") & ~Q(family_name=""), name="player_has_a_key_and_a_full_name"
            ),
            models.CheckConstraint(condition=Q(size_band__in=SizeBand.values), name="player_size_band_known"),
            models.CheckConstraint(
                condition=Q(main_position__gte=1, main_position__lte=15), name="player_main_position_1_to_15"
            ),
            models.CheckConstraint(
                condition=Q(joined__isnull=True) | Q(left__isnull=True) | Q(left__gte=F("joined")),
                name="player_leaves_after_joining",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.given_name} {self.family_name}"

    @property
    def key_is_made(self) -> bool:
        return self.key.startswith(MADE_KEY)

    @property
    def positions(self) -> list[int]:
        return [self.main_position, *self.other_positions]

    @property
    def group(self) -> str:
        return group_of(self.main_position)

    @property
    def roles(self) -> frozenset[str]:
        return roles_of(self.positions)

    def is_in_squad(self, first: dt.date, last: dt.date) -> bool:
        """On at least one day from first to last, as `in_squad_on` finds many."""
        return (self.joined is None or self.joined <= last) and (self.left is None or self.left >= first)

    @property
    def sheet_name(self) -> str:
        """The name as it may stand on paper in the mud: minors by first name and initial."""
        if self.squad.is_age_grade:
            return f"{self.given_name} {self.family_name[:1]}."
        return str(self)

    @property
    def short_name(self) -> str:
        return f"{self.given_name[:1]}. {self.family_name}"

    def name_on_paper(self, day: dt.date) -> str:
        """As `sheet_name`, and for a minor in an adult squad too."""
        is_minor = self.born is not None and age_on(self.born, day) < ADULT_AGE
        return f"{self.given_name} {self.family_name[:1]}." if is_minor else self.sheet_name

    def has_left_by(self, day: dt.date) -> bool:
        return self.left is not None and self.left < day

    def is_in_squad_on(self, day: dt.date) -> bool:
        return (self.joined is None or self.joined <= day) and not self.has_left_by(day)

    @property
    def fingerprint(self) -> str:
        """Changes with any field, so that an editor can be told of a change made meanwhile."""
        values = [str(getattr(self, field.attname)) for field in self._meta.concrete_fields]
        return hashlib.sha256("\n".join(values).encode()).hexdigest()[:16]

    def ceiling_on(
        self, day: dt.date, *, matches: Iterable[dt.date] = (), rules: ContactRules | None = None
    ) -> Ceiling:
        """The most that the player may take part in on a day. Without matches: apart from the distance to one."""
        return ceiling(
            day,
            joined=self.joined,
            left=self.left,
            absences=[absence.as_away() for absence in self.absences.all()],
            decisions=[clearance.as_decision() for clearance in self.clearances.all()],
            courses=courses_of(self.return_entries.all()),
            matches=matches,
            rules=rules and rules.match_rules,
        )

    def clearance_on(self, day: dt.date) -> Clearance | None:
        """The decision in force on a day, if there is any."""
        clearances = list(self.clearances.all())
        decisions = [clearance.as_decision() for clearance in clearances]
        found = in_force(day, decisions)
        return None if found is None else clearances[[decision is found for decision in decisions].index(True)]


class ByPlayerQuerySet(models.QuerySet):
    def of(self, club: Club) -> ByPlayerQuerySet:
        return self.filter(player__squad__club=club)


class Absence(models.Model):
    """A player is away on these days. Why is nobody's business here."""

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="absences")
    first_day = models.DateField(_("from"))
    last_day = models.DateField(_("to"))
    said_by = models.CharField(_("told by"), max_length=80, blank=True)
    entered_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    entered_at = models.DateTimeField(auto_now_add=True)

    objects = ByPlayerQuerySet.as_manager()

    class Meta:
        ordering = ["first_day"]
        constraints = [
            models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="absence_ends_after_it_starts")
        ]

    def __str__(self) -> str:
        return f"{self.player} {self.first_day}–{self.last_day}"

    def as_away(self) -> Away:
        return Away(self.first_day, self.last_day)


class ClearanceLevel(models.TextChoices):
    """What a person decided that a player may take part in."""

    OUT = "absent", _("out: no training")
    NON_CONTACT = "none", _("non-contact only")
    CONTROLLED = "controlled", _("up to controlled contact")
    FULL = "full", _("all work")


class ClearanceQuerySet(ByPlayerQuerySet):
    def update(self, **values: Any) -> int:
        raise TypeError("a clearance is never changed: record a new decision")


class Clearance(models.Model):
    """A decision by a named person on a date. A later decision replaces it; none is ever changed.

    There is no column for a reason: that stands in the notes of the medical roles, or nowhere.
    """

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="clearances")
    level = models.CharField(_("may do"), max_length=10, choices=ClearanceLevel)
    from_day = models.DateField(_("from"))
    decided_by = models.CharField(_("decided by"), max_length=80, help_text=_("name of the person who decided"))
    decided_as = models.CharField(_("as"), max_length=60, help_text=_("for example: club physiotherapist"))
    decided_on = models.DateField(_("decided on"))
    review_on = models.DateField(_("next review"), null=True, blank=True)
    review_by = models.CharField(_("next review by"), max_length=80, blank=True)
    allowed_work = models.CharField(
        _("allowed work in plain words"),
        max_length=160,
        blank=True,
        help_text=_("for example: run, catch alone"),
    )
    not_allowed_work = models.CharField(_("not allowed, in plain words"), max_length=160, blank=True)
    letter_received = models.BooleanField(_("a letter has come"), default=False)
    # The return that took the player off, where one did: who has none of these has no return to look up.
    case = models.ForeignKey(ReturnEntry, null=True, on_delete=models.SET_NULL, related_name="+")
    entered_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    entered_at = models.DateTimeField(auto_now_add=True)

    objects = ClearanceQuerySet.as_manager()

    class Meta:
        ordering = ["entered_at", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(level__in=ClearanceLevel.values), name="clearance_level_known"),
            models.CheckConstraint(
                condition=~Q(decided_by="") & ~Q(decided_as=""), name="clearance_names_who_decided_and_as_what"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.player}: {self.get_level_display()} from {self.from_day}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise TypeError("a clearance is never changed: record a new decision")
        super().save(*args, **kwargs)

    def review_is_due(self, day: dt.date) -> bool:
        return self.review_on is not None and self.review_on <= day

    def as_decision(self) -> Decision:
        return Decision(self.from_day, Level(self.level), self.decided_on, self.decided_by)


class ContactRulesQuerySet(models.QuerySet):
    def of(self, club: Club) -> ContactRulesQuerySet:
        return self.filter(club=club)

    def in_force(self, squad: Squad, day: dt.date) -> ContactRules | None:
        """The newest rules that are valid on the day: those for this squad before those for all."""
        return (
            self.filter(Q(squad=squad) | Q(squad__isnull=True), club=squad.club, valid_from__lte=day)
            .order_by(F("squad").asc(nulls_last=True), "-valid_from", "-pk")
            .first()
        )


OTHER_LIMITS = ("full_days", "free_days", "match_minutes", "match_hours", "two_day_minutes", "season_matches")


class ContactRules(models.Model):
    """Limits that hold from a day on, with the document they come from. An empty limit does not bind."""

    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="contact_rules")
    squad = models.ForeignKey(
        Squad, null=True, blank=True, on_delete=models.CASCADE, help_text=_("empty: every squad of the club")
    )
    name = models.CharField(_("name"), max_length=80)
    source = models.CharField(_("document they come from"), max_length=200)
    body = models.CharField(_("body that publishes them"), max_length=80, blank=True)
    age_from = models.PositiveSmallIntegerField(
        _("youngest age grade"), null=True, blank=True, help_text=_("13 for under-13s; empty: written for adults too")
    )
    age_to = models.PositiveSmallIntegerField(
        _("oldest age grade"), null=True, blank=True, help_text=_("18 for under-18s; empty: adults")
    )
    valid_from = models.DateField(_("valid from"))
    full_minutes = models.PositiveSmallIntegerField(_("full contact, minutes a week"), null=True, blank=True)
    controlled_minutes = models.PositiveSmallIntegerField(_("controlled, minutes a week"), null=True, blank=True)
    set_piece_minutes = models.PositiveSmallIntegerField(_("live set piece, minutes a week"), null=True, blank=True)
    full_days = models.PositiveSmallIntegerField(_("days a week with full contact"), null=True, blank=True)
    free_days = models.PositiveSmallIntegerField(_("days a week without any contact, at least"), null=True, blank=True)
    match_minutes = models.PositiveSmallIntegerField(_("match minutes a week"), null=True, blank=True)
    match_hours = models.PositiveSmallIntegerField(_("hours between matches, at least"), null=True, blank=True)
    two_day_minutes = models.PositiveSmallIntegerField(_("match minutes in any 48 hours"), null=True, blank=True)
    season_matches = models.PositiveSmallIntegerField(_("matches a season"), null=True, blank=True)
    full_after_match = models.PositiveSmallIntegerField(
        _("first day after a match with full contact"),
        default=3,
        help_text=_("3: Tuesday after a Saturday match"),
    )
    full_before_match = models.PositiveSmallIntegerField(
        _("last day before a match with full contact"),
        default=3,
        help_text=_("3: Wednesday before a Saturday match"),
    )
    controlled_after_match = models.PositiveSmallIntegerField(
        _("first day after a match with controlled contact"), default=2
    )
    controlled_before_match = models.PositiveSmallIntegerField(
        _("last day before a match with controlled contact"), default=2
    )
    near_percent = models.PositiveSmallIntegerField(_("“near” starts at, per cent of a limit"), default=80)
    ladder_minutes = models.PositiveSmallIntegerField(_("minutes on a rung that earn the next"), default=15)
    ladder_days = models.PositiveSmallIntegerField(_("days that such minutes count for"), default=28)

    objects = ContactRulesQuerySet.as_manager()

    class Meta:
        ordering = ["-valid_from", "-pk"]
        verbose_name_plural = "contact rules"
        constraints = [
            models.CheckConstraint(
                condition=Q(near_percent__gte=1, near_percent__lte=100), name="rules_near_is_a_percentage"
            ),
            models.CheckConstraint(condition=~Q(source=""), name="rules_name_their_source"),
            models.CheckConstraint(
                condition=Q(controlled_after_match__lte=F("full_after_match"))
                & Q(controlled_before_match__lte=F("full_before_match")),
                name="rules_allow_controlled_contact_no_later_than_full",
            ),
            models.CheckConstraint(
                condition=Q(full_days__isnull=True) | Q(full_days__lte=7), name="rules_week_has_7_days"
            ),
            models.CheckConstraint(
                condition=Q(free_days__isnull=True) | Q(free_days__lte=7), name="rules_week_has_7_free_days"
            ),
            models.CheckConstraint(
                condition=Q(age_from__isnull=True) | Q(age_to__isnull=True) | Q(age_to__gte=F("age_from")),
                name="rules_age_band_in_order",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name}, from {date_format(self.valid_from, 'j M Y')}"

    @property
    def match_rules(self) -> MatchRules:
        return MatchRules(
            full_after=self.full_after_match,
            full_before=self.full_before_match,
            controlled_after=self.controlled_after_match,
            controlled_before=self.controlled_before_match,
        )

    @property
    def weekly(self) -> dict[str, int]:
        """Minutes a week by kind, of the limits that bind."""
        limits: dict[str, Any] = {
            "controlled": self.controlled_minutes,
            "set_piece": self.set_piece_minutes,
            "full": self.full_minutes,
        }
        return {kind: minutes for kind, minutes in limits.items() if minutes is not None}

    @property
    def other_limits(self) -> dict[str, int]:
        """What binds beside the minutes of contact, by the name of the field."""
        found = {name: getattr(self, name) for name in OTHER_LIMITS}
        return {name: most for name, most in found.items() if most is not None}

    @property
    def told_source(self) -> str:
        return f"{self.name}: {self.source}, from {self.valid_from.isoformat()}"

    @property
    def age_band(self) -> str:
        """As people say it; nothing where no band is named."""
        if self.age_from is None and self.age_to is None:
            return ""
        if self.age_to is None:
            return str(_("under-%(age)d and older") % {"age": self.age_from})
        words = _("up to under-%(to)d") if self.age_from is None else _("under-%(from)d to under-%(to)d")
        return str(words % {"from": self.age_from, "to": self.age_to})

    def fits(self, squad: Squad) -> bool:
        """Written for the age grade of the squad; an empty end of the band is open."""
        if squad.age_from is None:
            return self.age_to is None
        return (self.age_from or 0) <= squad.age_from <= (self.age_to or squad.age_from)
