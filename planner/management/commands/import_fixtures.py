"""Take fixtures from calendar files and tables: a preview, and with --confirm the same written."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils.translation import gettext as _

from planner.calendar_actions import import_fixtures
from planner.imports import fixtures_in
from shared.cells import MOST_BYTES, Unreadable
from shared.preview import Preview, in_plain_text
from squads.models import Squad

BY = "import_fixtures"


class Command(BaseCommand):
    help = (
        "Shows what files of fixtures (.ics, CSV, XLSX) would change for a squad, and writes it with --confirm. "
        "Exit code 0: every match is acceptable; 1: some are refused; 2: a file or the squad cannot be read."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("files", nargs="+", type=Path, metavar="FILE", help="iCalendar, CSV or XLSX")
        parser.add_argument("--squad", required=True, metavar="SLUG", help="short name of the squad")
        parser.add_argument("--club", metavar="SLUG", help="short name of the club, if two clubs have such a squad")
        parser.add_argument("--confirm", action="store_true", help="write what the preview shows")

    def handle(self, *, files: list[Path], squad: str, club: str | None, confirm: bool, **options: Any) -> None:
        found = self.squad(squad, club)
        refused = [self.take(found, file, confirm).has_refused for file in files]
        if any(refused):
            sys.exit(1)

    def squad(self, slug: str, club: str | None) -> Squad:
        squads = Squad.objects.select_related("club")
        found = list(squads.filter(slug=slug, **({"club__slug": club} if club else {})))
        if len(found) == 1:
            return found[0]
        known = ", ".join(f"{squad.slug} ({squad.club.slug})" for squad in found or squads.all()) or _("none yet")
        problem = _("More than one club has a squad “%(slug)s”: add --club. %(known)s")
        if not found:
            problem = _("There is no squad “%(slug)s”. Squads here, with their clubs: %(known)s")
        raise CommandError(problem % {"slug": slug, "known": known}, returncode=2)

    def take(self, squad: Squad, file: Path, confirm: bool) -> Preview:
        try:
            with file.open("rb") as fixtures:
                content = fixtures.read(MOST_BYTES + 1)
            preview = self.write(squad, file, content) if confirm else fixtures_in(squad, content, file.name).preview
        except (OSError, Unreadable) as error:
            raise CommandError(f"{file}: {error}", returncode=2) from None
        self.stdout.write(f"{file} ({preview.origin})\n{in_plain_text(preview)}")
        if not confirm and not preview.nothing_to_do:
            self.stdout.write(_("Nothing was written: add --confirm to write it."))
        return preview

    def write(self, squad: Squad, file: Path, content: bytes) -> Preview:
        return import_fixtures(squad=squad, content=content, filename=file.name, by=BY)
