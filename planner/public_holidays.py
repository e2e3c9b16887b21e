"""The public holidays of a country or a part of it, as the library `holidays` knows them, in the reader's language.

They are offered, never taken by themselves: which of them are days without training is for the club to say.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from functools import cache, lru_cache
from importlib.resources import files

import holidays
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from planner.break_files.found import shortened
from planner.changes import Refused
from planner.core.calendar import Stretch
from planner.core.laying_out import Break
from planner.models import Season
from planner.night_models import LayingOut
from shared.models import Club

HOLIDAY = "holiday:"  # before the day in the UID of a break: one that a calendar gives never begins so


@cache
def countries() -> tuple[tuple[str, str], ...]:
    """Code by ISO 3166-1 and name of every country that the library knows, by name."""
    names = dict(_table("iso3166.tab"))
    known = holidays.list_supported_countries(include_aliases=False)
    return tuple(sorted(((code, names.get(code, code)) for code in known), key=lambda entry: entry[1]))


@cache
def country_of_zone(zone: str) -> str:
    """The country that a time zone lies in by the table of the zone database, "" if it names none."""
    return next((row[0] for row in _table("zone.tab") if row[2] == zone), "")


def _table(name: str) -> Iterator[list[str]]:
    """The lines of a table of the zone database (Python's tzdata brings them), in their columns."""
    text = (files("tzdata") / "zoneinfo" / name).read_text(encoding="utf-8")
    return (line.split("\t") for line in text.splitlines() if not line.startswith("#"))


@cache
def regions(country: str) -> tuple[tuple[str, str], ...]:
    """Code and name of the parts of a country that have holidays of their own, by name."""
    known = holidays.country_holidays(country)
    names: dict[str, str] = {}
    for name, code in getattr(known, "subdivisions_aliases", {}).items():
        if len(name) > 3:  # shorter ones are codes that were in use before
            names.setdefault(code, name)
    return tuple(sorted(((code, names.get(code, code)) for code in known.subdivisions), key=lambda entry: entry[1]))


def refuse_place(country: str, region: str) -> None:
    if country not in dict(countries()):
        raise Refused(
            _("“%(country)s” is no country whose holidays are known. Choose one from the list.")
            % {"country": country[:40]}
        )
    if region and region not in dict(regions(country)):
        raise Refused(
            _("“%(region)s” is no part of %(country)s. Choose one from the list, or the whole country.")
            % {"region": region[:40], "country": dict(countries())[country]}
        )


def place_of(season: Season) -> tuple[str, str]:
    """Country and region: the season's own, else those that the club chose last, else the country of its zone."""
    club: Club = season.squad.club
    chosen = LayingOut.objects.filter(season__squad__club=club).exclude(country="")
    own = chosen.filter(season=season).first() or chosen.order_by("-season__first_day", "-pk").first()
    return (own.country, own.region) if own else (country_of_zone(club.zone), "")


def holidays_in(country: str, region: str, days: Stretch) -> tuple[Break, ...]:
    """In the order of time, each a break of one day. Refused for a place that the library does not know."""
    refuse_place(country, region)
    return _known(country, region, days, get_language() or "")


@lru_cache(maxsize=256)
def _known(country: str, region: str, days: Stretch, language: str) -> tuple[Break, ...]:
    years = range(days.first.year, days.last.year + 1)
    spoken = spoken_in(country, language)
    found = holidays.country_holidays(country, subdiv=region or None, years=years, language=spoken)
    return tuple(
        Break(shortened(name), Stretch(day, day), uid_of(day)) for day, name in sorted(found.items()) if day in days
    )


def uid_of(day: dt.date) -> str:
    """By the day alone: what falls on it in another country is the same day off."""
    return f"{HOLIDAY}{day.isoformat()}"


def spoken_in(country: str, language: str) -> str | None:
    """The library's own name of the language that is nearest to the reader's; None where it has but one."""
    known = holidays.country_holidays(country).supported_languages
    wanted = language.replace("-", "_").casefold()
    exact = [name for name in known if name.casefold() == wanted]
    related = [name for name in known if name.casefold().split("_")[0] == wanted.split("_")[0]]
    return next(iter((*exact, *related, *(name for name in known if name == "en_US"))), None)
