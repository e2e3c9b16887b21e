from shared.access import guarded
from squads.views import availability, imports, players, returns, rules, squads

urlpatterns = guarded(
    [
        *squads.patterns,
        *players.patterns,
        *availability.patterns,
        *returns.patterns,
        *rules.patterns,
        *imports.patterns,
    ]
)
