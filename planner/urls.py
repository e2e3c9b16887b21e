from planner.views import blocks, calendar, compare, fixtures, prints, runs, sessions, start, totals, week, why
from shared.access import guarded

urlpatterns = guarded(
    [
        *blocks.patterns,
        *runs.patterns,
        *why.patterns,
        *compare.patterns,
        *calendar.patterns,
        *fixtures.patterns,
        *sessions.patterns,
        *prints.patterns,
        *start.patterns,
        *week.patterns,
        *totals.patterns,
    ]
)
