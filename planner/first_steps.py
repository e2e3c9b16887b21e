"""What a new squad still needs before its first block can be planned, in the order in which it is done."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Exists, Model, OuterRef
from django.urls import reverse
from django.utils.translation import gettext as _

from drills.models import Drill
from planner.models import Block, Fixture, Season, Session
from shared.http import with_query
from shared.models import Membership
from shared.roles import HEAD_COACH
from squads.models import ContactRules, Player, Squad


@dataclass(frozen=True)
class Step:
    """One thing to do, the page that does it (none while an earlier step is missing), and whether it is done."""

    words: str
    url: str
    is_done: bool
    whose: str = ""


def first_steps(squad: Squad | None, club: str) -> list[Step]:
    """Empty once the squad has a block. One query; none for a club (`club` is its slug) without a squad."""

    def at(name: str, *words: str) -> str:
        return reverse(name, args=[club, *words])

    if squad is None:
        return [Step(_("Add the squad"), at("squad_add"), False), *(Step(words, "", False) for words in coming())]
    there = standing(squad)
    if there["a_block"]:
        return []
    players, nights, matches, drills, others, rules, block = coming()
    season = "calendar" if there["a_season"] else "new_season"
    fixtures = with_query(at("import_fixtures"), squad=squad.slug)
    return [
        Step(_("Add the squad"), "", True),
        Step(players, at("squad_import", squad.slug), there["a_player"]),
        Step(nights, at(season), there["a_night"]),
        Step(matches, fixtures, there["a_match"]),
        Step(drills, at("drills"), there["a_drill"]),
        Step(others, at("members"), there["an_other"]),
        Step(rules, at("contact_rules"), there["a_rule"], _("the welfare officer does this")),
        Step(block, at("new_block"), False),
    ]


def coming() -> tuple[str, ...]:
    return (
        _("Bring its players in"),
        _("Make the season and lay out its nights"),
        _("Bring the matches in"),
        _("Bring drills in"),
        _("Invite the others: assistants, welfare officer, medical"),
        _("Choose the contact rules"),
        _("Make the first block, then plan it"),
    )


def standing(squad: Squad) -> dict[str, bool]:
    """Of what there is one already, for the squad or for its club."""

    def one_of(model: type[Model], **of: OuterRef) -> Exists:
        return Exists(model._default_manager.filter(**(of or {"squad": OuterRef("pk")})))

    club = {"club": OuterRef("club")}
    return (
        Squad.objects.filter(pk=squad.pk)
        .values(
            a_player=one_of(Player),
            a_season=one_of(Season),
            a_night=one_of(Session),
            a_match=one_of(Fixture),
            a_block=one_of(Block),
            a_drill=one_of(Drill, **club),
            a_rule=one_of(ContactRules, **club),
            an_other=Exists(Membership.objects.filter(**club).exclude(role=HEAD_COACH.key)),
        )
        .get()
    )
