"""What a page costs in itself: the yardstick for ours. A benchmark compares a page with a bare one of as many queries.

The bare page goes through every layer of the site: log in, membership, permission, the base template. Its own queries
fetch 40 rows each, the first two of which it writes into a plain table, so that it has as many rows as a squad has
names and a week has lines.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass

from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.template import engines
from django.test import Client
from django.test.utils import CaptureQueriesContext, override_settings
from django.urls import include, path

from shared.access import guarded, needs
from shared.models import Club
from shared.roles import Permission
from squads.models import Player

ROUNDS = 15
ROWS, TABLES = 40, 2
PAGE = engines["django"].from_string(
    '{% extends "base.html" %}{% block content %}<h1>Bare</h1>{% for rows in tables %}<table class="list">'
    "{% for row in rows %}<tr><th>{{ row.given_name }} {{ row.family_name }}</th><td>{{ row.key }}</td>"
    "<td>{{ row.main_position }}</td></tr>{% endfor %}</table>{% endfor %}{% endblock %}"
)


@needs(Permission.SEE_CLUB)
def bare(request: HttpRequest, club: Club, queries: int) -> HttpResponse:
    found = [list(Player.objects.all()[n : n + ROWS]) for n in range(queries)]
    return HttpResponse(PAGE.render({"tables": found[:TABLES]}, request))


urlpatterns = [
    path("", include("shared.urls")),
    path("<slug:club>/bare/<int:queries>/", include(guarded([path("", bare, name="bare")]))),
]


@dataclass(frozen=True, slots=True)
class Cost:
    """Milliseconds of this process's processor, and queries."""

    ms: float
    queries: int

    def __str__(self) -> str:
        return f"{self.ms:6.1f} ms  {self.queries} queries"


@dataclass(frozen=True, slots=True)
class Compared:
    page: Cost
    bare: Cost
    times: float

    def __str__(self) -> str:
        return f"{self.page}, bare page {self.bare.ms:.1f} ms, ratio {self.times:.2f}"


def nothing() -> None:
    pass


def compared(
    client: Client, club: Club, address: str, rounds: int = ROUNDS, before: Callable[[], object] = nothing
) -> Compared:
    """The page against a bare one with as many queries. Rounds go side by side, since others work on the machine too;
    `times` is the median of their ratios. `before` each look at the page something may be done that is not counted,
    such as to forget what was kept."""
    before()
    count = queries_of(client, address)
    with override_settings(ROOT_URLCONF=__name__):
        base = f"/{club.slug}/bare/"
        own = count - (queries_of(client, f"{base}1/") - 1)
        bare_address = f"{base}{max(own, 0)}/"
        assert queries_of(client, bare_address) == count
        spent = []
        for _round in range(rounds):
            before()
            spent.append((spent_on(client, address), spent_on(client, bare_address)))
    ours, theirs = (statistics.median(column) for column in zip(*spent, strict=True))
    return Compared(Cost(ours, count), Cost(theirs, count), statistics.median(a / b for a, b in spent))


def queries_of(client: Client, address: str) -> int:
    with CaptureQueriesContext(connection) as asked:
        answer = client.get(address)
    assert answer.status_code == 200, address
    return len(asked)


def spent_on(client: Client, address: str) -> float:
    return processor_ms(lambda: client.get(address))


def processor_ms(work: Callable[[], object]) -> float:
    begun = time.process_time()
    work()
    return (time.process_time() - begun) * 1000
