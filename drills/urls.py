from drills.views import board, diagrams, editing, exchange, figures, ladders, library, prints, versions, words
from shared.access import guarded

urlpatterns = guarded(
    [
        *library.patterns,
        *board.patterns,
        *figures.patterns,
        *editing.patterns,
        *diagrams.patterns,
        *versions.patterns,
        *ladders.patterns,
        *words.patterns,
        *exchange.patterns,
        *prints.patterns,
    ]
)
