"""Small pieces of HTTP that every app uses."""

from __future__ import annotations

from urllib.parse import urlencode

from django.conf import settings
from django.forms.renderers import TemplatesSetting
from django.http import HttpResponse


class FormRenderer(TemplatesSetting):
    """Django's own forms in our templates: label, help, error and field tied together for screen readers."""

    form_template_name = "partials/form.html"
    field_template_name = "partials/field.html"


def download(content: bytes | str, filename: str, content_type: str, *, inline: bool = False) -> HttpResponse:
    """A file; a PDF may open in place so that a phone shows it."""
    response = HttpResponse(content, content_type=content_type)
    place = "inline" if inline else "attachment"
    response["Content-Disposition"] = f'{place}; filename="{filename}"'
    return response


def on_site(path: str, site: str = "") -> str:
    """The whole address for paper and command line: at `site`, like "https://plumbline.example", else SITE_ADDRESS."""
    return (site or settings.SITE_ADDRESS).rstrip("/") + path


def with_query(path: str, **values: object) -> str:
    return f"{path}?{urlencode({key: value for key, value in values.items() if value not in (None, '')})}"
