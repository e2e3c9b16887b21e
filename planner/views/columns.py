"""The page that asks which column of a list holds what, beside the first rows of the list."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from planner.columns import ListOf, Reading
from planner.forms.columns import ColumnsForm
from shared.models import Upload
from shared.tables import Table, read_table
from squads.models import Squad

SHOWN_ROWS = 5


def columns_page(
    request: HttpRequest,
    kept: Upload,
    squad: Squad,
    *,
    of: ListOf,
    chosen: Reading,
    why: str,
    choose: Callable[[Reading], None],
    onward: str,
    back: str,
) -> HttpResponse:
    """`why`: what is left open, in words. A valid choice goes to `choose` and leads `onward`. Raises Unreadable."""
    table = read_table(bytes(kept.content), kept.name)
    form = ColumnsForm(request.POST or None, of=of, table=table, chosen=chosen)
    if form.is_valid():
        choose(form.reading)
        return redirect(onward)
    shown = {"form": form, "squad": squad, "upload": kept, "headers": table.headers, "rows": first_rows(table)}
    return render(request, "planner/columns.html", shown | {"why": why, "back": back})


def first_rows(table: Table) -> list[list[str]]:
    return [[row.text(header) for header in table.headers] for row in table.rows[:SHOWN_ROWS]]


def no_day_above_12() -> str:
    return _("No day in this list is above 12: 03/10 may be 3 October or 10 March.")
