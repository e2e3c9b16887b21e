from shared.access import guarded
from squads.views import availability, imports, players, rules, squads

urlpatterns = guarded([*squads.patterns, *players.patterns, *availability.patterns, *rules.patterns, *imports.patterns])
