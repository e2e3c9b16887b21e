"""Pages for paper: a template goes in, a tagged PDF comes out. The only module that knows Typst and WeasyPrint.

Typst sets what is fitted to its paper (`typeset`), with fonts of our own, the same on every machine. WeasyPrint
sets pages in HTML (`pdf`, `lay_out`). Both are loaded at the first print, not at the start of the site: the
second takes a second, and a machine without Pango shall still serve its pages.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from importlib.metadata import version
from pathlib import Path
from types import ModuleType
from typing import Any

from django.conf import settings
from django.contrib.staticfiles import finders
from django.core.exceptions import SuspiciousFileOperation
from django.template.loader import render_to_string
from django.utils.translation import gettext as _

from shared.typefaces import FONTS

VARIANT = "pdf/ua-1"
MM_PER_PX = 25.4 / 96
INSTALL = "apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 fonts-dejavu-core fonts-dejavu-extra"
TEMPLATES = Path(settings.BASE_DIR) / "templates" / "print"
PACKAGES = FONTS / "no-packages"  # a folder that does not exist
ASSET_TYPES = {".css": "text/css", ".ttf": "font/ttf", ".woff2": "font/woff2"}


class PrintingUnavailable(RuntimeError):
    """This machine lacks the libraries that set type; the message says what to install."""


class PrintingRefused(ValueError):
    """A printed page asked for something that is not one of our own files, or its template gave up and says why."""


class Unprintable(PrintingRefused):
    """`text` has letters that no font on this machine can draw."""

    def __init__(self, text: str) -> None:
        super().__init__(_("No font on this machine can print “%s”.") % text)
        self.text = text


class Overfull(PrintingRefused):
    """`past`: by how many pt each place is too full, by its number."""

    def __init__(self, past: dict[int, float]) -> None:
        super().__init__(_("Text does not fit its place: %s") % past)
        self.past = past


def typeset(template: str, data: dict[str, Any]) -> bytes:
    """A tagged PDF by a Typst template, which finds `data` as JSON in `sys.inputs.data`.

    The engine itself refuses what breaks PDF/UA-1. It reads no file outside the folder of the templates, and the
    same data always give the same bytes, as templates set `date: none`. Letters that our fonts lack are taken from
    those of the machine. Raises Unprintable, Overfull, and PrintingRefused when the template panics.
    """
    try:
        return _compiled(template, data, _own_fonts())
    except Unprintable:
        return _compiled(template, data, _all_fonts())


def ingredients(template: str) -> list[bytes]:
    """What makes the look of a print besides its data: the engine, the template and the fonts."""
    files = [TEMPLATES / template, *sorted(FONTS.glob("*.ttf"))]
    return [version("typst").encode(), *(file.read_bytes() for file in files)]


def _compiled(template: str, data: dict[str, Any], fonts: Any) -> bytes:
    import typst

    try:
        return typst.compile(
            TEMPLATES / template,
            root=TEMPLATES,
            font_paths=fonts,
            sys_inputs={"data": json.dumps(data)},
            pdf_standards=["ua-1"],
            package_path=PACKAGES,
            package_cache_path=PACKAGES,
        )
    except typst.TypstError as error:
        raise _reason(error.message) from error


def _reason(message: str) -> PrintingRefused:
    """Our own templates panic with "overfull", and for each place too full by how many pt."""
    if "overfull" in message:
        return Overfull({int(place): float(past) for place, past in re.findall(r'"(\d+)": ([\d.]+)', message)})
    if lacking := re.search(r'the text `"(.+?)"` could not be displayed', message):
        return Unprintable(re.sub(r"\\u\{(\w+)\}", lambda code: chr(int(code[1], 16)), lacking[1]))
    return PrintingRefused(message)


@cache
def _own_fonts() -> Any:
    import typst

    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[FONTS])


@cache
def _all_fonts() -> Any:
    import typst

    return typst.Fonts(include_system_fonts=True, include_embedded_fonts=False, font_paths=[FONTS])


@dataclass(frozen=True, slots=True)
class Place:
    """Where an element came to lie: page from 0, and its box in mm from the top left of that page."""

    page: int
    left: float
    top: float
    right: float
    bottom: float


class Layout:
    """A document that has been laid out but not yet written."""

    def __init__(self, document: Any) -> None:
        self._document = document
        self.pages = len(document.pages)

    @property
    def places(self) -> dict[str, Place]:
        """Where each element with an id begins, by that id."""
        return {
            name: Place(number, *(edge * MM_PER_PX for edge in box))
            for number, page in reversed(list(enumerate(self._document.pages)))
            for name, box in page.anchors.items()
        }

    def pdf(self) -> bytes:
        with _refusing():
            return self._document.write_pdf(pdf_variant=VARIANT)


def pdf(template: str, context: dict[str, Any], *, title: str) -> bytes:
    """A tagged PDF of a template that extends print/base.html; it fetches nothing but `asset:` files.

    Raises PrintingUnavailable and PrintingRefused.
    """
    return lay_out(template, context, title=title).pdf()


def lay_out(template: str, context: dict[str, Any], *, title: str) -> Layout:
    """The same as `pdf`, stopped before writing: to count pages, or to see what fits."""
    weasyprint = _weasyprint()
    html = render_to_string(template, {"title": title, **context})
    with _refusing():
        return Layout(weasyprint.HTML(string=html, url_fetcher=_assets()).render(pdf_variant=VARIANT))


@contextmanager
def _refusing() -> Iterator[None]:
    """WeasyPrint stops at a refused address with a BaseException; callers get an error of ours instead."""
    try:
        yield
    except _weasyprint().urls.FatalURLFetchingError as error:
        raise PrintingRefused(str(error.__cause__ or error)) from error


@cache
def _weasyprint() -> ModuleType:
    try:
        import weasyprint
    except OSError as error:
        raise PrintingUnavailable(
            _("This machine cannot print, the Pango library is missing: %(error)s. On Debian or Ubuntu: %(command)s")
            % {"error": str(error).splitlines()[0], "command": INSTALL}
        ) from error
    return weasyprint


@cache
def _assets() -> Any:
    """The fetcher: `asset:shared/print.css` is a file of our own static folders, anything else stops the print."""
    urls = _weasyprint().urls

    class Assets(urls.URLFetcher):
        def fetch(self, url: str, headers: dict[str, str] | None = None) -> Any:
            path = asset(url)
            return urls.URLFetcherResponse(url, path.read_bytes(), {"Content-Type": ASSET_TYPES[path.suffix]})

    return Assets(allowed_protocols=(), allow_redirects=False, fail_on_errors=True)


def asset(url: str) -> Path:
    """The file that an `asset:` address stands for; PrintingRefused for every other address."""
    name = url.removeprefix("asset:")
    if name == url or Path(name).suffix not in ASSET_TYPES:
        raise PrintingRefused(_("Print uses only its own style sheets and fonts, not %(url)s") % {"url": url})
    try:
        found = finders.find(name)
    except SuspiciousFileOperation:
        found = None
    if not found:
        raise PrintingRefused(_("There is no style sheet or font called %(name)s") % {"name": name})
    return Path(found)
