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
        *library.patterns,
        *fixtures.patterns,
        *sessions.patterns,
        *prints.patterns,
        *start.patterns,
        *week.patterns,
        *totals.patterns,
    ]
)
