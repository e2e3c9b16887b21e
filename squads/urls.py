from shared.access import guarded
from squads.views import availability, imports, medical, players, returns, rules, squads

urlpatterns = guarded(
    [
        *squads.patterns,
        *players.patterns,
        *availability.patterns,
        *returns.patterns,
        *medical.patterns,
        *rules.patterns,
        *imports.patterns,
    ]
)
