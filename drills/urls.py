from drills.views import diagrams, editing, exchange, ladders, library, prints, versions, words
from shared.access import guarded

urlpatterns = guarded(
    [
        *library.patterns,
        *editing.patterns,
        *diagrams.patterns,
        *versions.patterns,
        *ladders.patterns,
        *words.patterns,
        *exchange.patterns,
        *prints.patterns,
    ]
)
