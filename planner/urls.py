from planner.views import blocks, calendar, fixtures, prints, runs, sessions, start, totals, week
from shared.access import guarded

urlpatterns = guarded(
    [
        *blocks.patterns,
        *runs.patterns,
        *calendar.patterns,
        *fixtures.patterns,
        *sessions.patterns,
        *prints.patterns,
        *start.patterns,
        *week.patterns,
        *totals.patterns,
    ]
)
