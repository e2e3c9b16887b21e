"""Count the kept sums of days anew from the record: what differs, and with --mend the same made equal."""

from __future__ import annotations

import datetime as dt
import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.record_days import Difference, differences
from planner.recount import mend, words_of
from squads.models import Squad

BY = "recount"


class Command(BaseCommand):
    help = (
        "Shows where the kept sums of days (minutes, contact, match minutes, load) are not what the record says, and "
        "makes them equal with --mend. The record itself is never changed. "
        "Exit code 0: all is equal, or mended; 1: something differs; 2: there is no such squad or day."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--club", metavar="SLUG", help="short name of one club; else all of them")
        parser.add_argument("--squad", metavar="SLUG", help="short name of one squad; else all of them")
        parser.add_argument("--from", dest="first", metavar="DAY", help="first day, as 2026-10-05; else the earliest")
        parser.add_argument("--to", dest="last", metavar="DAY", help="last day; else the latest")
        parser.add_argument("--mend", action="store_true", help="write what differs, and tell of it in the audit")

    def handle(self, **options: Any) -> None:
        first, last = day_in(options["first"], dt.date.min), day_in(options["last"], dt.date.max)
        squads = squads_of(options["club"], options["squad"])
        found = [self.recount(squad, first, last, mends=options["mend"]) for squad in squads]
        if any(found) and not options["mend"]:
            self.stdout.write(_("Nothing was written: add --mend to make the kept sums equal to the record."))
            sys.exit(1)

    def recount(self, squad: Squad, first: dt.date, last: dt.date, *, mends: bool) -> list[Difference]:
        found = mend(squad=squad, by=BY, first=first, last=last) if mends else differences(squad, first, last)
        self.stdout.write(f"{squad} ({squad.club.slug}): {count_words(len(found), mends)}")
        for line in words_of(found):
            self.stdout.write(f"  {line}")
        return found


def count_words(count: int, mended: bool) -> str:
    if not count:
        return _("every kept sum is what the record says.")
    words = ngettext("%(count)d figure differs.", "%(count)d figures differ.", count)
    if mended:
        words = ngettext("%(count)d figure is mended.", "%(count)d figures are mended.", count)
    return words % {"count": count}


def squads_of(club: str | None, squad: str | None) -> list[Squad]:
    asked = {"club__slug": club, "slug": squad}
    found = list(Squad.objects.select_related("club").filter(**{name: slug for name, slug in asked.items() if slug}))
    if not found:
        known = ", ".join(f"{each.slug} ({each.club.slug})" for each in Squad.objects.select_related("club"))
        raise CommandError(
            _("There is no such squad. Squads here, with their clubs: %(known)s") % {"known": known or _("none yet")},
            returncode=2,
        )
    return found


def day_in(text: str | None, fallback: dt.date) -> dt.date:
    try:
        return fallback if text is None else dt.date.fromisoformat(text)
    except ValueError:
        raise CommandError(_("“%(text)s” is no day. Write it as 2026-10-05.") % {"text": text}, returncode=2) from None
