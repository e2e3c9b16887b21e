"""The board: does this defence hold? Where the fifteen stand, who covers what, and what a change costs.

Lengths in metres, times in seconds. x from the defenders' left touch line, y from their own goal line; the depth of
a player is how far he stands behind the defensive line. The distances and speeds in `book` are ours to change,
not published law.
"""
