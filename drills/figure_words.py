"""What the figures of the board are called, in the groups in which a page shows them."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from drills.core.board.figures import LEAST, MOST, Figure

UNITS = {
    "m": gettext_lazy("m"),
    "s": gettext_lazy("s"),
    "m/s": gettext_lazy("m/s"),
    "degrees": gettext_lazy("°"),
    "x": gettext_lazy("times"),
    "": gettext_lazy("whole number"),
}
ENDS = {LEAST: gettext_lazy("least"), MOST: gettext_lazy("most")}
SPEEDS = {
    "speeds": gettext_lazy("top speed of number"),
    "usual_speed": gettext_lazy("top speed of anybody else"),
    "reaction_seconds": gettext_lazy("until a man reacts"),
    "tau_seconds": gettext_lazy("how slowly he gets to his top speed (τ)"),
    "arm": gettext_lazy("a tackler reaches"),
}
ZONES = {
    "zone_ends": gettext_lazy("the line is in the zone up to"),
    "full_back": gettext_lazy("depth of the full back"),
    "far_wing": gettext_lazy("depth of the far wing"),
    "near_wing": gettext_lazy("depth of the near wing"),
    "wings": gettext_lazy("depth of the wings, ball in the middle"),
    "sweep": gettext_lazy("depth of the sweeper"),
    "deep_count": gettext_lazy("of the back three stand deep"),
    "deep_from": gettext_lazy("deep is, from"),
}
BACK_FIELD = {
    "wide_ball": gettext_lazy("the ball is left or right within this of a touch line"),
    "front_depth": gettext_lazy("whoever is no deeper stands in the line"),
    "place_slack": gettext_lazy("how far off a place may be and nearly hold"),
    "near_wing_from_touch": gettext_lazy("near wing from his touch line"),
    "full_back_from_ball": gettext_lazy("full back towards midfield from the ball"),
    "far_wing_from_touch": gettext_lazy("far wing from his touch line"),
    "full_back_off_centre": gettext_lazy("full back off the middle of the pitch, at most"),
    "wings_from_touch": gettext_lazy("wings from touch, ball in the middle"),
    "wings_level": gettext_lazy("between the depths of the wings, at most"),
    "full_back_to_far_wing": gettext_lazy("full back across to the far wing, at most"),
    "full_back_to_near_wing": gettext_lazy("full back across to the near wing, at most"),
    "full_back_to_wing": gettext_lazy("full back across to each wing, ball in the middle, at most"),
    "deeper_than_wing": gettext_lazy("full back deeper than the wing, at least"),
    "deeper_slack": gettext_lazy("of that, may be missing and nearly hold"),
    "swing_slack_seconds": gettext_lazy("late in a swing and nearly in time"),
    "margin_slack_seconds": gettext_lazy("late under a kick and nearly in time"),
}
HALF_BACK = {
    "sweeper_from_ball": gettext_lazy("sweeper across from the ball, at most"),
    "open_side_from_touch": gettext_lazy("he sweeps on the open side with the ball this near to touch"),
    "lifted_full_back": gettext_lazy("depth of the full back with the half-back in the line"),
    "lifted_from_ball": gettext_lazy("and across from the ball, at most"),
    "lowered_far_wing": gettext_lazy("depth of the far wing then"),
    "back_in_sweep_seconds": gettext_lazy("half-back back in the sweep within"),
    "back_in_sweep_slack_seconds": gettext_lazy("later back than that and nearly"),
    "sweepers_apart": gettext_lazy("two sweepers apart, at least"),
    "full_back_alone": gettext_lazy("depth of the full back without any sweeper, at most"),
    "overload": gettext_lazy("men fewer than they have that draw the half-back in"),
}
RUCK = {
    "guard_across": gettext_lazy("guard from the edge of the ruck, at most"),
    "guard_behind": gettext_lazy("guard behind the hindmost foot, at most"),
    "bodyguard": gettext_lazy("bodyguard from the edge of the ruck"),
    "third_man": gettext_lazy("third man from the edge of the ruck"),
    "ruck_slack": gettext_lazy("bodyguard and third man off that and nearly"),
    "guard_slack": gettext_lazy("guard off that and nearly"),
    "short_side_needs_bodyguard": gettext_lazy("a short side this wide needs a bodyguard"),
    "around_ball": gettext_lazy("near the ball at a ruck is, within"),
    "around_ball_in_play": gettext_lazy("near the ball in open play is, within"),
    "least_around_ball": gettext_lazy("men near the ball, at least"),
    "most_in_ruck": gettext_lazy("men in the ruck, at most"),
    "fold_seconds": gettext_lazy("folded within"),
    "fold_slack_seconds": gettext_lazy("later folded than that and nearly"),
}
LINE = {
    "straight_set": gettext_lazy("off the straight line when set, at most"),
    "straight_moving": gettext_lazy("off the straight line when moving, at most"),
    "step": gettext_lazy("step between neighbours, at most"),
    "step_slack": gettext_lazy("a larger step than that and nearly"),
    "ahead": gettext_lazy("outside man ahead of the inside man, at most"),
    "ahead_in_jam": gettext_lazy("the same when a jam is called"),
    "tilt_set_degrees": gettext_lazy("tilt of the line when set, at most"),
    "tilt_drift_degrees": gettext_lazy("tilt of the line when drift is called, at most"),
    "gap_growth": gettext_lazy("each gap to the gap inside it, at most"),
    "stretched_gap": gettext_lazy("mean gap of a line that is stretched, from"),
    "inside_attacker": gettext_lazy("inside his attacker"),
    "inside_slack": gettext_lazy("off that and nearly"),
    "last_man": gettext_lazy("grass outside the last man, at most"),
    "last_man_slack": gettext_lazy("more grass than that and nearly"),
}
GROUPS = (
    (gettext_lazy("Speeds"), SPEEDS),
    (gettext_lazy("Back field"), BACK_FIELD),
    (gettext_lazy("Half-back"), HALF_BACK),
    (gettext_lazy("Around the ruck"), RUCK),
    (gettext_lazy("The line"), LINE),
    (gettext_lazy("Depths by zone"), ZONES),
)


def label(figure: Figure) -> str:
    """ "depth of the full back, zone B, least (m)" """
    group = next(names for _title, names in GROUPS if figure.name in names)
    words = str(group[figure.name])
    for part in figure.part.split():
        words += f", {ENDS[part]}" if part in ENDS else f" {part}" if part.isdecimal() else _(", zone %s") % part
    return f"{words} ({UNITS[figure.unit]})"
