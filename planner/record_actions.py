"""What people do about the record of a night: confirm it, correct a line, drop a rung, add what ran beside the plan,
say anew who was in charge.

Every verb adds rows and changes none. `seen` is the key of the account that the person had before him, None for a
spot of which nobody had told anything: where another has come since, nothing is written and both are shown.
`may_correct`: whether he is one who corrects a night that is confirmed. All raise Refused, with sentences for the
person who asked, when nothing was written.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from drills.models import Drill
from planner.changes import Refused
from planner.core import record as core
from planner.models import Session
from planner.record import part_of
from planner.record_days import settle
from planner.record_models import Account, Confirmation, Line, Presence
from planner.record_night import NightRecord, frozen, night_record
from planner.record_told import block_words, rivals_words
from planner.session_actions import held
from planner.turns import take_turn
from shared import audit
from shared.core.contact import below_or_at
from shared.models import User

MOST_BESIDE = 99  # blocks of one night beside the plan


@transaction.atomic
def confirm_night(
    *,
    session: Session,
    by: User,
    version: int,
    coaches: Sequence[str] | None = None,
    first_aider: str | None = None,
    now: dt.datetime | None = None,
) -> Confirmation:
    """Whatever nobody has told yet ran as planned. `version` is the plan_version that the person saw."""
    night = begun(session, now)
    if night.confirmation:
        raise Refused(already_confirmed(night))
    refuse_other_plan(night, version)
    if not night.blocks:
        raise Refused(_("Nothing stands in this night: add what ran, then confirm it."))
    for block in night.blocks:
        if block.spot not in night.standing:
            write(night, block, by)
    row = Confirmation.objects.create(
        session=night.session,
        number=1,
        plan_version=night.session.plan_version,
        plan=frozen(night.planned),
        coaches=list(night.session.coach_names if coaches is None else coaches),
        first_aider=night.session.first_aider if first_aider is None else first_aider,
        by=by,
        by_name=str(by)[:150],
        at=night.now,
    )
    tell(night, "confirmed night", by, coaches=row.coaches, first_aider=row.first_aider)
    return row


@transaction.atomic
def correct_line(
    *,
    session: Session,
    spot: str,
    parts: Sequence[core.Part],
    seen: int | None,
    by: User,
    why: str = "",
    may_correct: bool = False,
    now: dt.datetime | None = None,
) -> Account:
    """The station ran like this: minutes and rung of each part, and who was in it for how long."""
    night = begun(session, now)
    refuse_role(night, may_correct)
    block = fresh_block(night, spot, seen, parts)
    return put(night, replace(block, parts=tuple(parts), away=()), by, why)


@transaction.atomic
def drop_rung(
    *,
    session: Session,
    spot: str,
    rung: str,
    minute: int,
    seen: int | None,
    by: User,
    may_correct: bool = False,
    now: dt.datetime | None = None,
) -> Account:
    """From a minute of the station on at a lower rung. Needs nobody's leave; a higher one does (correct_line)."""
    night = begun(session, now)
    refuse_role(night, may_correct)
    block = fresh_block(night, spot, seen)
    if not 0 <= minute < block.minutes:
        told = {"what": block.card.title, "minutes": block.minutes, "minute": minute}
        raise Refused(_("%(what)s ran for %(minutes)d minutes: minute %(minute)d is not one of them.") % told)
    _before, after = core.cut(block.parts, minute)
    if any(rung not in below_or_at(part.rung) or rung == part.rung for part in after):
        raise Refused(_("%(rung)s is not below what ran. To raise a rung, change the line.") % {"rung": rung})
    return put(night, replace(block, parts=core.dropped(block.parts, minute, rung, night.allowed), away=()), by, "")


@transaction.atomic
def add_block(
    *,
    session: Session,
    order: int,
    parts: Sequence[core.Part],
    by: User,
    drill: Drill | None = None,
    title: str = "",
    may_correct: bool = False,
    now: dt.datetime | None = None,
) -> Account:
    """Something ran that no plan held, beside the slot of this order or after the last. What was not planned was
    printed nowhere: any contact in it needs initials and a reason."""
    night = begun(session, now)
    refuse_role(night, may_correct)
    orders = {block.order for block in night.blocks}
    if order not in orders | {max(orders, default=-1) + 1}:
        raise Refused(_("There is no such slot in this night. Open the page again."))
    card = core.Card(str(drill), drill.pk, drill.version, drill.rpe, skills_of(drill)) if drill else core.Card(title)
    if not card.title:
        raise Refused(_("Say what ran: choose a card, or give it a name."))
    letter = 1 + max((block.letter for block in night.blocks if block.order == order), default=-1)
    block = core.Block(fresh_spot(night), order, letter, card, tuple(parts))
    return put(night, block, by, "")


@transaction.atomic
def bring_back(
    *,
    session: Session,
    spot: str,
    account: int | None,
    seen: int | None,
    by: User,
    may_correct: bool = False,
    now: dt.datetime | None = None,
) -> Account:
    """As an earlier account had it, or as it was planned where `account` is None; a new line like any other."""
    night = begun(session, now)
    refuse_role(night, may_correct)
    block = fresh_block(night, spot, seen)
    if account is None:
        if spot not in night.planned:
            raise Refused(_("The plan does not hold this. Bring back an earlier line instead."))
        return put(night, replace(night.planned[spot], away=()), by, _("as planned"))
    old = next((each for each in night.history(spot) if each.pk == account), None)
    if old is None:
        raise Refused(_("There is no such line in this night. Open the page again."))
    parts = tuple(part_of(line) for line in old.lines.all())
    return put(night, replace(block, parts=parts, away=()), by, _("as it was before"))


@transaction.atomic
def correct_charge(
    *,
    session: Session,
    seen: int,
    by: User,
    coaches: Sequence[str] | None = None,
    first_aider: str | None = None,
    may_correct: bool = False,
    now: dt.datetime | None = None,
) -> Confirmation:
    """Of a confirmed night: these coaches and this first aider were there, None as it stands. `seen`: the number of
    the record that the person had before him."""
    night = begun(session, now)
    if not night.confirmations:
        raise Refused(_("Nobody has confirmed this night yet: say who was there as you confirm it."))
    refuse_role(night, may_correct)
    last = night.confirmations[-1]
    charge = {
        "coaches": last.coaches if coaches is None else list(coaches),
        "first_aider": last.first_aider if first_aider is None else first_aider,
    }
    said = charge_words(last, **charge)
    if not said:
        raise Refused(_("Nothing of this is new."))
    if seen != last.number:
        raise Refused(
            _("%(name)s has corrected this night meanwhile. Nothing was written. Yours would be: %(said)s.")
            % {"name": last.by_name, "said": said}
        )
    row = correct_confirmation(night, said, by, **charge)
    tell(night, "corrected who was in charge", by, line=said)
    return row


def charge_words(last: Confirmation, coaches: Sequence[str], first_aider: str) -> str:
    """Old and new of what differs."""
    told = [
        (_("coaches"), ", ".join(last.coaches), ", ".join(coaches)),
        (_("first aider"), last.first_aider, first_aider),
    ]
    return "; ".join(f"{what}: {old or '–'} → {new or '–'}" for what, old, new in told if old != new)


# What the verbs ask


def begun(session: Session, now: dt.datetime | None) -> NightRecord:
    """The night as it stands now, its row locked until the transaction ends."""
    take_turn(session.squad)
    session = held(session)
    if session.cancelled:
        raise Refused(_("%(session)s is cancelled: there is nothing to record.") % {"session": session})
    night = night_record(session, now)
    if not night.has_begun:
        raise Refused(_("%(session)s has not begun: there is nothing to record yet.") % {"session": session})
    return night


def refuse_role(night: NightRecord, may_correct: bool) -> None:
    """Asked of the locked night: while a page was open somebody may have confirmed it."""
    if night.confirmation and not may_correct:
        told = {"name": night.confirmation.by_name}
        raise Refused(
            _("%(name)s has confirmed this night: from then on the head coach corrects it. Tell him what ran.") % told
        )


def already_confirmed(night: NightRecord) -> str:
    told = {"session": night.session, "name": night.confirmation.by_name}
    return _("%(name)s has confirmed %(session)s already. Correct a line if something is wrong.") % told


def refuse_other_plan(night: NightRecord, version: int) -> None:
    if night.session.plan_version != version:
        raise Refused(
            _("Somebody has changed this night since you opened it. Nothing was written: look at it, then try again.")
        )


def fresh_block(
    night: NightRecord, spot: str, seen: int | None, wanted: Sequence[core.Part] | None = None
) -> core.Block:
    """What counts at the spot. Refuses, with both values, if that is not what the person had before him."""
    block, standing = night.block(spot), night.standing.get(spot)
    if block is None:
        raise Refused(_("This is no longer in the night. Open the page again."))
    if (standing.pk if standing else None) != seen and standing is not None:
        if wanted is not None and core.same_parts(block.parts, wanted):
            raise Refused(_("%(name)s has noted the same meanwhile.") % {"name": standing.by_name})
        raise Refused(rivals_words(night, standing, block, wanted))
    return block


def fresh_spot(night: NightRecord) -> str:
    taken = {account.spot for account in night.accounts}
    found = next((f"beside-{n}" for n in range(1, MOST_BESIDE + 1) if f"beside-{n}" not in taken), None)
    if found is None:
        raise Refused(_("So much cannot be added to one night."))
    return found


def put(night: NightRecord, block: core.Block, by: User, why: str) -> Account:
    """Check the block, add its account, and tell of the correction where the night was confirmed."""
    refuse_parts(night, block)
    before = night.block(block.spot)
    account = write(night, block, by, why)
    said = _("%(what)s: %(before)s → %(after)s") % {
        "what": block.card.title,
        "before": block_words(before) if before else _("not there"),
        "after": block_words(block),
    }
    if night.confirmation:
        correct_confirmation(night, said, by)
    tell(night, "recorded station", by, line=said, why=why)
    return account


def correct_confirmation(night: NightRecord, said: str, by: User, **charge: Any) -> Confirmation:
    """`charge`: coaches and first aider, where these are what is corrected."""
    last = night.confirmations[-1]
    in_charge = {"coaches": last.coaches, "first_aider": last.first_aider} | charge
    return Confirmation.objects.create(
        session=night.session,
        number=last.number + 1,
        plan_version=last.plan_version,
        plan=last.plan,
        **in_charge,
        what=said[:300],
        by=by,
        by_name=str(by)[:150],
        at=night.now,
    )


def tell(night: NightRecord, did: str, by: User, **detail: object) -> None:
    """Settle what is kept of the day, and say so."""
    settle(night.session.squad, night.session.day, night.session.day)
    audit.record(night.session.squad.club, did, night.session, by=by, **detail)


def write(night: NightRecord, block: core.Block, by: User, why: str = "") -> Account:
    """The rows of one account."""
    slots = {slot.order: slot.pk for slot in night.session.slots.all()}
    account = Account.objects.create(
        session=night.session,
        slot_id=None if block.spot.startswith("beside") else slots.get(block.order),
        spot=block.spot,
        order=block.order,
        letter=block.letter,
        drill_id=block.card.drill,
        card_version=block.card.version,
        title=block.card.title[:80],
        rpe=block.card.rpe,
        skills=[{"skill": each.code, "share": each.share, "roles": each.groups} for each in block.card.skills],
        replaces=night.standing.get(block.spot),
        why=why,
        by=by,
        by_name=str(by)[:150],
        at=night.now,
    )
    for number, part in enumerate(block.parts):
        write_part(account, number, part)
    return account


def write_part(account: Account, number: int, part: core.Part) -> None:
    line = Line.objects.create(
        account=account,
        part=number,
        minutes=part.minutes,
        rung=part.rung,
        card_rung=part.card_rung,
        share=part.share,
        initials=part.initials,
        reason=part.reason,
    )
    Presence.objects.bulk_create(
        Presence(line=line, player_id=player, minutes=each.minutes, after=each.after, aside=each.aside)
        for player, each in part.here.items()
    )


def refuse_parts(night: NightRecord, block: core.Block) -> None:
    reasons = [*raised_without_leave(block), *strangers(night, block), *twice_at_once(night, block)]
    if any(part.minutes > core.LONGEST for part in block.parts):
        reasons.append(_("No part of a night lasts more than %(most)d minutes.") % {"most": core.LONGEST})
    if not block.parts:
        reasons.append(_("Say how many minutes it ran; 0 if it did not run."))
    if reasons:
        raise Refused(*reasons)


def raised_without_leave(block: core.Block) -> Iterable[str]:
    for part in block.parts:
        if part.rung not in below_or_at(part.card_rung) and not (part.initials and part.reason):
            yield _(
                "%(what)s ran at %(rung)s, the card says %(card)s. Raising a rung needs the initials of the lead coach "
                "and a reason: fill in both, or put the rung back."
            ) % {"what": block.card.title, "rung": part.rung, "card": part.card_rung}


def strangers(night: NightRecord, block: core.Block) -> Iterable[str]:
    if any(player not in night.days.players for player in block.players):
        yield _("A player of this form is not in the squad that day. Open the page again.")


def twice_at_once(night: NightRecord, block: core.Block) -> Iterable[str]:
    """A player cannot be at two stations at once for longer than both took."""
    others = [each for each in night.blocks if each.spot != block.spot]
    before = core.too_much_at_once(night.blocks)
    for player, minutes in core.too_much_at_once([*others, block]).items():
        if player not in before and player in night.days.players:
            yield _(
                "%(player)s would have %(minutes)d minutes in this slot, which is more than it took. Take him off the "
                "other station first."
            ) % {"player": night.days.players[player].sheet_name, "minutes": minutes}


def skills_of(drill: Drill) -> tuple[core.Skill, ...]:
    rows = drill.skill_shares.select_related("skill")
    return tuple(core.Skill(row.skill.code, row.share, row.roles and tuple(row.roles)) for row in rows)


def presence_of(players: Mapping[int, int], length: int) -> dict[int, core.Here]:
    """Whoever has fewer minutes than the station came late."""
    return {player: core.Here(minutes, length - minutes) for player, minutes in players.items() if minutes > 0}
