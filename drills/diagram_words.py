"""What the editor of a diagram says in the browser. Braces hold what the browser fills in."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from drills.core.fault import Fault

WORDS = {
    # what stands where
    "place": gettext_lazy("{x} m from the left, {y} m up"),
    "thing_at": gettext_lazy("{thing}, {place}"),
    "path_of": gettext_lazy("{path} of {thing}"),
    "path_to": gettext_lazy("{path}, {m} m, ends {place}"),
    "path_order": gettext_lazy(", order {n}"),
    "point_at": gettext_lazy("Point {n} of {of}, {path}: {place}"),
    "mark": gettext_lazy("Mark, {place}"),
    "frame": gettext_lazy("Frame {n}"),
    "frame_of": gettext_lazy("Frame {n} of {of}. {note}"),
    "way_run": gettext_lazy("run"),
    "way_carry": gettext_lazy("carry"),
    "way_pass": gettext_lazy("pass"),
    "way_kick": gettext_lazy("kick"),
    "way_tackle": gettext_lazy("tackle"),
    "way_line": gettext_lazy("line"),
    # what to do next
    "choose_help": gettext_lazy("Press an object to choose it, pull it to move it."),
    "place_help": gettext_lazy("Press the grass where the {kind} goes. Again for the next one."),
    "place_keys": gettext_lazy("Arrow keys move the mark, Enter puts the {kind} there, Escape ends."),
    "draw_help": gettext_lazy(
        "Press the player who starts the {kind}, then where it leads. More presses, more points."
    ),
    "draw_keys": gettext_lazy(
        "The {kind} starts at {thing}. Arrow keys move the mark, Enter sets a point, Enter again there ends."
    ),
    "draw_needs_start": gettext_lazy(
        "Choose the player who starts the {kind} first, with Tab and Enter; then take this tool."
    ),
    "draw_goes_on": gettext_lazy("Now press where the {kind} leads."),
    "line_help": gettext_lazy("Press where the line begins, then where it leads. More presses, more points."),
    "line_keys": gettext_lazy(
        "Arrow keys move the mark, Enter sets a point of the line, Enter again on the same place ends."
    ),
    "line_goes_on": gettext_lazy("The line begins {place}."),
    "cannot_start": gettext_lazy("A {kind} cannot start at: {thing}. Choose a player."),
    "take_out": gettext_lazy("Take out: {what}"),
    # what was done
    "placed": gettext_lazy("{thing}: placed"),
    "removed": gettext_lazy("{what}: taken out. Undo brings it back."),
    "path_done": gettext_lazy("The path is done."),
    "path_given_up": gettext_lazy("No path was drawn."),
    "let_go": gettext_lazy("Nothing is chosen."),
    "undone": gettext_lazy("Undone."),
    "redone": gettext_lazy("Done again."),
    "nothing_to_undo": gettext_lazy("There is nothing to undo."),
    "nothing_to_redo": gettext_lazy("There is nothing to do again."),
    "mirrored": gettext_lazy("Left and right have changed sides, 11 and 14 have swapped numbers."),
    "frame_added": gettext_lazy("Frame {n} added: everyone stands where the paths led."),
    "frame_removed": gettext_lazy("Frame {n} taken out. Undo brings it back."),
    "frame_moved": gettext_lazy("It is frame {n} now."),
    "area_is": gettext_lazy("The area is {width} m wide and {length} m long."),
    "pitch_is": gettext_lazy("Lower left corner {x} m from the left touchline, {y} m from the own goal line."),
    "pitch_off": gettext_lazy("A plain grid, without lines of the pitch."),
    # what cannot be done
    "at_the_edge": gettext_lazy("That is the edge of the area."),
    "objects_full": gettext_lazy("A frame holds 60 objects. Take one out first."),
    "points_full": gettext_lazy("A path holds 12 points. End it, or take one out."),
    "bad_label": gettext_lazy("A player carries 1 to 3 digits or letters, like 9 or A."),
    "bad_number": gettext_lazy("Write metres as a number, like 3.5."),
    "bad_order": gettext_lazy("The order is a whole number from 1 to 20, or empty."),
    "bad_hang": gettext_lazy("A kick hangs 0.5 to 6 seconds in the air."),
    "bad_points": gettext_lazy("Write points as metres, like 4,5 > 6.5,7: from the left, then up."),
    "bad_area": gettext_lazy("The area is 2 to {width} m wide and 2 to {length} m long."),
    "too_large_for_pitch": gettext_lazy("The area is larger than a pitch with its margins. Make it smaller first."),
    # playing
    "play": gettext_lazy("Play"),
    "stop": gettext_lazy("Stop"),
    # keeping and saving
    "state_saved": gettext_lazy("Saved: version {n}"),
    "state_unsaved": gettext_lazy("Not saved yet, kept on this device"),
    "saving": gettext_lazy("Saving …"),
    "saved": gettext_lazy("Saved as version {n}."),
    "brought_back": gettext_lazy(
        "These strokes of {at} were never saved; they were kept on this device. Save them, or go back to what is saved."
    ),
    "throw_away": gettext_lazy("Show what is saved"),
    "thrown_away": gettext_lazy("This is the saved drawing. Undo brings the strokes back."),
    "keeps_nothing": gettext_lazy("This browser keeps nothing for this page. Save often."),
    "no_answer": gettext_lazy("Not saved: the server does not answer. Your strokes are kept on this device."),
    "logged_out": gettext_lazy(
        "Not saved: you are no longer logged in, or may no longer change drills. Log in in another tab, then save "
        "again. Your strokes are kept on this device."
    ),
    "refused": gettext_lazy("Not saved. Mend this and save again:"),
    "conflict": gettext_lazy("Somebody saved this drill meanwhile. Nothing was overwritten."),
    "took_theirs": gettext_lazy("This is the other drawing. Undo brings yours back."),
    "try_again": gettext_lazy("Try again"),
}
PARTS = {"objects": gettext_lazy("object"), "paths": gettext_lazy("path"), "points": gettext_lazy("point")}


def words(*keys: str) -> dict[str, str]:
    """Some of the sentences, or all of them."""
    return {key: str(WORDS[key]) for key in keys or WORDS}


def where(fault: Fault, diagram: Any) -> str:
    """The place of a fault as a coach finds it: "Frame 2, object 3 (d1), x"."""
    path = [part for part in fault.path if part != "diagram"]
    if path[:1] == ["frames"] and len(path) > 1:
        return ", ".join([_("Frame %d") % (int(path[1]) + 1), *_within(path[2:], diagram, int(path[1]))])
    return ", ".join(map(str, path)) or _("The diagram")


def _within(path: Sequence[str | int], diagram: Any, frame: int) -> list[str]:
    found, rest = [], list(path)
    while rest:
        part = rest.pop(0)
        if rest and isinstance(rest[0], int):
            number = rest.pop(0)
            found.append(f"{PARTS.get(str(part), part)} {int(number) + 1}{_id(diagram, frame, part, int(number))}")
        else:
            found.append(str(part))
    return found


def _id(diagram: Any, frame: int, part: str | int, number: int) -> str:
    """The id of an object or the start of a path in brackets, if it can be found."""
    key = {"objects": "id", "paths": "from"}.get(str(part), "")
    try:
        known = diagram["frames"][frame][part][number][key]
    except (KeyError, IndexError, TypeError):
        return ""
    return f" ({known})" if isinstance(known, str) else ""
