"""Loads in words and numbers for page and paper: a figure that is missing says why, and never reads as zero."""

from __future__ import annotations

from django.utils.formats import date_format
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from planner.core.load import Deviation, Measured, Missing, Weighted
from planner.core.load_gaps import Gap, Lack
from planner.core.rpe import Did
from planner.ledger_loads import LoadDay, PlayerLoads, ShownWeek
from planner.ledger_skills import SkillLine
from shared.charts import day_columns

A_SHOWN_BIT = 0.05  # minutes: less is none, to one decimal
MISSING = {
    Missing.NOT_KNOWN: gettext_lazy("not known"),
    Missing.UNDEFINED: gettext_lazy("undefined"),
    Missing.TOO_EARLY: gettext_lazy("too early"),
}
GAPS = {
    Gap.NO_NUMBER: gettext_lazy("no number of how hard it was"),
    Gap.NO_MINUTES: gettext_lazy("minutes not known"),
    Gap.NOT_TOLD: gettext_lazy("nobody has told yet who took part"),
}
DEVIATIONS = {
    Deviation.POPULATION: gettext_lazy("population"),
    Deviation.SAMPLE: gettext_lazy("sample"),
}


def figure(value: Measured, places: int) -> str:
    """ "640", "1.21", "not known"."""
    return str(MISSING[value]) if isinstance(value, Missing) else f"{value:.{places}f}"


def load(value: Measured) -> str:
    """In AU, without the unit."""
    return figure(value, 0)


def ratio(value: Measured) -> str:
    return figure(value, 2)


def marked(words_of_it: str, *, is_unconfirmed: bool) -> str:
    """A figure in words, with its mark where something in it stands as it was planned."""
    return _("%(figure)s, not confirmed") % {"figure": words_of_it} if is_unconfirmed else words_of_it


def unless_missing(value: Measured, *, is_unconfirmed: bool) -> bool:
    """What is not there needs no mark."""
    return is_unconfirmed and not isinstance(value, Missing)


def load_of_day(day: LoadDay) -> str:
    """Without the unit."""
    return marked(load(day.load), is_unconfirmed=unless_missing(day.load, is_unconfirmed=day.is_unconfirmed))


def monotony(shown: ShownWeek) -> str:
    return of_week(ratio(shown.figures.monotony), shown.figures.monotony, is_unconfirmed=shown.is_unconfirmed)


def strain(shown: ShownWeek) -> str:
    return of_week(load(shown.figures.strain), shown.figures.strain, is_unconfirmed=shown.is_unconfirmed)


def of_week(told: str, value: Measured, *, is_unconfirmed: bool) -> str:
    return marked(told, is_unconfirmed=unless_missing(value, is_unconfirmed=is_unconfirmed))


def coupled(shown: ShownWeek) -> str:
    return of_week(ratio(shown.ratios.coupled), shown.ratios.coupled, is_unconfirmed=shown.unsure[0])


def uncoupled(shown: ShownWeek) -> str:
    return of_week(ratio(shown.ratios.uncoupled), shown.ratios.uncoupled, is_unconfirmed=shown.unsure[0])


def weighted_ratio(shown: ShownWeek) -> str:
    value = shown.ratios.weighted
    return of_week(weighted(value), value.value, is_unconfirmed=shown.unsure[1])


def weighted(value: Weighted) -> str:
    """Marked while its start still shows."""
    told = ratio(value.value)
    young = value.is_warming_up and not isinstance(value.value, Missing)
    return _("%(ratio)s, warming up") % {"ratio": told} if young else told


def deviation(value: Deviation) -> str:
    return str(DEVIATIONS[value])


def what(occasion: str) -> str:
    """Of the name of a night or a match."""
    if occasion.startswith("elsewhere"):
        return _("match elsewhere")
    if occasion.startswith("declared"):
        return _("training elsewhere")
    return _("training") if occasion.startswith("s") else _("match")


def lack(found: Lack) -> str:
    return f"{what(found.occasion)}: {GAPS[found.gap]}"


def lacks(day: LoadDay) -> str:
    return "; ".join(dict.fromkeys(lack(each) for each in day.lacks))


def done(day: LoadDay) -> str:
    """ "training 6 × 78 min, match 8 × 80 min"."""
    return ", ".join(part(name, did) for name, did in sorted(day.did.items()))


def part(occasion: str, did: Did) -> str:
    rpe, minutes = ("?" if number is None else number for number in (did.rpe, did.minutes))
    told = {"what": what(occasion), "rpe": rpe, "minutes": minutes}
    if did.is_planned:
        return _("%(what)s %(rpe)s × %(minutes)s min as planned") % told
    return _("%(what)s %(rpe)s × %(minutes)s min") % told


def week(shown: ShownWeek) -> str:
    """The load of a week; where a day is missing, what is known and how much is not; so far, while it runs."""
    found = shown.figures
    return week_load(found.load, found.so_far, found.days_not_known, is_unconfirmed=shown.is_unconfirmed)


def week_load(whole: Measured, known: float, open_days: int, *, is_unconfirmed: bool) -> str:
    told = week_as_known(whole, known, open_days)
    return _("%(load)s; of nights not confirmed, as planned") % {"load": told} if is_unconfirmed else told


def week_as_known(whole: Measured, known: float, open_days: int) -> str:
    if not isinstance(whole, Missing):
        return _("%(load)s AU") % {"load": load(whole)}
    so_far = {"load": load(known), "days": open_days}
    if not open_days:
        return _("%(load)s AU so far") % so_far
    return (
        ngettext(
            "not all answered: %(load)s AU known, %(days)s day is not",
            "not all answered: %(load)s AU known, %(days)s days are not",
            open_days,
        )
        % so_far
    )


def chart(loads: PlayerLoads) -> SafeString:
    days = [
        (
            day.load if day.is_known else None,
            f"{date_format(day.day, 'D j M')}: {day_words(day)}",
            not day.day.weekday(),
        )
        for day in loads.days
    ]
    return day_columns(days, chart_words(loads)) if days else SafeString("")


def chart_words(loads: PlayerLoads) -> str:
    known = [day for day in loads.days if day.is_known]
    trained = [day.load for day in known if day.load]
    words = {
        "days": len(loads.days),
        "worked": len(trained),
        "rest": len(known) - len(trained),
        "open": len(loads.days) - len(known),
        "most": load(max(trained, default=0.0)),
        "unconfirmed": sum(day.is_unconfirmed for day in known),
    }
    told = (
        _("%(days)s days: %(worked)s with a load, the most %(most)s AU; %(rest)s of rest; %(open)s not known") % words
    )
    if not words["unconfirmed"]:
        return told
    return f"{told}; " + _("%(unconfirmed)s by minutes as planned, not confirmed") % words


def day_words(day: LoadDay) -> str:
    if not day.is_known:
        return load(day.load)
    return marked(_("%(load)s AU") % {"load": load(day.load)}, is_unconfirmed=day.is_unconfirmed)


def minutes_words(line: SkillLine) -> str:
    return against(line.figure.minutes, line.figure.target)


def unconfirmed_words(minutes: float) -> str:
    """Of minutes, how many are of nights that nobody has confirmed; "" where none are."""
    return _("%(minutes)s of these not confirmed") % {"minutes": tenth(minutes)} if minutes >= A_SHOWN_BIT else ""


def open_words(line: SkillLine) -> str:
    """What stands beside the minutes: how many are not confirmed, and what is planned of a night just over."""
    planned = _("+ %(minutes)s planned, night still open") % {"minutes": tenth(line.planned)} if line.planned else ""
    return "; ".join(filter(None, (unconfirmed_words(line.figure.unconfirmed), planned)))


def against(minutes: float, target: float) -> str:
    shown = {"minutes": tenth(minutes), "target": tenth(target)}
    if target:
        return _("%(minutes)s of %(target)s min") % shown
    return _("%(minutes)s min, no target") % shown


def tenth(minutes: float) -> str:
    return f"{minutes:.1f}".removesuffix(".0")


def since(line: SkillLine, looked_back: int = 52) -> str:
    """Since it was trained last, which may be on a night that is not confirmed."""
    return marked(since_in_weeks(line.weeks, looked_back), is_unconfirmed=line.figure.is_last_unconfirmed)


def since_in_weeks(weeks: int | None, looked_back: int) -> str:
    if weeks is None:
        return _("not in %(weeks)s weeks") % {"weeks": looked_back}
    if not weeks:
        return _("this week")
    return ngettext("%(weeks)s week ago", "%(weeks)s weeks ago", weeks) % {"weeks": weeks}
