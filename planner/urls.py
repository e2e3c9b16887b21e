from planner.views import (
    attendance,
    blocks,
    calendar,
    compare,
    dealing,
    fixtures,
    library,
    months,
    patterns,
    prints,
    runs,
    season_view,
    sessions,
    start,
    totals,
    week,
    why,
    wishes,
)
from shared.access import guarded

urlpatterns = guarded(
    [
        *attendance.patterns,
        *blocks.patterns,
        *patterns.patterns,
        *runs.patterns,
        *dealing.patterns,
        *why.patterns,
        *wishes.patterns,
        *compare.patterns,
        *calendar.patterns,
        *months.patterns,
        *season_view.patterns,
        *library.patterns,
        *fixtures.patterns,
        *sessions.patterns,
        *prints.patterns,
        *start.patterns,
        *week.patterns,
        *totals.patterns,
    ]
)
