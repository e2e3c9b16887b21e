"""The sixty starter cards as A6 on paper: ours, the engine alone, Chromium and WeasyPrint on the same words.

    .venv/bin/pytest tests/benchmarks/test_print_cards.py -s

Prints seconds of processor time (of Chromium not that of all its processes), seconds by the clock, the most
memory and the size of the PDF.
Ours is the whole command, Python and Django included; the engine alone starts from the finished data; the others
start from a finished page of HTML that holds the same words and drawings at a fixed size, which nobody fits.
"""

from __future__ import annotations

import datetime as dt
import json
import os
import subprocess
import sys
import time
from html import escape
from pathlib import Path

import pypdf
import pytest
from django.conf import settings

from drills import cards
from drills.models import Drill

SITE = "https://plumbline.example"
ENGINE_ALONE = """
import sys, typst
fonts = typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[sys.argv[2]])
data = {"data": open(sys.argv[3]).read()}
pdf = typst.compile(sys.argv[1], font_paths=fonts, sys_inputs=data, pdf_standards=["ua-1"])
open(sys.argv[4], "wb").write(pdf)
"""
WEASYPRINT = "import sys, weasyprint; weasyprint.HTML(sys.argv[1]).write_pdf(sys.argv[2], pdf_variant='pdf/ua-1')"
STYLE = """
@page { size: A4; margin: 0 } body { margin: 0; font: 6.5pt "DejaVu Sans Condensed", "DejaVu Sans" }
.card { float: left; box-sizing: border-box; width: 105mm; height: 147mm; padding: 5mm; overflow: hidden }
h1 { font-size: 12pt; margin: 0 } p, ul, ol { margin: 0 0 .5mm; padding-left: 0 } svg { height: 35mm; width: auto }
.qr svg { height: 13mm; width: 13mm }
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A database of its own with the starter library, as the command finds it."""
    folder = tmp_path_factory.mktemp("print")
    make = (
        "import datetime, django; django.setup()\n"
        "from django.core.management import call_command\n"
        "call_command('migrate', verbosity=0)\n"
        "from shared.models import Club\n"
        "from drills.actions import add_starter_library\n"
        "club = Club.objects.create(slug='bench', name='Brackenford RFC')\n"
        "add_starter_library(club, by='bench', today=datetime.date(2026, 10, 6))\n"
    )
    subprocess.run([sys.executable, "-c", make], env=env(folder), cwd=settings.BASE_DIR, check=True)
    return folder


def env(folder: Path) -> dict[str, str]:
    return os.environ | {"VAR_DIR": str(folder), "DJANGO_SETTINGS_MODULE": "shared.settings", "DATABASE_URL": ""}


def timed(name: str, command: list, folder: Path, pdf: Path) -> float:
    """Run a command and print what it took; gives the processor time of the command and all that it started."""
    began = time.perf_counter()
    process = subprocess.Popen(
        list(map(str, command)),
        env=env(folder),
        cwd=settings.BASE_DIR,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    _pid, status, used = os.wait4(process.pid, 0)
    assert status == 0, name
    cpu, wall = used.ru_utime + used.ru_stime, time.perf_counter() - began
    size = pdf.stat().st_size / 1e6
    pages = len(pypdf.PdfReader(pdf).pages)
    took = f"{cpu:6.2f} s cpu {wall:6.2f} s wall {used.ru_maxrss // 1024:5} MB"
    sys.stdout.write(f"{name:28} {took} {size:5.2f} MB pdf {pages:3} pages\n")
    return cpu


def test_sixty_cards_with_their_drawings(folder, chromium, db, monkeypatch):
    pdf = folder / "cards.pdf"
    sys.stdout.write(f"\n{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}\n")
    command = [sys.executable, "manage.py", "print_cards", "--all", "--size", "a6", "--site", SITE, "--out", pdf]
    timed("Python and Django alone", [sys.executable, "-c", "import django; django.setup()"], folder, given(pdf))
    first = timed("print_cards, first time", command, folder, pdf)
    again = timed("print_cards, nothing changed", command, folder, pdf)
    data, page = the_same(monkeypatch, folder)
    template, fonts = Path(settings.BASE_DIR) / "templates/print/cards.typ", Path(settings.BASE_DIR) / "shared/fonts"
    timed("Typst alone", [sys.executable, "-c", ENGINE_ALONE, template, fonts, data, pdf], folder, pdf)
    flags = ["--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer", f"--print-to-pdf={pdf}"]
    timed("Chromium, HTML", [chromium, *flags, page.as_uri()], folder, pdf)
    weasy = timed("WeasyPrint, HTML", [sys.executable, "-c", WEASYPRINT, page, pdf], folder, pdf)
    assert again < first < weasy


def given(pdf: Path) -> Path:
    """Any print, so that a line without one can be told as well."""
    writer = pypdf.PdfWriter()
    writer.add_blank_page(100, 100)
    writer.write(pdf)
    return pdf


def the_same(monkeypatch, folder: Path) -> tuple[Path, Path]:
    """What the template gets for these cards as JSON, and the same words and drawings as a page of HTML."""
    from drills.actions import add_starter_library
    from tests import factories as f

    club = f.ClubFactory(name="Brackenford RFC", slug="bench")
    add_starter_library(club, by="bench", today=dt.date(2026, 10, 6))
    caught = []
    monkeypatch.setattr(cards, "kept", lambda ingredients, make: make())
    monkeypatch.setattr(cards, "typeset", lambda template, data: caught.append(data) or b"")
    cards.cards_pdf(Drill.objects.of(club).for_card(), size=cards.Size.A6, site=SITE)
    data, page = folder / "data.json", folder / "cards.html"
    data.write_text(json.dumps(caught[0]))
    body = "".join(map(as_html, caught[0]["cards"]))
    page.write_text(
        f'<!doctype html><html lang="en"><title>Cards</title><style>{STYLE}</style><body>{body}</body></html>'
    )
    return data, page


def as_html(card: dict) -> str:
    paragraphs = [
        " ".join(f"<b>{escape(a)}</b> {escape(b)}" for a, b in card[part]) for part in ("facts", "set_up", "go")
    ]
    steps = "".join(f"<li>{escape(step)}</li>" for step in card["runs"])
    spoken = "".join(f"<li><b>{escape(cue)}</b></li>" for cue in card["cues"])
    box = card["safety"]
    safety = [box["stop"], box["barred"], *box["notes"], *box["rules"], box["check"], box["defers"]]
    extras = [f"{extra['label']} {extra['text']} {extra['fix']}" for extra in card["extras"][: card["count"]]]
    told = [*safety, *extras, *card["ladder"], card["version"], card["address"]]
    drawn = "".join(frame["svg"] for frame in card["frames"])
    return (
        f'<article class="card"><h1>{card["number"]} {escape(card["name"])}</h1><p>{escape(card["rung"])}</p>{drawn}'
        + "".join(f"<p>{text}</p>" for text in paragraphs)
        + f"<ol>{steps}</ol><ul>{spoken}</ul>"
        + "".join(f"<p>{escape(text)}</p>" for text in told if text)
        + f'<div class="qr">{card["qr"]}</div></article>'
    )
