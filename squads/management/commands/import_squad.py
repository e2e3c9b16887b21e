"""Take a squad list into a squad: a preview, and with --confirm the same written."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils.translation import gettext as _

from shared.cells import MOST_BYTES, Unreadable
from shared.clock import today_at
from shared.preview import Preview, in_plain_text
from squads.actions import import_squad
from squads.imports import squad_in
from squads.models import Squad

BY = "import_squad"


class Command(BaseCommand):
    help = (
        "Shows what a list of players (CSV or XLSX) would change in a squad, and writes it with --confirm. "
        "Columns are known by their headers: first name and surname, or name; position; and if there are any "
        "reference, other positions, date of birth, joined, seasons played, size band. An empty cell leaves a field "
        "as it is; players who are not in the list are left alone. "
        "Exit code 0: every row is acceptable; 1: some are refused (the others are written with --confirm); "
        "2: the file or the squad cannot be read, and nothing is written."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE", help="CSV or XLSX, at most 2 MB")
        parser.add_argument("--squad", required=True, metavar="SLUG", help="short name of the squad")
        parser.add_argument("--club", metavar="SLUG", help="short name of the club, if several have such a squad")
        parser.add_argument("--confirm", action="store_true", help="write what the preview shows")

    def handle(self, *, file: Path, squad: str, club: str | None, confirm: bool, **options: Any) -> None:
        found = self.squad(squad, club)
        try:
            with file.open("rb") as opened:
                content = opened.read(MOST_BYTES + 1)
            preview = self.take(found, content, file.name, confirm)
        except OSError as error:
            raise CommandError(f"{file}: {error.strerror}", returncode=2) from None
        except Unreadable as error:
            raise CommandError(str(error), returncode=2) from None
        self.stdout.write(f"{file.name} ({preview.origin})\n{in_plain_text(preview)}")
        if not confirm and not preview.nothing_to_do:
            self.stdout.write(_("Nothing was written: add --confirm to write it."))
        if preview.has_refused:
            sys.exit(1)

    def take(self, squad: Squad, content: bytes, filename: str, confirm: bool) -> Preview:
        if confirm:
            return import_squad(squad=squad, content=content, filename=filename, by=BY)
        return squad_in(squad, content, filename, today=today_at(squad.club)).preview

    def squad(self, slug: str, club: str | None) -> Squad:
        squads = Squad.objects.select_related("club").filter(slug=slug)
        if club is not None:
            squads = squads.filter(club__slug=club)
        found = list(squads)
        if len(found) == 1:
            return found[0]
        if found:
            clubs = ", ".join(each.club.slug for each in found)
            raise CommandError(_("Several clubs have such a squad. Add --club with one of: %s") % clubs, returncode=2)
        known = ", ".join(f"{each.slug} ({each.club.slug})" for each in Squad.objects.select_related("club"))
        raise CommandError(
            _("There is no squad “%(slug)s”. Squads here: %(known)s") % {"slug": slug, "known": known or _("none yet")},
            returncode=2,
        )
