"""Who belongs to a club, and as what: given and taken by somebody else, by name, and kept in the audit chain."""

from __future__ import annotations

from django.db import transaction
from django.utils.translation import gettext as _

from shared import audit
from shared.models import AuditEvent, Club, Membership, User
from shared.roles import ROLES, Permission

GAVE, CHANGED, TOOK = "gave role", "changed role", "took role"


class Refused(Exception):
    """Nothing was written; the message says why and what to do."""


@transaction.atomic
def give_role(*, club: Club, user: User, role: str, by: User, why: str) -> Membership:
    """Make somebody a member, or give a member another role in place of his own. `why` says as what, or who asked.

    Raises Refused for one's own role, and where `by` may not (or no longer) say who belongs to the club.
    """
    refuse_own(hold(club, by), user, by)
    found = Membership.objects.filter(club=club, user=user).first()
    was = found.role if found else ""
    if was == role:
        raise Refused(_("%(who)s has this role already.") % {"who": user})
    made, _new = Membership.objects.update_or_create(club=club, user=user, defaults={"role": role})
    if not made.may(Permission.MANAGE_CLUB):
        end_invitations(club, user)
    audit.record(club, CHANGED if was else GAVE, user, by=by, was=was, now=role, why=why)
    return made


@transaction.atomic
def take_role(*, membership: Membership, by: User, why: str) -> None:
    """From now on he sees nothing of the club; his own calendar feed ends with it. Raises Refused as above."""
    club, user = membership.club, membership.user
    refuse_own(hold(club, by), user, by)
    standing = Membership.objects.filter(pk=membership.pk).first()
    if standing is None:
        raise Refused(_("%(who)s is no member any more.") % {"who": user})
    audit.record(club, TOOK, user, by=by, was=standing.role, now="", why=why)
    standing.delete()
    end_invitations(club, user)


def end_invitations(club: Club, user: User) -> None:
    """Whoever may no longer give roles has none waiting to be taken up either."""
    club.invitations.filter(made_by=user).delete()


def hold(club: Club, by: User) -> Membership:
    """The membership of who acts, as it stands now that the club is locked: of two who take each other's role the
    second finds his own gone, so that somebody is left who may give one."""
    Club.objects.select_for_update().get(pk=club.pk)
    own = Membership.objects.filter(club=club, user=by).first()
    if own is None or not own.may(Permission.MANAGE_CLUB):
        raise Refused(_("Your role does not include saying who belongs to the club (any more)."))
    return own


def refuse_own(own: Membership, user: User, by: User) -> None:
    if user.pk == by.pk:
        raise Refused(
            _("Nobody gives or takes his own role (yours is %(role)s): ask another head coach of the club.")
            % {"role": own.role_object.name}
        )


def role_changes(club: Club, most: int) -> list[AuditEvent]:
    """Who gave which role to whom, and when; the newest first."""
    told = AuditEvent.objects.filter(club=club.slug, did__in=[GAVE, CHANGED, TOOK])
    return list(told.order_by("-number")[:most])


def role_name(key: str) -> str:
    return str(ROLES[key].name) if key in ROLES else ""
