"""Pages for paper: a template goes in, a tagged PDF comes out. The only module that knows WeasyPrint.

WeasyPrint is loaded at the first print, not at the start of the site: it takes a second, and a machine
without Pango shall still serve its pages.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

from django.contrib.staticfiles import finders
from django.core.exceptions import SuspiciousFileOperation
from django.template.loader import render_to_string
from django.utils.translation import gettext as _

VARIANT = "pdf/ua-1"
MM_PER_PX = 25.4 / 96
INSTALL = "apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 fonts-dejavu-core fonts-dejavu-extra"
ASSET_TYPES = {".css": "text/css", ".ttf": "font/ttf", ".woff2": "font/woff2"}


class PrintingUnavailable(RuntimeError):
    """This machine lacks the libraries that set type; the message says what to install."""


class PrintingRefused(ValueError):
    """A printed page asked for something that is not one of our own style sheets or fonts."""


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

    def __init__(self, document: Any, parts: Sequence[Layout] = ()) -> None:
        self._document = document
        self._parts = parts  # a joined document draws with the fonts of its parts
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


def join(parts: Sequence[Layout]) -> Layout:
    """Several documents as one, in their order; title and language are those of the first."""
    pages = [page for part in parts for page in part._document.pages]
    return Layout(parts[0]._document.copy(pages), parts)


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
