"""Explanations checked by force: every single move tried one by one, judged by the referee and the cost alone."""

from __future__ import annotations

import json
import random
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.core.check import breaches, cost, tally
from planner.core.explain import Explanation, Reason, Short, explain
from planner.core.moves import Kind, Move
from planner.core.prices import Rule, Served
from planner.core.problem import Drill, Lock, Player, Problem, Session, Station, Target
from tests.planner.core import cases
from tests.planner.core.cases import drill, problem, session

SEEDS = st.integers(0, 10**6)
SMALL = settings(max_examples=60, deadline=None)
EXACT = 1e-6


def drawn(seed: int) -> tuple[Problem, tuple[Station, ...]]:
    """A small random problem, and stations thrown in at random as long as no rule is broken."""
    rng = random.Random(seed)
    built = cases.roomy_problem(rng) if rng.random() < 0.5 else cases.random_problem(rng)
    built = cases.with_misses(rng, built) if rng.random() < 0.4 else built
    known = Problem.from_json(built | {"locks": []})
    stations: tuple[Station, ...] = ()
    for _ in range(40):
        stations = one_more(rng, known, stations)
    stations = bettered(known, stations) if rng.random() < 0.5 else stations
    held = tuple(lock_of(rng, station) for station in stations if rng.random() < 0.15)
    return replace(known, locks=held), stations


def one_more(rng: random.Random, known: Problem, stations: tuple[Station, ...]) -> tuple[Station, ...]:
    night = rng.choice(known.sessions)
    slot = rng.randrange(len(night.slots))
    busy = {p for s in stations if (s.session, s.slot) == (night.id, slot) for p in s.players}
    free = [player.id for player in known.players if player.id not in busy]
    crew = rng.sample(free, rng.randint(min(1, len(free)), len(free)))
    wanted = (*stations, Station(night.id, slot, rng.choice(known.drills).id, tuple(crew)))
    return stations if breaches(known, wanted) else wanted


def bettered(known: Problem, stations: tuple[Station, ...]) -> tuple[Station, ...]:
    """So that no single move pays any more, as in a plan that has been searched for: most shorts have a price then."""
    for _ in range(30):
        moves = explain(known, stations).moves
        paying = [row for row in range(len(moves.table)) if not moves.table.bars[row]]
        best = min(paying, key=lambda row: moves.table.change[row], default=None)
        if best is None or moves.table.change[best] > -EXACT:
            break
        stations = moves.move(moves.table, best).applied(stations)
    return stations


def lock_of(rng: random.Random, station: Station) -> Lock:
    held = tuple(player for player in station.players if rng.random() < 0.3)
    return Lock(station.session, station.slot, station.drill, held)


def seen(seed: int) -> Explanation:
    return explain(*drawn(seed))


# --- every single move, by force ----------------------------------------------------------------------


def by_hand(known: Problem, stations: tuple[Station, ...]) -> Iterator[tuple[Station, ...]]:
    """The plan after each single move: a player to another station, two change places, another drill."""
    for night in known.sessions:
        for slot in range(len(night.slots)):
            here = [s for s in stations if (s.session, s.slot) == (night.id, slot)]
            there = [p.id for p in known.players if known.is_there(p.id, night.id, slot)]
            yield from (moved(stations, here, {p: s}) for p in there for s in here if p not in s.players)
            yield from exchanged(stations, here, there)
            for s in here:
                others = (d.id for d in known.drills if d.id != s.drill and s.players)
                yield from (tuple(replace(x, drill=d) if x is s else x for x in stations) for d in others)


def exchanged(stations: tuple[Station, ...], here: list[Station], there: list[str]) -> Iterator[tuple[Station, ...]]:
    at = {p: next((s for s in here if p in s.players), None) for p in there}
    for n, p in enumerate(there):
        for q in there[n + 1 :]:
            if at[p] is not at[q]:
                yield moved(stations, here, {p: at[q], q: at[p]})


def moved(stations: tuple[Station, ...], here: list[Station], goes: dict[str, Station | None]) -> tuple[Station, ...]:
    def after(s: Station) -> Station:
        stay = tuple(p for p in s.players if p not in goes)
        return replace(s, players=stay + tuple(p for p, to in goes.items() if to is s))

    return tuple(after(s) if any(s is x for x in here) else s for s in stations)


def minutes_of(known: Problem, stations: tuple[Station, ...], target: Target) -> float:
    return sum(
        known.minutes(s) * known.share(target.player, s.drill, target.skill)
        for s in stations
        if target.player in s.players
    )


def same(plan: tuple[Station, ...]) -> frozenset[tuple[str, int, str, frozenset[str]]]:
    return frozenset((s.session, s.slot, s.drill, frozenset(s.players)) for s in plan)


@SMALL
@given(SEEDS)
def test_the_change_of_every_move_is_what_the_independent_cost_says(seed: int) -> None:
    found = seen(seed)
    before, table = cost(found.problem, found.stations).total, found.moves.table
    for row in range(len(table)):
        after = found.moves.move(table, row).applied(found.stations)
        assert cost(found.problem, after).total - before == pytest.approx(table.change[row], abs=EXACT)


@SMALL
@given(SEEDS)
def test_a_move_is_barred_exactly_when_the_referee_refuses_it(seed: int) -> None:
    found = seen(seed)
    table = found.moves.table
    for row in range(len(table)):
        after = found.moves.move(table, row).applied(found.stations)
        assert bool(table.bars[row]) == bool(breaches(found.problem, after))


@SMALL
@given(SEEDS)
def test_no_single_move_is_overlooked(seed: int) -> None:
    found = seen(seed)
    table = found.moves.table
    told = {
        same(found.moves.move(table, row).applied(found.stations))
        for row in range(len(table))
        if table.kind[row] != Kind.OPEN
    }
    assert told == {same(plan) for plan in by_hand(found.problem, found.stations)}


# --- why short ----------------------------------------------------------------------------------------


def alone(known: Problem, short: Short, stations: tuple[Station, ...], place: tuple[str, int, str]) -> set[str]:
    """The rules that he himself would break at the place, with every rule about stations and other players away."""
    player = short.target.player
    mine = [replace(s, players=(player,)) for s in stations if player in s.players]
    there = [*(s for s in mine if (s.session, s.slot) != place[:2]), Station(*place, (player,))]
    lonely = replace(
        known,
        drills=tuple(replace(d, players=(1, 1), needs={}, coaches=0, area=0, kit={}) for d in known.drills),
        sessions=tuple(replace(s, stations=1) for s in known.sessions),
        limits=replace(known.limits, repeats_per_week=None),
        locks=(),
    )
    found = breaches(lonely, there)
    return {
        breach.rule
        for breach in found
        if breach.rule in {"H5", "H6", "H7"} or (breach.rule == "H9" and (breach.session, breach.slot) == place[:2])
    }


def could_run(known: Problem, which: Drill, night: Session, slot: int) -> bool:
    """Read off the rules: H2 and H17 (who could stand there), H3 and H4 for the drill alone."""
    there = [p for p in known.players if known.is_there(p.id, night.id, slot)]
    fits = [p for p in there if p.has(which.roles) and known.ceiling(p.id, night.id).allows(which.kind)]
    return (
        which.minutes[0] <= night.slots[slot] <= which.minutes[1]
        and len(fits) >= which.players[0]
        and all(sum(role in p.roles for p in fits) >= n for role, n in which.all_needs().items())
        and which.coaches <= night.coaches
        and which.area <= night.area
        and all(n <= night.kit.get(item, 0) for item, n in which.kit.items())
        and known.limits.repeats_per_week != 0
    )


def fitting_places(known: Problem, short: Short) -> list[tuple[str, int, str]]:
    """Where a drill that is for him trains the skill."""
    who: Player = known.player(short.target.player)
    return [
        (night.id, slot, which.id)
        for night in known.sessions
        for slot in range(len(night.slots))
        if known.is_there(who.id, night.id, slot)
        for which in known.drills
        if which.share_for(who, short.target.skill) > 0 and who.has(which.roles)
        if could_run(known, which, night, slot)
    ]


def is_better(known: Problem, short: Short, stations: tuple[Station, ...], place: tuple[str, int, str]) -> bool:
    player, skill = short.target.player, short.target.skill
    now = next((s.drill for s in stations if (s.session, s.slot) == place[:2] and player in s.players), None)
    return known.share(player, place[2], skill) > (known.share(player, now, skill) if now else 0) + EXACT


def by_force(known: Problem, stations: tuple[Station, ...], short: Short) -> Reason:
    """The reason worked out without anything that planner.core.explain is made of."""
    slots = [(night.id, slot) for night in known.sessions for slot in range(len(night.slots))]
    if not any(known.is_there(short.target.player, *slot) for slot in slots):
        return Reason.NEVER_PRESENT
    places = fitting_places(known, short)
    if not places:
        return Reason.NO_DRILL
    barred = [alone(known, short, stations, place) for place in places if is_better(known, short, stations, place)]
    if not barred:
        return Reason.NO_TIME
    for reason, rules in (
        (Reason.CEILING, {"H5"}),
        (Reason.CONTACT_LIMIT, {"H5", "H6", "H7"}),
        (Reason.LADDER, {"H5", "H6", "H7", "H9"}),
    ):
        if all(rules & broken for broken in barred):
            return reason
    return by_moves(known, stations, short)


def by_moves(known: Problem, stations: tuple[Station, ...], short: Short) -> Reason:
    helping = [
        plan
        for plan in by_hand(known, stations)
        if minutes_of(known, plan, short.target) > short.minutes + EXACT and not breaches(known, plan)
    ]
    if not helping:
        return Reason.NO_ROOM
    bands = tuple(band for band in known.bands if band.player != short.target.player)
    for reason, judged in (
        (Reason.ONE_MOVE, known),
        (Reason.LOAD_BAND, replace(known, bands=bands)),
    ):
        before = cost(judged, stations).total
        if any(cost(judged, plan).total < before - EXACT for plan in helping):
            return reason
    return Reason.OTHERS_FIRST


@SMALL
@given(SEEDS)
def test_every_reason_is_the_one_found_by_force(seed: int) -> None:
    found = seen(seed)
    for short in found.shorts:
        if opens_a_station(short):
            continue  # planner.core.explain also looks at new stations: tested below
        assert short.reason == by_force(found.problem, found.stations, short)


def opens_a_station(short: Short) -> bool:
    return short.offer is not None and short.offer.move.kind is Kind.OPEN


@SMALL
@given(SEEDS)
def test_an_offer_is_a_plan_that_the_referee_accepts_at_exactly_that_change(seed: int) -> None:
    found = seen(seed)
    for short in (short for short in found.shorts if short.offer):
        after = short.offer.move.applied(found.stations)
        assert breaches(found.problem, after) == []
        gained = minutes_of(found.problem, after, short.target) - short.minutes
        assert gained == pytest.approx(short.offer.minutes, abs=EXACT)
        assert gained > 0
        change = cost(found.problem, after).total - cost(found.problem, found.stations).total
        assert change == pytest.approx(short.offer.change, abs=EXACT)
        assert (change < -EXACT) == (short.reason is Reason.ONE_MOVE)


@SMALL
@given(SEEDS)
def test_the_shorts_are_those_of_the_tally(seed: int) -> None:
    found = seen(seed)
    told = sorted((each.target.player, each.target.skill, round(each.short, 6)) for each in found.shorts)
    counted = sorted(
        (each.player, skill.skill, round(skill.short, 6))
        for each in tally(found.problem, found.stations)
        for skill in each.skills
        if skill.short > EXACT
    )
    assert told == counted


# --- what the rules keep out --------------------------------------------------------------------------


@SMALL
@given(SEEDS)
def test_a_price_is_reached_by_a_plan_that_only_the_looser_rule_accepts(seed: int) -> None:
    found = seen(seed)
    for price in found.prices:
        after, looser = price.move.applied(found.stations), price.relaxed(found.problem)
        assert breaches(looser, after) == []
        assert breaches(found.problem, after)
        change = cost(looser, after).total - cost(looser, found.stations).total
        assert change == pytest.approx(price.change, abs=EXACT)
        assert change < 0


@SMALL
@given(SEEDS)
def test_one_unit_less_would_not_do(seed: int) -> None:
    found = seen(seed)
    for price in found.prices:
        tighter = replace(price, amount=price.amount - 1).relaxed(found.problem)
        assert breaches(tighter, price.move.applied(found.stations))


@SMALL
@given(SEEDS)
def test_whom_a_price_serves_is_as_much_less_short(seed: int) -> None:
    found = seen(seed)
    for price in (price for price in found.prices if price.rule is Rule.ROOM):
        after = price.move.applied(found.stations)
        eased = less_short(found.problem, found.stations, after)
        told = {each.player: each.minutes for each in price.served}
        assert told == pytest.approx({p: m for p, m in eased.items() if m > EXACT and p in price.move.players})


def less_short(known: Problem, before: tuple[Station, ...], after: tuple[Station, ...]) -> dict[str, float]:
    was, now = (
        {each.player: sum(skill.short for skill in each.skills) for each in tally(known, plan)}
        for plan in (before, after)
    )
    return {player: was[player] - now[player] for player in was}


@SMALL
@given(SEEDS)
def test_one_more_slot_is_filled_as_told(seed: int) -> None:
    found = seen(seed)
    for extra in found.more_time:
        looser, after = extra.relaxed(found.problem), (*found.stations, *extra.stations)
        assert breaches(looser, after) == []
        change = cost(looser, after).total - cost(found.problem, found.stations).total
        assert change == pytest.approx(extra.change, abs=EXACT)
        assert change < 0
        gains = less_short(looser, found.stations, after)
        assert extra.eased == pytest.approx({p: minutes for p, minutes in gains.items() if minutes > EXACT})


# --- why this drill -----------------------------------------------------------------------------------


@SMALL
@given(SEEDS)
def test_a_station_is_worth_what_its_plan_would_cost_more_without_it(seed: int) -> None:
    found = seen(seed)
    before = cost(found.problem, found.stations).total
    for station in found.stations:
        left = tuple(other for other in found.stations if other is not station)
        worth = cost(found.problem, left).total - before
        assert found.why(station).without == pytest.approx(worth, abs=EXACT)


@SMALL
@given(SEEDS)
def test_the_runner_up_is_the_best_drill_that_the_referee_accepts_in_its_place(seed: int) -> None:
    found = seen(seed)
    before = cost(found.problem, found.stations).total
    for station in (station for station in found.stations if station.players):
        plans = [
            tuple(replace(x, drill=other.id) if x is station else x for x in found.stations)
            for other in found.problem.drills
            if other.id != station.drill
        ]
        costs = [cost(found.problem, plan).total - before for plan in plans if not breaches(found.problem, plan)]
        why = found.why(station)
        assert (why.runner_up is None) == (not costs)
        assert why.against == pytest.approx(min(costs, default=0), abs=EXACT)


@SMALL
@given(SEEDS)
def test_what_a_station_trains_is_what_its_players_would_be_shorter_of(seed: int) -> None:
    found = seen(seed)
    for station in found.stations:
        left = tuple(other for other in found.stations if other is not station)
        worse = -sum(less_short(found.problem, found.stations, left).values())
        assert sum(each.minutes for each in found.why(station).trained) == pytest.approx(worse, abs=EXACT)


def test_a_station_that_the_plan_does_not_hold_has_no_reason() -> None:
    with pytest.raises(KeyError):
        seen(1).why(Station("nowhere", 0, "nothing", ()))


# --- by hand ------------------------------------------------------------------------------------------


def live(**given: object) -> dict[str, object]:
    return drill("live", contact={"kind": "full", "share": 0.5}, **given)


def wished(minutes: int, *players: str) -> list[dict[str, object]]:
    return [
        {"player": player, "skill": "tackle", "minutes": minutes, "weight": 1, "weekly": False}
        for player in players or ("ann",)
    ]


def told(built: dict[str, object], *stations: Station, over: tuple[str, ...] = ()) -> list[Reason]:
    return [short.reason for short in explain(Problem.from_json(built), stations, over).shorts]


def test_who_is_away_all_block_was_never_present() -> None:
    assert told(problem(targets=wished(10), ceilings={"ann": {"s1": "absent"}})) == [Reason.NEVER_PRESENT]


def test_nights_that_are_over_offer_nothing_more() -> None:
    assert told(problem(targets=wished(10)), over=("s1",)) == [Reason.NEVER_PRESENT]


def test_a_skill_that_no_drill_of_the_right_length_trains_has_no_drill() -> None:
    assert told(problem(targets=wished(10), drills=[drill("free", minutes=[25, 30])])) == [Reason.NO_DRILL]


def test_who_does_the_best_drill_all_night_has_no_time_left() -> None:
    """30 minutes at half a share are 15 of the 20 wished for."""
    both = [drill("a"), drill("b")]
    stations = Station("s1", 0, "a", ("ann",)), Station("s1", 1, "b", ("ann",))
    assert told(problem(targets=wished(20), drills=both), *stations) == [Reason.NO_TIME]


def test_who_may_do_no_contact_is_stopped_by_his_ceiling() -> None:
    built = problem(targets=wished(10), drills=[live()], ceilings={"ann": {"s1": "controlled"}})
    assert told(built) == [Reason.CEILING]


def test_a_spent_week_is_a_contact_limit() -> None:
    """Ten minutes of live work hold five of full contact; three of the seven are gone."""
    players = [{"id": "ann", "roles": ["all"], "accrued": {"0": {"full": 3}}}, {"id": "bea", "roles": ["all"]}]
    built = problem(players=players, targets=wished(10), drills=[live()], limits={"weekly": {"full": 7}})
    assert told(built) == [Reason.CONTACT_LIMIT]


def test_a_rung_that_was_not_earned_is_a_ladder() -> None:
    built = problem(
        targets=wished(10),
        drills=[drill("high", ladder="tackle", rung=2)],
        limits={"ladder": {"minutes": 15, "days": 28}},
    )
    assert told(built) == [Reason.LADDER]


def test_a_full_station_that_nobody_can_leave_has_no_room() -> None:
    only = drill("free", players=[1, 1])
    built = problem(
        targets=wished(10, "ann"),
        drills=[only],
        sessions=[session("s1", 0, slots=[10])],
        locks=[{"session": "s1", "slot": 0, "drill": "free", "players": ["bea"]}],
    )
    assert told(built, Station("s1", 0, "free", ("bea",))) == [Reason.NO_ROOM]


def test_an_open_place_that_only_helps_is_one_move_away() -> None:
    built = problem(targets=wished(10), sessions=[session("s1", 0, slots=[10])])
    assert told(built, Station("s1", 0, "free", ("bea",))) == [Reason.ONE_MOVE]


def test_a_move_that_only_the_load_forbids_is_a_load_band() -> None:
    """Five minutes less short, below half of the target twice: 10; 40 AU too much at 3 a unit of 10: 12."""
    built = problem(
        targets=wished(10),
        sessions=[session("s1", 0, slots=[10])],
        bands=[{"player": "ann", "week": 0, "low": 0, "high": 0, "weight": 3}],
    )
    assert told(built, Station("s1", 0, "free", ("bea",))) == [Reason.LOAD_BAND]


def test_a_place_that_somebody_else_needs_as_much_went_to_others_first() -> None:
    built = problem(
        targets=wished(10, "ann", "bea"),
        drills=[drill("free", players=[1, 1])],
        sessions=[session("s1", 0, slots=[10])],
    )
    assert told(built, Station("s1", 0, "free", ("bea",))) == [Reason.OTHERS_FIRST, Reason.NO_TIME]


def test_the_price_of_a_contact_limit_is_the_minutes_that_let_a_player_in() -> None:
    """Ten minutes of live work hold five of full contact; one of the five is gone. Ann's 5 min of tackling save 10."""
    spent = {"id": "ann", "roles": ["all"], "accrued": {"0": {"full": 1}}}
    built = problem(
        players=[spent, {"id": "bea", "roles": ["all"]}],
        targets=wished(10),
        drills=[live()],
        sessions=[session("s1", 0, slots=[10])],
        limits={"weekly": {"full": 5}},
    )
    (price,) = explain(Problem.from_json(built), (Station("s1", 0, "live", ("bea",)),)).prices
    assert (price.rule, price.thing, price.amount, price.change) == (Rule.WEEKLY, "full", 1, -10)
    assert price.served == (Served("ann", 5),)
    assert price.move == Move(Kind.JOIN, "s1", 0, "live", ("ann",))


def test_the_price_of_a_ladder_is_the_minutes_that_lack() -> None:
    """Bea has her fifteen minutes at rung one, ann has ten."""
    done = {name: {"tackle:1": [["2026-01-01", minutes]]} for name, minutes in (("ann", 10), ("bea", 15))}
    built = problem(
        players=[{"id": name, "roles": ["all"], "done": done[name]} for name in done],
        targets=wished(10),
        drills=[drill("high", ladder="tackle", rung=2)],
        sessions=[session("s1", 0, slots=[10])],
        limits={"ladder": {"minutes": 15, "days": 28}},
    )
    (price,) = explain(Problem.from_json(built), (Station("s1", 0, "high", ("bea",)),)).prices
    assert (price.rule, price.amount, price.change) == (Rule.LADDER, 5, -10)


def test_the_price_of_a_coach_is_the_station_that_he_could_run() -> None:
    """Rope has room for one: a second coach could run fence for ann, who is wished 10 of its 5 minutes."""
    built = problem(
        targets=wished(10),
        drills=[drill("rope", players=[1, 1]), drill("fence")],
        sessions=[session("s1", 0, slots=[10], coaches=1)],
    )
    (price,) = explain(Problem.from_json(built), (Station("s1", 0, "rope", ("bea",)),)).prices
    assert (price.rule, price.thing, price.session, price.amount) == (Rule.ROOM, "coaches", "s1", 1)
    assert price.move == Move(Kind.OPEN, "s1", 0, "fence", ("ann",))


def test_a_slot_more_is_told_with_what_it_would_ease() -> None:
    """Twelve minutes at half a share are six, each worth double below half of the target."""
    found = explain(Problem.from_json(problem(targets=wished(30))), ()).more_time
    assert [(each.session, each.change, each.eased) for each in found] == [("s1", -12, {"ann": 6})]


# --- as large as they come ----------------------------------------------------------------------------

INSTANCES = Path(__file__).parents[4] / "shared" / "instances"


def greedy(known: Problem) -> tuple[Station, ...]:
    """A rough plan: the best single station that is left, until nothing pays."""
    stations: tuple[Station, ...] = ()
    for night in known.sessions:
        for _ in range(night.stations):
            opens = [o for o in best_opens(known, stations, night.id) if not breaches(known, o.applied(stations))]
            stations = opens[0].applied(stations) if opens else stations
    return stations


def best_opens(known: Problem, stations: tuple[Station, ...], night: str) -> list[Move]:
    over = [other.id for other in known.sessions if other.id != night]
    moves = explain(known, stations, over).moves
    table = moves.table
    rows = [row for row in range(len(table)) if table.kind[row] == Kind.OPEN and not table.bars[row]]
    return [moves.move(table, row) for row in sorted(rows, key=lambda row: table.change[row])]


@pytest.mark.parametrize("name", ["tiny", "small", "club"])
def test_moves_of_a_whole_squad_are_judged_as_the_referee_judges_them(name: str) -> None:
    if not (INSTANCES / f"{name}.json").is_file():
        pytest.skip("needs the public instances beside the checkout")
    known = replace(Problem.from_json(json.loads((INSTANCES / f"{name}.json").read_text())), locks=())
    found = explain(known, greedy(known))
    table, before = found.moves.table, cost(known, found.stations).total
    for row in random.Random(1).sample(range(len(table)), min(200, len(table))):
        after = found.moves.move(table, row).applied(found.stations)
        assert cost(known, after).total - before == pytest.approx(table.change[row], abs=EXACT)
        assert bool(table.bars[row]) == bool(breaches(known, after))
