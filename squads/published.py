"""Published sets of contact limits, as a starting point for a club's own rules.

Figures and wording of the sources are dated; `unsure` says what could not be checked against the document itself.
None of them is in force until somebody of the club has read the union's current text and says from when it holds.
"""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _


@dataclass(frozen=True, slots=True)
class PublishedRules:
    """`limits` are fields of ContactRules; `also_asks` is what the document asks for and this site does not count."""

    key: str
    name: Promise
    source: str
    for_whom: Promise
    limits: dict[str, int | None]
    also_asks: tuple[Promise, ...]
    unsure: tuple[Promise, ...]


HOUSE_DISTANCE = _(
    "The document names weekdays. Here they are days from a match: full contact from the third day after and until "
    "the second day before. No contact at all on the day before and the day after a match is our own addition."
)

ELITE_2021 = PublishedRules(
    key="world-rugby-2021",
    name=_("World guidance for the professional game, 2021"),
    source="World Rugby and International Rugby Players, Contact Load Guidelines, 23 September 2021",
    for_whom=_("Written for professional squads, and not binding; adults."),
    limits={
        "full_minutes": 15,
        "controlled_minutes": 40,
        "set_piece_minutes": 30,
        "full_days": 2,
        "full_after_match": 3,
        "full_before_match": 2,
        "controlled_after_match": 2,
        "controlled_before_match": 2,
    },
    also_asks=(_("At least one day a week without contact of any kind."),),
    unsure=(_("The figures are those that the press reported; the document itself was not read."), HOUSE_DISTANCE),
)

ENGLAND_AGE_GRADE = PublishedRules(
    key="rfu-age-grade",
    name=_("English guidance for under-13s to under-18s"),
    source="Rugby Football Union, Contact training, match load and recovery guidance (under-13 to under-18)",
    for_whom=_("Written for age-grade players in England; a county bulletin calls it guidance, not regulation."),
    limits={
        "full_minutes": 15,
        "controlled_minutes": 30,
        "set_piece_minutes": None,
        "full_days": None,
        "full_after_match": 3,
        "full_before_match": 2,
        "controlled_after_match": 2,
        "controlled_before_match": 2,
    },
    also_asks=(
        _("At most 30 matches a season, 72 hours between matches, and 120 match minutes a week."),
        _("Minutes at club, school, academy and other sports count together: ask the others for theirs."),
    ),
    unsure=(
        _("“Maximum or high intensity” is booked here as full contact and “medium” as controlled: our own reading."),
        _("No limit of its own for live set piece was found. Ask the union how to count it."),
        _("The days kept from a match are our own: the guidance names none."),
    ),
)

PUBLISHED: dict[str, PublishedRules] = {rules.key: rules for rules in (ELITE_2021, ENGLAND_AGE_GRADE)}
