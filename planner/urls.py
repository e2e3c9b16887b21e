from planner.views import (
    blocks,
    calendar,
    compare,
    dealing,
    fixtures,
    library,
    prints,
    runs,
    sessions,
    start,
    totals,
    week,
    why,
)
from shared.access import guarded

urlpatterns = guarded(
    [
        *blocks.patterns,
        *runs.patterns,
        *dealing.patterns,
        *why.patterns,
        *compare.patterns,
        *calendar.patterns,
        *library.patterns,
        *fixtures.patterns,
        *sessions.patterns,
        *prints.patterns,
        *start.patterns,
        *week.patterns,
        *totals.patterns,
    ]
)
