"""Readers of lists and calendars of breaks; each gives what it found in one shape."""
