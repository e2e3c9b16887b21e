"""The kept sums of days are always those of the record, whatever is told and corrected, in whatever order."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable
from contextlib import suppress

import pytest
from django.db import transaction
from hypothesis import Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule, run_state_machine_as_test

from planner.calendar_actions import save_fixture
from planner.changes import Refused
from planner.core.record import Here, Part
from planner.declared_actions import declare_contact, note_match_elsewhere, note_match_minutes
from planner.models import Fixture, Session
from planner.record_actions import add_block, bring_back, confirm_night, correct_line, drop_rung
from planner.record_days import differences
from planner.record_models import Account, Declared, Elsewhere, MatchMinutes, PlayerDay
from planner.rpe import Occasion
from planner.rpe_actions import Told, note_rpe
from planner.session_actions import cancel_session, move_session, restore_session
from shared.core.contact import Kind
from tests import factories as f
from tests.planner.block_cast import small_block, stand
from tests.planner.record.book import DECLARED, SUMS, Book, Night, stretch

BEFORE, SUNDAY = dt.date(2026, 10, 1), dt.date(2026, 10, 11)
NOW = dt.datetime(2026, 10, 11, 20, tzinfo=f.LONDON)
OCTOBER = [dt.date(2026, 10, day) for day in range(3, 11)]
DAYS = st.sampled_from(OCTOBER)
NIGHTS, MATCHES = st.sampled_from(OCTOBER[2:7]), st.sampled_from([*OCTOBER[:2], OCTOBER[7]])  # never the same day
CARDS = {1: ("C4", 25), 2: ("C2", 50)}  # by the order of the slot
which = st.integers(0, 99)
few = st.integers(0, 15)
stays = st.tuples(st.integers(0, 12), st.integers(1, 12), st.booleans())
kinds = st.sampled_from([Kind.FULL, Kind.CONTROLLED, Kind.SET_PIECE])


class Telling(RuleBasedStateMachine):
    """`cast` is made once; each run is undone at its end. `done`: how often each kind of entry was taken."""

    cast = None
    done: Counter[str] = Counter()

    def __init__(self) -> None:
        super().__init__()
        self.undone = transaction.atomic()
        self.undone.__enter__()
        self.players = [player.pk for player in self.cast.players]
        self.by_key = {player.pk: player for player in self.cast.players}
        self.squad, self.by = self.cast.squad, self.cast.by
        nights = {night.pk: Night(night.day, planned_of(night, self.players)) for night in self.cast.nights}
        self.match = Fixture.objects.get(squad=self.squad)
        self.book = Book(nights, self.match.day)
        self.history: dict[tuple[int, str], dict[int, list]] = {}

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.undone.__exit__(None, None, None)

    # What is asked of both

    def session(self, n: int) -> Session:
        return Session.objects.select_related("squad__club").get(pk=list(self.book.nights)[n % 2])

    def night(self, session: Session) -> Night:
        return self.book.nights[session.pk]

    def spot(self, session: Session, n: int) -> str:
        night = self.night(session)
        spots = list(dict.fromkeys((*night.planned, *night.spots)))
        return spots[n % len(spots)]

    def seen(self, session: Session, spot: str) -> int | None:
        row = Account.objects.filter(session=session, spot=spot, replaced_by=None).first()
        return row.pk if row else None

    def told(self, session: Session, account: Account) -> None:
        night, spot = self.night(session), account.spot
        night.told.add(spot)
        self.history.setdefault((session.pk, spot), {})[account.pk] = night.spots[spot]

    def take(self, name: str, verb: Callable, **how):
        """What the verb made, None where it refused; then nothing may have changed."""
        with suppress(Refused), transaction.atomic():
            made = verb(**how, by=self.by)
            self.done[name] += 1
            return made

    def first_told(self, name: str, session: Session, verb: Callable, spot: str, **how) -> Account | None:
        return self.take(
            name, verb, session=session, spot=spot, seen=self.seen(session, spot), may_correct=True, now=NOW, **how
        )

    # A night

    @rule(
        n=which, at=which, minutes=few, rung=st.sampled_from(["C4", "C3", "C2", "C0"]), who=st.lists(stays, max_size=3)
    )
    def correct(self, n, at, minutes, rung, who):
        session = self.session(n)
        spot = self.spot(session, at)
        here = {
            player: (after, min(much, minutes - after), aside)
            for player, (after, much, aside) in zip(self.players, who, strict=False)
            if after < minutes
        }
        share = 0 if rung == "C0" else 40
        part = Part(
            minutes, rung, share, "C2", {p: Here(much, after, aside) for p, (after, much, aside) in here.items()}, "AB",
            "ready for it",
        )  # fmt: skip
        if account := self.first_told("correct", session, correct_line, spot, parts=[part]):
            self.night(session).spots[spot] = stretch(minutes, rung, share, here)
            self.told(session, account)

    @rule(n=which, at=which, rung=st.sampled_from(["C3", "C2", "C0"]), minute=few)
    def drop(self, n, at, rung, minute):
        session = self.session(n)
        spot = self.spot(session, at)
        if account := self.first_told("drop", session, drop_rung, spot, rung=rung, minute=minute):
            self.night(session).drop(spot, rung, minute)
            self.told(session, account)

    @rule(n=which, at=which, old=which)
    def back(self, n, at, old):
        session = self.session(n)
        spot = self.spot(session, at)
        keys = [None, *self.history.get((session.pk, spot), {})]
        key = keys[old % len(keys)]
        if account := self.first_told("back", session, bring_back, spot, account=key):
            night = self.night(session)
            night.spots[spot] = self.history[session.pk, spot][key] if key else night.as_planned(spot)
            self.told(session, account)

    @rule(n=which, minutes=few, rung=st.sampled_from(["C4", "C0", "SP4"]))
    def beside(self, n, minutes, rung):
        session = self.session(n)
        share = 0 if rung == "C0" else 30
        here = {player: Here(minutes) for player in self.players[:2] if minutes}
        parts = [Part(minutes, rung, share, "C0", here, "AB", "more of it")]
        order = 3 + sum(spot.startswith("beside") for spot in self.night(session).spots)
        how = {"parts": parts, "title": "Extra", "order": order, "may_correct": True, "now": NOW}
        if account := self.take("beside", add_block, session=session, **how):
            ran = stretch(minutes, rung, share, dict.fromkeys(here, (0, minutes, False)))
            self.night(session).spots[account.spot] = ran
            self.told(session, account)

    @rule(n=which)
    def confirm(self, n):
        session = self.session(n)
        if self.take("confirm", confirm_night, session=session, version=session.plan_version, now=NOW):
            night = self.night(session)
            night.confirm()
            for account in Account.objects.filter(session=session, replaced_by=None):
                self.told(session, account)

    @initialize(n=which, day=NIGHTS)
    def begin_elsewhere(self, n, day):
        """Most of what is drawn later binds a night to its day."""
        self.move_to(n, day)

    @rule(n=which, day=NIGHTS)
    def move(self, n, day):
        self.move_to(n, day)

    def move_to(self, n, day):
        session = self.session(n)
        at = dt.datetime.combine(day, dt.time(19), f.LONDON)
        how = {"starts_at": at, "version": session.plan_version, "today": BEFORE, "keep_plan": True}
        if self.take("move", move_session, session=session, **how):
            self.night(session).day = day

    @rule(n=which)
    def call_off_or_on(self, n):
        session = self.session(n)
        verb = restore_session if session.cancelled else cancel_session
        if self.take("call off", verb, session=session, today=BEFORE):
            self.night(session).is_off = not session.cancelled

    # Elsewhere, and matches

    @rule(who=which, day=DAYS, kind=kinds, minutes=few, old=st.none() | which)
    def declare(self, who, day, kind, minutes, old):
        key = (
            list(self.book.declared)[old % len(self.book.declared)] if old is not None and self.book.declared else None
        )
        replaces = Declared.objects.get(pk=key) if key else None
        player = replaces.player if replaces else self.by_key[self.players[who % 3]]
        how = {"day": day, "kind": kind, "minutes": minutes, "place": Elsewhere.SCHOOL, "declared_by": "PE"}
        row = self.take("declare", declare_contact, player=player, replaces=replaces, besides=True, today=SUNDAY, **how)
        if row:
            self.book.declared.pop(key, None)
            self.book.declared[row.pk] = player.pk, day, kind.value, minutes

    @rule(who=which, day=DAYS, minutes=few, clock=st.integers(9, 17), old=st.none() | which)
    def play_elsewhere(self, who, day, minutes, clock, old):
        known = list(self.book.elsewhere)
        key = known[old % len(known)] if old is not None and known else None
        replaces = MatchMinutes.objects.get(pk=key) if key else None
        player = replaces.player if replaces else self.by_key[self.players[who % 3]]
        kick_off = dt.datetime.combine(day, dt.time(clock), f.LONDON)
        how = {"kick_off": kick_off, "minutes": minutes, "opponent": "School cup", "declared_by": "PE"}
        if row := self.take("elsewhere", note_match_elsewhere, player=player, replaces=replaces, today=SUNDAY, **how):
            self.book.elsewhere.pop(key, None)
            self.book.elsewhere[row.pk] = player.pk, day, minutes

    @rule(minutes=st.lists(st.none() | few, min_size=3, max_size=3))
    def team_sheet(self, minutes):
        rows = MatchMinutes.objects.filter(fixture=self.match).counting()
        told = {
            self.by_key[player]: much for player, much in zip(self.players, minutes, strict=True) if much is not None
        }
        seen = dict(rows.values_list("player", "pk"))
        how = {"minutes": told, "seen": seen, "declared_by": "team sheet", "today": SUNDAY}
        if self.take("sheet", note_match_minutes, fixture=self.match, **how) is not None:
            for player, much in told.items():
                if self.book.sheet.get(player.pk, (None, None))[1] != much:
                    self.book.sheet[player.pk] = self.match.day, much

    @rule(day=MATCHES)
    def move_match(self, day):
        kick_off = dt.datetime.combine(day, dt.time(15), f.LONDON)
        if self.take("move match", save_fixture, fixture=self.match, kick_off=kick_off):
            self.book.match_day = day

    # How hard it was

    @rule(
        who=which, of=st.integers(0, 2), number=st.none() | st.integers(0, 10), minutes=st.none() | st.integers(1, 90)
    )
    def say(self, who, of, number, minutes):
        player = self.by_key[self.players[who % 3]]
        occasion = Occasion(fixture=self.match) if of == 2 else Occasion(session=self.session(of))
        told = Told(player, occasion, number, minutes if number is not None else None)
        name = "f" if of == 2 else occasion.name
        if self.take("say", note_rpe, told=[told], now=NOW):
            self.book.rpe.pop((player.pk, name), None)
            if number is not None:
                self.book.rpe[player.pk, name] = number, told.minutes

    # What always holds

    @invariant()
    def kept_sums_are_those_of_the_record(self):
        assert differences(self.squad, BEFORE, SUNDAY) == []

    @invariant()
    def kept_sums_are_those_counted_by_hand(self):
        rows = {(row.player_id, row.day): row for row in PlayerDay.objects.filter(player__squad=self.squad)}
        sums = {key: {name: getattr(row, name) for name in (*SUMS, *DECLARED)} for key, row in rows.items()}
        assert {key: day for key, day in sums.items() if any(day.values())} == self.book.sums()
        assert {key: row.load for key, row in rows.items() if row.load is not None} == self.book.loads()
        sure = {key for key, row in rows.items() if row.state == "confirmed"}
        assert sure == {key for key, day in self.book.sums().items() if day["minutes"]}


def planned_of(night: Session, players: list[int]) -> dict[str, list]:
    whole = dict.fromkeys(players, (0, 99, False))
    spots = {}
    for slot in night.slots.all():
        station = slot.stations.first()
        name = f"{slot.pk}.{station.drill_id}" if station else f"{slot.pk}"
        spots[name] = stretch(slot.minutes, *(CARDS[slot.order] if station else ("C0", 0)), whole)
    return spots


@pytest.fixture
def cast(squad, head):
    """Two nights with a warm-up, live tackling and bags for three players, and a match on Saturday. Without rules
    nobody has to stand aside, whatever the days between a night and the match."""
    cast = small_block(squad, players=3, weeks=1)
    squad.club.contact_rules.all().delete()
    cast.by = head
    drills = {
        order: f.DrillFactory(club=squad.club, rung=rung, contact_share=share, contacts_most=4)
        for order, (rung, share) in CARDS.items()
    }
    for n in range(2):
        for order, drill in drills.items():
            stand(cast.slot(n, order), drill, cast.players)
    f.FixtureFactory(squad=squad, kick_off=dt.datetime(2026, 10, 10, 15, tzinfo=f.LONDON))
    return cast


def test_kept_sums_follow_whatever_is_told_corrected_moved_and_confirmed(cast):
    machine = type("Telling", (Telling,), {"cast": cast, "done": Counter()})
    # Without shrinking: a failure of at most 25 steps can be read, and each further try costs seconds.
    how = settings(max_examples=25, stateful_step_count=25, derandomize=True, phases=[Phase.generate])
    run_state_machine_as_test(machine, settings=how)
    assert set(machine.done) == {
        "correct", "drop", "back", "beside", "confirm", "move", "call off", "declare", "elsewhere", "sheet",
        "move match", "say",
    }  # fmt: skip
    assert min(machine.done.values()) >= 3
