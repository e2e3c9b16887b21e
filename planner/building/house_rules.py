"""The house's own numbers for turning a club's wishes into a planning problem. None is published anywhere.

Contact limits are not among them: those are the club's contact rules, with their source.
"""

from shared.core.contact import Kind
from squads.core.eligibility import MatchRules

# Group targets are minutes in so many weeks.
TARGET_WEEKS = 4

# A minute short of a main skill of the block weighs as much as three short of any other: three to five
# skills out of thirty-five would otherwise drown among the rest.
MAIN_WEIGHT = 3
USUAL_WEIGHT = 1

# A main skill is wanted every week, by the groups that usually get at least this many minutes of it in
# four weeks; for the others a touch a week would be more than the skill is worth to them.
WEEKLY_FROM = 8

# Ten units of load outside the band weigh as much as one minute short.
BAND_WEIGHT = 1

# A minute of standing about costs a player about half of what a minute short does: an idle slot is worse
# than the third-best drill, and better than a wrong one.
IDLE_WEIGHT = 0.4

# Contact is evened out within each position group; a player ten minutes ahead of his group weighs five.
EVENNESS_WEIGHT = 0.5

# One coach can watch so many: beyond that nobody sees the head on the wrong side.
PLAYERS_A_COACH = 16

# The same card at most twice a week: the third time teaches less, and the library is there to be used.
REPEATS_A_WEEK = 2

# What a night is taken to have of each kind of kit when the club has not entered any.
KIT_UNKNOWN = 1000

# What a wish of the coach weighs that need not be kept, in skill minutes short of one player. Ten players get
# some 120 minutes of skill out of a slot: MUCH outweighs a whole station.
A_LITTLE, RATHER, MUCH = 10, 40, 120

# From this RPE on a drill tires so that nobody learns fine work after it, unless the coach says otherwise.
TIRING_RPE = 7

# Where a quick and a thorough run stop, in seconds.
QUICK, THOROUGH = 10, 60

# Where no contact rules are chosen: full contact not within 48 hours after a match, full and controlled not within
# 48 hours before one. Common practice, without a source.
CLOSE_TO_A_MATCH = MatchRules(full_after=2, full_before=2, controlled_after=1, controlled_before=2)

# Two matches closer than this are told. The RFU's guidance for under-13s to under-18s asks for 72 hours; a review of
# 17 studies found that adults need about as long (Aben and others 2022, J Strength Cond Res 36(7)), but binds nobody.
HOURS_BETWEEN_MATCHES = 72

# From week to week no kind of contact should rise by more minutes than these. No source: a caution, not a limit.
STEPS = {Kind.CONTROLLED: 10, Kind.FULL: 4, Kind.SET_PIECE: 10}
