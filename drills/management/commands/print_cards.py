"""Print drill cards into a file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils.translation import gettext as _

from drills.cards import CardRefused, Size, cards_pdf
from drills.models import Drill, DrillQuerySet
from shared.models import Club


class Command(BaseCommand):
    help = "Prints drill cards as a PDF. Exit code 0: printed; 1: a card cannot be printed; 2: nothing to print."
    requires_system_checks = []  # they load every page of the site, which takes longer than the print

    def add_arguments(self, parser: CommandParser) -> None:
        which = parser.add_mutually_exclusive_group(required=True)
        which.add_argument("--all", action="store_true", help="every card of the library")
        which.add_argument("--ladder", metavar="CODE", help="the cards of a ladder, from its lowest step up")
        which.add_argument("--drills", nargs="+", type=int, metavar="NUMBER", help="cards by their numbers")
        parser.add_argument("--size", choices=[str(size) for size in Size], default=str(Size.A5), help="of one card")
        parser.add_argument("--out", type=Path, required=True, metavar="FILE", help="the PDF to write")
        parser.add_argument("--club", metavar="SLUG", help="short name of the club, where there are several")
        parser.add_argument("--site", default="", metavar="URL", help="where the codes lead; SITE_ADDRESS without it")

    def handle(self, *, out: Path, size: str, club: str | None, site: str, **which: Any) -> None:
        drills = list(self.chosen(Drill.objects.of(self.club(club)).current(), **which).for_card())
        if not drills:
            raise CommandError(_("There is no such card."), returncode=2)
        try:
            pdf = cards_pdf(drills, size=Size(size), site=site)
        except CardRefused as refusal:
            raise CommandError(str(refusal)) from None
        try:
            out.write_bytes(pdf)
        except OSError as error:
            raise CommandError(f"{out}: {error}", returncode=2) from None
        self.stdout.write(_("%(count)d cards in %(file)s") % {"count": len(drills), "file": out})

    def chosen(
        self, cards: DrillQuerySet, *, all: bool, ladder: str | None, drills: list[int] | None, **options: Any
    ) -> DrillQuerySet:
        if all:
            return cards
        if ladder:
            return cards.on_ladder(ladder).order_by("step", "number")
        missing = set(drills or ()) - set(cards.filter(number__in=drills or ()).values_list("number", flat=True))
        if missing:
            numbers = ", ".join(f"#{number}" for number in sorted(missing))
            raise CommandError(_("There is no card %s.") % numbers, returncode=2)
        return cards.filter(number__in=drills)

    def club(self, slug: str | None) -> Club:
        clubs = {club.slug: club for club in Club.objects.all()}
        if slug is None and len(clubs) == 1:
            return next(iter(clubs.values()))
        if slug in clubs:
            return clubs[slug]
        known = ", ".join(sorted(clubs)) or _("none yet")
        raise CommandError(_("Name the club by --club. Clubs here: %s") % known, returncode=2)
