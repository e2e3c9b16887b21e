"""What people do about limits: ask for an excess or note one, decide it, say what was done, sign a week.

All verbs raise Refused, with sentences for the person who asked, when nothing was written.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from django.db import transaction
from django.utils.translation import gettext as _

from planner.changes import Refused
from planner.core.totals import monday_of
from planner.core.windows import Finding
from planner.models import Session
from planner.turns import take_turn
from planner.welfare_models import ActionTaken, Did, Excess, ExcessDecision, PlaysElsewhere, WeekChecked
from planner.windows import in_hundredths
from shared import audit
from shared.clock import clock_at
from shared.models import Club, Membership, User
from shared.roles import Permission
from squads.models import Player, Squad


@dataclass(frozen=True, slots=True)
class Beyond:
    """One figure of one player that is past its limit in the week of a night."""

    player: Player
    finding: Finding

    @property
    def key(self) -> str:
        return f"{self.player.pk}:{self.finding.measure}"


@transaction.atomic
def ask_excess(
    *, session: Session, beyond: Collection[Beyond], why: str, by: User, today: dt.date | None = None
) -> list[Excess]:
    """One request for each figure, for this one session; of a night that is past it is a note of what happened."""
    refuse_member_without(session.squad.club, by, Permission.ASK_EXCESS)
    if not beyond:
        raise Refused(_("Choose whose limit it is about."))
    take_turn(session.squad)
    is_note = has_begun(session, today)
    return [add_excess(each, monday_of(session.day), session, why, by, is_note=is_note) for each in beyond]


def has_begun(session: Session, today: dt.date | None = None) -> bool:
    """From its first minute on nobody asks before it any more: whatever is said then is a note."""
    clock = clock_at(session.squad.club, today)
    return session.day < clock["today"] or (clock["now"] is not None and session.starts_at <= clock["now"])


@transaction.atomic
def note_excess(*, monday: dt.date, beyond: Sequence[Beyond], why: str, by: User) -> list[Excess]:
    """A note about a whole week, for each figure: of matches and days no single night is the cause."""
    if not beyond:
        raise Refused(_("Choose whose limit it is about."))
    refuse_member_without(beyond[0].player.squad.club, by, Permission.ASK_EXCESS)
    take_turn(beyond[0].player.squad)
    return [add_excess(each, monday, None, why, by, is_note=True) for each in beyond]


def add_excess(
    beyond: Beyond, monday: dt.date, session: Session | None, why: str, by: User, *, is_note: bool
) -> Excess:
    player, finding = beyond.player, beyond.finding
    refuse_open(player, monday, session, finding)
    made = Excess.objects.create(
        player=player, monday=monday, session=session, measure=finding.measure,
        amount=in_hundredths(finding), limit=finding.bound.amount, source=finding.bound.source[:400],
        is_note=is_note, why=why, by=by, by_name=str(by)[:150],
    )  # fmt: skip
    did = "noted excess" if is_note else "asked for excess"
    audit.record(
        player.squad.club, did, player, by=by, measure=made.measure, amount=str(made.amount),
        limit=made.limit, session=str(session or ""), week=monday.isoformat(),
    )  # fmt: skip
    return made


def refuse_open(player: Player, monday: dt.date, session: Session | None, finding: Finding) -> None:
    """Of one figure of one night one request waits at a time."""
    same = Excess.objects.filter(player=player, monday=monday, session=session, measure=finding.measure)
    if same.open().exists():
        raise Refused(
            _("%(player)s: somebody has asked for this already, and the answer is still to come.") % {"player": player}
        )


@transaction.atomic
def decide_excess(*, excess: Excess, approved: bool, why: str, by: User) -> ExcessDecision:
    """The answer of a welfare officer, once and for this one request. Never of the person who asked."""
    club = excess.player.squad.club
    refuse_member_without(club, by, Permission.DECIDE_EXCESS)
    held = Excess.objects.select_for_update(of=("self",)).get(pk=excess.pk)
    if held.by_id == by.pk:
        raise Refused(_("You asked for this yourself: another welfare officer has to answer."))
    if ExcessDecision.objects.filter(excess=held).exists():
        raise Refused(_("This was answered meanwhile. Open the page again to read the answer."))
    made = ExcessDecision.objects.create(
        excess=held, asked_by_id=held.by_id, approved=approved, why=why, by=by, by_name=str(by)[:150]
    )
    did = "approved excess" if approved else "refused excess"
    audit.record(club, did, excess.player, by=by, measure=held.measure, week=held.monday.isoformat(), reason=why)
    return made


def refuse_member_without(club: Club, by: User, permission: Permission) -> None:
    member = Membership.objects.filter(club=club, user=by).first()
    if member is None or not member.may(permission):
        raise Refused(_("Your role in this club does not include this."))


@transaction.atomic
def note_action(
    *, player: Player, monday: dt.date, did: str, by: User, words: str = "", follow_up: dt.date | None = None
) -> ActionTaken:
    refuse_member_without(player.squad.club, by, Permission.LOOK_AFTER_PLAYERS)
    monday = monday_of(monday)
    if did == Did.OTHER and not words:
        raise Refused(_("Say in a few words what was done."))
    if follow_up and follow_up < monday:
        raise Refused(_("The day to look again lies before the week itself. Mend it."))
    made = ActionTaken.objects.create(
        player=player, monday=monday, did=did, words=words, follow_up=follow_up, by=by, by_name=str(by)[:150]
    )
    audit.record(
        player.squad.club, "noted action", player, by=by, action=str(did), week=monday.isoformat(),
        follow_up=follow_up.isoformat() if follow_up else "",
    )  # fmt: skip
    return made


@transaction.atomic
def sign_week(*, squad: Squad, monday: dt.date, digest: str, seen: dict[str, object], by: User) -> WeekChecked:
    """`digest` and `seen` are those of the figures as they stand; the page compares them with what was looked at.

    Figures that are signed already are not signed a second time.
    """
    refuse_member_without(squad.club, by, Permission.LOOK_AFTER_PLAYERS)
    take_turn(squad)
    last = WeekChecked.objects.filter(squad=squad, monday=monday).last()
    if last and last.digest == digest:
        raise Refused(_("%(who)s has signed these figures already.") % {"who": last.by_name})
    made = WeekChecked.objects.create(
        squad=squad, monday=monday, digest=digest, seen=seen, by=by, by_name=str(by)[:150]
    )
    audit.record(squad.club, "checked week", squad, by=by, week=monday.isoformat(), digest=digest)
    return made


@transaction.atomic
def note_elsewhere(
    *, player: Player, from_day: dt.date, by: User, plays: bool = True, where: str = "", asked: str = ""
) -> PlaysElsewhere:
    refuse_member_without(player.squad.club, by, Permission.LOOK_AFTER_PLAYERS)
    if plays and not where:
        raise Refused(_("Say where he plays or trains besides."))
    made = PlaysElsewhere.objects.create(
        player=player, from_day=from_day, plays=plays, where=where, asked=asked, by=by, by_name=str(by)[:150]
    )
    audit.record(
        player.squad.club, "noted other team", player, by=by, plays=plays, where=where, from_day=from_day.isoformat()
    )
    return made
