"""What every drawing is made of: strokes and letters in ink on paper, and the document around them.

Ink is `currentColor`. Paper is white by attribute, and takes the page's own colour by the classes `paper` and
`paper-edge`.
"""

from __future__ import annotations

from xml.sax.saxutils import escape

from drills.core import glyphs
from drills.core.strokes import Route, number, path_data

PEN, THIN, FINE = 4.0, 2.5, 1.5
INK = 'stroke="currentColor"'
PAPER = 'class="paper" fill="#fff"'
PAPER_EDGE = 'class="paper-edge" stroke="#fff"'


def stroke(data: str, width: float, more: str = "") -> str:
    caps = "" if "linecap" in more else ' stroke-linecap="round"'
    return f'<path d="{data}" fill="none" {INK} stroke-width="{number(width)}"{caps} stroke-linejoin="round"{more}/>'


def filled(corners: Route) -> str:
    return f'<path d="{path_data(corners)}Z" fill="currentColor"/>'


def letters(text: str, x: float, y: float, height: float, pen: float, *, paper: bool = False) -> str:
    colour, ends = PAPER_EDGE if paper else INK, 'stroke-linecap="round" stroke-linejoin="round"'
    data = glyphs.strokes(text, x, y, height)
    return f'<path d="{data}" fill="none" {colour} stroke-width="{number(pen)}" {ends}/>'


def haloed(text: str, x: float, y: float, height: float) -> str:
    return letters(text, x, y, height, 9, paper=True) + letters(text, x, y, height, 3)


def document(width: float, height: float, body: str, title: str, desc: str, ident: str) -> str:
    named = f' aria-labelledby="{ident}-t" aria-describedby="{ident}-d"' if ident else ""
    id_t, id_d = (f' id="{ident}-t"', f' id="{ident}-d"') if ident else ("", "")
    told = f"<desc{id_d}>{escape(desc)}</desc>" if desc else ""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="diagram" viewBox="0 0 {number(width)} {number(height)}"'
        f' role="img"{named}><title{id_t}>{escape(title)}</title>{told}{body}</svg>'
    )
