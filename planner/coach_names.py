"""Coaches are written by name on nights and stations: whose name is it?"""

from __future__ import annotations

import re

from shared.models import User


def is_named(user: User, coach: str) -> bool:
    """Whether a coach written on a station is this user: by full name, first name, login, or as T. Fenwright."""
    given, family = user.first_name.strip(), user.last_name.strip()
    own = {user.username, given, f"{given} {family}", f"{given[:1]}. {family}", f"{given[:1]} {family}"}
    names = {" ".join(name.split()).casefold() for name in re.split(r"[,;/&+]", coach)}
    return bool(names & {name.strip().casefold() for name in own if name.strip(" .")})
