"""Where it takes place: the club's venues, each with a clock of its own, and what stands at one."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple
from zoneinfo import ZoneInfo

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower
from django.utils.translation import gettext_lazy as _

from shared.clock import WallTime
from shared.models import Club, known_zone

MOST_NORTH, MOST_EAST = 90, 180  # degrees


class VenueQuerySet(models.QuerySet):
    def of(self, club: Club) -> VenueQuerySet:
        return self.filter(club=club)

    def on_offer(self) -> VenueQuerySet:
        return self.filter(retired_on=None)


class Venue(models.Model):
    """A ground that the club uses. Its position is known or not; degrees, north and east are positive."""

    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="venues")
    name = models.CharField(_("name"), max_length=80)
    directions = models.TextField(_("address, or how to get there"), max_length=500, blank=True)
    zone = models.CharField(_("time zone"), max_length=64, validators=[known_zone])
    latitude = models.FloatField(
        _("latitude"),
        null=True,
        blank=True,
        validators=[MinValueValidator(-MOST_NORTH), MaxValueValidator(MOST_NORTH)],
    )
    longitude = models.FloatField(
        _("longitude"),
        null=True,
        blank=True,
        validators=[MinValueValidator(-MOST_EAST), MaxValueValidator(MOST_EAST)],
    )
    floodlit = models.BooleanField(_("has floodlights"), default=False)
    retired_on = models.DateField(null=True, blank=True, editable=False)

    objects = VenueQuerySet.as_manager()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint("club", Lower("name"), name="venue_name_unique_in_club"),
            models.CheckConstraint(
                condition=Q(latitude__isnull=True) | Q(latitude__range=(-MOST_NORTH, MOST_NORTH)),
                name="venue_latitude_on_the_globe",
            ),
            models.CheckConstraint(
                condition=Q(longitude__isnull=True) | Q(longitude__range=(-MOST_EAST, MOST_EAST)),
                name="venue_longitude_on_the_globe",
            ),
            models.CheckConstraint(
                condition=Q(latitude__isnull=True, longitude__isnull=True)
                | Q(latitude__isnull=False, longitude__isnull=False),
                name="venue_position_whole_or_none",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def tzinfo(self) -> ZoneInfo:
        return ZoneInfo(self.zone)

    @property
    def has_position(self) -> bool:
        return self.latitude is not None


class Where(NamedTuple):
    """A venue of the club and words for a place, as one value: whoever changes the one changes the other."""

    venue: Venue | None = None
    words: str = ""

    def __str__(self) -> str:
        return str(self.venue or self.words)

    def __bool__(self) -> bool:
        return bool(self.venue or self.words)

    def zone_or(self, home: ZoneInfo) -> ZoneInfo:
        """The clock on the wall: the venue's, else that at home."""
        return self.venue.tzinfo if self.venue else home


NOWHERE = Where()


class AtAVenueManager(models.Manager):
    """The venue comes with every row: it holds the clock by which the row's times are read."""

    def get_queryset(self) -> models.QuerySet:
        return super().get_queryset().select_related("venue")


class AtAVenue(models.Model):
    """Something that takes place at a venue of the club, or at a place of which only words are known."""

    # RESTRICT and not PROTECT, so that a club can go with all that it holds.
    venue = models.ForeignKey(
        Venue,
        verbose_name=_("venue"),
        null=True,
        blank=True,
        on_delete=models.RESTRICT,
        related_name="%(class)ss",
    )

    objects = AtAVenueManager()

    class Meta:
        abstract = True

    @property
    def where(self) -> Where:
        return Where(self.venue, self.venue_words)

    @where.setter
    def where(self, where: Where) -> None:
        self.venue, self.venue_words = where

    @property
    def zone(self) -> ZoneInfo:
        """The clock on the wall: the venue's, else the club's."""
        return self.where.zone_or(self.home_zone)

    @property
    def home_zone(self) -> ZoneInfo:
        return self.squad.club.tzinfo

    def on_the_wall(self, moment: dt.datetime) -> WallTime:
        """The moment by that clock."""
        return WallTime.of(moment, self.zone)


class Ground(AtAVenue):
    """Where a night or session is, and what and who is there: what a session takes over from its night."""

    venue_words = models.CharField(_("or elsewhere, in words"), max_length=80, blank=True)
    pitch = models.CharField(_("pitch"), max_length=80, blank=True)
    width = models.PositiveSmallIntegerField(_("width, m"), default=68)
    length = models.PositiveSmallIntegerField(_("length, m"), default=50)
    coaches = models.PositiveSmallIntegerField(_("coaches"), default=2)
    stations = models.PositiveSmallIntegerField(_("stations at once"), default=3)
    lights_until = models.TimeField(_("lights off at"), null=True, blank=True)
    kit = models.JSONField(_("kit at hand"), default=dict, blank=True)

    class Meta:
        abstract = True
        constraints = [
            models.CheckConstraint(condition=Q(venue=None) | Q(venue_words=""), name="%(class)s_at_a_venue_or_in_words")
        ]

    @property
    def area(self) -> int:
        """Square metres."""
        return self.width * self.length

    @property
    def is_lit(self) -> bool:
        """Floodlights are known: somebody said when they go off, or that the venue has some."""
        return self.lights_until is not None or bool(self.venue and self.venue.floodlit)
