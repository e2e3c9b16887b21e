"""Foundations: settings, people and clubs, permissions, audit, jobs, printing."""

from shared.celery import app as celery_app

__all__ = ["celery_app"]
