from planner.views import blocks, calendar, fixtures, prints, runs, sessions
from shared.access import guarded

urlpatterns = guarded(
    [*blocks.patterns, *runs.patterns, *calendar.patterns, *fixtures.patterns, *sessions.patterns, *prints.patterns]
)
