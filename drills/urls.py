from drills.views import editing, exchange, library, prints
from shared.access import guarded

urlpatterns = guarded([*library.patterns, *editing.patterns, *exchange.patterns, *prints.patterns])
