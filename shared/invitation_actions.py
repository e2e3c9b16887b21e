"""How somebody without an account becomes a member: a secret address, given to him, that he takes up once."""

from __future__ import annotations

import datetime as dt

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from shared import audit, tokens
from shared.member_actions import GAVE, Refused, hold
from shared.models import Club, Invitation, Membership, User

INVITED, TOOK_BACK = "invited", "took invitation back"
OPEN_FOR = dt.timedelta(days=14)  # ours; no source
KEEPER = "make_club"  # who acts where nobody has logged in


@transaction.atomic
def invite(*, club: Club, role: str, name: str, why: str, by: User) -> str:
    """The token of a new invitation, shown once. Raises Refused where `by` may not say who belongs to the club."""
    hold(club, by)
    return add(club, role, name, why, by)


@transaction.atomic
def make_club(*, name: str, slug: str, zone: str, head: str) -> tuple[Club, str]:
    """A club with nobody in it yet, and the token with which its first head coach takes it up.

    Raises ValidationError for a short name that is taken or wrong, and for an unknown time zone.
    """
    club = Club(name=name, slug=slug, zone=zone)
    club.full_clean()
    club.save()
    return club, add(club, "head_coach", head, _("first of the club"), None)


@transaction.atomic
def invite_head(*, slug: str, name: str) -> tuple[Club, str]:
    """A new token for a head coach of a club that is there, for the machine's keeper: the first one was lost or is too
    old, or nobody is left who may invite. What the keeper made before opens nothing from now on.

    Raises Club.DoesNotExist.
    """
    club = Club.objects.select_for_update().get(slug=slug)
    club.invitations.filter(made_by=None).delete()
    return club, add(club, "head_coach", name, _("asked of the machine's keeper"), None)


def add(club: Club, role: str, name: str, why: str, by: User | None) -> str:
    token = tokens.new_token()
    made = Invitation.objects.create(
        club=club, role=role, name=name, why=why, digest=tokens.digest_of(token), made_by=by,
        ends_at=timezone.now() + OPEN_FOR,
    )  # fmt: skip
    audit.record(club, INVITED, made, by=by or KEEPER, role=role, why=why)
    return token


@transaction.atomic
def take_back(*, invitation: Invitation, by: User) -> None:
    """Its address opens nothing from now on."""
    club = invitation.club
    hold(club, by)
    gone, _rows = Invitation.objects.filter(pk=invitation.pk).delete()
    if gone:
        audit.record(club, TOOK_BACK, invitation, by=by, role=invitation.role)


def standing(token: str) -> Invitation | None:
    """The invitation behind an address, if it can still be taken up."""
    rows = Invitation.objects.select_related("club", "made_by").filter(ends_at__gt=timezone.now())
    return tokens.find(rows, token)


@transaction.atomic
def take_up(*, invitation: Invitation, user: User) -> Membership:
    """`user`, who may be new, is a member in that role, and the address opens nothing more. The club is locked first,
    as by whoever takes the invitation back meanwhile: else each would wait for the other.

    Raises Refused, with the invitation left as it was, where somebody was quicker with it or with the log-in name, and
    where he is a member already: his role is changed by a head coach.
    """
    club = Club.objects.select_for_update().get(pk=invitation.club_id)
    gone, _rows = Invitation.objects.filter(pk=invitation.pk).delete()
    if not gone:
        raise Refused(_("This invitation has been taken up or taken back meanwhile. Ask for a new one."))
    if user.pk is None:
        save_new(user)
    elif Membership.objects.filter(club=club, user=user).exists():
        raise Refused(_("You are a member of this club already. A head coach changes roles on the page of members."))
    made = Membership.objects.create(club=club, user=user, role=invitation.role)
    by = invitation.made_by or KEEPER
    audit.record(club, GAVE, user, by=by, was="", now=made.role, why=invitation.why, invited_as=invitation.name)
    return made


def save_new(user: User) -> None:
    try:
        with transaction.atomic():
            user.save()
    except IntegrityError:
        raise Refused(_("Somebody has taken this log-in name meanwhile. Choose another one.")) from None
