"""What day it is at a club: its own calendar decides, not the server's."""

from __future__ import annotations

import datetime as dt

from django.utils import timezone

from shared.models import Club


def today_at(club: Club) -> dt.date:
    return timezone.localdate(timezone=club.tzinfo)
