"""What benchmarks share."""

from __future__ import annotations

import pytest
from django.template.base import Template
from django.test.utils import _TestState


@pytest.fixture(autouse=True)
def plain_templates(monkeypatch):
    """Pages drawn as on a site: the test environment otherwise copies the context of each template for its tests."""
    monkeypatch.setattr(Template, "_render", _TestState.saved_data.template_render)
