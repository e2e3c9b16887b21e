"""The one check that stands in front of every page.

A view of a club says `@needs(Permission.X)`; the few others say `@for_members` or `@for_anyone`.
`guarded` builds the url lists and refuses, when the site starts, a view that says none of these.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import wraps
from typing import Any

from django.contrib.auth.decorators import login_required
from django.core.exceptions import ImproperlyConfigured, PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import URLPattern
from django.utils import timezone
from django.utils.translation import gettext as _

from shared.models import Membership
from shared.roles import Permission

View = Callable[..., HttpResponse]


def needs(permission: Permission) -> Callable[[View], View]:
    """Let members of the club in the URL through who hold the permission; others get 404, members without it 403.

    The view receives the club in place of the URL's `club` word, and `request.membership`.
    """

    def guard(view: View) -> View:
        @login_required
        @wraps(view)
        def guarded_view(request: HttpRequest, club: str, **kwargs: Any) -> HttpResponse:
            request.membership = membership_of(request, club)
            if not request.membership.may(permission):
                raise PermissionDenied(refusal(request.membership))
            # Every time on a club's page is the time at the club.
            with timezone.override(request.membership.club.tzinfo):
                return view(request, club=request.membership.club, **kwargs)

        guarded_view.guard = permission
        return guarded_view

    return guard


def membership_of(request: HttpRequest, slug: str) -> Membership:
    """The user's membership in a club. Another club looks exactly like one that does not exist."""
    try:
        return Membership.objects.select_related("club", "user").get(user=request.user, club__slug=slug)
    except Membership.DoesNotExist:
        raise Http404(_("There is no such club among yours.")) from None


def refusal(membership: Membership) -> str:
    return _("Your role in this club, %(role)s, does not include this. Ask a head coach if you need it.") % {
        "role": membership.role_object.name
    }


def for_members(view: View) -> View:
    """Anyone who has logged in."""
    guarded_view = login_required(view)
    guarded_view.guard = "members"
    return guarded_view


def for_anyone(view: View) -> View:
    """Open to the world: say why beside each use."""
    view.guard = "anyone"
    return view


def guarded(patterns: Iterable[URLPattern]) -> list[URLPattern]:
    """The same patterns, after a look that each view names its guard."""
    patterns = list(patterns)
    for pattern in patterns:
        if not hasattr(pattern.callback, "guard"):
            raise ImproperlyConfigured(
                f"{pattern.pattern} leads to {pattern.callback.__name__}, which has no guard: "
                "put @needs(Permission.…) above it"
            )
    return patterns


def context(request: HttpRequest) -> dict[str, Any]:
    """What every template may ask: the club, and `can.edit_plan` and the like."""
    membership: Membership | None = getattr(request, "membership", None)
    if membership is None:
        return {"club": None, "can": {}}
    return {
        "club": membership.club,
        "membership": membership,
        "can": {permission.value: True for permission in membership.role_object.permissions},
    }
