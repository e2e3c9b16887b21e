"""The modules that hold tables beside planner.models, so that Django finds them with it."""

from planner import (  # noqa: F401 - their tables
    attendance_models,
    column_models,
    feed_models,
    link_models,
    load_models,
    pattern_models,
    record_models,
    rpe_models,
    swap_models,
    tonight_models,
    venue_models,
    welfare_models,
    wish_models,
)
