"""What people may do: one enum of permissions, and roles that describe themselves."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _


class Permission(StrEnum):
    """One entry for each thing that somebody may be kept from."""

    SEE_CLUB = "see_club"
    MANAGE_CLUB = "manage_club"
    SEE_SQUAD = "see_squad"
    EDIT_SQUAD = "edit_squad"
    EDIT_AVAILABILITY = "edit_availability"
    ENTER_RPE = "enter_rpe"
    SEE_CLEARANCE = "see_clearance"
    EDIT_CLEARANCE = "edit_clearance"
    SEE_MEDICAL = "see_medical"
    ASK_FOR_MEDICAL = "ask_for_medical"
    EDIT_CONTACT_RULES = "edit_contact_rules"
    SEE_CALENDAR = "see_calendar"
    EDIT_CALENDAR = "edit_calendar"
    SEE_DRILLS = "see_drills"
    EDIT_DRILLS = "edit_drills"
    SEE_PLAN = "see_plan"
    EDIT_PLAN = "edit_plan"
    PRINT_SHEETS = "print_sheets"
    RECORD_NIGHT = "record_night"
    CORRECT_RECORD = "correct_record"
    DECLARE = "declare"
    SEE_TOTALS = "see_totals"
    ASK_EXCESS = "ask_excess"
    DECIDE_EXCESS = "decide_excess"
    LOOK_AFTER_PLAYERS = "look_after_players"
    SEE_AUDIT = "see_audit"


@dataclass(frozen=True, slots=True)
class Role:
    key: str
    name: Promise
    does: Promise
    permissions: frozenset[Permission]

    def may(self, permission: Permission) -> bool:
        return permission in self.permissions


P = Permission
_EVERYONE = {
    P.SEE_CLUB,
    P.SEE_SQUAD,
    P.SEE_CLEARANCE,
    P.SEE_CALENDAR,
    P.SEE_DRILLS,
    P.SEE_PLAN,
    P.PRINT_SHEETS,
}

HEAD_COACH = Role(
    "head_coach",
    _("Head coach"),
    _(
        "plans the blocks, runs the planner, edits squad, calendar and drills, records nights and corrects the record, "
        "sees contact totals"
    ),
    frozenset(
        _EVERYONE
        | {P.EDIT_SQUAD, P.EDIT_AVAILABILITY, P.ENTER_RPE, P.EDIT_CALENDAR, P.EDIT_DRILLS, P.EDIT_PLAN, P.SEE_TOTALS}
        | {P.MANAGE_CLUB, P.SEE_AUDIT, P.ASK_EXCESS}
        | {P.RECORD_NIGHT, P.CORRECT_RECORD, P.DECLARE}
    ),
)
ASSISTANT = Role(
    "assistant",
    _("Assistant coach"),
    _("sees tonight and prints it, reads the drill cards, marks who is away, records what ran, enters how hard it was"),
    frozenset(_EVERYONE | {P.EDIT_AVAILABILITY, P.RECORD_NIGHT, P.ENTER_RPE}),
)
WELFARE_OFFICER = Role(
    "welfare_officer",
    _("Welfare officer"),
    _(
        "sees contact totals and who decided what, records clearances, chooses the contact rules, decides who may go "
        "beyond them, enters what players did elsewhere; cannot change a plan"
    ),
    frozenset(
        _EVERYONE
        | {P.SEE_TOTALS, P.EDIT_CLEARANCE, P.ASK_FOR_MEDICAL, P.EDIT_CONTACT_RULES, P.SEE_AUDIT}
        | {P.DECIDE_EXCESS, P.LOOK_AFTER_PLAYERS, P.DECLARE}
    ),
)
MEDICAL = Role(
    "medical",
    _("Medical"),
    _("first aider, physio or doctor: records clearances, moves dates of a return, reads and writes medical notes"),
    frozenset(_EVERYONE | {P.SEE_TOTALS, P.EDIT_CLEARANCE, P.SEE_MEDICAL}),
)

ROLES: dict[str, Role] = {role.key: role for role in (HEAD_COACH, ASSISTANT, WELFARE_OFFICER, MEDICAL)}
