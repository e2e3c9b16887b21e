"""A new address for a head coach of a club that is there already."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.urls import reverse
from django.utils.translation import gettext as _

from shared.http import on_site
from shared.invitation_actions import invite_head
from shared.models import Club


class Command(BaseCommand):
    help = (
        "Prints the address, once, with which a head coach of a club joins: where the first was lost or is too old, "
        "or where nobody is left who may invite. Addresses made from here before open nothing any more. Exit code 0; "
        "2: there is no such club."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("slug", help="the club's short name in addresses, for example: brackenford")
        parser.add_argument("--head", required=True, metavar="NAME", help="of the head coach")
        parser.add_argument("--site", default="", metavar="URL", help="of the site; SITE_ADDRESS without it")

    def handle(self, *, slug: str, head: str, site: str, **options: Any) -> None:
        try:
            club, token = invite_head(slug=slug, name=head)
        except Club.DoesNotExist:
            there = ", ".join(Club.objects.order_by("slug").values_list("slug", flat=True)) or _("none")
            raise CommandError(
                _("No club has the short name %(slug)s. There are: %(there)s.") % {"slug": slug, "there": there},
                returncode=2,
            ) from None
        self.stdout.write(_("The head coach of %(club)s opens this address once, within 14 days:") % {"club": club})
        self.stdout.write(on_site(reverse("join", args=[token]), site))
