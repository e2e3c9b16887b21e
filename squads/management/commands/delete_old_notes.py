"""Delete medical notes whose time is over; to be run every day by the machine's own timer."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from shared.clock import today_at
from shared.models import Club
from squads.medical_actions import delete_old_notes

BY = "delete_old_notes"


class Command(BaseCommand):
    help = (
        "Counts the medical notes that are older than their club keeps them, and deletes them with --confirm. Notes of "
        "a player whose return is under way stay. A club that has set no time keeps all. Exit code 0; 2: there is no "
        "such club."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--club", metavar="SLUG", help="only this club")
        parser.add_argument("--confirm", action="store_true", help="delete what is counted")

    def handle(self, *, club: str | None, confirm: bool, **options: Any) -> None:
        clubs = Club.objects.filter(slug=club) if club else Club.objects.all()
        if club and not clubs:
            raise CommandError(_("There is no club with the short name %(slug)s.") % {"slug": club}, returncode=2)
        for each in clubs:
            self.stdout.write(f"{each.slug}: {self.tell(each, confirm)}")

    def tell(self, club: Club, confirm: bool) -> str:
        count = delete_old_notes(club=club, today=today_at(club), by=BY, confirm=confirm)
        if count is None:
            return _("no time is set, so nothing is deleted.")
        if confirm:
            return ngettext("%(count)d note deleted.", "%(count)d notes deleted.", count) % {"count": count}
        return ngettext(
            "%(count)d note is old enough; --confirm deletes it.",
            "%(count)d notes are old enough; --confirm deletes them.",
            count,
        ) % {"count": count}
