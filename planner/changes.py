"""How a programme changes: one block at a time, judged before it is written, and kept so that it can be undone."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

from django.db.models import F, QuerySet
from django.utils.translation import gettext as _

from planner.build import BuiltProblem, problem_of
from planner.models import Block, PlanChange, Session, Slot
from planner.programme import Programme, write
from planner.record_models import Account, Confirmation
from planner.verdicts import Verdict, judge
from shared import audit
from shared.clock import clock_at
from shared.models import User

Change = Callable[[BuiltProblem], Programme]


class Refused(Exception):
    """Nothing was written; `reasons` are sentences for the person who asked."""

    def __init__(self, *reasons: str) -> None:
        super().__init__(" ".join(reasons))
        self.reasons = reasons


def hold(block: Block | None) -> Block:
    """The block with its row locked until the transaction ends: changes of one block come one after the other."""
    if block is None:
        raise Refused(_("This night is in no block. Make a block that holds its date, then plan it."))
    return Block.objects.select_for_update(of=("self",)).select_related("squad__club").get(pk=block.pk)


def edit(slot: Slot, change: Change, what: str, *, by: User, version: int, today: dt.date | None) -> Verdict:
    """Judge a change of one session, and write it unless it breaks a hard rule that was kept before.

    `version` is the plan_version of the session that the person saw. Raises Refused when the session is
    past, stands in no block, or has been changed since. Call it in a transaction.
    """
    session = Session.objects.select_related("squad").get(pk=slot.session_id)
    block = hold(Block.objects.holding(session))
    clock = clock_at(block.squad.club, today)
    session.refresh_from_db(fields=["plan_version", "day", "cancelled"])
    refuse_unfit(session, version, clock["today"])
    built = problem_of(block, **clock, as_it_stands=True)
    refuse_told(Account.objects.filter(slot=slot))
    if slot.pk in built.begun:
        raise Refused(
            _("%(slot)s has begun, or groups swap in it: it stays. What really runs belongs in the record.")
            % {"slot": slot}
        )
    wanted = change(built)
    verdict = judge(built, wanted)
    if not verdict.is_refused:
        keep(block, built.programme, wanted, f"{slot}: {what}", by)
    return verdict


def refuse_unfit(session: Session, version: int, today: dt.date) -> None:
    refuse_confirmed(session)
    if session.day < today:
        raise Refused(_("%(session)s is past and stays as it was.") % {"session": session})
    if session.cancelled:
        raise Refused(_("%(session)s is cancelled: put it back into the calendar first.") % {"session": session})
    if session.plan_version != version:
        raise Refused(
            _("Somebody has changed this night since you opened it. Nothing was written: look at it, then try again.")
        )


def refuse_confirmed(session: Session) -> None:
    closed = Confirmation.objects.filter(session=session).order_by("number").first()
    if closed is not None:
        raise Refused(
            _("%(session)s is confirmed by %(name)s and stays as it was: correct a line of its record instead.")
            % {"session": session, "name": closed.by_name}
        )


def refuse_told(told: QuerySet[Account]) -> None:
    """Of what somebody has recorded the plan stays, so that both can be read side by side."""
    first = told.select_related("session__squad").order_by("pk").first()
    if first is not None:
        raise Refused(
            _("%(name)s has told in the record what ran on %(session)s: the plan beside it stays. Mend the record.")
            % {"session": first.session, "name": first.by_name}
        )


def keep(
    block: Block, before: Programme, after: Programme, what: str, by: User, *, whole: bool = False
) -> PlanChange | None:
    """Write the difference and what stood before; None if there is no difference. `whole`: a plan of the block."""
    touched = before.sessions_unlike(after)
    if not touched:
        return None
    before, after = before.of_sessions(touched), after.of_sessions(touched)
    put_in_place(before, after)
    audit.record(block.squad.club, "changed programme", block, by=by, what=what)
    return PlanChange.objects.create(
        block=block,
        made_by=by,
        what=what[: PlanChange._meta.get_field("what").max_length],
        before={"sessions": sorted(touched), "stations": before.to_json()},
        after={"sessions": sorted(touched), "stations": after.to_json()},
        asks_first=whole or len(touched) > 1,
    )


def put_in_place(before: Programme, after: Programme) -> None:
    """Write the rows, and let everyone who has an older page open find out."""
    touched = before.sessions_unlike(after)
    write(before, after)
    Session.objects.filter(pk__in=touched).update(plan_version=F("plan_version") + 1)
