"""A new club on this site, and the address with which its first head coach takes it up."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.urls import reverse
from django.utils.translation import gettext as _

from shared.http import on_site
from shared.invitation_actions import make_club


class Command(BaseCommand):
    help = (
        "Makes a club with nobody in it, and prints the address, once, with which its first head coach makes his "
        "account. Everybody else is invited on the club's page of members. Exit code 0; 2: the short name or the time "
        "zone cannot be used."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name", help="of the club, for example: Brackenford RFC")
        parser.add_argument("slug", help="its short name in addresses, for example: brackenford")
        parser.add_argument("--head", required=True, metavar="NAME", help="of the first head coach")
        parser.add_argument("--zone", default="Europe/London", help="its time zone (default Europe/London)")
        parser.add_argument("--site", default="", metavar="URL", help="of the site; SITE_ADDRESS without it")

    def handle(self, *, name: str, slug: str, head: str, zone: str, site: str, **options: Any) -> None:
        call_command("migrate", verbosity=0)  # it may be the first thing that is done on a new machine
        try:
            club, token = make_club(name=name, slug=slug, zone=zone, head=head)
        except ValidationError as wrong:
            raise CommandError(" ".join(wrong.messages), returncode=2) from None
        self.stdout.write(_("%(club)s is there. Its first head coach opens this address once:") % {"club": club})
        self.stdout.write(on_site(reverse("join", args=[token]), site))
