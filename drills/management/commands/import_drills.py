"""Take drill packs into a club's library: a preview, and with --confirm the same written."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils.translation import gettext as _

from drills.actions import add_starter_library, import_pack
from drills.imports import preview_pack
from shared.cells import MOST_BYTES, Unreadable
from shared.clock import today_at
from shared.models import Club
from shared.preview import Preview, in_plain_text

BY = "import_drills"


class Command(BaseCommand):
    help = (
        "Shows what drill packs would change in a club's library, and writes it with --confirm. "
        "Exit code 0: every drill is acceptable; 1: some are refused; 2: a file or the club cannot be read."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("files", nargs="*", type=Path, metavar="FILE", help="drill packs in JSON")
        parser.add_argument("--club", required=True, metavar="SLUG", help="short name of the club")
        parser.add_argument("--starter", action="store_true", help="add the starter library first")
        parser.add_argument("--confirm", action="store_true", help="write what the preview shows")

    def handle(self, *, files: list[Path], club: str, starter: bool, confirm: bool, **options: Any) -> None:
        if not files and not starter:
            raise CommandError(_("Name at least one file, or --starter."), returncode=2)
        library = self.club(club)
        if starter:
            self.add_starter(library, confirm)
        refused = [self.take(library, file, confirm).has_refused for file in files]
        if any(refused):
            sys.exit(1)

    def club(self, slug: str) -> Club:
        try:
            return Club.objects.get(slug=slug)
        except Club.DoesNotExist:
            known = ", ".join(Club.objects.values_list("slug", flat=True)) or _("none yet")
            message = _("There is no club “%(slug)s”. Clubs here: %(known)s") % {"slug": slug, "known": known}
            raise CommandError(message, returncode=2) from None

    def add_starter(self, club: Club, confirm: bool) -> None:
        if confirm:
            count = add_starter_library(club, by=BY, today=today_at(club))
            self.stdout.write(_("Starter library: %d drills added") % count)
        else:
            self.stdout.write(_("Starter library: would be added. Nothing was written: add --confirm to write it."))

    def take(self, club: Club, file: Path, confirm: bool) -> Preview:
        try:
            with file.open("rb") as pack:
                content = pack.read(MOST_BYTES + 1)
            preview = self.write(club, file, content) if confirm else preview_pack(club, content)
        except (OSError, Unreadable) as error:
            raise CommandError(f"{file}: {error}", returncode=2) from None
        self.stdout.write(f"{file}\n{in_plain_text(preview)}")
        if not confirm and not preview.nothing_to_do:
            self.stdout.write(_("Nothing was written: add --confirm to write it."))
        return preview

    def write(self, club: Club, file: Path, content: bytes) -> Preview:
        return import_pack(club, content, name=file.name, by=BY, today=today_at(club))
