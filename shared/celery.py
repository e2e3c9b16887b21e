"""Celery, configured here and nowhere else."""

from __future__ import annotations

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shared.settings")
app = Celery("plumbline")
