"""Printing: what a page may fetch, what it says of itself, and where things come to lie."""

import io
import sys

import pypdf
import pytest
from django.template import engines

from shared import printing


@pytest.fixture
def paper(monkeypatch):
    """`paper("<p>text</p>", name=value)` lays out that body on the base page for print."""

    def lay_out(body, **context):
        source = f'{{% extends "print/base.html" %}}{{% block body %}}{body}{{% endblock %}}'
        template = engines["django"].from_string(source)
        monkeypatch.setattr(printing, "render_to_string", lambda name, context: template.render(context))
        return printing.lay_out("", context, title="Tonight & tomorrow")

    return lay_out


def read(layout):
    return pypdf.PdfReader(io.BytesIO(layout.pdf()))


def test_a_print_is_tagged_titled_and_says_its_language(paper):
    catalogue = read(paper("<h1>Night</h1>"))
    assert catalogue.root_object["/MarkInfo"]["/Marked"]
    assert catalogue.root_object["/Lang"] == "en-gb"
    assert catalogue.metadata.title == "Tonight & tomorrow"


def test_text_of_users_stays_text(paper):
    page = read(paper("<h1>{{ name }}</h1>", name="<img src='file:///etc/passwd'>")).pages[0]
    assert page.extract_text() == "<img src='file:///etc/passwd'>"


@pytest.mark.parametrize(
    "address",
    [
        "file:///etc/passwd",
        "http://localhost/x.css",
        "data:text/css,p{}",
        "asset:../settings.py",
        "asset:../../etc/passwd.css",
        "asset:/etc/passwd",
        "asset:shared/plumbline.js",
        "asset:shared/nothing.css",
    ],
)
@pytest.mark.parametrize(
    "body",
    [
        '<link rel="stylesheet" href="{{ address }}">',
        '<img alt="x" src="{{ address }}">',
        '<link rel="attachment" href="{{ address }}">',
    ],
)
def test_a_print_that_fetches_anything_but_our_own_styles_is_refused(paper, body, address):
    with pytest.raises(printing.PrintingRefused):
        paper(f"<h1>x</h1>{body}", address=address).pdf()


def test_places_tell_the_page_and_the_millimetres(paper):
    layout = paper('<h1 id="top">x</h1><p id="next">y</p><h1 id="second" style="break-before: page">z</h1>')
    places = layout.places
    assert (layout.pages, places["top"].page, places["second"].page) == (2, 0, 1)
    assert places["top"].left == pytest.approx(12)  # the margins in print.css
    assert places["top"].top == pytest.approx(10)
    assert places["next"].top == pytest.approx(places["top"].bottom)


def test_a_machine_without_pango_is_told_what_to_install(monkeypatch):
    class NoPango:
        def find_spec(self, name, *rest):
            if name == "weasyprint":
                raise OSError("cannot load library 'libpango-1.0-0'")

    printing._weasyprint.cache_clear()
    monkeypatch.delitem(sys.modules, "weasyprint", raising=False)
    monkeypatch.setattr(sys, "meta_path", [NoPango(), *sys.meta_path])
    with pytest.raises(printing.PrintingUnavailable, match="apt-get install libpango"):
        printing.pdf("print/base.html", {}, title="x")
