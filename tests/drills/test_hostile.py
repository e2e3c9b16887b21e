"""Files that mean harm: each is refused in words within a second or two of work, and nothing is written."""

import datetime as dt
import json
import time

import pytest

from drills.actions import import_pack
from drills.core.pack import FORMAT
from drills.models import Drill, DrillVersion
from shared.cells import MOST_BYTES, Unreadable
from shared.models import AuditEvent
from shared.preview import State
from tests.drills.packs import entry, teach

DAY = dt.date(2026, 10, 6)


def take(club, content):
    """What became of it in words, and the seconds of the processor that it took."""
    begun = time.process_time()
    try:
        preview = import_pack(club, content, name="pack.json", by="somebody", today=DAY)
    except Unreadable as refused:
        told = str(refused)
    else:
        assert {line.state for line in preview.lines} == {State.REFUSED}
        told = "; ".join(f"{line.where} {line.column} {line.reason}" for line in preview.lines)
    return told, time.process_time() - begun


def of_drills(*drills):
    content = json.dumps({"format": FORMAT, "drills": drills}).encode()
    assert len(content) <= MOST_BYTES
    return content


HOSTILE = {
    "a list that compares each with each": of_drills(entry(groups=[n if n % 2 else str(n) for n in range(150_000)])),
    "a hundred thousand unknown fields": of_drills(entry(**{f"x{n}": 0 for n in range(100_000)})),
    "as many unknown fields of the pack": json.dumps({f"x{n}": 0 for n in range(100_000)}).encode(),
    "two thousand empty drills": of_drills(*[{}] * 2000),
    "more drills than a pack may hold": of_drills(*[1] * 300_000),
    "one text as long as the file may be": of_drills(entry(purpose="x" * 1_900_000)),
    "a text of blanks": of_drills(entry(set_up=" " * 1_900_000)),
    "a needs table of strangers": of_drills(entry(needs={f"G{n}": 1 for n in range(100_000)})),
    "a list of lists": of_drills(entry(cues=[[["x"] * 10] * 10] * 3000)),
    "deep within a field": of_drills(entry(kit=json.loads("[" * 90 + "]" * 90))),
    "a diagram of a hundred thousand things": of_drills(
        entry(diagram={"format": "plumbline-diagram/1", "frames": [{"objects": [{}] * 100_000}]})
    ),
    "numbers beyond measure": of_drills(entry(rpe=10**4000)),
    "keys of other languages' objects": of_drills(entry() | {"__proto__": {"admin": True}, "constructor": 1}),
}


@pytest.mark.parametrize("content", HOSTILE.values(), ids=HOSTILE)
def test_a_hostile_pack_is_refused_quickly_with_its_place_and_writes_nothing(club, content):
    teach(club)
    told, seconds = take(club, content)
    assert "line 1" in told
    assert len(told) < 600_000
    assert seconds < 20  # unchecked, the first one takes hours
    assert (Drill.objects.count(), DrillVersion.objects.count(), AuditEvent.objects.count()) == (0, 0, 0)
