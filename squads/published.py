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
    body: str
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
    body="World Rugby",
    name=_("World guidance for the professional game, 2021"),
    source="World Rugby and International Rugby Players, Contact Load Guidelines, 23 September 2021",
    for_whom=_("Written for professional squads, and not binding; adults."),
    limits={
        "full_minutes": 15,
        "controlled_minutes": 40,
        "set_piece_minutes": 30,
        "full_days": 2,
        "free_days": 1,
        "full_after_match": 3,
        "full_before_match": 2,
        "controlled_after_match": 2,
        "controlled_before_match": 2,
    },
    also_asks=(_("A purpose, a progression and time to recover for every contact session: people judge those."),),
    unsure=(
        _("The figures are those that the press reported; the document itself was not read."),
        HOUSE_DISTANCE,
        _("A day with a match counts here as a day with contact; touch and grip leave a day without. Our own reading."),
    ),
)

ENGLAND_AGE_GRADE = PublishedRules(
    key="rfu-age-grade",
    body="Rugby Football Union",
    name=_("English guidance for under-13s to under-18s"),
    source="Rugby Football Union, Contact training, match load and recovery guidance (under-13 to under-18)",
    for_whom=_("Written for age-grade players in England; a county bulletin calls it guidance, not regulation."),
    limits={
        "full_minutes": 15,
        "controlled_minutes": 30,
        "set_piece_minutes": None,
        "full_days": None,
        "match_minutes": 120,
        "match_hours": 72,
        "season_matches": 30,
        "age_from": 13,
        "age_to": 18,
        "full_after_match": 3,
        "full_before_match": 2,
        "controlled_after_match": 2,
        "controlled_before_match": 2,
    },
    also_asks=(
        _("Whether everybody is recovered and fit for contact, who supervises and times it: a person answers those."),
        _("Minutes at club, school, academy and other sports count together: ask the others for theirs."),
    ),
    unsure=(
        _("“Maximum or high intensity” is booked here as full contact and “medium” as controlled: our own reading."),
        _("No limit of its own for live set piece was found. Ask the union how to count it."),
        _("The days kept from a match are our own: the guidance names none."),
        _("Hours between matches are counted from kick-off to kick-off, weeks from Monday to Sunday: our own reading."),
        _("The page says that players must, a county bulletin that it is no regulation: ask the union which holds."),
    ),
)

PUBLISHED: dict[str, PublishedRules] = {rules.key: rules for rules in (ELITE_2021, ENGLAND_AGE_GRADE)}
