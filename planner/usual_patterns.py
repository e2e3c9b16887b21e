"""The usual patterns to begin with: common practice of amateur clubs, for each club to change.

No body publishes such a table. Live work only from five to three days before a match and not within 48 hours after
one, controlled work not within 48 hours before one, is a house rule of this program.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext_lazy as _

from planner.pattern_models import Fits

NEAR_MATCHES = {"full_first": 5, "full_before": 3, "full_after": 2, "controlled_before": 2, "controlled_after": 1}


@dataclass(frozen=True, slots=True)
class Usual:
    """Minutes of the week, then those of touch, controlled, full, live set piece; mean RPE; days with full contact."""

    name: Any
    minutes: tuple[int, int, int, int, int]
    rpe: str
    full_days: int
    skills: str = ""
    fits: str = Fits.NONE
    near_matches: dict[str, int] | None = None

    @property
    def fields(self) -> dict[str, Any]:
        defence, touch, controlled, full, set_piece = self.minutes
        return {
            "name": str(self.name),
            "defence_minutes": defence,
            "touch_minutes": touch,
            "controlled_minutes": controlled,
            "full_minutes": full,
            "set_piece_minutes": set_piece,
            "mean_rpe": Decimal(self.rpe),
            "full_days": self.full_days,
            "fits": self.fits,
            **(NEAR_MATCHES if self.near_matches is None else self.near_matches),
        }


ONLY_MD_3 = NEAR_MATCHES | {"full_first": 3}
NO_MATCH: dict[str, int] = {"full_after": 2, "controlled_after": 1}

# Told beside each of them.
SOURCE = _("common practice and house rules; no published source")

USUAL = (
    Usual(_("In season, first week"), (60, 8, 20, 8, 15), "6", 2),
    Usual(_("In season, second week"), (60, 8, 22, 8, 15), "6", 2),
    Usual(_("In season, third week"), (55, 8, 18, 6, 12), "5.5", 2),
    Usual(_("In season, easy week"), (45, 8, 12, 3, 10), "4.5", 1),
    Usual(_("Short week"), (40, 5, 10, 3, 8), "4", 1, "K02 U01", Fits.SHORT, ONLY_MD_3),
    Usual(_("Match in midweek"), (20, 3, 0, 0, 0), "3", 0, "", Fits.MIDWEEK),
    Usual(_("No match"), (65, 10, 25, 10, 20), "6", 1, "", Fits.BYE, NO_MATCH),
    Usual(_("Before a tournament"), (30, 5, 8, 0, 5), "4", 0, "T02 K01 U01 B06", Fits.BEFORE_FESTIVAL),
    Usual(_("After a tournament"), (20, 0, 0, 0, 0), "2", 0, "B04", Fits.AFTER_FESTIVAL),
    Usual(_("Third week before a final"), (60, 5, 18, 6, 12), "6", 1, "U02 K02", Fits.THIRD_LAST),
    Usual(_("Second week before a final"), (45, 5, 12, 3, 8), "5", 1, "U02 K02", Fits.SECOND_LAST),
    Usual(_("Week of a final"), (30, 5, 5, 0, 5), "4", 0, "U02 K02", Fits.LAST),
    Usual(_("Tired squad"), (40, 10, 10, 0, 8), "4", 0),
    Usual(_("Pre-season 1"), (45, 15, 0, 0, 0), "4", 0, "I01 I02 I03 B06 U01", Fits.NONE, NO_MATCH),
    Usual(_("Pre-season 2"), (55, 15, 10, 0, 0), "5", 0, "I04 I06 U02 U03", Fits.NONE, NO_MATCH),
    Usual(_("Pre-season 3"), (60, 12, 20, 3, 5), "5.5", 1, "I05 I08 U04 U08", Fits.NONE, NO_MATCH),
    Usual(_("Pre-season 4"), (65, 10, 25, 6, 10), "6", 1, "U06 U09 I09 U10", Fits.NONE, NO_MATCH),
    Usual(_("Pre-season 5"), (65, 8, 22, 8, 15), "6", 1, "B01 B02 B03 B04 K01 K02 S01 S02 S03", Fits.NONE),
    Usual(_("Pre-season 6"), (60, 8, 20, 10, 15), "6", 2, "T01 T02 T03"),
)
