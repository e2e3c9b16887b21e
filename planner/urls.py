from planner.views import blocks, runs
from shared.access import guarded

urlpatterns = guarded([*blocks.patterns, *runs.patterns])
