"""Everybody's replies to the next nights on one page, for coaches to enter what they were told."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.attendance_actions import note_replies
from planner.changes import Refused
from planner.forms.days import day_asked
from planner.forms.replies import Entry, ReplyForm, Says
from planner.replies import Cell, Replies, replies_from
from shared.access import needs
from shared.clock import today_at
from shared.http import with_query
from shared.models import Club
from shared.roles import Permission
from squads.models import Player
from squads.views.fetch import squad_of


@dataclass(frozen=True)
class CellShown:
    """A cell with what its fields hold: what was said, or what was typed and could not be saved yet."""

    cell: Cell
    entry: Entry
    problem: str = ""
    is_unseen: bool = False


@dataclass(frozen=True)
class LineShown:
    player: Player
    cells: tuple[CellShown | None, ...]


@needs(Permission.EDIT_AVAILABILITY)
def replies(request: HttpRequest, club: Club, squad: str) -> HttpResponse:
    """`?from=` is the day to begin with; `night` the one that a phone shows."""
    today = today_at(club)
    first = max(day_asked(request.GET.get("from", "")) or today, today)
    page = replies_from(squad_of(club, squad), first)
    if request.method != "POST":
        return shown(request, page, request.GET.get("night", "1"))
    form, night = ReplyForm.read(request.POST, page.cells, today), request.POST.get("night", "1")
    if form.problems:
        messages.error(request, _("Nothing is saved yet: mend what is marked, then save again."))
        return shown(request, page, night, form)
    return saved(request, page, form, night)


def saved(request: HttpRequest, page: Replies, form: ReplyForm, night: str) -> HttpResponse:
    try:
        noted = note_replies(said=form.said, by=request.user)
    except Refused as refused:
        messages.error(request, str(refused))
        return shown(request, page, night, form)
    said = ngettext("%(count)d reply is noted.", "%(count)d replies are noted.", noted.count)
    messages.success(request, said % {"count": noted.count})
    again = with_query(request.path, night=night, **{"from": request.GET.get("from", "")})
    if not noted.unseen:
        return redirect(again)
    told = _("Somebody said something else meanwhile: both are shown where it is so. Save again to keep yours.")
    messages.warning(request, told)
    form.keep_only({each.key for each in noted.unseen})
    return shown(request, replies_from(page.squad, page.nights[0].session.day), night, form)


def shown(request: HttpRequest, page: Replies, night: str, form: ReplyForm | None = None) -> HttpResponse:
    form = form or ReplyForm(shown=keys_of(page))
    # Whoever saw what somebody else said answers that from now on; after a mistake he still answers what he saw before.
    words = {
        "page": page,
        "lines": [LineShown(line.player, tuple(cell_shown(cell, form) for cell in line.cells)) for line in page.lines],
        "shown": keys_of(page) if form.unseen else form.shown,
        "chosen": next((each.number for each in page.nights if str(each.number) == night), 1),
        "choices": Says.choices,
        "later": page.later and with_query(address_of(page), **{"from": page.later.isoformat()}),
        "squad": page.squad,
    }
    return render(request, "planner/night/replies.html", words)


def cell_shown(cell: Cell | None, form: ReplyForm) -> CellShown | None:
    if cell is None:
        return None
    entry = form.typed.get(cell.key) or Entry.of(cell.reply)
    return CellShown(cell, entry, form.problems.get(cell.key, ""), cell.key in form.unseen)


def keys_of(page: Replies) -> str:
    return " ".join(str(cell.reply.pk) for cell in page.cells if cell.reply)


def address_of(page: Replies) -> str:
    return reverse("replies", kwargs={"club": page.squad.club.slug, "squad": page.squad.slug})


patterns = [path("squads/<slug:squad>/replies/", replies, name="replies")]
