"""Printing: what a page may fetch, what it says of itself, and where things come to lie."""

import io
import os
import re
import socket
import subprocess
import sys
import time

import pypdf
import pytest
from django.conf import settings
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


# What Typst sets


@pytest.fixture
def leaf(monkeypatch, tmp_path):
    """`leaf("#data.text", text=...)` sets that body with that data."""
    monkeypatch.setattr(printing, "TEMPLATES", tmp_path / "print")
    (tmp_path / "print").mkdir()
    (tmp_path / "secret.txt").write_text("secret")

    def typeset(body, **data):
        start = (
            '#set document(title: "Cards", date: none)\n#set text(lang: "en")\n'
            "#let data = json(bytes(sys.inputs.data))\n= Card\n"
        )
        (tmp_path / "print" / "leaf.typ").write_text(start + body)
        return printing.typeset("leaf.typ", data)

    return typeset


def words_of(pdf):
    return pypdf.PdfReader(io.BytesIO(pdf)).pages[0].extract_text()


def test_a_set_leaf_is_tagged_titled_and_says_its_language(leaf):
    reader = pypdf.PdfReader(io.BytesIO(leaf("x")))
    assert reader.root_object["/MarkInfo"]["/Marked"]
    assert reader.root_object["/Lang"] == "en"
    assert reader.metadata.title == "Cards"


def test_the_same_data_give_the_same_bytes_a_second_later_too(leaf):
    first = leaf("#data.text", text="x")
    time.sleep(1.1)
    assert leaf("#data.text", text="x") == first


def test_every_template_of_a_document_leaves_the_time_out_of_it():
    texts = [template.read_text() for template in printing.TEMPLATES.glob("*.typ")]
    documents = [found for text in texts for found in re.findall(r"#set document\((.*)\)", text)]
    assert documents  # without a title the engine refuses a document, so that each has such a line
    assert all("date: none" in settings for settings in documents)


@pytest.mark.parametrize("text", ['#panic("x")', "*bold* _it_ $x$ `c` @x <y> \\\\ // c", '"#read("../secret.txt")'])
def test_data_is_never_read_as_markup(leaf, text):
    assert text.replace(" ", "") in words_of(leaf("#data.text", text=text)).replace(" ", "")


@pytest.mark.parametrize("path", ["../secret.txt", "/../secret.txt", "/etc/passwd"])
def test_a_template_reads_nothing_outside_its_folder(leaf, path):
    with pytest.raises(printing.PrintingRefused):
        leaf(f'#read("{path}")')


@pytest.mark.parametrize("href", ["file:///etc/passwd", "http://127.0.0.1:9/x.png", "../secret.txt", "/etc/passwd"])
def test_a_drawing_that_points_elsewhere_is_refused_or_left_empty(leaf, href):
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><image href="{href}" width="9" height="9"/></svg>'
    try:
        pdf = leaf('#image(bytes(data.svg), format: "svg", alt: "x")', svg=svg)
    except printing.PrintingRefused:
        return
    assert b"secret" not in pdf
    assert not [page.images for page in pypdf.PdfReader(io.BytesIO(pdf)).pages if page.images]


def test_only_our_own_fonts_set_what_they_can(leaf):
    page = pypdf.PdfReader(
        io.BytesIO(leaf('#set text(font: "DejaVu Sans")\n#data.text', text="Größe 5–8 ✗ → •"))
    ).pages[0]
    fonts = {font.get_object()["/BaseFont"].split("+")[1] for font in page["/Resources"]["/Font"].values()}
    assert fonts <= {"DejaVuSansCondensed", "DejaVuSansCondensed-Bold"}


def test_letters_that_no_font_has_are_named(leaf):
    with pytest.raises(printing.Unprintable) as refusal:
        leaf("#data.text", text="a \ue123 b")
    assert refusal.value.text == "\ue123"


def test_a_figure_without_words_is_refused_by_the_engine(leaf):
    """PDF/UA-1 (ISO 14289-1): the engine itself checks for what it is asked for."""
    with pytest.raises(printing.PrintingRefused, match="alt"):
        leaf("#image(bytes(\"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 1 1'/>\"), format: \"svg\")")


def test_a_place_that_is_too_full_is_told_with_by_how_much(leaf):
    with pytest.raises(printing.Overfull) as refusal:
        leaf('#panic("overfull", ("3": 12.5, "17": 2.0))')
    assert refusal.value.past == {3: 12.5, 17: 2.0}


FETCHING = """
import sys, json
from pathlib import Path
import django
django.setup()
from shared import printing
printing.TEMPLATES = Path(sys.argv[1])
try:
    printing.typeset(sys.argv[2], {"text": "http://example.invalid/x @preview/x:1.0.0"})
except printing.PrintingRefused as refusal:
    print(refusal)
"""


def test_a_print_fetches_nothing(tmp_path):
    """A proxy that counts its callers: none for a print; the one that asks for a package shows that it counts."""
    start = '#set document(title: "x")\n#set text(lang: "en")\n= x\n#json(bytes(sys.inputs.data)).text\n'
    (tmp_path / "plain.typ").write_text(start)
    (tmp_path / "package.typ").write_text('#import "@preview/nothing:1.0.0": *\n' + start)
    with socket.create_server(("127.0.0.1", 0)) as proxy:
        proxy.settimeout(0.2)
        address = f"http://127.0.0.1:{proxy.getsockname()[1]}"
        env = os.environ | dict.fromkeys(("HTTPS_PROXY", "HTTP_PROXY", "https_proxy", "http_proxy"), address)
        env |= {"DJANGO_SETTINGS_MODULE": "shared.settings", "VAR_DIR": str(tmp_path), "NO_PROXY": "", "no_proxy": ""}
        called = {name: callers(proxy, name, tmp_path, env) for name in ("plain.typ", "package.typ")}
    assert called == {"plain.typ": 0, "package.typ": 1}


def callers(proxy, name, folder, env):
    """How often the proxy is called, each time hung up on at once."""
    count = 0
    process = subprocess.Popen([sys.executable, "-c", FETCHING, str(folder), name], env=env, cwd=settings.BASE_DIR)
    while process.poll() is None:
        try:
            proxy.accept()[0].close()
            count += 1
        except TimeoutError:
            continue
    return min(count, 1)
