"""Pages behind a secret address, and pages that show one."""

from __future__ import annotations

from django.http import HttpResponse

NO_ROBOT = "noindex, nofollow, noarchive"


def shown_once(response: HttpResponse) -> HttpResponse:
    """No browser keeps a page that shows a secret. Its own address holds none, so it may be named as any other."""
    response["Cache-Control"] = "no-store"
    return response


def kept_nowhere(response: HttpResponse) -> HttpResponse:
    """For a page whose own address is the secret, and which has forms.

    No cache keeps it and no search engine lists it. Its address is told to nobody but this site: without any referrer
    the site would refuse its forms.
    """
    response["Cache-Control"] = "no-store"
    response["X-Robots-Tag"] = NO_ROBOT
    response["Referrer-Policy"] = "same-origin"
    return response
