"""Foundations: settings, people and clubs, permissions, audit, jobs, printing."""
