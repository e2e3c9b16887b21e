"""A squad of some players, a Friday on which their week is looked at, and drills of any minutes."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field

from planner.models import Place, Session, Slot, Station
from squads.models import Clearance, Player, Squad
from tests import factories as f

MONDAY = dt.date(2026, 10, 5)
FRIDAY = dt.date(2026, 10, 9)
NEXT_MONDAY = dt.date(2026, 10, 12)


@dataclass
class WelfareCast:
    """`tuesday` and `thursday` are nights of the week of MONDAY."""

    squad: Squad
    players: list[Player]
    tuesday: Session
    thursday: Session
    orders: dict[int, int] = field(default_factory=dict)

    def contact(self, session: Session, hundredths: int, players: list[Player], kind: str = "C4") -> Station:
        """A station at which these players have so many hundredths of a minute of contact, past all rules."""
        minutes = -(-hundredths // 100)
        order = self.orders[session.pk] = self.orders.get(session.pk, 20) + 1
        slots, rest = [(minutes - 1, 100)] if minutes > 1 else [], hundredths - 100 * (minutes - 1)
        for place, (length, share) in enumerate([*slots, (1, rest)]):
            slot = Slot.objects.create(session=session, order=1000 * place + order, minutes=length)
            drill = f.DrillFactory(club=self.squad.club, rung=kind, contact_share=share, contacts_most=4)
            station = Station.objects.create(slot=slot, drill=drill)
            Place.objects.bulk_create(Place(station=station, slot=slot, player=player) for player in players)
        return station

    def restrict(self, player: Player, level: str = "none", day: dt.date = MONDAY) -> Clearance:
        return Clearance.objects.create(
            player=player, level=level, from_day=day, decided_by="Robin Ash", decided_as="physio", decided_on=day
        )


def night(squad: Squad, day: dt.date, **fields: object) -> Session:
    starts = dt.datetime.combine(day, dt.time(19), f.LONDON)
    return f.SessionFactory(squad=squad, starts_at=starts, slots=[(10, "Warm-up")], **fields)


def welfare_cast(squad: Squad, players: int = 6, **rules: object) -> WelfareCast:
    f.ContactRulesFactory(club=squad.club, **rules)
    return WelfareCast(
        squad,
        [f.PlayerFactory(squad=squad, main_position=n % 15 + 1) for n in range(players)],
        night(squad, MONDAY + dt.timedelta(days=1), coach_names=["Ash", "Bo"], first_aider="Cy Wren"),
        night(squad, MONDAY + dt.timedelta(days=3), coach_names=["Ash"]),
    )
