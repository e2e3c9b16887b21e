"""A drill's figures in words, the same on page and card."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import ngettext_lazy

from drills.models import Drill, DrillSkill
from shared.charts import kind_words
from shared.core.contact import Kind

KIT = {
    "balls": ngettext_lazy("%d ball", "%d balls"),
    "cones": ngettext_lazy("%d cone", "%d cones"),
    "bibs": ngettext_lazy("%d bib", "%d bibs"),
    "bags": ngettext_lazy("%d tackle bag", "%d tackle bags"),
    "shields": ngettext_lazy("%d shield", "%d shields"),
    "suits": ngettext_lazy("%d tackle suit", "%d tackle suits"),
    "mats": ngettext_lazy("%d mat", "%d mats"),
    "scrum_machine": ngettext_lazy("%d scrum machine", "%d scrum machines"),
}

KIT_NAMES = {item: item.replace("_", " ") for item in KIT}


def span(least: int, ideal: int, most: int) -> str:
    """Least, best and most as a coach reads them: "4 to 24, best 12"."""
    if least == most:
        return str(least)
    return _("%(least)d–%(most)d, best %(ideal)d") % {"least": least, "most": most, "ideal": ideal}


def players(drill: Drill) -> str:
    return span(drill.players_least, drill.players_ideal, drill.players_most)


def minutes(drill: Drill) -> str:
    return _("%s min") % span(drill.minutes_least, drill.minutes_ideal, drill.minutes_most)


def grid(drill: Drill) -> str:
    size = _("%(width)d × %(length)d m") % {"width": drill.grid_width, "length": drill.grid_length}
    return f"{size} {per(drill.grid_per)}" if drill.grid_per else size


def per(players: int) -> str:
    return _("for every %d") % players if players > 1 else _("for each player")


def pieces(item: str, count: int) -> str:
    return KIT[item] % count


def kit(drill: Drill) -> str:
    """ "4 cones, 1 ball for every 4; 12 bibs in all": pieces that go with as many players stand together."""
    together: dict[int | None, list[str]] = {}
    for line in drill.kit:
        together.setdefault(line["per"], []).append(pieces(line["item"], line["count"]))
    return "; ".join(f"{', '.join(what)} {per(heads) if heads else _('in all')}" for heads, what in together.items())


def groups(drill: Drill) -> str:
    return _("everyone") if drill.groups == ["all"] else ", ".join(_group(drill, group) for group in drill.groups)


def _group(drill: Drill, group: str) -> str:
    return drill.club.names.group(group).lower()


def needs(drill: Drill) -> str:
    return ", ".join(f"{count} {_group(drill, group)}" for group, count in drill.needs.items())


def contacts(drill: Drill) -> str:
    """Contact events that one player can expect; empty where there are none."""
    least, most = drill.contacts_least, drill.contacts_most
    return "" if not most else str(most) if least == most else f"{least}–{most}"


def contact(drill: Drill) -> str:
    """What the rung counts as, and how much of the time it is; C1 is touch that no limit counts."""
    if drill.rung == "C0":
        return _("no contact")
    kind = _("touch only") if drill.kind is Kind.NONE else kind_words(drill.kind)
    return _("%(kind)s, %(share)d %% of the time") % {"kind": kind, "share": drill.contact_share}


def age(drill: Drill) -> str:
    return _("U%d and older") % drill.age_from if drill.age_from else _("any age")


def skill(taught: DrillSkill) -> str:
    only = f" ({', '.join(taught.roles)})" if taught.roles else ""
    return f"{taught.skill.name} {taught.share} %{only}"
