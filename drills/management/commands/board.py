"""Judge a scene of the board: rules, margins and advice as text, or as JSON for other programs."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils.translation import gettext as _

from drills.board_words import said
from drills.core.board.answer import answer
from drills.core.board.book import OURS, Book
from drills.core.board.reading import Unfit, scene_from

MOST_BYTES = 1_000_000


class Command(BaseCommand):
    help = (
        "Says whether a defence holds: every rule, the margin for each kick, who meets a runner, and where the back "
        "field should stand. Prints JSON and then text; --json or --text prints one of them. The form of SCENE.json "
        "is told in docs/board.md. Exit code 0: no rule is broken; 1: one is; 2: the file is no scene."
    )
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("scene", type=Path, metavar="SCENE.json", help="a scene, or - for standard input")
        parser.add_argument("--club", metavar="SLUG", help="judge by the figures of this club in place of ours")
        parser.add_argument("--under", type=int, default=0, help="and by those of this age grade, like 16")
        only = parser.add_mutually_exclusive_group()
        only.add_argument("--json", action="store_true", help="print the JSON only")
        only.add_argument("--text", action="store_true", help="print the text only")

    def handle(self, *, scene: Path, json: bool, text: bool, club: str, under: int, **options: Any) -> None:
        found = answered(scene, book_named(club, under) if club else OURS)
        if not text:
            self.stdout.write(written(found))
        if not json:
            self.stdout.write(said(found))
        if any(rule["state"] == "broken" for rule in found["rules"]):
            sys.exit(1)


def written(found: dict[str, Any]) -> str:
    return json.dumps(found, indent=1, ensure_ascii=False)


def book_named(slug: str, under: int) -> Book:
    """Asked for here only, so that a scene is judged without a database."""
    from drills.board_actions import book_of
    from shared.models import Club

    club = Club.objects.filter(slug=slug).first()
    if club is None:
        raise CommandError(_("There is no club “%s”.") % slug, returncode=2)
    return book_of(club, under)


def answered(file: Path, book: Book) -> dict[str, Any]:
    try:
        raw = sys.stdin.buffer.read(MOST_BYTES + 1) if str(file) == "-" else file.read_bytes()
        if len(raw) > MOST_BYTES:
            raise CommandError(_("“%s” is larger than a scene can be.") % file, returncode=2)
        return answer(scene_from(json.loads(raw), book))
    except OSError as problem:
        message = _("“%(file)s” cannot be read: %(why)s") % {"file": file, "why": problem.strerror}
        raise CommandError(message, returncode=2) from None
    except (json.JSONDecodeError, UnicodeDecodeError, RecursionError) as problem:
        message = _("“%(file)s” is no JSON: %(why)s") % {"file": file, "why": problem}
        raise CommandError(message, returncode=2) from None
    except Unfit as unfit:
        lines = [f"  {fault.field or _('the scene')}: {fault.why}" for fault in unfit.faults[:20]]
        message = _("“%(file)s” is no scene:\n%(why)s") % {"file": file, "why": "\n".join(lines)}
        raise CommandError(message, returncode=2) from None
