"""What people decide about a player's return: decisions, and the entries from which the earliest days are reckoned.

Rows are only ever added. The words in the audit chain are read by coaches too, so they tell of days and of who
decided, and never of symptoms, of a reason or of the table.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

from django.db import transaction
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from shared import audit
from shared.clock import today_at
from shared.core.contact import Level
from shared.models import User
from squads.actions import Refused
from squads.core.graduated import Course, rule_of, step_of, waits
from squads.core.union_tables import Step, table_for
from squads.models import Clearance, ClearanceLevel, Player
from squads.return_models import EntryKind, ReturnEntry, StepChoice
from squads.wording import usual_words

LONGEST_AGO = dt.timedelta(days=3 * 366)


@transaction.atomic
def record_clearance(*, player: Player, by: User, medical: bool = False, **decision: Any) -> Clearance:
    """Write down what a named person decided. The site itself decides nothing and proposes nothing.

    `decision` holds level, from_day, decided_by, decided_as, decided_on, and perhaps the other fields of a clearance.
    What lies above the days of a return that is under way is refused, unless it comes from a `medical` role: then the
    decision is an entry in that return too.
    """
    lock(player)
    if decision["decided_on"] > today_at(player.squad.club):
        raise Refused(_("A decision cannot be dated after today. Mend the day it was decided on."))
    for case in running_cases(player):
        check_letter(case, decision, medical)
        if is_above(case.as_course, decision, today_at(player.squad.club)):
            enter_above(case, decision, by, medical)
    return written(player, by, **decision)


def written(player: Player, by: User, **decision: Any) -> Clearance:
    clearance = Clearance.objects.create(player=player, entered_by=by, **decision)
    audit.record(
        player.squad.club,
        "recorded clearance",
        player,
        by=by,
        level=clearance.level,
        from_day=clearance.from_day.isoformat(),
        decided_by=clearance.decided_by,
        decided_as=clearance.decided_as,
        decided_on=clearance.decided_on.isoformat(),
    )
    return clearance


def lock(player: Player) -> None:
    """Those who write about one player stand in line, so that nobody decides by days that have just moved."""
    Player.objects.select_for_update().get(pk=player.pk)


def running_cases(player: Player) -> list[ReturnEntry]:
    """The returns that are not closed, the newest last."""
    cases = ReturnEntry.objects.cases().filter(player=player).prefetch_related("entries")
    return [case for case in cases if case.as_course.closed is None]


def check_letter(case: ReturnEntry, decision: dict[str, Any], medical: bool) -> None:
    """Before the step for which the rule wants a medical clearance its letter has come, or a medical role decides."""
    step, wanted = step_of(Level(decision["level"])), rule_of(case.as_course.table).medical_before
    if step is None or wanted is None or step.place < wanted.place or medical or decision.get("letter_received"):
        return
    raise Refused(
        _(
            "Before this a medical clearance is wanted. Say that its letter has come, or let somebody of a medical "
            "role enter the decision."
        )
    )


def is_above(course: Course, decision: dict[str, Any], today: dt.date) -> bool:
    """On its first day, or today if that lies behind, the dates allow less than the decision."""
    begins, level = decision["from_day"], Level(decision["level"])
    return any(course.most_on(day).height < level.height for day in (begins, max(begins, today)))


def enter_above(case: ReturnEntry, decision: dict[str, Any], by: User, medical: bool) -> None:
    step = step_of(Level(decision["level"]))
    if not medical:
        raise Refused(too_soon(step, case.as_course.dates[step].day))
    told = {name: decision[name] for name in ("from_day", "decided_by", "decided_as")}
    allow(case=case, step=step, decided_on=decision["decided_on"], by=by, **told)


def too_soon(step: Step, day: dt.date | None) -> str:
    when = _("not before %(day)s") % {"day": date_format(day, "j F Y")} if day else _("no day yet")
    return _(
        "The return that is under way does not allow this then. %(step)s: %(when)s. Only an entry by somebody of a "
        "medical role can name an earlier day."
    ) % {"step": StepChoice(step).label.capitalize(), "when": when}


@transaction.atomic
def start_return(
    *, player: Player, union: str, day: dt.date, decided_by: str, decided_as: str, by: User
) -> ReturnEntry:
    """Off at once: a return begins on the day of the injury, by the union's table for the age on that day.

    A suspicion is entered like a certainty. KeyError for a union without a table.
    """
    lock(player)
    today = today_at(player.squad.club)
    refuse_future(day, today)
    if today - day > LONGEST_AGO:
        raise Refused(_("This is over three years ago. Check the year."))
    if ReturnEntry.objects.cases().filter(player=player, day=day).exists():
        raise Refused(_("A return that begins on this day is there already. Enter what is new there."))
    case = ReturnEntry.objects.create(
        player=player,
        kind=EntryKind.STARTED,
        day=day,
        table=table_for(union, player.born, day).key,
        decided_by=decided_by,
        decided_as=decided_as,
        entered_by=by,
    )
    tell(case, "started a return to training", by)
    take_off(case, day, decided_by, decided_as, by)
    return case


def take_off(case: ReturnEntry, day: dt.date, decided_by: str, decided_as: str, by: User) -> None:
    allowed, not_allowed = usual_words(ClearanceLevel.OUT)
    written(
        case.player,
        by,
        level=ClearanceLevel.OUT,
        from_day=day,
        decided_by=decided_by,
        decided_as=decided_as,
        decided_on=today_at(case.player.squad.club),
        case=case,
        allowed_work=allowed,
        not_allowed_work=not_allowed,
    )


def tell(case: ReturnEntry, did: str, by: User, **detail: Any) -> None:
    audit.record(case.player.squad.club, did, case.player, by=by, case=case.pk, **detail)


def refuse_future(day: dt.date, today: dt.date) -> None:
    if day > today:
        raise Refused(_("This day is still to come. Check the date."))


def fresh(case: ReturnEntry, day: dt.date) -> ReturnEntry:
    """The case as it is under the lock; refused if it is closed, or if the day lies outside it."""
    lock(case.player)
    case = ReturnEntry.objects.cases().select_related("player__squad__club").prefetch_related("entries").get(pk=case.pk)
    if case.as_course.closed is not None:
        raise Refused(_("This return is closed. Start a new one."))
    refuse_future(day, today_at(case.player.squad.club))
    if day < case.day:
        raise Refused(_("This lies before the day on which the return began. Check the date."))
    return case


@transaction.atomic
def tell_symptom_free(*, case: ReturnEntry, day: dt.date, by: User) -> None:
    """`day` is the first one without symptoms at rest. An earlier one than is entered needs a medical entry."""
    case = fresh(case, day)
    told = [entry for entry in case.entries.all() if entry.kind in {EntryKind.FREE, EntryKind.SYMPTOMS}]
    if told and told[-1].kind == EntryKind.FREE and day <= told[-1].day:
        raise Refused(_("A day as late as this is entered already. Only a medical entry can name an earlier one."))
    if any(entry.kind == EntryKind.SYMPTOMS and day <= entry.day for entry in told):
        raise Refused(_("Symptoms are entered for this day or a later one. Enter the first day after them."))
    case.entries.create(player=case.player, kind=EntryKind.FREE, day=day, entered_by=by)
    tell(case, "noted a day of a return to training", by)


@transaction.atomic
def tell_symptoms(*, case: ReturnEntry, day: dt.date, decided_by: str, decided_as: str, by: User) -> None:
    """Symptoms again: off at once, and every day moves until their end is entered."""
    case = fresh(case, day)
    case.entries.create(player=case.player, kind=EntryKind.SYMPTOMS, day=day, entered_by=by)
    tell(case, "noted a day of a return to training", by)
    take_off(case, day, decided_by, decided_as, by)


@transaction.atomic
def allow(
    *,
    case: ReturnEntry,
    step: Step,
    from_day: dt.date,
    decided_by: str,
    decided_as: str,
    decided_on: dt.date,
    by: User,
) -> None:
    """A medical entry: a named person moves a day, sooner or later. Only for somebody of a medical role."""
    case = fresh(case, decided_on)
    course, step = case.as_course, Step(step)
    if from_day < case.day:
        raise Refused(_("This lies before the day on which the return began. Check the date."))
    if waits(rule_of(course.table), step) and not course.is_free:
        raise Refused(_("Enter first from which day on there are no symptoms at rest."))
    case.entries.create(
        player=case.player,
        kind=EntryKind.ALLOWED,
        day=decided_on,
        step=step.value,
        from_day=from_day,
        decided_by=decided_by,
        decided_as=decided_as,
        entered_by=by,
    )
    tell(case, "moved a day of a return", by, from_day=from_day.isoformat(), decided_by=decided_by)


@transaction.atomic
def close_return(*, case: ReturnEntry, decided_by: str, decided_as: str, by: User, medical: bool = False) -> None:
    """From today on the return limits nothing more; what the last decision says still holds."""
    today = today_at(case.player.squad.club)
    case = fresh(case, today)
    if today < case.as_course.dates[Step.MATCH].order and not medical:
        raise Refused(
            _("The day from which a match may be allowed has not come. Only somebody of a medical role can close this.")
        )
    case.entries.create(
        player=case.player,
        kind=EntryKind.CLOSED,
        day=today,
        decided_by=decided_by,
        decided_as=decided_as,
        entered_by=by,
    )
    tell(case, "closed a return to training", by, decided_by=decided_by)
